// @ts-check
// The hand on the sheet: turning a part, moving the paper, coming closer.

/** @import { Rides } from "../wire" */
/** @import { Column } from "../moment.js" */
/** @import { Area, View, Point } from "../geometry.js" */
import { ZOOM, onPlate } from "../geometry.js";
import { nearest } from "../moment.js";
import { area, goTo, instant, live, showPlace, view, wantedView } from "../state.js";

/** @typedef {{ view: View, area: Area, corner: Point }} Window where on the sheet a view is drawn */
/** @typedef {{ move: (event: PointerEvent) => void }} Hold what a pointer that is down does */

/** What the wheel of a mouse zooms by for each unit it reports. */
const ZOOM_EACH = 0.0015;

/** @type {Record<Exclude<Rides, "plate">, [Column, 0 | 1 | 2]>} */
const TURNS = { wheel: ["wheel_deg", 0], lever: ["lever_deg", 1], roller: ["jewel_deg", 2] };

/** @returns {Window} */
export const wholeSheet = () => ({ view: view.value, area: area.value, corner: [0, 0] });

/** The pointer on the plate. @param {MouseEvent} event @param {Element} paper @param {Window} window */
export function pointed(event, paper, window) {
  const [x, y] = onPaper(event, paper);
  return onPlate(window.view, window.area, x - window.corner[0], y - window.corner[1]);
}

/** @param {MouseEvent} event @param {Element} paper @returns {Point} */
export function onPaper(event, paper) {
  const box = paper.getBoundingClientRect();
  return [event.clientX - box.left, event.clientY - box.top];
}

/**
 * Takes hold of a part: the moment follows the pointer's angle about its axis.
 * @param {Exclude<Rides, "plate">} rides
 * @param {PointerEvent} event
 * @param {Element} paper
 * @param {Window} window
 * @returns {Hold | null}
 */
export function turning(rides, event, paper, window) {
  const held = live.value;
  const at = held?.oscillation;
  if (!held || !at) return null;
  const [name, place] = TURNS[rides];
  const column = at[name];
  const axis = held.axes_mm[place];
  const angle = (/** @type {MouseEvent} */ e) => {
    const [x, y] = pointed(e, paper, window);
    return Math.atan2(y - axis[1], x - axis[0]);
  };
  let last = angle(event);
  let wanted_deg = column[instant.value];
  let now = instant.value;
  const stops = held.stop !== null;
  const each_deg = rides === "wheel" && !stops ? column[column.length - 1] - column[0] : 0;
  return {
    move(e) {
      const next = angle(e);
      // The short way round, so that an angle may pass the half turn.
      const by = Math.atan2(Math.sin(next - last), Math.cos(next - last));
      last = next;
      wanted_deg += (by * 180) / Math.PI;
      const to = nearest(column, now, wanted_deg, { each_deg, stops });
      if (to !== now) goTo(to - now + instant.value);
      now = to;
    },
  };
}

/** Takes hold of the paper. @param {PointerEvent} event @param {Element} paper @returns {Hold} */
export function moving(event, paper) {
  const from = onPaper(event, paper);
  const began = view.value;
  return {
    move(e) {
      const [x, y] = onPaper(e, paper);
      const [dx, dy] = [(x - from[0]) / began.px_per_mm, (y - from[1]) / began.px_per_mm];
      if (dx === 0 && dy === 0) return;
      wantedView.value = { ...began, x_mm: began.x_mm - dx, y_mm: began.y_mm + dy };
    },
  };
}

/** Comes closer by a factor, a place of the sheet staying where it is. @param {number} by @param {Point} [at] px; its middle */
export function zoom(by, at = [area.value.width_px / 2, area.value.height_px / 2]) {
  const now = view.value;
  const px_per_mm = Math.min(Math.max(now.px_per_mm * by, ZOOM.least), ZOOM.most);
  const [x, y] = onPlate(now, area.value, at[0], at[1]);
  const next = { ...now, px_per_mm };
  const [x2, y2] = onPlate(next, area.value, at[0], at[1]);
  wantedView.value = { x_mm: now.x_mm + x - x2, y_mm: now.y_mm + y - y2, px_per_mm };
}

/** How much a turn of the mouse's wheel zooms. @param {WheelEvent} event */
export const wheelFactor = (event) => Math.exp(-event.deltaY * (event.deltaMode === 1 ? 20 : 1) * ZOOM_EACH);

/** Two fingers: what lies between them stays between them. */
export class Pinch {
  /** @type {Map<number, Point>} */
  #fingers = new Map();

  /** @param {PointerEvent} event @param {Element} paper */
  down(event, paper) {
    this.#fingers.set(event.pointerId, onPaper(event, paper));
  }

  /** @param {PointerEvent} event */
  up(event) {
    this.#fingers.delete(event.pointerId);
  }

  get active() {
    return this.#fingers.size > 1;
  }

  /** @param {PointerEvent} event @param {Element} paper */
  move(event, paper) {
    if (!this.#fingers.has(event.pointerId)) return;
    const before = this.#pair();
    this.#fingers.set(event.pointerId, onPaper(event, paper));
    const after = this.#pair();
    zoom(after.apart / before.apart, before.middle);
    const { px_per_mm, x_mm, y_mm } = view.value;
    wantedView.value = {
      px_per_mm,
      x_mm: x_mm - (after.middle[0] - before.middle[0]) / px_per_mm,
      y_mm: y_mm + (after.middle[1] - before.middle[1]) / px_per_mm,
    };
  }

  #pair() {
    const [a, b] = [...this.#fingers.values()];
    /** @type {Point} */
    const middle = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    return { middle, apart: Math.max(Math.hypot(a[0] - b[0], a[1] - b[1]), 1) };
  }
}

/** Shows a named view. @param {string} name */
export function showView(name) {
  const place = live.value?.views.find((v) => v.name === name);
  if (!place) return;
  const [x, y] = place.at_mm;
  showPlace(x, y, place.half_width_mm * 1.4);
}
