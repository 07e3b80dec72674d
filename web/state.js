// @ts-check
// What the page knows and every way of changing it, as named actions.

/** @import { Answer, Oscillation, Sheet, Shown } from "./wire" */
import { batch, effect } from "@preact/signals";
import { askSheet } from "./api.js";
import { countOf, phases, sameMoment, shownAt, withInstant } from "./moment.js";
import { keepingSame } from "./same.js";
import { trueMinus } from "./units.js";
import {
  area, beat, before, held, instant, live, name, notice, played_s, readInstant, reply, selected, set, sheet, sideshake, text, turned,
  wantedMotion, wantedView,
} from "./signals.js";

export {
  area, beat, before, grips, history, instant, left, link, live, name, notice, pins, played, played_s, readInstant, reply, saved, screen, selected, set,
  sheet, sideshake, tables, text, theme, turned, view, wantedMotion, wantedView,
} from "./signals.js";
export {
  dropHeld, hold, openFile, redo, release, saveFile, setText, setValue, setValues, takeUp, undo,
} from "./edits.js";

/** While something is held the whole sheet is asked for so often, in between only what is drawn: faster is not read. */
const WHOLE_EACH_MS = 300;

let whole_ms = 0;
let whole_beat = 0;
let asking = 0;

/** @typedef {{ brief: boolean, asked: Oscillation | null, at: number, shown: Shown | null }} Wanted what of a sheet was asked for, and at which moment of which table */

/** Asks for the sheet of what is here; called whenever that changes. */
export async function askForSheet() {
  clearTimeout(asking);
  const question = {
    name: name.value, text: text.value, set: set.value, beat: beat.value, sideshake: sideshake.value,
  };
  // Nothing has been laid on the bench yet; an emptied text is a text.
  if (question.name === "") return;
  const wanted = wantedOf(question);
  const answer = await askSheet({ ...question, brief: wanted.brief, shown: wanted.shown });
  // The text has been changed since: what came is an answer about the text of before.
  if (!answer || question.text !== text.peek() || question.name !== name.peek()) return;
  if (!wanted.brief) [whole_ms, whole_beat] = [performance.now(), question.beat];
  else if (held.peek().size > 0) asking = window.setTimeout(askForSheet, WHOLE_EACH_MS);
  const one = answer.answer === "sheet" && wanted.shown !== null && answer.sheet?.oscillation?.wheel_deg.length === 1;
  // What is shown has been turned meanwhile: of that moment nothing was sent.
  if (one && (wanted.asked?.spans !== turned.peek()?.spans || wanted.at !== instant.peek())) return void askForSheet();
  batch(() => takeAnswer(answer, wanted, one));
}

/** What is asked for: all of it, or while something is held and the whole came lately, what is drawn. @param {{ beat: number, sideshake: boolean }} question @returns {Wanted} */
function wantedOf({ beat: from, sideshake: tried }) {
  const brief = held.peek().size > 0 && !tried && from === whole_beat && performance.now() - whole_ms < WHOLE_EACH_MS;
  const [asked, at] = [turned.peek(), instant.peek()];
  // Where it stops, the moment may come to be another, or none.
  const stopped = Boolean(live.peek()?.stop) && at === countOf(live.peek()) - 1;
  return { brief, asked, at, shown: brief && asked && !stopped ? shownAt(asked, at) : null };
}

/** @param {Answer} answer @param {Wanted} wanted @param {boolean} one whether it has the instant shown alone */
function takeAnswer(answer, wanted, one) {
  if (answer.answer === "problem") notice.value = trueMinus(answer.message);
  if (answer.answer !== "sheet") return;
  reply.value = keepingSame(reply.peek(), { diagnostics: answer.diagnostics, sheet: answer.sheet !== null });
  if (answer.sheet) takeSheet(answer.sheet, wanted, one);
}

/** Takes up a sheet; the moment shown stays, as far into the same phase. @param {Sheet} came @param {Wanted} wanted @param {boolean} one */
function takeSheet(came, { brief, at }, one) {
  const table = turned.peek();
  const sent = one && table ? ofOneInstant(came, table, at, live.peek()?.stop ?? null) : came;
  const now = keepingSame(live.peek(), brief ? completed(sent, live.peek()) : sent);
  if (!one && now.oscillation) instant.value = sameMoment(table, now.oscillation, instant.peek());
  if (one || now.oscillation) turned.value = now.oscillation;
  live.value = now;
  settle(brief);
}

/**
 * A sheet sent with the instant shown alone, in the table of before, which ends as it did.
 * @param {Sheet} sheet @param {Oscillation} table @param {number} at
 * @param {Sheet["stop"]} stop what ends that table
 * @returns {Sheet}
 */
function ofOneInstant(sheet, table, at, stop) {
  /** @type {[number, number]} */
  const here = [at, at + 1];
  const findings = sheet.findings.map((f) => (f.instants.length > 0 ? { ...f, instants: [here] } : f));
  return { ...sheet, findings, stop, oscillation: sheet.oscillation && withInstant(table, at, sheet.oscillation) };
}

/** A sheet of what is drawn only, with the rest as it was. @param {Sheet} now @param {Sheet | null} was @returns {Sheet} */
function completed(now, was) {
  if (!was) return now;
  const handles = was.handles.map((h) => now.handles.find((n) => n.path === h.path) ?? h);
  return { ...now, handles, values: was.values, curves: was.curves, running: was.running };
}

/** Not every browser has it. @type {(act: () => void, how: { timeout: number }) => unknown} */
const whenIdle = window.requestIdleCallback ?? setTimeout;

/** Brings lists and curves up to the drawing, sheet and moment together. */
const bringUp = () =>
  batch(() => {
    sheet.value = live.peek();
    readInstant.value = instant.peek();
  });

/** After an answer: at once; while something is held only with a whole sheet, when the drawing is done. @param {boolean} brief */
function settle(brief) {
  if (held.peek().size === 0) bringUp();
  else if (!brief) whenIdle(bringUp, { timeout: WHOLE_EACH_MS });
}

let reading = false;
effect(() => {
  void instant.value;
  if (reading || held.peek().size > 0) return;
  reading = true;
  whenIdle(() => {
    reading = false;
    bringUp();
  }, { timeout: WHOLE_EACH_MS });
});

/** Keeps the sheet as it is, to compare with. */
export const keepBefore = () => void (before.value = live.value);
/** Compares no longer. */
export const dropBefore = () => void (before.value = null);

/**
 * Shows another moment, turned by hand. Beyond the table's end it begins anew, where teeth differ with the beats that follow; one that
 * comes to a stop ends there.
 * @param {number} wanted
 */
export function goTo(wanted) {
  const count = countOf(live.value);
  if (count === 0) return;
  const index = live.value?.stop ? Math.min(Math.max(wanted, 0), count - 1) : wanted;
  const round = Math.floor(index / count);
  batch(() => {
    played_s.value = null;
    wantedMotion.value = null;
    instant.value = index - round * count;
    const beats = live.value?.beat_count ?? 2;
    if (round !== 0 && beats > 2) beat.value = (((beat.value + 2 * round) % beats) + beats) % beats;
  });
}

/** Moves by instants. @param {number} by */
export const step = (by) => goTo(instant.value + by);

/** Moves to the start of the next phase, or back to the start of the one before. @param {1 | -1} way */
export function toPhase(way) {
  const oscillation = live.value?.oscillation;
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
