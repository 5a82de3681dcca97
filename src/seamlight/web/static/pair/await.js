// While a pair is worked on in the background its page says how far that is. When it is done the page shows
// itself anew, unless something was touched or typed here meanwhile: then it only says so.

import { ask, Lost, Refused } from "../ask.js";

const line = document.querySelector("[data-await]"), words = line?.querySelector("[data-words]"), link = line?.querySelector("a");
let touched = false;
for (const kind of ["input", "pointerdown", "keydown"]) document.querySelector("main").addEventListener(kind, () => { touched = true; });

async function watch() {
  for (;;) {
    await new Promise((resolve) => setTimeout(resolve, 2000));
    try {
      const { live, state, says } = await ask(`/api/pairs/${line.dataset.await}/reading`);
      if (live) continue;
      if (!touched) { location.reload(); return; }
      words.textContent = state === "failed" ? `It could not be read: ${says}` : "It is done";
      link.textContent = "show it";
      return;
    } catch (error) {
      if (!(error instanceof Lost) && !(error instanceof Refused)) throw error;
    }
  }
}
if (words) watch();
