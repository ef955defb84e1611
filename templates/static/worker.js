// Keeps the files of the crew's pages and whatever pages were taken along. What it keeps, and the version of it,
// stand above: the service writes VERSION, FILES and SHELLS there.
const HELD = `files-${VERSION}`, PAGES = "pages-", TILES = "tiles-", WAIT_MS = 4000;
const TILE = /^\/sketches\/[^/]+\/(tiles\/|preview)/, LISTS = /\/(marks|along)\.json$/;
const here = (url) => url.origin === self.location.origin;

self.addEventListener("install", (event) => event.waitUntil((async () => {
  const cache = await caches.open(HELD);
  await cache.addAll(FILES);
  await Promise.all(SHELLS.map((path) => renewShell(cache, path)));
  for (const name of await caches_of(PAGES)) for (const kept of await (await caches.open(name)).matchAll()) await keepFiles(cache, await kept.text()).catch(() => {});
})()));

// A new worker takes over when a page says that no send is under way, and clears away what the old one held.
self.addEventListener("activate", (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith("files-") && name !== HELD) await caches.delete(name);
  await self.clients.claim();
})()));

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
  if (event.data === "shells") event.waitUntil(caches.open(HELD).then((cache) => Promise.all(SHELLS.map((path) => renewShell(cache, path).catch(() => {})))));
});

self.addEventListener("fetch", (event) => {
  const { request } = event, url = new URL(request.url);
  if (!here(url)) return;
  if (request.method === "POST" && request.mode === "navigate") {
    // Only from a page of our own: asked by the worker, another site's form would look like ours to the service.
    if (request.referrer && here(new URL(request.referrer))) event.respondWith(sent(request, url));
  } else if (request.method !== "GET") return;
  else if (url.pathname.startsWith("/static/")) event.respondWith(file(request));
  else if (request.mode === "navigate") event.respondWith(page(event, url));
  else if (TILE.test(url.pathname)) event.respondWith(tile(request));
  else if (LISTS.test(url.pathname)) event.respondWith(fetch(request).catch(async () => (await find(url)) ?? Response.error()));
});

async function renewShell(cache, path) {
  const answer = await fetch(path, { cache: "no-cache" });
  if (!answer.ok || answer.redirected) throw new TypeError(`${path} cannot be kept`);
  await renew(cache, path, answer);
}

/** The files that a page asks for, under the address it has for them. */
async function keepFiles(cache, html) {
  const asked = [...html.matchAll(/(?:href|src)="(\/static\/[^"]+)"/g)].map(([, path]) => path);
  await Promise.all(asked.map(async (path) => { if (!(await cache.match(path))) await cache.add(path); }));
}

/** A copy that says when it was taken, and can be kept: a body is stored as it reads, not as it was packed. */
async function dated(answer) {
  const headers = new Headers(answer.headers);
  for (const name of ["content-encoding", "content-length"]) headers.delete(name);
  headers.set("X-Taken-At", new Date().toISOString());
  return new Response(await answer.arrayBuffer(), { status: answer.status, headers });
}

async function file(request) {
  const kept = await caches.match(request);
  if (kept) return kept;
  try {
    return await fetch(request);
  } catch {
    return (await caches.match(request, { ignoreSearch: true })) ?? Response.error();
  }
}

async function caches_of(prefix) {
  return (await caches.keys()).filter((name) => name.startsWith(prefix));
}

/** The page as it was taken along, and where it lies. */
async function found(url) {
  if (SHELLS.includes(url.pathname)) {
    const cache = await caches.open(HELD), kept = await cache.match(url.pathname);
    return kept && { cache, kept };
  }
  for (const name of await caches_of(PAGES)) {
    const cache = await caches.open(name), kept = await cache.match(url.pathname);
    if (kept) return { cache, kept };
  }
  return undefined;
}

async function find(url) { return (await found(url))?.kept; }

/** With signal the service's page; after four seconds, or without, the one on this phone; else the page that says so. */
async function page(event, url) {
  const { cache, kept } = (await found(url)) ?? {};
  const asked = fetch(event.request).then(async (answer) => {
    const renews = kept && answer.ok && !answer.redirected && (!url.search || SHELLS.includes(url.pathname));
    if (renews) event.waitUntil(renew(cache, url.pathname, answer.clone()).catch(() => {}));
    return answer;
  });
  asked.catch(() => {}); // when it loses the race
  try {
    const answer = await Promise.race(kept ? [asked, new Promise((done) => { setTimeout(done, WAIT_MS); })] : [asked]);
    if (answer && !(kept && answer.status >= 502 && answer.status <= 504)) return answer;
  } catch { /* no signal */ }
  const shell = kept ?? await caches.match("/outbox");
  return shell ? shown(shell, !kept || SHELLS.includes(url.pathname)) : Response.error();
}

async function renew(cache, path, answer) {
  await keepFiles(await caches.open(HELD), await answer.clone().text());
  await cache.put(path, await dated(answer));
}

/** The kept page, saying of itself that it comes from this phone and since when. */
async function shown(kept, shell) {
  const since = kept.headers.get("X-Taken-At") ?? "";
  const words = shell ? ` data-no-signal="${since}"` : ` data-from-phone="${since}"`;
  return new Response((await kept.text()).replace("<body", `<body${words}`), { status: 200, headers: kept.headers });
}

async function tile(request) {
  return (await caches.match(request)) ?? fetch(request);
}

async function sent(request, url) {
  if (url.pathname === "/sign-out") await Promise.all((await Promise.all([PAGES, TILES].map(caches_of))).flat().map((name) => caches.delete(name)));
  try {
    return await fetch(request);
  } catch {
    return Response.redirect(`/outbox?unanswered=${encodeURIComponent(url.pathname)}`, 303);
  }
}
