// Starts the page without a network. The files of a version lie together; a page changes to a new version only when
// it asks, and it asks only when nothing waits to be sent. VERSION and FILES stand above this line.

const NAME = "coatwright-table";
const POINTER = "/table/version";
const cacheOf = (version) => `${NAME} ${version}`;
/** The page and any file of it, of whatever version: an older one may have files that FILES no longer names. */
const OURS = /^\/table(\/(?!worker\.js$)[\w-]+\.(js|css|svg|png|webmanifest))?$/;

const pointer = async () => {
  const found = await caches.match(POINTER, { cacheName: NAME });
  return found ? found.text() : "";
};

async function point(version) {
  const kept = await caches.open(NAME);
  await kept.put(POINTER, new Response(version));
}

self.addEventListener("install", (event) => {
  event.waitUntil(
    (async () => {
      const cache = await caches.open(cacheOf(VERSION));
      await cache.addAll(FILES.map((file) => new Request(file, { cache: "no-cache" })));
      if (!(await pointer())) await point(VERSION);
      await self.skipWaiting(); // which version is shown hangs on the pointer alone
    })(),
  );
});

self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

/** Whether anything waits to be sent, photos and refused entries included. */
function waits() {
  return new Promise((resolve) => {
    const asked = indexedDB.open(NAME);
    asked.onupgradeneeded = () => asked.transaction.abort(); // nothing was ever kept here
    asked.onerror = () => resolve(false);
    asked.onsuccess = () => {
      const db = asked.result;
      const stores = ["waiting", "photos"];
      const made = db.transaction(stores);
      const counts = stores.map((store) => made.objectStore(store).count());
      made.oncomplete = () => {
        db.close();
        resolve(counts.some((count) => count.result > 0));
      };
      made.onabort = () => resolve(true);
    };
  });
}

async function take() {
  const before = await pointer();
  if (before === VERSION || (await waits())) return;
  await point(VERSION);
  for (const name of await caches.keys()) {
    if (name.startsWith(`${NAME} `) && name !== cacheOf(VERSION)) await caches.delete(name);
  }
  for (const client of await self.clients.matchAll()) client.postMessage({ taken: VERSION });
}

self.addEventListener("message", (event) => {
  if (event.data === "take") event.waitUntil(take());
});

self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== self.location.origin) return;
  if (!OURS.test(pathname)) return;
  event.respondWith(
    (async () => {
      const version = await pointer();
      const found = await caches.match(pathname, { cacheName: cacheOf(version) });
      return found ?? fetch(event.request);
    })(),
  );
});
