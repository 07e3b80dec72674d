// @ts-check
// A round magnified view pinned to the sheet, a line leading to its place.

/** @import { Sheet, View as Place } from "../wire" */
/** @import { Options } from "./drawing.js" */
/** @import { Area, Point } from "../geometry.js" */
import { html } from "../html.js";
import { onScreen } from "../geometry.js";
import { drawing } from "./drawing.js";
import { seen, stroke } from "./strokes.js";
import { scaleOf } from "./marks.js";

/**
 * @typedef {object} Slot
 * @property {Point} middle on the sheet, px
 * @property {number} radius px
 * @property {number} magnified beyond what the view asks for
 */

/** @param {Place} place @param {Slot} slot */
export const insetView = (place, slot) => ({
  x_mm: place.at_mm[0],
  y_mm: place.at_mm[1],
  px_per_mm: (slot.radius / place.half_width_mm) * slot.magnified,
});

/** @param {Slot} slot */
export const insetArea = (slot) => ({ width_px: 2 * slot.radius, height_px: 2 * slot.radius, round: true });

/** @param {Sheet} sheet @param {Place} place @param {Slot} slot @param {Options} options those of the sheet */
export function inset(sheet, place, slot, options) {
  const view = insetView(place, slot);
  const { middle, radius } = slot;
  const id = `${options.id}-${place.name}`;
  const there = onScreen(options.view, options.area, place.at_mm);
  const shown = Math.max((radius / view.px_per_mm) * options.view.px_per_mm, 3);
  const inner = { ...options, id, view, area: insetArea(slot), words: true };
  return html`<g class="inset" key=${place.name}>
    ${leader(there, shown, slot, options.area)}
    <clipPath id=${`${id}-edge`}><circle cx=${radius} cy=${radius} r=${radius} /></clipPath>
    <g transform="translate(${middle[0] - radius} ${middle[1] - radius})" data-inset=${place.name}>
      <circle class="ground" cx=${radius} cy=${radius} r=${radius} />
      <g clip-path="url(#${id}-edge)">${drawing(sheet, inner)}</g>
      <circle class="edge" cx=${radius} cy=${radius} r=${radius} />
      <text x=${radius} y=${2 * radius + 16} text-anchor="middle">${place.name}, ${scaleOf(view)}</text>
    </g>
  </g>`;
}

/** From the edge of the inset to the small circle round its place. @param {Point} there @param {number} shown @param {Slot} slot @param {Area} area */
function leader(there, shown, { middle, radius }, area) {
  const [dx, dy] = [there[0] - middle[0], there[1] - middle[1]];
  const far = Math.hypot(dx, dy);
  if (!seen(there, area) || far < radius + shown) return null;
  /** @type {Point} */
  const from = [middle[0] + (radius * dx) / far, middle[1] + (radius * dy) / far];
  /** @type {Point} */
  const to = [there[0] - (shown * dx) / far, there[1] - (shown * dy) / far];
  return html`<g class="leader">${stroke(from, to)}<circle cx=${there[0]} cy=${there[1]} r=${shown} /></g>`;
}
