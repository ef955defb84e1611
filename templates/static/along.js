// On a zone's page: take the zone along, and show what was made in it on this phone and is not received yet.
import { all, newIdOf, unsent, whenChanged } from "./outbox-store.js";
import { make, since } from "./make.js";

const MB = 1_048_576, AT_ONCE = 6, SHELLS = ["/outbox", "/phone/patch"];
const { person, fromPhone } = document.body.dataset;

async function dated(answer, more = {}) {
  const headers = new Headers(answer.headers), bytes = await answer.arrayBuffer();
  for (const name of ["content-encoding", "content-length"]) headers.delete(name);
  headers.set("X-Taken-At", new Date().toISOString());
  for (const [name, value] of Object.entries(more)) headers.set(name, value);
  return { copy: new Response(bytes, { status: 200, headers }), size: bytes.byteLength };
}

/** The answer itself: not a page to sign in on, not half of one. */
async function whole(path) {
  const answer = await fetch(path, { credentials: "same-origin", cache: "no-cache" });
  if (!answer.ok || answer.redirected) throw new TypeError(`${path}: ${answer.status}`);
  return answer;
}

/** The files that a page asks for, beside those that the worker keeps. */
async function keepFiles(html) {
  const held = (await caches.keys()).filter((name) => name.startsWith("files-")).at(-1);
  const cache = held && await caches.open(held), asked = [...html.matchAll(/(?:href|src)="(\/static\/[^"]+)"/g)].map(([, path]) => path);
  for (const path of cache ? asked : []) if (!(await cache.match(path))) await cache.add(path);
}

class Along {
  constructor(box) {
    this.box = box;
    this.address = `${box.dataset.along}/along.json`;
    this.said = box.querySelector("[data-along-said]");
    this.button = box.querySelector("button");
    this.button.addEventListener("click", () => this.take());
    box.hidden = false;
  }

  async start() {
    await this.tell();
    if (fromPhone !== undefined || !this.kept) return;
    try { // silently anew, when something was done in the project since
      const pack = await (await whole(this.address)).json();
      if (pack.known !== this.kept.pack.known) await this.take(true);
    } catch { /* no signal: what was taken along stands */ }
  }

  async read() {
    const found = person ? await (await caches.open(`pages-${person}`)).match(this.address) : undefined;
    this.kept = found ? { at: found.headers.get("X-Taken-At"), size: Number(found.headers.get("X-Size")), pack: await found.json() } : null;
  }

  async tell(trouble = "") {
    await this.read();
    const { kept, button } = this;
    const state = kept ? tr("Taken along as of {time}, {size} MB.", { time: since(kept.at), size: Math.max(kept.size / MB, 0.1).toFixed(1) }) : tr("Not on this phone.");
    this.said.replaceChildren(...(trouble ? [make("b", { className: "line" }, trouble)] : []), make("span", { className: "line" }, state));
    button.textContent = kept ? tr("Take it along anew") : tr("Take this zone along");
    button.hidden = fromPhone !== undefined;
    button.disabled = false;
    this.box.dataset.state = trouble ? "trouble" : kept ? "taken" : "none";
  }

  async take(silent = false) {
    if (this.button.disabled) return;
    this.button.disabled = true;
    this.put = [];
    let trouble = "";
    try {
      navigator.storage?.persist?.().catch(() => {});
      await this.gather(silent);
    } catch (why) {
      trouble = why?.name === "QuotaExceededError" ? tr("This phone has no room for the zone. Nothing new was taken along.") : tr("The signal went before all of it was here. Nothing new was taken along.");
      for (const [cache, path] of this.put) await cache.delete(path).catch(() => {});
    }
    await this.tell(silent ? "" : trouble);
  }

  /** Every file, then the list itself: with the list there the zone counts as taken along, and not before. */
  async gather(silent) {
    const list = await whole(this.address), pack = await list.clone().json();
    const [pages, tiles] = await Promise.all([caches.open(`pages-${person}`), caches.open(`tiles-${person}`)]);
    const wanted = new Set([...pack.pages, `${this.box.dataset.along}/marks.json`, `/projects/${document.body.dataset.project}/crew`]);
    const files = [...wanted].filter((path) => !SHELLS.includes(path)).map((path) => [pages, path]);
    files.push(...pack.tiles.map((path) => [tiles, path]));
    let done = 0, size = 0;
    const next = async () => {
      for (let file = files.shift(); file; file = files.shift()) {
        const got = await this.keep(...file, file[0] === tiles); // apart: other files end meanwhile
        size += got;
        done += 1;
        if (!silent) this.said.textContent = tr("{done} of {all} files", { done, all });
      }
    };
    const all = files.length;
    await Promise.all(Array.from({ length: AT_ONCE }, next));
    const { copy } = await dated(list, { "X-Size": String(size) });
    for (const path of this.kept?.pack.pages ?? []) if (!wanted.has(path)) await pages.delete(path);
    await pages.put(this.address, copy);
  }

  async keep(cache, path, forEver) {
    const before = await cache.match(path);
    if (before && forEver) return (await before.arrayBuffer()).byteLength;
    const answer = await whole(path);
    if (!forEver) await keepFiles(await answer.clone().text());
    const { copy, size } = await dated(answer);
    await cache.put(path, copy);
    if (!before) this.put.push([cache, path]);
    return size;
  }
}

// --- what is on this phone ----------------------------------------------------------------------------------------

function row(item, patches) {
  const told = patches.map((patch) => (patch.verdict ? tr("Patched, on this phone. The preview says: {words}", { words: patch.verdict.words }) : tr("Patched, on this phone.")));
  const state = item.state === "parked" ? tr("On this phone. It was refused: see the outbox.") : item.kind === "mark" ? tr("On this phone. Its tag comes when it is received.") : tr("On this phone.");
  const href = item.kind === "mark" && item.state === "waiting" ? `/phone/patch?item=${item.key}` : `/outbox?item=${item.key}`;
  const way = item.kind === "mark" && item.state === "waiting" ? [make("span", { className: "way" }, patches.length ? tr("Patch again") : tr("Patch it"))] : [];
  const main = [make("span", { className: "main" }, item.title)];
  for (const words of [state, ...told]) main.push(" ", make("span", { className: "sub" }, words));
  return make("li", { className: "is-on-phone" }, make("a", { href }, make("span", { className: "tag" }, "–"), make("span", {}, ...main), ...way));
}

async function overlay(box) {
  const here = unsent(await all()).filter((item) => item.zone === box.dataset.onPhone);
  const marks = here.filter((item) => item.kind === "mark"), ids = new Map(marks.map((mark) => [newIdOf(mark), []]));
  const others = here.filter((item) => {
    const mark = [...ids.keys()].find((id) => item.kind === "patch" && item.path.includes(id));
    if (mark) ids.get(mark).push(item);
    return item.kind !== "mark" && !mark;
  });
  const rows = [...marks.map((mark) => row(mark, ids.get(newIdOf(mark)))), ...others.map((item) => row(item, []))];
  box.hidden = !rows.length;
  const list = make("ol", { className: "schedule" }, ...rows);
  list.setAttribute("aria-label", tr("On this phone"));
  const told = marks.length ? tr("Not counted in how the zone stands above. Do not go by it until this is received.") : tr("The zone as it is shown above does not know of this yet.");
  box.replaceChildren(make("h2", {}, tr("On this phone")), make("p", { className: marks.length ? "note" : "soft" }, told), list);
}

if (globalThis.isSecureContext && "caches" in globalThis && "indexedDB" in globalThis) {
  for (const box of document.querySelectorAll("[data-on-phone]")) {
    overlay(box).catch(() => {});
    whenChanged(() => overlay(box));
  }
  for (const box of document.querySelectorAll("[data-along]")) new Along(box).start().catch(() => {});
}
