// One end of the joint line under the finger: the line turns about its other end.

import { at, fromBody } from "./geometry.js";

const GRIP_PX = 30;

// The end of the joint line that a finger at `place` takes, or null.
export function endAt(desk, place) {
  const { h, bodyToScreen } = place.side;
  const ends = endsOf(desk.facts).map((v) => [v, at(bodyToScreen, [0, v])]);
  const [v, [x, y]] = ends.reduce((one, other) => (far(place, other[1]) < far(place, one[1]) ? other : one));
  return far(place, [x, y]) <= GRIP_PX * desk.picture.mmPerPx ? { h, v } : null;
}

export const endsOf = (facts) => [-facts.end_trim_mm - 14, facts.length_mm + facts.end_trim_mm + 14];

export function begin(desk, start, { h, v }) {
  const from = desk.placing, [neck, tail] = endsOf(desk.facts);
  const other = v === neck ? tail : neck;
  const fixed = at(fromBody(h), [0, other]), taken = at(fromBody(h), [0, v]);
  const sign = h.which === "left" ? -1 : 1;
  return (now) => {
    const end = [taken[0] + sign * (now.x - start.x), taken[1]];
    desk.show(through(from, h, fixed, other, end));
  };
}

// The placing whose joint line runs through a fixed place (at v along the body) toward another place.
export function through(placing, h, fixed, v, end) {
  const k = h.s1 * h.s2, turn = k * Math.atan((end[0] - fixed[0]) / (end[1] - fixed[1]));
  const tilt = Math.min(Math.max(turn * 180 / Math.PI, -20), 20), rad = tilt * Math.PI / 180;
  const offset = fixed[0] * Math.cos(rad) - k * fixed[1] * Math.sin(rad);
  const shift = k * fixed[0] * Math.sin(rad) + fixed[1] * Math.cos(rad) - v;
  const along = placing.shift_mm + shift - h.shift;
  if (h.leaf === "b" && placing.tilt_b_deg !== null && placing.tilt_b_deg !== undefined) {
    return { ...placing, tilt_b_deg: tilt, offset_b_mm: offset, shift_mm: along };
  }
  return { ...placing, tilt_deg: tilt, offset_mm: offset, shift_mm: along };
}

// The line turned by so many degrees about the body's middle.
export function turned(desk, h, placing, degrees) {
  const v = desk.facts.length_mm / 2, fixed = at(fromBody(h), [0, v]);
  const rad = (h.tilt + degrees) * Math.PI / 180, k = h.s1 * h.s2;
  return through(placing, h, fixed, v, [fixed[0] + k * Math.sin(rad) * 100, fixed[1] + Math.cos(rad) * 100]);
}

const far = (place, [x, y]) => Math.hypot(place.x - x, place.y - y);
