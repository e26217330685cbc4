// The learner's page opens without a line too: its files and the text of passages are kept. Nothing
// that is anyone's own is kept here; what was recorded lies in IndexedDB.
const name = "mistara-mine", page = "/mine", patience_ms = 6000, most = 120;
const files = /^\/(?:[\w-]+-[A-Z0-9]{8}\.(?:js|css)|fonts\/[\w-]+\.woff2|ruler\.svg)$/;
const texts = /^\/api\/(?:rules|reading|ink)$/;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

async function keep(key, answer) {
  const cache = await caches.open(name);
  await cache.put(key, answer);
  const keys = await cache.keys();
  for (const old of keys.slice(0, Math.max(0, keys.length - most))) await cache.delete(old);
}

// From the desk; when it does not answer, as it was last.
async function latest(request, key, event) {
  const late = new Promise((_, fail) => setTimeout(() => fail(new Error("late")), patience_ms));
  try {
    const answer = await Promise.race([fetch(request), late]);
    if (answer.ok) event.waitUntil(keep(key, answer.clone()));
    return answer;
  } catch {
    return (await caches.match(key)) ?? Response.error();
  }
}

// A file whose name holds a hash is never another.
async function once(request, event) {
  const known = await caches.match(request.url);
  if (known) return known;
  const answer = await fetch(request);
  if (answer.ok) event.waitUntil(keep(request.url, answer.clone()));
  return answer;
}

self.addEventListener("fetch", (event) => {
  const { request } = event, at = new URL(request.url);
  if (request.method !== "GET" || at.origin !== self.location.origin) return;
  if (request.mode === "navigate") event.respondWith(latest(request, page, event));
  else if (files.test(at.pathname)) event.respondWith(once(request, event));
  else if (texts.test(at.pathname)) event.respondWith(latest(request, request.url, event));
});

// What the page had loaded before anyone stood here.
self.addEventListener("message", (event) => {
  const wanted = event.data.filter((one) => { const { pathname } = new URL(one, self.location.origin); return pathname === page || files.test(pathname) || texts.test(pathname); });
  event.waitUntil(Promise.all(wanted.map(async (one) => {
    if (await caches.match(one)) return;
    const answer = await fetch(one);
    if (answer.ok) await keep(one, answer);
  })).catch(() => {}));
});
