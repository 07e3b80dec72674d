// @ts-check
// Lock, run and draw where they are. Lock and run are angles of the lever: between the places of the locking corner when
// the tooth is unlocked, when it falls, and at the banking. Draw lies between the normal at the contact and the line to
// the pallet axis. The numbers are the bench's.

/** @import { Sheet } from "../wire" */
/** @import { Area, Point } from "../geometry.js" */
/** @import { Options } from "./drawing.js" */
import { html } from "../html.js";
import { onScreen } from "../geometry.js";
import { quantity } from "../units.js";
import { at as point, head, label, seen, stroke } from "./strokes.js";

/** Smaller than this on the screen, or larger than the view, an angle is not dimensioned. */
const LEAST_PX = 5;
/** Dimension arcs stand off so far, and extension lines run on so much farther. */
const OFF_PX = 40;
const ON_PX = 6;
const DRAW_ARC_PX = 64;
/** The draw is dimensioned where the wheel's radius on the screen is larger than this. */
const NEAR_PX = 360;

/** @param {Sheet} sheet @param {Options} options */
export function dimensions(sheet, options) {
  if (!sheet.oscillation) return null;
  return html`<g class="dimensions">
    ${["entry", "exit"].map((pallet) => locks(sheet, pallet, options))} ${draw(sheet, options)}
  </g>`;
}

/** @param {Sheet} sheet @param {string} path */
const figure = (sheet, path) => sheet.figures.find((f) => f.path === path)?.value ?? null;

/** Where the tooth of a pallet is unlocked: lever angle and place of the corner then. @param {Sheet} sheet @param {string} pallet */
function unlocking(sheet, pallet) {
  const at = sheet.oscillation;
  const span = at?.spans.findLast((s) => s.pallet === pallet && s.phase === "unlocking");
  const c = span && at?.contact[span.end - 1];
  return at && span && c ? { lever_deg: at.lever_deg[span.end - 1], point: [c[0], c[1]] } : null;
}

/** Lock and run of one pallet. @param {Sheet} sheet @param {string} pallet @param {Options} options */
function locks(sheet, pallet, { view, area, words }) {
  const at = unlocking(sheet, pallet);
  const [lock, run] = ["lock", "run"].map((f) => figure(sheet, `${pallet}.${f}_deg`));
  if (!at || lock === null || !words) return null;
  const axis = sheet.axes_mm[1];
  const [dx, dy] = [at.point[0] - axis[0], at.point[1] - axis[1]];
  const [radius, from] = [Math.hypot(dx, dy), Math.atan2(dy, dx)];
  const size = ((lock * Math.PI) / 180) * radius * view.px_per_mm;
  if (size < LEAST_PX || size > Math.max(area.width_px, area.height_px)) return null;
  // Locked, the lever of the entry beat stands to the left of where it unlocks, that of the exit beat to the right.
  const into = pallet === "entry" ? 1 : -1;
  const place = (/** @type {number} */ deg, /** @type {number} */ off) => {
    const angle = from + (into * deg * Math.PI) / 180;
    const far = radius + off / view.px_per_mm;
    return onScreen(view, area, [axis[0] + far * Math.cos(angle), axis[1] + far * Math.sin(angle)]);
  };
  const marks = run === null ? [0, lock] : [0, lock, lock + run];
  if (!marks.some((m) => seen(place(m, OFF_PX), area))) return null;
  const span = (/** @type {number} */ a, /** @type {number} */ b, /** @type {string} */ said, side = 1) =>
    arcDimension(place(a, OFF_PX), place(b, OFF_PX), (radius * view.px_per_mm) + OFF_PX, into > 0, said, side, area);
  return html`${marks.map((m) => stroke(place(m, 3), place(m, OFF_PX + ON_PX)))}
  ${span(0, lock, `lock ${quantity(lock, "deg")}`, -1)}
  ${run === null ? null : span(lock, lock + run, `run ${quantity(run, "deg")}`)}`;
}

/**
 * An arc between two points with arrows at it: from outside where there is no room between.
 * @param {Point} a @param {Point} b @param {number} radius @param {boolean} anticlockwise
 * @param {string} said @param {number} side after the second point (1) or before the first (-1) @param {Area} area
 */
function arcDimension(a, b, radius, anticlockwise, said, side, area) {
  const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
  /** @type {Point} */
  const way = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
  /** @type {Point} */
  const back = [-way[0], -way[1]];
  const roomy = length > 22;
  const out = (/** @type {Point} */ p, /** @type {Point} */ w, /** @type {number} */ far) =>
    /** @type {Point} */ ([p[0] + far * w[0], p[1] + far * w[1]]);
  const end = side > 0 ? out(b, way, 20) : out(a, back, 20);
  const far = side > 0 ? way : back;
  const anchor = far[0] < 0 ? "end" : "start";
  return html`<path d="M${point(a)}A${radius} ${radius} 0 0 ${anticlockwise ? 0 : 1} ${point(b)}" />
    ${stroke(side > 0 ? b : a, end)}
    ${roomy ? [head(a, back), head(b, way)] : [head(a, way), head(b, back), stroke(out(a, back, 14), a), stroke(b, out(b, way, 14))]}
    ${seen(end, area) ? label([end[0] + far[0] * 4, end[1] + far[1] * 12 + 4], anchor, said, area) : null}`;
}

/** The draw at this instant, where it is a figure of the bench. @param {Sheet} sheet @param {Options} options */
function draw(sheet, { instant, view, area, words }) {
  const at = sheet.oscillation;
  const c = at?.contact[instant];
  const span = at?.spans[at.span[instant]];
  if (!at || !c || !span || !words || span.contact === null || !span.contact.endsWith("locking face")) return null;
  const which = moment(span, instant);
  const pallet = span.phase === "free arc, going" || span.phase === "run" ? other(span.pallet) : span.pallet;
  const value = which ? figure(sheet, `${pallet}.draw_${which}_deg`) : null;
  const axis = sheet.axes_mm[1];
  const to = Math.atan2(axis[1] - c[1], axis[0] - c[0]);
  const normal = Math.atan2(c[3], c[2]);
  // The normal's line runs both ways; the end that lies by the pallet axis is meant.
  let turn = normal - to;
  turn -= Math.PI * Math.round(turn / Math.PI);
  if (Math.abs(turn) * DRAW_ARC_PX < LEAST_PX || view.px_per_mm * sheet.locking_radius_mm < NEAR_PX) return null;
  const centre = onScreen(view, area, [c[0], c[1]]);
  if (!seen(centre, area)) return null;
  const ray = (/** @type {number} */ angle, /** @type {number} */ far) =>
    /** @type {Point} */ ([centre[0] + far * Math.cos(angle), centre[1] - far * Math.sin(angle)]);
  const [a, b] = [ray(to, DRAW_ARC_PX), ray(to + turn, DRAW_ARC_PX)];
  const said = which && value !== null ? `draw ${which.replaceAll("_", " ")} ${quantity(value, "deg")}` : "draw";
  const beyond = ray(to + turn / 2, DRAW_ARC_PX + 14);
  return html`${stroke(ray(to, 8), ray(to, DRAW_ARC_PX + ON_PX))} ${stroke(ray(to + turn, 8), ray(to + turn, DRAW_ARC_PX + ON_PX))}
    <path d="M${point(a)}A${DRAW_ARC_PX} ${DRAW_ARC_PX} 0 0 ${turn > 0 ? 0 : 1} ${point(b)}" />
    ${label(beyond, beyond[0] < centre[0] ? "end" : "start", said, area)}`;
}

/** @param {string} pallet */
const other = (pallet) => (pallet === "entry" ? "exit" : "entry");

/** Which of the draws of the bench this instant has. @param {{ phase: string, first: number, end: number }} span @param {number} instant */
function moment(span, instant) {
  if (span.phase.startsWith("free arc")) return "banked";
  if (span.phase === "run") return instant === span.first ? "at_drop" : instant === span.end - 1 ? "banked" : null;
  if (span.phase === "unlocking") return instant === span.first ? "banked" : instant === span.end - 1 ? "unlocking" : null;
  return null;
}
