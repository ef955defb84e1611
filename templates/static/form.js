// Forms: say that scripts run, send once, keep what was typed across a sign-out, move to the error summary.
(() => {
  "use strict";
  document.documentElement.classList.add("js");
  const AWAY = "signed out on the way";
  const store = {
    get(key) { try { return JSON.parse(sessionStorage.getItem(key)); } catch { return null; } },
    set(key, value) { try { sessionStorage.setItem(key, JSON.stringify(value)); } catch { /* full or refused */ } },
    drop(key) { try { sessionStorage.removeItem(key); } catch { /* refused */ } },
  };
  const nameOf = (form) => `typed ${location.pathname} ${form.getAttribute("action") || ""}`;
  const kept = (field) => field.name && field.name !== "request_key" && !["password", "file", "submit", "image"].includes(field.type)
    && (field.type !== "hidden" || field.hasAttribute("data-keep"));

  function typed(form) {
    return [...form.elements].filter(kept).map((field) =>
      [field.name, field.value, field.type === "checkbox" || field.type === "radio" ? field.checked : null]);
  }

  function putBack(form, rows) {
    for (const [name, value, checked] of rows) {
      for (const field of [...form.elements].filter((f) => f.name === name && kept(f))) {
        if (checked === null) field.value = value;
        else if (field.value === value) field.checked = checked;
      }
    }
    form.dispatchEvent(new CustomEvent("typed-back", { bubbles: true }));
    const said = document.createElement("p");
    said.className = "note";
    said.setAttribute("role", "status");
    said.textContent = form.dataset.backWords || tr("What you had typed before signing in again is back. Pictures must be chosen again.");
    form.prepend(said);
  }

  function keep(form) {
    const person = document.body.dataset.person || "";
    const key = nameOf(form);
    const before = store.get(key);
    if (before && store.get(AWAY) && before.person === person) putBack(form, before.rows);
    if (!document.querySelector(".errors")) store.drop(key);
    const note = () => store.set(key, { person, rows: typed(form) });
    form.addEventListener("input", note);
    form.addEventListener("change", note);
    form.addEventListener("submit", note);
  }

  function sendOnce(form) {
    form.addEventListener("submit", (event) => {
      if (form.dataset.sent) { event.preventDefault(); return; }
      form.dataset.sent = "yes";
      // After the browser has read the pressed button's own name and value.
      setTimeout(() => form.querySelectorAll("button.act:not([type=button])").forEach((b) => b.setAttribute("aria-busy", "true")));
    });
  }

  addEventListener("pageshow", (event) => {
    if (!event.persisted) return;
    document.querySelectorAll("form[data-sent]").forEach((form) => {
      delete form.dataset.sent;
      form.querySelectorAll("[aria-busy]").forEach((b) => b.removeAttribute("aria-busy"));
    });
  });
  document.addEventListener("DOMContentLoaded", () => {
    if (document.querySelector("form[data-sign-in]")) store.set(AWAY, true);
    document.querySelectorAll("form[method=post]:not([data-again])").forEach(sendOnce); // a file handed out leaves the page as it is
    document.querySelectorAll("form[data-keep]").forEach(keep);
    if (document.body.dataset.person) store.drop(AWAY); // the page signed in to has had its chance
    const errors = document.getElementById("errors"); // autofocus comes first where the browser has it for any element
    if (errors) addEventListener("load", () => setTimeout(() => document.activeElement === errors || errors.focus()));
  });
})();
