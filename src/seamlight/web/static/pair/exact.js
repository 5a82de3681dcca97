// The exact figure from the shop: one question under way at a time, the newest waits, older answers are dropped.

import { ask, Lost } from "../ask.js";

export class Exact {
  constructor(pair, told, lost) {
    Object.assign(this, { pair, told, lost, busy: false, next: null, count: 0 });
  }

  // Ask for a placing; `told(document, question)` gets the answer of the newest question only.
  about(outline, placing) {
    this.next = { outline, placing, number: ++this.count };
    if (!this.busy) this.run();
  }

  // Whatever is under way is of no use any more.
  forget() { this.count++; this.next = null; }

  async run() {
    this.busy = true;
    while (this.next) {
      const question = this.next;
      this.next = null;
      try {
        const { outline, placing } = question;
        const answer = await ask(`/api/pairs/${this.pair}/judge`, { method: "POST", json: { outline, placing } });
        if (question.number === this.count) this.told(answer, question);
      } catch (error) {
        if (!(error instanceof Lost) && !error.status) throw error;
        this.lost(error.message);
        break;
      } finally {
        this.busy = Boolean(this.next);
      }
    }
    this.busy = false;
  }
}
