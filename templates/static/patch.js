// The patch form while typing: reads the four lengths, redraws the patch, says whether it holds. The server decides.
const INCH = 25_400_000, MM = 1_000_000, VIEW = 240, MARGIN = 12, AT_WALL = 0.6;
const SIDES = ["left", "right", "far", "near"];
const UNITS = { in: INCH, inch: INCH, inches: INCH, '"': INCH, ft: 12 * INCH, foot: 12 * INCH, feet: 12 * INCH, "'": 12 * INCH, pulg: INCH, pulgada: INCH, pulgadas: INCH, pie: 12 * INCH, pies: 12 * INCH, mm: MM, cm: 10 * MM, m: 1000 * MM };
const VULGAR = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };
const PART = /^(\d+(?:[.,]\d+)?(?:[ -]+\d+\/\d+)?|\d+\/\d+)\s*([a-z"']*)$/;

function amount(text) {
  const [whole, part] = text.includes("/") ? [text.replace(/[ -]*\d+\/\d+$/, ""), text.match(/(\d+)\/(\d+)$/)] : [text, null];
  if (part && (Number(part[2]) === 0 || (whole && Number(part[1]) >= Number(part[2])))) return NaN; // 1/0, 6 7/5
  return Number((whole || "0").replace(",", ".")) + (part ? part[1] / part[2] : 0);
}

/** Nanometres of a typed length, NaN when it is none; a bare number is in the form's unit. */
export function parseLength(typed, unit) {
  const text = typed.trim().toLowerCase().replace(/[½¼¾⅛⅜⅝⅞]/g, (c) => ` ${VULGAR[c]}`).replace(/[′’]/g, "'").replace(/[″”]|''/g, '"').trim();
  const feet = text.match(/^(\d+)\s*(?:'|ft|feet|foot|pies|pie)\s*-?\s*(\d.*)$/);
  if (feet) {
    const inches = parseLength(feet[2], "in");
    return inches < 12 * INCH && !/(ft|pie|'|m)/.test(feet[2]) ? feet[1] * 12 * INCH + inches : NaN;
  }
  const found = text.match(PART), size = found && UNITS[found[2] || unit];
  return size ? Math.round(amount(found[1]) * size) : NaN;
}

/** The unit as people read it; metric units are signs, the same in every language. */
export const unitSaid = (unit) => (unit === "in" ? trc("unit", "in") : unit);

/** The bare text of a length in the form's unit: sixteenths of an inch, or millimetres; rounded down or up. */
export function sayLength(nm, unit, round = Math.floor) {
  if (unit === "mm") return String(round(nm / MM));
  const sixteenths = round(nm / (INCH / 16)), whole = Math.floor(sixteenths / 16);
  let over = sixteenths % 16, under = 16;
  if (!over) return String(whole);
  while (over % 2 === 0) { over /= 2; under /= 2; }
  return `${whole || ""} ${over}/${under}`.trim();
}

const number = (n) => String(Math.round(n * 10) / 10);
const path = (points, closed = "Z") => `M${points.map(([x, y]) => `${number(x)} ${number(y)}`).join("L")}${closed}`;

function arrowhead([x, y], look, size) {
  return path([[x, y], ...[-0.26, 0.26].map((t) => [x - size * Math.cos(look + t), y - size * Math.sin(look + t)])]);
}

const NO_LENGTH = {
  left: () => tr("The left reading is not a length."), right: () => tr("The right reading is not a length."),
  far: () => tr("The far reading is not a length."), near: () => tr("The near reading is not a length."),
};

/** How far a patch is short, by the side it is short on. */
export const SHORT = {
  left: (short) => tr("Short by {short} on the left", { short }), right: (short) => tr("Short by {short} on the right", { short }),
  far: (short) => tr("Short by {short} on the far side", { short }), near: (short) => tr("Short by {short} on the near side", { short }),
};

class PatchForm {
  constructor(around) {
    this.around = around;
    this.form = around.closest("form");
    this.svg = document.getElementById(around.dataset.patch);
    this.live = JSON.parse(around.querySelector("[data-live]").textContent);
    this.unit = this.form.elements.namedItem("unit").value;
    this.step = this.unit === "mm" ? 5 * MM : INCH / 4;
    around.addEventListener("click", (e) => {
      const button = e.target.closest("[data-step]");
      if (button) this.move(button.closest(".read").querySelector("input"), Number(button.dataset.step));
    });
    around.addEventListener("input", (e) => this.note(e.target));
    this.all = this.form.querySelector("[data-all-four]");
    this.all?.addEventListener("click", () => this.fill());
    this.same = this.live.start ?? this.live.minimum;
    for (const kind of ["input", "change", "typed-back"]) this.form.addEventListener(kind, () => this.show());
    this.show();
  }

  input(side) { return this.around.querySelector(`.read.${side} input`); }

  walled(side) { return this.form.querySelector(`[data-wall=${side}]`)?.checked ?? false; }

  move(input, way) {
    const now = parseLength(input.value, this.unit);
    const next = Number.isNaN(now) ? this.live.start ?? this.live.minimum : (way > 0 ? Math.floor(now / this.step + 1e-9) + 1 : Math.ceil(now / this.step - 1e-9) - 1) * this.step;
    input.value = sayLength(Math.max(0, next), this.unit, Math.round);
    input.dispatchEvent(new Event("input", { bubbles: true }));
  }

  /** The reading touched last is what all four may be set to. */
  note(input) {
    const read = parseLength(input.value, this.unit);
    if (input.closest(".read") && !Number.isNaN(read)) this.same = read;
  }

  /** All four the same, at one press: readings are never there beforehand. */
  fill() {
    for (const side of SIDES) if (!this.walled(side)) this.input(side).value = sayLength(this.same, this.unit, Math.round);
    this.form.dispatchEvent(new Event("input", { bubbles: true }));
  }

  show() {
    if (this.all) this.all.textContent = tr("All four {length} {unit}", { length: sayLength(this.same, this.unit, Math.round), unit: unitSaid(this.unit) });
    const read = {};
    for (const side of SIDES) {
      const input = this.input(side), wall = this.walled(side);
      this.wall(input, wall);
      read[side] = wall ? null : parseLength(input.value, this.unit);
      this.around.querySelector(`.read.${side}`).classList.toggle("low", read[side] !== null && read[side] < this.live.minimum);
    }
    this.draw(read);
    this.judge(read);
  }

  wall(input, wall) {
    if (input.disabled === wall) return;
    input.disabled = wall;
    if (wall) { input.dataset.was = input.value; input.value = "wall"; }
    else input.value = input.dataset.was ?? "";
  }

  judge(read) {
    const box = this.form.querySelector("[data-verdict]");
    if (!box) return;
    const say = (kind, words, small) => {
      box.className = `verdict ${kind}`;
      box.querySelector("[data-words]").textContent = words;
      box.querySelector("small").textContent = small;
    };
    const { minimum } = this.live, unit = this.unit, said = SIDES.filter((side) => read[side] !== null);
    const length = (nm, round) => `${sayLength(nm, unit, round)} ${unitSaid(unit)}`, asked = length(minimum, Math.ceil);
    const asks = tr("This project asks {length} in every direction.", { length: asked });
    const unread = said.filter((side) => Number.isNaN(read[side])), bad = unread.find((side) => this.input(side).value.trim());
    if (!said.length) return say("", tr("Not all four sides can be walls."), "");
    if (bad) return say("", NO_LENGTH[bad](), unit === "in" ? tr("Type it like 6 1/2.") : tr("Type it like 150."));
    if (unread.length) return say("", tr("Read the tape on all four sides."), asks);
    const least = Math.min(...said.map((side) => read[side])), reach = length(least);
    if (least >= minimum) return say("holds", tr("Holds: least overlap {length}", { length: reach }), asks);
    const where = said.filter((side) => read[side] === least), short = length(minimum - least, Math.ceil);
    const words = where.length > 1 ? tr("Short by {short} on {count} sides", { short, count: where.length }) : SHORT[where[0]](short);
    return say("short", words, tr("Least overlap {length}. This project asks {asked} in every direction.", { length: reach, asked }));
  }

  draw(read) {
    const { box, minimum, frame: [k0, x0, y0], tips } = this.live;
    const grow = (side) => (read[side] === null ? minimum * AT_WALL : Number.isNaN(read[side]) ? 0 : read[side]);
    const patch = { left: box.left - grow("left"), right: box.right + grow("right"), far: box.far - grow("far"), near: box.near + grow("near") };
    const u = [Math.min(patch.left, box.left - minimum), Math.max(patch.right, box.right + minimum)];
    const v = [Math.min(patch.far, box.far - minimum), Math.max(patch.near, box.near + minimum)];
    const k = (VIEW - 2 * MARGIN) / Math.max(u[1] - u[0], v[1] - v[0], 1);
    const x1 = VIEW / 2 - (u[0] + u[1]) / 2 * k, y1 = VIEW / 2 - (v[0] + v[1]) / 2 * k, r = k / k0;
    const to = (p) => [x1 + p[0] * k, y1 + p[1] * k];
    for (const piece of this.svg.querySelectorAll(".damage, .needed, .ring")) {
      piece.setAttribute("transform", `translate(${x1 - x0 * r} ${y1 - y0 * r}) scale(${r})`);
    }
    const at = (side) => patch[side], edge = {
      left: [[at("left"), at("far")], [at("left"), at("near")]], right: [[at("right"), at("far")], [at("right"), at("near")]],
      far: [[at("left"), at("far")], [at("right"), at("far")]], near: [[at("left"), at("near")], [at("right"), at("near")]],
    };
    this.svg.querySelector(".patch")?.setAttribute("d", path([...edge.far, ...edge.near.slice().reverse()].map(to)));
    const cut = (side, past) => (read[side] === null ? patch[side] : past);
    const open = [[cut("left", u[0] - minimum), cut("far", v[0] - minimum)], [cut("right", u[1] + minimum), cut("near", v[1] + minimum)]].map(to);
    this.svg.querySelector("clipPath path")?.setAttribute("d", path([open[0], [open[1][0], open[0][1]], open[1], [open[0][0], open[1][1]]]));
    const walls = SIDES.filter((side) => read[side] === null).map((side) => this.make("wall", path(edge[side].map(to), "")));
    this.svg.querySelector(".walls").replaceChildren(...walls);
    const lines = SIDES.filter((side) => read[side] > 0).flatMap((side) => this.dimension(side, tips[side], patch[side], read[side] < minimum, to));
    this.svg.querySelector(".dims").replaceChildren(...lines);
  }

  dimension(side, tip, edge, low, to) {
    const level = side === "left" || side === "right", look = { left: Math.PI, right: 0, far: -Math.PI / 2, near: Math.PI / 2 }[side];
    const start = to(tip), end = to(level ? [edge, tip[1]] : [tip[0], edge]);
    const size = Math.min(11, Math.hypot(start[0] - end[0], start[1] - end[1]) / 2.2);
    return [this.make(`dim${low ? " low" : ""}`, path([start, end], "")),
      this.make(`head-of${low ? " low" : ""}`, arrowhead(end, look, size) + arrowhead(start, look + Math.PI, size))];
  }

  make(kind, d) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", "path");
    made.setAttribute("class", kind);
    made.setAttribute("d", d);
    return made;
  }
}

/** The form of a patch whose damage became known after the page was there. */
export const followPatch = (around) => new PatchForm(around);

globalThis.document?.querySelectorAll("[data-patch]").forEach((around) => around.querySelector("[data-live]") && new PatchForm(around));
