// @ts-check
// Where the round insets lie: beside the drawing when all of it is shown, near their places, in nobody's way. When the
// sheet is looked at closely they stay there, and smaller.

/** @import { Sheet, View as Place } from "../wire" */
/** @import { Area, Point, View } from "../geometry.js" */
/** @import { Box } from "./paths.js" */
import { fitted, onScreen, posesAt } from "../geometry.js";
import { Ground } from "./ground.js";

/** @typedef {{ middle: Point, radius: number }} Slot px */

/** Radius of an inset: at most, at least, and by what it is made smaller until there is room. */
const MOST_RATIO = 0.15;
const MOST_PX = 112;
const LEAST_PX = 44;
const STEP_PX = 4;
/** Free paper round an inset, beside the edge of the sheet, and for the words below it. */
const ROUND_PX = 8;
const EDGE_PX = 14;
const WORDS_PX = 24;
/** Steps between places that are tried. */
const TRIED_PX = 12;
/** The drawing with what it moves through is kept clear by so much. */
const CLEAR_PX = 10;
/** What it costs when a leading line passes a square of the drawing, in px of its length. */
const CROSSED_COSTS = 12;
/** What it costs that an inset is smaller, for each px of its radius. */
const SMALLER_COSTS = 5;
const SQUARE_PX = 6;
/** Closer than this many times the whole sheet, the drawing is everywhere: insets are smaller. */
export const CLOSE_RATIO = 1.6;
const SMALLER_RATIO = 0.62;

/** The room an inset takes with its words. @param {Slot} slot @returns {Box} */
export const roomOf = ({ middle: [x, y], radius }) => ({
  left: x - radius - ROUND_PX, right: x + radius + ROUND_PX, top: y - radius - ROUND_PX, low: y + radius + WORDS_PX,
});

/**
 * A slot for each place, with the whole sheet in view.
 * @param {Sheet} sheet @param {Area} area @param {Place[]} places @param {Box[]} taken room that is given away
 * @returns {Map<string, Slot>}
 */
export function slotsOf(sheet, area, places, taken) {
  const view = fitted(sheet, area);
  const ground = drawn(sheet, area, view);
  for (const box of taken) ground.take(box);
  const most = Math.max(Math.min(MOST_RATIO * Math.min(area.width_px, area.height_px), MOST_PX), LEAST_PX);
  let best = { slots: new Map(), cost: Infinity };
  for (let radius = most; radius >= LEAST_PX; radius -= STEP_PX) {
    const laidOut = laid(places, area, view, ground, radius, false);
    const cost = laidOut ? laidOut.cost + SMALLER_COSTS * places.length * (most - radius) : Infinity;
    if (laidOut && cost < best.cost) best = { slots: laidOut.slots, cost };
  }
  return best.cost < Infinity ? best.slots : (laid(places, area, view, ground, LEAST_PX, true)?.slots ?? new Map());
}

/** The drawing as it lies, and what turns as a disc. @param {Sheet} sheet @param {Area} area @param {View} view */
function drawn(sheet, area, view) {
  const ground = new Ground(area, SQUARE_PX);
  const poses = posesAt(sheet, null, 0);
  for (const { outlines_mm, rides } of sheet.bodies) {
    const axis = rides === "wheel" ? 0 : rides === "roller" ? 2 : null;
    if (axis !== null) {
      const reach = Math.max(...outlines_mm.flat().map(([x, y]) => Math.hypot(x, y)));
      ground.disc(onScreen(view, area, sheet.axes_mm[axis]), reach * view.px_per_mm + CLEAR_PX);
    } else for (const outline of outlines_mm) ground.outline(outline, poses[rides], view, true);
  }
  return ground;
}

/**
 * Slots of one size; nothing where there is no room for one of them, unless it must be.
 * @param {Place[]} places @param {Area} area @param {View} view @param {Ground} ground @param {number} radius @param {boolean} must
 */
function laid(places, area, view, ground, radius, must) {
  /** @type {Map<string, Slot>} */
  const slots = new Map();
  let sum = 0;
  const [near, far] = [EDGE_PX + radius, area.width_px - EDGE_PX - radius];
  for (const { name, at_mm } of places) {
    const there = onScreen(view, area, at_mm);
    /** @type {{ slot: Slot, cost: number } | null} */
    let best = null;
    for (let y = EDGE_PX + radius; y <= area.height_px - WORDS_PX - radius; y += TRIED_PX) {
      for (const x of [near, far]) {
        const slot = { middle: /** @type {Point} */ ([x, y]), radius };
        const room = roomOf(slot);
        const others = [...slots.values()].filter((s) => overlap(roomOf(s), room)).length;
        const filled = ground.cost(room) + 1e4 * others;
        if (filled > 0 && !must) continue;
        const cost = filled + Math.hypot(there[0] - x, there[1] - y) + CROSSED_COSTS * ground.crossed([x, y], there);
        if (!best || cost < best.cost) best = { slot, cost };
      }
    }
    if (!best) return null;
    slots.set(name, best.slot);
    sum += best.cost;
  }
  return { slots, cost: sum };
}

/** @param {Box} a @param {Box} b */
const overlap = (a, b) => a.left < b.right && b.left < a.right && a.top < b.low && b.top < a.low;

/** The slot on a sheet that is looked at closely: smaller, at the same edge. @param {Slot} slot @param {Area} area @returns {Slot} */
export function smaller({ middle: [x, y], radius }, area) {
  const less = SMALLER_RATIO * radius;
  const toward = x < area.width_px / 2 ? -1 : 1;
  return { middle: [x + toward * (radius - less), y - (radius - less)], radius: less };
}
