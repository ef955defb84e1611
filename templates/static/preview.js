// The patch form's verdict while typing, judged on the phone by judge.js with what the page brought along: it comes with
// no signal too. The service judges again when the patch is received, and its word counts.
import { RIGHT_ANGLE, even, leastRectangle, sidesAsRectangle, turned, turnedPoint } from "./geometry.js";
import { judgePatch, parseTemperature, workmanship } from "./judge.js";
import { SHORT, parseLength, sayLength, unitSaid } from "./patch.js";

const UNITS = { in: 25_400_000, mm: 1_000_000 }, SIDES = ["left", "right", "near", "far"], FULL_TURN = 4 * RIGHT_ANGLE;

/** Whether a shape's outline crosses itself: the service refuses one that does. */
function crosses(ring) {
  const way = (a, b, c) => Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])), n = ring.length;
  return ring.some((a, i) => ring.some((c, j) => {
    const b = ring[(i + 1) % n], d = ring[(j + 1) % n];
    return Math.abs(i - j) > 1 && Math.abs(i - j) < n - 1 && way(a, b, c) * way(a, b, d) < 0 && way(c, d, a) * way(c, d, b) < 0;
  }));
}

class Preview {
  constructor(pack, form) {
    Object.assign(this, { pack, form, verdict: form.querySelector("[data-preview]"), would: form.querySelector("[data-would]") });
    for (const kind of ["input", "change", "typed-back"]) form.addEventListener(kind, () => this.show());
    this.show();
  }

  value(name) {
    const field = this.form.elements.namedItem(name);
    return (field?.value ?? "").trim();
  }

  length(name) { return parseLength(this.value(name), this.value(`${name}_unit`) || this.pack.unit); }

  by() { return this.value("by") === "size" ? "size" : "readings"; }

  /** The piece as typed so far: null where something is missing or is no length. */
  piece() {
    if (this.by() === "readings") {
      const read = Object.fromEntries(SIDES.map((side) => [`${side}_nm`, this.form.querySelector(`[data-wall=${side}]`)?.checked ? null : this.reading(side)]));
      const all = Object.values(read);
      return all.some(Number.isNaN) || all.every((nm) => nm === null) ? null : { sides: { ...read, angle_udeg: this.pack.angle_udeg } };
    }
    const outline = this.outline(), offset = [this.away("offset_x", "left"), this.away("offset_y", "up")];
    if (!outline || offset.some(Number.isNaN)) return null;
    return { outline: turned(outline, this.pack.turn_udeg), offset: this.pack.turn_udeg ? turnedPoint(offset, this.pack.turn_udeg) : offset };
  }

  reading(side) { return parseLength(this.form.querySelector(`.read.${side} input`).value, this.value("unit")); }

  outline() {
    const angle = (name) => even(Number(this.value(name) || 0) * 1e6) % FULL_TURN, shape = this.value("shape");
    const made = {
      circle: () => ({ diameter_nm: this.length("diameter") }),
      rectangle: () => ({ length_nm: this.length("length"), width_nm: this.length("width"), angle_udeg: angle("angle_deg") }),
      slit: () => ({ length_nm: this.length("slit_length"), opening_nm: this.value("opening") ? this.length("opening") : 0, angle_udeg: angle("slit_angle") }),
      polygon: () => ({ points_nm: this.drawn() }),
    }[shape]?.();
    const wanting = !made || Object.entries(made).some(([name, nm]) => Number.isNaN(nm) || (nm === 0 && !["opening_nm", "angle_udeg"].includes(name)));
    return wanting || made.points_nm === null ? null : { shape, ...made };
  }

  /** The corners drawn on the pad, about the middle of their box; what is typed side by side is left to the service. */
  drawn() {
    let rows = [];
    try { rows = JSON.parse(this.value("corners") || "[]"); } catch { /* not drawn */ }
    if (rows.length < 3) return null;
    const middle = [0, 1].map((axis) => (Math.min(...rows.map((row) => row[axis])) + Math.max(...rows.map((row) => row[axis]))) / 2);
    const ring = rows.map((row) => row.map((at, axis) => even(Number((at - middle[axis]).toFixed(6)) * UNITS[this.value("pad_unit")])));
    const kept = ring.filter(([x, y], i) => x !== ring.at(i - 1)[0] || y !== ring.at(i - 1)[1]);
    const area = kept.reduce((sum, [x, y], i) => sum + kept.at(i - 1)[0] * y - x * kept.at(i - 1)[1], 0);
    return kept.length < 3 || area === 0 || crosses(kept) ? null : kept;
  }

  away(name, minus) {
    const nm = this.value(name) ? this.length(name) : 0;
    return this.value(`${name}_way`) === minus ? -nm : nm;
  }

  patch(piece) {
    const answer = (name) => ({ yes: true, no: false })[this.value(name)] ?? null, tape = this.length("tape_width");
    return {
      piece, method: this.value("method") || "sheet patch", cleaned: answer("cleaned"), dry: answer("dry"), edges_taped: answer("edges_taped"),
      tape_width_nm: Number.isNaN(tape) ? null : tape, film_mf: parseTemperature(this.value("film_temperature")), lot: this.value("lot"),
    };
  }

  show() {
    const { pack } = this, piece = this.piece(), patch = this.patch(piece);
    this.say(this.verdict, ...(piece ? this.reach(patch) : ["", "", ""]));
    if (!this.would) return;
    // The answers that are given are told of at once; of a lot not typed yet nobody is told before they all are.
    const faults = piece ? workmanship(patch, pack, pack.damage) : [], all = [patch.cleaned, patch.dry, patch.edges_taped].every((one) => one !== null);
    const told = faults.filter((code) => code !== "lot-not-known" || patch.lot || all).map((code) => pack.reasons[code]);
    this.say(this.would, told.length ? tr("Logged like this it does not count: {reasons}.", { reasons: told.join("; ") }) : "", "", "stop");
  }

  /** [words, the quieter line, kind] of the whole mark under this patch; nothing where the readings alone tell it. */
  reach(patch) {
    const { pack } = this, shape = patch.piece.outline ?? sidesAsRectangle(pack.damage, patch.piece.sides)[0];
    if (Math.max(...leastRectangle(shape).slice(0, 2)) > pack.most_nm) return [tr("That is larger than the zone itself. Read the tape again, and check the unit."), "", "stop"];
    const together = pack.laid.some((one) => !one.faults.length);
    if (this.by() === "readings" && pack.covered && !together) return ["", "", ""];
    if (!pack.covered) return [tr("This does not seal it"), tr("A flat patch does not mend this, however far it reaches."), "stop"];
    const found = judgePatch(pack, patch);
    if (!found) return [tr("The service judges so many pieces when the patch is received."), "", ""];
    const length = (nm, round) => `${sayLength(nm, pack.unit, round)} ${unitSaid(pack.unit)}`, asks = tr("This project asks {length} in every direction.", { length: pack.asked });
    const small = together ? tr("Together with what lies there already. {asks}", { asks }) : asks;
    if (found.meets) return [tr("Holds: least overlap {length}", { length: length(found.overlap_nm) }), small, "holds"];
    return [found.overlap_nm < 0 ? BARE[found.side]() : SHORT[found.side](length(found.short_by_nm, Math.ceil)), small, "short"];
  }

  say(box, words, small, kind) {
    box.hidden = !words;
    box.className = `verdict ${kind}`;
    if (box.querySelector("[data-words]").textContent !== words) box.querySelector("[data-words]").textContent = words;
    box.querySelector("small").textContent = small;
  }
}

const BARE = {
  left: () => tr("Damage shows past the patch on the left"), right: () => tr("Damage shows past the patch on the right"),
  far: () => tr("Damage shows past the patch on the far side"), near: () => tr("Damage shows past the patch on the near side"),
};

const brought = document.querySelector("[data-judge]");
if (brought) new Preview(JSON.parse(brought.textContent), brought.closest("form"));
