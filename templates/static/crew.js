// The crew's forms: usual sizes at a press, a pad to draw a free shape on, and the server's verdict while typing.
const VIEW = 240;
// How much ground one square of the pad is, and how finely a press is taken: [square, step], in the form's unit.
const SCALES = { in: [[1, 0.25], [2, 0.5], [6, 1], [12, 2], [48, 6]], mm: [[25, 5], [50, 10], [150, 25], [300, 50], [1200, 150]] };
const SQUARES = 10;

document.addEventListener("click", (e) => {
  const button = e.target.closest("[data-fill]");
  if (!button) return;
  const field = button.closest("form").elements.namedItem(button.dataset.fill);
  field.value = button.value;
  field.dispatchEvent(new Event("input", { bubbles: true }));
});

class Pad {
  constructor(box) {
    this.box = box;
    this.form = box.closest("form");
    this.unit = box.closest("[data-unit]").dataset.unit;
    this.svg = box.querySelector("[data-pad-sheet]");
    this.told = box.querySelector("[data-pad-told]");
    this.field = this.form.elements.namedItem("corners");
    this.scale = 2;
    this.read();
    this.svg.addEventListener("click", (e) => this.press(e));
    box.querySelector("[data-pad-undo]").addEventListener("click", () => { this.points.pop(); this.write(); });
    box.querySelector("[data-pad-wider]").addEventListener("click", () => this.zoom(1));
    box.querySelector("[data-pad-closer]").addEventListener("click", () => this.zoom(-1));
    this.form.addEventListener("typed-back", () => { this.read(); this.show(); });
    this.show();
  }

  read() {
    try { this.points = JSON.parse(this.field.value || "[]"); } catch { this.points = []; }
    const far = Math.max(0, ...this.points.flat().map(Math.abs));
    while (this.scale < SCALES[this.unit].length - 1 && far > this.square() * SQUARES / 2) this.scale += 1;
  }

  square() { return SCALES[this.unit][this.scale][0]; }

  zoom(way) {
    this.scale = Math.min(Math.max(this.scale + way, 0), SCALES[this.unit].length - 1);
    this.show();
  }

  press(e) {
    const frame = this.svg.getBoundingClientRect(), step = SCALES[this.unit][this.scale][1], k = this.square() * SQUARES;
    const at = [(e.clientX - frame.left) / frame.width, (e.clientY - frame.top) / frame.height];
    this.points.push(at.map((share) => Math.round((share - 0.5) * k / step) * step));
    this.write();
  }

  write() {
    this.field.value = this.points.length ? JSON.stringify(this.points) : "";
    this.field.dispatchEvent(new Event("input", { bubbles: true }));
    this.show();
  }

  show() {
    const k = VIEW / (this.square() * SQUARES), to = ([x, y]) => `${VIEW / 2 + x * k} ${VIEW / 2 + y * k}`;
    const lines = [...Array(SQUARES + 1).keys()].map((i) => i * VIEW / SQUARES);
    const pieces = lines.map((at, i) => this.make("path", { class: `square${i === SQUARES / 2 ? " strong" : ""}`, d: `M${at} 0V${VIEW}M0 ${at}H${VIEW}` }));
    if (this.points.length > 1) pieces.push(this.make("path", { class: "run", d: `M${this.points.map(to).join("L")}Z` }));
    pieces.push(...this.points.map((p) => this.make("circle", { class: "corner-dot", cx: VIEW / 2 + p[0] * k, cy: VIEW / 2 + p[1] * k, r: 4 })));
    this.svg.replaceChildren(...pieces);
    const n = this.points.length, size = n > 1 ? `, ${this.span(0)} by ${this.span(1)} ${this.unit}` : "";
    this.told.textContent = `${n ? `${n} ${n === 1 ? "corner" : "corners"}${size}` : "Press the corners one after the other"}. One square is ${this.square()} ${this.unit}.`;
  }

  span(axis) {
    const all = this.points.map((p) => p[axis]);
    return Math.max(...all) - Math.min(...all);
  }

  make(tag, attributes) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    return made;
  }
}

document.querySelectorAll("[data-pad]").forEach((box) => new Pad(box));

// The verdict of a patch told by its size, or laid over another: the server is asked, which alone judges.
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
