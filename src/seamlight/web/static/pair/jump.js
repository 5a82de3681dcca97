// What a link names lies open when one comes to it, in whatever fold it is.

function open() {
  const named = location.hash.length > 1 ? document.getElementById(decodeURIComponent(location.hash.slice(1))) : null;
  for (let fold = named?.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  named?.closest("details")?.scrollIntoView({ block: "start" });
}
addEventListener("hashchange", open);
document.querySelector(".jumps")?.addEventListener("click", (event) => {
  // the same link twice is no change of address
  if (event.target.closest("a")?.hash === location.hash) open();
});
open();
