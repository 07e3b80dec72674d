// @ts-check
// Path text in px. Everything is placed in double precision against the middle of the view before it becomes text, and
// cut to what is seen: an SVG is drawn in single precision.

/** @import { Area, Point, Pose, View } from "../geometry.js" */
import { onScreen, posed } from "../geometry.js";

/** @typedef {{ start: Point, end: Point, radius: number, large: boolean, sweep: boolean }} Edge radius 0: a line */

/** So far beyond the edge of what is seen outlines are drawn as they are. */
const BEYOND_PX = 200;
/** Arcs of a larger radius are written as curves of the third degree: single precision does not find their centre. */
const LARGEST_ARC_PX = 4000;
/** Texts of an outline that are kept: it is drawn on the sheet, in each inset, and as the state before. */
const KEPT_TEXTS = 8;
/** Path texts of an outline, with the numbers that place it. @type {WeakMap<number[][], { place: number[], text: string }[]>} */
const texts = new WeakMap();

/**
 * Path text of an outline, posed; nothing where it lies beyond what is seen. Written once for each place.
 * @param {number[][]} outline as the bench sends it
 * @param {Pose} pose
 * @param {View} view
 * @param {Area} area
 */
export function pathText(outline, pose, view, area) {
  const place = [pose.cos, pose.sin, pose.x_mm, pose.y_mm, view.x_mm, view.y_mm, view.px_per_mm, area.width_px, area.height_px];
  const kept = texts.get(outline) ?? [];
  const known = kept.find((was) => was.place.every((v, i) => v === place[i]));
  if (known) return known.text;
  const text = newText(outline, pose, view, area);
  texts.set(outline, [...kept.slice(1 - KEPT_TEXTS), { place, text }]);
  return text;
}

/** @param {number[][]} outline @param {Pose} pose @param {View} view @param {Area} area */
function newText(outline, pose, view, area) {
  const place = (/** @type {number[]} */ row) => onScreen(view, area, posed(pose, row));
  const box = { left: -BEYOND_PX, top: -BEYOND_PX, right: area.width_px + BEYOND_PX, low: area.height_px + BEYOND_PX };
  const round = circleRound(outline);
  if (beyond(place(round.middle), round.radius_mm * view.px_per_mm, box)) return "";
  /** @type {string[]} */
  const out = [];
  let start = place(outline[0]);
  out.push("M", written(clamped(start, box)));
  for (let i = 1; i < outline.length; i += 1) {
    const row = outline[i];
    const end = place(row);
    // The screen's y is down: what runs anticlockwise on the plate has flag 0 there.
    const edge = { start, end, radius: (row[2] ?? 0) * view.px_per_mm, large: row[3] === 1, sweep: row[4] === 0 };
    for (const piece of pieces(edge, box)) out.push(piece);
    start = end;
  }
  out.push("Z");
  return out.join("");
}

/** @type {WeakMap<number[][], { middle: Point, radius_mm: number }>} */
const circles = new WeakMap();

/** A circle that holds an outline, in its own frame. @param {number[][]} outline */
export function circleRound(outline) {
  const known = circles.get(outline);
  if (known) return known;
  const middle = /** @type {Point} */ ([0, 1].map((k) => {
    const along = outline.map((row) => row[k]);
    return (Math.min(...along) + Math.max(...along)) / 2;
  }));
  let radius_mm = 0;
  outline.forEach(([x, y, radius = 0, large], i) => {
    const from = outline[Math.max(i - 1, 0)];
    const bulge = radius === 0 ? 0 : reachOf(Math.hypot(x - from[0], y - from[1]), radius, large === 1);
    radius_mm = Math.max(radius_mm, Math.hypot(x - middle[0], y - middle[1]) + bulge);
  });
  const round = { middle, radius_mm };
  circles.set(outline, round);
  return round;
}

/** No point of an edge is farther from either end than this. @param {number} chord @param {number} radius @param {boolean} large */
export const reachOf = (chord, radius, large) => (large ? 2 * radius : chord);

/** Whether a circle lies wholly beyond one side of a box. @param {Point} middle @param {number} radius @param {Box} box */
export const beyond = ([x, y], radius, box) =>
  x + radius < box.left || x - radius > box.right || y + radius < box.top || y - radius > box.low;

/** @typedef {{ left: number, top: number, right: number, low: number }} Box */

/** @param {Point} point */
const written = ([x, y]) => `${digits(x)} ${digits(y)}`;
/** Enough digits for a millionth of a wheel on the smallest screen. @param {number} value */
const digits = (value) => String(Math.round(value * 1e5) / 1e5);

/** @param {Point} point @param {Box} box @returns {Point} */
const clamped = ([x, y], box) => [
  Math.min(Math.max(x, box.left), box.right),
  Math.min(Math.max(y, box.top), box.low),
];

/** Whether a circle lies wholly in a box. @param {Point} middle @param {number} radius @param {Box} box */
export const within = ([x, y], radius, box) =>
  x - radius >= box.left && x + radius <= box.right && y - radius >= box.top && y + radius <= box.low;

/**
 * Path text of one edge, cut to a box: what lies outside runs along the box instead, which leaves what is filled inside
 * the box as it is.
 * @param {Edge} edge
 * @param {Box} box
 * @returns {string[]}
 */
function pieces(edge, box) {
  const { start, end, radius, large } = edge;
  const line = (/** @type {Point} */ to) => `L${written(clamped(to, box))}`;
  const reach = reachOf(Math.hypot(end[0] - start[0], end[1] - start[1]), radius, large);
  if (beyond(start, reach, box)) return [line(end)];
  if (radius < LARGEST_ARC_PX && within(start, reach, box)) return [radius === 0 ? line(end) : arcText(edge, end)];
  const arc = radius > 0 ? circleOf(edge) : null;
  const at = arc
    ? (/** @type {number} */ t) => pointOf(arc, t)
    : (/** @type {number} */ t) => /** @type {Point} */ ([start[0] + t * (end[0] - start[0]), start[1] + t * (end[1] - start[1])]);
  const cuts = [0, ...(arc ? arcCuts(arc, box) : lineCuts(start, end, box)), 1].sort((a, b) => a - b);
  const out = [];
  for (let i = 1; i < cuts.length; i += 1) {
    const [from, to] = [cuts[i - 1], cuts[i]];
    if (to === from) continue;
    const stop = to === 1 ? end : at(to);
    if (!arc || !within(at((from + to) / 2), 0, box)) out.push(line(stop));
    else out.push(...curves(arc, from, to));
  }
  return out;
}

/** @param {Edge} edge @param {Point} to */
function arcText({ radius, large, sweep }, to) {
  const r = digits(radius);
  return `A${r} ${r} 0 ${large ? 1 : 0} ${sweep ? 1 : 0} ${written(to)}`;
}

/** @typedef {{ x: number, y: number, radius: number, from: number, turn: number }} Circle an arc by centre and angles */

/** Centre and angles of an arc, on the screen. @param {Edge} edge @returns {Circle} */
export function circleOf({ start, end, radius, large, sweep }) {
  const [dx, dy] = [(end[0] - start[0]) / 2, (end[1] - start[1]) / 2];
  const half = Math.hypot(dx, dy);
  const height = Math.sqrt(Math.max(radius * radius - half * half, 0)) / half;
  const side = large === sweep ? -1 : 1;
  const x = (start[0] + end[0]) / 2 - side * height * dy;
  const y = (start[1] + end[1]) / 2 + side * height * dx;
  const from = Math.atan2(start[1] - y, start[0] - x);
  let turn = Math.atan2(end[1] - y, end[0] - x) - from;
  if (sweep && turn < 0) turn += 2 * Math.PI;
  if (!sweep && turn > 0) turn -= 2 * Math.PI;
  return { x, y, radius, from, turn };
}

/** @param {Circle} arc @param {number} t @returns {Point} */
export function pointOf({ x, y, radius, from, turn }, t) {
  const angle = from + t * turn;
  return [x + radius * Math.cos(angle), y + radius * Math.sin(angle)];
}

/** Where a line crosses the lines of the box's sides. @param {Point} start @param {Point} end @param {Box} box */
function lineCuts(start, end, box) {
  const at = (/** @type {number} */ a, /** @type {number} */ b, /** @type {number} */ c) => (c - a) / (b - a);
  return [
    at(start[0], end[0], box.left),
    at(start[0], end[0], box.right),
    at(start[1], end[1], box.top),
    at(start[1], end[1], box.low),
  ].filter((t) => t > 0 && t < 1);
}

/** Where an arc crosses them. @param {Circle} arc @param {Box} box */
export function arcCuts({ x, y, radius, from, turn }, box) {
  const angles = [
    ...[box.left, box.right].map((c) => Math.acos((c - x) / radius)).flatMap((a) => [a, -a]),
    ...[box.top, box.low].map((c) => Math.asin((c - y) / radius)).flatMap((a) => [a, Math.PI - a]),
  ];
  const round = 2 * Math.PI * Math.sign(turn);
  return angles
    .filter((a) => !Number.isNaN(a))
    .map((a) => ((((a - from) / round) % 1) + 1) % 1 * (round / turn))
    .filter((t) => t > 0 && t < 1);
}

/**
 * A stretch of an arc: as an arc, or as curves of the third degree where it is too large to be one. They leave a circle
 * by less than a thousandth of a px: a stretch inside the box turns little when the radius is large.
 * @param {Circle} arc
 * @param {number} from
 * @param {number} to
 * @returns {string[]}
 */
function curves(arc, from, to) {
  const { x, y, radius, turn } = arc;
  const angle = Math.abs(turn) * (to - from);
  if (radius < LARGEST_ARC_PX) {
    const edge = { start: pointOf(arc, from), end: pointOf(arc, to), radius, large: angle > Math.PI, sweep: turn > 0 };
    return [arcText(edge, edge.end)];
  }
  const count = Math.ceil(angle / 0.2);
  const out = [];
  for (let i = 0; i < count; i += 1) {
    const [a, b] = [i, i + 1].map((k) => arc.from + turn * (from + ((to - from) * k) / count));
    const pull = (4 / 3) * Math.tan((b - a) / 4) * radius;
    const [p, q] = [a, b].map((w) => [x + radius * Math.cos(w), y + radius * Math.sin(w)]);
    const c = /** @type {Point} */ ([p[0] - pull * Math.sin(a), p[1] + pull * Math.cos(a)]);
    const d = /** @type {Point} */ ([q[0] + pull * Math.sin(b), q[1] - pull * Math.cos(b)]);
    out.push(`C${written(c)} ${written(d)} ${written(/** @type {Point} */ (q))}`);
  }
  return out;
}
