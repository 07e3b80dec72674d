// @ts-check
// What the browser keeps of the work: text, name and undo of every sheet that was open, one record for each.

/** @typedef {{ text: string, name: string, saved: string, label: string }} Step */
/**
 * @typedef {object} Kept
 * @property {string} key the tab it was open in
 * @property {string} name
 * @property {string} text
 * @property {string} saved
 * @property {Step[]} past
 * @property {Step[]} future
 * @property {number} at_ms when it was kept
 */

const KEPT_AT_MOST = 20;

/** @type {Promise<IDBDatabase> | null} */
let opening = null;

function database() {
  opening ??= new Promise((done, failed) => {
    const request = indexedDB.open("bench", 1);
    request.onupgradeneeded = () => request.result.createObjectStore("sheets", { keyPath: "key" });
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
  return opening;
}

/**
 * @template T
 * @param {IDBTransactionMode} mode
 * @param {(sheets: IDBObjectStore) => IDBRequest<T>} act
 * @returns {Promise<T>}
 */
async function sheets(mode, act) {
  const store = (await database()).transaction("sheets", mode).objectStore("sheets");
  const request = act(store);
  // Not left to the browser: a page that is being closed does not come back to it.
  if (mode === "readwrite") store.transaction.commit();
  return new Promise((done, failed) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
}

/** Name of this tab: the same after a reload, another in a second tab. */
export async function tabKey() {
  let key = sessionStorage.getItem("sheet") ?? crypto.randomUUID();
  // A doubled tab takes the first one's name with it, and must not write over its work.
  if (navigator.locks && !(await held(key))) {
    key = crypto.randomUUID();
    await held(key);
  }
  sessionStorage.setItem("sheet", key);
  return key;
}

/** Whether the lock of this name is ours from now until the tab closes. @param {string} key @returns {Promise<boolean>} */
function held(key) {
  return new Promise((told) => {
    navigator.locks.request(`sheet ${key}`, { ifAvailable: true }, (lock) => {
      told(lock !== null);
      return lock ? new Promise(() => {}) : undefined;
    });
  });
}

/** What this tab had open. @param {string} key @returns {Promise<Kept | undefined>} */
export const recall = (key) => sheets("readonly", (s) => s.get(key));

/** The newest work left unsaved in a tab that is no longer open. @returns {Promise<Kept | null>} */
export async function leftUnsaved() {
  const open = new Set((await navigator.locks?.query())?.held?.map((lock) => lock.name));
  return (await recallAll()).find((k) => k.text !== k.saved && !open.has(`sheet ${k.key}`)) ?? null;
}

/** Everything kept, the newest first. @returns {Promise<Kept[]>} */
async function recallAll() {
  const all = /** @type {Kept[]} */ (await sheets("readonly", (s) => s.getAll()));
  return all.sort((a, b) => b.at_ms - a.at_ms);
}

/** Keeps a record, and lets the oldest go. @param {Kept} kept */
export async function keep(kept) {
  await sheets("readwrite", (s) => s.put(kept));
  for (const old of (await recallAll()).slice(KEPT_AT_MOST)) {
    await sheets("readwrite", (s) => s.delete(old.key));
  }
}
