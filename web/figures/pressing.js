// @ts-check
// What presses on what in motion: at each contact an arrow, as long as the force is large.

/** @import { Played } from "../wire" */
/** @import { Area, Point } from "../geometry.js" */
/** @import { Options } from "./drawing.js" */
/** @import { Pen } from "./pen.js" */
import { html } from "../html.js";
import { onScreen } from "../geometry.js";
import { cutEnds, head, seen, stroke } from "./strokes.js";

/** The arrow of the force that is reached for no more than a hundredth of the time of action is about so long. */
const ARROW_PX = 70;
const USUAL_RATIO = 0.99;
/** Longer ones are cut, and broken in the middle. */
const LONGEST_PX = 150;
/** Shorter ones are not seen beside the circle. */
const SHORTEST_PX = 3;
/** Forces go through outlines: their heads are larger than others. */
const HEAD_PX = 14;
const ROUND = [1, 2, 5];

/** @typedef {{ motion: Played, forces: number[][], said: boolean }} Pressing forces of a moment, and whether they are written beside */
/** @typedef {{ force_mn: number, length_px: number }} Scale a round force and the length of its arrow */

/** @type {WeakMap<Played, Scale>} */
const scales = new WeakMap();

/** The scale of a motion's arrows: a round force, by the forces while wheel or lever move. @param {Played} motion */
export function forceScale(motion) {
  const known = scales.get(motion);
  if (known) return known;
  const all = motion.forces.flatMap((forces, i) => {
    const lasts_s = motion.t_s[i + 1] - motion.t_s[i];
    const moves = motion.lever_deg[i] !== motion.lever_deg[i + 1] || motion.wheel_deg[i] !== motion.wheel_deg[i + 1];
    return moves ? forces.map((f) => ({ size: sizeOf(f), lasts_s })) : [];
  });
  all.sort((a, b) => a.size - b.size);
  const whole = all.reduce((sum, f) => sum + f.lasts_s, 0);
  let passed = 0;
  const usual = all.find((f) => (passed += f.lasts_s) >= USUAL_RATIO * whole)?.size ?? 1;
  const ten = 10 ** Math.floor(Math.log10(usual));
  const force_mn = (ROUND.findLast((r) => r * ten <= usual) ?? 1) * ten;
  const scale = { force_mn, length_px: (ARROW_PX * force_mn) / usual };
  scales.set(motion, scale);
  return scale;
}

/** @param {number[]} force */
const sizeOf = ([, , , x, y]) => Math.hypot(x, y);

/** Three digits, and of more than those the whole number. @param {number} value */
const digits = (value) => value.toFixed(Math.max(0, 2 - Math.floor(Math.log10(value))));

/** A force with three digits. @param {number} mn */
export function forceText(mn) {
  if (mn >= 1000) return `${digits(mn / 1000)} N`;
  return `${mn >= 0.001 ? mn.toFixed(Math.max(0, Math.min(6, 2 - Math.floor(Math.log10(mn))))) : mn.toFixed(6)} mN`;
}

/** What presses, in words. @param {Played} motion @param {number[][]} forces */
export const forceWords = (motion, forces) => forces.map((f) => `${motion.touching[f[0]]} ${forceText(sizeOf(f))}`);

/**
 * An open circle at each contact and an arrow with which the first part presses on the second.
 * @param {Pressing} pressing @param {Options} options @param {Pen} pen
 */
export function pressingMarks({ motion, forces, said }, { view, area, words }, pen) {
  const scale = forceScale(motion);
  return html`<g class="pressing">${forces.map((force, i) => {
    const [what, x_mm, y_mm, x, y] = force;
    const at = onScreen(view, area, [x_mm, y_mm]);
    const size = sizeOf(force);
    if (!seen(at, area, LONGEST_PX) || size === 0) return null;
    /** @type {Point} */
    const way = [x / size, -y / size];
    const long = (scale.length_px * size) / scale.force_mn;
    const length = Math.min(long, LONGEST_PX);
    const back = (/** @type {number} */ px) => /** @type {Point} */ ([at[0] - px * way[0], at[1] - px * way[1]]);
    pen.keepOff(at, back(length));
    if (words && said && seen(at, area)) {
      const key = `force ${what} ${forces.slice(0, i).filter((f) => f[0] === what).length}`;
      pen.say({ key, lines: [forceText(size)], at: [back(length), back(length / 2)], off: 6, far: 120, may: false, by: at });
    }
    return html`<g class="force" data-what=${motion.touching[what]} data-mn=${size}>
      ${length > SHORTEST_PX ? html`${shaft(back(4), back(length), area, long > LONGEST_PX)}${head(back(4), way, Math.min(HEAD_PX, length))}` : null}
      <circle class="touch" cx=${at[0]} cy=${at[1]} r="3.5" /></g>`;
  })}</g>`;
}

/** @param {Point} tip @param {Point} tail @param {Area} area @param {boolean} broken */
function shaft(tip, tail, area, broken) {
  const ends = cutEnds(tail, tip, area);
  if (!ends) return null;
  if (!broken) return stroke(...ends);
  const part = (/** @type {number} */ t) => /** @type {Point} */ ([tail[0] + t * (tip[0] - tail[0]), tail[1] + t * (tip[1] - tail[1])]);
  return [stroke(tail, part(0.42)), stroke(part(0.5), tip)];
}

/** Where the scale of the arrows stands: above the scale bar, in place of the last of these lines. */
const UP_PX = 27;
const EDGE_PX = 16;
const LINES = ["arrow: force of the part named first,", "such as of the tooth in tooth on stone", ""];
/** On a sheet without room for words, the arrow alone. */
const ROOMY_PX = 560;

/** What stands above the scale bar. @param {Area} area */
export const aboveForces = (area) => (area.width_px > ROOMY_PX ? LINES : LINES.slice(-1));

/** The scale of the arrows. @param {Played} motion @param {Area} area */
export function forceBar(motion, area) {
  const { force_mn, length_px } = forceScale(motion);
  const y = area.height_px - EDGE_PX - UP_PX;
  const end = /** @type {Point} */ ([EDGE_PX + length_px, y - 4]);
  return html`<g class="scale force-scale"><g class="pressing">${stroke([EDGE_PX, y - 4], end)}${head(end, [1, 0], HEAD_PX)}</g>
    <text x=${EDGE_PX + length_px + 8} y=${y}>${forceText(force_mn).replace(/(\.\d*?)0+(?= )/, (_, kept) => (kept === "." ? "" : kept))}</text></g>`;
}
