// Choosing places on the sketch: one place, two points, a line with bends, or the corners of a zone; press, nudge, drag or keyboard.
const INK = "#12161b", DO = "#0b4a8f", PAPER = "#ffffff";
const STEPS = { us: [[0.0254, tr("1 in")], [0.3048, tr("1 ft")]], metric: [[0.01, "10 mm"], [0.1, "100 mm"]] };
const DOTS = [[1, tr("1 dot")], [10, tr("10 dots")]]; // a sketch without a scale is nudged by its own dots
const LOOSER = 1.6; // a zone's corner is pressed from further out than a hole: about 6 in of ground to a dot

function sayMetres(m, units) {
  if (units === "metric") return `${m.toFixed(2)} m`;
  const inches = Math.round(m / 0.0254);
  const short = `${inches % 12} ${trc("unit", "in")}`, feet = trn("{n} ft", "{n} ft", Math.floor(inches / 12));
  if (inches < 12) return short;
  return inches % 12 ? `${feet} ${short}` : feet;
}

class Placer {
  constructor(el) {
    this.el = el;
    this.box = el.closest(".placer");
    this.form = el.closest("form");
    this.mode = el.dataset.place;
    this.many = this.mode === "ring" || this.mode === "line";
    Object.assign(this, el.sketch);
    this.steps = this.pxPerM ? STEPS[el.dataset.units].map(([m, words]) => [m * this.pxPerM, words]) : DOTS;
    this.step = 0;
    this.picked = 0;
    this.points = [];
    this.canvas();
    this.read();
    this.listen();
    this.show();
    if (!this.many && this.points[0]) this.map.setView(this.at(...this.points[0]), Math.max(this.map.getZoom(), this.close()), { animate: false });
  }

  close() { return this.fine - (this.many ? LOOSER : 0); }

  field(name) { return this.form.elements.namedItem((this.el.dataset.prefix || "") + name); }

  names() { return this.mode === "point" ? [["x", "y"]] : [["x1", "y1"], ["x2", "y2"]]; }

  read() {
    if (this.many) { try { this.points = JSON.parse(this.field("outline").value || "[]"); } catch { this.points = []; } return; }
    this.names().forEach(([x, y], i) => {
      if (this.field(x).value !== "" && this.field(y).value !== "") this.points[i] = [Number(this.field(x).value), Number(this.field(y).value)];
    });
  }

  write() {
    const text = (n) => String(Math.round(n * 1000) / 1000);
    if (this.many) this.field("outline").value = JSON.stringify(this.points.map((p) => p.map((n) => Number(text(n)))));
    else this.names().forEach(([x, y], i) => { if (this.points[i]) { this.field(x).value = text(this.points[i][0]); this.field(y).value = text(this.points[i][1]); } });
    this.form.dispatchEvent(new Event("input", { bubbles: true }));
    this.show();
  }

  inside([x, y]) {
    return [Math.min(Math.max(x, 0), Number(this.el.dataset.width)), Math.min(Math.max(y, 0), Number(this.el.dataset.height))];
  }

  press(place) {
    if (this.dragged) { this.dragged = false; return; }
    if (this.map.getZoom() < this.close() - 0.05) {
      this.map.setView(place, this.close() + 0.6);
      this.tell("far");
      return;
    }
    const point = this.inside(this.toPx(place));
    if (this.many) { this.points.push(point); this.picked = this.points.length - 1; }
    else {
      this.points[this.picked] = point;
      if (this.mode === "pair" && !this.points[1 - this.picked]) this.pick(1 - this.picked);
    }
    this.write();
  }

  pick(i) {
    this.picked = i;
    this.box.querySelectorAll("[data-which]").forEach((b) => b.setAttribute("aria-pressed", String(Number(b.dataset.which) === i)));
    this.show();
  }

  nudge(dx, dy) {
    const point = this.points[this.picked];
    if (!point) return;
    const by = this.steps[this.step][0];
    this.points[this.picked] = this.inside([point[0] + dx * by, point[1] + dy * by]);
    const seen = this.map.latLngToContainerPoint(this.at(...this.points[this.picked])), size = this.map.getSize();
    if (seen.x < 20 || seen.y < 20 || seen.x > size.x - 20 || seen.y > size.y - 20) this.map.panTo(this.at(...this.points[this.picked]));
    this.write();
  }

  tell(state, words) {
    const told = this.box.querySelector("[data-told]");
    if (told) told.textContent = words ?? told.dataset[state];
  }

  listen() {
    this.map.on("click", (e) => this.press(e.latlng));
    this.map.on("move zoom resize", () => this.draw());
    this.el.addEventListener("keydown", (e) => {
      if ((e.key === "Enter" || e.key === " ") && e.target === this.el) { e.preventDefault(); this.press(this.map.getCenter()); }
    });
    const ways = { up: [0, -1], down: [0, 1], left: [-1, 0], right: [1, 0] };
    this.box.addEventListener("click", (e) => {
      const b = e.target.closest("button");
      if (!b) return;
      const { nudge, which, pick, drop } = b.dataset;
      if (ways[nudge]) this.nudge(...ways[nudge]);
      else if (nudge === "size") { this.step = 1 - this.step; this.show(); }
      else if (which !== undefined) this.pick(Number(which));
      else if ("middle" in b.dataset) this.press(this.map.getCenter());
      else if ("undo" in b.dataset) this.drop(this.points.length - 1);
      else if (pick !== undefined) { this.pick(Number(pick)); this.map.panTo(this.at(...this.points[this.picked])); }
      else if (drop !== undefined) this.drop(Number(drop));
    });
    this.form.addEventListener("typed-back", () => { this.read(); this.show(); });
    if (this.many) this.el.addEventListener("pointerdown", (e) => this.drag(e), true);
  }

  drop(i) {
    if (i < 0) return;
    this.points.splice(i, 1);
    this.picked = Math.max(0, Math.min(this.picked, this.points.length - 1));
    this.write();
  }

  drag(e) {
    if (e.target.closest(".sketch-tools") || !e.isPrimary) return;
    const frame = this.el.getBoundingClientRect();
    const spot = (p) => this.L.point(p.clientX - frame.left - this.el.clientLeft, p.clientY - frame.top - this.el.clientTop);
    const start = spot(e);
    const found = this.points.findIndex((p) => this.map.latLngToContainerPoint(this.at(...p)).distanceTo(start) < 26);
    if (found < 0) return;
    this.map.dragging.disable();
    this.pick(found);
    const move = (m) => {
      if (!this.dragged && spot(m).distanceTo(start) < 5) return;
      this.dragged = true;
      this.points[found] = this.inside(this.toPx(this.map.containerPointToLatLng(spot(m))));
      this.draw();
    };
    const done = () => {
      removeEventListener("pointermove", move);
      this.map.dragging.enable();
      if (this.dragged) this.write();
      setTimeout(() => { this.dragged = false; }, 80); // after the click that ends a drag
    };
    addEventListener("pointermove", move);
    for (const end of ["pointerup", "pointercancel"]) addEventListener(end, done, { once: true });
  }

  show() {
    const words = this.box.querySelector("[data-nudge=size]");
    if (words) { words.textContent = this.steps[this.step][1]; words.setAttribute("aria-label", tr("step {step}, press to change", { step: this.steps[this.step][1] })); }
    if (this.many) this.list();
    else this.tell(this.points[this.picked] ? "set" : "none");
    this.draw();
  }

  side(i) {
    const [a, b] = [this.points[i], this.points[(i + 1) % this.points.length]];
    return this.pxPerM ? sayMetres(Math.hypot(a[0] - b[0], a[1] - b[1]) / this.pxPerM, this.el.dataset.units) : "";
  }

  list() {
    const list = this.box.querySelector("[data-corners]"), mould = this.box.querySelector("template");
    const ring = this.mode === "ring";
    const goesOn = (i) => this.points.length > 1 && this.pxPerM && (ring || i < this.points.length - 1);
    const named = (number) => (ring ? tr("Corner {number}", { number }) : tr("Point {number}", { number }));
    list.replaceChildren(...this.points.map((_, i) => {
      const row = mould.content.firstElementChild.cloneNode(true), [pick, drop] = row.querySelectorAll("button");
      pick.dataset.pick = drop.dataset.drop = i;
      pick.textContent = goesOn(i) ? tr("{corner}, {length} to the next", { corner: named(i + 1), length: this.side(i) }) : named(i + 1);
      pick.setAttribute("aria-pressed", String(i === this.picked));
      drop.setAttribute("aria-label", ring ? tr("take corner {number} away", { number: i + 1 }) : tr("take point {number} away", { number: i + 1 }));
      return row;
    }));
    const n = this.points.length;
    if (n) this.tell("set", this.counted(n));
    else this.tell("none");
  }

  counted(n) {
    const ring = this.mode === "ring";
    if (n < 2 || !this.pxPerM) return ring ? trn("{n} corner", "{n} corners", n) : trn("{n} point", "{n} points", n);
    const length = this.side(n - 2);
    return ring ? trn("{n} corner, last side {length}", "{n} corners, last side {length}", n, { length })
      : trn("{n} point, last stretch {length}", "{n} points, last stretch {length}", n, { length });
  }

  canvas() {
    this.sheet = Object.assign(document.createElement("canvas"), { className: "placed" });
    const cross = Object.assign(document.createElement("div"), { className: "cross" });
    this.el.append(this.sheet, cross);
  }

  draw() {
    const dots = devicePixelRatio || 1, { x: wide, y: tall } = this.map.getSize(), pen = this.sheet.getContext("2d");
    Object.assign(this.sheet, { width: wide * dots, height: tall * dots });
    this.sheet.style.width = `${wide}px`; this.sheet.style.height = `${tall}px`;
    pen.setTransform(dots, 0, 0, dots, 0, 0);
    const seen = this.points.map((p) => p && this.map.latLngToContainerPoint(this.at(...p)));
    if (this.mode !== "point" && seen.filter(Boolean).length > 1) this.run(pen, seen.filter(Boolean));
    seen.forEach((p, i) => p && (this.mode === "ring" ? this.corner(pen, p, i) : this.cross(pen, p, i)));
  }

  run(pen, seen) {
    pen.beginPath();
    seen.forEach((p, i) => (i ? pen.lineTo(p.x, p.y) : pen.moveTo(p.x, p.y)));
    if (this.mode === "ring" && seen.length > 2) pen.closePath();
    pen.lineWidth = 6; pen.strokeStyle = PAPER; pen.stroke();
    pen.lineWidth = 3; pen.strokeStyle = DO; pen.stroke();
  }

  corner(pen, p, i) {
    const half = i === this.picked ? 9 : 6;
    pen.fillStyle = i === this.picked ? DO : PAPER; pen.strokeStyle = DO; pen.lineWidth = 3;
    pen.fillRect(p.x - half, p.y - half, 2 * half, 2 * half); pen.strokeRect(p.x - half, p.y - half, 2 * half, 2 * half);
  }

  cross(pen, p, i) {
    for (const [wide, colour] of [[6, PAPER], [2.5, i === this.picked ? DO : INK]]) {
      pen.lineWidth = wide; pen.strokeStyle = colour; pen.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) { pen.moveTo(p.x + dx * 5, p.y + dy * 5); pen.lineTo(p.x + dx * 26, p.y + dy * 26); }
      pen.moveTo(p.x + 14, p.y); pen.arc(p.x, p.y, 14, 0, 7); pen.stroke();
    }
    if (this.mode === "point") return;
    pen.font = "700 16px system-ui, sans-serif"; pen.lineWidth = 4; pen.strokeStyle = PAPER; pen.fillStyle = INK;
    pen.strokeText(String(i + 1), p.x + 16, p.y - 12); pen.fillText(String(i + 1), p.x + 16, p.y - 12);
  }
}

const begin = (el) => { if (el.dataset.place && el.sketch && !el.placer) el.placer = new Placer(el); };
document.addEventListener("sketch-ready", (e) => begin(e.target));
document.querySelectorAll(".sketch[data-place]").forEach(begin);
