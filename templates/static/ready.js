// An open list is asked again while it is looked at, so that a phone out of a pocket never shows a zone ready that is
// not any more. Where it cannot be asked, the page says that it is old. Without scripts, "Look again" does the asking.
const EVERY_MS = 60_000;
const main = document.getElementById("main");
let asking = false;

function show(fresh) {
  const now = main.querySelector("[data-head]"), then = fresh.querySelector("[data-head]");
  if (now && then && now.dataset.head === then.dataset.head) {
    main.querySelector("[data-as-of]").replaceWith(fresh.querySelector("[data-as-of]"));
    main.querySelector("[data-old]").hidden = true;
  } else {
    main.className = fresh.className;
    main.replaceChildren(...fresh.childNodes);
  }
}

function grownOld() {
  const old = main.querySelector("[data-old]");
  if (old) old.hidden = false;
}

async function ask() {
  if (document.hidden || asking) return;
  asking = true;
  try {
    const answer = await fetch(location.pathname, { cache: "no-store", redirect: "error" });
    if (answer.status !== 200 && answer.status !== 404) throw new Error(`${answer.status}`);
    show(new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("main"));
  } catch {
    grownOld();
  } finally {
    asking = false;
  }
}

setInterval(ask, EVERY_MS);
document.addEventListener("visibilitychange", ask);
addEventListener("pageshow", (event) => { if (event.persisted) ask(); });
addEventListener("online", ask);
