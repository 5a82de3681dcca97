// Small steps, for buttons and keys: half a millimetre, a twentieth of a degree.

import { inward } from "./slide_joint.js";
import { turned } from "./tilt_joint.js";

const MM = 0.5, INCH_MM = 25.4 / 64, DEG = 0.05;

// "inward+", "tilt-", "along+", "slide-"; ten times as far with `far`.
export function small(desk, name, far = false) {
  const { placing } = desk, what = name.slice(0, -1), sign = name.endsWith("+") ? 1 : -1;
  const step = sign * (desk.unit === "inch" ? INCH_MM : MM) * (far ? 10 : 1);
  if (what === "inward") return inward(desk, placing, "a", step);
  if (what === "along") return { ...placing, shift_mm: placing.shift_mm + step };
  if (what === "slide") return { ...placing, slide_mm: placing.slide_mm + step * (placing.neck_end === 1 ? 1 : -1) };
  const half = desk.picture.sides.find((side) => side.h.leaf === "a").h;
  return turned(desk, half, placing, sign * DEG * (far ? 10 : 1));
}
