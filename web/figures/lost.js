// @ts-check
// Which way the drawing lies when none of its outlines is in sight.

/** @import { Rides, Sheet } from "../wire" */
/** @import { Area, Pose, View } from "../geometry.js" */
import { onScreen, posed } from "../geometry.js";
import { Ground } from "./ground.js";

/** A grid only to see whether there is a line. */
const SQUARE_PX = 64;

/**
 * Where the nearest outline lies, in words; nothing while one is in sight.
 * @param {Sheet} sheet @param {Record<Rides, Pose>} poses @param {View} view @param {Area} area
 */
export function whereabouts(sheet, poses, view, area) {
  const ground = new Ground(area, SQUARE_PX);
  const outlines = sheet.bodies.flatMap((body) => body.outlines_mm.map((outline) => ({ outline, pose: poses[body.rides] })));
  if (outlines.some(({ outline, pose }) => ground.outline(outline, pose, view, false))) return null;
  const [x, y] = outlines
    .flatMap(({ outline, pose }) => outline.map((row) => onScreen(view, area, posed(pose, row))))
    .map(([px, py]) => [px - area.width_px / 2, py - area.height_px / 2])
    .reduce((a, b) => (Math.hypot(...b) < Math.hypot(...a) ? b : a), [Infinity, Infinity]);
  const up = Math.abs(y) > Math.abs(x) / 3 ? (y < 0 ? "above" : "below") : "";
  const side = Math.abs(x) > Math.abs(y) / 3 ? (x < 0 ? "to the left" : "to the right") : "";
  return [up, side].filter(Boolean).join(", ");
}
