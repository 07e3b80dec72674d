// @ts-check
// Every way of changing the text: written, rewritten by the bench, held and let go, undone, opened, saved.

/** @import { Answer, DiagnosticRow } from "./wire" */
/** @import { Kept, Step } from "./store.js" */
import { batch } from "@preact/signals";
import { askRewrite } from "./api.js";
import { asWritten, trueMinus, wordsOf } from "./units.js";
import { beat, before, held, history, instant, name, notice, saved, selected, set, text, wantedView } from "./signals.js";

/** Steps kept for undoing, and the characters they may hold together. */
const STEPS_KEPT = 200;
const CHARACTERS_KEPT = 4_000_000;
/** Typing that goes on within this time is one step; so are presses of a key on one grip. */
const JOINED_MS = 1500;

/** What the last step goes on with, and when it was made. */
let last = { series: "", at_ms: 0 };

/** Changes the text: one step to be undone. @param {string} next @param {string} label */
export const setText = (next, label) =>
  batch(() => {
    write(next, label);
    letGo();
  });

/**
 * One step to be undone, or the last one gone on with: what follows shortly in the same series.
 * @param {string} next @param {string} label @param {string} [series]
 */
function write(next, label, series = label.startsWith("typed") ? label : "") {
  if (next === text.value) return;
  const { past } = history.value;
  const before = past.at(-1);
  const at_ms = performance.now();
  const goesOn = before && series !== "" && series === last.series && at_ms - last.at_ms < JOINED_MS;
  last = { series, at_ms };
  batch(() => {
    history.value = { past: goesOn ? [...past.slice(0, -1), { ...before, label }] : kept([...past, asItIs(label)]), future: [] };
    text.value = next;
  });
}

/** The text as it is, as a step to come back to. @param {string} label @returns {Step} */
const asItIs = (label) => ({ text: text.value, name: name.value, saved: saved.value, label });

/** @param {Step} step */
function putBack(step) {
  last = { series: "", at_ms: 0 };
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

/** Holds these and nothing else. @param {ReadonlyMap<string, number>} values */
function holdOnly(values) {
  if (values.size === 0 && held.value.size === 0) return;
  held.value = values;
  set.value = [...values].map(([path, value]) => `${path}=${asWritten(value)}`);
}

const letGo = () => holdOnly(new Map());

/** What a fault has not that is about no place. */
const NOWHERE = { value: null, allowed: null, hint: null, about: [], line: null, column: null, length: null };

/** Rewrites come one after the other, each upon the text of the one before. @type {Promise<unknown>} */
let rewriting = Promise.resolve();

/**
 * Writes values into the text, its comments kept: one step to be undone.
 * @param {{ path: string, value: string | null }[]} changes
 * @param {string} label
 * @param {string} [series] what goes on with the step before where that was of the same series
 * @returns {Promise<DiagnosticRow[]>} what was wrong with the values; empty where they were written
 */
export function setValues(changes, label, series) {
  const done = rewriting.then(async () => {
    let asked = "";
    /** @type {Answer} */
    let answer;
    do {
      asked = text.value;
      answer = await askRewrite({ name: name.value, text: asked, changes });
      // Written by hand meanwhile: the values go into what stands there now.
    } while (asked !== text.value);
    const answered = answer;
    batch(() => {
      if (answered.answer === "text") write(answered.text, label, series);
      const written = new Map(changes.map((c) => [c.path, c.value]));
      // What has been taken hold of anew stays held.
      holdOnly(new Map([...held.value].filter(([path, value]) => written.get(path) !== asWritten(value))));
    });
    if (answered.answer === "text") return [];
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
  holdOnly(new Map([...held.value, [path, value]]));
}

/** Lets go: what is held becomes one step, or goes on with one of the same series. @param {string} [series] */
export async function release(series) {
  const changes = [...held.value].map(([path, value]) => ({ path, value: asWritten(value) }));
  if (changes.length === 0) return [];
  const faults = await setValues(changes, changes.map((c) => `${wordsOf(c.path)} ${c.value}`).join(", "), series);
  if (faults.length > 0) notice.value = trueMinus(faults[0].message.replaceAll("`", ""));
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
    if (name.value !== "") setText(content, `opened ${file}`);
    text.value = content;
    saved.value = content;
    name.value = file;
    before.value = null;
    beat.value = 0;
    instant.value = 0;
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
