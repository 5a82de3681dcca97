// Where the joint and the outline lie on both leaves, as plane motions. Everything is mm in leaf A's frame
// (facts of /api/pairs/ID/work) or in a half's own (u, v): u outward from the joint line, v from the neck end.

const RAD = Math.PI / 180;

// Which half leaf A becomes, seen from outside with the neck up.
export function halfOf({ joint_edge, neck_end, show_face }) {
  const left = (joint_edge === "right") === (neck_end === 1);
  return left === (show_face === "sawn") ? "left" : "right";
}

// Both halves of a placing: which way each faces, where its joint line and its neck end lie.
export function halves(facts, placing) {
  const first = placing.neck_end === 1;
  const aIs = halfOf(placing);
  const slip = facts.match === "slip";
  const moved = placing.slide_mm - facts.registered_slide_mm;
  const aLeft = placing.joint_edge === "left";
  const half = (leaf, which, jointLeft, tilt, offset, shift) => {
    const s1 = jointLeft ? 1 : -1, s2 = first ? 1 : -1;
    return { leaf, which, side: facts[leaf], body: facts[which], s1, s2, tilt, offset, shift, middle: facts.middle_mm };
  };
  const shiftB = first ? placing.shift_mm - moved : placing.shift_mm + moved;
  const tiltB = slip ? placing.tilt_b_deg ?? placing.tilt_deg : placing.tilt_deg;
  const offsetB = slip ? placing.offset_b_mm ?? placing.offset_mm : placing.offset_mm;
  return [
    half("a", aIs, aLeft, placing.tilt_deg, placing.offset_mm, placing.shift_mm),
    half("b", aIs === "left" ? "right" : "left", slip ? !aLeft : aLeft, tiltB, offsetB, shiftB),
  ];
}

// SVG matrices [a, b, c, d, e, f]: x' = a x + c y + e, y' = b x + d y + f.
export const times = (m, n) => [
  m[0] * n[0] + m[2] * n[1], m[1] * n[0] + m[3] * n[1],
  m[0] * n[2] + m[2] * n[3], m[1] * n[2] + m[3] * n[3],
  m[0] * n[4] + m[2] * n[5] + m[4], m[1] * n[4] + m[3] * n[5] + m[5],
];
export const at = (m, [x, y]) => [m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]];
export function inverse([a, b, c, d, e, f]) {
  const det = a * d - b * c;
  return [d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det];
}

// Leaf A's frame -> the leaf as it lies with the joint toward u = 0 and the neck up, before any line is drawn on it.
export const toLying = (h) => [h.s1, 0, 0, h.s2, -h.s1 * h.middle[0], -h.s2 * h.middle[1]];

// Whether a leaf is seen from behind, as against its own photograph: so its other face shows.
export function mirrors(h) {
  const [a, b, c, d] = h.side.to_a, sign = h.which === "left" ? -1 : 1;
  return sign * h.s1 * h.s2 * (a * d - b * c) < 0;
}

// The half's own (u, v) -> the leaf as it lies.
export function fromBody(h) {
  const k = h.s1 * h.s2, cos = Math.cos(h.tilt * RAD), sin = Math.sin(h.tilt * RAD);
  return [cos, -k * sin, k * sin, cos,
    h.offset * cos + k * h.shift * sin, -k * h.offset * sin + h.shift * cos];
}

// Leaf A's frame -> the half's own (u, v).
export const toBody = (h) => times(inverse(fromBody(h)), toLying(h));

// The part of a ring with u below 0: the wood that is planed off.
export function beyondJoint(ring) {
  const kept = [];
  for (let i = 0; i < ring.length; i++) {
    const p = ring[i], q = ring[(i + 1) % ring.length];
    if (p[0] < 0) kept.push(p);
    if (p[0] < 0 !== q[0] < 0) kept.push([0, p[1] + (q[1] - p[1]) * (-p[0] / (q[0] - p[0]))]);
  }
  return kept;
}
