// The joint's two ends marked in the chosen picture: by finger, mouse or arrow keys; the field holds the figures.

const STEP = 0.01; // of the picture's width for an arrow key; with Shift one pixel

export function markEnds(form) {
  const box = form.querySelector("[data-ends-picture]");
  const says = form.querySelector("[data-ends-says]");
  const field = form.elements.namedItem("ends");
  const files = form.elements.namedItem("photos");
  const picture = box.querySelector("img");
  const drawing = box.querySelector("svg");
  const marks = [...drawing.querySelectorAll("[data-end]")];
  let places = null; // [[x, y], [x, y]] in pixels of the picture, neck end first
  let placed = 0; // how many a finger has set
  let held = null;

  function size() { return [picture.naturalWidth, picture.naturalHeight]; }

  function draw() {
    const [wide, high] = size();
    const r = wide * 0.022;
    drawing.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    marks.forEach((mark, number) => {
      const [x, y] = places[number];
      for (const [circle, width] of [[mark.querySelector(".end-edge"), 0.4], [mark.querySelector(".end-mark"), 0.2]]) {
        circle.setAttribute("cx", x);
        circle.setAttribute("cy", y);
        circle.setAttribute("r", r);
        circle.setAttribute("stroke-width", r * width);
      }
      const text = mark.querySelector("text");
      text.setAttribute("x", Math.min(Math.max(x, 2 * r), wide - 2 * r));
      text.setAttribute("y", y > 4 * r ? y - 1.5 * r : y + 3 * r);
      text.setAttribute("font-size", r * 1.5);
      text.setAttribute("stroke-width", r * 0.25);
      mark.setAttribute("aria-label", `${mark.dataset.end} end at ${Math.round(x)}, ${Math.round(y)}; arrow keys move it`);
    });
  }

  function write() {
    field.value = places.map(([x, y]) => `${Math.round(x)},${Math.round(y)}`).join(" ");
    draw();
  }

  function put(number, x, y) {
    const [wide, high] = size();
    places[number] = [Math.min(Math.max(x, 0), wide - 1), Math.min(Math.max(y, 0), high - 1)];
    write();
  }

  function at(event) {
    const frame = picture.getBoundingClientRect();
    const [wide, high] = size();
    return [((event.clientX - frame.left) / frame.width) * wide, ((event.clientY - frame.top) / frame.height) * high];
  }

  function nearest([x, y]) {
    const away = places.map(([a, b]) => Math.hypot(a - x, b - y));
    return away[0] <= away[1] ? 0 : 1;
  }

  drawing.addEventListener("pointerdown", (event) => {
    const place = at(event);
    held = placed < 2 ? placed : nearest(place);
    placed = Math.min(placed + 1, 2);
    drawing.setPointerCapture(event.pointerId);
    put(held, ...place);
    event.preventDefault();
  });
  drawing.addEventListener("pointermove", (event) => { if (held !== null) put(held, ...at(event)); });
  for (const end of ["pointerup", "pointercancel"]) drawing.addEventListener(end, () => { held = null; });

  marks.forEach((mark, number) => mark.addEventListener("keydown", (event) => {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (!way) return;
    const step = event.shiftKey ? 1 : Math.max(1, Math.round(size()[0] * STEP));
    placed = 2;
    put(number, places[number][0] + way[0] * step, places[number][1] + way[1] * step);
    event.preventDefault();
  }));

  field.addEventListener("change", () => {
    const found = field.value.split(/[\s,;]+/).filter(Boolean).map(Number);
    if (!places || found.length !== 4 || found.some(Number.isNaN)) return;
    places = [[found[0], found[1]], [found[2], found[3]]];
    placed = 2;
    draw();
  });

  picture.addEventListener("load", () => {
    const [wide, high] = size();
    places = [[wide * 0.1, high / 2], [wide * 0.9, high / 2]];
    placed = 0;
    box.hidden = false;
    says.textContent = "Touch the joint's neck end, then its tail end. The marks can be moved by finger or by arrow keys.";
    draw();
  });
  picture.addEventListener("error", () => {
    box.hidden = true;
    says.textContent = "This browser cannot show that file: type both places, or give a JPEG.";
  });
  files.addEventListener("change", () => {
    if (picture.src) URL.revokeObjectURL(picture.src);
    field.value = "";
    if (files.files.length) picture.src = URL.createObjectURL(files.files[0]);
    else box.hidden = true;
  });
}
