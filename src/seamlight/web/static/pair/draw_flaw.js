// A flaw drawn with the finger: a ring round it, closed where the finger is lifted.

import { area, crosses, cornered, hull, spaced } from "./rings.js";
import { make } from "./picture.js";

export const touch = "none";
const LEAST_MM2 = 0.5;

export function begin(desk, start, added) {
  const { side } = start, drawn = [start.own];
  const line = make("polyline", { class: "drawing" });
  side.marks.append(line);
  return {
    move(now) {
      drawn.push(ownOf(start, now));
      line.setAttribute("points", drawn.map((p) => p.join(",")).join(" "));
    },
    end() {
      line.remove();
      const ring = tidy(drawn);
      if (ring) added(start.leaf, ring);
    },
  };
}

// A finger that leaves the leaf keeps drawing in that leaf's own measure.
function ownOf(start, now) {
  const [a, b, c, d] = start.side.toScreen, det = a * d - b * c, dx = now.x - start.x, dy = now.y - start.y;
  return [start.own[0] + (d * dx - c * dy) / det, start.own[1] + (a * dy - b * dx) / det];
}

export function tidy(points) {
  const line = spaced(points, 0.6);
  if (line.length < 3) return null;
  let ring = cornered(line, 40);
  if (crosses(ring)) ring = hull(ring);
  return ring.length >= 3 && area(ring) >= LEAST_MM2 ? ring.map(([x, y]) => [+x.toFixed(2), +y.toFixed(2)]) : null;
}
export { ownOf };
