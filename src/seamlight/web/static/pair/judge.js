// A quick judgement while the finger moves: the same strips, ends and zones as the shop's own, less its grain and
// score. The exact figure comes from the server and takes the place of this one.

import { at, halves, toBody } from "./geometry.js";

// what the facts were rounded by: less than that is nothing
const ROUNDED = 2e-3;
const TOUCH = 1e-6, CLIP = 1e-7, HAIR = 1e-9;
export const ZONES = ["waste", "soundhole", "bridge", "fingerboard", "edge", "open"];

export function quick(facts, placing) {
  const leaves = halves(facts, placing).map((h) => judgeLeaf(facts, h));
  const worst = leaves.reduce((one, other) => (other.spare < one.spare ? other : one));
  const lacks = Math.max(...leaves.map((l) => l.lacks));
  const spare = lacks > 0 ? Math.min(worst.spare, -lacks) : worst.spare;
  const endSpare = Math.min(...leaves.map((l) => l.endSpare));
  const struck = Math.max(...leaves.map((l) => l.struck));
  const fits = lacks <= 0 && spare >= -ROUNDED && endSpare >= -ROUNDED && struck <= ROUNDED;
  const slideRoom = Math.min(...leaves.map((l) => l.slideRoom));
  const near = Math.min(Math.abs(spare), Math.abs(slideRoom)) <= facts.scale_error_mm;
  const marginal = lacks <= 0 && facts.scale_error_mm > 0 && near;
  return { spare, endSpare, fits, marginal, lacks, worst, leaves, flaws: leaves.flatMap((l) => l.flaws) };
}

function judgeLeaf(facts, h) {
  const matrix = toBody(h);
  const lay = (points) => points.map((p) => at(matrix, p));
  const wood = lay(h.side.wood_mm), silhouette = lay(h.side.silhouette_mm);
  const room = roomOf(facts, h.body, wood, h.side.holes_mm.map(lay));
  return {
    ...room, half: h, silhouette,
    planed: planing(facts, silhouette),
    flaws: zonesOf(facts, h, lay),
  };
}

// Every piece of a ring in strips square to the joint: each(strip, near, far).
function pieces(ring, step, each) {
  for (let i = 0; i < ring.length; i++) {
    const [pu, pv] = ring[i], [qu, qv] = ring[(i + 1) % ring.length];
    const first = Math.floor((Math.min(pv, qv) + CLIP) / step);
    const last = Math.ceil((Math.max(pv, qv) - CLIP) / step) - 1;
    const rise = qv - pv, level = Math.abs(rise) <= 2 * CLIP;
    for (let strip = first; strip <= last; strip++) {
      if (level) { each(strip, Math.min(pu, qu), Math.max(pu, qu)); continue; }
      const along = (v) => pu + Math.min(Math.max((v - pv) / rise, 0), 1) * (qu - pu);
      const one = along(strip * step), other = along((strip + 1) * step);
      each(strip, Math.min(one, other), Math.max(one, other));
    }
  }
}

function roomOf(facts, body, wood, holes) {
  const step = facts.strip_length_mm, n = body.strip_mm.length;
  const first = Math.ceil(-facts.end_trim_mm / step - 1e-7);
  const last = Math.floor((facts.length_mm + facts.end_trim_mm) / step + 1e-7);
  const [neck, tail] = ends(facts, body, wood);
  const seam = (k) => k >= first && k < last && k * step >= neck - TOUCH && k * step + step <= tail + TOUCH;
  const width = (k) => (k >= 0 && k < n ? body.strip_mm[k] : 0);
  const strips = new Float64Array(n).fill(Infinity);
  let slack = Infinity;
  pieces(wood, step, (k, near, far) => {
    if (!seam(k)) return;
    const within = k >= 0 && k < n;
    const inner = -far - facts.joint_mm, outer = near - width(k) - (within ? facts.trim_mm : 0);
    if (inner >= outer) slack = Math.min(slack, inner);
    else if (within) strips[k] = Math.min(strips[k], outer);
  });
  let struck = 0;
  for (const hole of holes) struck = Math.max(struck, holeRoom(facts, hole, step, seam, width, strips));
  const lacks = slack < -ROUNDED || slack === Infinity ? jointLacks(facts, wood, first, last, step) : 0;
  let spare = Infinity, where = 0;
  strips.forEach((room, k) => { if (room < spare) { spare = room; where = k; } });
  if (spare === Infinity) spare = lacks > 0 ? outerRoom(facts, body, wood, step) : -Math.max(...body.strip_mm);
  const neckSpare = -neck - facts.end_trim_mm, tailSpare = tail - facts.length_mm - facts.end_trim_mm;
  const endSpare = lacks > 0 ? Math.min(...overEnds(facts, wood)) : Math.min(neckSpare, tailSpare);
  return { spare, where: (where + 0.5) * step, strips, lacks, struck, endSpare, slideRoom: (neckSpare + tailSpare) / 2 };
}

function holeRoom(facts, hole, step, seam, width, strips) {
  const extent = new Map();
  pieces(hole, step, (k, near, far) => {
    const [low, high] = extent.get(k) ?? [Infinity, -Infinity];
    extent.set(k, [Math.min(low, near), Math.max(high, far)]);
  });
  let struck = 0;
  for (const [k, [near, far]] of extent) {
    if (!seam(k)) continue;
    if (near < -TOUCH && far > TOUCH) struck = Math.max(struck, far);
    if (k >= 0 && k < strips.length && far > width(k) + TOUCH) {
      strips[k] = Math.min(strips[k], near - width(k) - facts.trim_mm);
    }
  }
  return struck;
}

// v of the wood's ends beside the joint, as wide as the body's own ends.
function ends(facts, body, wood) {
  const neck = innermost(endEdges(wood, true), body.neck_width_mm, true);
  const tail = innermost(endEdges(wood, false), body.tail_width_mm, false);
  return [Number.isFinite(neck) ? neck : facts.length_mm, Number.isFinite(tail) ? tail : 0];
}

function endEdges(wood, low) {
  const vs = wood.map((p) => p[1]);
  const least = Math.min(...vs), most = Math.max(...vs), sixth = (most - least) / 6;
  return wood.map((p, i) => [p, wood[(i + 1) % wood.length]]).filter(([p, q]) =>
    low ? Math.min(p[1], q[1]) < least + sixth : Math.max(p[1], q[1]) > most - sixth);
}

function innermost(edges, to, low) {
  const pick = low ? Math.max : Math.min;
  let worst = low ? -Infinity : Infinity;
  for (const [[u0, v0], [u1, v1]] of edges) {
    const near = Math.max(Math.min(u0, u1), TOUCH), far = Math.min(Math.max(u0, u1), to - TOUCH);
    if (near > far) continue;
    const run = u1 - u0;
    const v = Math.abs(run) <= 1e-12 ? pick(v0, v1)
      : pick(v0 + (near - u0) * (v1 - v0) / run, v0 + (far - u0) * (v1 - v0) / run);
    worst = pick(worst, v);
  }
  return worst;
}

// How much too near its edge the joint lies, where it leaves the wood somewhere along the body.
function jointLacks(facts, wood, first, last, step) {
  const vs = wood.map((p) => p[1]);
  const low = Math.max(first, Math.ceil((Math.min(...vs) + 4) / step));
  const high = Math.min(last, Math.floor((Math.max(...vs) - 4) / step));
  const edge = new Map();
  pieces(wood, step, (k, near, far) => edge.set(k, Math.min(edge.get(k) ?? Infinity, far)));
  let lacks = 0;
  for (let k = low; k < high; k++) lacks = Math.max(lacks, (edge.get(k) ?? -Infinity) + facts.joint_mm);
  return lacks;
}

function outerRoom(facts, body, wood, step) {
  const far = new Map();
  pieces(wood, step, (k, near, to) => far.set(k, Math.max(far.get(k) ?? -Infinity, to)));
  let room = Infinity;
  body.strip_mm.forEach((half, k) => { room = Math.min(room, (far.get(k) ?? 0) - half - facts.trim_mm); });
  return room;
}

function overEnds(facts, wood) {
  const vs = wood.map((p) => p[1]);
  return [-Math.min(...vs) - facts.end_trim_mm, Math.max(...vs) - facts.length_mm - facts.end_trim_mm];
}

// Wood off the joint edge at the neck and tail ends of the seam, and the most anywhere.
function planing(facts, silhouette) {
  const step = facts.strip_length_mm, edge = new Map();
  const first = Math.ceil(-facts.end_trim_mm / step - 1e-7);
  const last = Math.floor((facts.length_mm + facts.end_trim_mm) / step + 1e-7);
  pieces(silhouette, step, (k, near) => {
    if (k >= first && k < last) edge.set(k, Math.min(edge.get(k) ?? Infinity, near));
  });
  const strips = [...edge.keys()].sort((a, b) => a - b), count = Math.round(5 / step);
  const middle = (part) => {
    const values = part.map((k) => edge.get(k)).sort((a, b) => a - b);
    const half = values.length >> 1;
    return values.length % 2 ? values[half] : (values[half - 1] + values[half]) / 2;
  };
  if (!strips.length) return { neck: 0, tail: 0, most: 0 };
  return {
    neck: Math.max(0, -middle(strips.slice(0, count))),
    tail: Math.max(0, -middle(strips.slice(-count))),
    most: Math.max(0, ...strips.map((k) => -edge.get(k))),
  };
}

function zonesOf(facts, h, lay) {
  const found = [];
  for (const flaw of h.side.flaws) {
    let rank = 0;
    for (const [u, v] of lay(flaw.points_mm)) rank = Math.max(rank, zoneRank(facts, h.body, u, v));
    if (rank) found.push({ leaf: h.leaf, index: flaw.index, counts: flaw.counts, zone: ZONES[rank], rank });
  }
  return found;
}

function tableAt(facts, table, v) {
  if (v < -HAIR || v > facts.length_mm + HAIR) return -1;
  const step = facts.strip_length_mm, i = Math.min(Math.max(Math.floor(v / step), 0), table.length - 2);
  const from = i * step, to = i === table.length - 2 ? facts.length_mm : from + step;
  const share = Math.min(Math.max((v - from) / (to - from), 0), 1);
  return table[i] + share * (table[i + 1] - table[i]);
}

function reach(z, zone, v) {
  if (zone === "soundhole") {
    const across = (z.soundhole_mm / 2) ** 2 - (v - z.soundhole_y_mm) ** 2;
    return z.soundhole_mm > 0 && across >= 0 ? Math.sqrt(across) : -1;
  }
  if (zone === "bridge") {
    return z.bridge_length_mm > 0 && Math.abs(v - z.bridge_y_mm) <= z.bridge_length_mm / 2 + HAIR ? z.bridge_width_mm / 2 : -1;
  }
  return z.fingerboard_end_mm > 0 && v <= z.fingerboard_end_mm + HAIR ? z.fingerboard_half_width_mm : -1;
}

function zoneRank(facts, body, u, v) {
  const half = tableAt(facts, body.half_mm, v);
  if (half < 0) return 0;
  const inner = tableAt(facts, body.inner_mm, v);
  let rank = 0, near = -1;
  for (let worse = 0; worse < 5; worse++) {
    if (worse >= 1 && worse <= 3) near = Math.max(near, reach(facts.zones, ZONES[worse], v));
    const from = near >= 0 ? near + HAIR : -HAIR;
    const to = (worse >= 4 ? Math.min(half, inner) : half) + HAIR;
    if (u >= from && u <= to) rank++;
  }
  return rank;
}
