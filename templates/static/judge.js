// The judgement on the phone: what a patch would come to, by the same numbers as the service and as its preview. The
// service judges again when the patch is received, and its word counts. Shapes and pieces come in the stored form:
// a piece is {outline, offset} or {sides}; what a mark brings along is made by service/web/marks/judge_pack.py.
import { TOLERANCE, RIGHT_ANGLE, corners, even, extent, leastRectangle, sideAngle, sidesAndAngle, sidesAsRectangle, sidesBox, turn, wholeRoot } from "./geometry.js";
import { laid, lappedGroups, reachOfUnion } from "./film.js";

export { cutSize, leastRectangle } from "./geometry.js";

const MOST_PIECES = 40, MOST_CORNERS = 2_500;
const SHEET_PATCH = "sheet patch", TAPE_ONLY = "tape only", LOT_NOT_KNOWN = "lot-not-known";

/** A float overlap as whole nanometres, rounded down; within the tolerance of the minimum, the minimum. */
function settled(value, minimum) {
  return Math.abs(value - minimum) <= TOLERANCE ? minimum : Math.floor(value + 0.01);
}

function reachOfSides(damage, sides) {
  let least = null, side = 0;
  for (const [i, nm] of [sides.right_nm, sides.left_nm, sides.near_nm, sides.far_nm].entries()) {
    if (nm !== null && (least === null || nm < least)) [least, side] = [nm, i];
  }
  if (least === null) throw new RangeError("a patch cannot be sealed to a wall on all four sides");
  return [least, edgePoint(damage, sidesBox(damage, sides).map((edge) => edge ?? 0), side, sides.angle_udeg)];
}

function reachOfDisc(damage, patch, [ox, oy], minimum) {
  const away = ([x, y]) => Math.hypot(x - ox, y - oy), r = damage.shape === "circle" ? damage.diameter_nm / 2 : 0;
  const [x, y] = r ? [0, 0] : corners(damage).reduce((far, corner) => (away(corner) > away(far) ? corner : far));
  const exact = ox === 0 && oy === 0 && damage.shape !== "polygon", gap = away([x, y]);
  const value = exact ? centred(damage, patch) : settled(patch.diameter_nm / 2 - r - gap, minimum);
  const [cos, sin] = gap ? [(x - ox) / gap, (y - oy) / gap] : [1, 0];
  return [value, value < 0 ? [x + r * cos, y + r * sin] : [ox + patch.diameter_nm / 2 * cos, oy + patch.diameter_nm / 2 * sin]];
}

function centred(damage, patch) {
  if (damage.shape === "circle") return Math.floor((patch.diameter_nm - damage.diameter_nm) / 2);
  const [length, width] = sidesAndAngle(damage);
  return Math.floor((patch.diameter_nm - wholeRoot(length, width)) / 2);
}

function reachOfBox(damage, patch, [ox, oy], minimum) {
  const [length, width, angle] = sidesAndAngle(patch), [c, s] = turn(angle), ou = ox * c + oy * s, ov = oy * c - ox * s;
  const box = [ou - length / 2, ou + length / 2, ov - width / 2, ov + width / 2], [u0, u1, v0, v1] = extent(damage, angle);
  const margins = [box[1] - u1, u0 - box[0], box[3] - v1, v0 - box[2]], value = Math.min(...margins);
  // About a shared centre in a shared frame halves of whole numbers decide; what was turned has the tolerance.
  const level = damage.shape === "circle" || (damage.shape !== "polygon" && (damage.angle_udeg - angle) % RIGHT_ANGLE === 0);
  const exact = ox === 0 && oy === 0 && level;
  if (value < 0 && (exact || value < -TOLERANCE)) {
    const [worst, at] = bare(damage, box, angle);
    return [settled(-worst, minimum), at];
  }
  return [exact ? Math.floor(value) : settled(value, minimum), edgePoint(damage, box, margins.indexOf(value), angle)];
}

/** How far, and where, the damage's place farthest from a box it is not inside of. */
function bare(damage, box, angle) {
  const [c, s] = turn(angle);
  if (damage.shape === "circle") {
    const r = damage.diameter_nm / 2, inside = Math.min(-box[0], box[1], -box[2], box[3]);
    let u = -Math.max(box[0], 0) - Math.min(box[1], 0), v = -Math.max(box[2], 0) - Math.min(box[3], 0);
    const worst = inside < 0 ? r + Math.hypot(u, v) : r - inside;
    if (inside >= 0) [u, v] = [[1, 0], [-1, 0], [0, 1], [0, -1]][[box[1], -box[0], box[3], -box[2]].indexOf(inside)];
    const reach = r / (Math.hypot(u, v) || 1);
    return [worst, [(u * c - v * s) * reach, (u * s + v * c) * reach]];
  }
  let worst = -1, at = [0, 0];
  for (const [x, y] of corners(damage)) {
    const u = x * c + y * s, v = y * c - x * s;
    const far = Math.hypot(Math.max(0, u - box[1], box[0] - u), Math.max(0, v - box[3], box[2] - v));
    if (far > worst) [worst, at] = [far, [x, y]];
  }
  return [worst, at];
}

/** Where on that edge of the box (right, left, near, far) the damage is nearest to it. */
function edgePoint(damage, box, side, angle) {
  const [c, s] = turn(angle), along = side < 2, edge = [box[1], box[0], box[3], box[2]][side];
  let across = 0;
  if (damage.shape === "polygon" || (damage.shape !== "circle" && (damage.angle_udeg - angle) % RIGHT_ANGLE)) {
    const sign = side % 2 ? -1 : 1, seen = corners(damage).map(([x, y]) => [x * c + y * s, y * c - x * s]);
    const rows = seen.map(([u, v]) => (along ? [sign * u, v] : [sign * v, u]));
    across = rows.reduce((most, row) => (row[0] > most[0] || (row[0] === most[0] && row[1] > most[1]) ? row : most))[1];
  }
  const [u, v] = along ? [edge, across] : [across, edge];
  return [u * c - v * s, u * s + v * c];
}

/** The side of the damage's box that the place lies farthest past. */
function sideOf(damage, [x, y], angle) {
  const [c, s] = turn(angle), u = x * c + y * s, v = y * c - x * s, [u0, u1, v0, v1] = extent(damage, angle);
  const past = [[u - u1, "right"], [u0 - u, "left"], [v - v1, "near"], [v0 - v, "far"]];
  return past.reduce((most, one) => (one[0] > most[0] || (one[0] === most[0] && one[1] > most[1]) ? one : most))[1];
}

function alone(damage, piece, minimum) {
  const { outline, sides, offset = [0, 0] } = piece;
  if (sides) return reachOfSides(damage, sides);
  if (outline.shape === "circle") return reachOfDisc(damage, outline, offset, minimum);
  return outline.shape === "polygon" ? united(damage, [laid(piece, damage)], minimum) : reachOfBox(damage, outline, offset, minimum);
}

function united(damage, pieces, minimum) {
  const [distance, at] = reachOfUnion(damage, pieces);
  return [settled(distance, minimum), at];
}

function hasBreadth({ outline, sides }, damage) {
  if (!sides) return outline.shape === "circle" || outline.shape === "polygon" || Math.min(...sidesAndAngle(outline).slice(0, 2)) > 0;
  const [u0, u1, v0, v1] = sidesBox(damage, sides);
  return (u0 === null || u0 !== u1) && (v0 === null || v0 !== v1);
}

/** The best of the groups that count as one; a piece of no breadth laps nothing. */
function together(damage, pieces, minimum) {
  const broad = pieces.filter((piece) => hasBreadth(piece, damage)), placed = broad.map((piece) => laid(piece, damage));
  const groups = lappedGroups(placed, minimum).map((group) => (group.length === 1 ? alone(damage, broad[group[0]], minimum)
    : united(damage, group.map((i) => placed[i]), minimum)));
  const found = [...groups, ...pieces.filter((piece) => !broad.includes(piece)).map((piece) => alone(damage, piece, minimum))];
  return found.reduce((best, one) => (one[0] > best[0] ? one : best));
}

const cornersOf = (shape) => shape?.points_nm?.length ?? 0;

/** Whether judging these together is left to the service: nobody should wait for it on a phone. */
export function tooMany(damage, pieces) {
  return pieces.length > MOST_PIECES || pieces.reduce((sum, piece) => sum + cornersOf(piece.outline), cornersOf(damage)) > MOST_CORNERS;
}

/** {overlap_nm, meets, short_by_nm, side} of these pieces over this damage: overlap null with no piece, negative where damage shows. */
export function judge(damage, pieces, minimum) {
  const own = [...new Map(pieces.map((piece) => [JSON.stringify(piece), piece])).values()];
  if (!own.length) return { overlap_nm: null, meets: false, short_by_nm: minimum, side: null };
  const [overlap, at] = own.length === 1 ? alone(damage, own[0], minimum) : together(damage, own, minimum);
  const meets = overlap >= minimum, read = own.length === 1 ? own[0].sides : null, angle = read ? read.angle_udeg : sideAngle(damage);
  return { overlap_nm: overlap, meets, short_by_nm: meets ? 0 : minimum - overlap, side: sideOf(damage, at.map(even), angle) };
}

/** Thousandths of a degree Fahrenheit of a typed temperature; null when it is none. Nothing is rounded. */
export function parseTemperature(text) {
  const plain = text.trim().toLowerCase().replace(/[−–‑]/g, "-").replace("℃", "c").replace("℉", "f");
  const found = plain.match(/^([+-]?)\s*(\d{1,4})(?:\.(\d{1,6}))?\s*(?:°|º|deg(?:rees?)?\b\.?)?\s*(f|fahrenheit|c|celsius)$/);
  if (!found) return null;
  const millionths = (found[1] === "-" ? -1 : 1) * (Number(found[2]) * 1e6 + Number((found[3] ?? "").padEnd(6, "0")));
  const mf = found[4][0] === "f" ? millionths / 1000 : millionths * 9 / 5000 + 32_000;
  return Number.isInteger(mf) && mf >= -60_000 && mf <= 200_000 ? mf : null;
}

/** Whether a lot is of the film laid here: true, false, or null where the phone does not know it. */
export const sameMaterial = (lot, lots) => lots[lot.trim().toLowerCase()] ?? null;

/** Why this patch cannot count, whatever its size: codes in the order of the service. An answer not given is no fault yet. */
export function workmanship(patch, { numbers, lots, roll_nm: roll }, damage) {
  const same = sameMaterial(patch.lot ?? "", lots), flat = patch.method === SHEET_PATCH || patch.method === TAPE_ONLY;
  const checks = [
    [patch.cleaned !== false, "not-cleaned"],
    [patch.dry !== false, "not-dry"],
    [patch.edges_taped !== false, "edges-not-taped"],
    [patch.tape_width_nm === null || patch.tape_width_nm >= numbers.tape_width_nm, "tape-narrow"],
    [flat && numbers.repair_methods.includes(patch.method), "method-not-counted"],
    [patch.film_mf === null || patch.film_mf >= numbers.tape_mf, "too-cold"],
    [same !== false, "other-material"],
    [same !== null || !numbers.film_asked, LOT_NOT_KNOWN],
    [roll === null || leastWidth(patch.piece, damage) <= roll, "wider-than-roll"],
  ];
  return checks.filter(([holds]) => !holds).map(([, reason]) => reason);
}

function leastWidth({ outline, sides }, damage) {
  const [length, width] = leastRectangle(sides ? sidesAsRectangle(damage, sides)[0] : outline);
  return Math.min(length, width);
}

/** What a patch would come to on its mark, with what lies there: `judge` of what counts with it, whether the mark would
 * be sealed, and every reason why not. null where it is left to the service. */
export function judgePatch(pack, patch) {
  const { damage, numbers, laid: before } = pack, minimum = numbers.patch_overlap_nm, faults = workmanship(patch, pack, damage);
  const all = [...before, { ...patch, faults }], counting = all.filter((one) => !one.faults.length);
  const reach = [...before.filter((one) => !one.faults.length), patch].map((one) => one.piece);
  if (tooMany(damage, reach)) return null;
  const sheets = (some) => some.filter((one) => one.method === SHEET_PATCH).map((one) => one.piece);
  const well = sheets(all.filter((one) => one.faults.every((code) => code === LOT_NOT_KNOWN)));
  const over = pack.covered && judge(damage, sheets(counting), minimum).meets;
  const taped = pack.covered && counting.some((one) => one.method === TAPE_ONLY && judge(damage, [one.piece], 1).meets);
  const mended = pack.mended || over || taped, reasons = [];
  if (!mended) {
    if (!pack.covered && well.length) reasons.push("other-repair");
    else if (well.length && !judge(damage, well, minimum).meets) reasons.push("short");
    reasons.push(...all.flatMap((one) => one.faults), ...pack.repair_faults);
  }
  if (pack.refused) reasons.push("inspector-refused");
  else if (all.some((one) => one.faults.includes("look-refused")) || pack.repair_faults.includes("look-refused")) reasons.push("look-refused");
  if (pack.collar_first) reasons.push("collar-first");
  const sealed = mended && !reasons.length;
  return { ...judge(damage, reach, minimum), sealed, reasons: sealed ? [] : [...new Set(reasons)] };
}
