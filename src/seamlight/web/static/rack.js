// While pairs are being read the rack says how far it is, and shows itself anew when nothing is left.

import { ask, Lost, Refused } from "./ask.js";

const words = document.querySelector("#under-way a");
async function watch() {
  for (;;) {
    await new Promise((resolve) => setTimeout(resolve, 2000));
    try {
      const { waiting, running, says } = await ask("/api/work");
      if (words) words.textContent = says;
      if (!waiting && !running) break;
    } catch (error) {
      if (!(error instanceof Lost) && !(error instanceof Refused)) throw error;
    }
  }
  if (!document.querySelector(".rack input:checked")) location.reload();
}
watch();
