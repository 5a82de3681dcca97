// Leaf B under the finger: it moves along beside leaf A, as a book is closed a little askew.

export const touch = "pan-x";

export function begin(desk, start) {
  const from = desk.placing, sign = from.neck_end === 1 ? 1 : -1;
  return (now) => desk.show({ ...from, slide_mm: from.slide_mm + sign * (now.y - start.y) });
}
