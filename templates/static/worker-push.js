// Messages sent to this phone: shown as they come, and the zone opened when one is pressed. It is served below worker.js.
self.addEventListener("push", (event) => event.waitUntil((async () => {
  let told = {};
  try { told = event.data?.json() ?? {}; } catch { /* nothing that we sent */ }
  const { title = "Laptight", body = "", href = "/told", tag = "told" } = told;
  await self.registration.showNotification(String(title), { body: String(body), tag: String(tag), data: { href: String(href) } });
})()));

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  const url = new URL(event.notification.data?.href ?? "/told", self.location.origin);
  const where = url.origin === self.location.origin ? url.href : `${self.location.origin}/told`;
  event.waitUntil((async () => {
    for (const page of await self.clients.matchAll({ type: "window" })) if (page.url === where) return page.focus();
    return self.clients.openWindow(where);
  })());
});
