// What was done on the picture, step by step: undo, redo, kept in this tab across a reload.

const MOST = 100;

export class Steps {
  constructor(key, first) {
    this.key = `seamlight steps ${key}`;
    this.done = [first];
    this.undone = [];
    try {
      const kept = JSON.parse(sessionStorage.getItem(this.key) ?? "null");
      if (kept && same(kept.done.at(-1), first)) Object.assign(this, { done: kept.done, undone: kept.undone });
    } catch { /* a kept list that cannot be read is no list */ }
  }

  get now() { return this.done.at(-1); }

  take(step) {
    if (same(step, this.now)) return false;
    this.done.push(step);
    if (this.done.length > MOST) this.done.shift();
    this.undone = [];
    this.keep();
    return true;
  }

  // The place of the last step was only now told exactly, such as after a search: no step of its own.
  amend(step) { this.done[this.done.length - 1] = step; this.keep(); }

  undo() {
    if (this.done.length < 2) return null;
    this.undone.push(this.done.pop());
    this.keep();
    return this.now;
  }

  redo() {
    if (!this.undone.length) return null;
    this.done.push(this.undone.pop());
    this.keep();
    return this.now;
  }

  keep() { sessionStorage.setItem(this.key, JSON.stringify({ done: this.done, undone: this.undone })); }
}

export const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);
