// The outline under the finger: it moves along the joint line, toward neck or tail.

export const touch = "pan-x";

export function begin(desk, start) {
  const from = desk.placing;
  return (now) => desk.show({ ...from, shift_mm: from.shift_mm + now.y - start.y });
}
