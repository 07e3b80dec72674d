// @ts-check
// Findings in red pencil: a circle at the place, a line to words at the side of the sheet.

/** @import { FigureDefinition, FindingRow, Sheet } from "../wire" */
/** @import { Point } from "../geometry.js" */
/** @import { Options } from "./drawing.js" */
import { html } from "../html.js";
import { onScreen } from "../geometry.js";
import { number, sign } from "../units.js";
import { label, seen, stroke, widthOf } from "./strokes.js";

const CIRCLE_PX = 9;
const LINE_PX = 15;
const NOTE_PX = 38;
const EDGE_PX = 16;
/** Findings nearer to one another than this share a circle. */
const TOGETHER_PX = 24;
/** Notes a side has room for. */
const NOTES_A_SIDE = 4;
/** The first note stands so far down the sheet: left under the insets, right above the title block. */
const FIRST_RATIO = 0.62;
/** A sheet narrower than this has circles only; the words are in the notes. */
const NARROW_PX = 560;

/**
 * A finding in two short lines: its number, and what is accepted.
 * @param {FindingRow} finding @param {Sheet} sheet @param {FigureDefinition[]} definitions
 */
export function shortLines(finding, sheet, definitions) {
  const figure = definitions.find((d) => d.path === finding.figure);
  const value = sheet.figures.find((f) => f.path === finding.figure)?.value;
  const pallet = finding.pallet ? `${finding.pallet} ` : "";
  if (!figure || value === null || value === undefined) return [`${pallet}${finding.code.replaceAll("-", " ")}`];
  const { accepted_least: least, accepted_most: most, unit, decimals } = figure;
  const bound = (/** @type {number} */ v) => number(v, Number.isInteger(v) ? 0 : 2);
  const range = [];
  if (least !== null && most !== null) range.push(`accepted ${bound(least)} to ${bound(most)} ${sign(unit)}`);
  else if (least !== null) range.push(`accepted from ${bound(least)} ${sign(unit)}`);
  else if (most !== null) range.push(`accepted to ${bound(most)} ${sign(unit)}`);
  return [`${pallet}${figure.words} ${number(value, decimals)} ${sign(unit)}`, ...range];
}

/** @param {Sheet} sheet @param {Options} options */
export function findingMarks(sheet, options) {
  const { view, area } = options;
  /** @type {{ at: Point, found: FindingRow[] }[]} */
  const places = [];
  for (const finding of sheet.findings) {
    if (!finding.place_mm) continue;
    const at = onScreen(view, area, finding.place_mm);
    if (!seen(at, area)) continue;
    const near = places.find((p) => Math.hypot(p.at[0] - at[0], p.at[1] - at[1]) < TOGETHER_PX);
    if (near) near.found.push(finding);
    else places.push({ at, found: [finding] });
  }
  const words = options.words && !area.round && area.width_px >= NARROW_PX;
  const middle = onScreen(view, area, sheet.axes_mm[1])[0];
  const side = (/** @type {boolean} */ left) =>
    notes(places.filter((p) => p.at[0] < middle === left), left, sheet, options);
  return html`<g class="found">
    ${places.map(({ at: [x, y], found }) => {
      const fault = found.some((f) => f.gravity === "fault");
      return html`<circle class=${fault ? "fault" : "caution"} cx=${x} cy=${y} r=${CIRCLE_PX} />`;
    })}
    ${words ? [side(true), side(false)] : null}
  </g>`;
}

/**
 * Words at one side, from the highest place down.
 * @param {{ at: Point, found: FindingRow[] }[]} places @param {boolean} left @param {Sheet} sheet @param {Options} options
 */
function notes(places, left, sheet, { area, definitions }) {
  const rows = places
    .sort((a, b) => a.at[1] - b.at[1])
    .flatMap(({ at, found }) => found.map((f, i) => ({ at, f, leads: i === 0 })));
  const x = left ? EDGE_PX : area.width_px - EDGE_PX;
  const anchor = left ? "start" : "end";
  const first = (left ? FIRST_RATIO : FIRST_RATIO - 0.02) * area.height_px;
  const down = (/** @type {number} */ i) => first + i * NOTE_PX;
  const more = rows.length - NOTES_A_SIDE;
  return html`${rows.slice(0, NOTES_A_SIDE).map(({ at, f, leads }, i) => {
    const lines = shortLines(f, sheet, definitions);
    return html`${leads ? lead(at, [x + (left ? 1 : -1) * (widthOf(lines[0]) + 6), down(i) - 4]) : null}
    ${lines.map((line, k) => label([x, down(i) + k * LINE_PX], anchor, line, area))}`;
  })}
  ${more > 0 ? label([x, down(NOTES_A_SIDE)], anchor, `and ${more} more in the notes`, area) : null}`;
}

/** From the circle to the words. @param {Point} at @param {Point} end */
function lead(at, end) {
  const far = Math.hypot(end[0] - at[0], end[1] - at[1]);
  if (far < CIRCLE_PX) return null;
  const t = CIRCLE_PX / far;
  return stroke([at[0] + t * (end[0] - at[0]), at[1] + t * (end[1] - at[1])], end);
}
