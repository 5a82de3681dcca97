// The choice is kept at the shop a moment after the last gesture. What could not be sent stays on this device and is
// sent again; what another device chose meanwhile is told, never overwritten unasked.

import { ask, Lost, Refused } from "../ask.js";

const AFTER_MS = 600;

export class Keep {
  constructor(pair, version, { kept, trouble, conflict, unkept }) {
    Object.assign(this, { pair, version, kept, trouble, conflict, unkept, timer: 0, waiting: null, busy: false, sending: null });
    this.key = `seamlight unsent choice ${pair}`;
    addEventListener("online", () => this.send());
    addEventListener("pagehide", () => { if (this.waiting) this.send(true); });
  }

  // A choice that this device could not send before.
  get unsent() {
    try { return JSON.parse(localStorage.getItem(this.key) ?? "null"); } catch { return null; }
  }

  soon(outline, placing) {
    this.waiting = { outline, placing };
    this.unkept();
    localStorage.setItem(this.key, JSON.stringify({ ...this.waiting, version: this.version }));
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.send(), AFTER_MS);
  }

  // What was moved last is at the shop, or it was told why not.
  async settled() {
    if (this.busy) await this.sending;
    await this.send();
  }

  send(leaving = false) {
    clearTimeout(this.timer);
    if (this.waiting && !this.busy && !this.stopped) this.sending = this.sendNow(leaving);
    return this.sending;
  }

  async sendNow(leaving) {
    const sent = this.waiting;
    this.waiting = null;
    this.busy = true;
    try {
      const answer = await ask(`/api/pairs/${this.pair}/choice`, { method: "PUT", json: { ...sent, version: this.version }, keepalive: leaving });
      this.version = answer.version;
      if (!this.waiting) { localStorage.removeItem(this.key); this.kept(answer); }
    } catch (error) {
      this.waiting ??= sent;
      if (error instanceof Refused && error.status === 409) { this.stopped = true; this.conflict(error); }
      else if (error instanceof Lost) this.trouble("No connection to the shop. Your last move is kept on this device and sent when it is back.");
      else { this.waiting = null; this.trouble(error.message); }
    } finally {
      this.busy = false;
    }
    if (this.waiting && !this.stopped && navigator.onLine) this.timer = setTimeout(() => this.send(), 3000);
  }

  forget() { clearTimeout(this.timer); this.waiting = null; this.stopped = false; localStorage.removeItem(this.key); }
}
