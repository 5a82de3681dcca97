// Lengths and verdicts as they are said; the same words as the shop's own pictures and sheets.

const MINUS = "\u2212";

function nearest64(inches) {
  const count = Math.round(Math.abs(inches) * 64), whole = Math.floor(count / 64), over = count % 64;
  const sign = inches < 0 && count ? MINUS : "";
  if (!over) return `${sign}${whole}`;
  let part = over, of = 64;
  while (part % 2 === 0) { part /= 2; of /= 2; }
  return `${sign}${whole ? `${whole} ` : ""}${part}/${of}`;
}

export function length(mm, unit, decimals = 1) {
  if (unit === "inch") return `${nearest64(mm / 25.4)} in`;
  const shown = mm.toFixed(decimals);
  return `${(Number(shown) === 0 ? (0).toFixed(decimals) : shown).replace("-", MINUS)} mm`;
}

// A length as it is typed: 4.5, 4,5 mm, 3/16 in, 1 3/16"; a bare number takes the shop's unit, a fraction is inches. null: none.
export function typed(text, unit) {
  const found = /^([+\-\u2212]?)\s*(?:(\d+(?:[.,]\d+)?)(?:\s+(\d+)\/(\d+))?|(\d+)\/(\d+))\s*(mm|in|")?$/.exec(text.trim() || "0");
  if (!found) return null;
  const [, sign, whole, over, of, lone, loneOf, said] = found;
  const value = lone ? lone / loneOf : parseFloat(whole.replace(",", ".")) + (over ? over / of : 0);
  const inches = said ? said !== "mm" : Boolean(lone || over) || unit === "inch";
  return (sign && sign !== "+" ? -1 : 1) * value * (inches ? 25.4 : 1);
}

export const bare = (mm, unit) => length(mm, unit).replace(/ (mm|in)$/, "");
export const both = (mm, unit) => [length(mm, unit), length(mm, unit === "mm" ? "inch" : "mm")];

// The quick verdict, said as an estimate until the exact one is there.
export function sentence(judged, unit) {
  if (judged.lacks > 0) return ["short", `the joint line lies about ${length(judged.lacks, unit)} too near the edge`];
  const least = Math.min(judged.spare, judged.endSpare);
  const ends = judged.endSpare < judged.spare;
  const [where, elsewhere] = ends ? ["at the ends", "beside"] : ["beside", "at the ends"];
  const more = length(Math.max(judged.spare, judged.endSpare), unit).replace(/ mm$/, "");
  const how = least >= 0 ? `about ${length(least, unit)} to spare ${where}` : `short by about ${length(-least, unit)}${ends ? " at the ends" : ""}`;
  if (judged.marginal) return ["marginal", `marginal: ${how}, within the scale's error`];
  if (judged.fits) return ["fits", `fits, ${how}, ${more} ${elsewhere}`];
  return ["short", least < 0 ? how : "does not fit"];
}

const PLACES = {
  soundhole: "falls in the soundhole and is cut out",
  bridge: "lies under the bridge and its plate",
  fingerboard: "lies under the fingerboard",
  edge: "lies in the edge band",
  open: "lies in the open",
};

export function flawLines(judged, flaws) {
  const said = [...judged.flaws].sort((a, b) => b.rank - a.rank).map(({ leaf, index, zone, counts }) => {
    const flaw = flaws[leaf].flaws[index];
    const name = `${flaw ? flaw.kind : "flaw"} of leaf ${leaf.toUpperCase()}${flaw?.other_face ? " on the other face" : ""}`;
    return counts ? `${name} ${PLACES[zone]}` : `perhaps a ${name}: ${PLACES[zone]}; not counted`;
  });
  return said.length ? said : ["no flaw inside the outline"];
}

const SHORT_PLACES = {
  soundhole: "in the soundhole", bridge: "under the bridge", fingerboard: "under the board", edge: "in the edge band", open: "in the open",
};

// The worst of them in a few words: what blocks, beside the figure on a phone.
export function blocksLine(judged, flaws) {
  const [worst, ...more] = judged.flaws.filter((one) => one.counts).sort((a, b) => b.rank - a.rank);
  if (!worst) return "no flaw inside";
  const kind = flaws[worst.leaf].flaws[worst.index]?.kind ?? "flaw";
  return `${worst.leaf.toUpperCase()}'s ${kind} ${SHORT_PLACES[worst.zone]}${more.length ? `, ${more.length} more` : ""}`;
}

export const MARKS = { fits: "\u2713", marginal: "\u2248", short: "\u2715" };
