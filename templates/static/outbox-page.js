// The page of the outbox: what waits, what was refused and how to put it right, what was received, what was dropped.
import { all, change, meta, newIdOf, unsent, whenChanged } from "./outbox-store.js";
import { check, lost, lostIsRead } from "./outbox-witness.js";
import { flush, sending, waitsFor, whenSending } from "./outbox-send.js";
import { link, make, press, since } from "./make.js";
import { readSaved, save } from "./outbox-file.js";

const page = document.querySelector("[data-outbox-page]"), box = (name) => page.querySelector(`[data-${name}]`);
const asked = new URLSearchParams(location.search), DAY_MS = 86_400_000, SHOWN = 20;
const NEVER_HERE = /\/(release|releases|rule-sheet|people|pull-back|office|placed)(\/|$)|^\/projects\/new/;
const days = (item) => (Date.now() - Date.parse(item.made_at)) / DAY_MS;

function line(words, className = "line") { return make("span", { className }, words); }

// --- one item ---------------------------------------------------------------------------------------------------

function stateOf(item, items, who) {
  if (item.state === "parked") return item.trouble.theirs ? tr("On this phone, and otherwise in the history") : tr("On this phone. It was refused");
  if (who && item.person !== who.id) return tr("On this phone, made by {name}", { name: item.person_name || tr("another person") });
  return tr("On this phone");
}

function waits(item, items) {
  const first = waitsFor(item, items);
  return first ? [line(tr("It goes after: {title}", { title: first.title }), "line soft")] : [];
}

function drop(item) {
  const reason = make("textarea", { rows: 2, id: `why-${item.key}` });
  const said = make("p", { className: "wrong", hidden: true }, tr("Say why it is dropped."));
  const act = press(tr("Drop it"), async () => {
    const words = reason.value.trim();
    said.hidden = Boolean(words);
    if (words) await change(item.key, (now) => ({ ...now, state: "dropped", dropped: { reason: words, at: new Date().toISOString() } }));
  }, "act stop");
  const label = make("label", { htmlFor: reason.id }, tr("Why it is not to be sent"));
  return make("details", {}, make("summary", {}, tr("Drop it")), make("div", { className: "field stack" }, label, said, reason, act));
}

/** Both sides, where others recorded something since: nothing is overwritten, and a person says what holds. */
function sides(item) {
  const { theirs } = item.trouble;
  return make("div", { className: "sides" },
    make("div", {}, make("h3", {}, tr("On this phone")), line(item.title), line(tr("{who}, {when}", { who: item.person_name, when: since(item.made_at) }), "line soft")),
    make("div", {}, make("h3", {}, tr("In the history")), line(theirs.what), line(tr("{who}, {when}", { who: theirs.by, when: since(theirs.at) }), "line soft"), theirs.href ? link(tr("Look at it there"), theirs.href) : ""));
}

function again(item, words) {
  return press(words, async () => {
    await change(item.key, (now) => ({ ...now, state: "waiting", known: now.trouble?.theirs?.seq ?? now.known, trouble: null }));
    flush();
  });
}

function acts(item) {
  if (item.state !== "parked") {
    const zone = item.zone ? link(tr("To its zone"), `/zones/${item.zone}`, "act plain") : "";
    if (item.kind !== "mark") return zone ? [make("div", { className: "acts" }, zone)] : [];
    return [make("div", { className: "acts" }, link(tr("Log its patch"), `/phone/patch?item=${item.key}`, "act"), link(tr("Mark the next"), item.page.split("#")[0], "act plain"), zone)];
  }
  const right = link(tr("Put it right"), `${item.page.split("#")[0]}#outbox=${item.key}`, "act");
  const resend = item.trouble.theirs ? again(item, tr("I have seen it: send mine as well")) : again(item, tr("Send it again as it is"));
  return [make("div", { className: "acts" }, right, resend), drop(item)];
}

function slip(item, items, who) {
  const late = days(item) > 1, kind = item.state === "parked" ? "is-parked" : days(item) > 3 ? "is-late" : "is-here";
  const { trouble, verdict } = item;
  const told = [
    make("b", { className: "state" }, stateOf(item, items, who)), line(item.title),
    item.kind === "mark" ? line(tr("Its tag comes when it is received."), "line soft") : "",
    line(tr("{project}. Made {when}.", { project: item.project_name, when: since(item.made_at) }), "line soft"),
    item.photos.length ? line(trn("{n} photo with it", "{n} photos with it", item.photos.length), "line soft") : "",
    verdict ? line(tr("The preview says: {words}. The service judges it when it is received.", { words: verdict.words }), "line") : "",
    late ? make("b", { className: "line" }, days(item) > 3 ? tr("It waits for more than three days. Find signal, or save the queue to a file.") : tr("It waits for more than a day.")) : "",
    ...waits(item, items),
    ...(trouble ? [trouble.message, ...Object.values(trouble.fields).filter((words) => words !== trouble.message)] : []).map((words) => make("b", { className: "line wrong" }, words)),
    trouble?.theirs ? sides(item) : "", ...acts(item),
  ];
  const made = make("article", { className: `slip ${kind}` }, ...told);
  made.id = `item-${item.key}`;
  return made;
}

function receivedSlip(item) {
  const { receipt } = item;
  return make("article", { className: "slip is-received" }, make("b", { className: "state" }, tr("Received")), make("b", { className: "line" }, item.title), receipt.words ? line(receipt.words) : "",
    line(tr("{when}, entry {seq} of the history", { when: since(receipt.at), seq: receipt.seq }), "line soft"), link(tr("Look at it"), receipt.href, "line"));
}

function droppedSlip(item) {
  return make("article", { className: "slip is-dropped" }, make("b", {}, tr("Dropped, never sent")), line(item.title),
    line(tr("{when}: {reason}", { when: since(item.dropped.at), reason: item.dropped.reason })));
}

// --- the whole page ---------------------------------------------------------------------------------------------

function missing() {
  const path = location.pathname === "/outbox" ? asked.get("unanswered") : location.pathname;
  if (!path) return [];
  if (asked.has("unanswered")) {
    const words = tr("There was no answer to what you sent. Whether it was recorded is not known: look again when there is signal. Releases and changes of rules, zones and people are never kept on a phone; they need the service.");
    return [make("p", { className: "slip is-parked" }, words)];
  }
  const words = NEVER_HERE.test(path) ? tr("This page needs the service: releases and changes of rules, zones and people are never kept on a phone. Open it again with signal.")
    : tr("This page is not on this phone. With signal it opens; a zone can be taken along beforehand, on its page.");
  return [make("div", { className: "slip is-parked stack" }, make("b", { className: "state" }, tr("No signal")), make("p", {}, words), press(tr("Try again"), () => location.reload()))];
}

function lostNote() {
  const rows = lost();
  if (!rows.length) return [];
  const list = make("ul", {}, ...rows.map((row) => make("li", {}, `${row.title} (${since(row.made_at)}${row.person_name ? `, ${row.person_name}` : ""})`)));
  const words = trn("{n} thing made on this phone is gone. The browser cleared its place without asking, before it was received. Make it again:", "{n} things made on this phone are gone. The browser cleared their place without asking, before they were received. Make them again:", rows.length);
  return [make("div", { className: "slip is-parked stack" }, make("b", { className: "state" }, tr("Gone from this phone")), make("p", {}, words), list, press(tr("I have read it"), () => { lostIsRead(); show(); }))];
}

function sendNote(waiting, signIn) {
  if (!waiting.length) return [make("p", { className: "slip is-received" }, tr("Nothing waits on this phone."))];
  const words = {
    "no-signal": tr("No signal. It is sent by itself when there is."), busy: tr("The service is busy. It is sent by itself in a moment."),
    broken: tr("The service has trouble. It is sent by itself later."), "no-receipt": tr("Something answered, but it gave no receipt. It is sent again later."),
  }[sending.trouble];
  const count = make("p", {}, make("b", {}, trn("{n} on this phone", "{n} on this phone", waiting.length)), words && !sending.now ? ` · ${words}` : "", sending.now ? ` · ${tr("Sending")}` : "");
  const act = signIn ? link(trn("Sign in to send {n} thing", "Sign in to send {n} things", waiting.length), "/sign-in?next=/outbox", "act") : press(tr("Send now"), () => flush(), "act");
  return [count, act];
}

async function notes(items, who) {
  const waiting = unsent(items), others = waiting.filter((item) => who && item.person !== who.id);
  const refusedPlace = waiting.length && (await meta("persist")) === false;
  return [
    ...missing(), ...lostNote(), ...sendNote(waiting, await meta("sign-in")),
    who ? make("p", { className: "soft" }, tr("Signed in on this phone: {name}", { name: who.name })) : "",
    others.length ? make("p", { className: "note" }, trn("{n} thing was made by somebody else. It is sent when they sign in on this phone.", "{n} things were made by somebody else. They are sent when they sign in on this phone.", others.length)) : "",
    refusedPlace ? make("p", { className: "note" }, tr("The browser does not promise to keep this place. Send soon, or put the page on the first screen of the phone.")) : "",
  ].filter(Boolean);
}

/** The zones taken along by who is signed in here: where to go on without signal. */
async function along(who) {
  if (!who || !(await caches.has(`pages-${who.id}`))) return [];
  const cache = await caches.open(`pages-${who.id}`), rows = [];
  for (const { url } of await cache.keys()) {
    const zone = /\/zones\/[^/]+(?=\/along\.json$)/.exec(new URL(url).pathname)?.[0];
    if (!zone) continue;
    const kept = await cache.match(url), pack = await kept.json();
    const name = make("span", {}, make("span", { className: "main" }, pack.zone?.name || tr("Zone {letter}", { letter: pack.zone?.letter ?? "" })), " ", make("span", { className: "sub" }, tr("As of {time}", { time: since(kept.headers.get("X-Taken-At")) })));
    rows.push([pack.zone?.letter ?? "", make("li", {}, make("a", { href: zone }, make("span", { className: "tag" }, pack.zone?.letter ?? "–"), name))]);
  }
  return rows.sort(([a], [b]) => (a < b ? -1 : 1)).map(([, row]) => row);
}

function section(name, title, slips) {
  box(name).replaceChildren(...(slips.length ? [make("h2", {}, title), ...slips] : []));
}

// The store and the sender both ask for a new drawing, often while one is being made: whoever waits for an older one
// waits for the newest, so that "shown" is never said of a page whose drawing was given up half way.
let showing = 0, newest;
function show() { return newest = draw(++showing); }

async function draw(mine) {
  const [items, who] = await Promise.all([all(), meta("person")]);
  const told = await notes(items, who);
  if (mine !== showing) return newest;
  if (page.contains(document.activeElement) && document.activeElement.tagName === "TEXTAREA") return;
  box("notes").replaceChildren(...told);
  const open = [...page.querySelectorAll("details[open]")].map((one) => one.closest(".slip")?.id);
  section("waiting", tr("On this phone"), unsent(items).map((item) => slip(item, items, who)));
  for (const id of open.filter(Boolean)) document.getElementById(id)?.querySelector("details")?.setAttribute("open", "");
  const received = items.filter((item) => item.state === "received").sort((a, b) => Date.parse(b.receipt.at) - Date.parse(a.receipt.at)).slice(0, SHOWN);
  section("received", tr("Received"), received.map(receivedSlip));
  const zones = await along(who);
  section("along", tr("Zones taken along"), zones.length ? [make("ol", { className: "schedule" }, ...zones)] : []);
  if (missing().length) box("waiting").before(box("along"));
  section("dropped", tr("Dropped"), items.filter((item) => item.state === "dropped").map(droppedSlip));
  return mine === showing ? undefined : newest;
}

box("save").addEventListener("click", save);
document.getElementById("saved").addEventListener("change", async ({ target }) => {
  const file = target.files[0];
  if (file) box("file-said").textContent = await readSaved(file);
  target.value = "";
  flush();
});
whenChanged(show);
whenSending(show);
await check().catch(() => {});
await show();
page.dataset.shown = "";
document.getElementById(`item-${asked.get("item")}`)?.scrollIntoView({ block: "center" });
