// Keys on the picture: arrows move what the tool moves, [ and ] tilt the joint. With the flaws: N picks the next one,
// arrows move it, C takes its next corner, + and - make it larger or smaller, Enter adds an oval, Delete takes it away.

import { small } from "./nudge.js";

const TYPES = new Set(["INPUT", "TEXTAREA", "SELECT"]);

export function onKey(event, desk, { tool, actions, svg, hand }) {
  const typing = TYPES.has(event.target.tagName) && !["radio", "checkbox"].includes(event.target.type);
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && !typing) {
    event.preventDefault();
    if (event.shiftKey) actions.redo(); else actions.undo();
    return;
  }
  if (event.target !== svg || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "Delete" || event.key === "Backspace") { if (desk.picked) { event.preventDefault(); actions.drop(); } return; }
  if (tool() === "flaws" && onFlawKey(event, desk, { actions, hand })) { event.preventDefault(); return; }
  const name = stepOf(event.key, tool(), desk);
  if (!name) return;
  event.preventDefault();
  desk.move(small(desk, name, event.shiftKey));
}

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function onFlawKey({ key, shiftKey }, desk, { actions, hand }) {
  if (key === "n" || key === "N") { hand.next(shiftKey); return true; }
  if (key === "Enter") { actions["add-oval"](); return true; }
  if (!desk.picked) return false;
  if (key === "Escape") { hand.flush().then(() => desk.pick(null)); return true; }
  if (key === "c" || key === "C") { hand.corner(); return true; }
  if (key === "+" || key === "=") { hand.size(1.1); return true; }
  if (key === "-") { hand.size(1 / 1.1); return true; }
  if (!ARROWS[key]) return false;
  hand.move(...ARROWS[key], shiftKey);
  return true;
}

function stepOf(key, tool, desk) {
  if (key === "[" || key === "{") return "tilt-";
  if (key === "]" || key === "}") return "tilt+";
  if (key === "ArrowUp") return tool === "leaf" ? "slide-" : "along-";
  if (key === "ArrowDown") return tool === "leaf" ? "slide+" : "along+";
  // leaf A's line goes the way of the arrow
  const right = desk.picture.sides.find((side) => side.h.leaf === "a").h.which === "right";
  if (key === "ArrowRight") return right ? "inward+" : "inward-";
  if (key === "ArrowLeft") return right ? "inward-" : "inward+";
  return null;
}
