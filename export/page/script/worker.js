// The worker of a page on a site: it stores the page for use without a network.
// With a network, the newest page is shown and stored.

// The name of the cache; the export inserts the hash of the page.
const kept = "VERSION";
const files = ["./", "manifest.webmanifest", "icon.svg"];
const patience = 4000; // milliseconds that a bad signal gets

self.addEventListener("install", (event) => {
  const keep = async () => {
    await (await caches.open(kept)).addAll(files);
    await self.skipWaiting();
  };
  event.waitUntil(keep());
});

self.addEventListener("activate", (event) => {
  const take = async () => {
    for (const name of await caches.keys()) if (name !== kept) await caches.delete(name);
    await self.clients.claim();
  };
  event.waitUntil(take());
});

async function answer(request) {
  const cache = await caches.open(kept);
  try {
    const response = await fetch(request, { signal: AbortSignal.timeout(patience) });
    if (response.ok) await cache.put(request, response.clone());
    return response;
  } catch (error) {
    const old = await cache.match(request, { ignoreSearch: true });
    if (old) return old;
    throw error;
  }
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method === "GET" && new URL(request.url).origin === location.origin) event.respondWith(answer(request));
});
