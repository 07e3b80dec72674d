// @ts-check
// What the escapement does in time: amplitude, rate and the other figures of the steady motion with what has changed, and
// where the energy of a beat goes.
import { html } from "../html.js";
import { before, sheet } from "../state.js";
import { number, signed, trueMinus } from "../units.js";
import { Playback } from "./playback.js";
import { TorqueCurves } from "./torque.js";

/** @import { LedgerRow, MotionFigure, Running } from "../wire" */

/** Difference to the state before, as text; empty where there is none. @param {MotionFigure} figure @param {Running | null} was */
function changeOf(figure, was) {
  const old = was?.figures.find((f) => f.path === figure.path)?.value ?? null;
  if (old === null || figure.value === null) return "";
  const text = signed(figure.value - old, figure.decimals);
  return Number(text.replace("\u2212", "-")) === 0 ? "" : text;
}

/** @param {MotionFigure} figure */
const shown = ({ unit, value, decimals }) => (unit === "s/d" && value !== null ? signed(value, decimals) : number(value, decimals));

/** @param {{ figure: MotionFigure, was: Running | null }} props */
function Line({ figure, was }) {
  const change = changeOf(figure, was);
  return html`<tr title=${figure.definition}>
    <th scope="row">${figure.name}</th>
    <td class="number">${shown(figure)}${change && html`<span class="change"><span class="unseen">changed by </span>${change}</span>`}</td>
    <td class="unit">${figure.unit}</td>
  </tr>`;
}

/** Losses of the balance itself, by place: what reaches it is spent there. */
const BALANCE = ["air and hairspring", "pivots of the balance"];
/** Smaller parts are gathered in one row. */
const LEAST_RATIO = 0.0005;

/** A part in percent. @param {number} ratio */
const percent = (ratio) => (ratio !== 0 && Math.abs(ratio) < LEAST_RATIO ? "< 0.05 %" : `${number(100 * ratio, 1)} %`);

/** @param {LedgerRow[]} rows */
const sumOf = (rows) => rows.reduce((sum, row) => sum + row.share_ratio, 0);

/** Some places under one heading with their sum; small ones as one. @param {string} heading @param {LedgerRow[]} rows @param {number} most */
function group(heading, rows, most) {
  const large = rows.filter((row) => Math.abs(row.share_ratio) >= LEAST_RATIO).sort((a, b) => b.share_ratio - a.share_ratio);
  const small = rows.filter((row) => Math.abs(row.share_ratio) < LEAST_RATIO);
  return html`<tbody><tr class="sum"><th scope="rowgroup" colspan="2">${heading}</th><td class="number">${percent(sumOf(rows))}</td></tr>
    ${large.map((row) => html`<tr key=${row.place}>
      <th scope="row">${row.place}</th>
      <td class="bar"><span style=${{ width: `${(100 * Math.max(row.share_ratio, 0)) / most}%` }}></span></td>
      <td class="number">${percent(row.share_ratio)}</td>
    </tr>`)}
    ${small.length > 0 && html`<tr><th scope="row" colspan="2">others: ${small.map((row) => row.place).join(", ")}</th>
      <td class="number">${percent(sumOf(small))}</td></tr>`}</tbody>`;
}

/** Where the energy goes: a bar for each place, as long as its part of what the train gives. @param {{ rows: LedgerRow[] }} props */
function Ledger({ rows }) {
  const [drive, ...places] = rows;
  const most = Math.max(...places.map((row) => row.share_ratio));
  const balance = places.filter((row) => BALANCE.includes(row.place));
  const way = places.filter((row) => !BALANCE.includes(row.place));
  return html`<table class="ledger">
    <caption>Of ${number(drive.nj_per_beat, 1)} nJ that the train gives in a beat</caption>
    ${group("reaches the balance", balance, most)}
    ${group("lost on the way", way, most)}
  </table>`;
}

export function MotionFigures() {
  const now = sheet.value?.running;
  if (!now) return null;
  const was = before.value?.running ?? null;
  const { defaults, figures, ledger, runs, sentence } = now;
  return html`<section class="running" aria-label="Motion">
    ${!runs && html`<p class="outcome">${sentence[0].toUpperCase() + trueMinus(sentence.slice(1))}.</p>`}
    ${figures.length > 0 && html`<table class="in-motion"><tbody>${figures.map((figure) => html`<${Line} key=${figure.path} figure=${figure} was=${was} />`)}</tbody></table>`}
    ${defaults.length > 0 && html`<details><summary>A prediction; ${defaults.length} of its masses, torques and surfaces are defaults</summary>
      <p class="legend">State what you know of ${defaults.join(", ")}.</p></details>`}
    <${Playback} />
    ${ledger.length > 0 && html`<${Ledger} rows=${ledger} />`}
    <${TorqueCurves} />
  </section>`;
}
