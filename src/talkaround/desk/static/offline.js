// The page for taking a note opens without a connection too; everything else always comes from the desk.
"use strict";
const SHELF = "talkaround-take-2";
const PAGE = "/take";
const KEPT = [PAGE, "/static/desk.css", "/static/take.css", "/static/keeping.js", "/static/take.js", "/static/icon.svg"];
// A connection that neither works nor breaks must not keep a person waiting in front of a car.
const PATIENCE_MS = 4000;

async function lay(path) {
  const answer = await fetch(path, { cache: "no-store" });
  // A page that only asks to sign in is not the page.
  if (answer.ok && !answer.redirected) await (await caches.open(SHELF)).put(path, answer);
}
const layAll = () => Promise.allSettled(KEPT.map(lay));

self.addEventListener("install", (e) => {
  self.skipWaiting();
  e.waitUntil(layAll());
});
self.addEventListener("activate", (e) => e.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith("talkaround-take-") && name !== SHELF) await caches.delete(name);
  await self.clients.claim();
})()));
self.addEventListener("message", (e) => { if (e.data?.lay) e.waitUntil(layAll()); });

self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (url.origin !== location.origin) return;
  if (e.request.method === "POST" && ["/sign-in", "/sign-out"].includes(url.pathname)) {
    // The next person must not find the page under the name of the last one.
    e.waitUntil(caches.open(SHELF).then((shelf) => shelf.delete(PAGE)));
    return;
  }
  // With a query it is asked who sits there now, which no shelf knows.
  if (e.request.method !== "GET" || url.search || !KEPT.includes(url.pathname)) return;
  e.respondWith((async () => {
    const shelf = await caches.open(SHELF);
    const kept = await shelf.match(url.pathname);
    const fresh = fetch(e.request).then(async (answer) => {
      if (answer.ok && !answer.redirected) await shelf.put(url.pathname, answer.clone());
      return kept && answer.status >= 500 ? kept : answer;
    });
    if (!kept) return fresh;
    const late = new Promise((good) => setTimeout(() => good(kept), PATIENCE_MS));
    return Promise.race([fresh.catch(() => kept), late]);
  })());
});
