// The page for taking a note opens without a connection too; everything else always comes from the desk.
"use strict";
const SHELF = "talkaround-take-1";
const KEPT = ["/take", "/static/desk.css", "/static/take.js", "/static/icon.svg"];
self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (e) => e.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== location.origin || !KEPT.includes(url.pathname)) return;
  e.respondWith((async () => {
    const shelf = await caches.open(SHELF);
    try {
      const answer = await fetch(e.request);
      // A page that only asks to sign in is not the page.
      if (answer.ok && !answer.redirected) await shelf.put(url.pathname, answer.clone());
      return answer;
    } catch (lost) {
      const kept = await shelf.match(url.pathname);
      if (kept) return kept;
      throw lost;
    }
  })());
});
