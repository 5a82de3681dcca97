// Flaws without a finger: the next one, a new oval, moved by arrows as a whole or by one corner, made larger or smaller.
// What was changed is said to the shop a moment after the last key.

import { at, inverse } from "./geometry.js";
import { faceOf, withAdded, withChanged } from "./flaws.js";
import { cornersOf, canChange } from "./reshape_flaw.js";
import { crosses, middle } from "./rings.js";

const AFTER_MS = 700, STEP_MM = 0.5, LONG_MM = 16, WIDE_MM = 8;

export class FlawHand {
  constructor(desk) { Object.assign(this, { desk, timer: 0, busy: false }); }

  // The flaws in their order, leaf by leaf; null after the last, so that one can leave them.
  async next(back = false) {
    await this.flush();
    const { desk } = this;
    const all = ["a", "b"].flatMap((leaf) => desk.work.flaws[leaf].flaws.map((flaw, index) => ({ leaf, index, flaw })));
    const at = desk.picked ? all.findIndex((one) => one.leaf === desk.picked.leaf && one.index === desk.picked.index) : back ? all.length : -1;
    desk.pick(all[at + (back ? -1 : 1)] ?? null);
  }

  // An oval in the middle of leaf A's half, on the face that shows.
  async add(kind) {
    await this.flush();
    const { desk } = this, side = desk.picture.sides.find(({ h }) => h.leaf === "a");
    const centre = at(side.bodyToScreen, [desk.facts.length_mm / 8, desk.facts.length_mm / 2]);
    const [x, y] = at(inverse(side.toScreen), centre), ring = [];
    for (let i = 0; i < 16; i++) {
      const turn = Math.PI * i / 8;
      ring.push([+(x + WIDE_MM / 2 * Math.cos(turn)).toFixed(2), +(y + LONG_MM / 2 * Math.sin(turn)).toFixed(2)]);
    }
    const face = faceOf("a", side.other);
    await desk.saidOf(face, (edits) => withAdded(edits, kind, ring));
    const flaws = desk.work.flaws.a.flaws, index = flaws.findLastIndex((flaw) => flaw.other_face === side.other && flaw.added !== null);
    if (index >= 0) desk.pick({ leaf: "a", index, flaw: flaws[index] });
  }

  corner() {
    const { desk } = this, count = this.can() ? cornersOf(desk, desk.picked).length : 0;
    if (!count) return;
    const next = (desk.picked.corner ?? -1) + 1;
    desk.picked.corner = next < count ? next : undefined;
    desk.render();
  }

  // By steps to the right and down on the screen.
  move(right, down, far = false) {
    if (!this.can()) return;
    const { desk } = this, { picked } = desk, side = desk.picture.sides.find(({ h }) => h.leaf === picked.leaf);
    const back = inverse(side.toScreen), step = STEP_MM * (far ? 10 : 1);
    const dx = (back[0] * right + back[2] * down) * step, dy = (back[1] * right + back[3] * down) * step;
    const ring = picked.corner === undefined ? picked.ring ?? picked.flaw.outline_mm : cornersOf(desk, picked);
    const held = picked.corner === undefined ? null : Math.min(picked.corner, ring.length - 1);
    this.take(ring.map(([x, y], i) => (held === null || i === held ? [+(x + dx).toFixed(2), +(y + dy).toFixed(2)] : [x, y])));
  }

  size(factor) {
    if (!this.can()) return;
    const { picked } = this.desk, ring = picked.ring ?? picked.flaw.outline_mm, [mx, my] = middle(ring);
    this.take(ring.map(([x, y]) => [+(mx + (x - mx) * factor).toFixed(2), +(my + (y - my) * factor).toFixed(2)]));
  }

  can() { return Boolean(this.desk.picked) && !this.busy && canChange(this.desk, this.desk.picked); }

  take(ring) {
    if (crosses(ring)) return;
    this.desk.reshape(this.desk.picked, ring);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.flush(), AFTER_MS);
  }

  // What was changed by keys is kept now.
  async flush() {
    clearTimeout(this.timer);
    const { picked } = this.desk;
    if (!this.timer || !picked?.ring || this.busy) return;
    this.timer = 0;
    this.busy = true;
    try { await this.desk.changePicked((edits, flaw) => withChanged(edits, flaw, { outline_mm: picked.ring }), true); }
    finally { this.busy = false; }
  }
}
