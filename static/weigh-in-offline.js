// The scale's page when the network is away: a service worker for /cloth/weigh-in alone. It keeps that page without anything
// of anybody in it, and the files it needs; no other page, no answer to anything sent. It all goes when somebody signs out.
"use strict";

const KEPT = "weigh-in";
const PAGE = "/cloth/weigh-in";
const PAGE_KEPT = `${PAGE}?offline=yes`;
const NAMES = `${PAGE}/names`;
const FILES = ["app.js", "favicon.svg", "fresh-key.js", "mark.svg", "percale.svg", "print.css", "sateen.svg", "style.css", "tablet.js", "weigh-in-check.js", "weigh-in-wait.js", "weigh-in.js"]
  .map((name) => `/static/${name}`);
const PATIENCE = 6000;

// Only what came whole and from where it was asked: whoever is signed out is led elsewhere, and that isn't kept.
async function keep(address, by = "") {
  const answer = await fetch(address + by, { cache: "no-cache" });
  if (answer.ok && !answer.redirected) await (await caches.open(KEPT)).put(address, answer);
}

async function fromDevice(address) {
  return (await (await caches.open(KEPT)).match(address)) ?? Response.error();
}

// The network goes first, so that a device never shows an old page while a new one can be had.
async function networkFirst(request, address) {
  try {
    return await fetch(request, { signal: AbortSignal.timeout(PATIENCE) });
  } catch {
    return fromDevice(address);
  }
}

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(Promise.all([PAGE_KEPT, ...FILES].map((address) => keep(address))));
});

self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

// The page asks for this when it was opened from the network.
self.addEventListener("message", (event) => {
  // A tablet that volunteers share is asked whose page it is; what is kept is nobody's.
  const by = event.data.by ? `&by=${encodeURIComponent(event.data.by)}` : "";
  if (event.data !== "keep" && by === "") return;
  const all = [keep(PAGE_KEPT, by), ...FILES.map((address) => keep(address))];
  event.waitUntil(Promise.all(all.map((one) => one.catch(() => {}))));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  // Without a network the names of a shared tablet stand on the page that is kept.
  if (request.mode === "navigate" && (pathname === PAGE || pathname === NAMES)) event.respondWith(networkFirst(request, PAGE_KEPT));
  else if (FILES.includes(pathname)) event.respondWith(networkFirst(request, pathname));
});
