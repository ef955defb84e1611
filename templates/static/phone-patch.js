// The patch form of a mark that is on this phone alone: its damage from the outbox, the project's numbers from what
// was taken along. The form itself is the one of every patch.
import { fieldOf, newIdOf, one } from "./outbox-store.js";
import { make } from "./make.js";
import { followPatch, parseLength } from "./patch.js";

const VIEW = 240, MARGIN = 12, INCH = 25_400_000, SIDES = ["left", "right", "far", "near"];
const page = document.querySelector("[data-phone-patch]"), none = document.querySelector("[data-none]");

/** Corners or half sizes of the damage in its own frame, in nanometres; null where they cannot be told. */
function damage(item) {
  const nm = (name) => parseLength(fieldOf(item, name), fieldOf(item, `${name}_unit`));
  const box = (length, width) => ({ left: -length / 2, right: length / 2, far: -width / 2, near: width / 2 });
  switch (fieldOf(item, "shape")) {
    case "circle": return { box: box(nm("diameter"), nm("diameter")), round: true };
    case "rectangle": return { box: box(nm("length"), nm("width")) };
    case "slit": return { box: box(nm("slit_length"), fieldOf(item, "opening").trim() ? nm("opening") : 0) };
    default: {
      let corners = [];
      try { corners = JSON.parse(fieldOf(item, "corners") || "[]"); } catch { /* typed side by side */ }
      if (corners.length < 3) return null;
      const unit = fieldOf(item, "pad_unit") === "mm" ? 1_000_000 : INCH;
      return centred(corners.map((corner) => corner.map((at) => at * unit)));
    }
  }
}

function centred(corners) {
  const xs = corners.map(([x]) => x), ys = corners.map(([, y]) => y);
  return { box: { left: Math.min(...xs), right: Math.max(...xs), far: Math.min(...ys), near: Math.max(...ys) }, corners };
}

/** Where the tape's reading starts on each side: the damage's outermost point there. */
function tips({ box, corners }) {
  return Object.fromEntries(SIDES.map((side) => {
    const level = side === "left" || side === "right", edge = box[side], [along, across] = level ? [0, 1] : [1, 0];
    const outer = (corners ?? []).filter((corner) => Math.abs(corner[along] - edge) < 1000).map((corner) => corner[across]);
    const middle = outer.length ? outer.reduce((sum, at) => sum + at, 0) / outer.length : 0;
    return [side, level ? [edge, middle] : [middle, edge]];
  }));
}

function outline({ box, corners, round }, [k, x0, y0], grow) {
  const at = (x, y) => `${(x0 + x * k).toFixed(2)} ${(y0 + y * k).toFixed(2)}`, r = grow * k;
  if (round) {
    const far = ((box.right + grow) * k).toFixed(2);
    return `M${at(-box.right - grow, 0)}a${far} ${far} 0 1 0 ${2 * far} 0a${far} ${far} 0 1 0 ${-2 * far} 0Z`;
  }
  if (corners && !grow) return `M${corners.map(([x, y]) => at(x, y)).join("L")}Z`;
  const { left, right, far, near } = box, turn = r ? `a${r} ${r} 0 0 1 ` : "l", g = grow;
  const corner = (dx, dy) => `${turn}${dx * r} ${dy * r}`;
  return `M${at(left, far - g)}L${at(right, far - g)}${corner(1, 1)}L${at(right + g, near)}${corner(-1, 1)}L${at(left, near + g)}${corner(-1, -1)}L${at(left - g, far)}${corner(1, -1)}Z`;
}

async function pack(item) {
  const found = await (await caches.open(`pages-${item.person}`)).match(`/zones/${item.zone}/along.json`);
  return found ? found.json() : null;
}

const minimumIn = (rules = {}) => rules.patch_overlap_nm ?? rules.patch_overlap ?? rules.minimum_nm ?? rules.minimum ?? 0;

/** The form's lengths in the unit the mark was measured in. */
function inUnit(form, unit) {
  form.elements.namedItem("unit").value = unit;
  form.elements.namedItem("tape_width_unit").value = unit;
  for (const suffix of form.querySelectorAll(".measure .unit")) suffix.textContent = unit;
  for (const label of form.querySelectorAll(".read label")) label.textContent = label.textContent.replace(/, (in|mm)$/, `, ${unit}`);
}

function draw(form, shape, minimum, units) {
  const span = Math.max(shape.box.right - shape.box.left, shape.box.near - shape.box.far) + 2 * minimum, k = (VIEW - 2 * MARGIN) / span;
  const frame = [k, VIEW / 2 - (shape.box.left + shape.box.right) / 2 * k, VIEW / 2 - (shape.box.far + shape.box.near) / 2 * k], svg = form.querySelector("[data-patch] svg");
  svg.querySelector(".damage").setAttribute("d", outline(shape, frame, 0));
  svg.querySelector(".needed").setAttribute("d", outline(shape, frame, minimum));
  svg.querySelector(".ring")?.remove();
  const live = make("script", { type: "application/json", textContent: JSON.stringify({ units, minimum, box: shape.box, tips: tips(shape), frame }) });
  live.dataset.live = "";
  form.querySelector("[data-patch]").append(live);
}

async function show() {
  const item = await one(new URLSearchParams(location.search).get("item") ?? "");
  if (!item || item.state === "dropped") { none.hidden = false; return; }
  if (item.state === "received") { // its mark is in the history by now, and so is the form of its patch
    location.replace(location.hash ? `/defects/${newIdOf(item)}/patch${location.hash}` : item.receipt.href);
    return;
  }
  const form = page.querySelector("form"), along = await pack(item).catch(() => null);
  document.querySelector("[data-what]").textContent = item.title;
  form.action = `/defects/${newIdOf(item)}/patch`;
  document.body.dataset.zone = item.zone;
  document.body.dataset.project = item.project;
  document.body.dataset.known = item.known || along?.known || "";
  document.querySelector(".whose a").textContent = item.project_name;
  document.title = tr("{what}: log a patch", { what: item.title });
  const shape = damage(item), minimum = minimumIn(along?.rules), known = shape && !Object.values(shape.box).some(Number.isNaN);
  const unit = fieldOf(item, "pad_unit") || "in";
  inUnit(form, unit);
  if (known) draw(form, shape, minimum || 6 * INCH, unit === "mm" ? "metric" : "us");
  else form.querySelector("[data-patch] svg").remove();
  if (!minimum || !known) {
    form.querySelector("[data-verdict]").replaceWith(make("p", { className: "note" }, tr("This project's numbers are not on this phone. The service says whether the patch holds when it is received.")));
  }
  page.hidden = false;
  if (known) followPatch(form.querySelector("[data-patch]"));
}

show();
