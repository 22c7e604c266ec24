// A rug's page when the network is away: a service worker for that one rug. It keeps the page of its row counter and the files
// it needs; no other page, no answer to anything sent. It all goes when somebody signs out.
"use strict";

const KEPT = "rows";
const RUG = new URL(self.registration.scope).pathname;
const PAGE = `${RUG}/count`;
const FILES = ["app.js", "favicon.svg", "fresh-key.js", "mark.svg", "print.css", "rows.js", "style.css", "twine.svg"].map((name) => `/static/${name}`);
const PATIENCE = 6000;

// Only what came whole and from where it was asked: whoever is signed out is led elsewhere, and that isn't kept.
async function keep(address) {
  const answer = await fetch(address, { cache: "no-cache" });
  if (answer.ok && !answer.redirected) await (await caches.open(KEPT)).put(address, answer);
}

// The network goes first, so that a device never shows an old page while a new one can be had.
async function networkFirst(request, address) {
  try {
    return await fetch(request, { signal: AbortSignal.timeout(PATIENCE) });
  } catch {
    return (await (await caches.open(KEPT)).match(address)) ?? Response.error();
  }
}

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(Promise.all([PAGE, ...FILES].map(keep)));
});

self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

// The page asks for this when it was opened from the network.
self.addEventListener("message", (event) => {
  if (event.data === "keep") event.waitUntil(Promise.all([PAGE, ...FILES].map((address) => keep(address).catch(() => {}))));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  if (request.mode === "navigate" && (pathname === RUG || pathname === PAGE)) event.respondWith(networkFirst(request, PAGE));
  else if (FILES.includes(pathname)) event.respondWith(networkFirst(request, pathname));
});
