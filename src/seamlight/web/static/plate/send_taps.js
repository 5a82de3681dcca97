// A form with recordings is sent without leaving the page, so that a slip in a size costs no recording:
// what is wrong is shown at its field, and everything that was typed, chosen or recorded stays.

import { send, Lost } from "../ask.js";

export function sendTaps(shown) {
  for (const form of document.querySelectorAll("form[data-taps]")) {
    form.addEventListener("submit", (event) => submit(event, shown));
  }
}

async function submit(event, shown) {
  event.preventDefault();
  const form = event.target, button = event.submitter;
  const words = button?.textContent;
  if (button) { button.disabled = true; button.textContent = "Reading the taps"; }
  try {
    const answer = await send(form.action, { method: "POST", form: new FormData(form), headers: { "x-form": "taps" } });
    if (answer.headers.get("content-type")?.startsWith("application/json")) {
      const said = await answer.json();
      if (said.go) location.assign(said.go); else say(form, said.what ?? "The server could not take it.");
      return;
    }
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (answer.ok) show(page, shown); else complain(form, page);
  } catch (error) {
    if (!(error instanceof Lost)) throw error;
    say(form, "No connection to the shop. What you recorded and typed is still here; press again when it is back.");
  } finally {
    if (button) { button.disabled = false; button.textContent = words; }
  }
}

// A reading that is not kept comes as a page: it takes the place of this one.
function show(page, shown) {
  const main = page.querySelector("main");
  const token = page.querySelector('meta[name="csrf"]');
  if (token) document.querySelector('meta[name="csrf"]').content = token.content;
  document.querySelector("main").replaceWith(document.adoptNode(main));
  shown();
  main.scrollIntoView();
  main.focus({ preventScroll: true });
}

// Fields as the server shows them again, except those that hold files, which no page can fill in.
function complain(form, page) {
  for (const field of form.querySelectorAll(".field")) {
    const own = field.querySelector("input, select, textarea");
    const theirs = own && page.getElementById(own.id)?.closest(".field");
    if (!theirs) continue;
    own.toggleAttribute("aria-invalid", false);
    field.classList.toggle("field-wrong", theirs.classList.contains("field-wrong"));
    if (theirs.querySelector("[aria-invalid]")) own.setAttribute("aria-invalid", "true");
    const now = field.querySelector(".says"), then = theirs.querySelector(".says");
    if (then && now) now.replaceChildren(...then.childNodes);
    else if (then) { own.setAttribute("aria-describedby", then.id); field.append(then); }
    else now?.remove();
  }
  const alert = page.querySelector("main [role=alert]");
  const wrong = form.querySelector("[aria-invalid=true]");
  const plain = wrong ? "" : page.querySelector("main p")?.textContent ?? "The server could not take it.";
  say(form, alert ? alert.textContent.replace("✕", "").trim() : plain.trim());
  const fold = wrong?.closest("details");
  if (fold) fold.open = true;
  (wrong ?? form).scrollIntoView({ block: "center" });
  wrong?.focus({ preventScroll: true });
}

function say(form, text) {
  let line = form.querySelector(".lost");
  if (!text) { line?.remove(); return; }
  if (!line) {
    line = document.createElement("p");
    line.className = "lost";
    line.setAttribute("role", "alert");
    form.prepend(line);
  }
  line.textContent = text;
  line.scrollIntoView({ block: "center" });
}
