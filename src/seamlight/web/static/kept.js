// What was typed into a form with data-kept="NAME" survives a lost connection, a closed page, an empty battery:
// it lies in this browser until the server says that it has arrived.

import { send, Lost } from "./ask.js";

const PREFIX = "seamlight kept ";
const UNKEPT = new Set(["file", "hidden", "password", "submit", "button"]);
const VERSION = /(^|_)version(_|$)/;
const MOST_SHOWN = 300;

const keyOf = (form) => PREFIX + form.dataset.kept;
const fieldsOf = (form) => [...form.elements].filter((field) => field.name && !UNKEPT.has(field.type));
const hiddenOf = (form, wanted) => [...form.elements].filter((field) => field.type === "hidden" && wanted(field.name));
const versionsOf = (form) => hiddenOf(form, (name) => VERSION.test(name));
const numberOf = (form) => hiddenOf(form, (name) => name === "sent")[0];
const isBox = (field) => field.type === "checkbox" || field.type === "radio";
const onPage = (field) => (field.tagName === "SELECT" ? chosenFirst(field) : field.defaultValue);

function typed(form) {
  const values = {};
  for (const field of fieldsOf(form)) {
    if (isBox(field)) {
      (values[field.name] ??= []).push(field.checked ? field.value : null);
    } else if (field.value !== typedOver(form, field)) {
      values[field.name] = field.value;
    }
  }
  return values;
}

// What stood there when it was typed: an older page may have said something else, a refused form says it already.
const typedOver = (form, field) => form.typedOver?.[field.name] ?? onPage(field);

function chosenFirst(select) {
  const first = [...select.options].find((option) => option.defaultSelected) ?? select.options[0];
  return first ? first.value : "";
}

// A draft: what was typed, over what (`was`), what the form was made from (`versions`), and the form's own number.
function draftOf(form) {
  try {
    const draft = JSON.parse(localStorage.getItem(keyOf(form)) ?? "null");
    return draft && typeof draft.typed === "object" ? draft : null;
  } catch { return null; }
}

function bringBack(form) {
  const draft = draftOf(form);
  if (!draft) return null;
  const boxes = {};
  const others = [];
  let changed = false;
  for (const field of fieldsOf(form)) {
    if (!(field.name in draft.typed)) continue;
    if (isBox(field)) {
      const at = (boxes[field.name] = (boxes[field.name] ?? -1) + 1);
      const on = draft.typed[field.name][at] === field.value;
      changed ||= on !== field.checked;
      field.checked = on;
    } else if (field.value !== draft.typed[field.name]) {
      if (draft.was[field.name] !== onPage(field)) others.push(field);
      field.value = draft.typed[field.name];
      changed = true;
    }
  }
  form.typedOver = draft.was;
  if (draft.sent && numberOf(form)) numberOf(form).value = draft.sent;
  const older = sendTheirVersions(form, draft);
  return changed || older ? { older, others } : null;
}

// What was typed over an older version is sent with that version: the server then shows both.
function sendTheirVersions(form, draft) {
  let older = false;
  for (const field of versionsOf(form)) {
    const from = draft.versions?.[field.name];
    if (from === undefined || from === field.value) continue;
    field.value = from;
    older = true;
  }
  return older;
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
function sayBroughtBack(form, { older, others }, asShown) {
  for (let fold = form.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  const line = say(form, older
    ? "This is what you typed before; it has not been sent yet. Meanwhile it was changed elsewhere: sending it shows both, and overwrites nothing. "
    : "This is what you typed before; it has not been sent yet. ");
  const drop = document.createElement("button");
  drop.type = "button";
  drop.className = "plain";
  drop.textContent = "Drop it";
  drop.addEventListener("click", () => {
    form.reset();
    asShown();
    forget(form);
    for (const one of form.querySelectorAll(".lost, .meanwhile")) one.remove();
  });
  line.append(drop);
  for (const field of others) sayMeanwhile(field);
}

function sayMeanwhile(field) {
  const line = document.createElement("p");
  line.className = "says meanwhile";
  const now = field.tagName === "SELECT" ? [...field.options].find((one) => one.value === onPage(field))?.text : onPage(field);
  line.textContent = `It now says elsewhere: ${now ? now.slice(0, MOST_SHOWN) : "nothing"}`;
  (field.closest(".field") ?? field.parentElement).append(line);
}

function forget(form) { localStorage.removeItem(keyOf(form)); }

function keep(form) {
  const values = typed(form);
  if (!Object.keys(values).length) { forget(form); return; }
  const was = {};
  for (const field of fieldsOf(form)) {
    if (field.name in values && !isBox(field)) was[field.name] = typedOver(form, field);
  }
  const versions = Object.fromEntries(versionsOf(form).map((field) => [field.name, field.value]));
  const draft = { typed: values, was, versions, sent: numberOf(form)?.value };
  try {
    localStorage.setItem(keyOf(form), JSON.stringify(draft));
  } catch {
    say(form, "This browser keeps nothing (it is full, or set so): what you type is lost with this page.");
  }
}

// Both were shown: from now on what was typed is a change of what stands there now.
function bothWereShown(form) {
  const draft = draftOf(form);
  if (draft) localStorage.setItem(keyOf(form), JSON.stringify({ ...draft, versions: {} }));
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
    if (answer.status === 409) bothWereShown(form);
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
  const shown = [...versionsOf(form), numberOf(form)].filter(Boolean).map((field) => [field, field.value]);
  const asShown = () => { for (const [field, value] of shown) field.value = value; };
  const found = bringBack(form);
  if (found) sayBroughtBack(form, found, asShown);
  form.addEventListener("input", () => keep(form));
  form.addEventListener("change", () => keep(form));
  form.addEventListener("reset", () => forget(form));
  form.addEventListener("submit", submit);
}

export function keepForms() {
  for (const form of document.querySelectorAll("form[data-kept]")) keepForm(form);
}
