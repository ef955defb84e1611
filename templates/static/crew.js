// The crew's forms by hand alone: usual sizes and whole marks at a press, steppers, one press for three answers, a pad
// to draw a free shape on.
import { parseLength, sayLength, unitSaid } from "./patch.js";

const VIEW = 240;
// How much ground one square of the pad is, and how finely a press is taken: [square, step], in the form's unit.
const SCALES = { in: [[1, 0.25], [2, 0.5], [6, 1], [12, 2], [48, 6]], mm: [[25, 5], [50, 10], [150, 25], [300, 50], [1200, 150]] };
const SQUARES = 10;

const SIXTEENTH = 25_400_000 / 16, MM = 1_000_000;
// The shape that damage of a kind mostly has: chosen with the kind until a shape is chosen by hand.
const USUAL = { hole: "circle", burn: "circle", tear: "rectangle", "open seam": "slit", "short lap": "slit", "unbonded tape": "slit" };

const told = (field, kind = "input") => field.dispatchEvent(new Event(kind, { bubbles: true }));

function put(form, name, value) {
  const choice = form.querySelector(`input[type=radio][name="${name}"][value="${CSS.escape(value)}"]`), field = form.elements.namedItem(name);
  if (choice) {
    choice.checked = true;
    const folded = choice.closest("details");
    if (folded) folded.open = true;
    told(choice, "change");
  } else if (field && "value" in field) {
    field.value = value;
    told(field);
  }
}

/** One step of a length: so many sixteenths of an inch or millimetres; an empty one starts where it usually does. */
function step(form, name, by) {
  const field = form.elements.namedItem(name), unit = form.elements.namedItem(`${name}_unit`).value, size = unit === "mm" ? MM : SIXTEENTH;
  const now = parseLength(field.value, unit), next = now + by * size;
  if (Number.isNaN(now)) field.value = field.dataset.start;
  else if (next > 0) field.value = sayLength(next, unit, Math.round);
  else if (field.dataset.none !== undefined) field.value = "";
  told(field);
}

const ACTS = {
  fill: (form, button) => put(form, button.dataset.fill, button.value),
  step: (form, button) => step(form, button.dataset.add, Number(button.value)),
  set: (form, button) => Object.entries(JSON.parse(button.dataset.set)).forEach(([name, value]) => put(form, name, value)),
  yes: (form, button) => button.dataset.yes.split(" ").forEach((name) => put(form, name, "yes")),
};

document.addEventListener("click", (e) => {
  const button = e.target.closest("[data-fill], [data-add], [data-set], [data-yes]"), data = button?.dataset;
  if (button) ACTS["fill" in data ? "fill" : "add" in data ? "step" : "set" in data ? "set" : "yes"](button.closest("form"), button);
  const summary = e.target.closest("summary"), area = summary?.parentElement.querySelector("[data-speak]");
  if (!area || summary.parentElement.open) return;
  e.preventDefault(); // opened and entered at one press: the keyboard comes up with its microphone
  summary.parentElement.open = true;
  area.focus();
});

document.addEventListener("change", ({ target }) => {
  const form = target.form;
  if (target.name === "shape") form.dataset.shaped = "";
  if (target.name !== "kind" || "shaped" in form.dataset || !USUAL[target.value]) return;
  const shape = form.querySelector(`[name=shape][value=${USUAL[target.value]}]`);
  if (shape) shape.checked = true;
});
document.querySelectorAll("[name=shape]:checked").forEach((shape) => { shape.form.dataset.shaped = ""; });

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
    const n = this.points.length, told = { square: this.square(), unit: unitSaid(this.unit) };
    if (n === 0) this.told.textContent = tr("Press the corners one after the other. One square is {square} {unit}.", told);
    else if (n === 1) this.told.textContent = tr("1 corner. One square is {square} {unit}.", told);
    else this.told.textContent = tr("{n} corners, {length} by {width} {unit}. One square is {square} {unit}.", { n, length: this.span(0), width: this.span(1), ...told });
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
