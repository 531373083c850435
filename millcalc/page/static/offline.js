"use strict";
// installed on this machine: says that the server is not running; keeps its own few files, never a page or a result
const KEPT = "millcalc-__VERSION__";
const FILES = ["/offline", "/static/page.css?__STYLE__", "/static/icon.svg"];

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(FILES)).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (event) => {
  event.waitUntil(caches.keys().then((names) => Promise.all(names.filter((name) => name !== KEPT).map((name) => caches.delete(name)))).then(() => self.clients.claim()));
});
self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.mode === "navigate") {
    event.respondWith(fetch(event.request).catch(() => caches.match("/offline")));
  } else if (address.pathname.startsWith("/static/") && FILES.includes(address.pathname + address.search)) {
    event.respondWith(fetch(event.request).catch(() => caches.match(address.pathname + address.search)));
  }
});
