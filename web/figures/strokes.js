// @ts-check
// Lines and arrow heads in px.

/** @import { Area, Point } from "../geometry.js" */
import { html } from "../html.js";

/** Numbers of a mark: a hundredth of a px is enough. @param {number} value */
export const short = (value) => String(Math.round(value * 100) / 100);

/** @param {Point} point */
export const at = ([x, y]) => `${short(x)} ${short(y)}`;

/** @param {Point} a @param {Point} b */
export const stroke = (a, b) => html`<path d="M${at(a)}L${at(b)}" />`;

/** Whether a point is seen. @param {Point} point @param {Area} area @param {number} [beyond] */
export const seen = ([x, y], area, beyond = 0) =>
  x >= -beyond && y >= -beyond && x <= area.width_px + beyond && y <= area.height_px + beyond;

/**
 * The ends of a line cut, in double precision, to what is seen; nothing where none of it is.
 * @param {Point} a @param {Point} b @param {Area} area
 * @returns {[Point, Point] | null}
 */
export function cutEnds(a, b, area) {
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
    const ends = [-from / by, (most - from) / by];
    first = Math.max(first, Math.min(...ends));
    last = Math.min(last, Math.max(...ends));
  }
  if (first >= last) return null;
  const along = (/** @type {number} */ t) =>
    /** @type {Point} */ ([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
  return [along(first), along(last)];
}

/** A line, cut to what is seen. @param {Point} a @param {Point} b @param {Area} area */
export function cut(a, b, area) {
  const ends = cutEnds(a, b, area);
  return ends && stroke(...ends);
}

/** A slim arrow head whose tip is at a point. @param {Point} tip @param {Point} way of unit length @param {number} [length] */
export function head([x, y], [u, v], length = 8) {
  const half = length * 0.15;
  const [bx, by] = [x - length * u, y - length * v];
  const corners = [[bx - half * v, by + half * u], [bx + half * v, by - half * u]];
  return html`<path class="head" d="M${at([x, y])}L${corners.map((c) => at(/** @type {Point} */ (c))).join("L")}Z" />`;
}
