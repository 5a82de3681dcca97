// What every page has: forms that keep what was typed, folds that are open on paper, and the worker that
// answers a tapped link when the shop cannot be reached (browsers allow one on this computer and over https).

import { keepForms } from "./kept.js";

keepForms();

if (isSecureContext && navigator.serviceWorker) navigator.serviceWorker.register("/away.js").catch(() => {});

let opened = [];
addEventListener("beforeprint", () => {
  opened = [...document.querySelectorAll("details.fold:not([open])")];
  for (const fold of opened) fold.open = true;
});
addEventListener("afterprint", () => { for (const fold of opened) fold.open = false; });
