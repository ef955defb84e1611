// Drawing on a picture before it is sent: circles and arrows, by a drag, by two presses or by keys. They are put into
// the file of the field when its form is sent, so that whatever sends the form sends them with it.
import { make } from "./make.js";

const WIDEST = 1600, QUALITY = 0.85, DRAGGED_PX = 12, DARK = "#12161b", LIGHT = "#fff";
// Across the picture's longer side: how thick a stroke is, and one step of the cross by key, coarse and fine.
const THICK = 1 / 100, STEP = 1 / 40, FINE = 1 / 200;
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const TOOLS = {
  circle: { first: () => tr("Draw a circle from its middle, or press its middle and then its rim."), second: () => tr("Now press the rim."), done: () => tr("The circle is drawn.") },
  arrow: { first: () => tr("Draw an arrow towards its tip, or press its tail and then its tip."), second: () => tr("Now press the tip."), done: () => tr("The arrow is drawn.") },
};
const far = (a, b) => Math.hypot(b[0] - a[0], b[1] - a[1]);

/** The picture upright and no wider than is sent. Throws where the browser cannot read it. */
async function upright(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const share = Math.min(1, WIDEST / Math.max(picture.width, picture.height));
  const canvas = make("canvas", { width: Math.max(1, Math.round(picture.width * share)), height: Math.max(1, Math.round(picture.height * share)) });
  const pen = canvas.getContext("2d");
  pen.fillStyle = LIGHT; // where a picture lets through, a JPEG would be black
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return canvas;
}

function shape({ tool, from, to }, thick) {
  const path = new Path2D();
  if (tool === "circle") {
    path.arc(...from, Math.max(far(from, to), thick), 0, 2 * Math.PI);
    return path;
  }
  const turn = Math.atan2(to[1] - from[1], to[0] - from[0]), barb = Math.max(5 * thick, far(from, to) / 5);
  const end = (by) => [to[0] - barb * Math.cos(turn + by), to[1] - barb * Math.sin(turn + by)];
  path.moveTo(...from);
  path.lineTo(...to);
  path.moveTo(...end(0.5));
  path.lineTo(...to);
  path.lineTo(...end(-0.5));
  return path;
}

/** A dark line in a light edge: one of the two is seen on any ground. */
function ink(pen, path, thick) {
  Object.assign(pen, { lineCap: "round", lineJoin: "round" });
  for (const [colour, width] of [[LIGHT, 2 * thick], [DARK, thick]]) {
    Object.assign(pen, { strokeStyle: colour, lineWidth: width });
    pen.stroke(path);
  }
}

class Drawing {
  constructor(field, file, ground) {
    Object.assign(this, { field, file, ground, strokes: [], tool: "circle", first: null, drag: null, cross: null });
    this.canvas = make("canvas", { width: ground.width, height: ground.height, tabIndex: 0 });
    this.thick = Math.max(2, Math.max(ground.width, ground.height) * THICK);
    const keys = make("p", { className: "hint draw-keys", id: `${field.id}-draw-keys` }, tr("By keys: the arrows move the cross, with Shift in small steps. Enter sets a point."));
    this.canvas.setAttribute("role", "application");
    this.canvas.setAttribute("aria-label", tr("The picture, to draw on"));
    this.canvas.setAttribute("aria-describedby", keys.id);
    this.told = make("p", { className: "hint" });
    this.told.setAttribute("role", "status");
    this.tools = { circle: this.button(tr("Circle"), () => this.take("circle")), arrow: this.button(tr("Arrow"), () => this.take("arrow")) };
    this.undo = this.button(tr("Undo"), () => this.back());
    this.clear = this.button(tr("As it was"), () => this.afresh());
    this.box = make("div", { className: "draw stack" }, this.told, make("div", { className: "acts" }, this.tools.circle, this.tools.arrow), this.canvas, keys, make("div", { className: "acts" }, this.undo, this.clear));
    for (const name of ["pointerdown", "pointermove", "pointerup", "pointercancel", "keydown", "blur"]) this.canvas.addEventListener(name, (e) => this[name](e));
    this.take("circle");
  }

  button(words, act) {
    const made = make("button", { type: "button", className: "act plain" }, words);
    made.addEventListener("click", act);
    return made;
  }

  say(words) { this.told.textContent = words; }

  take(tool) {
    Object.assign(this, { tool, first: null });
    for (const [name, button] of Object.entries(this.tools)) button.setAttribute("aria-pressed", String(name === tool));
    this.say(TOOLS[tool].first());
    this.show();
  }

  back() {
    if (this.first) this.first = null;
    else this.strokes.pop();
    this.say(TOOLS[this.tool].first());
    this.show();
  }

  afresh() {
    Object.assign(this, { strokes: [], first: null });
    this.say(tr("The picture is as it was."));
    this.show();
  }

  // --- points ---------------------------------------------------------------------------------------------------

  at(e) {
    const frame = this.canvas.getBoundingClientRect(), { clientLeft: x, clientTop: y, clientWidth: w, clientHeight: h } = this.canvas;
    return [(e.clientX - frame.left - x) / w * this.canvas.width, (e.clientY - frame.top - y) / h * this.canvas.height];
  }

  pointerdown(e) {
    if (!e.isPrimary || e.button > 0) return;
    this.canvas.setPointerCapture(e.pointerId);
    this.cross = null;
    this.drag = { from: this.at(e), to: this.at(e), x: e.clientX, y: e.clientY, moved: false };
  }

  pointermove(e) {
    if (!this.drag || !e.isPrimary) return;
    this.drag.to = this.at(e);
    this.drag.moved ||= Math.hypot(e.clientX - this.drag.x, e.clientY - this.drag.y) > DRAGGED_PX;
    this.show();
  }

  pointerup(e) {
    if (!this.drag || !e.isPrimary) return;
    const { from, moved } = this.drag;
    this.drag = null;
    if (moved) this.add(from, this.at(e));
    else this.set(from);
  }

  pointercancel() {
    this.drag = null;
    this.show();
  }

  blur() {
    this.cross = null;
    this.show();
  }

  keydown(e) {
    const { width, height } = this.canvas, way = WAYS[e.key];
    if (way) {
      const by = Math.max(width, height) * (e.shiftKey ? FINE : STEP), from = this.cross ?? this.first ?? [width / 2, height / 2];
      this.cross = [0, 1].map((i) => Math.min(Math.max(from[i] + way[i] * by, 0), [width, height][i]));
      this.show();
    } else if (e.key === "Enter" || e.key === " ") this.set(this.cross ??= [width / 2, height / 2]);
    else if (e.key === "Escape" && this.first) this.back();
    else return;
    e.preventDefault();
  }

  /** A point pressed: the first of two waits for the second. */
  set(point) {
    if (this.first && far(this.first, point) > 0) { this.add(this.first, point); return; }
    this.first = [...point];
    this.say(TOOLS[this.tool].second());
    this.show();
  }

  add(from, to) {
    this.strokes.push({ tool: this.tool, from: [...from], to: [...to] });
    this.first = null;
    this.say(TOOLS[this.tool].done());
    this.show();
  }

  // --- what is seen, and what is sent ---------------------------------------------------------------------------

  paint() {
    const pen = this.canvas.getContext("2d");
    pen.drawImage(this.ground, 0, 0);
    for (const stroke of this.strokes) ink(pen, shape(stroke, this.thick), this.thick);
    return pen;
  }

  show() {
    const pen = this.paint(), { thick } = this;
    if (this.drag?.moved) ink(pen, shape({ tool: this.tool, ...this.drag }, thick), thick);
    if (this.first) {
      const dot = new Path2D();
      dot.arc(...this.first, thick, 0, 2 * Math.PI);
      ink(pen, dot, thick);
    }
    if (this.cross) {
      const [x, y] = this.cross, arm = 4 * thick, lines = new Path2D();
      lines.moveTo(x - arm, y);
      lines.lineTo(x + arm, y);
      lines.moveTo(x, y - arm);
      lines.lineTo(x, y + arm);
      ink(pen, lines, thick / 2);
    }
    this.undo.disabled = this.clear.disabled = !this.strokes.length && !this.first;
  }

  /** The field's file with what is drawn on it, made at once: the form is being sent. The file as it was without. */
  put() {
    let { file } = this;
    if (this.strokes.length) {
      this.paint();
      const bytes = Uint8Array.from(atob(this.canvas.toDataURL("image/jpeg", QUALITY).split(",")[1]), (one) => one.charCodeAt(0));
      file = new File([bytes], `${this.file.name.replace(/\.\w+$/, "")}.jpg`, { type: "image/jpeg" });
      this.show();
    }
    if (this.field.files[0] === file) return;
    const given = new DataTransfer();
    given.items.add(file);
    this.field.files = given.files;
  }
}

const drawings = new Map();

async function chosen(field) {
  const file = field.files[0];
  drawings.get(field)?.box.remove();
  drawings.delete(field);
  field.parentElement.querySelector("[data-draw-not]")?.remove();
  if (!file) return;
  let ground = null;
  try { ground = await upright(file); } catch { /* told below */ }
  if (field.files[0] !== file) return; // another was chosen meanwhile
  if (ground) {
    const drawing = new Drawing(field, file, ground);
    drawings.set(field, drawing);
    field.after(drawing.box);
    return;
  }
  const told = make("p", { className: "hint" }, tr("This picture can be sent, but this phone cannot show it to be drawn on."));
  told.dataset.drawNot = "";
  told.setAttribute("role", "status");
  field.after(told);
}

for (const field of document.querySelectorAll("[data-draw]")) {
  field.addEventListener("change", () => chosen(field));
  if (field.files.length) chosen(field); // gone back to, with its picture still chosen
}
// Before whoever sends the form has read it.
document.addEventListener("submit", ({ target }) => {
  for (const [field, drawing] of drawings) if (field.form === target && field.files.length) drawing.put();
}, true);
