// A picked flaw: its corners and itself follow the finger.

import { ownOf } from "./draw_flaw.js";
import { at } from "./geometry.js";
import { area, cornered, crosses, dense, far, holds, middle } from "./rings.js";
import { make } from "./picture.js";

const CORNER_PX = 22;

// The flaw under a place: of the face that shows first, then the smallest, since a large one may lie round it.
export function flawAt(desk, place) {
  const near = 12 * desk.picture.mmPerPx;
  const hit = desk.work.flaws[place.leaf].flaws
    .map((flaw, index) => ({ flaw, index, leaf: place.leaf }))
    .filter(({ flaw }) => holds(flaw.outline_mm, place.own) || flaw.outline_mm.some((p) => far(p, place.own) < near));
  const hidden = ({ flaw }) => Number(flaw.other_face !== place.side.other);
  return hit.sort((a, b) => hidden(a) - hidden(b) || area(a.flaw.outline_mm) - area(b.flaw.outline_mm))[0] ?? null;
}

export const canChange = (desk, picked) => !(picked.leaf === "b" && desk.work.stands_in);

// The facts with a picked flaw where the finger has it now, so that what blocks follows the finger.
export function withRing(facts, picked) {
  if (!picked?.ring) return facts;
  const side = facts[picked.leaf], points_mm = dense(picked.ring).map((p) => at(side.to_a, p));
  const flaws = side.flaws.map((flaw) => (flaw.index === picked.index ? { ...flaw, points_mm } : flaw));
  return { ...facts, [picked.leaf]: { ...side, flaws } };
}

export function begin(desk, start, picked, changed) {
  const corners = cornersOf(desk, picked), near = CORNER_PX * desk.picture.mmPerPx;
  // nearer its middle than any corner: the whole flaw is meant
  const held = far(start.own, middle(corners)) < Math.min(...corners.map((p) => far(p, start.own)));
  const corner = held ? -1 : nearest(corners, start.own, near);
  if (corner < 0 && !holds(picked.flaw.outline_mm, start.own)) return null;
  // moved as a whole it keeps its shape; by a corner it becomes the ring of its corners
  const ring = corner < 0 ? picked.ring ?? picked.flaw.outline_mm : corners;
  let now = ring, moved = false;
  return {
    move(place) {
      const [x, y] = ownOf(start, place), dx = x - start.own[0], dy = y - start.own[1];
      moved ||= Math.hypot(dx, dy) > 0.3;
      const next = ring.map((p, i) => (corner < 0 || i === corner ? [+(p[0] + dx).toFixed(2), +(p[1] + dy).toFixed(2)] : p));
      if (!crosses(next)) { now = next; desk.reshape(picked, now); }
    },
    end() { if (moved) changed(picked, now); },
  };
}

// Corners far enough apart on the screen to take one by a finger.
export function cornersOf(desk, picked) {
  const ring = picked.ring ?? picked.flaw.outline_mm;
  const round = ring.reduce((sum, p, i) => sum + far(p, ring[(i + 1) % ring.length]), 0) / desk.picture.mmPerPx;
  return cornered(ring, Math.min(Math.max(Math.round(round / 32), 4), 16));
}

function nearest(ring, own, near) {
  let best = -1, least = near;
  ring.forEach((p, i) => { if (far(p, own) < least) { least = far(p, own); best = i; } });
  return best;
}

// Corners to take hold of, drawn over everything.
export function drawCorners(desk, picked) {
  const { hand } = desk.picture;
  if (!picked || !canChange(desk, picked)) { hand.replaceChildren(); return; }
  const side = desk.picture.sides.find((s) => s.h.leaf === picked.leaf), [a, b, c, d, e, f] = side.toScreen;
  const ring = cornersOf(desk, picked), mm = desk.picture.mmPerPx;
  hand.replaceChildren(...ring.map(([x, y], i) => make("circle", {
    cx: a * x + c * y + e, cy: b * x + d * y + f, r: (i === picked.corner ? 9 : 6) * mm, class: i === picked.corner ? "corner held" : "corner",
  })));
}
