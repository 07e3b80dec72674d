// @ts-check
// Where words stand: beside what they are of, off the lines and off one another as far as there is room.

/** @import { Area, Point } from "../geometry.js" */
/** @import { Ground } from "./ground.js" */
/** @import { Box } from "./paths.js" */
import { html } from "../html.js";
import { at as point, short, stroke } from "./strokes.js";

/**
 * @typedef {object} Said
 * @property {string} key by which it is known again in the next frame
 * @property {string[]} lines
 * @property {Point[]} at places they may stand beside, the one meant most first
 * @property {number} off free space between place and words, px
 * @property {number} far how far they may stand off, px
 * @property {string} [pencil] class of the pencil they are written with
 * @property {boolean} [may] whether they may be left out where there is no room
 * @property {Point} [by] what they stay beside, as far off as they were, until they would lie over words or what else has its room
 */
/** @typedef {Map<string, string>} Kept where words stood last: they stay while there is room for them */
/** @typedef {{ name: string, box: Box, place: Point, off: number, cost: number }} Candidate */

/** Width of a letter of the drawing's type, more or less: enough to keep words inside. */
const LETTER_PX = 6.3;
export const LINE_PX = 15;
/** Words stand off lines by so much. */
const OFF_LINES_PX = 3;
/** Height of letters above the line they stand on. */
const UP_PX = 11;
/** They stay off the edge of the view. */
const INSIDE_PX = 4;
/** Farther from its place than this, words have a line that leads to it. */
const LEAD_PX = 14;
/** Steps by which words stand farther off, px. */
const STEPS = [0, 6, 14, 24, 36, 50, 66, 84, 104, 126, 150, 176, 204, 234, 266];
/** What a px of distance costs, and a square passed by the leading line, beside the costs of the ground. */
const DISTANCE_COSTS = 0.5;
const CROSSED_COSTS = 3;
/** Beside a place that is meant less. */
const OTHER_PLACE_COSTS = 6;
/** Words close to their place stay there while it costs less; others are worth so much where they are. */
const CLEAR = 9;
const STAYING_SAVES = 45;
/** Words that stay by a point lie over lines meanwhile, and over nothing else: that would cost as much. */
const STAYING_MOST = 40;
/** What a px costs from where they were. */
const MOVED_COSTS = 0.3;
/** Words that may be left out are where they would cost more. */
const TOO_MUCH = 170;

/** Sideways first, then above and below. @type {[number, number][]} */
const WAYS = [[1, 0], [-1, 0], [0, -1], [0, 1], [1, -1], [-1, -1], [1, 1], [-1, 1]];

/** Width of words, more or less. @param {string} words */
export const widthOf = (words) => words.length * LETTER_PX;

/**
 * Words laid out and drawn.
 * @param {Said[]} all those first that matter most
 * @param {Ground} ground
 * @param {Area} area
 * @param {Kept} kept
 */
export function written(all, ground, area, kept) {
  return all.map((said) => {
    const best = bestOf(said, ground, area, kept.get(said.key));
    if (!best) return null;
    kept.set(said.key, said.by ? offsetOf(best.box, said.by).join(" ") : best.name);
    ground.take(best.box);
    return words(said, best, ground);
  });
}

/** @param {Said} said @param {Ground} ground @param {Area} area @param {string | undefined} last */
function bestOf(said, ground, area, last) {
  const width = Math.max(...said.lines.map(widthOf)) + 2 * OFF_LINES_PX;
  const height = said.lines.length * LINE_PX + 2 * OFF_LINES_PX - 3;
  /** @param {number} k @param {number} way @param {number} step */
  const boxAt = (k, way, step) => {
    const [u, v] = WAYS[way];
    const off = (u !== 0 && v !== 0 ? 0.7 : 1) * (said.off + step);
    const x = said.at[k][0] + u * (off + width / 2);
    const y = said.at[k][1] + v * (off + height / 2);
    return { left: x - width / 2, right: x + width / 2, top: y - height / 2, low: y + height / 2 };
  };
  const named = (/** @type {number[]} */ [k, way, step]) => `${k} ${way} ${step}`;
  const candidate = (/** @type {number[]} */ which, /** @type {Box} */ box, cost = 0) =>
    ({ name: named(which), box, place: said.at[which[0]], off: said.off, cost });
  const stood = last?.split(" ").map(Number);
  const stays = said.by && stood && staying(said, said.by, /** @type {Point} */ (stood), width, height);
  if (stays && within(stays.box, area) && ground.cost(stays.box) < STAYING_MOST) return stays;
  if (!said.by && stood && stood[0] < said.at.length && stood[2] <= LEAD_PX) {
    const box = boxAt(stood[0], stood[1], stood[2]);
    if (within(box, area) && ground.cost(box) < CLEAR) return candidate(stood, box);
  }
  /** @type {Candidate | null} */
  let best = null;
  for (let k = 0; k < said.at.length; k += 1) {
    for (const step of STEPS) {
      const least = DISTANCE_COSTS * step + k * OTHER_PLACE_COSTS - STAYING_SAVES;
      if (step > said.far || (best && least >= best.cost)) break;
      for (let way = 0; way < WAYS.length; way += 1) {
        const box = boxAt(k, way, step);
        if (!within(box, area)) continue;
        const there = ground.cost(box);
        const lead = step > LEAD_PX ? CROSSED_COSTS * ground.crossed(said.at[k], nearestOf(box, said.at[k])) : 0;
        const moved = stays ? MOVED_COSTS * apart(middleOf(box), middleOf(stays.box)) : 0;
        const cost = least + lead + there + moved + (named([k, way, step]) === last ? 0 : STAYING_SAVES);
        if (!best || cost < best.cost) best = candidate([k, way, step], box, cost);
      }
    }
  }
  return best && said.may && best.cost > TOO_MUCH ? null : best;
}

/** @param {Box} box @returns {Point} */
const middleOf = ({ left, right, top, low }) => [(left + right) / 2, (top + low) / 2];

/** @param {Point} a @param {Point} b */
const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** How far off a point the middle of a box is. @param {Box} box @param {Point} by @returns {Point} */
const offsetOf = (box, by) => [middleOf(box)[0] - by[0], middleOf(box)[1] - by[1]];

/**
 * Words as far off what they stay beside as they were; nothing where that is too far off by now.
 * @param {Said} said @param {Point} by @param {Point} offset @param {number} width @param {number} height
 * @returns {Candidate | null}
 */
function staying({ at, off, far }, by, offset, width, height) {
  const [x, y] = [by[0] + offset[0], by[1] + offset[1]];
  const box = { left: x - width / 2, right: x + width / 2, top: y - height / 2, low: y + height / 2 };
  const away = (/** @type {Point} */ place) => apart(place, nearestOf(box, place));
  const place = at.reduce((a, b) => (away(b) < away(a) ? b : a));
  return away(place) > off + far ? null : { name: "", box, place, off, cost: 0 };
}

/** Whether a box lies in the view: a round one where `area` says so. @param {Box} box @param {Area} area */
function within({ left, right, top, low }, { width_px, height_px, round }) {
  if (left < INSIDE_PX || top < INSIDE_PX || right > width_px - INSIDE_PX || low > height_px - INSIDE_PX) return false;
  if (!round) return true;
  const radius = width_px / 2;
  const across = Math.max(Math.abs(left - radius), Math.abs(right - radius));
  return Math.hypot(across, Math.max(Math.abs(top - radius), Math.abs(low - radius))) < radius;
}

/** The point of a box nearest to a place. @param {Box} box @param {Point} place @returns {Point} */
const nearestOf = ({ left, right, top, low }, [x, y]) => [Math.min(Math.max(x, left), right), Math.min(Math.max(y, top), low)];

/** @param {Said} said @param {Candidate} candidate @param {Ground} ground */
function words({ key, lines, pencil = "" }, { box, place, off }, ground) {
  const end = nearestOf(box, place);
  const long = apart(end, place);
  const back = (box.left + box.right) / 2 < place[0];
  const x = short(back ? box.right - OFF_LINES_PX : box.left + OFF_LINES_PX);
  let lead = null;
  if (long > off + LEAD_PX) {
    /** @type {Point} */
    const from = [place[0] + (off / long) * (end[0] - place[0]), place[1] + (off / long) * (end[1] - place[1])];
    ground.line(from, end);
    lead = stroke(from, end);
  }
  return html`<g class="said ${pencil}" key=${key} data-said=${key} data-at=${point(place)}>
    ${lead}
    ${lines.map((line, i) => html`<text x=${x} y=${short(box.top + OFF_LINES_PX + UP_PX + i * LINE_PX - 1)}
      text-anchor=${back ? "end" : "start"}>${line}</text>`)}
  </g>`;
}
