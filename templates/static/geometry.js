// The shapes of damage and patches, as service/domain/shapes/outlines.py and sides.py know them: whole nanometres,
// micro-degrees, x right and y down from the mark's centre. An outline and four readings come in the stored form.
export const TOLERANCE = 2_540, HALF_TURN = 180_000_000, RIGHT_ANGLE = 90_000_000;

const modulo = (a, b) => ((a % b) + b) % b;

/** Rounded to the nearest whole, halves to the even one, as the service rounds. */
export function even(x) {
  const whole = Math.round(x);
  return (whole - x === 0.5 && whole % 2 ? whole - 1 : whole) + 0;
}

/** [cosine, sine] of micro-degrees, exact at every right angle. */
export function turn(udeg) {
  const quarter = Math.floor(udeg / RIGHT_ANGLE), rest = udeg - quarter * RIGHT_ANGLE, radians = rest / 1_000_000 * (Math.PI / 180);
  const [c, s] = rest === 0 ? [1, 0] : [Math.cos(radians), Math.sin(radians)];
  return [[c, s], [-s, c], [-c, -s], [s, -c]][modulo(quarter, 4)];
}

/** The same line's direction brought into (-90, 90] degrees. */
export const intoHalfTurn = (udeg) => HALF_TURN / 2 - modulo(HALF_TURN / 2 - udeg, HALF_TURN);

/** Length, width and angle of a rectangle, or of the rectangle a slit is judged as. */
export function sidesAndAngle(outline) {
  return [outline.length_nm, outline.shape === "slit" ? outline.opening_nm : outline.width_nm, outline.angle_udeg];
}

export function corners(outline) {
  if (outline.shape === "polygon") return outline.points_nm;
  const [length, width, angle] = sidesAndAngle(outline), [c, s] = turn(angle), u = length / 2, v = width / 2;
  return [[-u, -v], [u, -v], [u, v], [-u, v]].map(([a, b]) => [a * c - b * s, a * s + b * c]);
}

/** Least u, greatest u, least v and greatest v of the outline in the frame turned by the angle. */
export function extent(outline, angle) {
  if (outline.shape === "circle") {
    const r = outline.diameter_nm / 2;
    return [-r, r, -r, r];
  }
  if (outline.shape === "polygon") {
    const [c, s] = turn(angle), us = outline.points_nm.map(([x, y]) => x * c + y * s), vs = outline.points_nm.map(([x, y]) => y * c - x * s);
    return [Math.min(...us), Math.max(...us), Math.min(...vs), Math.max(...vs)];
  }
  const [length, width, own] = sidesAndAngle(outline);
  if (own === angle) return [-length / 2, length / 2, -width / 2, width / 2];
  const [c, s] = turn(own - angle).map(Math.abs), u = (length * c + width * s) / 2, v = (length * s + width * c) / 2;
  return [-u, u, -v, v];
}

/** Direction of `right`: as given, else the damage's long axis, else level. */
export function sideAngle(damage, given = null) {
  if (given !== null) return intoHalfTurn(given);
  if (damage.shape === "circle" || damage.shape === "polygon") return 0;
  const [length, width, angle] = sidesAndAngle(damage);
  return intoHalfTurn(length >= width ? angle : angle + RIGHT_ANGLE);
}

/** Least u, greatest u, least v and greatest v of a patch read by its four sides; null at a wall. */
export function sidesBox(damage, sides) {
  const [u0, u1, v0, v1] = extent(damage, sides.angle_udeg), past = (edge, way, nm) => (nm === null ? null : edge + way * nm);
  return [past(u0, -1, sides.left_nm), past(u1, 1, sides.right_nm), past(v0, -1, sides.far_nm), past(v1, 1, sides.near_nm)];
}

/** A patch read by its sides as a rectangle and its offset; a side sealed to a wall ends at the damage. */
export function sidesAsRectangle(damage, sides) {
  const [u0, u1, v0, v1] = sidesBox(damage, { ...sides, left_nm: sides.left_nm ?? 0, right_nm: sides.right_nm ?? 0, near_nm: sides.near_nm ?? 0, far_nm: sides.far_nm ?? 0 });
  const [c, s] = turn(sides.angle_udeg), u = (u0 + u1) / 2, v = (v0 + v1) / 2;
  const rectangle = { shape: "rectangle", length_nm: even(u1 - u0), width_nm: even(v1 - v0), angle_udeg: sides.angle_udeg };
  return [rectangle, [even(u * c - v * s), even(u * s + v * c)]];
}

/** The convex hull of whole points, exactly: products of coordinates are longer than a float holds. */
function hull(points) {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]).map(([x, y]) => [BigInt(x), BigInt(y), x, y]);
  const half = (rows) => {
    const kept = [];
    for (const p of rows) {
      while (kept.length > 1) {
        const [a, b] = kept.slice(-2);
        if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0n) break;
        kept.pop();
      }
      kept.push(p);
    }
    return kept.slice(0, -1);
  };
  return [...half(sorted), ...half(sorted.reverse())].map(([, , x, y]) => [x, y]);
}

/** Whether one row of numbers comes before another, by the first that differs. */
export function before(one, other) {
  for (const [i, n] of one.entries()) if (n !== other[i]) return n < other[i];
  return false;
}

/** Length, width and angle of the least rectangle round the outline, its sides rounded up. */
export function leastRectangle(outline) {
  if (outline.shape === "circle") return [outline.diameter_nm, outline.diameter_nm, 0];
  if (outline.shape !== "polygon") return sidesAndAngle(outline);
  const ring = hull(outline.points_nm);
  let best = null;
  for (const [i, [x, y]] of ring.entries()) {
    const [nx, ny] = ring[(i + 1) % ring.length];
    let angle = intoHalfTurn(even(Math.atan2(ny - y, nx - x) * (180 / Math.PI) * 1_000_000));
    const [u0, u1, v0, v1] = extent(outline, angle);
    let length = Math.ceil(u1 - u0 - 1e-3), width = Math.ceil(v1 - v0 - 1e-3);
    if (length < width) [length, width, angle] = [width, length, intoHalfTurn(angle + HALF_TURN / 2)];
    const found = [length * width, length, width, angle];
    if (best === null || before(found, best)) best = found;
  }
  return best.slice(1);
}

/** Length, width and angle to cut a patch to: the least rectangle, the overlap and the allowance past each side. */
export function cutSize(outline, overlap, allowance = 0) {
  const [length, width, angle] = leastRectangle(outline), more = 2 * (overlap + allowance);
  return [length + more, width + more, angle];
}

/** How far the outline reaches from its centre. */
export function reachOf(outline) {
  if (outline.shape === "circle") return Math.ceil(outline.diameter_nm / 2);
  if (outline.shape === "polygon") return Math.max(...outline.points_nm.map(([x, y]) => Math.ceil(Math.hypot(x, y))));
  const [length, width] = sidesAndAngle(outline);
  return Math.ceil(Math.ceil(Math.hypot(length, width)) / 2);
}

/** The whole root of a square sum, rounded up: exact, as the squares are longer than a float holds. */
export function wholeRoot(length, width) {
  const square = BigInt(length) ** 2n + BigInt(width) ** 2n;
  let root = BigInt(Math.floor(Math.sqrt(Number(square))));
  while (root * root > square) root -= 1n;
  while (root * root < square) root += 1n;
  return Number(root);
}

/** A point about the centre, turned clockwise on the sketch. */
export function turnedPoint([x, y], udeg) {
  const [c, s] = turn(udeg);
  return [even(x * c - y * s), even(x * s + y * c)];
}

/** The outline turned clockwise on the sketch about its centre. */
export function turned(outline, udeg) {
  if (!udeg || outline.shape === "circle") return outline;
  if (outline.shape === "polygon") return { ...outline, points_nm: outline.points_nm.map((point) => turnedPoint(point, udeg)) };
  return { ...outline, angle_udeg: modulo(outline.angle_udeg + udeg, 2 * HALF_TURN) };
}
