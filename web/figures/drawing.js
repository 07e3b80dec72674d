// @ts-check
// The escapement as computed, in one view: the state before, bodies, centre lines, what touches, what is found.

/** @import { FigureDefinition, Oscillation, Outlined, Sheet } from "../wire" */
/** @import { Area, View, Pose, Point } from "../geometry.js" */
/** @import { Box } from "./paths.js" */
/** @import { Kept } from "./words.js" */
import { html } from "../html.js";
import { onScreen, posed, posesAt } from "../geometry.js";
import { phaseAt, sameMoment } from "../moment.js";
import { quantity } from "../units.js";
import { seen } from "./strokes.js";
import { findingMarks } from "./found.js";
import { contactMarks } from "./marks.js";
import { dimensions } from "./dimensions.js";
import { overlaps } from "./overlap.js";
import { pathText } from "./paths.js";
import { Pen } from "./pen.js";
import { pressingMarks } from "./pressing.js";

/**
 * @typedef {object} Options
 * @property {string} id names the hatching apart from that of other drawings on the page
 * @property {number} instant
 * @property {Oscillation | null} turned the table the instant belongs to
 * @property {View} view
 * @property {Area} area
 * @property {Sheet | null} before
 * @property {FigureDefinition[]} definitions
 * @property {boolean} words whether marks are written beside, or only drawn
 * @property {Box[]} taken room in which no words may stand
 * @property {[Point, Point][]} leads lines that are drawn over it
 * @property {import("./pressing.js").Pressing | null} pressing what presses, of a motion in time
 * @property {Kept} kept where words stood in the frame before
 */

/** So far centre lines run beyond what they are of. */
const BEYOND_PX = 11;
const HATCH_PX = 6;

/** What is in one view. @param {Sheet} sheet @param {Options} options */
export function drawing(sheet, options) {
  const poses = posesAt(sheet, options.turned, options.instant);
  const pen = new Pen(options.area, options.kept, options.id);
  for (const box of options.taken) pen.take(box);
  for (const [from, to] of options.leads) pen.stroke(from, to);
  for (const { outlines_mm, rides, finish } of sheet.bodies) {
    for (const outline of outlines_mm) pen.outline(outline, poses[rides], options.view, finish === "ruby");
  }
  const textOf = (/** @type {string} */ part) => {
    const body = sheet.bodies.find((b) => b.part === part);
    return body ? text(body, poses[body.rides], options) : "";
  };
  const below = { textOf: textOf("lever"), id: `${options.id}-clear` };
  // What is said first has the first choice of where to stand.
  const found = findingMarks(sheet, options, pen);
  const dimensioned = dimensions(sheet, options, pen);
  return html`<g class="drawn">
    ${options.before ? ghost(options.before, options, pen) : null}
    <g class="centres">${centreLines(sheet, options, pen)}</g>
    ${clearOf(below.id, below.textOf, options)}
    ${sheet.bodies.map((body) => ink(body, poses[body.rides], options, below.id))}
    ${overlaps(sheet, textOf, options.id)}
    ${axes(sheet, options)}
    ${dimensioned} ${contactMarks(sheet, options, pen)} ${options.pressing && pressingMarks(options.pressing, options, pen)} ${found}
    ${pen.words()}
  </g>`;
}

/** @param {Outlined} body @param {Pose} pose @param {Pick<Options, "view" | "area">} options */
const text = (body, pose, { view, area }) => body.outlines_mm.map((o) => pathText(o, pose, view, area)).join("");

/** What is seen, less a part that covers what lies below it. @param {string} id @param {string} cover @param {Options} options */
function clearOf(id, cover, { area: { width_px: w, height_px: h } }) {
  const margin = 1000;
  const all = `M${-margin} ${-margin}H${w + margin}V${h + margin}H${-margin}Z`;
  return html`<clipPath id=${id}><path d=${all + cover} clip-rule="evenodd" /></clipPath>`;
}

/**
 * A part. One that lies below the lever is dashed where that covers it.
 * @param {Outlined} body @param {Pose} pose @param {Options} options @param {string} clear what the lever does not cover
 */
function ink(body, pose, options, clear) {
  const d = text(body, pose, options);
  const turning = body.rides === "plate" ? null : body.rides;
  const hatched = body.finish === "ruby";
  const id = `${options.id}-${body.part.replaceAll(" ", "-")}`;
  return html`<g key=${body.part}>
    ${hatched ? hatching(id, body, pose, options) : null}
    ${body.finish === "hidden" ? html`<path class="below" d=${d} />` : null}
    <path class="body ${body.finish}" d=${d} fill-rule="evenodd" data-part=${body.part} data-rides=${turning}
      clip-path=${body.finish === "hidden" ? `url(#${clear})` : undefined} />
    ${hatched ? html`<path class="hatched" d=${d} style=${{ fill: `url(#${id})` }} />` : null}
  </g>`;
}

/**
 * Hatching at 45 deg that turns and goes with its part.
 * @param {string} id @param {Outlined} body @param {Pose} pose @param {Options} options
 */
function hatching(id, body, pose, { view, area }) {
  const angle = Math.PI / 4 - Math.atan2(pose.sin, pose.cos);
  const [x, y] = onScreen(view, area, posed(pose, body.outlines_mm[0][0]));
  const along = (x * Math.cos(angle) + y * Math.sin(angle)) % HATCH_PX;
  return html`<pattern
    id=${id}
    class="hatch"
    width=${HATCH_PX}
    height=${HATCH_PX}
    patternUnits="userSpaceOnUse"
    patternTransform="rotate(${(angle * 180) / Math.PI}) translate(${along} 0)"
    ><path d="M0 0V${HATCH_PX}"
  /></pattern>`;
}

/** The state before, at the same moment. @param {Sheet} before @param {Options} options @param {Pen} pen */
function ghost(before, options, pen) {
  const poses = posesAt(before, before.oscillation, sameMoment(options.turned, before.oscillation, options.instant));
  for (const { outlines_mm, rides } of before.bodies) {
    for (const outline of outlines_mm) pen.outline(outline, poses[rides], options.view, false);
  }
  return html`<g class="before">
    ${before.bodies.map((body) => html`<path key=${body.part} d=${text(body, poses[body.rides], options)} />`)}
  </g>`;
}

/** The line of centres and the circle of the teeth. @param {Sheet} sheet @param {Options} options @param {Pen} pen */
function centreLines(sheet, { view, area }, pen) {
  const [wheel, pallets, balance] = sheet.axes_mm;
  const r = sheet.locking_radius_mm;
  const beyond_mm = BEYOND_PX / view.px_per_mm;
  const at = (/** @type {number} */ x, /** @type {number} */ y) => onScreen(view, area, [x, y]);
  const line = (/** @type {Point} */ a, /** @type {Point} */ b) => pen.cut(a, b);
  const [bx, by] = [balance[0] - pallets[0], balance[1] - pallets[1]];
  const more = 1 + (0.35 * r) / Math.hypot(bx, by);
  const circle = [[wheel[0] + r, wheel[1]], ...[Math.PI, 2 * Math.PI].map((a) => [wheel[0] + r * Math.cos(a), wheel[1], r, 0, 1])];
  const plate = { cos: 1, sin: 0, x_mm: 0, y_mm: 0 };
  pen.outline(circle, plate, view, false);
  return [
    line(at(wheel[0], wheel[1] - r - beyond_mm), at(pallets[0], pallets[1])),
    line(at(pallets[0], pallets[1]), at(pallets[0] + more * bx, pallets[1] + more * by)),
    line(at(wheel[0] - r - beyond_mm, wheel[1]), at(wheel[0] + r + beyond_mm, wheel[1])),
    html`<path d=${pathText(circle, plate, view, area)} />`,
  ];
}

/** A cross at each axis. @param {Sheet} sheet @param {Options} options */
function axes(sheet, { view, area }) {
  return html`<g class="axes">
    ${sheet.axes_mm.map((axis) => {
      const [x, y] = onScreen(view, area, axis);
      if (!seen([x, y], area, 20)) return null;
      return html`<path d="M${x - 9} ${y}H${x + 9}M${x} ${y - 9}V${y + 9}" /><circle cx=${x} cy=${y} r="3" />`;
    })}
  </g>`;
}

/** What the drawing shows, in words. @param {Sheet} sheet @param {number} instant */
export function facts(sheet, instant) {
  const at = sheet.oscillation;
  const found = sheet.findings.map((f) => f.message).join(". ");
  const verdict = `${sheet.name}, ${sheet.kind}. ${sheet.sentence}.`;
  if (!at) return `${verdict} It cannot be turned. ${found}`;
  const span = at.spans[at.span[instant]];
  const c = at.contact[instant];
  const touching = c
    ? `${span.contact} at x ${quantity(c[0], "mm")}, y ${quantity(c[1], "mm")}, arm at the wheel ${quantity(c[4], "mm")}, arm at the lever ${quantity(c[5], "mm")}.`
    : "The wheel is free.";
  const stop = sheet.stop && instant === at.lever_deg.length - 1 ? `It stops here: ${sheet.stop.message}. ` : "";
  return `${verdict} ${momentText(sheet, instant)}. ${touching} ${stop}${found}`;
}

/** The moment in words: phase and angles. @param {Sheet} sheet @param {number} instant */
export function momentText(sheet, instant) {
  const at = sheet.oscillation;
  const phase = at && phaseAt(at, instant);
  if (!at || !phase) return "cannot be turned";
  return `${phase.pallet} beat, ${phase.phase}; lever ${quantity(at.lever_deg[instant], "deg")}, wheel ${quantity(at.wheel_deg[instant], "deg")}, jewel ${quantity(at.jewel_deg[instant], "deg")}`;
}
