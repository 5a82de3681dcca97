// The pair's page: gestures, tools, keys and buttons on the picture.

import { ask } from "../ask.js";
import { Desk } from "./desk.js";
import * as drawFlaw from "./draw_flaw.js";
import { FlawHand } from "./flaw_hand.js";
import { FACES, faceOf, keptOf, withAdded, withChanged, without } from "./flaws.js";
import { onKey } from "./keys.js";
import * as reshapeFlaw from "./reshape_flaw.js";
import * as slideJoint from "./slide_joint.js";
import * as slideLeaf from "./slide_leaf.js";
import * as slideOutline from "./slide_outline.js";
import * as tiltJoint from "./tilt_joint.js";
import { figure, small } from "./nudge.js";

const wide = () => matchMedia("(min-width: 68rem)").matches;
const TOUCH = { look: "auto", joint: slideJoint.touch, outline: slideOutline.touch, leaf: slideLeaf.touch, flaws: drawFlaw.touch };

function start(root, work) {
  const desk = new Desk(root, work), { svg } = desk.picture, hand = new FlawHand(desk);
  let tool = "joint", gesture = null;

  const setTool = (name) => {
    tool = name;
    svg.style.touchAction = TOUCH[name];
    root.dataset.tool = name;
    root.querySelector(`input[name="tool"][value="${name}"]`).checked = true;
    if (name !== "flaws") hand.flush().then(() => desk.pick(null));
    if (name !== "look" && desk.picture.closed) setClosed(false);
  };
  const setClosed = (closed) => {
    desk.picture.closed = closed;
    root.querySelector('[data-do="close"]').setAttribute("aria-pressed", closed);
    if (closed) setTool("look");
    desk.picture.fit(desk.placing);
    desk.render();
  };

  const begin = (event) => {
    const place = desk.picture.find(event);
    if (tool === "joint") {
      const end = tiltJoint.endAt(desk, place);
      return end ? tiltJoint.begin(desk, place, end) : slideJoint.begin(desk, place);
    }
    if (tool === "outline") return slideOutline.begin(desk, place);
    if (tool === "leaf") return slideLeaf.begin(desk, place);
    if (tool !== "flaws") return null;
    if (desk.picked?.leaf === place.leaf && reshapeFlaw.canChange(desk, desk.picked)) {
      const held = reshapeFlaw.begin(desk, place, desk.picked, (_, ring) =>
        desk.changePicked((edits, flaw) => withChanged(edits, flaw, { outline_mm: ring })));
      if (held) return held;
    }
    const found = reshapeFlaw.flawAt(desk, place);
    if (found) { desk.pick(found); return { move() {}, end() {} }; }
    desk.pick(null);
    if (place.leaf === "b" && desk.work.stands_in) { desk.told.trouble("Leaf B was not photographed: draw it on leaf A, whose mirror stands in."); return null; }
    const face = faceOf(place.leaf, place.side.other);
    return drawFlaw.begin(desk, place, (_, ring) => desk.saidOf(face, (edits) => withAdded(edits, drawn(), ring)));
  };
  const drawn = () => root.querySelector('select[name="draw-kind"]').value;

  svg.addEventListener("pointerdown", (event) => {
    if (!event.isPrimary || event.button || tool === "look") return;
    const made = begin(event);
    if (!made) return;
    gesture = { id: event.pointerId, from: event, placing: desk.placing, ...(typeof made === "function" ? { move: made, end: () => desk.done() } : made) };
    svg.setPointerCapture(event.pointerId);
    svg.focus({ preventScroll: true });
    event.preventDefault();
  });
  svg.addEventListener("pointermove", (event) => { if (gesture?.id === event.pointerId) gesture.move(desk.picture.find(event)); });
  svg.addEventListener("pointerup", (event) => {
    if (gesture?.id !== event.pointerId) return;
    const { end } = gesture;
    gesture = null;
    end();
  });
  svg.addEventListener("pointercancel", (event) => {
    // the browser took the finger to scroll the page: nothing was meant
    if (gesture?.id !== event.pointerId) return;
    const { placing } = gesture;
    gesture = null;
    desk.show(placing);
    for (const line of svg.querySelectorAll(".drawing")) line.remove();
  });

  const actions = {
    undo: async () => { await hand.flush(); await desk.undo(); }, redo: async () => { await hand.flush(); await desk.redo(); }, best: () => desk.toBest(), close: () => setClosed(!desk.picture.closed),
    closer: (button) => {
      const view = root.querySelector(".desk-window"), closer = view.classList.toggle("closer");
      button.setAttribute("aria-pressed", closer);
      desk.picture.letter();
      if (closer) view.scrollTo((view.scrollWidth - view.clientWidth) / 2, (view.scrollHeight - view.clientHeight) / 2);
    },
    drop: () => desk.picked && desk.changePicked(without),
    "next-flaw": () => hand.next(), "add-oval": () => hand.add(drawn()), "next-corner": () => hand.corner(),
    larger: () => hand.size(1.1), smaller: () => hand.size(1 / 1.1),
    theirs: () => { desk.keeping.forget(); sessionStorage.removeItem(desk.steps.key); location.reload(); },
    mine: async () => {
      const now = await ask(`/api/pairs/${desk.work.pair}/work?outline=${encodeURIComponent(desk.work.outline)}`);
      const { outline } = desk.work, { placing } = desk;
      for (const face of FACES) keptOf(desk.work, face).version = keptOf(now, face).version;
      desk.keeping.forget();
      desk.keeping.version = now.version;
      desk.told.part("conflict").hidden = true;
      desk.keeping.soon(outline, placing);
    },
  };
  root.addEventListener("click", (event) => {
    const button = event.target.closest("[data-do], [data-step], [data-open]");
    if (!button || !root.contains(button)) return;
    if (button.dataset.do) {
      event.preventDefault();
      actions[button.dataset.do]?.(button);
      // pressed by a key: the arrows that come next are meant for the picture
      if (!event.detail && ["next-flaw", "add-oval", "next-corner"].includes(button.dataset.do)) svg.focus({ preventScroll: true });
    }
    else if (button.dataset.step) { event.preventDefault(); desk.move(small(desk, button.dataset.step)); }
  });
  root.addEventListener("change", (event) => {
    const { target } = event;
    if (target.name === "tool") {
      setTool(target.value);
      if (target.value === "flaws" && !wide()) root.querySelector(".flaw-tools").scrollIntoView({ block: "nearest" });
    }
    else if (target.name === "outline") desk.tryOutline(target.value);
    else if (["inward", "tilt", "along", "slide"].includes(target.name)) setFigure(target);
    else if (target.name === "flaw-kind" && desk.picked) {
      desk.changePicked((edits, flaw) => withChanged(edits, flaw, { kind: target.value }));
    }
  });
  const setFigure = (field) => {
    const placing = figure(desk, field.name, field.value);
    if (!placing) { desk.told.trouble(`${field.value} is no figure; write it like 1.5 or 1/16 in.`); return; }
    field.blur();
    desk.move(placing);
  };
  root.querySelector(".steps").addEventListener("submit", (event) => {
    event.preventDefault();
    if (event.target.contains(document.activeElement) && document.activeElement.name) document.activeElement.blur();
  });
  // a sheet or a picture is of exactly what lies here: what was moved last is kept first
  document.addEventListener("click", async (event) => {
    const link = event.target.closest(`a[href*="/pairs/${desk.work.pair}/"]`);
    if (!link || !(desk.keeping.waiting || desk.keeping.busy)) return;
    event.preventDefault();
    await desk.keeping.settled();
    if (!desk.keeping.waiting) location.assign(link.href);
  });
  document.addEventListener("keydown", (event) => onKey(event, desk, { tool: () => tool, actions, svg, hand }));
  document.addEventListener("submit", (event) => {
    const way = event.target.dataset?.way;
    if (!way) return;
    event.preventDefault();
    const { number } = event.target.dataset, found = desk.work.openings.find((one) => one.number === Number(number));
    if (!found || event.target.dataset.outline !== desk.work.outline) { event.target.submit(); return; }
    desk.move(found.placing);
    // where the picture is out of sight the page goes back to it
    if (svg.getBoundingClientRect().bottom < 80) root.scrollIntoView({ block: "start" });
  });

  root.classList.add("alive");
  const chosen = root.querySelector(".ways > .chosen");
  if (chosen) chosen.parentElement.scrollLeft = chosen.offsetLeft - chosen.parentElement.offsetLeft - 16;
  setTool("joint");
  root.dispatchEvent(new CustomEvent("alive"));
  return desk;
}

const root = document.querySelector(".desk");
// on a phone what stands open on a desk is folded to its one line
if (root && !wide()) for (const fold of root.querySelectorAll("[data-phone-closed]")) fold.open = false;
if (root) {
  const outline = root.dataset.outline;
  ask(`/api/pairs/${root.dataset.pair}/work?outline=${encodeURIComponent(outline)}`)
    .then((work) => start(root, work))
    .catch((error) => { root.querySelector('[data-told="trouble"]').hidden = false; root.querySelector('[data-told="trouble"]').textContent = error.message; });
}
