// Small steps, for buttons and keys: half a millimetre, a twentieth of a degree.

import { inward } from "./slide_joint.js";
import { typed } from "./words.js";
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

// What was typed into a step's field: so far from the best. null: it is no figure.
export function figure(desk, name, text) {
  const { placing } = desk, base = desk.told.base(placing);
  if (name === "tilt") {
    const degrees = Number(text.trim().replace("\u2212", "-").replace(",", ".").replace(/°$/, ""));
    if (!Number.isFinite(degrees)) return null;
    const half = desk.picture.sides.find((side) => side.h.leaf === "a").h;
    return turned(desk, half, placing, base.tilt_deg + degrees - placing.tilt_deg);
  }
  const mm = typed(text, desk.unit);
  if (mm === null) return null;
  if (name === "inward") return { ...placing, offset_mm: base.offset_mm + mm };
  if (name === "along") return { ...placing, shift_mm: base.shift_mm + mm };
  return { ...placing, slide_mm: base.slide_mm + mm * (placing.neck_end === 1 ? 1 : -1) };
}
