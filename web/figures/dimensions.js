// @ts-check
// Lock, run and draw where they are, while a tooth is locked or runs. Lock and run are angles of the lever: between the
// places of the locking corner when the tooth is unlocked, when it falls, and at the banking. Draw lies between the normal
// at the contact and the line to the pallet axis. The numbers are the bench's.

/** @import { Sheet } from "../wire" */
/** @import { Point } from "../geometry.js" */
/** @import { Options } from "./drawing.js" */
/** @import { Pen } from "./pen.js" */
import { html } from "../html.js";
import { onScreen } from "../geometry.js";
import { quantity } from "../units.js";
import { seen } from "./strokes.js";
import { locked } from "./touched.js";

/** Smaller than this on the screen, or larger than the view, an angle is not dimensioned. */
const LEAST_PX = 5;
/** Dimension arcs stand off so far, and extension lines run on so much farther. */
const OFF_PX = 40;
const ON_PX = 6;
const TAIL_PX = 14;
/** Between arrows from outside there is less room than this. */
const ROOM_PX = 22;
const DRAW_ARC_PX = 64;
/** The draw is dimensioned where the wheel's radius on the screen is larger than this. */
const NEAR_PX = 360;
/** A round view narrower than this has no room for their words. */
const ROUND_PX = 170;
/** How far a dimension's words may stand off. */
const WORDS_PX = 170;

/** @param {Sheet} sheet @param {Options} options @param {Pen} pen */
export function dimensions(sheet, options, pen) {
  const at = sheet.oscillation;
  const roomy = options.words && !(options.area.round && options.area.width_px < ROUND_PX);
  const pallet = at && roomy ? locked(at, options.instant) : null;
  if (!pallet) return null;
  return html`<g class="dimensions">${locks(sheet, pallet, options, pen)} ${draw(sheet, pallet, options, pen)}</g>`;
}

/** @param {Sheet} sheet @param {string} path */
const figure = (sheet, path) => sheet.figures.find((f) => f.path === path)?.value ?? null;

/** Where the tooth of a pallet is unlocked: place of the corner then. @param {Sheet} sheet @param {string} pallet */
function unlocking(sheet, pallet) {
  const at = sheet.oscillation;
  const span = at?.spans.findLast((s) => s.pallet === pallet && s.phase === "unlocking");
  return (span && at?.contact[span.end - 1]) ?? null;
}

/** Lock and run of one pallet. @param {Sheet} sheet @param {string} pallet @param {Options} options @param {Pen} pen */
function locks(sheet, pallet, { view, area }, pen) {
  const corner = unlocking(sheet, pallet);
  const [lock, run] = ["lock", "run"].map((f) => figure(sheet, `${pallet}.${f}_deg`));
  if (!corner || lock === null) return null;
  const axis = sheet.axes_mm[1];
  const [dx, dy] = [corner[0] - axis[0], corner[1] - axis[1]];
  const [radius, from] = [Math.hypot(dx, dy), Math.atan2(dy, dx)];
  const sizeOf = (/** @type {number} */ deg) => ((Math.abs(deg) * Math.PI) / 180) * radius * view.px_per_mm;
  if (sizeOf(lock) < LEAST_PX || sizeOf(lock) > Math.max(area.width_px, area.height_px)) return null;
  // Locked, the lever of the entry beat stands to the left of where it unlocks, that of the exit beat to the right.
  const into = pallet === "entry" ? 1 : -1;
  const place = (/** @type {number} */ deg, /** @type {number} */ off) => {
    const angle = from + (into * deg * Math.PI) / 180;
    const far = radius + off / view.px_per_mm;
    return onScreen(view, area, [axis[0] + far * Math.cos(angle), axis[1] + far * Math.sin(angle)]);
  };
  const runs = run !== null && sizeOf(run) >= 1;
  const marks = runs ? [0, lock, lock + run] : [0, lock];
  if (!marks.some((m) => seen(place(m, OFF_PX), area))) return null;
  const span = (/** @type {number} */ a, /** @type {number} */ b, /** @type {string} */ said, side = 1) =>
    arcDimension(place(a, OFF_PX), place(b, OFF_PX), { radius: radius * view.px_per_mm + OFF_PX, anticlockwise: into > 0, said, side }, pen);
  return html`${marks.map((m) => pen.cut(place(m, 3), place(m, OFF_PX + ON_PX)))}
  ${span(0, lock, `lock ${quantity(lock, "deg")}`, -1)}
  ${runs ? span(lock, lock + run, `run ${quantity(run, "deg")}`) : null}`;
}

/**
 * An arc between two points with arrows at it, from outside where there is no room between; the words after the second
 * point (side 1) or before the first (-1).
 * @param {Point} a @param {Point} b
 * @param {{ radius: number, anticlockwise: boolean, said: string, side: number }} how @param {Pen} pen
 */
function arcDimension(a, b, { radius, anticlockwise, said, side }, pen) {
  const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
  /** @type {Point} */
  const way = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
  /** @type {Point} */
  const back = [-way[0], -way[1]];
  const [end, far] = side > 0 ? [b, way] : [a, back];
  const out = (/** @type {number} */ px) => /** @type {Point} */ ([end[0] + px * far[0], end[1] + px * far[1]]);
  const roomy = length > ROOM_PX;
  pen.say({ key: said.split(" ")[0], lines: [said], at: [out(roomy ? 0 : TAIL_PX), out(-length / 2)], off: 5, far: WORDS_PX, may: true });
  return html`${pen.arc(a, b, radius, !anticlockwise)}
    ${roomy ? [pen.arrow(a, back), pen.arrow(b, way)] : [pen.arrow(a, way, TAIL_PX), pen.arrow(b, back, TAIL_PX)]}`;
}

/** The draw at this instant, where it is a figure of the bench. @param {Sheet} sheet @param {string} pallet @param {Options} options @param {Pen} pen */
function draw(sheet, pallet, { instant, view, area }, pen) {
  const at = sheet.oscillation;
  const c = at?.contact[instant];
  const span = at?.spans[at.span[instant]];
  if (!at || !c || !span?.contact?.endsWith("locking face")) return null;
  const which = moment(span, instant);
  const value = which ? figure(sheet, `${pallet}.draw_${which}_deg`) : null;
  const axis = sheet.axes_mm[1];
  const to = Math.atan2(axis[1] - c[1], axis[0] - c[0]);
  const normal = Math.atan2(c[3], c[2]);
  // The normal's line runs both ways; the end that lies by the pallet axis is meant.
  let turn = normal - to;
  turn -= Math.PI * Math.round(turn / Math.PI);
  if (value === null || Math.abs(turn) * DRAW_ARC_PX < LEAST_PX || view.px_per_mm * sheet.locking_radius_mm < NEAR_PX) return null;
  const centre = onScreen(view, area, [c[0], c[1]]);
  if (!seen(centre, area)) return null;
  const ray = (/** @type {number} */ angle, /** @type {number} */ far) =>
    /** @type {Point} */ ([centre[0] + far * Math.cos(angle), centre[1] - far * Math.sin(angle)]);
  const said = `draw ${which?.replaceAll("_", " ")} ${quantity(value, "deg")}`;
  pen.say({ key: "draw", lines: [said], at: [ray(to + turn / 2, DRAW_ARC_PX), ray(to + turn / 2, DRAW_ARC_PX / 2)], off: 8, far: WORDS_PX, may: true });
  return html`${pen.cut(ray(to, 8), ray(to, DRAW_ARC_PX + ON_PX))} ${pen.cut(ray(to + turn, 8), ray(to + turn, DRAW_ARC_PX + ON_PX))}
    ${pen.arc(ray(to, DRAW_ARC_PX), ray(to + turn, DRAW_ARC_PX), DRAW_ARC_PX, turn <= 0)}`;
}

/** Which of the draws of the bench this instant has. @param {{ phase: string, first: number, end: number }} span @param {number} instant */
function moment(span, instant) {
  if (span.phase.startsWith("free arc")) return "banked";
  if (span.phase === "run") return instant === span.first ? "at_drop" : instant === span.end - 1 ? "banked" : null;
  if (span.phase === "unlocking") return instant === span.first ? "banked" : instant === span.end - 1 ? "unlocking" : null;
  return null;
}
