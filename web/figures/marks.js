// @ts-check
// Marks on the drawing: what touches and which way it pushes, what was found, how large it is drawn.

/** @import { Sheet } from "../wire" */
/** @import { Area, View, Point } from "../geometry.js" */
/** @import { Options } from "./drawing.js" */
import { html } from "../html.js";
import { onScreen } from "../geometry.js";
import { quantity } from "../units.js";
import { cut, head, label, seen, stroke } from "./strokes.js";

/** Length of the arrow on the drawing: it says which way, not how hard. */
const ARROW_PX = 46;
/** Free space between text and line. */
const OFF_PX = 4;

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
      ${words ? armText(wheel, along(feet[0]), `wheel arm ${quantity(Math.abs(wheelArm), "mm")}`) : null}
      ${words ? armText(pallets, along(feet[1]), `lever arm ${quantity(Math.abs(leverArm), "mm")}`) : null}
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
    const middle = [from[0] + 0.5 * (end[0] - from[0]), from[1] + 0.5 * (end[1] - from[1])];
    // An arm that is short on the screen has no room for its words.
    if (!seen(middle, area) || Math.hypot(end[0] - from[0], end[1] - from[1]) < 40) return null;
    const left = end[0] < from[0];
    // Beside a steep arm, below a flat one.
    const flat = Math.abs(end[0] - from[0]) > Math.abs(end[1] - from[1]);
    return label([middle[0] + (left ? -8 : 8), middle[1] + (flat ? 20 : 4)], left ? "end" : "start", said, area);
  }
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

/** What the arrow says. */
const ARROW_WORDS = ["arrow: the way the tooth", "pushes, not how hard"];
const WORDS_UP_PX = 42;
const LINE_PX = 15;

/** A bar of a round length; above it what the arrow at a contact means. @param {View} view @param {Area} area @param {boolean} arrow */
export function scaleBar(view, area, arrow) {
  const length_mm = BARS.findLast((b) => b * view.px_per_mm <= 160) ?? BARS[0];
  const length = length_mm * view.px_per_mm;
  const [x, y] = [16, area.height_px - 16];
  const said = length_mm < 0.1 ? `${Number((length_mm * 1e3).toPrecision(3))} \u00b5m` : `${Number(length_mm.toPrecision(3))} mm`;
  return html`<g class="scale">
    <path d="M${x} ${y - 5}V${y}H${x + length}V${y - 5}M${x + length / 2} ${y - 3}V${y}" />
    <text x=${x + length + 2 * OFF_PX} y=${y}>${said}</text>
    ${arrow ? ARROW_WORDS.map((line, i) => html`<text x=${x} y=${y - WORDS_UP_PX + i * LINE_PX}>${line}</text>`) : null}
  </g>`;
}
