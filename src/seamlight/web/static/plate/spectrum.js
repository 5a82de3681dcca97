// A spectrum to look into: wheel, two fingers, buttons or keys zoom; a finger or the pointer reads it off.
// Drawn in the same box as the server's picture: 1000 wide, 340 high, logarithmic in frequency.

const SVG = "http://www.w3.org/2000/svg";
const WIDE = 1000, HIGH = 340, FLOOR_DB = -60, TOP_DB = 6;
const TICKS = [10, 15, 20, 30, 40, 50, 60, 70, 80, 90, 100, 120, 150, 200, 250, 300, 400, 500, 700, 1000, 1500, 2000, 3000];
const ROWS = { twist: 0, along: 1, across: 2 };
const NARROWEST = Math.log(1.12);

export function spectra() {
  for (const figure of document.querySelectorAll("[data-spectrum]")) setUp(figure);
}

function make(name, attributes, text) {
  const one = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) one.setAttribute(key, value);
  if (text !== undefined) one.textContent = text;
  return one;
}

const yOf = (db) => HIGH * (TOP_DB - Math.max(FLOOR_DB, Math.min(TOP_DB, db))) / (TOP_DB - FLOOR_DB);

function setUp(figure) {
  const svg = figure.querySelector("svg");
  const { low, high, curve, peaks } = JSON.parse(svg.dataset.chart);
  const part = (name) => svg.querySelector(`[data-${name}]`);
  const says = figure.querySelector("[data-says]");
  const ends = [Math.log(curve[0][0]), Math.log(curve.at(-1)[0])];
  let view = [Math.log(low), Math.log(high)];
  const whole = [...view];
  let reading = null;

  const xOf = (hz) => WIDE * (Math.log(hz) - view[0]) / (view[1] - view[0]);
  const hzAt = (x) => Math.exp(view[0] + x / WIDE * (view[1] - view[0]));

  function draw() {
    const inside = curve.filter(([hz]) => Math.log(hz) >= view[0] && Math.log(hz) <= view[1]);
    part("line").setAttribute("d", inside.length ? "M" + inside.map(([hz, db]) => `${xOf(hz).toFixed(1)} ${yOf(db).toFixed(1)}`).join("L") : "");
    let last = -1e9;
    part("axis").replaceChildren(...TICKS.flatMap((hz) => {
      const x = xOf(hz);
      if (x < 20 || x > WIDE - 20 || x - last < 120) return [];
      last = x;
      return [make("path", { class: "grid", d: `M${x.toFixed(1)} 0V${HIGH}` }), make("text", { class: "tick", x, y: 385, "text-anchor": "middle" }, hz)];
    }));
    part("marks").replaceChildren(...peaks.flatMap(([hz, db, mode, kind]) => {
      const x = xOf(hz), y = yOf(db);
      if (x < 0 || x > WIDE) return [];
      if (!(mode in ROWS)) return [make("circle", { class: `other ${kind}`, cx: x, cy: y, r: 6 })];
      const row = -114 + ROWS[mode] * 46, right = x < 780;
      return [make("path", { class: "lead", d: `M${x.toFixed(1)} ${y.toFixed(1)}V${row + 4}` }),
        make("text", { class: "name", x: right ? x + 6 : x - 8, y: row, "text-anchor": right ? "start" : "end" }, `${mode} ${hz.toFixed(1)}`)];
    }));
    point();
  }

  function point() {
    if (reading === null) { part("pointer").replaceChildren(); return; }
    const x = xOf(reading);
    part("pointer").replaceChildren(make("path", { class: "pointer", d: `M${x.toFixed(1)} 0V${HIGH}` }));
    const near = peaks.filter(([hz]) => Math.abs(xOf(hz) - x) < 16).sort((a, b) => Math.abs(a[0] - reading) - Math.abs(b[0] - reading))[0];
    const level = curve.reduce((best, one) => Math.abs(one[0] - reading) < Math.abs(best[0] - reading) ? one : best)[1];
    says.textContent = near ? `${near[0].toFixed(2)} Hz, ${near[2] === "other" ? named(near[3]) : near[2]}` : `${reading.toFixed(1)} Hz, ${level.toFixed(0)} dB`;
  }

  const named = (kind) => ({ hum: "mains hum", room: "the room" }[kind] ?? "another peak");

  function look(from, to) {
    const wide = Math.min(Math.max(to - from, NARROWEST), ends[1] - ends[0]);
    const middle = (from + to) / 2;
    const first = Math.min(Math.max(middle - wide / 2, ends[0]), ends[1] - wide);
    view = [first, first + wide];
    draw();
  }

  function zoom(factor, x = WIDE / 2) {
    const at = view[0] + x / WIDE * (view[1] - view[0]);
    look(at - (at - view[0]) * factor, at + (view[1] - at) * factor);
  }

  const shift = (part) => { const by = part * (view[1] - view[0]); look(view[0] + by, view[1] + by); };
  const steps = { in: () => zoom(0.6), out: () => zoom(1 / 0.6), left: () => shift(-0.25), right: () => shift(0.25), all: () => look(...whole) };

  const tools = figure.querySelector(".chart-tools");
  tools.hidden = false;
  tools.addEventListener("click", (event) => steps[event.target.dataset.zoom]?.());

  const place = (event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return at.x;
  };
  const fingers = new Map();
  svg.addEventListener("pointerdown", (event) => { svg.setPointerCapture(event.pointerId); fingers.set(event.pointerId, place(event)); read(event); });
  svg.addEventListener("pointermove", (event) => {
    if (fingers.size === 2 && fingers.has(event.pointerId)) { pinch(event); return; }
    read(event);
  });
  for (const end of ["pointerup", "pointercancel"]) svg.addEventListener(end, (event) => fingers.delete(event.pointerId));
  svg.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(event.deltaY < 0 ? 0.85 : 1 / 0.85, place(event));
  }, { passive: false });

  function read(event) {
    const x = place(event);
    if (x < 0 || x > WIDE) return;
    const near = peaks.find(([hz]) => Math.abs(xOf(hz) - x) < 16);
    reading = near ? near[0] : hzAt(x);
    point();
  }

  // The pitches under both fingers stay under them.
  function pinch(event) {
    const [other] = [...fingers].find(([id]) => id !== event.pointerId);
    const still = fingers.get(other), before = fingers.get(event.pointerId), now = place(event);
    const gap = Math.abs(now - still);
    if (gap > 40) zoom(Math.abs(before - still) / gap, still);
    fingers.set(event.pointerId, now);
  }

  svg.tabIndex = 0;
  svg.setAttribute("role", "img");
  svg.addEventListener("keydown", (event) => {
    const step = { "+": "in", "=": "in", "-": "out", ArrowLeft: "left", ArrowRight: "right", Home: "all" }[event.key];
    if (!step) return;
    event.preventDefault();
    steps[step]();
  });
}
