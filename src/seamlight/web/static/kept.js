// What was typed into a form with data-kept="NAME" survives a lost connection, a closed page, an empty battery:
// it lies in this browser until the server says that it has arrived.

import { send, Lost } from "./ask.js";

const PREFIX = "seamlight kept ";
const UNKEPT = new Set(["file", "hidden", "password", "submit", "button"]);

const keyOf = (form) => PREFIX + form.dataset.kept;
const fieldsOf = (form) => [...form.elements].filter((field) => field.name && !UNKEPT.has(field.type));

function typed(form) {
  const values = {};
  for (const field of fieldsOf(form)) {
    if (field.type === "checkbox" || field.type === "radio") {
      (values[field.name] ??= []).push(field.checked ? field.value : null);
    } else if (field.value !== (field.tagName === "SELECT" ? chosenFirst(field) : field.defaultValue)) {
      values[field.name] = field.value;
    }
  }
  return values;
}

function chosenFirst(select) {
  const first = [...select.options].find((option) => option.defaultSelected) ?? select.options[0];
  return first ? first.value : "";
}

function bringBack(form) {
  let kept;
  try { kept = JSON.parse(localStorage.getItem(keyOf(form)) ?? "null"); } catch { kept = null; }
  if (!kept) return false;
  const boxes = {};
  let changed = false;
  for (const field of fieldsOf(form)) {
    if (!(field.name in kept)) continue;
    if (field.type === "checkbox" || field.type === "radio") {
      const at = (boxes[field.name] = (boxes[field.name] ?? -1) + 1);
      const on = kept[field.name][at] === field.value;
      changed ||= on !== field.checked;
      field.checked = on;
    } else if (field.value !== kept[field.name]) {
      field.value = kept[field.name];
      changed = true;
    }
  }
  return changed;
}

function say(form, text) {
  let line = form.querySelector(".lost");
  if (!line) {
    line = document.createElement("p");
    line.className = "lost";
    line.setAttribute("role", "alert");
    form.prepend(line);
  }
  line.textContent = text;
  return line;
}

// What was typed before may be out of date: one press goes back to what the page says.
function sayBroughtBack(form) {
  const line = say(form, "This is what you typed before; it has not been sent yet. ");
  const drop = document.createElement("button");
  drop.type = "button";
  drop.className = "plain";
  drop.textContent = "Drop it";
  drop.addEventListener("click", () => { form.reset(); forget(form); line.remove(); });
  line.append(drop);
}

function forget(form) { localStorage.removeItem(keyOf(form)); }

function keep(form) {
  const values = typed(form);
  if (!Object.keys(values).length) { forget(form); return; }
  try {
    localStorage.setItem(keyOf(form), JSON.stringify(values));
  } catch {
    say(form, "This browser keeps nothing (it is full, or set so): what you type is lost with this page.");
  }
}

async function submit(event) {
  const form = event.target;
  event.preventDefault();
  const button = event.submitter;
  const data = new FormData(form, button);
  const address = button?.formAction && button.hasAttribute("formaction") ? button.formAction : form.action;
  if (button) button.disabled = true;
  try {
    const answer = await send(address, { method: "POST", form: encoded(form, data), headers: { "x-form": "kept" } });
    if (answer.headers.get("content-type")?.startsWith("application/json")) {
      const { go } = await answer.json();
      forget(form);
      show(go);
      return;
    }
    showAnswer(await answer.text(), answer);
  } catch (error) {
    if (!(error instanceof Lost)) throw error;
    say(form, "No connection to the shop. What you typed is kept on this device; press again when it is back.");
  } finally {
    if (button) button.disabled = false;
  }
}

// A place further down on this same page is no new page to a browser: it has to be asked for anew.
function show(address) {
  const there = new URL(address || location.href, location.href);
  const here = there.pathname === location.pathname && there.search === location.search;
  if (!here) { location.assign(there); return; }
  history.replaceState(history.state, "", there);
  location.reload();
}

function encoded(form, data) {
  return form.enctype === "multipart/form-data" ? data : new URLSearchParams([...data].filter(([, value]) => typeof value === "string"));
}

// A form shown again (or a page that says why not) takes the place of this one.
function showAnswer(html, answer) {
  const page = new DOMParser().parseFromString(html, "text/html");
  const main = page.querySelector("main");
  if (!main) { location.assign(answer.url); return; }
  document.querySelector("main").replaceWith(document.adoptNode(main));
  const token = page.querySelector('meta[name="csrf"]');
  if (token) document.querySelector('meta[name="csrf"]').content = token.content;
  document.title = page.title;
  keepForms();
  const wrong = main.querySelector("[aria-invalid], [role=alert]");
  (wrong ?? main).scrollIntoView({ block: "center" });
  (main.querySelector("[aria-invalid]") ?? main).focus({ preventScroll: true });
}

export function keepForm(form) {
  if (form.keptAlready) return;
  form.keptAlready = true;
  if (bringBack(form)) sayBroughtBack(form);
  form.addEventListener("input", () => keep(form));
  form.addEventListener("change", () => keep(form));
  form.addEventListener("reset", () => forget(form));
  form.addEventListener("submit", submit);
}

export function keepForms() {
  for (const form of document.querySelectorAll("form[data-kept]")) keepForm(form);
}
