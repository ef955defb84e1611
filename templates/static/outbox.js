// On every page of a signed-in person: the worker, the line that says how much is on this phone, and the forms that
// go by way of the outbox.
import { all, alone, change, keep, meta, newIdOf, one, setMeta, sweep, takeBack, unsent, whenChanged, FORMAT } from "./outbox-store.js";
import { check, lost, lostIsRead, tell, untell } from "./outbox-witness.js";
import { flush, sending } from "./outbox-send.js";
import { taken } from "./photos.js";
import { make, since } from "./make.js";

const { body } = document, SOON_MS = 3000, EVERY_MS = 30_000, DAY_MS = 86_400_000;
const REFUSED = "outbox refused", usable = globalThis.isSecureContext && "indexedDB" in globalThis && crypto.subtle;
const isOutbox = Boolean(document.querySelector("[data-outbox-page]")); // at its own address, or in a missing page's place
export const person = body.dataset.person ?? "";

// --- what the head says ---------------------------------------------------------------------------------------

async function tellHead() {
  const items = unsent(await all()), head = document.querySelector(".head > div");
  document.querySelector(".outbox-line")?.remove();
  if (!items.length || !head || isOutbox) return;
  const age = Math.max(...items.map((item) => Date.now() - Date.parse(item.made_at)));
  const words = trn("{n} on this phone", "{n} on this phone", items.length);
  const late = age > 3 * DAY_MS ? tr("waiting for more than three days") : age > DAY_MS ? tr("waiting for more than a day") : "";
  const line = make("a", { className: `outbox-line${age > 3 * DAY_MS ? " is-late" : ""}`, href: "/outbox" }, make("b", {}, words));
  if (late) line.append(` ${late}`);
  head.append(line);
}

function bar(name, ...parts) {
  document.querySelector(`.bar.${name}`)?.remove();
  const made = make("div", { className: `bar ${name}` }, ...parts);
  made.setAttribute("role", "status");
  document.getElementById("main")?.before(made);
  return made;
}

function tellWhence() {
  const at = body.dataset.fromPhone;
  if (at) bar("from-phone", make("b", {}, tr("Shown from this phone, as of {time}", { time: since(at) })), make("span", { className: "line" }, tr("What others did since is not in it.")));
}

function tellLost() {
  const rows = lost();
  if (!rows.length || isOutbox) return;
  const words = trn("{n} thing made on this phone is gone from it without having been received.", "{n} things made on this phone are gone from it without having been received.", rows.length);
  bar("is-lost", make("b", {}, words), " ", make("a", { href: "/outbox" }, tr("See what it was")));
}

// --- forms ----------------------------------------------------------------------------------------------------

function title(form, fields, submitter) {
  const chosen = (name) => form.querySelector(`[name=${name}]:checked`)?.closest("label")?.querySelector("span")?.firstChild?.textContent.trim() ?? "";
  const field = (name) => fields.find(([n]) => n === name)?.[1].trim() ?? "", unit = (name) => field(`${name}_unit`);
  const page = document.title.split(" · ")[0].replace(`${tr("Error:")} `, "");
  const act = submitter?.textContent.trim();
  if (form.dataset.outbox !== "mark") return !act || page.includes(":") ? page : tr("{page}: {act}", { page, act });
  const sizes = {
    circle: () => tr("{across} {unit} across", { across: field("diameter"), unit: unit("diameter") }),
    rectangle: () => tr("{length} by {width} {unit}", { length: field("length"), width: field("width"), unit: unit("length") }),
    slit: () => tr("{length} {unit} long", { length: field("slit_length"), unit: unit("slit_length") }),
  };
  return tr("{kind}, {size}", { kind: chosen("kind"), size: sizes[field("shape")]?.() ?? chosen("shape") });
}

function verdict(form) {
  const box = [...form.querySelectorAll("[data-verdict], [data-preview]")].find((one) => one.offsetParent && one.querySelector("[data-words]")?.textContent);
  if (!box) return null;
  const kind = ["holds", "short"].find((name) => box.classList.contains(name)) ?? "";
  return { words: box.querySelector("[data-words]").textContent, small: box.querySelector("small")?.textContent ?? "", kind };
}

function zoneOf(path) {
  const links = [path, location.pathname, body.dataset.zone ? `/zones/${body.dataset.zone}` : "", ...[...document.querySelectorAll("main a[href^='/zones/']")].map((a) => a.getAttribute("href"))];
  return links.map((href) => /^\/zones\/([^/?#]+)/.exec(href)?.[1]).find(Boolean) ?? "";
}

/** What the form says, as an item, and its photos. */
async function read(form, submitter) {
  const fields = [], photos = [];
  for (const [name, value] of new FormData(form)) {
    if (typeof value === "string") { if (name !== "request_key") fields.push([name, value]); } else if (value.size) photos.push(await taken(value));
  }
  if (submitter?.name) fields.push([submitter.name, submitter.value]);
  const key = form.dataset.key ?? crypto.randomUUID(), before = await one(key), kind = form.dataset.outbox;
  const path = new URL(form.action).pathname;
  if (["mark", "patch"].includes(kind)) fields.push(["new_id", newIdOf({ key })]);
  const item = {
    key, format: FORMAT, kind, person, person_name: body.dataset.personName ?? "", project: body.dataset.project ?? "",
    project_name: document.querySelector(".whose a")?.textContent ?? "", zone: zoneOf(path), path, page: location.pathname + location.search,
    title: title(form, fields, submitter), page_title: document.title.split(" · ")[0], fields, photos: [...new Set([...(before?.photos ?? form.dataset.photos?.split(" ").filter(Boolean) ?? []), ...photos.map((one) => one.sha256)])],
    known: Number(body.dataset.known) || 0, made_at: before?.made_at ?? new Date().toISOString(), verdict: verdict(form), state: "waiting", tries: 0, trouble: null, receipt: null,
  };
  if (person === "") Object.assign(item, await whoseHere());
  return { item, photos, before };
}

/** On a page of no one's own, whoever was signed in here last. */
async function whoseHere() {
  const last = await meta("person");
  return { person: last?.id ?? "", person_name: last?.name ?? "" };
}

function sayIn(form, words, kind = "") {
  let said = form.querySelector("[data-outbox-said]");
  if (!said) {
    said = make("p", { className: "slip" });
    said.dataset.outboxSaid = "";
    said.setAttribute("role", "status");
    [...form.querySelectorAll("button.act")].findLast((one) => !one.closest("details"))?.after(said) ?? form.append(said);
  }
  said.className = `slip ${kind}`;
  said.textContent = words;
}

function free(form) {
  delete form.dataset.sent;
  delete form.dataset.keeping;
  form.querySelectorAll("[aria-busy]").forEach((button) => button.removeAttribute("aria-busy"));
}

/** Send the form as a browser without the outbox would: the service's own page answers. */
function plainly(form, submitter, key) {
  const field = form.querySelector("[name=request_key]");
  if (key && field) field.value = key;
  free(form);
  form.dataset.plain = "yes";
  form.requestSubmit(submitter ?? undefined);
}

/** Until the item is received or parked, until it is plain that it waits, or for three seconds. */
async function settled(key) {
  let listener;
  const seen = new Promise((done) => {
    listener = async () => { const item = await one(key); if (item && item.state !== "waiting") done(item); };
    whenChanged(() => listener());
  });
  const through = flush().then(() => one(key));
  const late = new Promise((done) => { setTimeout(() => done(null), SOON_MS); });
  const item = await Promise.race([seen, through, late]);
  listener = () => {};
  return item;
}

/** A form gone back to: the same again goes where it led; something else may be one more, which its person says. */
function sentBefore(form, item, before) {
  if (JSON.stringify(item.fields) === JSON.stringify(before.fields) && item.photos.length === before.photos.length) { location.assign(before.receipt.href); return; }
  delete form.dataset.key;
  free(form);
  sayIn(form, tr("This form was sent before, and what it said then is recorded. Is this one more? Send it again."), "is-parked");
}

async function send(form, submitter) {
  let item, photos, before;
  try {
    ({ item, photos, before } = await read(form, submitter));
    if (!item.person) throw new Error("nobody has signed in on this phone");
    if (before?.state === "received") { sentBefore(form, item, before); return; }
    await keep(item, photos);
  } catch (trouble) {
    free(form);
    const full = trouble?.name === "QuotaExceededError";
    sayIn(form, full ? tr("This phone has no room left, so it was not kept here. With signal it is sent at once.") : tr("It could not be kept on this phone. With signal it is sent at once."), "is-parked");
    if (navigator.onLine) plainly(form, submitter);
    return;
  }
  form.dataset.key = item.key;
  form.dispatchEvent(new CustomEvent("kept-on-phone"));
  await tell(await all());
  sayIn(form, tr("On this phone. It is being sent."), "is-here");
  navigator.storage?.persist?.().then((granted) => setMeta("persist", granted)).catch(() => {});
  const now = await settled(item.key);
  if (now?.state === "received") { location.assign(now.receipt.href); return; }
  const unread = now?.state === "waiting" && sending.trouble === "no-receipt" && sending.status >= 200;
  if ((now?.state === "parked" && !now.trouble.theirs) || unread) { // its person is here: the service's own page says why
    sessionStorage.setItem(REFUSED, JSON.stringify({ key: item.key, path: item.path, photos: item.photos }));
    plainly(form, submitter, item.key);
    return;
  }
  if (navigator.serviceWorker?.controller || sending.trouble !== "no-signal") { location.assign(`/outbox?item=${item.key}`); return; }
  sayIn(form, tr("On this phone. It is sent when there is signal."), "is-here");
}

function catchForm(form) {
  form.addEventListener("submit", (event) => {
    const { submitter } = event;
    if (form.dataset.plain) return;
    if (submitter?.type === "image" || ["turn", "check", "rows", "turn_to"].includes(submitter?.name)) {
      if (!body.dataset.fromPhone) return; // the service redraws the page
      event.preventDefault();
      sayIn(form, tr("This button needs signal."), "is-parked");
      return;
    }
    event.preventDefault();
    if (form.dataset.keeping) return;
    form.dataset.keeping = "yes";
    send(form, submitter).catch(() => { free(form); plainly(form, submitter); });
  });
  addEventListener("pageshow", (event) => { if (event.persisted) { free(form); form.querySelector("[data-outbox-said]")?.remove(); delete form.dataset.plain; } });
}

/** Put an item's own values back into its form, to be put right and sent under the same key. */
function fill(form, item) {
  const left = item.fields.map((field) => [...field]);
  for (const field of [...form.elements].filter((one) => one.name && one.name !== "request_key" && !["file", "submit", "image", "button"].includes(one.type))) {
    const at = left.findIndex(([name, value]) => name === field.name && (!["checkbox", "radio"].includes(field.type) || value === field.value));
    if (["checkbox", "radio"].includes(field.type)) field.checked = at >= 0;
    else if (at >= 0) field.value = left[at][1];
    if (at >= 0) left.splice(at, 1);
  }
  form.dispatchEvent(new CustomEvent("typed-back", { bubbles: true }));
  form.dataset.key = item.key;
  const words = item.photos.length ? trn("As it was kept on this phone, with its {n} photo. Put it right and send it again.", "As it was kept on this phone, with its {n} photos. Put it right and send it again.", item.photos.length) : tr("As it was kept on this phone. Put it right and send it again.");
  form.prepend(make("p", { className: "note" }, ...[item.trouble?.message, words].filter(Boolean).map((one) => make("span", { className: "line" }, one))));
}

async function putRight(forms) {
  const key = /^#outbox=([\w-]+)$/.exec(location.hash)?.[1], item = key && await one(key);
  const form = item && forms.find((one) => new URL(one.action).pathname === item.path);
  if (form) { fill(form, item); if (["key-reused", "sent-before"].includes(item.trouble?.code)) delete form.dataset.key; return; }
  let refused = null;
  try { refused = JSON.parse(sessionStorage.getItem(REFUSED)); } catch { /* none */ }
  sessionStorage.removeItem(REFUSED);
  if (!refused || isOutbox) return;
  // The service's page has said why it is not recorded, and shows what was typed: it is back in its person's hands.
  const again = document.getElementById("errors") && forms.find((one) => new URL(one.action).pathname === refused.path);
  await takeBack(refused.key);
  await untell(refused.key);
  if (!again) return;
  Object.assign(again.dataset, { key: refused.key, photos: refused.photos.join(" ") });
  if (refused.photos.length) again.prepend(make("p", { className: "note" }, trn("The photo sent with it is still here.", "The {n} photos sent with it are still here.", refused.photos.length)));
}

// --- who is here, and which program ---------------------------------------------------------------------------

async function tellWho() {
  document.querySelectorAll("form[action='/sign-out']").forEach((form) => form.addEventListener("submit", () => { setMeta("person", null); }));
  if (!person || body.dataset.fromPhone) return;
  await setMeta("person", { id: person, name: body.dataset.personName ?? "" });
  await setMeta("sign-in", false);
  for (const name of await caches.keys()) if (/^(pages|tiles)-/.test(name) && !name.endsWith(`-${person}`)) await caches.delete(name);
}

async function worker() {
  const { serviceWorker } = navigator;
  if (!serviceWorker) return;
  if (document.readyState !== "complete") await new Promise((done) => { addEventListener("load", done, { once: true }); }); // the page first
  const kept = await serviceWorker.register("/worker.js");
  const takeOver = () => alone(() => { kept.waiting?.postMessage("take over"); });
  if (kept.waiting) takeOver();
  kept.addEventListener("updatefound", () => kept.installing?.addEventListener("statechange", () => { if (kept.waiting) takeOver(); }));
  const { lang } = document.documentElement;
  if (localStorage.getItem("shell language") !== lang && serviceWorker.controller && !body.dataset.fromPhone) {
    serviceWorker.controller.postMessage("shells");
    localStorage.setItem("shell language", lang);
  }
}

async function boot() {
  const forms = [...document.querySelectorAll("form[data-outbox]")];
  forms.forEach(catchForm);
  tellWhence();
  worker().catch(() => {});
  await tellWho();
  await check();
  await Promise.all([tellHead(), putRight(forms)]);
  tellLost();
  whenChanged(() => { tellHead(); all().then(tell); });
  sweep().catch(() => {});
  addEventListener("online", flush);
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") { check().then(tellLost); flush(); } });
  setInterval(() => { if (document.visibilityState === "visible") flush(); }, EVERY_MS);
  flush();
}

globalThis.outbox = { items: all, keep, flush, state: () => ({ ...sending, lost: lost(), person }), change, lostIsRead };
if (usable) boot().catch((trouble) => console.info("outbox", trouble));
