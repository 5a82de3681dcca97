// What every page has: forms that keep what was typed, and folds that are open on paper.

import { keepForms } from "./kept.js";

keepForms();

let opened = [];
addEventListener("beforeprint", () => {
  opened = [...document.querySelectorAll("details.fold:not([open])")];
  for (const fold of opened) fold.open = true;
});
addEventListener("afterprint", () => { for (const fold of opened) fold.open = false; });
