// Passkeys: what the service asks is given to the browser, and what the browser signs is sent as the form it stands in.
const able = window.PublicKeyCredential?.parseCreationOptionsFromJSON && navigator.credentials;
for (const form of document.querySelectorAll("form[data-passkey]")) if (able) start(form);

function start(form) {
  const said = form.querySelector("[data-passkey-said]");
  form.hidden = false;
  document.querySelector("[data-no-passkey]")?.remove();
  form.addEventListener("submit", async (event) => {
    if (form.elements.passkey.value) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    const answer = await fetch(form.dataset.options, { method: "POST", body: new URLSearchParams(new FormData(form)) }).catch(() => null);
    if (!answer?.ok) {
      said.textContent = answer?.status === 401 ? tr("Sign in again: this took too long.") : answer ? await answer.text() : tr("No signal. Try again.");
      return;
    }
    try {
      form.elements.passkey.value = JSON.stringify(await signed(form.dataset.passkey, await answer.json()));
    } catch {
      said.textContent = tr("No passkey was used. Try again, or use a code.");
      return;
    }
    for (const field of form.querySelectorAll("[type=password]")) field.value = "";
    form.submit();
  }, true);
}

async function signed(way, options) {
  const publicKey = way === "create"
    ? PublicKeyCredential.parseCreationOptionsFromJSON(options) : PublicKeyCredential.parseRequestOptionsFromJSON(options);
  return (await navigator.credentials[way]({ publicKey })).toJSON();
}
