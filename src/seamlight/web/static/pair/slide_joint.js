// The joint line under the finger: it moves across, on both leaves alike.

export const touch = "pan-y"; // the page still scrolls up and down

export function begin(desk, start) {
  const from = desk.placing, sign = start.side.h.which === "left" ? -1 : 1;
  return (now) => desk.show(inward(desk, from, start.leaf, sign * (now.x - start.x)));
}

// The joint further into the leaf by so much; each leaf has a line of its own in a slip-match.
export function inward(desk, placing, leaf, mm) {
  if (desk.facts.match === "slip" && leaf === "b") {
    return { ...placing, offset_b_mm: (placing.offset_b_mm ?? placing.offset_mm) + mm };
  }
  return { ...placing, offset_mm: placing.offset_mm + mm };
}
