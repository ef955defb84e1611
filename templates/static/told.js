// Messages on this phone: asks the browser, and tells the service where they are to be sent. Shown where there is push.
const part = document.querySelector("[data-push]");
if (part && "serviceWorker" in navigator && "PushManager" in window) start().catch(() => {});

async function start() {
  const [on, off, said] = ["[data-push-on]", "[data-push-off]", "[data-push-said]"].map((name) => part.querySelector(name));
  const worker = await navigator.serviceWorker.ready;
  const show = (kept) => { on.hidden = Boolean(kept); off.hidden = !kept; part.hidden = false; };
  show(await worker.pushManager.getSubscription());
  on.addEventListener("click", () => tell(said, async () => {
    const kept = await worker.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: plain(part.dataset.push) });
    const { endpoint, keys } = kept.toJSON();
    if (!await sent("/told/phones", { endpoint, p256dh: keys.p256dh, auth: keys.auth })) {
      await kept.unsubscribe();
      return tr("The service did not take it. Try again later.");
    }
    show(kept);
    return tr("Messages come to this phone from now on.");
  }));
  off.addEventListener("click", () => tell(said, async () => {
    const kept = await worker.pushManager.getSubscription();
    if (kept) {
      await sent("/told/phones/forget", { endpoint: kept.endpoint });
      await kept.unsubscribe();
    }
    show(null);
    return tr("No more messages come to this phone.");
  }));
}

async function tell(said, act) {
  try {
    said.textContent = await act();
  } catch {
    said.textContent = tr("This phone does not let messages through. Allow them for this site in its settings.");
  }
}

async function sent(path, fields) {
  const answer = await fetch(path, { method: "POST", body: new URLSearchParams(fields), redirect: "manual" });
  return answer.ok;
}

function plain(text) {
  const told = atob(text.replace(/-/g, "+").replace(/_/g, "/"));
  return Uint8Array.from(told, (sign) => sign.charCodeAt(0));
}
