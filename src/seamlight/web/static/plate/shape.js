// A mode of the outline's plate that moves while it is pressed, by finger, pointer, space or Enter, and rests when let go.

const PERIOD_MS = 1400, LEAN = 0.62, HEIGHT_PART = 0.11;

const list = document.querySelector("[data-shapes]");
if (list) {
  for (const hint of document.querySelectorAll("[data-press-hint]")) hint.hidden = false;
  for (const button of list.querySelectorAll("[data-mode]")) setUp(button);
}

let plate = null;
function asked() {
  plate ??= fetch(list.dataset.shapes, { headers: { accept: "application/json" } }).then((answer) => {
    if (!answer.ok) throw new Error(`answered ${answer.status}`);
    return answer.json();
  }).catch(() => { plate = null; return null; });
  return plate;
}

function setUp(button) {
  const still = button.querySelector("svg");
  const canvas = document.createElement("canvas");
  canvas.setAttribute("aria-hidden", "true");
  let pressed = false;

  async function start() {
    if (pressed) return;
    pressed = true;
    const found = await asked();
    if (!found || !pressed) return;
    const { width, height } = still.getBoundingClientRect();
    canvas.width = Math.round(width * devicePixelRatio);
    canvas.height = Math.round(height * devicePixelRatio);
    still.replaceWith(canvas);
    const draw = drawing(canvas, found, Number(button.dataset.mode), getComputedStyle(button).color);
    const begun = performance.now();
    const frame = (now) => {
      if (!pressed) return;
      draw(Math.sin(2 * Math.PI * (now - begun) / PERIOD_MS));
      requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }

  function stop() {
    pressed = false;
    if (canvas.isConnected) canvas.replaceWith(still);
  }

  button.addEventListener("pointerdown", (event) => { button.setPointerCapture(event.pointerId); start(); });
  for (const end of ["pointerup", "pointercancel", "lostpointercapture", "blur"]) button.addEventListener(end, stop);
  button.addEventListener("contextmenu", (event) => event.preventDefault());
  button.addEventListener("keydown", (event) => { if (event.key === " " || event.key === "Enter") { event.preventDefault(); start(); } });
  button.addEventListener("keyup", (event) => { if (event.key === " " || event.key === "Enter") { event.preventDefault(); stop(); } });
}

// Seen from the tail end, leaning away: what moves up is drawn higher.
function drawing(canvas, { nodes, edges, rim, shapes }, mode, ink) {
  const pen = canvas.getContext("2d");
  const shape = shapes[mode];
  const xs = nodes.map(([x]) => x), ys = nodes.map(([, y]) => y);
  const left = Math.min(...xs), wide = Math.max(...xs) - left, long = Math.max(...ys);
  const scale = Math.min(canvas.width / (wide + 12), canvas.height / (long + 12));
  const rise = HEIGHT_PART * long;
  const top = (canvas.height - long * LEAN * scale) / 2;
  const at = (k, moved) => [
    (nodes[k][0] - left + 6) * scale + (canvas.width - (wide + 12) * scale) / 2,
    top + (nodes[k][1] * LEAN - shape[k] * moved * rise) * scale,
  ];
  return (moved) => {
    pen.clearRect(0, 0, canvas.width, canvas.height);
    pen.strokeStyle = ink;
    for (const [lines, width, strength] of [[edges, 0.6, 0.45], [rim, 2, 1]]) {
      pen.globalAlpha = strength;
      pen.lineWidth = width * devicePixelRatio;
      pen.beginPath();
      for (const [a, b] of lines) { pen.moveTo(...at(a, moved)); pen.lineTo(...at(b, moved)); }
      pen.stroke();
    }
  };
}
