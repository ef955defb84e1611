// The verdict of a patch told by its size, or laid over another: asked of the server while typing, which alone judges.
const box = document.querySelector("[data-preview-url]"), form = box?.closest("form"), verdict = box?.querySelector("[data-preview]");
let waiting = 0, asked = 0;

function show({ words, small, kind }) {
  verdict.hidden = !words;
  verdict.className = `verdict ${kind}`;
  verdict.querySelector("[data-words]").textContent = words;
  verdict.querySelector("small").textContent = small;
}

/** Whether enough is typed to be worth asking: all four readings, or a shape with its sizes. */
function told(by) {
  if (by === "readings") {
    return [...form.querySelectorAll(".read input")].every((field) => field.disabled || field.value.trim());
  }
  const shape = form.querySelector("[name=shape]:checked")?.value;
  const asks = { circle: ["diameter"], rectangle: ["length", "width"], slit: ["slit_length"], polygon: [] }[shape];
  return Boolean(asks) && asks.every((name) => form.elements.namedItem(name).value.trim());
}

async function ask() {
  const by = form.querySelector("[name=by]:checked")?.value;
  if ((by === "readings" && !("previewAlways" in box.dataset)) || !told(by)) return show({ words: "", small: "", kind: "" });
  const mine = ++asked, data = new FormData(form);
  for (const name of ["camera", "picture", "request_key"]) data.delete(name);
  try {
    const answer = await fetch(box.dataset.previewUrl, { method: "POST", body: data, headers: { Accept: "application/json" } });
    if (mine === asked && (answer.ok || answer.status === 422)) show(await answer.json());
  } catch { /* no signal: the server judges when the patch is logged */ }
}

if (box) {
  for (const kind of ["input", "change", "typed-back"]) form.addEventListener(kind, () => { clearTimeout(waiting); waiting = setTimeout(ask, 250); });
  box.addEventListener("click", (e) => { if (e.target.closest("button")) { clearTimeout(waiting); waiting = setTimeout(ask, 250); } });
  ask();
}
