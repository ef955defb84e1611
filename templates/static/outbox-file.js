// The queue as a file: everything that waits with its photos, to be read on another phone.
import { all, FORMAT, keep, one, photo, unsent } from "./outbox-store.js";
import { tell } from "./outbox-witness.js";
import { make } from "./make.js";
import { readBack } from "./photos.js";

const NAME = "laptight-queue-1";
const TEXTS = ["key", "person", "person_name", "project", "zone", "path", "page", "title", "made_at", "kind"];

function base64(bytes) {
  let text = "";
  const view = new Uint8Array(bytes);
  for (let at = 0; at < view.length; at += 32_768) text += String.fromCharCode(...view.subarray(at, at + 32_768));
  return btoa(text);
}

const bytesOf = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer;

/** Hand the browser a file of everything that waits. */
export async function save() {
  const items = unsent(await all()), photos = {};
  for (const sha256 of new Set(items.flatMap((item) => item.photos))) {
    const kept = await photo(sha256);
    if (kept) photos[sha256] = { type: kept.type, base64: base64(kept.bytes) };
  }
  const file = new Blob([JSON.stringify({ format: NAME, saved_at: new Date().toISOString(), items, photos })], { type: "application/json" });
  const address = URL.createObjectURL(file), link = make("a", { href: address, download: `laptight-queue-${new Date().toISOString().slice(0, 16).replace(/\D/g, "")}.json` });
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

/** An item of a file, when it is one: it may send only where forms go. */
function whole(item) {
  const texts = item && TEXTS.every((name) => typeof item[name] === "string");
  const fields = texts && Array.isArray(item.fields) && item.fields.every((field) => Array.isArray(field) && field.length === 2 && field.every((part) => typeof part === "string"));
  const photos = fields && Array.isArray(item.photos) && item.photos.every((sha256) => /^[0-9a-f]{64}$/.test(sha256));
  const paths = photos && [item.path, item.page].every((path) => /^\/(zones|defects|patches|penetrations|seams|edges|holds|phone)\//.test(path));
  return paths && /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/.test(item.key) && item.format <= FORMAT && !Number.isNaN(Date.parse(item.made_at));
}

/** Take in a saved queue; what is known here already is left as it is. A sentence of what came of it. */
export async function readSaved(file) {
  let told;
  try { told = JSON.parse(await file.text()); } catch { told = null; }
  if (told?.format !== NAME || !Array.isArray(told.items) || !told.items.every(whole)) return tr("This file is no saved queue. Nothing was taken from it.");
  let taken = 0;
  for (const item of told.items) {
    if (await one(item.key)) continue;
    const photos = [];
    for (const sha256 of item.photos) {
      const { type, base64: text } = told.photos?.[sha256] ?? {};
      const read = text && (await readBack(sha256, type, bytesOf(text)).catch(() => null));
      if (!read) return tr("A photo in this file is not whole. Nothing more was taken from it.");
      photos.push(read);
    }
    const { n, ...rest } = item;
    await keep({ ...rest, state: "waiting", tries: 0, trouble: null, receipt: null, verdict: item.verdict ?? null, project_name: item.project_name ?? "" }, photos);
    taken += 1;
  }
  await tell(await all());
  return trn("{n} thing taken in.", "{n} things taken in.", taken);
}
