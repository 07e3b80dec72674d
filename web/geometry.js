// @ts-check
// From parts in their own frames to the plate, and from there to px of a view.

/** @import { Outlined, Sheet, Rides, Oscillation } from "./wire" */
/** @typedef {{ x_mm: number, y_mm: number, px_per_mm: number }} View what of the plate is in the middle, and how large */
/** @typedef {{ width_px: number, height_px: number }} Size */
/** @typedef {Size & { round?: boolean, corner?: Size | null }} Area corner: what lies over its lower right */
/** @typedef {{ cos: number, sin: number, x_mm: number, y_mm: number }} Pose turned, then moved */
/** @typedef {[number, number]} Point */

/** Zoom that is allowed, px for a mm: the whole of a clock wheel to a nanometre. */
export const ZOOM = { least: 1, most: 1e6 };
/** Free paper round the whole drawing, as a part of it. */
const ROUND = 0.07;
/** Paper that stays free at the foot, for the scale bar, and beside what lies in the corner. */
const FOOT_PX = 30;
const BESIDE_PX = 16;
/** The drawing gives way to the corner: first aside, by such steps, then it is drawn smaller, down to a part of its size. */
const ASIDE_PX = 8;
const SMALLER_RATIO = 0.97;
const LEAST_RATIO = 0.6;

/** @param {number} degrees @param {number[]} axis_mm @returns {Pose} */
function turned(degrees, [x_mm, y_mm]) {
  const angle = (degrees * Math.PI) / 180;
  return { cos: Math.cos(angle), sin: Math.sin(angle), x_mm, y_mm };
}

/**
 * Where each part stands at an instant of a table: the sheet's own, or that of the last sheet that could be turned.
 * @param {Sheet} sheet @param {Oscillation | null} at @param {number} instant @returns {Record<Rides, Pose>}
 */
export function posesAt(sheet, at, instant) {
  const [wheel, pallets, balance] = sheet.axes_mm;
  return {
    wheel: turned(at?.wheel_deg[instant] ?? 0, wheel),
    lever: turned(at?.lever_deg[instant] ?? 0, pallets),
    roller: turned((at?.jewel_deg[instant] ?? 0) + sheet.line_deg, balance),
    plate: { cos: 1, sin: 0, x_mm: 0, y_mm: 0 },
  };
}

/** @param {Pose} pose @param {number[]} point @returns {Point} */
export const posed = (pose, [x, y]) => [
  pose.x_mm + pose.cos * x - pose.sin * y,
  pose.y_mm + pose.sin * x + pose.cos * y,
];

/** A direction, turned but not moved. @param {Pose} pose @param {number[]} way @returns {Point} */
export const turnedWay = (pose, [x, y]) => [pose.cos * x - pose.sin * y, pose.sin * x + pose.cos * y];

/** A point of the plate on the screen. @param {View} view @param {Area} area @param {number[]} point @returns {Point} */
export const onScreen = (view, area, [x, y]) => [
  area.width_px / 2 + (x - view.x_mm) * view.px_per_mm,
  area.height_px / 2 - (y - view.y_mm) * view.px_per_mm,
];

/** A point of the screen on the plate. @param {View} view @param {Area} area @param {number} x @param {number} y @returns {Point} */
export const onPlate = (view, area, x, y) => [
  view.x_mm + (x - area.width_px / 2) / view.px_per_mm,
  view.y_mm - (y - area.height_px / 2) / view.px_per_mm,
];

/** The view that shows all of a sheet, clear of what lies in the corner. @param {Sheet | null} sheet @param {Area} area @returns {View} */
export function fitted(sheet, area) {
  if (!sheet) return { x_mm: 0, y_mm: 0, px_per_mm: 50 };
  const [left, low, right, high] = bounds(sheet);
  const whole = Math.min(area.width_px / (right - left), (area.height_px - FOOT_PX) / (high - low)) / (1 + 2 * ROUND);
  const place = (/** @type {number} */ px_per_mm, /** @type {number} */ aside_px) => ({
    x_mm: (left + right) / 2 + aside_px / px_per_mm, y_mm: (low + high) / 2 - FOOT_PX / 2 / px_per_mm, px_per_mm,
  });
  const boxes = area.corner ? rounds(sheet) : [];
  for (let ratio = 1; ratio >= LEAST_RATIO; ratio *= SMALLER_RATIO) {
    const px_per_mm = whole * ratio;
    const spare = (area.width_px - (1 + ROUND) * px_per_mm * (right - left)) / 2;
    for (let aside = 0; aside === 0 || aside <= spare; aside += ASIDE_PX) {
      const view = place(Math.max(px_per_mm, ZOOM.least), aside);
      if (boxes.every(([middle, radius_mm]) => clear(onScreen(view, area, middle), radius_mm * view.px_per_mm, area))) return view;
    }
  }
  return place(Math.max(whole, ZOOM.least), 0);
}

/** Whether a circle is clear of what lies in the corner. @param {Point} middle @param {number} radius @param {Area} area */
function clear([x, y], radius, { width_px, height_px, corner }) {
  if (!corner) return true;
  const [left, top] = [width_px - corner.width_px - BESIDE_PX, height_px - corner.height_px - BESIDE_PX];
  return Math.hypot(Math.max(left - x, 0), Math.max(top - y, 0)) >= radius;
}

/** @typedef {{ points: number[][], reach: number }} Extent corners of a part, and how far it reaches from its axis */
/** @type {WeakMap<Outlined, Extent>} */
const extents = new WeakMap();

/** @param {Outlined} body @returns {Extent} */
function extentOf(body) {
  const known = extents.get(body);
  if (known) return known;
  const points = body.outlines_mm.flat();
  const extent = { points, reach: Math.max(...points.map(([x, y]) => Math.hypot(x, y)), 0) };
  extents.set(body, extent);
  return extent;
}

/** Circles in which everything lies: what turns about its axis, corners of the rest. @param {Sheet} sheet @returns {[Point, number][]} */
function rounds(sheet) {
  const [wheel, pallets, balance] = /** @type {Point[]} */ (sheet.axes_mm);
  return sheet.bodies.flatMap((body) => {
    const { points, reach } = extentOf(body);
    if (body.rides === "wheel") return /** @type {[Point, number][]} */ ([[wheel, reach]]);
    if (body.rides === "roller") return /** @type {[Point, number][]} */ ([[balance, reach]]);
    const [x, y] = body.rides === "lever" ? pallets : [0, 0];
    return points.map((p) => /** @type {[Point, number]} */ ([[x + p[0], y + p[1]], 0]));
  });
}

/** Left, low, right, high of what the parts can reach. @param {Sheet} sheet */
export function bounds(sheet) {
  const [wheel, pallets, balance] = sheet.axes_mm;
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  const take = (/** @type {number} */ x, /** @type {number} */ y, r = 0) => {
    box[0] = Math.min(box[0], x - r);
    box[1] = Math.min(box[1], y - r);
    box[2] = Math.max(box[2], x + r);
    box[3] = Math.max(box[3], y + r);
  };
  for (const body of sheet.bodies) {
    const { points, reach } = extentOf(body);
    if (body.rides === "wheel") take(wheel[0], wheel[1], reach);
    else if (body.rides === "roller") take(balance[0], balance[1], reach);
    else if (body.rides === "plate") points.forEach(([x, y]) => take(x, y));
    else points.forEach(([x, y]) => take(pallets[0] + x, pallets[1] + y));
  }
  return box;
}
