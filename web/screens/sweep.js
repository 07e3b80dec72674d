// @ts-check
// One parameter varied, figures read: choose, ask, and look at the curves.
import { signal, useSignal } from "@preact/signals";
import { askSweep } from "../api.js";
import { html } from "../html.js";
import { name, selected, set, sheet, tables, text } from "../state.js";
import { asWritten, number, sign } from "../units.js";
import { figureName, figuresOf, fullName, toothOf, withUnit } from "./names.js";
import { Pick } from "./pick.js";
import { SweepResult } from "./sweep-result.js";

/** @import { ParameterRow, Tables } from "../wire" */
/** @import { Swept } from "./sweep-result.js" */

const MOST_FIGURES = 4;
const MOST_POINTS = 2000;
/** The same with figures of the motion, which is found at each. */
const MOST_PLAYED = 100;

/** What is asked and what came of it: kept while the screen is folded away. */
const form = {
  path: signal("pallets.exit.stone_out_mm"),
  first: signal(""),
  last: signal(""),
  count: signal("41"),
  figures: signal(["exit.lock_deg", "exit.drop_deg"]),
};
const result = signal(/** @type {Swept | null} */ (null));

/** Parameters that can be varied. @param {Tables} all */
const varied = (all) => all.parameters.filter((p) => p.choices.length === 0 && toothOf(p.path) === null);

/** Names by which parameters and figures are chosen; where two have the same, the unit tells them apart. @param {{ path: string, name: string, unit: string, definition: string }[]} rows */
function choices(rows) {
  const twice = (/** @type {string} */ n) => rows.filter((r) => r.name === n).length > 1;
  return rows.map(({ path, name, unit, definition }) => ({ path, definition, name: twice(name) ? withUnit(name, unit) : name }));
}

/** A range to begin with, about the value now and inside what is allowed. @param {ParameterRow} row @param {number | null} now */
function usualRange(row, now) {
  const value = now ?? (row.least + row.most) / 2;
  if (row.path.endsWith("_count")) {
    const [first, last] = [Math.max(row.least, Math.round(value) - 3), Math.min(row.most, Math.round(value) + 3)];
    return { first: String(first), last: String(last), count: String(last - first + 1) };
  }
  const zero = Math.abs(value) < 1e-9;
  const reach = zero || row.role === "bench" ? (row.unit === "deg" ? 1 : 0.05) : 0.2 * Math.abs(value);
  const round = (/** @type {number} */ v) => asWritten(Math.min(row.most, Math.max(row.least, v)), 4);
  return { first: round(value - reach), last: round(value + reach), count: "41" };
}

/** What is wrong with what is written, if anything. @param {ParameterRow} row */
function wrongWith(row) {
  const plays = form.figures.value.some((path) => tables.value?.motion_figures.some((f) => f.path === path));
  const most = plays ? MOST_PLAYED : MOST_POINTS;
  const unit = row.unit ? ` ${sign(row.unit)}` : "";
  for (const [word, field] of /** @type {const} */ ([["first", form.first], ["last", form.last]])) {
    const value = Number(field.value.trim().replaceAll("\u2212", "-") || NaN);
    if (!Number.isFinite(value)) return `the ${word} value is “${field.value}”: write a number with a decimal point`;
    if (value < row.least || value > row.most) {
      return `the ${word} value is ${field.value}${unit}; ${fullName(row.path)} may be ${row.least} to ${row.most}${unit}`;
    }
  }
  const count = Number(form.count.value.trim() || NaN);
  if (!Number.isInteger(count) || count < 2 || count > most) {
    return `the number of points is “${form.count.value}”: write a whole number from 2 to ${most}${plays ? " with figures of the motion" : ""}`;
  }
  return form.figures.value.length === 0 ? "no figure is chosen: choose one to four" : null;
}

export function Sweep() {
  const wrong = useSignal(/** @type {string | null} */ (null));
  const waiting = useSignal(false);
  const all = tables.value;
  if (!all) return null;
  const rows = varied(all);
  const parameters = choices(rows.map((p) => ({ ...p, name: fullName(p.path) })));
  const figures = choices(figuresOf(all).map((f) => ({ ...f, name: figureName(f) })));
  const row = rows.find((p) => p.path === form.path.value) ?? rows[0];
  const value = (/** @type {string} */ path) => sheet.value?.values.find((v) => v.path === path)?.value ?? null;

  /** @param {string} path */
  const choose = (path) => {
    const next = rows.find((p) => p.path === path);
    if (!next) return;
    const { first, last, count } = usualRange(next, value(path));
    [form.path.value, form.first.value, form.last.value, form.count.value] = [path, first, last, count];
    wrong.value = null;
  };
  if (form.first.value === "" && form.last.value === "" && sheet.value) queueMicrotask(() => choose(row.path));

  const run = async (/** @type {Event} */ event) => {
    event.preventDefault();
    wrong.value = wrongWith(row);
    if (wrong.value !== null) return;
    waiting.value = true;
    const asked = text.value;
    const plain = (/** @type {{ value: string }} */ f) => f.value.trim().replaceAll("\u2212", "-");
    const axis = `${row.path}=${plain(form.first)}:${plain(form.last)}:${plain(form.count)}`;
    const answer = await askSweep({ name: name.value, text: asked, set: set.value, axis, figures: form.figures.value });
    waiting.value = false;
    if (answer.answer === "curve") result.value = { ...answer, text: asked };
    else wrong.value = answer.answer === "problem" ? answer.message : "the bench did not answer with a curve";
  };
  /** @param {{ value: string }} to @param {string} label @param {string} unit */
  const field = (to, label, unit) => html`<label class="sweep-number"><span>${label}</span>
    <input type="text" inputmode="decimal" value=${to} onKeyDown=${(/** @type {Event} */ e) => e.stopPropagation()}
      onInput=${(/** @type {any} */ e) => (to.value = e.currentTarget.value)} /><span class="unit">${unit}</span></label>`;
  const chosen = form.figures.value;
  const offered = selected.value !== null && selected.value !== row.path && rows.some((p) => p.path === selected.value) ? selected.value : null;
  const now = value(row.path);
  return html`<section class="sweep-sheet" aria-label="Sweep">
    <h2 class="unseen">Sweep</h2>
    <form onSubmit=${run} aria-label="What to vary and what to read">
      <${Pick} id="sweep-parameter" label="vary" choices=${parameters} value=${parameters.find((p) => p.path === row.path)?.name ?? ""} take=${choose} />
      ${offered !== null && html`<button type="button" class="word" onClick=${() => choose(offered)}>Vary ${fullName(offered)}</button>`}
      <p class="quiet">${row.definition}.${now !== null && ` Now ${number(now, 4)}${row.unit ? ` ${sign(row.unit)}` : ""}.`}</p>
      <div class="numbers">${field(form.first, "first", sign(row.unit))} ${field(form.last, "last", sign(row.unit))} ${field(form.count, "points", "")}</div>
      <ul class="chosen" aria-label="Figures read">${chosen.map((path) => html`<li key=${path}>
        ${figures.find((f) => f.path === path)?.name ?? path}
        <button type="button" class="word" aria-label=${`Leave out ${figures.find((f) => f.path === path)?.name}`}
          onClick=${() => (form.figures.value = chosen.filter((p) => p !== path))}>leave out</button></li>`)}</ul>
      ${chosen.length < MOST_FIGURES && html`<${Pick} id="sweep-figure" label="read" empties=${true} value=""
        choices=${figures.filter((f) => !chosen.includes(f.path))} take=${(/** @type {string} */ p) => (form.figures.value = [...chosen, p])} />`}
      <button type="submit" class="word run" disabled=${waiting.value}>${waiting.value ? "Working it out" : "Draw the curves"}</button>
      ${wrong.value && html`<p class="fault" role="status">${wrong.value}.</p>`}
    </form>
    ${result.value && html`<${SweepResult} swept=${result.value} />`}
  </section>`;
}
