// Times that run down beside the clamps: plain words, changed once a minute, nothing that blinks.

const MINUTE = 60_000;

export function said(until, now) {
  const minutes = Math.ceil((until - now) / MINUTE);
  if (minutes <= 0) return "may come out";
  const hours = Math.floor(minutes / 60);
  const days = Math.floor(hours / 24);
  if (days) return `${days} day${days > 1 ? "s" : ""}${hours % 24 ? ` ${hours % 24} h` : ""} left`;
  return hours ? `${hours} h ${String(minutes % 60).padStart(2, "0")} min left` : `${minutes} min left`;
}

// The shop's clock, not the phone's, counts: the page says what time it was there when it was made.
const places = [...document.querySelectorAll("[data-until]")];
const made = Date.parse(document.querySelector("[data-now]")?.dataset.now ?? "");
const opened = Date.now();

function turn() {
  const now = made + (Date.now() - opened);
  for (const place of places) {
    const text = said(Date.parse(place.dataset.until), now);
    if (place.textContent !== text) place.textContent = text;
  }
}

if (Number.isFinite(made)) {
  turn();
  setInterval(turn, MINUTE);
}
// A phone that was asleep shows a page from this morning: it is asked for anew.
addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
