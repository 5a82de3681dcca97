// Keys on the picture: arrows move what the tool moves, [ and ] tilt the joint, Delete takes a picked flaw away.

import { small } from "./nudge.js";

const TYPES = new Set(["INPUT", "TEXTAREA", "SELECT"]);

export function onKey(event, desk, { tool, actions, svg }) {
  const typing = TYPES.has(event.target.tagName) && !["radio", "checkbox"].includes(event.target.type);
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && !typing) {
    event.preventDefault();
    if (event.shiftKey) actions.redo(); else actions.undo();
    return;
  }
  if (event.target !== svg || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "Delete" || event.key === "Backspace") { if (desk.picked) { event.preventDefault(); actions.drop(); } return; }
  const name = stepOf(event.key, tool(), desk);
  if (!name) return;
  event.preventDefault();
  desk.move(small(desk, name, event.shiftKey));
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
