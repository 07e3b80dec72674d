// @ts-check
// Positions taken one after another, and the table that grows by them.
import { signal } from "@preact/signals";
import { bareBar, besideAxis, besideRange } from "../figures/error-bar.js";
import { html } from "../html.js";
import { POSITIONS, csvOf, keepPosition, position, putBack, removePosition, removed, taken } from "../positions.js";
import { beginAnew, hearing, sounded } from "../sound.js";
import { number, signed } from "../units.js";
import { DECIMALS, decimalsFor, lasts } from "./verdict.js";

/** @import { Taken } from "../positions.js" */

/** Width of the bars beside one another, px. */
const BAR_PX = 220;

/** Rates beside one another, where there are two to be compared. @param {Taken[]} rows */
function ratesOf(rows) {
  const all = rows.flatMap(({ report: r }) => (r.rate_s_per_day !== null && r.rate_se_s_per_day !== null ? [{ value: r.rate_s_per_day, se: r.rate_se_s_per_day }] : []));
  return all.length > 1 ? besideRange(all) : null;
}

/** What came of copying. */
const copied = signal("");

async function copy() {
  const text = csvOf(taken.value);
  try {
    await navigator.clipboard.writeText(text);
    copied.value = `${taken.value.length} position${taken.value.length > 1 ? "s" : ""} copied`;
  } catch {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text], { type: "text/csv" }));
    link.download = "positions.csv";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
    copied.value = "the browser does not let it be copied: saved as positions.csv";
  }
}

/** Keeps it; the microphone goes on with the next position. */
function keep() {
  keepPosition();
  copied.value = "";
  beginAnew();
}

export function Positions() {
  const now = sounded.value;
  const ready = now !== null && !now.report.refused && hearing.value !== "file";
  const rows = taken.value;
  const range = ratesOf(rows);
  return html`<section class="positions" aria-label="Positions">
    <header><h2>Positions</h2>
      <p class="words" role="group" aria-label="Position, ISO 3158">${POSITIONS.map(({ symbol, words }) =>
        html`<button class="word" type="button" key=${symbol} title=${words} aria-label=${`${symbol}, ${words}`} aria-pressed=${position.value === symbol ? "true" : "false"}
          onClick=${() => void (position.value = symbol)}>${symbol}</button>`)}
        <button class="word" type="button" disabled=${!ready} onClick=${keep}>keep as ${position.value}</button>
        <button class="word" type="button" disabled=${rows.length === 0} onClick=${() => void copy()}>copy as CSV</button>
        ${removed.value && html`<button class="word" type="button" onClick=${putBack}>put ${removed.value.row.position} back</button>`}</p></header>
    ${rows.length === 0 ? html`<p class="quiet">${position.value} is ${POSITIONS.find((p) => p.symbol === position.value)?.words}. Kept positions stand here, one below the other (symbols of ISO 3158: H for the hour that is up).</p>`
      : html`<div class="kept"><table><thead><tr><th scope="col">position</th><th scope="col" colspan="2">rate, s/d</th><th scope="col" colspan="2">amplitude, deg</th>
        <th scope="col" colspan="2">beat error, ms</th><th scope="col">lift, deg</th><th scope="col">heard</th><th scope="col"><span class="unseen">remove</span></th>${range && html`<td class="beside"></td>`}</tr></thead>
        <tbody>${rows.map((row, i) => html`<${Line} key=${row.taken_at} row=${row} place=${i} range=${range} />`)}</tbody>
        ${range && html`<tfoot><tr><td colspan="10"></td><td class="beside">${besideAxis(range, BAR_PX, "s/d", number)}</td></tr></tfoot>`}</table></div>`}
    <p class="quiet" role="status">${copied.value}</p>
  </section>`;
}

/** @param {{ row: Taken, place: number, range: [number, number] | null }} props */
function Line({ row, place, range }) {
  const { report, by_hand } = row;
  const pair = (/** @type {number | null} */ value, /** @type {number | null} */ se, /** @type {number} */ most, sign = false, mark = "") => {
    const decimals = decimalsFor(se, most);
    return html`<td class="number">${value === null ? "–" : sign ? signed(value, decimals) : number(value, decimals)}</td>
      <td class="number se">${value !== null && se !== null ? `± ${number(se, decimals)}${mark}` : ""}</td>`;
  };
  const [amplitude, se] = by_hand ?? [report.amplitude_deg, report.amplitude_se_deg];
  return html`<tr title=${row.source}><th scope="row">${row.position}</th>
    ${pair(report.rate_s_per_day, report.rate_se_s_per_day, DECIMALS.rate, true)}
    ${pair(amplitude, se, DECIMALS.amplitude, false, by_hand ? " by hand" : "")}
    ${pair(report.beat_error_ms, report.beat_error_se_ms, DECIMALS.beatError)}
    <td class="number">${report.lift_deg === null ? "–" : number(report.lift_deg, 1)}</td><td class="number">${lasts(row.lasts_s)}</td>
    <td><button class="word" type="button" aria-label=${`remove ${row.position}`} onClick=${() => removePosition(place)}>remove</button></td>
    ${range && html`<td class="beside">${report.rate_s_per_day !== null && report.rate_se_s_per_day !== null && bareBar({ value: report.rate_s_per_day, se: report.rate_se_s_per_day }, range, BAR_PX)}</td>`}</tr>`;
}
