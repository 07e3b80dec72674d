// @ts-check
// Amplitude, rate and efficiency over the torque at the escape wheel: a few points at a time, so that edits come in
// between; begun anew with every edit.
import { effect, signal, useSignal } from "@preact/signals";
import { askSweep } from "../api.js";
import { curve, nearest, reading } from "../figures/curve.js";
import { html } from "../html.js";
import { name, set, sheet, tables, text } from "../state.js";
import { asWritten, decimalsOf, number, quantity, sign } from "../units.js";
import { fullName } from "./names.js";
import { breaks, outcomeWords, runs } from "./outcomes.js";
import { useWidth } from "./width.js";

/** @import { ParameterRow } from "../wire" */
/** @typedef {{ of: string, at: number[], values: (number | null)[][], outcomes: string[], whole: boolean }} Curves */

const PATH = "wheel.torque_un_m";
const FIGURES = ["amplitude_deg", "rate_s_per_day", "efficiency_ratio"];
/** From a quarter of the torque to one and a half, the torque itself among them; so many are asked for at a time. */
const FIRST_RATIO = 0.25;
const STEP_RATIO = 0.05;
const COUNT = 26;
const EACH = 4;
const HEIGHT_PX = 120;

const open = signal(false);
const curves = signal(/** @type {Curves | null} */ (null));
const fault = signal(/** @type {string | null} */ (null));

/** The torque of the movement. */
const torqueNow = () => sheet.peek()?.values.find((v) => v.path === PATH)?.value ?? null;

/** What the curves are of: a movement, at points about the torque that the bench has told of it. */
const subject = () => JSON.stringify([text.peek(), set.peek(), torqueNow()]);

let asking = false;

/** Asks for one stretch after another, until all are there or the movement is another. */
async function ask() {
  const row = tables.peek()?.parameters.find((p) => p.path === PATH);
  if (asking || !row) return;
  asking = true;
  while (open.peek() && set.peek().length === 0) {
    const of = subject();
    const now = curves.peek()?.of === of ? curves.peek() : null;
    const torque = torqueNow();
    if (now?.whole || !torque) break;
    const first = now?.outcomes.length ?? 0;
    const wanted = pointsOf(torque, row).slice(first, first + EACH);
    const answer = await askSweep({
      name: name.peek(), text: text.peek(), set: [], figures: FIGURES,
      axis: `${PATH}=${asWritten(wanted[0])}:${asWritten(wanted[wanted.length - 1])}:${wanted.length}`,
    });
    if (of !== subject()) continue;
    fault.value = answer.answer === "problem" ? answer.message : null;
    if (answer.answer !== "curve") break;
    const values = FIGURES.map((_, k) => [...(now?.values[k] ?? []), ...answer.figures[k].values]);
    const outcomes = [...(now?.outcomes ?? []), ...answer.outcomes];
    curves.value = { of, at: [...(now?.at ?? []), ...answer.at], values, outcomes, whole: outcomes.length === pointsOf(torque, row).length };
  }
  asking = false;
}

/** The torques looked at. @param {number} torque @param {ParameterRow} row */
function pointsOf(torque, { least, most }) {
  const all = Array.from({ length: COUNT }, (_, i) => Number(asWritten(torque * (FIRST_RATIO + i * STEP_RATIO), 6)));
  return all.filter((v) => v >= least && v <= most);
}

effect(() => {
  void sheet.value;
  if (open.value) void ask();
});

export function TorqueCurves() {
  return html`<details class="torque" open=${open.value} onToggle=${(/** @type {any} */ e) => (open.value = e.currentTarget.open)}>
    <summary>curves against the torque</summary>
    ${open.value && html`<${Curves} />`}
  </details>`;
}

function Curves() {
  const [box, width] = useWidth(320);
  const picked = useSignal(/** @type {number | null} */ (null));
  const now = curves.value;
  const present = sheet.value?.values.find((v) => v.path === PATH)?.value ?? null;
  const row = tables.value?.parameters.find((p) => p.path === PATH);
  if (present === 0) return html`<p class="legend" ref=${box}>Without a torque there is nothing to draw them against.</p>`;
  if (fault.value) return html`<p class="outcome" role="status">${fault.value}.</p>`;
  if (!now || !row || present === null) return html`<p class="legend" ref=${box} role="status">Working them out.</p>`;
  const x = { name: fullName(PATH), unit: sign(row.unit), decimals: decimalsOf(row.unit) };
  const at = picked.value !== null && picked.value < now.at.length ? picked.value : nearest(now.at, present);
  const broken = now.at.filter((_, i) => !runs(now.outcomes[i]));
  const charts = FIGURES.flatMap((path, k) => {
    const d = tables.value?.motion_figures.find((f) => f.path === path);
    // No line is drawn through points where it does not run.
    const y = now.values[k].map((v, i) => (runs(now.outcomes[i]) ? v : null));
    return d && y.some((v) => v !== null) ? [{
      title: `${d.words} over ${x.name}`, x, y: { name: d.words, unit: sign(d.unit), decimals: d.decimals },
      series: [{ kind: /** @type {"ink"} */ ("ink"), name: d.words, x: now.at, y }], present, broken, at,
      onPick: (/** @type {number} */ to) => void (picked.value = to), format: number, width, height: HEIGHT_PX,
    }] : [];
  });
  const range = (/** @type {number} */ from, /** @type {number} */ to) =>
    from === to ? `At ${quantity(from, row.unit)}` : `From ${number(from, x.decimals)} to ${quantity(to, row.unit)}`;
  return html`<div ref=${box}>
    ${!now.whole && html`<p class="legend" role="status">Working them out: ${now.at.length} of ${COUNT} points.</p>`}
    ${charts.map((c) => html`<figure key=${c.title}>${curve(c)}<figcaption>${reading(c, at)}</figcaption></figure>`)}
    ${!runs(now.outcomes[at]) && html`<p class="outcome">Here ${outcomeWords(now.outcomes[at])}.</p>`}
    <p class="legend">Upright line: ${quantity(present, row.unit)}, as it is now.</p>
    ${broken.length > 0 && html`<ul class="breaks" aria-label="Where it does not run">${breaks(now).map((b) =>
      html`<li>${range(b.from, b.to)}: ${outcomeWords(b.code)} (ticks on the axis).</li>`)}</ul>`}
  </div>`;
}
