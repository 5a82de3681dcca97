// The light of a joint: the picture stays where it was chosen when it cannot be read, and the joint can be marked in it.

import { send, Lost } from "./ask.js";
import { markJoint } from "./seam_marks.js";

let form = null;

async function submit(event) {
  event.preventDefault();
  const button = form.querySelector("button[type=submit]");
  const busy = form.querySelector("[data-seam-busy]");
  say("");
  button.disabled = true;
  busy.textContent = "Reading the light…";
  try {
    const answer = await send(form.action, { method: "POST", form: new FormData(form), headers: { "x-form": "seam" } });
    if (answer.headers.get("content-type")?.startsWith("application/json")) {
      const told = await answer.json();
      if (answer.ok) { go(told.go); return; }
      say([told.what, told.do].filter(Boolean).join("; "));
      return;
    }
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (answer.ok) { show(page); return; }
    refuse(page);
  } catch (error) {
    if (!(error instanceof Lost)) throw error;
    say("No connection to the shop. The picture is still chosen here; press again when it is back.");
  } finally {
    button.disabled = false;
    busy.textContent = "";
  }
}

// The same address again is a new reading: it has to be asked for anew.
function go(address) {
  if (new URL(address, location.href).pathname === location.pathname) location.reload();
  else location.assign(address);
}

// A reading without a pair is shown, not kept: the answer is the page.
function show(page) {
  document.querySelector("main").replaceWith(document.adoptNode(page.querySelector("main")));
  document.querySelector("main").focus();
  scrollTo(0, 0);
  start();
}

function refuse(page) {
  const field = page.querySelector("[aria-invalid]");
  const line = page.querySelector("main .wrong, main [role=alert]:not([hidden])");
  say(line ? line.textContent.replace("✕", "").trim() : "The server could not read it.");
  const ours = field && form.elements.namedItem(field.name);
  if (ours) { ours.focus(); return; }
  form.querySelector("[data-seam-marks]").open = true;
}

function say(text) {
  const line = form.querySelector("[data-seam-wrong]");
  line.hidden = !text;
  line.textContent = text;
  if (text) line.scrollIntoView({ block: "center" });
}

function start() {
  form = document.querySelector("form[data-seam]");
  if (!form) return;
  form.addEventListener("submit", submit);
  markJoint(form);
}

start();
