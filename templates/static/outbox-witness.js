// A short list of what lies in the outbox, kept beside its database in two other places: when the database has
// vanished, the list still says what was in it.
import { all, unsent } from "./outbox-store.js";

const TOLD = "outbox told", LOST = "outbox lost", CACHE = "outbox-told", ADDRESS = "/outbox/told", MOST = 200;

function local(name) {
  try { return JSON.parse(localStorage.getItem(name)) ?? []; } catch { return []; }
}

function setLocal(name, rows) {
  try {
    if (rows.length) localStorage.setItem(name, JSON.stringify(rows));
    else localStorage.removeItem(name);
  } catch { /* full or refused: the other place has it */ }
}

async function cached() {
  try { return (await (await (await caches.open(CACHE)).match(ADDRESS))?.json()) ?? []; } catch { return []; }
}

async function setCached(rows) {
  try { await (await caches.open(CACHE)).put(ADDRESS, new Response(JSON.stringify(rows))); } catch { /* as above */ }
}

const merged = (...lists) => [...new Map(lists.flat().map((row) => [row.key, row])).values()];

/** See whether something told of is gone, then tell of what is here now. Told is read first: whatever stands in it was
    in the database before. */
export async function check() {
  const told = merged(local(TOLD), await cached());
  const items = await all(), here = new Set(items.map((item) => item.key));
  const gone = told.filter((row) => !here.has(row.key));
  if (gone.length) setLocal(LOST, merged(local(LOST), gone));
  await tell(items);
  return lost();
}

/** Tell of what is not received, after it was kept. */
export async function tell(items) {
  const rows = unsent(items).slice(0, MOST).map(({ key, title, made_at, person_name }) => ({ key, title, made_at, person_name }));
  setLocal(TOLD, rows);
  await setCached(rows);
}

/** An item that was taken back on purpose is not lost. */
export async function untell(key) {
  setLocal(TOLD, local(TOLD).filter((row) => row.key !== key));
  await setCached((await cached()).filter((row) => row.key !== key));
}

export const lost = () => local(LOST);
export const lostIsRead = () => setLocal(LOST, []);
