// What the page says beside the picture: verdict, figures, reasons, what is kept, what went wrong.

import { bare, blocksLine, both, flawLines, length, MARKS, sentence } from "./words.js";

export class Told {
  constructor(root, desk) {
    Object.assign(this, { root, desk, stale: root.dataset.stale === "yes" });
    this.part = (name) => root.querySelector(`[data-told="${name}"]`);
  }

  room(judged) {
    const lacking = judged.lacks > 0 ? Math.min(-judged.lacks, judged.spare) : judged.spare;
    return bare(lacking, this.desk.unit);
  }

  quick(judged, known) {
    const { unit, placing } = this.desk;
    const flaws = flawLines(judged, this.desk.work.flaws);
    this.part("flaws").replaceChildren(...flaws.map((text) => item(text)));
    this.part("flaws-count").textContent = judged.flaws.length || "none";
    this.moved(placing);
    this.way(placing);
    this.blocks = blocksLine(judged, this.desk.work.flaws);
    if (known) { this.strip(); return; }
    const [kind, said] = sentence(judged, unit);
    this.verdict(kind, said, true);
    this.figure("spare", judged.spare);
    this.figure("ends", judged.endSpare);
    judged.leaves.forEach(({ half, planed }) => {
      // ends as they are written on the leaf: a B that lay turned has its end 1 beside A's end 2
      const line = half.side.to_a[3] < 0 !== (placing.neck_end === 2);
      this.figure(`planed-${half.leaf}-1`, line ? planed.tail : planed.neck);
      this.figure(`planed-${half.leaf}-2`, line ? planed.neck : planed.tail);
    });
    this.strip(kind, said, judged.spare, judged.leaves.map(({ planed }) => planed));
  }

  // On a phone: room, verdict, wood planed and what blocks, in sight while the finger is on the picture.
  strip(kind, said, spare, planed) {
    const { unit } = this.desk, node = this.part("strip");
    if (kind) {
      this.off = length(Math.max(...planed.map((one) => one.most)), unit);
      node.querySelector("b").textContent = length(spare, unit);
      node.querySelector("[data-words]").textContent = `${MARKS[kind]} ${kind === "short" ? said : kind}`;
      this.part("most").querySelector("b").textContent = this.off;
    }
    node.querySelector("[data-more]").textContent = this.off ? `plane ${this.off}, ${this.blocks}` : this.blocks;
  }

  // Which of the openings lies here.
  way(placing) {
    const own = this.desk.work.openings.find((one) => sameWay(one.placing, placing))?.number;
    for (const card of this.root.querySelectorAll(".ways > li")) {
      const here = Number(card.dataset.number) === own, button = card.querySelector("form button");
      if (card.classList.contains("chosen") !== here) card.classList.toggle("chosen", here);
      const words = here ? "Back to its best place" : "Choose this one";
      if (button.textContent !== words) button.textContent = words;
    }
  }

  exact(document) {
    const { opening } = document;
    this.verdict(document.verdict, document.said, false);
    this.figure("spare", opening.spare_mm);
    this.figure("ends", opening.end_spare_mm);
    this.figure("room", opening.joint_room_mm);
    for (const leaf of ["a", "b"]) for (const end of [1, 2]) this.figure(`planed-${leaf}-${end}`, opening.leaves[leaf].planing_mm[`end${end}`]);
    this.strip(document.verdict, document.said, opening.spare_mm, ["a", "b"].map((leaf) => opening.leaves[leaf].planing_mm));
    this.part("reasons").replaceChildren(...opening.reasons.map((text) => item(text)));
    this.part("score").textContent = opening.score.toFixed(0);
    this.root.dispatchEvent(new CustomEvent("exact", { detail: document }));
  }

  // From now on the verdict is an estimate, until the shop has judged what lies here.
  moving() { this.part("verdict").dataset.rough = "yes"; }

  verdict(kind, said, rough) {
    const node = this.part("verdict");
    node.className = `verdict verdict-${kind}`;
    node.dataset.rough = rough ? "yes" : "no";
    node.querySelector(".verdict-mark").textContent = MARKS[kind];
    const text = node.querySelector("[data-words]"), words = said[0].toUpperCase() + said.slice(1);
    if (text.textContent !== words) text.textContent = words;
    // a screen reader hears the exact verdict only, not every one on the way
    if (!rough) this.part("heard").textContent = words;
  }

  figure(name, mm) {
    const node = this.part(name);
    if (!node) return;
    const [own, other] = both(mm, this.desk.unit);
    node.querySelector("b").textContent = own;
    node.querySelector("small").textContent = other;
  }

  // How far from the best of this way: what the steps' fields show.
  moved(placing) {
    const base = this.base(placing);
    if (!base) return;
    const first = placing.neck_end === 1 ? 1 : -1;
    const values = {
      inward: placing.offset_mm - base.offset_mm, along: placing.shift_mm - base.shift_mm,
      slide: first * (placing.slide_mm - base.slide_mm),
    };
    for (const [name, mm] of Object.entries(values)) {
      const field = this.root.querySelector(`input[name="${name}"]`);
      if (field && field !== document.activeElement) field.value = length(mm, this.desk.unit, 2);
    }
    const tilt = this.root.querySelector('input[name="tilt"]');
    if (tilt && tilt !== document.activeElement) tilt.value = `${(placing.tilt_deg - base.tilt_deg).toFixed(2).replace("-", "\u2212")}`;
  }

  base(placing) {
    return this.desk.best.find((one) => sameWay(one, placing)) ?? this.desk.work.judged.placing;
  }

  steps(steps) {
    this.root.querySelector('[data-do="undo"]').disabled = steps.done.length < 2;
    this.root.querySelector('[data-do="redo"]').disabled = !steps.undone.length;
  }

  outline(work) {
    this.stale = false;
    const choice = this.root.querySelector('select[name="outline"]');
    if (choice) choice.value = work.outline;
    for (const node of document.querySelectorAll("[data-outline-name]")) node.textContent = work.outline;
  }

  picked(picked) {
    const node = this.part("picked");
    node.hidden = !picked;
    if (!picked) { this.part("picked-heard").textContent = ""; return; }
    const { flaw, leaf } = picked, side = this.desk.picture.sides.find(({ h }) => h.leaf === leaf);
    const face = flaw.other_face ? ", other face" : "", mirror = leaf === "b" && this.desk.work.stands_in;
    const how = mirror ? ", the mirror of leaf A's: change it there" : flaw.other_face !== side.other ? ", on the face not shown" : "";
    node.querySelector("[data-words]").textContent = `${flaw.kind[0].toUpperCase()}${flaw.kind.slice(1)} of leaf ${leaf.toUpperCase()}${face}${how}`;
    this.part("picked-heard").textContent = node.querySelector("[data-words]").textContent;
    node.querySelector("select").value = flaw.kind;
    for (const control of node.querySelectorAll("select, button")) control.disabled = mirror;
  }

  // Which leaf lies on which side, and which faces lie up, where it is not just those that were photographed first.
  faces(sides) {
    const bassLeft = this.desk.work.facts.use === "top";
    for (const { h } of sides) {
      const side = (h.which === "left") === bassLeft ? "bass" : "treble";
      this.part(`side-${h.which}`).textContent = `leaf ${h.leaf.toUpperCase()}, ${side} side`;
    }
    const turned = sides.filter((side) => side.other).map((side) => side.h.leaf.toUpperCase()).sort();
    const node = this.part("faces");
    node.hidden = !turned.length;
    node.textContent = turned.length > 1 ? "The other faces show: what you draw is kept with them."
      : `The other face of leaf ${turned[0]} shows: what you draw on it is kept with it.`;
  }

  busy(words) { this.part("busy").textContent = words; }

  kept() {
    // the plain forms of the page go on from what is kept now
    for (const field of document.querySelectorAll('form[action$="/choose"] input[name="version"], form[action$="/place"] input[name="version"]')) {
      field.value = this.desk.keeping.version;
    }
    // what lies here is chosen now: nothing else is to be chosen first
    this.root.querySelector('.desk-right form[action$="/choose"]')?.remove();
    this.root.querySelector('.desk-right a[href*="marking.pdf"]')?.classList.remove("action-plain");
    this.part("trouble").hidden = true;
    this.busy("Kept.");
  }

  trouble(why) {
    const node = this.part("trouble");
    node.hidden = false;
    node.textContent = why;
    this.busy("");
  }

  conflict(error) {
    const node = this.part("conflict"), change = error.body.changes?.at(-1);
    const who = change ? `${change.by} changed it at ${new Date(change.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}` : "it was changed on another device";
    node.hidden = false;
    node.querySelector("[data-words]").textContent = `Not kept: ${who}, after you opened this page. Nothing of theirs was overwritten.`;
    this.busy("");
    node.scrollIntoView({ block: "center" });
    node.querySelector("button").focus();
  }
}

const sameWay = (p, q) => p.joint_edge === q.joint_edge && p.neck_end === q.neck_end && p.show_face === q.show_face;

function item(text) {
  const node = document.createElement("li");
  node.textContent = text[0].toUpperCase() + text.slice(1);
  return node;
}
