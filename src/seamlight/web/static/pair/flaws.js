// What a person says about flaws, in the shape that the command line takes too: {add, drop, replace}.

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
