// @ts-check
// A round magnified view pinned to the sheet, a line leading to its place.

/** @import { Sheet, View as Place } from "../wire" */
/** @import { Options } from "./drawing.js" */
/** @import { Area, Point, View } from "../geometry.js" */
/** @import { Slot } from "./slots.js" */
import { html } from "../html.js";
import { onScreen } from "../geometry.js";
import { drawing } from "./drawing.js";
import { seen, stroke } from "./strokes.js";
import { scaleOf } from "./marks.js";

/** An inset that shows its place hardly larger than the sheet does is not drawn. */
const LARGER_RATIO = 1.15;
/** Down to the words below it. */
const WORDS_PX = 16;

/** @param {Place} place @param {Slot} slot @param {number} magnified beyond what the view asks for @returns {View} */
export const insetView = (place, slot, magnified) => ({
  x_mm: place.at_mm[0],
  y_mm: place.at_mm[1],
  px_per_mm: (slot.radius / place.half_width_mm) * magnified,
});

/** @param {Slot} slot @returns {Area} */
export const insetArea = (slot) => ({ width_px: 2 * slot.radius, height_px: 2 * slot.radius, round: true });

/** Whether the sheet itself shows the place of an inset as large. @param {View} view the inset's @param {Options} options those of the sheet */
export const asLarge = (view, options) =>
  options.view.px_per_mm * LARGER_RATIO > view.px_per_mm && seen(onScreen(options.view, options.area, [view.x_mm, view.y_mm]), options.area);

/** @param {Sheet} sheet @param {Place} place @param {Slot} slot @param {View} view @param {Options} options those of the sheet */
export function inset(sheet, place, slot, view, options) {
  const { middle, radius } = slot;
  const id = `${options.id}-${place.name}`;
  const lead = leader(place, slot, view, options);
  const inner = { ...options, id, view, area: insetArea(slot), words: true, taken: [], leads: [] };
  return html`<g class="inset" key=${place.name}>
    ${lead && html`<g class="leader">${stroke(lead.from, lead.to)}<circle cx=${lead.there[0]} cy=${lead.there[1]} r=${lead.round} /></g>`}
    <clipPath id=${`${id}-edge`}><circle cx=${radius} cy=${radius} r=${radius} /></clipPath>
    <g transform="translate(${middle[0] - radius} ${middle[1] - radius})" data-inset=${place.name}>
      <circle class="ground" cx=${radius} cy=${radius} r=${radius} />
      <g clip-path="url(#${id}-edge)">${drawing(sheet, inner)}</g>
      <circle class="edge" cx=${radius} cy=${radius} r=${radius} />
      <text x=${radius} y=${2 * radius + WORDS_PX} text-anchor="middle">${place.name}, ${scaleOf(view)}</text>
    </g>
  </g>`;
}

/**
 * From the edge of the inset to the small circle round its place; nothing where that is not seen.
 * @param {Place} place @param {Slot} slot @param {View} view the inset's @param {Options} options those of the sheet
 */
export function leader({ at_mm }, { middle, radius }, view, options) {
  const there = onScreen(options.view, options.area, at_mm);
  const round = Math.max((radius / view.px_per_mm) * options.view.px_per_mm, 3);
  const [dx, dy] = [there[0] - middle[0], there[1] - middle[1]];
  const far = Math.hypot(dx, dy);
  if (!seen(there, options.area) || far < radius + round) return null;
  const from = /** @type {Point} */ ([middle[0] + (radius * dx) / far, middle[1] + (radius * dy) / far]);
  const to = /** @type {Point} */ ([there[0] - (round * dx) / far, there[1] - (round * dy) / far]);
  return { from, to, there, round };
}
