// The pair's picture at work: what lies where, what it comes to, what is kept. One module a gesture does the rest.

import { ask, Lost } from "../ask.js";
import { Exact } from "./exact.js";
import { again, FACES, faceOf, keptOf, leafOf } from "./flaws.js";
import { Keep } from "./keep.js";
import { quick } from "./judge.js";
import { drawCorners, withRing } from "./reshape_flaw.js";
import { Picture } from "./picture.js";
import { same, Steps } from "./steps.js";
import { Told } from "./told.js";

export class Desk {
  constructor(root, work) {
    this.root = root;
    this.unit = root.dataset.unit;
    this.picture = new Picture(root.querySelector("svg.desk-picture"));
    this.told = new Told(root, this);
    this.picture.laid = (sides) => this.told.faces(sides);
    this.exact = new Exact(work.pair, (answer, asked) => this.answer(answer, asked), (why) => this.told.trouble(why));
    this.keeping = new Keep(work.pair, work.version, {
      kept: () => this.told.kept(), trouble: (why) => this.told.trouble(why), conflict: (error) => this.told.conflict(error),
      unkept: () => this.told.busy(""),
    });
    this.picked = null;
    this.take(work);
    this.steps = new Steps(`${work.pair}`, this.step());
    const unsent = this.keeping.unsent;
    if (unsent && !same(unsent.placing, this.placing)) this.resend(unsent);
    this.told.steps(this.steps);
  }

  get facts() { return this.work.facts; }

  take(work) {
    this.work = work;
    this.best = work.openings.map((one) => one.placing);
    this.placing = work.judged.placing;
    this.picture.lay(work, this.placing);
    this.exactly(work.judged);
    this.render();
  }

  // The shop's own word on what lies here; no estimate takes its place until something moves.
  exactly(judged) {
    this.known = { placing: judged.placing, facts: this.facts };
    this.told.exact(judged);
  }

  isKnown() { return Boolean(this.known) && this.known.facts === this.facts && same(this.known.placing, this.placing); }

  step() {
    const edits = Object.fromEntries(FACES.map((face) => [face, keptOf(this.work, face).edits]));
    return { outline: this.work.outline, placing: this.placing, edits };
  }

  // While a finger moves: quick figures at once, the exact one right behind.
  show(placing) {
    this.placing = placing;
    this.exact.about(this.work.outline, placing);
    if (!this.isKnown()) this.told.moving();
    if (!this.frame) this.frame = requestAnimationFrame(() => { this.frame = 0; this.render(); });
  }

  render() {
    this.judged = quick(withRing(this.facts, this.picked), this.placing);
    this.picture.draw(this.placing, this.judged, { picked: this.picked, ring: this.picked?.ring, words: this.told.room(this.judged) });
    drawCorners(this, this.picked);
    this.told.quick(this.judged, this.isKnown());
  }

  answer(document, asked) {
    if (same(asked.placing, this.placing) && asked.outline === this.work.outline) this.exactly(document);
  }

  // A gesture is done: a step that can be undone, and the choice that is kept.
  done() {
    if (this.steps.take(this.step())) this.keeping.soon(this.work.outline, this.placing);
    this.told.steps(this.steps);
  }

  move(placing) { this.show(placing); this.done(); }

  async undo() { await this.goTo(this.steps.undo()); }

  async redo() { await this.goTo(this.steps.redo()); }

  async goTo(step) {
    if (!step) return;
    if (step.outline !== this.work.outline) await this.fetch(step.outline);
    for (const face of FACES) {
      const before = step.edits[face] ?? {};
      if (!same(before, keptOf(this.work, face).edits)) await this.say(face, before);
    }
    this.show(step.placing);
    this.keeping.soon(step.outline, step.placing);
    this.told.steps(this.steps);
  }

  // The best of this way to open the pair: as found, or searched for now.
  async toBest(way = this.placing) {
    const like = (p) => p.joint_edge === way.joint_edge && p.neck_end === way.neck_end && p.show_face === way.show_face;
    const known = this.told.stale ? null : this.best.find(like);
    if (known) { this.move(known); return; }
    const { joint_edge, neck_end, show_face } = way;
    await this.busy("Searching for the best place.", async () => {
      const found = await ask(`/api/pairs/${this.work.pair}/best`, {
        method: "POST", json: { outline: this.work.outline, joint_edge, neck_end, show_face },
      });
      this.move(found.placing);
    });
  }

  async tryOutline(name) {
    const before = this.placing, length = this.facts.length_mm;
    await this.busy(`Laying the ${name} on.`, async () => {
      await this.fetch(name);
      if (this.best.length) { this.move(this.best[0]); return; }
      this.show({ ...before, shift_mm: before.shift_mm + (length - this.facts.length_mm) / 2 });
      await this.toBest(before);
    });
  }

  async fetch(outline) {
    const work = await ask(`/api/pairs/${this.work.pair}/work?outline=${encodeURIComponent(outline)}`);
    this.exact.forget();
    this.work = work;
    this.best = work.openings.map((one) => one.placing);
    this.pick(null);
    this.told.outline(work);
  }

  pick(picked) {
    this.picked = picked;
    this.told.picked(picked);
    if (this.judged) this.render();
  }

  reshape(picked, ring) { picked.ring = ring; this.render(); }

  // What was said about the flaws of a face: kept at once, since it outlasts the choice. `hold`: what is picked stays so.
  // One after another: what is being kept comes first. `edits`: what is said, or made of what was said before.
  async say(face, edits, hold = false) {
    const before = this.saying;
    this.saying = Promise.resolve(before).catch(() => {}).then(() => this.sayNow(face, edits, hold));
    await this.saying;
  }

  async sayNow(face, said, hold) {
    const leaf = leafOf(face), held = this.picked;
    await this.busy("Keeping what you said of the flaws.", async () => {
      const known = keptOf(this.work, face), edits = typeof said === "function" ? said(known.edits) : said;
      const address = `/api/pairs/${this.work.pair}/flaws/${face}?outline=${encodeURIComponent(this.work.outline)}`;
      const kept = await ask(address, { method: "PUT", json: { edits, version: known.version } });
      this.work = { ...this.work, facts: kept.facts, flaws: { ...this.work.flaws, [leaf]: kept.flaws } };
      this.told.stale = true;
      this.pick(null);
      this.picture.lay(this.work, this.placing);
      if (hold && held) this.pick(again(held, this.work));
      this.show(this.placing);
    });
  }

  async saidOf(face, edits, hold = false) {
    await this.say(face, edits, hold);
    this.done();
  }

  // The picked flaw otherwise: `change(edits, flaw)` makes what is said of its face.
  async changePicked(change, hold = false) {
    await this.saying;
    if (!this.picked) return;
    const { leaf, flaw } = this.picked;
    await this.saidOf(faceOf(leaf, flaw.other_face), (edits) => change(edits, flaw), hold);
  }

  async busy(words, work) {
    this.told.busy(words);
    try { await work(); this.told.busy(""); }
    catch (error) {
      if (!(error instanceof Lost) && !error.status) throw error;
      if (error.status === 409) this.told.conflict(error); else this.told.trouble(error.message);
    }
  }

  // A move that was made while the shop could not be reached.
  async resend({ outline, placing, version }) {
    if (outline !== this.work.outline) await this.fetch(outline);
    this.keeping.version = version;
    this.show(placing);
    this.done();
  }
}
