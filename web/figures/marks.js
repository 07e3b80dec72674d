// @ts-check
// Marks on the drawing: what touches and which way it pushes, what was found, how large it is drawn.

/** @import { FigureDefinition, FindingRow, Sheet } from "../api.d.ts" */
/** @import { Area, View, Point } from "../geometry.js" */
/** @import { Options } from "./drawing.js" */
import { html } from "../html.js";
import { onScreen } from "../geometry.js";
import { number, quantity, sign } from "../units.js";
import { cut, head, seen, stroke } from "./strokes.js";

/** Length of the arrow on the drawing: it says which way, not how hard. */
const ARROW_PX = 46;
/** Free space between text and line. */
const OFF_PX = 4;
const LINE_PX = 16;

/**
 * Contact of tooth and stone: an open circle, the line of action along the normal, the arms of both axes about it, and an
 * arrow for the way the tooth pushes.
 * @param {Sheet} sheet @param {Options} options
 */
export function contactMarks(sheet, { instant, view, area, words }) {
  const c = sheet.oscillation?.contact[instant];
  if (!c) return null;
  const [x, y, nx, ny, wheelArm, leverArm] = c;
  const at = onScreen(view, area, [x, y]);
  const along = (/** @type {number} */ mm) => onScreen(view, area, [x + mm * nx, y + mm * ny]);
  const foot = (/** @type {number[]} */ axis) => (axis[0] - x) * nx + (axis[1] - y) * ny;
  const [wheel, pallets] = sheet.axes_mm;
  const feet = [foot(wheel), foot(pallets)];
  const ends = [Math.min(0, ...feet) - 0.3, Math.max(0, ...feet) + 0.3];
  const arm = (/** @type {number[]} */ axis, /** @type {number} */ t) => cut(onScreen(view, area, axis), along(t), area);
  /** @type {Point} */
  const push = [-nx, ny];
  /** @type {Point} */
  const tail = [at[0] - push[0] * (ARROW_PX + 5), at[1] - push[1] * (ARROW_PX + 5)];
  /** @type {Point} */
  const tip = [at[0] - push[0] * 5, at[1] - push[1] * 5];
  return html`<g class="contact">
    <g class="action">${cut(along(ends[0]), along(ends[1]), area)}</g>
    <g class="arms">
      ${arm(wheel, feet[0])} ${arm(pallets, feet[1])}
      ${words ? armText(wheel, along(feet[0]), `arm at the wheel ${quantity(Math.abs(wheelArm), "mm")}`) : null}
      ${words ? armText(pallets, along(feet[1]), `arm at the lever ${quantity(Math.abs(leverArm), "mm")}`) : null}
    </g>
    ${seen(at, area, ARROW_PX)
      ? html`<g class="push">
            ${stroke(tail, tip)} ${head(tip, push)}
          </g>
          <circle class="touch" cx=${at[0]} cy=${at[1]} r="4" />`
      : null}
  </g>`;

  /** @param {number[]} axis @param {Point} end @param {string} said */
  function armText(axis, end, said) {
    const from = onScreen(view, area, axis);
    /** @type {Point} */
    const middle = [(from[0] + end[0]) / 2, (from[1] + end[1]) / 2];
    // An arm that is short on the screen has no room for its words.
    if (!seen(middle, area) || Math.hypot(end[0] - from[0], end[1] - from[1]) < 40) return null;
    const left = middle[0] < area.width_px / 2;
    return html`<text x=${middle[0] + (left ? -8 : 8)} y=${middle[1]} text-anchor=${left ? "end" : "start"}>${said}</text>`;
  }
}

/** A finding in few words, with its number. @param {FindingRow} finding @param {Sheet} sheet @param {FigureDefinition[]} definitions */
export function shortText(finding, sheet, definitions) {
  const figure = definitions.find((d) => d.path === finding.figure);
  const value = sheet.figures.find((f) => f.path === finding.figure)?.value;
  const pallet = finding.pallet ? `${finding.pallet} ` : "";
  if (!figure || value === null || value === undefined) return `${pallet}${finding.code.replaceAll("-", " ")}`;
  const { accepted_least: least, accepted_most: most, unit, decimals } = figure;
  const range =
    least !== null && most !== null
      ? `, accepted ${number(least, 1)} to ${number(most, 1)}`
      : least !== null
        ? `, at least ${number(least, 1)}`
        : most !== null
          ? `, at most ${number(most, 1)}`
          : "";
  return `${pallet}${figure.words} ${number(value, decimals)} ${sign(unit)}${range}`.trim();
}

/** Findings in red pencil at their place; those of one place one below the other. @param {Sheet} sheet @param {Options} options */
export function findingMarks(sheet, { view, area, definitions, words }) {
  /** @type {Map<string, { at: Point, said: string[] }>} */
  const places = new Map();
  for (const finding of sheet.findings) {
    if (!finding.place_mm) continue;
    const at = onScreen(view, area, finding.place_mm);
    if (!seen(at, area)) continue;
    const key = at.map((v) => Math.round(v / 24)).join();
    const place = places.get(key) ?? { at, said: [] };
    const said = shortText(finding, sheet, definitions);
    if (!place.said.includes(said)) place.said.push(said);
    places.set(key, place);
  }
  return html`<g class="found">
    ${[...places.values()].map(({ at: [x, y], said }) => {
      const way = x < area.width_px / 2 ? -1 : 1;
      const [tx, ty] = [x + way * 40, y - 28];
      return html`<circle cx=${x} cy=${y} r="9" />
        ${words
          ? html`<path d="M${x + way * 7} ${y - 6}L${tx} ${ty}h${way * 8}" />
              ${said.map(
                (line, i) =>
                  html`<text x=${tx + way * (8 + OFF_PX)} y=${ty + 4 + i * LINE_PX} text-anchor=${way < 0 ? "end" : "start"}>${line}</text>`,
              )}`
          : null}`;
    })}
  </g>`;
}

/** Px of the screen in a mm of it: a px is a 96th of an inch. */
const PX_IN_MM = 96 / 25.4;

/** How large it is drawn, as drawings say it. @param {View} view */
export function scaleOf(view) {
  const scale = view.px_per_mm / PX_IN_MM;
  return `scale ${scale < 100 ? scale.toFixed(1) : Math.round(scale)} : 1`;
}

/** Lengths a scale bar may have, mm. */
const BARS = [1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 1e-1, 1, 10].flatMap((p) => [1, 2, 5].map((k) => k * p));

/** A bar of a round length. @param {View} view @param {Area} area */
export function scaleBar(view, area) {
  const length_mm = BARS.findLast((b) => b * view.px_per_mm <= 160) ?? BARS[0];
  const length = length_mm * view.px_per_mm;
  const [x, y] = [16, area.height_px - 16];
  const said = length_mm < 0.1 ? `${Number((length_mm * 1e3).toPrecision(3))} \u00b5m` : `${Number(length_mm.toPrecision(3))} mm`;
  return html`<g class="scale">
    <path d="M${x} ${y - 5}V${y}H${x + length}V${y - 5}M${x + length / 2} ${y - 3}V${y}" />
    <text x=${x + length + 2 * OFF_PX} y=${y}>${said}</text>
  </g>`;
}
