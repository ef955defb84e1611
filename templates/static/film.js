// Pieces laid on the film, and how far several together reach past damage, as service/domain/shapes/film.py, film_edges.py,
// laps.py, search.py and union.py work it out: by the true edges of their union, never by a buffered outline.
import { TOLERANCE, before, corners, reachOf, sidesBox, turn } from "./geometry.js";

const PAST_WALL = 1e10, JUST_PAST = 1, BARE_WITHIN = 25_400;
const MOST_CELLS = 4_000, LEAST_ACROSS = 6, MOST_ACROSS = 64;
const FULL = 2 * Math.PI;

const pairs = (ring) => ring.map((point, i) => [point, ring[(i + 1) % ring.length]]);

function fromSegment([x, y], [ax, ay], [bx, by]) {
  const dx = bx - ax, dy = by - ay, square = dx * dx + dy * dy;
  const part = square ? Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / square)) : 0;
  return Math.hypot(x - ax - part * dx, y - ay - part * dy);
}

function within([x, y], ring) {
  let inside = false;
  for (const [[ax, ay], [bx, by]] of pairs(ring)) {
    if ((ay > y) !== (by > y) && x < ax + (y - ay) * (bx - ax) / (by - ay)) inside = !inside;
  }
  return inside;
}

const fromRing = (point, ring) => Math.min(...pairs(ring).map(([a, b]) => fromSegment(point, a, b)));

class Disc {
  constructor(x, y, r) { Object.assign(this, { x, y, r, round: true }); }

  holds([x, y]) { return Math.hypot(x - this.x, y - this.y) <= this.r; }

  depth([x, y]) { return this.r - Math.hypot(x - this.x, y - this.y); }

  bounds() { return [this.x - this.r, this.y - this.r, this.x + this.r, this.y + this.r]; }
}

class Cornered {
  constructor(points) {
    const ring = points.filter(([x, y], i) => { const [px, py] = points.at(i - 1); return x !== px || y !== py; });
    const area = pairs(ring).reduce((sum, [[x, y], [nx, ny]]) => sum + x * ny - nx * y, 0);
    this.ring = area < 0 ? ring.reverse() : ring; // so that a quarter turn of an edge points out of the piece
  }

  holds(point) { return within(point, this.ring); }

  depth(point) { const far = fromRing(point, this.ring); return within(point, this.ring) ? far : -far; }

  bounds() {
    const xs = this.ring.map(([x]) => x), ys = this.ring.map(([, y]) => y);
    return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  }
}

/** A piece where it lies, seen from the damage's centre. */
export function laid({ outline, sides, offset = [0, 0] }, damage) {
  if (sides) {
    const [c, s] = turn(sides.angle_udeg), box = sidesBox(damage, sides);
    const past = PAST_WALL + 4 * Math.max(reachOf(damage), ...box.filter((edge) => edge !== null).map(Math.abs));
    const [u0, u1, v0, v1] = box.map((edge, side) => edge ?? (side % 2 ? past : -past));
    return new Cornered([[u0, v0], [u1, v0], [u1, v1], [u0, v1]].map(([u, v]) => [u * c - v * s, u * s + v * c]));
  }
  if (outline.shape === "circle") return new Disc(offset[0], offset[1], outline.diameter_nm / 2);
  return new Cornered(corners(outline).map(([x, y]) => [x + offset[0], y + offset[1]]));
}

// --- the edges of the union: straight ones, and arcs of true circles ---

function cutsByDisc([ax, ay], [bx, by], disc) {
  const dx = bx - ax, dy = by - ay, fx = ax - disc.x, fy = ay - disc.y, length = Math.hypot(dx, dy);
  const middle = -(fx * dx + fy * dy) / length, apart = Math.abs(fx * dy - fy * dx) / length;
  if (apart > disc.r) return [];
  const half = Math.sqrt((disc.r - apart) * (disc.r + apart));
  return [(middle - half) / length, (middle + half) / length];
}

function cutsByEdges([ax, ay], [bx, by], other) {
  const x = bx - ax, y = by - ay, length = Math.hypot(x, y), found = [];
  for (const [[cx, cy], [dx, dy]] of pairs(other.ring)) {
    const ox = dx - cx, oy = dy - cy, gx = cx - ax, gy = cy - ay, cross = x * oy - y * ox;
    const t = (gx * oy - gy * ox) / cross, w = (gx * y - gy * x) / cross;
    if (Number.isFinite(t) && w >= 0 && w <= 1) found.push(t);
    if (Math.abs(gx * y - gy * x) / length <= JUST_PAST) found.push((gx * x + gy * y) / length ** 2);
  }
  return found;
}

function openSegments(piece, others) {
  if (!others.length) return pairs(piece.ring);
  return pairs(piece.ring).flatMap(([a, b]) => {
    const x = b[0] - a[0], y = b[1] - a[1], length = Math.hypot(x, y), out = [y / length, -x / length];
    const met = others.flatMap((other) => (other.round ? cutsByDisc : cutsByEdges)(a, b, other)).filter((t) => t > 0 && t < 1);
    const cuts = [...new Set([0, 1, ...met])].sort((one, two) => one - two).map((t) => [a[0] + t * x, a[1] + t * y]);
    const parts = cuts.slice(1).map((end, i) => [cuts[i], end]);
    return parts.filter(([p, q]) => {
      const middle = [(p[0] + q[0]) / 2 + JUST_PAST * out[0], (p[1] + q[1]) / 2 + JUST_PAST * out[1]];
      return !others.some((other) => other.holds(middle));
    });
  });
}

function cutAngles(disc, other) {
  if (other.round) {
    const dx = other.x - disc.x, dy = other.y - disc.y, d = Math.hypot(dx, dy);
    if (d === 0 || d > disc.r + other.r || d < Math.abs(disc.r - other.r)) return [];
    const half = Math.acos(Math.max(-1, Math.min(1, (d * d + disc.r ** 2 - other.r ** 2) / (2 * d * disc.r)))), toward = Math.atan2(dy, dx);
    return [toward - half, toward + half];
  }
  return pairs(other.ring).flatMap(([a, b]) => cutsByDisc(a, b, disc).filter((t) => t >= 0 && t <= 1)
    .map((t) => Math.atan2(a[1] + t * (b[1] - a[1]) - disc.y, a[0] + t * (b[0] - a[0]) - disc.x)));
}

const around = (angle) => ((angle % FULL) + FULL) % FULL;
const onCircle = ({ x, y, r }, angle) => [x + r * Math.cos(angle), y + r * Math.sin(angle)];

function openArcs(disc, others) {
  const met = [...new Set(others.flatMap((other) => cutAngles(disc, other).map(around)))].sort((a, b) => a - b);
  const cuts = met.length ? met : [0], past = { x: disc.x, y: disc.y, r: disc.r + JUST_PAST };
  return cuts.map((start, i) => ({ disc, start, end: cuts[i + 1] ?? cuts[0] + FULL }))
    .filter(({ start, end }) => !others.some((other) => other.holds(onCircle(past, (start + end) / 2))));
}

// --- how near the edges come to the damage, and whether damage shows ---

function region(damage) {
  if (damage.shape === "circle") return { ring: [[0, 0]], radius: damage.diameter_nm / 2, filled: false };
  const ring = corners(damage), [length, width] = damage.shape === "polygon" ? [1, 1] : [damage.length_nm, damage.width_nm ?? damage.opening_nm];
  return length && width ? { ring, radius: 0, filled: true } : { ring: [ring[0], ring[2]], radius: 0, filled: false };
}

const toRegion = (point, { ring, filled }) => (filled && within(point, ring) ? 0 : fromRing(point, ring));

/** [distance, place on the segment] where a segment comes nearest the region. */
function segmentToRegion([p, q], { ring, filled }) {
  if (filled && within(p, ring)) return [0, p];
  const side = (a, b, c) => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
  let best = [Infinity, p];
  const offer = (distance, at) => { if (distance < best[0]) best = [distance, at]; };
  for (const [a, b] of pairs(ring)) {
    const [pa, qa, ap, bp] = [side(a, b, p), side(a, b, q), side(p, q, a), side(p, q, b)];
    if (pa * qa < 0 && ap * bp < 0) offer(0, [p[0] + (q[0] - p[0]) * pa / (pa - qa), p[1] + (q[1] - p[1]) * pa / (pa - qa)]);
    offer(fromSegment(p, a, b), p);
    offer(fromSegment(q, a, b), q);
    for (const end of [a, b]) offer(fromSegment(end, p, q), foot(end, p, q));
  }
  return best;
}

function foot([x, y], [ax, ay], [bx, by]) {
  const dx = bx - ax, dy = by - ay, square = dx * dx + dy * dy;
  const part = square ? Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / square)) : 0;
  return [ax + part * dx, ay + part * dy];
}

/** Where between its ends an arc comes nearest to edges: across from a corner, at a foot or a crossing. */
function spotsAlong({ disc, start, end }, ring) {
  let best = [Infinity, null];
  for (const [a, b] of pairs(ring)) {
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]), unit = length ? [(b[0] - a[0]) / length, (b[1] - a[1]) / length] : [0, 0];
    const gap = [disc.x - a[0], disc.y - a[1]], along = gap[0] * unit[0] + gap[1] * unit[1], apart = Math.abs(gap[0] * unit[1] - gap[1] * unit[0]);
    const half = Math.sqrt(Math.max(0, (disc.r - apart) * (disc.r + apart)));
    for (const step of [0, along, along - half, along + half].map((at) => Math.min(length, Math.max(0, at)))) {
      const x = a[0] + step * unit[0] - disc.x, y = a[1] + step * unit[1] - disc.y, away = Math.hypot(x, y);
      const angle = away === 0 ? start : Math.atan2(y, x), off = Math.abs(away - disc.r);
      if (around(angle - start) <= end - start && off < best[0]) best = [off, onCircle(disc, angle)];
    }
  }
  return best[1] ? [best] : [];
}

function nearestEdge(damage, pieces) {
  const bare = region(damage), found = [];
  for (const [i, piece] of pieces.entries()) {
    const others = pieces.filter((_, j) => j !== i);
    if (!piece.round) { found.push(...openSegments(piece, others).map((edge) => segmentToRegion(edge, bare))); continue; }
    for (const arc of openArcs(piece, others)) {
      for (const angle of [arc.start, arc.end]) { const at = onCircle(arc.disc, angle); found.push([toRegion(at, bare), at]); }
      found.push(...spotsAlong(arc, damage.shape === "circle" ? [[0, 0]] : corners(damage)));
    }
  }
  const [distance, at] = found.reduce((one, other) => (before([other[0], ...other[1]], [one[0], ...one[1]]) ? other : one));
  return [Math.max(0, distance - bare.radius), at];
}

/** [distance to patch, place] of the damage's place farthest from any patch; 0 where none shows. */
function barest(damage, pieces) {
  const bare = region(damage), reach = reachOf(damage), near = Math.max(BARE_WITHIN, reach / 8192);
  const value = (point) => -Math.max(...pieces.map((piece) => piece.depth(point))) - 2 * Math.max(0, toRegion(point, bare) - bare.radius);
  const likely = damage.shape !== "circle" ? corners(damage) : pieces.map((piece) => {
    const n = piece.round ? 1 : piece.ring.length, sum = (axis) => piece.ring.reduce((all, point) => all + point[axis], 0) / n;
    const [x, y] = piece.round ? [-piece.x, -piece.y] : [-sum(0), -sum(1)], length = Math.hypot(x, y) || 1;
    return [x * bare.radius / length, y * bare.radius / length];
  });
  return greatest(value, 3, [-reach, -reach, reach, reach], near, null, likely);
}

/** [overlap in float nanometres, nearest uncovered place] of pieces that count together; negative where damage shows. */
export function reachOfUnion(damage, pieces) {
  let [distance, at] = nearestEdge(damage, pieces);
  const inside = damage.shape === "circle" ? [0, 0] : corners(damage)[0];
  if (distance <= TOLERANCE || !pieces.some((piece) => piece.holds(inside))) {
    const [bare, spot] = barest(damage, pieces);
    if (bare > TOLERANCE) [distance, at] = [-bare, spot];
  }
  return [distance, at];
}

// --- which patches count together ---

function lapAtLeast(one, other, minimum) {
  if (one.round && other.round) {
    if (Math.min(one.r, other.r) < minimum / 2) return false;
    return one.r + other.r - Math.hypot(one.x - other.x, one.y - other.y) >= minimum - TOLERANCE;
  }
  const a = one.bounds(), b = other.bounds(), box = [Math.max(a[0], b[0]), Math.max(a[1], b[1]), Math.min(a[2], b[2]), Math.min(a[3], b[3])];
  if (Math.min(box[2] - box[0], box[3] - box[1]) < minimum - TOLERANCE) return false;
  const enough = minimum / 2 - TOLERANCE / 2, middle = [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2];
  return greatest((point) => Math.min(one.depth(point), other.depth(point)), 1, box, TOLERANCE, enough, [middle])[0] >= enough;
}

/** Indexes of the pieces, grouped by laps that are broad enough, also from piece to piece. */
export function lappedGroups(pieces, minimum) {
  let group = pieces.map((_, i) => i);
  for (let i = 0; i < pieces.length; i += 1) {
    for (let j = 0; j < i; j += 1) {
      const [old, name] = [group[i], group[j]];
      if (old !== name && lapAtLeast(pieces[i], pieces[j], minimum)) group = group.map((g) => (g === old ? name : g));
    }
  }
  return [...new Set(group)].sort((a, b) => a - b).map((name) => pieces.map((_, i) => i).filter((i) => group[i] === name));
}

// --- the greatest value of a function of bounded steepness over a box: found, never guessed ---

function middles(low, high, width) {
  const count = Math.max(1, Math.ceil((high - low) / width)), half = (high - low) / count / 2;
  return [Array.from({ length: count }, (_, i) => low + half * (2 * i + 1)), half];
}

/** [greatest value found, where] over the box, within `near` unless cells ran out; it stops early at `enough`. */
function greatest(value, steepness, [x0, y0, x1, y1], near, enough, first) {
  const short = Math.min(x1 - x0, y1 - y0), long = Math.max(x1 - x0, y1 - y0), across = Math.max(short, long / MOST_ACROSS, 1) / LEAST_ACROSS;
  let [xs, wide] = middles(x0, x1, across), [ys, high] = middles(y0, y1, across);
  const told = ([x, y]) => ({ x, y, found: value([x, y]) });
  let cells = ys.flatMap((y) => xs.map((x) => told([x, y]))), tried = [...first.map(told), ...cells], best = { found: -Infinity, x: x0, y: y0 };
  for (;;) {
    for (const cell of tried) if (cell.found > best.found) best = cell;
    if (enough !== null && best.found >= enough) break;
    const could = steepness * Math.hypot(wide, high), goal = enough === null ? best.found + near : Math.max(best.found, enough);
    let keep = cells.filter((cell) => cell.found + could > goal);
    if (!keep.length || Math.max(wide, high) < 0.5) break;
    if (keep.length > MOST_CELLS) keep = keep.sort((a, b) => b.found - a.found).slice(0, MOST_CELLS);
    [wide, high] = [wide / 2, high / 2];
    cells = keep.flatMap(({ x, y }) => [[x - wide, y - high], [x + wide, y - high], [x - wide, y + high], [x + wide, y + high]].map(told));
    tried = cells;
  }
  return [best.found, [best.x, best.y]];
}
