// What the tablet keeps: the bundle, the visits as they stand, and what waits to be sent. IndexedDB, strict: a tap
// counts as kept once the browser says that it is on the disk.

const NAME = "coatwright-table";
const VERSION = 1;
const STORES = { waiting: "id", photos: "sha", visits: "key", kept: "key" };

let opened = null;
const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel(NAME) : null;

/** Called in every tab when one of them has kept something. */
export function onChange(listener) {
  channel?.addEventListener("message", listener);
}

function open() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, VERSION);
    asked.onupgradeneeded = () => {
      for (const [store, keyPath] of Object.entries(STORES)) {
        if (!asked.result.objectStoreNames.contains(store)) asked.result.createObjectStore(store, { keyPath });
      }
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => asked.result.close(); // a newer page wants to change the form
      asked.result.onclose = () => (opened = null);
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error("Another tab holds an older form of the records: close it."));
  });
  opened.catch(() => (opened = null));
  return opened;
}

/**
 * Run `work(stores)` in one transaction over some stores and give what it returns, once all of it is on the disk.
 * `work` may await nothing but the requests that `stores` make.
 */
async function transaction(names, mode, work) {
  const db = await open();
  return new Promise((resolve, reject) => {
    const made = db.transaction(names, mode, mode === "readwrite" ? { durability: "strict" } : undefined);
    let result;
    made.oncomplete = () => resolve(result);
    made.onabort = () => reject(made.error ?? new Error("The browser did not keep it."));
    made.onerror = () => {};
    const stores = Object.fromEntries(names.map((name) => [name, wrapped(made.objectStore(name))]));
    Promise.resolve(work(stores)).then(
      (value) => (result = value),
      (error) => {
        reject(error);
        try {
          made.abort();
        } catch {
          // it has ended already
        }
      },
    );
  });
}

const done = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

const wrapped = (store) => ({
  get: (key) => done(store.get(key)),
  all: () => done(store.getAll()),
  keys: () => done(store.getAllKeys()),
  count: () => done(store.count()),
  put: (value) => done(store.put(value)),
  drop: (key) => done(store.delete(key)),
});

export const read = (names, work) => transaction([names].flat(), "readonly", work);

export async function write(names, work) {
  const result = await transaction([names].flat(), "readwrite", work);
  channel?.postMessage("changed");
  return result;
}

/** A value kept under a name. */
export const recall = async (key) => (await read("kept", ({ kept }) => kept.get(key)))?.value;
export const keep = (key, value) => write("kept", ({ kept }) => kept.put({ key, value }));
