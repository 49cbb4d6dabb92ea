// Keeps the pages of the spray room on the tablet, so that they open while the network is gone. The newest page always comes
// from the server; the kept one is shown only when the server does not answer. Nothing is sent from here.
"use strict";

const KEPT = "spray-room-1";
const PAGES = [/^\/spray-room\/$/, /^\/board\/$/, /^\/steps\/\d+\/(log|ticket)\/$/];
const isPage = (url) => PAGES.some((pattern) => pattern.test(url.pathname));
const isPart = (url) => url.pathname.startsWith("/static/");

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

async function fetchAndKeep(request, url) {
  const answer = await fetch(request);
  // A sign-in page must not take the place of the page that was asked for.
  if (answer.ok && !answer.redirected) {
    const cache = await caches.open(KEPT);
    await cache.put(url.pathname, answer.clone());
  }
  return answer;
}

async function answer(request, url) {
  try {
    return await fetchAndKeep(request, url);
  } catch (error) {
    const kept = await (await caches.open(KEPT)).match(url.pathname, { ignoreVary: true });
    if (kept) {
      return kept;
    }
    throw error;
  }
}

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== self.location.origin) {
    return;
  }
  if (url.pathname === "/sign-out/") {
    event.waitUntil(caches.delete(KEPT)); // the next person starts with pages of their own
    return;
  }
  if (event.request.method === "GET" && (isPage(url) || isPart(url))) {
    event.respondWith(answer(event.request, url));
  }
});

self.addEventListener("message", (event) => {
  const wanted = (event.data?.keep ?? []).filter((path) => isPage(new URL(path, self.location.origin)));
  event.waitUntil((async () => {
    const parts = new Set();
    for (const path of wanted) {
      try {
        // Nobody reads this copy now, so the words that wait for the person must not be spent on it.
        const request = new Request(path, { credentials: "same-origin", headers: { "X-Keep-Page": "1" } });
        const page = await fetchAndKeep(request, new URL(path, self.location.origin));
        for (const [, part] of (await page.text()).matchAll(/(?:href|src)="(\/static\/[^"?]+)"/g)) {
          parts.add(part);
        }
      } catch {
        // kept another time
      }
    }
    for (const part of parts) {
      await fetchAndKeep(new Request(part), new URL(part, self.location.origin)).catch(() => {});
    }
  })());
});
