// @ts-check
// Everything the page knows, as signals, and every way of changing it, as named actions.

/** @import { Answer, DiagnosticRow, Oscillation, Sheet, Tables } from "./api.d.ts" */
/** @import { Kept, Step } from "./store.js" */
/** @import { Link } from "./api.js" */
/** @import { View } from "./geometry.js" */
import { batch, computed, signal } from "@preact/signals";
import { askRewrite, askSheet } from "./api.js";
import { asWritten, wordsOf } from "./units.js";
import { countOf, phases, sameMoment } from "./moment.js";
import { fitted } from "./geometry.js";

/** Steps kept for undoing, and the characters they may hold together. */
const STEPS_KEPT = 200;
const CHARACTERS_KEPT = 4_000_000;
/** Typing that goes on within this time is one step. */
const JOINED_MS = 1500;

/** The tables of parameters and figures. @type {import("@preact/signals").Signal<Tables | null>} */
export const tables = signal(null);
/** Name of the file. */
export const name = signal("");
/** The movement file. */
export const text = signal("");
/** The text as it was opened or saved. */
export const saved = signal("");
/** Overrides `path=value` of what is held now. @type {import("@preact/signals").Signal<string[]>} */
export const set = signal([]);
/** The last answer about a sheet. @type {import("@preact/signals").Signal<(Answer & { answer: "sheet" }) | null>} */
export const reply = signal(null);
/** The last sheet that could be worked out. @type {import("@preact/signals").Signal<Sheet | null>} */
export const sheet = signal(null);
/** The sheet kept to compare with. @type {import("@preact/signals").Signal<Sheet | null>} */
export const before = signal(null);
/** The oscillation of the last sheet that could be turned through: one that cannot is drawn as the hand left it. @type {import("@preact/signals").Signal<Oscillation | null>} */
export const turned = signal(null);
/** The moment shown: place in `turned`. */
export const instant = signal(0);
/** Beat with which the oscillation begins. */
export const beat = signal(0);
/** Whether the sideshake is tried too. */
export const sideshake = signal(false);
/** What of the plate is seen, and how large; null: all of it. @type {import("@preact/signals").Signal<View | null>} */
export const wantedView = signal(null);
/** Size of the drawing on the screen. */
export const area = signal({ width_px: 800, height_px: 600 });
/** What of the plate is seen. @type {import("@preact/signals").ReadonlySignal<View>} */
export const view = computed(() => wantedView.value ?? fitted(sheet.value, area.value));
/** Names of the magnified views that are pinned. @type {import("@preact/signals").Signal<string[]>} */
export const pins = signal([]);
/** Path of the parameter or figure that is looked at. @type {import("@preact/signals").Signal<string | null>} */
export const selected = signal(null);
/** State of the line to the bench. @type {import("@preact/signals").Signal<Link>} */
export const link = signal(/** @type {Link} */ ("waiting"));
/** `day`, `night` or `system`. */
export const theme = signal("system");
/** Whether all grips are shown. */
export const grips = signal(false);
/** What is to be said once, quietly. @type {import("@preact/signals").Signal<string | null>} */
export const notice = signal(null);
/** Steps that can be undone, and done again. @type {import("@preact/signals").Signal<{ past: Step[], future: Step[] }>} */
export const history = signal({ past: [], future: [] });
/** What is held, a number for each path. */
const held = signal(/** @type {ReadonlyMap<string, number>} */ (new Map()));

/** Asks for the sheet of what is here; called whenever that changes. */
export async function askForSheet() {
  const question = {
    name: name.value, text: text.value, set: set.value, beat: beat.value, sideshake: sideshake.value,
  };
  if (question.text === "") return;
  const answer = await askSheet(question);
  // The text has been changed since: what came is an answer about the text of before.
  if (!answer || question.text !== text.peek() || question.name !== name.peek()) return;
  batch(() => {
    if (answer.answer === "problem") notice.value = answer.message;
    if (answer.answer !== "sheet") return;
    reply.value = answer;
    if (!answer.sheet) return;
    const { oscillation } = answer.sheet;
    if (oscillation) {
      instant.value = sameMoment(turned.peek(), oscillation, instant.peek());
      turned.value = oscillation;
    }
    sheet.value = answer.sheet;
  });
}

let lastStep_ms = 0;

/** Changes the text: one step to be undone. @param {string} next @param {string} label */
export function setText(next, label) {
  if (next === text.value) return;
  const { past } = history.value;
  const now_ms = performance.now();
  const joined = label.startsWith("typed") && past.at(-1)?.label === label && now_ms - lastStep_ms < JOINED_MS;
  lastStep_ms = now_ms;
  batch(() => {
    history.value = { past: joined ? past : kept([...past, asItIs(label)]), future: [] };
    text.value = next;
    letGo();
  });
}

/** The text as it is, as a step to come back to. @param {string} label @returns {Step} */
const asItIs = (label) => ({ text: text.value, name: name.value, saved: saved.value, label });

/** @param {Step} step */
function putBack(step) {
  text.value = step.text;
  name.value = step.name;
  saved.value = step.saved;
  letGo();
}

/** @param {Step[]} past */
function kept(past) {
  let characters = 0;
  let first = past.length;
  while (first > 0 && past.length - first < STEPS_KEPT && characters < CHARACTERS_KEPT) {
    first -= 1;
    characters += past[first].text.length;
  }
  return past.slice(first);
}

function letGo() {
  held.value = new Map();
  set.value = [];
}

/** What a fault has not that is about no place. */
const NOWHERE = { value: null, allowed: null, hint: null, about: [], line: null, column: null, length: null };

/** Rewrites come one after the other, each upon the text of the one before. @type {Promise<unknown>} */
let rewriting = Promise.resolve();

/**
 * Writes values into the text, its comments kept: one step to be undone.
 * @param {{ path: string, value: string | null }[]} changes
 * @param {string} label
 * @returns {Promise<DiagnosticRow[]>} what was wrong with the values; empty where they were written
 */
export function setValues(changes, label) {
  const done = rewriting.then(async () => {
    const answer = await askRewrite({ name: name.value, text: text.value, changes });
    if (answer.answer === "text") {
      setText(answer.text, label);
      return [];
    }
    letGo();
    const problem = answer.answer === "problem" ? answer : null;
    if (problem && problem.diagnostics.length > 0) return problem.diagnostics;
    const message = problem?.message ?? "the bench did not answer with a text";
    return [{ severity: "error", code: problem?.code ?? "no-text", message, ...NOWHERE }];
  });
  rewriting = done;
  return done;
}

/** Writes one value into the text; null takes it out. @param {string} path @param {string | null} value */
export const setValue = (path, value) =>
  setValues([{ path, value }], value === null ? `${wordsOf(path)} taken out` : `${wordsOf(path)} ${value}`);

/** Holds a parameter at a value, in its unit, without writing it. @param {string} path @param {number} value */
export function hold(path, value) {
  if (held.value.get(path) === value) return;
  held.value = new Map([...held.value, [path, value]]);
  set.value = [...held.value].map(([p, v]) => `${p}=${asWritten(v)}`);
}

/** Lets go: what is held becomes one step. */
export async function release() {
  const changes = [...held.value].map(([path, value]) => ({ path, value: asWritten(value) }));
  if (changes.length === 0) return [];
  const faults = await setValues(changes, changes.map((c) => `${wordsOf(c.path)} ${c.value}`).join(", "));
  if (faults.length > 0) notice.value = faults[0].message;
  return faults;
}

/** Lets go without a change. */
export const dropHeld = () => batch(letGo);

/** Takes the last step back. */
export function undo() {
  const { past, future } = history.value;
  const step = past.at(-1);
  if (!step) return;
  batch(() => {
    history.value = { past: past.slice(0, -1), future: [...future, asItIs(step.label)] };
    putBack(step);
  });
}

/** Does it again. */
export function redo() {
  const { past, future } = history.value;
  const step = future.at(-1);
  if (!step) return;
  batch(() => {
    history.value = { past: [...past, asItIs(step.label)], future: future.slice(0, -1) };
    putBack(step);
  });
}

/** Lays another file on the bench; a step, so that the one before can be had back. @param {string} file @param {string} content */
export function openFile(file, content) {
  batch(() => {
    if (text.value !== "") setText(content, `opened ${file}`);
    text.value = content;
    saved.value = content;
    name.value = file;
    before.value = null;
    beat.value = 0;
    instant.value = 0;
    turned.value = null;
    wantedView.value = null;
    selected.value = null;
  });
}

/** Takes up what was kept of a sheet. @param {Kept} work */
export function takeUp(work) {
  batch(() => {
    openFile(work.name, work.text);
    saved.value = work.saved;
    history.value = { past: work.past, future: work.future };
  });
}

/** Hands the file to the browser to be saved. */
export function saveFile() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text.value], { type: "application/toml" }));
  link.download = name.value.split(/[\\/]/).at(-1) || "movement.toml";
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  saved.value = text.value;
}

/** Keeps the sheet as it is, to compare with. */
export const keepBefore = () => void (before.value = sheet.value);
/** Compares no longer. */
export const dropBefore = () => void (before.value = null);

/** Shows another moment; beyond the table's end it begins anew, where teeth differ with the beats that follow. @param {number} index */
export function goTo(index) {
  const count = countOf(sheet.value);
  if (count === 0) return;
  const round = Math.floor(index / count);
  batch(() => {
    instant.value = index - round * count;
    const beats = sheet.value?.beat_count ?? 2;
    if (round !== 0 && beats > 2) beat.value = (((beat.value + 2 * round) % beats) + beats) % beats;
  });
}

/** Moves by instants. @param {number} by */
export const step = (by) => goTo(instant.value + by);

/** Moves to the start of the next phase, or back to the start of the one before. @param {1 | -1} way */
export function toPhase(way) {
  const oscillation = sheet.value?.oscillation;
  if (!oscillation) return;
  const starts = phases(oscillation).map((p) => p.first);
  const count = oscillation.wheel_deg.length;
  const next = way > 0 ? starts.find((s) => s > instant.value) : starts.findLast((s) => s < instant.value);
  goTo(next ?? (way > 0 ? count : (starts.at(-1) ?? 0) - count));
}

/** Shows a place on the plate. @param {number} x_mm @param {number} y_mm @param {number} half_width_mm */
export function showPlace(x_mm, y_mm, half_width_mm) {
  const { width_px, height_px } = area.value;
  wantedView.value = { x_mm, y_mm, px_per_mm: Math.min(width_px, height_px) / (2 * half_width_mm) };
}

/** Looks at a parameter or figure. @param {string | null} path */
export const select = (path) => void (selected.value = path);
