// Sends what waits, first made first: its photos by what they hold, then the form itself under its own key. An answer
// counts only when it is the service's receipt; whatever else comes back, the item stays.
import { all, alone, change, fieldOf, meta, newIdOf, photo, setMeta, unsent } from "./outbox-store.js";

const RECEIPT = "application/vnd.laptight.receipt+json", PATIENCE_MS = 30_000, SLOWEST_BYTES_MS = 20; // 160 kbit a second
const WAITS_S = [2, 4, 8, 15, 30, 60, 120];
// Answers that say nothing of the item: asked again later.
const LATER = new Set(["still-under-way", "busy", "broken", "no-room", "slow-down", "too-slow"]);
// What may be the trouble of one item alone: the next has its turn.
const OF_THIS_ITEM = new Set(["broken", "another-person", "no-receipt"]);
let failures = 0, timer = 0, again = false, running = null;
export const sending = { now: false, trouble: "", status: 0 };
const told = new EventTarget();
export const whenSending = (listener) => told.addEventListener("sending", listener);

function say(now, trouble = sending.trouble, status = sending.status) {
  Object.assign(sending, { now, trouble, status });
  told.dispatchEvent(new Event("sending"));
}

class Later extends Error {
  constructor(trouble, after = 0, status = 0) { super(trouble); Object.assign(this, { trouble, after, status }); }
}

/** Send everything that can be sent. Asked while it runs, it looks once more when it is through. */
export function flush() {
  if (running) { again = true; return running; }
  running = alone(async () => {
    do { again = false; await sendAll(); } while (again);
  }).catch(() => {}).finally(() => { running = null; say(false); });
  return running;
}

async function sendAll() {
  clearTimeout(timer);
  say(true, "", 0);
  const passed = new Set();
  let trouble = null;
  for (;;) {
    const items = await all(), person = await meta("person");
    const next = unsent(items).find((item) => item.state === "waiting" && !passed.has(item.key) && !waitsFor(item, items) && (!person || person.id === item.person));
    if (!next) break;
    passed.add(next.key);
    try {
      await send(next);
      failures = 0;
    } catch (later) {
      if (!(later instanceof Later)) throw later;
      trouble = later;
      if (!OF_THIS_ITEM.has(later.trouble)) break;
    }
  }
  say(true, trouble?.trouble ?? "", trouble?.status ?? 0);
  if (!trouble || trouble.trouble === "sign-in") return;
  const wait = Math.max(trouble.after, WAITS_S[Math.min(failures++, WAITS_S.length - 1)]);
  timer = setTimeout(flush, wait * 1000);
}

/** What an item cannot go before: the mark made on this phone that it is about; before a walk, all of the zone's marks. */
export function waitsFor(item, items) {
  const ends = /^\/zones\/([^/]+)\/(walks|hold-points)/.exec(item.path);
  return unsent(items).find((other) => {
    if (other.key === item.key || other.n > item.n) return false;
    const id = newIdOf(other);
    if (item.path.includes(id) || item.fields.some(([, value]) => value === id && value !== fieldOf(item, "new_id"))) return true;
    return Boolean(ends) && other.kind === "mark" && other.zone === ends[1];
  });
}

async function ask(path, given, bytes = 0) {
  const ending = new AbortController(), end = setTimeout(() => ending.abort(), PATIENCE_MS + bytes / SLOWEST_BYTES_MS);
  try {
    const answer = await fetch(path, { credentials: "same-origin", cache: "no-store", redirect: "manual", signal: ending.signal, ...given });
    return { status: answer.status, ok: answer.ok, after: Number(answer.headers.get("Retry-After")) || 0, said: await body(answer) };
  } catch { throw new Later("no-signal"); } finally { clearTimeout(end); }
}

/** What an answer says. Anything between here and the service may answer too, and then it says nothing. */
async function body(answer) {
  const text = await answer.text(); // a body that is cut short fails here, and is asked for again
  try { return JSON.parse(text) ?? {}; } catch { return {}; }
}

async function send(item) {
  for (const sha256 of item.photos) if (!(await upload(item, sha256))) return;
  const data = new URLSearchParams([...item.fields, ["request_key", item.key], ...item.photos.map((sha256) => ["photo_sha256", sha256])]);
  const headers = {
    Accept: RECEIPT, "Idempotency-Key": item.key, "Laptight-Outbox": String(item.format), "Laptight-Person": item.person,
    "Laptight-Device-At": item.made_at, ...(item.known ? { "Laptight-Known": String(item.known) } : {}),
  };
  const answer = await ask(item.path, { method: "POST", body: data, headers }), { said } = answer;
  if (answer.ok && Number.isInteger(said.seq) && /^[0-9a-f]{64}$/.test(said.leaf ?? "")) return received(item, said);
  return refused(item, answer);
}

async function received(item, { href, seq, leaf, words, again: before }) {
  const receipt = { href, seq, leaf, words: words ?? "", again: Boolean(before), at: new Date().toISOString() };
  await change(item.key, (now) => ({ ...now, state: "received", trouble: null, receipt }));
}

async function upload(item, sha256) {
  const path = `/blobs/${sha256}`;
  const there = await ask(path, { method: "HEAD" });
  if (there.ok) return true;
  if (there.status === 401) throw await signIn();
  if (there.status === 429) throw new Later("busy", there.after);
  if (there.status !== 404) throw new Later(there.status >= 500 ? "broken" : "no-receipt");
  const kept = await photo(sha256);
  if (!kept) { await park(item, 410, { code: "photo-gone", message: tr("A photo of this is no longer on the phone.") }); return false; }
  const answer = await ask(path, { method: "PUT", body: kept.bytes, headers: { "Content-Type": kept.type, Accept: RECEIPT, "Laptight-Outbox": String(item.format), "Laptight-Person": item.person } }, kept.bytes.byteLength);
  if (answer.ok) return true;
  await refused(item, answer);
  return false;
}

async function signIn() {
  await setMeta("sign-in", true);
  return new Later("sign-in");
}

/** Park what the service refused in its own words; everything else is asked again. */
async function refused(item, { status, after, said: { error, theirs } }) {
  if (status === 401) throw await signIn();
  if (status === 429) throw new Later("busy", after);
  if (status >= 500) {
    await change(item.key, (now) => ({ ...now, tries: now.tries + 1 }));
    throw new Later("broken", after);
  }
  if (status < 400 || !error?.code) throw new Later("no-receipt", after, status);
  if (LATER.has(error.code)) throw new Later("busy", after);
  if (error.code === "another-person") throw new Later("another-person");
  if (error.code === "sign-in") throw await signIn();
  await park(item, status, error, theirs);
}

async function park(item, status, error, theirs = null) {
  const trouble = { status, code: error.code, message: error.message ?? "", fields: error.fields ?? {}, theirs };
  await change(item.key, (now) => ({ ...now, state: "parked", trouble, tries: now.tries + 1 }));
}
