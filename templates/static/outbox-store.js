// What was made on this phone and not received yet, in the browser's own database. An item is kept only once its
// transaction is complete; nothing here is ever taken out because a sign-in ended.
export const FORMAT = 1; // of an item; the service takes this and the one before
const NAME = "laptight-outbox", EDITION = 1, MOST_RECEIVED = 60, DAY_MS = 86_400_000;
const changes = "BroadcastChannel" in globalThis ? new BroadcastChannel("outbox") : null;
const listeners = new Set();
let opening = null;

/** Every edition adds to what the one before made, so that items outlive a newer program. */
function grow(db, from) {
  if (from < 1) {
    db.createObjectStore("items", { keyPath: "key" });
    db.createObjectStore("photos", { keyPath: "sha256" });
    db.createObjectStore("meta", { keyPath: "name" });
  }
}

function open() {
  opening ??= new Promise((done, failed) => {
    const asked = indexedDB.open(NAME, EDITION);
    asked.onupgradeneeded = ({ oldVersion }) => grow(asked.result, oldVersion);
    asked.onerror = () => { opening = null; failed(asked.error); };
    asked.onsuccess = () => {
      const db = asked.result;
      const forget = () => { db.close(); opening = null; };
      Object.assign(db, { onversionchange: forget, onclose: forget });
      done(db);
    };
  });
  return opening;
}

const answer = (asked) => new Promise((done, failed) => { asked.onsuccess = () => done(asked.result); asked.onerror = () => failed(asked.error); });

/** Run `work(store by name)` in one transaction; done only when the browser says the transaction is complete. */
async function inside(mode, work) {
  const db = await open();
  const turn = db.transaction(["items", "photos", "meta"], mode, { durability: "strict" });
  const complete = new Promise((done, failed) => {
    turn.oncomplete = done;
    turn.onabort = () => failed(turn.error ?? new DOMException("given up", "AbortError"));
  });
  complete.catch(() => {});
  let made;
  try {
    made = await work({ items: turn.objectStore("items"), photos: turn.objectStore("photos"), meta: turn.objectStore("meta") });
  } catch (trouble) {
    try { turn.abort(); } catch { /* it is over already */ }
    throw trouble;
  }
  await complete;
  return made;
}

function changed() {
  for (const listener of listeners) listener();
  changes?.postMessage("changed");
}

/** Call back when anything was put or taken here or in another tab. */
export function whenChanged(listener) { listeners.add(listener); }
changes?.addEventListener("message", () => listeners.forEach((listener) => listener()));

const inOrder = (a, b) => a.n - b.n;

export const all = async () => (await inside("readonly", ({ items }) => answer(items.getAll()))).sort(inOrder);
export const one = (key) => inside("readonly", ({ items }) => answer(items.get(key)));
export const photo = (sha256) => inside("readonly", ({ photos }) => answer(photos.get(sha256)));

/** Keep an item with its photos ({sha256, type, bytes}); one that is here already keeps its turn. */
export async function keep(item, photosOf = []) {
  await inside("readwrite", async ({ items, photos, meta }) => {
    const before = await answer(items.get(item.key)), last = (await answer(meta.get("last")))?.n ?? 0;
    const n = before?.n ?? last + 1;
    if (!before) meta.put({ name: "last", n });
    for (const one of photosOf) photos.put({ ...one, at: Date.now() });
    items.put({ ...item, n });
  });
  changed();
}

/** Change one item by a function, in one transaction; nothing when it is gone. */
export async function change(key, how) {
  await inside("readwrite", async ({ items, photos }) => {
    const item = await answer(items.get(key));
    if (!item) return;
    const next = how(item);
    items.put(next);
    if (next.state !== "received") return;
    const others = await answer(items.getAll());
    const wanted = new Set(others.filter((o) => o.key !== key && o.state !== "received").flatMap((o) => o.photos));
    for (const sha256 of next.photos) if (!wanted.has(sha256)) photos.delete(sha256);
    const old = others.filter((o) => o.state === "received" && o.key !== key).sort(inOrder);
    for (const gone of old.slice(0, Math.max(0, old.length + 1 - MOST_RECEIVED))) items.delete(gone.key);
  });
  changed();
}

/** Take back an item that was not recorded and goes another way. */
export async function takeBack(key) {
  await inside("readwrite", ({ items }) => { items.delete(key); });
  changed();
}

/** Photos that nothing needs any more, a day after they were put here: a form that was left may still be open. */
export function sweep() {
  return inside("readwrite", async ({ items, photos }) => {
    const wanted = new Set((await answer(items.getAll())).filter((item) => item.state !== "received").flatMap((item) => item.photos));
    for (const { sha256, at } of await answer(photos.getAll())) if (!wanted.has(sha256) && Math.abs(Date.now() - (at ?? 0)) > DAY_MS) photos.delete(sha256);
  });
}

export const meta = async (name) => (await inside("readonly", (stores) => answer(stores.meta.get(name))))?.value;
export const setMeta = (name, value) => inside("readwrite", (stores) => { stores.meta.put({ name, value }); });

/** One sender at a time over all tabs. Without locks a lease is kept here, given up by who does not renew it. */
export async function alone(work) {
  if (navigator.locks) return navigator.locks.request("outbox", { ifAvailable: true }, (lock) => (lock ? work() : undefined));
  const me = Math.random().toString(36).slice(2), LEASE_MS = 45_000;
  const take = () => inside("readwrite", async (stores) => {
    const held = (await answer(stores.meta.get("lease")))?.value;
    const left = held ? held.until - Date.now() : 0;
    if (held && held.by !== me && left > 0 && left <= LEASE_MS) return false; // a clock put back frees it
    stores.meta.put({ name: "lease", value: { by: me, until: Date.now() + LEASE_MS } });
    return true;
  });
  if (!(await take())) return undefined;
  const renewing = setInterval(take, LEASE_MS / 3);
  try { return await work(); } finally {
    clearInterval(renewing);
    await setMeta("lease", { by: me, until: 0 });
  }
}

export const unsent = (items) => items.filter((item) => item.state === "waiting" || item.state === "parked");
export const fieldOf = (item, name) => item.fields.find(([field]) => field === name)?.[1] ?? "";
export const newIdOf = (item) => item.key.replaceAll("-", "");
