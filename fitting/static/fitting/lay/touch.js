// Do two outlines overlap? The server has the last word; this tells it while a piece is moved.

const SLACK = 0.05; // mm, as the server allows

export function bounds(ring) {
  let left = Infinity, low = Infinity, right = -Infinity, high = -Infinity;
  for (const [x, y] of ring) {
    if (x < left) left = x;
    if (x > right) right = x;
    if (y < low) low = y;
    if (y > high) high = y;
  }
  return { left, low, right, high };
}

// A piece's outline as it lies: mirrored in x, turned about the origin, moved.
export function placed(shape, { mirrored, turn, x, y }) {
  const angle = (turn * Math.PI) / 180, sign = mirrored ? -1 : 1;
  const tidy = (value) => (Math.abs(value - Math.round(value)) < 1e-12 ? Math.round(value) : value);
  const c = tidy(Math.cos(angle)), s = tidy(Math.sin(angle));
  return shape.map(([px, py]) => [c * px - s * sign * py + x, s * px + c * sign * py + y]);
}

export function overlap(a, b) {
  const p = bounds(a), q = bounds(b);
  if (p.right <= q.left + SLACK || q.right <= p.left + SLACK || p.high <= q.low + SLACK || q.high <= p.low + SLACK) return false;
  return crosses(a, b) || deepInside(a, b) || deepInside(b, a);
}

// Edges that truly cross: not those that only touch, and not nearer to an end than the slack.
function crosses(a, b) {
  for (let i = 0; i < a.length; i++) {
    const [ax, ay] = a[i], [bx, by] = a[(i + 1) % a.length];
    for (let j = 0; j < b.length; j++) {
      const [cx, cy] = b[j], [dx, dy] = b[(j + 1) % b.length];
      const c = side(ax, ay, bx, by, cx, cy), d = side(ax, ay, bx, by, dx, dy);
      if (!(c > SLACK && d < -SLACK) && !(c < -SLACK && d > SLACK)) continue;
      const e = side(cx, cy, dx, dy, ax, ay), f = side(cx, cy, dx, dy, bx, by);
      if ((e > SLACK && f < -SLACK) || (e < -SLACK && f > SLACK)) return true;
    }
  }
  return false;
}

// Signed distance of a point from the line through two others.
function side(ax, ay, bx, by, px, py) {
  const long = Math.hypot(bx - ax, by - ay) || 1e-9;
  return ((bx - ax) * (py - ay) - (by - ay) * (px - ax)) / long;
}

// Some corner, middle of an edge or inner point of one lies inside the other, further from its edges than the slack.
function deepInside(inner, outer) {
  const [mx, my] = middle(inner);
  if (holds(outer, mx, my) && gap(outer, mx, my) > SLACK) return true;
  for (let i = 0; i < inner.length; i++) {
    const [ax, ay] = inner[i], [bx, by] = inner[(i + 1) % inner.length];
    for (const [x, y] of [[ax, ay], [(ax + bx) / 2, (ay + by) / 2]]) {
      if (holds(outer, x, y) && gap(outer, x, y) > SLACK) return true;
    }
  }
  return false;
}

// A point well inside: the middle of the widest stretch at half height. Two alike on top of each other have it in common.
function middle(ring) {
  const { low, high } = bounds(ring);
  const y = (low + high) / 2 + 1e-7;
  const cuts = [];
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [ax, ay] = ring[i], [bx, by] = ring[j];
    if (ay > y !== by > y) cuts.push(((bx - ax) * (y - ay)) / (by - ay) + ax);
  }
  cuts.sort((a, b) => a - b);
  let best = [0, 0];
  for (let i = 0; i + 1 < cuts.length; i += 2) if (cuts[i + 1] - cuts[i] > best[1] - best[0]) best = [cuts[i], cuts[i + 1]];
  return [(best[0] + best[1]) / 2, y];
}

function holds(ring, x, y) {
  let inside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [ax, ay] = ring[i], [bx, by] = ring[j];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
  }
  return inside;
}

function gap(ring, x, y) {
  let least = Infinity;
  for (let i = 0; i < ring.length; i++) {
    const [ax, ay] = ring[i], [bx, by] = ring[(i + 1) % ring.length];
    const dx = bx - ax, dy = by - ay, long = dx * dx + dy * dy;
    const t = long ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / long)) : 0;
    least = Math.min(least, Math.hypot(x - ax - t * dx, y - ay - t * dy));
  }
  return least;
}
