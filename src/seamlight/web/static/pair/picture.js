// The picture of the pair: both leaves as they lie when the book is opened, and on each its half of the template.
// Lines are light with a dark edge. A drag changes matrices and a few points; the pictures stay.

import { faceOf } from "./flaws.js";
import { endsOf } from "./tilt_joint.js";
import { at, beyondJoint, fromBody, halves, inverse, mirrors, times, toBody, toLying } from "./geometry.js";

const SVG = "http://www.w3.org/2000/svg";
const GAP_MM = 16, MARGIN_MM = 13;

export function make(tag, attributes = {}, ...children) {
  const node = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  node.append(...children);
  return node;
}
const matrix = (m) => `matrix(${m.map((n) => n.toFixed(6)).join(" ")})`;
const points = (list) => list.map(([x, y]) => `${x.toFixed(2)},${y.toFixed(2)}`).join(" ");
const path = (list, closed = false) => `M${list.map(([x, y]) => `${x.toFixed(2)} ${y.toFixed(2)}`).join("L")}${closed ? "Z" : ""}`;

export class Picture {
  constructor(svg) {
    this.svg = svg; // `laid(sides)` is told which faces lie up
    this.closed = false;
    this.way = "";
    new ResizeObserver(() => this.letter()).observe(svg);
  }

  // Everything that stays while a finger moves: pictures, templates.
  lay(work, placing) {
    this.work = work;
    this.facts = work.facts;
    this.sides = halves(this.facts, placing).map((h) => this.makeSide(h));
    this.svg.replaceChildren(...this.sides.flatMap((s) => [s.clip, s.wood]), ...this.sides.map((s) => s.template), this.over());
    this.last = null; // what lay here before is not drawn on the new sides
    this.fit(placing);
    this.way = wayOf(this.facts, placing);
    this.laid?.(this.sides);
  }

  over() {
    this.tag = make("g", { class: "room" }, make("rect"), make("text"));
    this.hand = make("g", { class: "hand" });
    this.names = make("g", { class: "leaf-name" }, ...[0, 1, 2, 3].map(() => make("text")));
    return make("g", {}, this.names, this.hand, this.tag);
  }

  makeSide(h) {
    const leaf = this.work.flaws[h.leaf], mirror = h.leaf === "b" && this.work.stands_in;
    const own = mirror ? times(h.side.to_a, [-1, 0, 0, 1, h.side.width_mm, 0]) : h.side.to_a;
    // seen from behind a leaf shows its other face, where that was photographed
    const other = mirrors(h) && `other_${h.leaf}` in this.work.pictures;
    const href = this.work.pictures[faceOf(h.leaf, other)];
    const image = make("image", { href, preserveAspectRatio: "none" });
    const probe = new Image();
    probe.onload = () => {
      const px = this.work.px_per_mm[h.leaf];
      image.setAttribute("width", probe.naturalWidth / px);
      image.setAttribute("height", probe.naturalHeight / px);
    };
    probe.src = href;
    const clip = make("clipPath", { id: `clip-${h.leaf}` }, make("polygon"));
    const flaws = make("g", { class: "flaws" });
    const inner = make("g", {}, image);
    const held = make("g", { "clip-path": `url(#clip-${h.leaf})` }, inner);
    const marks = make("g", {}, flaws);
    const wood = make("g", { class: "leaf", "data-leaf": h.leaf }, held, marks);
    const veil = make("polygon", { class: "veil" });
    const short = make("g", { class: "short" });
    const grips = endsOf(this.facts).map((v) => make("circle", { class: "grip", cx: 0, cy: v }));
    const template = make("g", { class: "template", "data-leaf": h.leaf }, veil, ...this.templateLines(h), short, ...grips);
    return { grips, h, leaf, other, own, image, inner, marks, clip, flaws, wood, veil, short, template };
  }

  templateLines(h) {
    const { facts } = this, end = facts.end_trim_mm, edge = h.body.edge_mm, length = facts.length_mm;
    const along = (y) => Math.max(0, 1 - Math.min(y, length - y) / (0.1 * length)) * (y > length / 2 ? end : -end);
    const trim = [[0, -end], ...edge.map(([x, y]) => [x + facts.trim_mm, y + along(y)]), [0, length + end]];
    const lines = [
      ["trim", path(trim)],
      ...zoneLines(facts).map((d) => ["zone", d]),
      ["outline", path(edge)],
      ["joint", path([[0, -end - 14], [0, length + end + 14]])],
    ];
    const area = make("path", { class: "area", d: path(edge, true) });
    return [area, ...lines.flatMap(([name, d]) => [make("path", { class: `line under ${name}`, d }), make("path", { class: `line ${name}`, d })])];
  }

  // The window: both leaves with their templates, whatever is done to them within reason.
  fit(placing) {
    const boxes = halves(this.facts, placing).map((h) => {
      const m = this.lyingToScreen(h, placing);
      const wood = h.side.silhouette_mm.map((p) => at(times(m, toLying(h)), p));
      const template = [...h.body.edge_mm, ...endsOf(this.facts).map((v) => [0, v])];
      return [...wood, ...template.map((p) => at(times(m, fromBody(h)), p))];
    }).flat();
    const xs = boxes.map((p) => p[0]), ys = boxes.map((p) => p[1]);
    const left = Math.min(...xs) - MARGIN_MM, top = Math.min(...ys) - MARGIN_MM;
    const box = [left, top, Math.max(...xs) + MARGIN_MM - left, Math.max(...ys) + MARGIN_MM - top];
    this.svg.setAttribute("viewBox", box.map((n) => n.toFixed(1)).join(" "));
    this.box = box;
    this.letter();
  }

  // Letters keep their size on the screen.
  letter() {
    if (!this.box || !this.svg.clientWidth || !this.svg.clientHeight) return;
    this.mmPerPx = Math.max(this.box[2] / this.svg.clientWidth, this.box[3] / this.svg.clientHeight);
    document.getElementById("hatch")?.setAttribute("patternTransform", `scale(${this.mmPerPx.toFixed(4)})`);
    if (this.last) this.draw(this.last.placing, this.last.judged, this.last.shown);
  }

  // A leaf as it lies -> the picture: joint edges toward each other, or the joint closed.
  lyingToScreen(h, placing) {
    const sign = h.which === "left" ? -1 : 1;
    if (this.closed) return times([sign, 0, 0, 1, 0, placing.shift_mm], inverse(fromBody(h)));
    const lying = h.side.silhouette_mm.map((p) => at(toLying(h), p)[0]);
    const slid = (placing.slide_mm - this.facts.registered_slide_mm) * (placing.neck_end === 1 ? 1 : -1);
    return [sign, 0, 0, 1, sign * (GAP_MM / 2 - Math.min(...lying)), h.leaf === "b" ? slid : 0];
  }

  // Where everything lies now. `judged` is what judge.js says; `shown` what is selected and hatched.
  draw(placing, judged, shown = {}) {
    if (this.way !== wayOf(this.facts, placing)) this.lay(this.work, placing);
    this.last = { placing, judged, shown };
    const sides = halves(this.facts, placing);
    sides.forEach((h, i) => {
      const side = this.sides[i], screen = this.lyingToScreen(h, placing);
      side.h = h;
      side.toScreen = times(screen, times(toLying(h), side.h.side.to_a));
      side.bodyToScreen = times(screen, fromBody(h));
      side.inner.setAttribute("transform", matrix(times(screen, times(toLying(h), side.own))));
      side.marks.setAttribute("transform", matrix(side.toScreen));
      side.template.setAttribute("transform", matrix(side.bodyToScreen));
      side.clip.firstChild.setAttribute("points", points(this.clipRing(side)));
      side.veil.setAttribute("points", points(beyondJoint(judged.leaves[i].silhouette)));
      side.template.classList.toggle("closed", this.closed);
      for (const grip of side.grips) grip.setAttribute("r", (8 * (this.mmPerPx || 1)).toFixed(2));
      this.drawShort(side, judged.leaves[i]);
      this.drawFlaws(side, shown);
    });
    this.drawNames(placing);
    this.drawRoom(judged, shown.words);
  }

  clipRing(side) {
    if (!this.closed) return side.h.side.silhouette_mm.map((p) => at(times(side.toScreen, inverse(side.h.side.to_a)), p));
    const m = toBody(side.h);
    return aheadOfJoint(side.h.side.silhouette_mm.map((p) => at(m, p))).map((p) => at(side.bodyToScreen, p));
  }

  drawShort(side, judged) {
    const step = this.facts.strip_length_mm, lines = [];
    let run = [];
    judged.strips.forEach((room, k) => {
      if (room < -1e-6) run.push([side.h.body.strip_mm[k], (k + 0.5) * step]);
      else if (run.length) { lines.push(run); run = []; }
    });
    if (run.length) lines.push(run);
    side.short.replaceChildren(...lines.flatMap((line) => [make("path", { class: "line under short-line", d: path(line) }), make("path", { class: "line short-line", d: path(line) })]));
  }

  drawFlaws(side, shown) {
    const drawn = side.leaf.flaws.map((flaw, index) => {
      const picked = shown.picked && shown.picked.leaf === side.h.leaf && shown.picked.index === index;
      const ring = picked && shown.ring ? shown.ring : flaw.outline_mm;
      const hidden = flaw.other_face !== side.other;
      const name = `flaw${flaw.counts ? "" : " unsure"}${hidden ? " hidden-face" : ""}${picked ? " picked" : ""}`;
      return make("g", { class: name, "data-index": index },
        make("path", { class: "line under", d: path(ring, true) }), make("path", { class: "line ring", d: path(ring, true) }));
    });
    side.flaws.replaceChildren(...drawn);
  }

  // Which leaf is which, and which of its ends lies where.
  drawNames(placing) {
    const size = 16 * (this.mmPerPx || 1), texts = [...this.names.children];
    this.sides.forEach((side, i) => {
      const ring = side.h.side.silhouette_mm.map((p) => at(times(side.toScreen, inverse(side.h.side.to_a)), p));
      const xs = ring.map((p) => p[0]), ys = ring.map((p) => p[1]);
      const middle = (Math.min(...xs) + Math.max(...xs)) / 2, turned = side.h.side.to_a[3] < 0;
      const top = (placing.neck_end === 1) !== turned ? 1 : 2;
      [[Math.min(...ys) + size * 1.4, top], [Math.max(...ys) - size * 0.7, 3 - top]].forEach(([y, end], j) => {
        const text = texts[2 * i + j];
        text.textContent = `${side.h.leaf.toUpperCase()}, end ${end}`;
        for (const [name, value] of Object.entries({ x: middle, y, "font-size": size, "stroke-width": size / 4.5 })) text.setAttribute(name, value.toFixed(2));
      });
    });
  }

  drawRoom(judged, words) {
    const side = this.sides.find((s) => s.h.leaf === judged.worst.half.leaf), mm = this.mmPerPx || 1;
    const half = side.h.body.strip_mm[Math.min(Math.floor(judged.worst.where / this.facts.strip_length_mm), side.h.body.strip_mm.length - 1)];
    const [x, y] = at(side.bodyToScreen, [half + Math.max(judged.worst.spare, 0) / 2, judged.worst.where]);
    const [rect, text] = this.tag.children;
    if (words === undefined) return;
    text.textContent = words;
    const size = 17 * mm, wide = words.length * size * 0.62 + size * 0.8;
    const left = Math.min(Math.max(x - wide / 2, this.box[0]), this.box[0] + this.box[2] - wide);
    for (const [name, value] of Object.entries({ x: left, y: y - size * 0.75, width: wide, height: size * 1.5 })) rect.setAttribute(name, value.toFixed(2));
    for (const [name, value] of Object.entries({ x: left + wide / 2, y: y + size * 0.36, "font-size": size })) text.setAttribute(name, (+value).toFixed(2));
    this.tag.classList.toggle("lacking", !judged.fits);
  }

  // A place of the screen: on the picture, on a leaf (its own mm), on the template.
  find(event) {
    // the picture may stand in a larger window: the browser knows where
    const screen = this.svg.getScreenCTM();
    const [x, y] = at(inverse([screen.a, screen.b, screen.c, screen.d, screen.e, screen.f]), [event.clientX, event.clientY]);
    const side = this.sides.find((s) => (x < 0) === (s.h.which === "left")) ?? this.sides[0];
    return { x, y, side, leaf: side.h.leaf, own: at(inverse(side.toScreen), [x, y]), body: at(inverse(side.bodyToScreen), [x, y]) };
  }
}

const wayOf = (facts, p) => [facts.outline, p.joint_edge, p.neck_end, p.show_face].join(" ");

const aheadOfJoint = (ring) => beyondJoint(ring.map(([u, v]) => [-u, v])).map(([u, v]) => [-u, v]);

function zoneLines({ zones: z }) {
  const found = [];
  if (z.soundhole_mm) {
    const r = z.soundhole_mm / 2, arc = [];
    for (let i = 0; i <= 48; i++) arc.push([r * Math.sin(Math.PI * i / 48), z.soundhole_y_mm - r * Math.cos(Math.PI * i / 48)]);
    found.push(path(arc));
  }
  if (z.bridge_length_mm) {
    const [w, top, low] = [z.bridge_width_mm / 2, z.bridge_y_mm - z.bridge_length_mm / 2, z.bridge_y_mm + z.bridge_length_mm / 2];
    found.push(path([[0, top], [w, top], [w, low], [0, low]]));
  }
  if (z.fingerboard_end_mm) found.push(path([[z.fingerboard_half_width_mm, 0], [z.fingerboard_half_width_mm, z.fingerboard_end_mm], [0, z.fingerboard_end_mm]]));
  return found;
}
