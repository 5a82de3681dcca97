// The joint marked in each chosen picture (a film: in its first frame): its two ends and, if wanted, its middle;
// by finger, mouse or arrow keys. The fields hold the figures, one picture after another, "-" for one without.

const STEP = 0.01; // of the picture's width for an arrow key; with Shift one pixel
const NAMES = ["neck", "tail", "middle"];
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export function markJoint(form) {
  const fold = form.querySelector("[data-seam-marks]");
  const says = fold.querySelector("[data-marks-says]");
  const shown = fold.querySelector("[data-marks-pictures]");
  const fields = { ends: form.elements.namedItem("ends"), middle: form.elements.namedItem("middle") };
  const files = form.elements.namedItem("photos");
  let marked = [];

  function write() {
    fields.ends.value = listed(marked.map((one) => one.ends()), "; ");
    fields.middle.value = listed(marked.map((one) => one.middle()), "; ");
  }

  function read() {
    const ends = parted(fields.ends.value, 4);
    const middles = parted(fields.middle.value, 2);
    if (ends && middles) marked.forEach((one, number) => one.take(ends[number], middles[number]));
  }

  function choose() {
    marked.forEach((one) => one.gone());
    fields.ends.value = "";
    fields.middle.value = "";
    shown.replaceChildren();
    const chosen = [...files.files];
    marked = chosen.map((file, number) => {
      const block = fold.querySelector("template").content.cloneNode(true).firstElementChild;
      shown.append(block);
      const title = chosen.length > 1 ? `Picture ${number + 1}: ${file.name}` : isFilm(file) ? "The film's first frame" : "The picture";
      return new Marked(block, file, title, write);
    });
    if (chosen.length) says.textContent = "Touch the joint's neck end, then its tail end. Marks can be moved by finger or by arrow keys.";
  }

  for (const field of Object.values(fields)) field.addEventListener("change", read);
  files.addEventListener("change", choose);
}

function listed(texts, between) {
  while (texts.length && !texts[texts.length - 1]) texts.pop();
  return texts.map((text) => text || "-").join(between);
}

// Figures for each picture, or null where the field holds anything else.
function parted(text, count) {
  const parts = text.split(/[\s,;]+/).filter(Boolean);
  const found = [];
  while (parts.length) {
    if (parts[0] === "-") { parts.shift(); found.push(null); continue; }
    const some = parts.splice(0, count).map(Number);
    if (some.length !== count || some.some(Number.isNaN)) return null;
    found.push(some);
  }
  return found;
}

function isFilm(file) { return file.type.startsWith("video/") || /\.(mp4|mov|m4v)$/i.test(file.name); }

class Marked {
  constructor(block, file, title, changed) {
    this.block = block;
    this.changed = changed;
    this.picture = block.querySelector("img");
    this.drawing = block.querySelector("svg");
    this.says = block.querySelector("[data-marks-trouble]");
    this.marks = NAMES.map((name) => block.querySelector(`[data-mark="${name}"]`));
    this.places = null; // [x, y] of each in pixels of the picture
    this.set = [false, false, false];
    this.middleWanted = false;
    this.held = null;
    block.querySelector("[data-marks-title]").textContent = title;
    this.picture.alt = title;
    this.listen();
    this.open(file);
  }

  open(file) {
    this.address = URL.createObjectURL(file);
    this.picture.addEventListener("load", () => this.loaded());
    this.picture.addEventListener("error", () => this.trouble());
    if (isFilm(file)) this.firstFrame();
    else this.picture.src = this.address;
  }

  gone() { URL.revokeObjectURL(this.address); }

  firstFrame() {
    const film = document.createElement("video");
    film.muted = true;
    film.playsInline = true;
    film.preload = "auto";
    film.addEventListener("error", () => this.trouble());
    film.addEventListener("loadeddata", () => {
      const canvas = document.createElement("canvas");
      [canvas.width, canvas.height] = [film.videoWidth, film.videoHeight];
      canvas.getContext("2d").drawImage(film, 0, 0);
      canvas.toBlob((blob) => {
        if (!blob) { this.trouble(); return; }
        URL.revokeObjectURL(this.address);
        this.address = URL.createObjectURL(blob);
        this.picture.src = this.address;
      }, "image/png");
    }, { once: true });
    film.src = this.address;
    film.load();
  }

  trouble() {
    this.says.hidden = false;
    this.says.textContent = "This browser cannot show that file: type the places below, or give a JPEG.";
  }

  loaded() {
    const [wide, high] = this.size();
    this.places = [[wide * 0.1, high / 2], [wide * 0.9, high / 2], [wide / 2, high / 2]];
    this.block.querySelector("[data-marks-box]").hidden = false;
    for (const button of this.block.querySelectorAll("button")) button.hidden = false;
    this.draw();
  }

  size() { return [this.picture.naturalWidth, this.picture.naturalHeight]; }
  ends() { return this.set[0] || this.set[1] ? `${text(this.places[0])} ${text(this.places[1])}` : ""; }
  middle() { return this.set[2] ? text(this.places[2]) : ""; }

  take(ends, middle) {
    if (!this.places) return;
    if (ends) [this.places[0], this.places[1]] = [ends.slice(0, 2), ends.slice(2)];
    if (middle) this.places[2] = middle;
    this.set = [Boolean(ends), Boolean(ends), Boolean(middle)];
    this.middleWanted = Boolean(middle);
    this.draw();
  }

  draw() {
    const [wide, high] = this.size();
    const r = Math.max(wide, high) * 0.022;
    this.drawing.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    this.marks.forEach((mark, number) => {
      const [x, y] = this.places[number];
      const name = NAMES[number];
      mark.classList.toggle("unset", !this.set[number]);
      if (number === 2) mark.toggleAttribute("hidden", !this.middleWanted);
      for (const [circle, width] of [[mark.querySelector(".end-edge"), 0.4], [mark.querySelector(".end-mark"), 0.2]]) {
        circle.setAttribute("cx", x);
        circle.setAttribute("cy", y);
        circle.setAttribute("r", r);
        circle.setAttribute("stroke-width", r * width);
      }
      const words = mark.querySelector("text");
      words.setAttribute("x", Math.min(Math.max(x, 2 * r), wide - 2 * r));
      words.setAttribute("y", y > 4 * r ? y - 1.5 * r : y + 3 * r);
      words.setAttribute("font-size", r * 1.5);
      words.setAttribute("stroke-width", r * 0.25);
      mark.setAttribute("aria-label", `${name === "middle" ? name : `${name} end`} at ${Math.round(x)}, ${Math.round(y)}; arrow keys move it`);
    });
    const button = this.block.querySelector("[data-marks-middle]");
    button.textContent = this.middleWanted ? "Leave the middle out" : "Mark its middle too";
  }

  put(number, x, y) {
    const [wide, high] = this.size();
    this.places[number] = [Math.min(Math.max(x, 0), wide - 1), Math.min(Math.max(y, 0), high - 1)];
    this.set[number] = true;
    this.draw();
    this.changed();
  }

  // A finger on a mark holds it; elsewhere it sets the next one, or moves the nearest.
  touched(place) {
    const live = [0, 1, ...(this.middleWanted ? [2] : [])];
    const away = (number) => Math.hypot(this.places[number][0] - place[0], this.places[number][1] - place[1]);
    const nearest = live.reduce((one, other) => (away(other) < away(one) ? other : one));
    if (this.set[nearest] && away(nearest) < Math.max(...this.size()) * 0.05) return nearest;
    const waiting = this.middleFirst ? 2 : live.find((number) => !this.set[number]);
    this.middleFirst = false;
    return waiting ?? nearest;
  }

  listen() {
    const at = (event) => {
      const frame = this.picture.getBoundingClientRect();
      const [wide, high] = this.size();
      return [((event.clientX - frame.left) / frame.width) * wide, ((event.clientY - frame.top) / frame.height) * high];
    };
    this.drawing.addEventListener("pointerdown", (event) => {
      const place = at(event);
      this.held = this.touched(place);
      this.drawing.setPointerCapture(event.pointerId);
      this.put(this.held, ...place);
      event.preventDefault();
    });
    this.drawing.addEventListener("pointermove", (event) => { if (this.held !== null) this.put(this.held, ...at(event)); });
    for (const end of ["pointerup", "pointercancel"]) this.drawing.addEventListener(end, () => { this.held = null; });
    this.marks.forEach((mark, number) => mark.addEventListener("keydown", (event) => {
      const way = WAYS[event.key];
      if (!way) return;
      const step = event.shiftKey ? 1 : Math.max(1, Math.round(this.size()[0] * STEP));
      this.put(number, this.places[number][0] + way[0] * step, this.places[number][1] + way[1] * step);
      event.preventDefault();
    }));
    this.block.querySelector("[data-marks-middle]").addEventListener("click", () => {
      this.middleWanted = !this.middleWanted;
      this.middleFirst = this.middleWanted; // the next touch is the middle's
      this.set[2] = false;
      if (this.middleWanted) this.places[2] = [0, 1].map((axis) => (this.places[0][axis] + this.places[1][axis]) / 2);
      this.draw();
      this.changed();
    });
    this.block.querySelector("[data-marks-none]").addEventListener("click", () => {
      this.set = [false, false, false];
      this.middleWanted = false;
      this.draw();
      this.changed();
    });
  }
}

function text([x, y]) { return `${Math.round(x)},${Math.round(y)}`; }
