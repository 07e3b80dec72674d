// @ts-check
// Amplitude, rate and efficiency over the torque at the escape wheel: so few points at a time that edits come in between;
// begun anew with every edit, those of the state before beside them until they are whole.
import { batch, computed, effect, signal, useSignal } from "@preact/signals";
import { askSweepLater } from "../api.js";
import { curve, nearest, reading } from "../figures/curve.js";
import { html } from "../html.js";
import { name, set, sheet, tables, text } from "../state.js";
import { asWritten, decimalsOf, number, quantity, sign } from "../units.js";
import { fullName } from "./names.js";
import { breaks, outcomeWords, runs } from "./outcomes.js";
import { useWidth } from "./width.js";

/** @import { Answer, ParameterRow } from "../wire" */
/** @typedef {{ of: string, at: number[], values: (number | null)[][], outcomes: string[], whole: boolean }} Curves */

const PATH = "wheel.torque_un_m";
const FIGURES = ["amplitude_deg", "rate_s_per_day", "efficiency_percent"];
/** From a quarter of the torque to one and a half, the torque itself among them. */
const FIRST_RATIO = 0.25;
const STEP_RATIO = 0.05;
const COUNT = 26;
/** An edit should wait no longer for points that are on their way, ms; more than so many are never asked for at a time. */
const WAIT_MS = 250;
const MOST_EACH = 4;
const HEIGHT_PX = 120;

const open = signal(false);
const curves = signal(/** @type {Curves | null} */ (null));
/** Those of the state before, while the curves are not whole. */
const older = signal(/** @type {Curves | null} */ (null));
const fault = signal(/** @type {string | null} */ (null));

/** The torque of the movement. */
const torqueNow = computed(() => sheet.value?.values.find((v) => v.path === PATH)?.value ?? null);

/** What the curves are of: a movement, at points about the torque that the bench has told of it. */
const subject = computed(() => JSON.stringify([text.value, set.value, torqueNow.value]));

let asking = false;

/** Asks for one stretch after another, until all are there. */
async function ask() {
  const row = tables.peek()?.parameters.find((p) => p.path === PATH);
  if (asking || !row) return;
  asking = true;
  while (await askNext(row));
  asking = false;
}

/** How many points are asked for at a time: one until it is known how long they take. */
let each = 1;

/** Asks for the next points; whether more are to be asked for. @param {ParameterRow} row */
async function askNext(row) {
  const [of, torque] = [subject.peek(), torqueNow.peek()];
  const now = curves.peek()?.of === of ? curves.peek() : null;
  if (!open.peek() || set.peek().length > 0 || now?.whole || !torque) return false;
  const all = pointsOf(torque, row);
  const first = now?.outcomes.length ?? 0;
  const wanted = all.slice(first, first + each);
  const asked_ms = performance.now();
  const answer = await askSweepLater({
    name: name.peek(), text: text.peek(), set: [], figures: FIGURES,
    axis: `${PATH}=${asWritten(wanted[0])}:${asWritten(wanted[wanted.length - 1])}:${wanted.length}`,
  });
  const one_ms = (performance.now() - asked_ms) / wanted.length;
  each = Math.min(Math.max(Math.floor(WAIT_MS / one_ms), 1), MOST_EACH);
  if (of !== subject.peek()) return true;
  batch(() => takeUp(of, now, answer, all.length));
  return answer.answer === "curve";
}

/** Takes up points. @param {string} of @param {Curves | null} now what there is already @param {Answer} answer @param {number} count of all */
function takeUp(of, now, answer, count) {
  fault.value = answer.answer === "problem" ? answer.message : null;
  if (answer.answer !== "curve") return;
  const was = curves.peek();
  const values = FIGURES.map((_, k) => [...(now?.values[k] ?? []), ...answer.figures[k].values]);
  const outcomes = [...(now?.outcomes ?? []), ...answer.outcomes];
  const whole = outcomes.length === count;
  curves.value = { of, at: [...(now?.at ?? []), ...answer.at], values, outcomes, whole };
  if (whole) older.value = null;
  else if (!now && was?.whole) older.value = was;
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
  const present = torqueNow.value;
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
    const running = (/** @type {Curves} */ of) => of.values[k].map((v, i) => (runs(of.outcomes[i]) ? v : null));
    const y = running(now);
    const was = older.value;
    const before = was ? [{ kind: /** @type {"before"} */ ("before"), name: "state before", x: was.at, y: running(was) }] : [];
    return d && [y, ...before.map((b) => b.y)].some((all) => all.some((v) => v !== null)) ? [{
      title: `${d.words} over ${x.name}`, x, y: { name: d.words, unit: sign(d.unit), decimals: d.decimals },
      series: [{ kind: /** @type {"ink"} */ ("ink"), name: d.words, x: now.at, y }, ...before], present, broken, at,
      onPick: (/** @type {number} */ to) => void (picked.value = to), format: number, width, height: HEIGHT_PX,
    }] : [];
  });
  const range = (/** @type {number} */ from, /** @type {number} */ to) =>
    from === to ? `At ${quantity(from, row.unit)}` : `From ${number(from, x.decimals)} to ${quantity(to, row.unit)}`;
  return html`<div ref=${box}>
    ${now.of !== subject.value ? html`<p class="stale" role="status">The curves are of the state before.</p>`
      : !now.whole && html`<p class="legend" role="status">Working them out: ${now.at.length} of ${COUNT} points${older.value ? "; dashed: the state before" : ""}.</p>`}
    ${charts.map((c) => html`<figure key=${c.title}>${curve(c)}<figcaption>${reading(c, at)}</figcaption></figure>`)}
    ${!runs(now.outcomes[at]) && html`<p class="outcome">Here ${outcomeWords(now.outcomes[at])}.</p>`}
    <p class="legend">Upright line: ${quantity(present, row.unit)}, as it is now.</p>
    ${broken.length > 0 && html`<ul class="breaks" aria-label="Where it does not run">${breaks(now).map((b) =>
      html`<li>${range(b.from, b.to)}: ${outcomeWords(b.code)} (ticks on the axis).</li>`)}</ul>`}
  </div>`;
}
