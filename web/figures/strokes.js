// @ts-check
// Lines and arrow heads in px.

/** @import { Area, Point } from "../geometry.js" */
import { html } from "../html.js";

/** Numbers of a mark: a hundredth of a px is enough. @param {number} value */
const short = (value) => String(Math.round(value * 100) / 100);

/** @param {Point} point */
export const at = ([x, y]) => `${short(x)} ${short(y)}`;

/** @param {Point} a @param {Point} b */
export const stroke = (a, b) => html`<path d="M${at(a)}L${at(b)}" />`;

/** Whether a point is seen. @param {Point} point @param {Area} area @param {number} [beyond] */
export const seen = ([x, y], area, beyond = 0) =>
  x >= -beyond && y >= -beyond && x <= area.width_px + beyond && y <= area.height_px + beyond;

/** A line, cut in double precision to what is seen. @param {Point} a @param {Point} b @param {Area} area */
export function cut(a, b, area) {
  let [first, last] = [0, 1];
  const sides = [
    [a[0], b[0] - a[0], area.width_px],
    [a[1], b[1] - a[1], area.height_px],
  ];
  for (const [from, by, most] of sides) {
    if (by === 0) {
      if (from < 0 || from > most) return null;
      continue;
    }
    const ends = [-from / by, (most - from) / by].sort((p, q) => p - q);
    first = Math.max(first, ends[0]);
    last = Math.min(last, ends[1]);
  }
  if (first >= last) return null;
  const along = (/** @type {number} */ t) =>
    /** @type {Point} */ ([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
  return stroke(along(first), along(last));
}

/** Width of a letter of the drawing's type, more or less: enough to keep words inside. */
const LETTER_PX = 6.2;
const INSIDE_PX = 6;

/** Width of words, more or less. @param {string} words */
export const widthOf = (words) => words.length * LETTER_PX;

/**
 * Words that begin or end at a point, moved so that they lie within the view: a round one where `area` says so.
 * @param {Point} point @param {"start" | "end"} anchor @param {string} words @param {Area} area
 */
export function label([x, y], anchor, words, area) {
  const width = widthOf(words);
  const middle = area.width_px / 2;
  const off = Math.abs(y - 4 - area.height_px / 2) + 8;
  const half = (area.round ? Math.sqrt(Math.max(middle * middle - off * off, 0)) : middle) - INSIDE_PX;
  if (2 * half < width) return null;
  const left = anchor === "start" ? x : x - width;
  const held = Math.min(Math.max(left, middle - half), middle + half - width);
  return html`<text x=${short(held + (anchor === "start" ? 0 : width))} y=${short(y)} text-anchor=${anchor}>${words}</text>`;
}

/** A slim arrow head whose tip is at a point. @param {Point} tip @param {Point} way of unit length @param {number} [length] */
export function head([x, y], [u, v], length = 8) {
  const half = length * 0.15;
  const [bx, by] = [x - length * u, y - length * v];
  const corners = [[bx - half * v, by + half * u], [bx + half * v, by - half * u]];
  return html`<path class="head" d="M${at([x, y])}L${corners.map((c) => at(/** @type {Point} */ (c))).join("L")}Z" />`;
}
