// The walk order on a phone without signal: the order the server gave stands, done marks fall out, new ones go in
// where they make the walk longer by the least. Straight distances alone: walls are known to the server only.

const far = (a, b) => (a && b ? Math.hypot(b[0] - a[0], b[1] - a[1]) : 0);

/** Where a place goes in so that the walk grows least; of equal ones the earliest. */
function cheapest(start, order, at) {
  let best = 0, least = Infinity;
  for (let k = 0; k <= order.length; k += 1) {
    const before = k ? order[k - 1].at : start, after = k < order.length ? order[k].at : null;
    const more = far(before, at) + far(at, after) - far(before, after);
    if (more < least) [best, least] = [k, more];
  }
  return best;
}

/**
 * The marks left to visit, in order.
 * start: [x, y] where somebody stands, or null. marks: all there are now, {id, tag, at: [x, y], done}.
 * legs: the server's order, {id} each, as `order` of its answer. Places are pixels of one picture.
 */
export function orderLeft(start, marks, legs) {
  const left = new Map(marks.filter((mark) => !mark.done).map((mark) => [mark.id, mark]));
  const order = legs.filter((leg) => left.has(leg.id)).map((leg) => left.get(leg.id));
  for (const mark of order) left.delete(mark.id);
  const fresh = [...left.values()].sort((a, b) => a.tag.length - b.tag.length || (a.tag < b.tag ? -1 : 1));
  for (const mark of fresh) order.splice(cheapest(start, order, mark.at), 0, mark);
  return order;
}
