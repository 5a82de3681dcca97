// What a person says about flaws, in the shape that the command line takes too: {add, drop, replace}. Each face of a
// leaf has its own: "a" and "b" as photographed, "other_a" and "other_b" the other faces, all in their leaf's own mm.

export const FACES = ["a", "b", "other_a", "other_b"];
export const faceOf = (leaf, other) => (other ? `other_${leaf}` : leaf);
export const leafOf = (face) => face.at(-1);

// What is kept of a face: its edits and their version.
export const keptOf = (work, face) => (face.startsWith("other_") ? work.flaws[leafOf(face)].other : work.flaws[face]);

// The same flaw after it was said anew, or null.
export function again({ leaf, flaw, corner }, work) {
  const flaws = work.flaws[leaf].flaws;
  const index = flaws.findIndex((one) => one.other_face === flaw.other_face && one.found === flaw.found && one.added === flaw.added);
  return index < 0 ? null : { leaf, index, flaw: flaws[index], corner };
}

const plain = (edits) => ({ add: [...(edits.add ?? [])], drop: [...(edits.drop ?? [])], replace: { ...(edits.replace ?? {}) } });

const slim = ({ add, drop, replace }) => ({
  ...(add.length && { add }), ...(drop.length && { drop }), ...(Object.keys(replace).length && { replace }),
});

export function withAdded(edits, kind, ring) {
  const next = plain(edits);
  next.add.push({ kind, outline_mm: ring });
  return slim(next);
}

export function withChanged(edits, flaw, change) {
  const next = plain(edits);
  if (flaw.added !== null) next.add[flaw.added] = { ...next.add[flaw.added], ...change };
  else next.replace[flaw.found] = { ...next.replace[flaw.found], ...change };
  return slim(next);
}

export function without(edits, flaw) {
  const next = plain(edits);
  if (flaw.added !== null) next.add.splice(flaw.added, 1);
  else { next.drop.push(flaw.found); delete next.replace[flaw.found]; }
  return slim(next);
}
