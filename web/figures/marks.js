// @ts-check
// Marks on the drawing: what touches and which way it pushes, how large it is drawn.

/** @import { Sheet } from "../wire" */
/** @import { Area, View, Point } from "../geometry.js" */
/** @import { Options } from "./drawing.js" */
/** @import { Pen } from "./pen.js" */
import { html } from "../html.js";
import { onScreen } from "../geometry.js";
import { quantity } from "../units.js";
import { cutEnds, seen } from "./strokes.js";
import { LINE_PX, widthOf } from "./words.js";

/** Length of the arrow on the drawing: it says which way, not how hard. */
const ARROW_PX = 46;
/** A wheel whose radius is smaller on the screen has no arrow: it would be larger than the tooth it is of. */
const ARROW_FROM_PX = 80;
/** Free space between text and line. */
const OFF_PX = 4;
/** An arm has words where so much of it is seen. */
const ARM_PX = 40;
const ARM_RATIO = 0.4;
/** Beside which parts of an arm they may stand. */
const ALONG_ARM = [0.5, 0.3, 0.7, 0.15, 0.85];

/**
 * Contact of tooth and stone: an open circle, the line of action along the normal, the arms of both axes about it, and an
 * arrow for the way the tooth pushes.
 * @param {Sheet} sheet @param {Options} options @param {Pen} pen
 */
export function contactMarks(sheet, { instant, view, area, words }, pen) {
  const c = sheet.oscillation?.contact[instant];
  if (!c) return null;
  const [x, y, nx, ny, wheelArm, leverArm] = c;
  const at = onScreen(view, area, [x, y]);
  const along = (/** @type {number} */ mm) => onScreen(view, area, [x + mm * nx, y + mm * ny]);
  const foot = (/** @type {number[]} */ axis) => (axis[0] - x) * nx + (axis[1] - y) * ny;
  const [wheel, pallets] = sheet.axes_mm;
  const feet = [foot(wheel), foot(pallets)];
  const ends = [Math.min(0, ...feet) - 0.3, Math.max(0, ...feet) + 0.3];
  /** @param {number[]} axis @param {Point} end @param {string} name @param {number} arm_mm */
  const arm = (axis, end, name, arm_mm) => {
    const from = onScreen(view, area, axis);
    const shown = cutEnds(from, end, area);
    if (!shown) return null;
    const [[ax, ay], [bx, by]] = shown;
    const length = Math.hypot(bx - ax, by - ay);
    if (words && length > Math.max(ARM_PX, ARM_RATIO * Math.hypot(end[0] - from[0], end[1] - from[1]))) {
      const beside = ALONG_ARM.map((t) => /** @type {Point} */ ([ax + t * (bx - ax), ay + t * (by - ay)]));
      pen.say({ key: name, lines: [`${name} ${quantity(Math.abs(arm_mm), "mm")}`], at: beside, off: 5, far: 266, may: false });
    }
    return pen.stroke(...shown);
  };
  /** @type {Point} */
  const push = [-nx, ny];
  /** @type {Point} */
  const tip = [at[0] - push[0] * 5, at[1] - push[1] * 5];
  const near = seen(at, area, ARROW_PX);
  return html`<g class="contact">
    <g class="action">${pen.cut(along(ends[0]), along(ends[1]))}</g>
    <g class="arms">
      ${arm(wheel, along(feet[0]), "wheel arm", wheelArm)} ${arm(pallets, along(feet[1]), "lever arm", leverArm)}
    </g>
    ${near && view.px_per_mm * sheet.locking_radius_mm > ARROW_FROM_PX
      ? html`<g class="push">${pen.arrow(tip, push, ARROW_PX)}</g>`
      : null}
    ${near ? html`<circle class="touch" cx=${at[0]} cy=${at[1]} r="4" />` : null}
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
/** The longest bar, and where it stands. */
const BAR_PX = 160;
const EDGE_PX = 16;

/** What the arrow says. */
const ARROW_WORDS = ["arrow: the way the tooth", "pushes, not how hard"];
const WORDS_UP_PX = 42;

/** A bar of a round length, what it says, and the room that both have with the lines above. @param {View} view @param {Area} area @param {string[]} above */
function barOf(view, area, above) {
  const length_mm = BARS.findLast((b) => b * view.px_per_mm <= BAR_PX) ?? BARS[0];
  const length = length_mm * view.px_per_mm;
  const said = length_mm < 0.1 ? `${Number((length_mm * 1e3).toPrecision(3))} \u00b5m` : `${Number(length_mm.toPrecision(3))} mm`;
  const up = above.length > 0 ? WORDS_UP_PX + (above.length - 1) * LINE_PX : 14;
  const right = EDGE_PX + Math.max(length + 2 * OFF_PX + widthOf(said), ...above.map(widthOf));
  return { length, said, room: { left: 0, right: right + OFF_PX, top: area.height_px - EDGE_PX - up - LINE_PX, low: area.height_px } };
}

/** What stands above the scale bar: what the arrow at a contact means, on a sheet with room for it. @param {Area} area @param {boolean} arrow */
export const aboveBar = (area, arrow) => (arrow && area.width_px > 560 ? ARROW_WORDS : []);

/** The room the scale bar has, with the words above it. @param {View} view @param {Area} area @param {string[]} above */
export const barRoom = (view, area, above) => barOf(view, area, above).room;

/** A bar of a round length, words above it. @param {View} view @param {Area} area @param {string[]} above */
export function scaleBar(view, area, above) {
  const { length, said } = barOf(view, area, above);
  const [x, y] = [EDGE_PX, area.height_px - EDGE_PX];
  const first = y - WORDS_UP_PX - (above.length - 2) * LINE_PX;
  return html`<g class="scale">
    <path d="M${x} ${y - 5}V${y}H${x + length}V${y - 5}M${x + length / 2} ${y - 3}V${y}" />
    <text x=${x + length + 2 * OFF_PX} y=${y}>${said}</text>
    ${above.map((line, i) => html`<text x=${x} y=${first + i * LINE_PX}>${line}</text>`)}
  </g>`;
}
