// @ts-check
// The strip at the foot of a margin: what the selected parameter or figure is, on demand and without moving the list.
import { html } from "../html.js";
import { number, quantity, sign } from "../units.js";
import { choiceWords, fullName, ORIGINS, tablePath, twinOf } from "./names.js";

/** @import { FigureDefinition, ParameterRow, ValueRow } from "../wire" */

/** The values a parameter may have, in words. @param {ParameterRow} row */
function allowed({ least, most, unit, choices }) {
  if (choices.length > 0) return choices.map(choiceWords).join(", ");
  const short = (/** @type {number} */ v) => String(v).replace("-", "\u2212");
  return `${short(least)} to ${short(most)}${unit ? ` ${sign(unit)}` : ""}`;
}

/** Where a value comes from, as a sentence. @param {ParameterRow} row @param {ValueRow | undefined} value */
function origin(row, value) {
  const bare = row.unstated.replace(/^unstated: /, "").replaceAll('"', "").replaceAll("_", " ");
  if (value?.origin === "stated") return row.unstated.startsWith("must") ? "Stated; it must be." : `Stated. Unstated: ${bare}.`;
  if (!value) return `Not there. Unstated: ${bare}.`;
  return value.origin === "default" ? `Default (d): ${bare}.` : "Derived (=) from what is stated.";
}

/**
 * @param {object} props
 * @param {ParameterRow | undefined} props.row
 * @param {string | null} props.path
 * @param {ValueRow | undefined} props.value
 * @param {() => void} props.takeAway
 */
export function ParameterDetail({ row, path, value, takeAway }) {
  if (!row || path === null) {
    return html`<div class="detail" role="group" aria-label="About the selected parameter">
      <p class="quiet">Bare values are stated, d is a default, = is derived. Empty a field to take its statement away.</p>
    </div>`;
  }
  const removable = value?.origin === "stated" && !row.unstated.startsWith("must");
  return html`<div class="detail" role="group" aria-label="About the selected parameter">
    <p class="about" id="statement-detail"><b>${fullName(path)}</b>. ${row.definition}. Allowed ${allowed(row)}. ${origin(row, value)}${
      twinOf(path) === path || row.choices.length > 0 ? "" : " Shift and Enter write it for both pallets."}</p>
    ${removable && html`<button type="button" class="word" onClick=${takeAway}>Take the statement away</button>`}
  </div>`;
}

/** The accepted range of a figure in words. @param {FigureDefinition} figure */
export function acceptedText({ accepted_least: least, accepted_most: most }) {
  const short = (/** @type {number} */ v) => number(v, Number.isInteger(v) ? 0 : (String(v).split(".")[1]?.length ?? 0));
  if (least !== null && most !== null) return `${short(least)} to ${short(most)}`;
  if (least !== null) return `at least ${short(least)}`;
  return most === null ? "" : `at most ${short(most)}`;
}

/**
 * @param {object} props
 * @param {FigureDefinition | undefined} props.figure
 * @param {{ path: string, pallet: string }[]} props.sides the same figure of both pallets
 * @param {{ wanted: number | null, wanted_origin: string | null } | undefined} props.row
 * @param {(path: string) => void} props.choose
 */
export function FigureDetail({ figure, sides, row, choose }) {
  if (!figure) {
    return html`<div class="detail" role="group" aria-label="About the selected figure">
      <p class="quiet">Select a figure to read what it is and where its accepted range comes from.</p>
    </div>`;
  }
  const range = acceptedText(figure);
  const wanted = row?.wanted ?? null;
  const from = ORIGINS[row?.wanted_origin ?? ""]?.word;
  return html`<div class="detail" role="group" aria-label="About the selected figure">
    <p class="sides"><b>${figure.words}</b>${sides.map((s) => html`<button type="button" class="word"
      aria-pressed=${s.path === figure.path ? "true" : "false"} onClick=${() => choose(s.path)}>${s.pallet}</button>`)}</p>
    <p class="about">${figure.definition}.
      ${wanted !== null && ` Wanted ${quantity(wanted, figure.unit, figure.decimals)} (${from}).`}
      ${range && ` Accepted ${range}${figure.unit ? ` ${sign(figure.unit)}` : ""}: ${figure.source}.`}</p>
  </div>`;
}

/** The table row of a path. @param {ParameterRow[]} rows @param {string} path */
export const rowOf = (rows, path) => rows.find((r) => r.path === tablePath(path));
