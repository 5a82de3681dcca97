// Rings that a finger draws: thinned, closed, measured.

// Points no nearer together than `mm`.
export function spaced(points, mm) {
  const kept = [points[0]];
  for (const point of points) if (far(point, kept.at(-1)) >= mm) kept.push(point);
  return kept;
}

// Douglas and Peucker's thinning of an open line (Cartographica 10, 1973): what departs less than `mm` is left out.
export function thinned(points, mm) {
  if (points.length < 3) return points;
  const [first, last] = [points[0], points.at(-1)];
  let worst = 0, where = 0;
  for (let i = 1; i < points.length - 1; i++) {
    const off = fromLine(points[i], first, last);
    if (off > worst) { worst = off; where = i; }
  }
  if (worst <= mm) return [first, last];
  return [...thinned(points.slice(0, where + 1), mm).slice(0, -1), ...thinned(points.slice(where), mm)];
}

// A ring of few enough corners to be taken by a finger.
export function cornered(ring, most = 16) {
  let mm = 0.2, thin = ring;
  while (thin.length > most) {
    const half = ring.length >> 1;
    thin = [...thinned(ring.slice(0, half + 1), mm).slice(0, -1), ...thinned([...ring.slice(half), ring[0]], mm).slice(0, -1)];
    mm *= 1.5;
  }
  return thin;
}

// A ring as points near one another, along it and inside, as many as matter to where it lies.
export function dense(ring) {
  const round = ring.reduce((sum, p, i) => sum + far(p, ring[(i + 1) % ring.length]), 0);
  const step = Math.max(0.5, round / 240), points = [];
  ring.forEach((p, i) => {
    const q = ring[(i + 1) % ring.length], count = Math.max(1, Math.ceil(far(p, q) / step));
    for (let k = 0; k < count; k++) points.push([p[0] + (q[0] - p[0]) * k / count, p[1] + (q[1] - p[1]) * k / count]);
  });
  const [xs, ys] = [ring.map((p) => p[0]), ring.map((p) => p[1])], pace = Math.max(1, Math.sqrt(area(ring) / 160));
  for (let x = Math.min(...xs) + pace / 2; x < Math.max(...xs); x += pace) {
    for (let y = Math.min(...ys) + pace / 2; y < Math.max(...ys); y += pace) if (holds(ring, [x, y])) points.push([x, y]);
  }
  return points;
}

export function area(ring) {
  let sum = 0;
  ring.forEach(([x, y], i) => { const [p, q] = ring[(i + 1) % ring.length]; sum += x * q - p * y; });
  return Math.abs(sum) / 2;
}

export function holds(ring, [x, y]) {
  let inside = false;
  ring.forEach(([x0, y0], i) => {
    const [x1, y1] = ring[(i + 1) % ring.length];
    if (y0 > y !== y1 > y && x < x0 + (y - y0) / (y1 - y0) * (x1 - x0)) inside = !inside;
  });
  return inside;
}

// Whether two of its sides cross: such a ring is no flaw's outline.
export function crosses(ring) {
  const side = (i) => [ring[i], ring[(i + 1) % ring.length]];
  for (let i = 0; i < ring.length; i++) for (let j = i + 2; j < ring.length; j++) {
    if (i === 0 && j === ring.length - 1) continue;
    if (meet(...side(i), ...side(j))) return true;
  }
  return false;
}

export const far = ([x, y], [p, q]) => Math.hypot(x - p, y - q);
export const middle = (ring) => [0, 1].map((k) => ring.reduce((sum, p) => sum + p[k], 0) / ring.length);

// The hull round a line that crosses itself (Andrew's monotone chain).
export function hull(points) {
  const sorted = [...points].sort((p, q) => p[0] - q[0] || p[1] - q[1]);
  const chain = (list) => {
    const out = [];
    for (const p of list) {
      while (out.length > 1 && turn(out.at(-2), out.at(-1), p) <= 0) out.pop();
      out.push(p);
    }
    return out.slice(0, -1);
  };
  return [...chain(sorted), ...chain(sorted.reverse())];
}

function fromLine([x, y], [x0, y0], [x1, y1]) {
  const length = Math.hypot(x1 - x0, y1 - y0);
  return length < 1e-9 ? Math.hypot(x - x0, y - y0) : Math.abs((x1 - x0) * (y0 - y) - (x0 - x) * (y1 - y0)) / length;
}
const turn = (o, a, b) => (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
const meet = (a, b, c, d) => turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
