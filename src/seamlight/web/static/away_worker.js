// Answers in the browser when the shop's computer cannot be reached: with one page that holds nothing of the
// shop's. VERSION and KEPT (that page first, then what it needs) stand in the lines before this one, see away.py.

const PREFIX = "seamlight away ";
const CACHE = PREFIX + VERSION;

addEventListener("install", (event) => {
  skipWaiting();
  event.waitUntil(caches.open(CACHE).then((cache) =>
    cache.addAll(KEPT.map((path) => new Request(path, { cache: "reload" })))));
});

async function takeOver() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(PREFIX) && name !== CACHE).map((name) => caches.delete(name)));
  // The browser itself asks for the page, as it would without a worker: the server sees who asks and from where.
  await registration.navigationPreload?.enable();
  await clients.claim();
}

addEventListener("activate", (event) => event.waitUntil(takeOver()));

async function kept(path) {
  return (await (await caches.open(CACHE)).match(path)) ?? Response.error();
}

async function thePage(event) {
  try {
    return (await event.preloadResponse) ?? (await fetch(event.request));
  } catch {
    return kept(KEPT[0]);
  }
}

async function theFile(request, path) {
  try { return await fetch(request); } catch { return kept(path); }
}

addEventListener("fetch", (event) => {
  const { request } = event;
  const { pathname, origin } = new URL(request.url);
  if (request.method !== "GET" || origin !== location.origin) return;
  if (request.mode === "navigate") {
    // Without preloading the worker would have to ask in its own name: then it stays out of the way.
    if (registration.navigationPreload) event.respondWith(thePage(event));
  } else if (KEPT.includes(pathname)) {
    event.respondWith(theFile(request, pathname));
  }
});
