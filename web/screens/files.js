// @ts-check
// Files: opened by a picker or dropped on the page, saved where they came from where the browser can, else downloaded.
import { effect, signal } from "@preact/signals";
import { askBegin } from "../api.js";
import { name, notice, openFile, saved, saveFile, tables, text } from "../state.js";

/** @typedef {any} FileHandle a file the browser may write to; not in every browser's types */

/** Largest file that is read as a movement, bytes. */
const LARGEST = 4_000_000;
const KINDS = [{ description: "Movement file", accept: { "application/toml": [".toml"] } }];

const browser = /** @type {any} */ (window);

/** The file the text came from, and the name it had then. @type {import("@preact/signals").Signal<{ handle: FileHandle, name: string } | null>} */
const origin = signal(null);

/** Whether the browser can write a file where it lies. */
export const canWrite = () => typeof browser.showSaveFilePicker === "function";

/** The person closed the picker: nothing is wrong. @param {unknown} error */
const turnedAway = (error) => error instanceof DOMException && error.name === "AbortError";

/** @param {File} file @param {FileHandle | null} handle */
async function take(file, handle) {
  if (file.size > LARGEST) {
    notice.value = `${file.name} has ${file.size} bytes: too large for a movement file, at most ${LARGEST}`;
    return;
  }
  const content = await file.text();
  openFile(file.name, content);
  origin.value = handle ? { handle, name: file.name } : null;
}

/** Opens a file that the person chooses. */
export async function pickFile() {
  if (typeof browser.showOpenFilePicker !== "function") return pickPlain();
  try {
    const [handle] = await browser.showOpenFilePicker({ types: KINDS });
    await take(await handle.getFile(), handle);
  } catch (error) {
    if (!turnedAway(error)) notice.value = `could not open the file: ${error}`;
  }
}

/** As above, in a browser that only hands over what is in a file. */
function pickPlain() {
  const input = document.createElement("input");
  input.type = "file";
  input.accept = ".toml";
  input.onchange = () => input.files?.[0] && take(input.files[0], null);
  input.click();
}

/** @param {FileHandle} handle */
async function write(handle) {
  const content = text.value;
  const stream = await handle.createWritable();
  await stream.write(content);
  await stream.close();
  origin.value = { handle, name: handle.name };
  name.value = handle.name;
  saved.value = content;
}

/** Saves the text as it is. @param {boolean} [elsewhere] under another name */
export async function save(elsewhere = false) {
  if (!canWrite()) return saveFile();
  const known = origin.value && origin.value.name === name.value ? origin.value.handle : null;
  const suggestedName = name.value.split(/[\\/]/).at(-1) || "movement.toml";
  try {
    await write(known && !elsewhere ? known : await browser.showSaveFilePicker({ suggestedName, types: KINDS }));
  } catch (error) {
    if (!turnedAway(error)) notice.value = `could not save ${suggestedName}: ${error}`;
  }
}

/** Back to the demo movement. */
export function openDemo() {
  if (tables.value) openFile("demo.toml", tables.value.demo);
}

/** Begins a new movement; says what is wrong with the numbers, if anything. @param {string} teeth @param {string} radius_mm @returns {Promise<string | null>} */
export async function beginNew(teeth, radius_mm) {
  const [count, radius] = [Number(teeth.trim() || NaN), Number(radius_mm.trim() || NaN)];
  if (!Number.isInteger(count) || count < 0) return `the number of teeth is “${teeth}”: write a whole number, such as 15`;
  if (!Number.isFinite(radius)) return `the locking radius is “${radius_mm}”: write a number of mm with a decimal point, such as 2.25`;
  const answer = await askBegin({ tooth_count: count, locking_radius_mm: radius });
  if (answer.answer !== "text") return answer.answer === "problem" ? answer.message : "the bench did not answer with a text";
  openFile("new-movement.toml", answer.text);
  saved.value = "";
  return null;
}

/** Whether a drag carries a file. @param {DragEvent} event */
const carriesFile = (event) => event.dataTransfer?.types.includes("Files") ?? false;

/** Opens a file dropped on the page. @param {DragEvent} event */
async function dropped(event) {
  if (event.defaultPrevented || !carriesFile(event)) return;
  event.preventDefault();
  const item = [...(event.dataTransfer?.items ?? [])].find((i) => i.kind === "file");
  const file = item?.getAsFile();
  // The handle has to be asked for before the first wait: the list of items is empty after it.
  const asked = /** @type {any} */ (item)?.getAsFileSystemHandle?.();
  if (!file) return;
  const handle = await Promise.resolve(asked).catch(() => null);
  if (handle && handle.kind !== "file") notice.value = `${file.name} is a folder: drop a movement file`;
  else await take(file, handle ?? null);
}

let watching = false;

/** Takes files dropped anywhere on the page, and lets the browser ask before a page with unsaved text closes. */
export function watchFiles() {
  if (watching) return;
  watching = true;
  addEventListener("dragover", (event) => carriesFile(event) && event.preventDefault());
  addEventListener("drop", dropped);
  const ask = (/** @type {BeforeUnloadEvent} */ event) => event.preventDefault();
  effect(() => {
    if (text.value !== saved.value) addEventListener("beforeunload", ask);
    else removeEventListener("beforeunload", ask);
  });
}
