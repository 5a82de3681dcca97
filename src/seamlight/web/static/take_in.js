// Photographs are sent one by one; one that is lost on the way is sent again when the connection is back.
// Each sending has a name of its own (file, size, date, this device), so that the same picture sent twice is one.

import { ask, Lost, Refused } from "./ask.js";

const form = document.querySelector("#bring");
const coming = document.querySelector("#coming");
const chooser = form.querySelector("input[type=file]");
const RETRY_MS = 3000;
const queue = [];
let sending = false;
let waiting = null;

function device() {
  let name = localStorage.getItem("seamlight device");
  if (!name) {
    name = Array.from(crypto.getRandomValues(new Uint8Array(9)), (byte) => byte.toString(36)).join("");
    localStorage.setItem("seamlight device", name);
  }
  return name;
}

function keyOf(file) {
  return `${device()} ${file.size} ${file.lastModified} ${file.name}`.slice(0, 120);
}

function line(file) {
  const row = document.createElement("li");
  const name = document.createElement("span");
  name.textContent = file.name;
  const state = document.createElement("span");
  state.className = "quiet";
  state.textContent = "waits";
  row.append(name, state);
  coming.append(row);
  return { row, state };
}

function trouble(item, text) {
  item.row.querySelector(".trouble")?.remove();
  const said = document.createElement("span");
  said.className = "trouble";
  said.textContent = text;
  item.row.append(said);
}

function add(files) {
  for (const file of files) queue.push({ file, ...line(file), done: false });
  run();
}

async function run() {
  if (sending) return;
  sending = true;
  clearTimeout(waiting);
  for (const item of queue.filter((one) => !one.done)) {
    const body = new FormData();
    body.set("photo", item.file, item.file.name);
    body.set("key", keyOf(item.file));
    body.set("scale", form.elements.scale.value);
    body.set("thickness", form.elements.thickness.value);
    item.state.textContent = "is being sent";
    try {
      const answer = await ask("/api/arrivals", { method: "POST", form: body });
      item.done = true;
      item.row.querySelector(".trouble")?.remove();
      item.state.textContent = answer.new ? "taken in"
        : answer.changed ? "was here already; it is looked at again with this scale" : "was here already";
    } catch (error) {
      if (error instanceof Refused) {
        item.done = true;
        item.state.textContent = "not taken";
        trouble(item, error.message);
      } else if (error instanceof Lost) {
        item.state.textContent = "waits for the connection";
        trouble(item, "No connection to the shop. It is sent again by itself; leave this page open.");
        waiting = setTimeout(run, RETRY_MS);
        break;
      } else throw error;
    }
  }
  sending = false;
  const left = queue.filter((one) => !one.done).length;
  document.title = left ? `${left} to send` : document.title;
  if (!left) watch();
}

addEventListener("online", run);
addEventListener("beforeunload", (event) => { if (queue.some((one) => !one.done)) event.preventDefault(); });

form.addEventListener("submit", (event) => {
  event.preventDefault();
  add(chooser.files);
  chooser.value = "";
});
chooser.addEventListener("change", () => { chooser.removeAttribute("required"); add(chooser.files); chooser.value = ""; });
for (const kind of ["dragenter", "dragover"]) {
  form.addEventListener(kind, (event) => { event.preventDefault(); form.classList.add("over"); });
}
for (const kind of ["dragleave", "drop"]) form.addEventListener(kind, () => form.classList.remove("over"));
form.addEventListener("drop", (event) => { event.preventDefault(); add(event.dataTransfer.files); });

// chosen before this script was there, or brought back by the browser
if (chooser.files.length) { add(chooser.files); chooser.value = ""; }

// While work is under way the page asks how far it is; it shows itself anew once nothing is left,
// but not while someone is typing or choosing.
const QUIET_MS = 3000;
let watching = false, touched = 0;
for (const kind of ["input", "pointerdown", "keydown"]) addEventListener(kind, () => { touched = Date.now(); });
async function watch() {
  if (watching) return;
  watching = true;
  let seen = Number(document.querySelector("#under-way")?.dataset.live ?? 0) || queue.length;
  while (seen) {
    await new Promise((resolve) => setTimeout(resolve, 1500));
    try {
      const { waiting: left, running, says } = await ask("/api/work");
      const words = document.querySelector("#under-way span:last-child");
      if (words) words.textContent = says;
      seen = left + running;
    } catch (error) {
      if (!(error instanceof Lost) && !(error instanceof Refused)) throw error;
    }
  }
  while (Date.now() - touched < QUIET_MS) await new Promise((resolve) => setTimeout(resolve, 500));
  watching = false;
  if (!queue.some((one) => !one.done || one.row.querySelector(".trouble"))) location.reload();
}
if (document.querySelector("#under-way")) watch();
