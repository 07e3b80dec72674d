// @ts-check
// Findings in red pencil: a circle at the place, what was found written beside it.

/** @import { FigureDefinition, FindingRow, Sheet } from "../wire" */
/** @import { Point } from "../geometry.js" */
/** @import { Options } from "./drawing.js" */
/** @import { Pen } from "./pen.js" */
import { html } from "../html.js";
import { onScreen } from "../geometry.js";
import { number, sign, trueMinus } from "../units.js";
import { seen } from "./strokes.js";

const CIRCLE_PX = 9;
/** Findings nearer to one another than this share a circle. */
const TOGETHER_PX = 24;
/** Lines written beside one circle, and how far from it. */
const WRITTEN = 6;
const FAR_PX = 220;
/** What has no number is told in lines of so many letters. */
const LINE = /\S.{0,33}(?=\s|$)/g;
/** A sheet narrower than this has circles only; the words are in the notes. */
const NARROW_PX = 560;

/** The figure a finding is about and its value, where it has both. @param {FindingRow} finding @param {Sheet} sheet @param {FigureDefinition[]} definitions */
function numberOf(finding, sheet, definitions) {
  const figure = definitions.find((d) => d.path === finding.figure);
  const value = sheet.figures.find((f) => f.path === finding.figure)?.value ?? null;
  return figure && value !== null ? { figure, value } : null;
}

/**
 * A finding in short lines: its number, and what is accepted; what has no number, as it is told in the notes.
 * @param {FindingRow} finding @param {Sheet} sheet @param {FigureDefinition[]} definitions
 */
export function shortLines(finding, sheet, definitions) {
  const found = numberOf(finding, sheet, definitions);
  if (!found) return trueMinus(finding.message).match(LINE) ?? [];
  const { figure, value } = found;
  const pallet = finding.pallet ? `${finding.pallet} ` : "";
  const { accepted_least: least, accepted_most: most, unit, decimals } = figure;
  const bound = (/** @type {number} */ v) => number(v, Number.isInteger(v) ? 0 : 2);
  const range = [];
  if (least !== null && most !== null) range.push(`accepted ${bound(least)} to ${bound(most)} ${sign(unit)}`);
  else if (least !== null) range.push(`accepted from ${bound(least)} ${sign(unit)}`);
  else if (most !== null) range.push(`accepted to ${bound(most)} ${sign(unit)}`);
  return [`${pallet}${figure.words} ${number(value, decimals)} ${sign(unit)}`, ...range];
}

/** What is written beside a circle: of one finding all, of several their numbers; what is told without a number whole. @param {FindingRow[]} found @param {Sheet} sheet @param {FigureDefinition[]} definitions */
function linesOf(found, sheet, definitions) {
  if (found.length === 1) return shortLines(found[0], sheet, definitions);
  /** @type {string[]} */
  const lines = [];
  for (const [i, f] of found.entries()) {
    const own = shortLines(f, sheet, definitions);
    const said = numberOf(f, sheet, definitions) ? own.slice(0, 1) : own;
    if (i > 0 && lines.length + said.length > WRITTEN) return [...lines, `and ${found.length - i} more in the notes`];
    lines.push(...said);
  }
  return lines;
}

/** Findings whose places share a circle, worst first. @param {Sheet} sheet @param {Options} options */
function placesOf(sheet, { view, area }) {
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
  return places;
}

/** @param {Sheet} sheet @param {Options} options @param {Pen} pen */
export function findingMarks(sheet, options, pen) {
  const places = placesOf(sheet, options);
  const words = options.words && !options.area.round && options.area.width_px >= NARROW_PX;
  return html`<g class="found">
    ${places.map(({ at, found }) => {
      const [x, y] = at;
      const fault = found.some((f) => f.gravity === "fault");
      if (words) {
        const lines = linesOf(found, sheet, options.definitions);
        pen.say({ key: `found ${found[0].code} ${found[0].pallet}`, lines, at: [at], off: CIRCLE_PX + 4, far: FAR_PX, pencil: "red", may: true });
      }
      pen.take({ left: x - CIRCLE_PX, right: x + CIRCLE_PX, top: y - CIRCLE_PX, low: y + CIRCLE_PX });
      return html`<circle class=${fault ? "fault" : "caution"} cx=${x} cy=${y} r=${CIRCLE_PX} />`;
    })}
  </g>`;
}
