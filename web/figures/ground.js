// @ts-check
// What is drawn in one view, as a grid of small squares: where there is room for words and insets.

/** @import { Area, Point, Pose, View } from "../geometry.js" */
/** @import { Box, Edge } from "./paths.js" */
import { onScreen, posed } from "../geometry.js";
import { arcCuts, beyond, circleOf, circleRound, pointOf, reachOf, within } from "./paths.js";
import { cutEnds } from "./strokes.js";

/** What a square holds, as bits. */
const HATCH = 1;
const LINE = 2;
const TAKEN = 4;
/** What it costs to lie on such a square. */
const HATCH_COSTS = 0.8;
const LINE_COSTS = 8;
const TAKEN_COSTS = 40;
/** A hatched square that is passed counts so much of one with a line. */
const HATCH_CROSSED = 0.8;
/** @type {number[]} */
const COSTS = Array.from({ length: 8 }, (_, bits) =>
  (bits & HATCH ? HATCH_COSTS : 0) + (bits & LINE ? LINE_COSTS : 0) + (bits & TAKEN ? TAKEN_COSTS : 0));

export class Ground {
  #square;
  #across;
  #down;
  #cells;
  #area;
  /** @type {Box} */
  #box;
  /** @param {Area} area @param {number} [square] px */
  constructor(area, square = 4) {
    this.#area = area;
    this.#box = { left: 0, top: 0, right: area.width_px, low: area.height_px };
    this.#square = square;
    this.#across = Math.max(Math.ceil(area.width_px / square), 1);
    this.#down = Math.max(Math.ceil(area.height_px / square), 1);
    this.#cells = new Uint8Array(this.#across * this.#down);
  }

  /** A line; whether any of it is in view. @param {Point} a @param {Point} b */
  line(a, b) {
    const ends = cutEnds(a, b, this.#area);
    if (!ends) return false;
    const [[x, y], [x2, y2]] = ends;
    const steps = this.#steps(Math.hypot(x2 - x, y2 - y));
    for (let i = 0; i <= steps; i += 1) this.#mark(x + (i / steps) * (x2 - x), y + (i / steps) * (y2 - y));
    return true;
  }

  /** A line or an arc, in px; whether any of it is in view. @param {Edge} edge */
  edge(edge) {
    const { start, end, radius, large } = edge;
    const reach = reachOf(Math.hypot(end[0] - start[0], end[1] - start[1]), radius, large);
    if (beyond(start, reach, this.#box)) return false;
    if (radius === 0) return this.line(start, end);
    const arc = circleOf(edge);
    let any = false;
    const cuts = within(start, reach, this.#box) ? [0, 1] : [0, ...arcCuts(arc, this.#box), 1].sort((a, b) => a - b);
    for (let i = 1; i < cuts.length; i += 1) {
      const [from, to] = [cuts[i - 1], cuts[i]];
      if (!within(pointOf(arc, (from + to) / 2), 0, this.#box)) continue;
      const steps = this.#steps(arc.radius * Math.abs(arc.turn) * (to - from));
      for (let k = 0; k <= steps; k += 1) {
        const angle = arc.from + arc.turn * (from + (k / steps) * (to - from));
        this.#mark(arc.x + arc.radius * Math.cos(angle), arc.y + arc.radius * Math.sin(angle));
      }
      any = true;
    }
    return any;
  }

  /** An outline as the bench sends it, the squares inside it too where it is hatched; whether any of it is in view. @param {number[][]} outline @param {Pose} pose @param {View} view @param {boolean} hatched */
  outline(outline, pose, view, hatched) {
    const { middle, radius_mm } = circleRound(outline);
    if (beyond(onScreen(view, this.#area, posed(pose, middle)), radius_mm * view.px_per_mm, this.#box)) return false;
    const corners = outline.map((row) => onScreen(view, this.#area, posed(pose, row)));
    let any = false;
    for (let i = 1; i < corners.length; i += 1) {
      const [, , radius = 0, large, sweep] = outline[i];
      any = this.edge({ start: corners[i - 1], end: corners[i], radius: radius * view.px_per_mm, large: large === 1, sweep: sweep === 0 }) || any;
    }
    if (hatched) this.#fill(corners);
    return any;
  }

  /** Room that is given away. @param {Box} box */
  take({ left, top, right, low }) {
    const [x0, x1] = this.#span(left, right, this.#across);
    const [y0, y1] = this.#span(top, low, this.#down);
    for (let y = y0; y <= y1; y += 1) {
      for (let x = x0; x <= x1; x += 1) this.#cells[y * this.#across + x] |= TAKEN;
    }
  }

  /** A line that is given away. @param {Point} a @param {Point} b */
  keepOff([ax, ay], [bx, by]) {
    const steps = this.#steps(Math.hypot(bx - ax, by - ay));
    for (let i = 0; i <= steps; i += 1) {
      const [x, y] = [ax + (i / steps) * (bx - ax), ay + (i / steps) * (by - ay)];
      this.take({ left: x, right: x, top: y, low: y });
    }
  }

  /** A disc that is given away. @param {Point} middle @param {number} radius */
  disc([mx, my], radius) {
    const s = this.#square;
    const [y0, y1] = this.#span(my - radius, my + radius, this.#down);
    for (let y = y0; y <= y1; y += 1) {
      const half = Math.sqrt(Math.max(radius * radius - ((y + 0.5) * s - my) ** 2, 0));
      this.take({ left: mx - half, right: mx + half, top: y * s, low: y * s });
    }
  }

  /** What it costs to lie there. @param {Box} box */
  cost({ left, top, right, low }) {
    const [x0, x1] = this.#span(left, right, this.#across);
    const [y0, y1] = this.#span(top, low, this.#down);
    let sum = 0;
    for (let y = y0; y <= y1; y += 1) {
      for (let x = x0; x <= x1; x += 1) sum += COSTS[this.#cells[y * this.#across + x]];
    }
    return sum;
  }

  /** How many squares with a line in them are passed on a straight way, hatched ones counted in part. @param {Point} a @param {Point} b */
  crossed([ax, ay], [bx, by]) {
    const steps = Math.ceil(Math.hypot(bx - ax, by - ay) / this.#square);
    let count = 0;
    for (let i = 1; i < steps; i += 1) {
      const x = Math.floor((ax + (i / steps) * (bx - ax)) / this.#square);
      const y = Math.floor((ay + (i / steps) * (by - ay)) / this.#square);
      const there = x >= 0 && y >= 0 && x < this.#across && y < this.#down ? this.#cells[y * this.#across + x] : 0;
      count += there > HATCH ? 1 : there * HATCH_CROSSED;
    }
    return count;
  }

  /** The squares from one place to another, as far as there are any. @param {number} from @param {number} to @param {number} count */
  #span(from, to, count) {
    return [Math.max(Math.floor(from / this.#square), 0), Math.min(Math.floor(to / this.#square), count - 1)];
  }

  /** Steps in which a line so long leaves no square out, at least one. @param {number} length */
  #steps(length) {
    return Math.max(Math.ceil(length / (0.75 * this.#square)), 1);
  }

  /** A place with a line. @param {number} px @param {number} py */
  #mark(px, py) {
    const x = Math.floor(px / this.#square);
    const y = Math.floor(py / this.#square);
    if (x >= 0 && y >= 0 && x < this.#across && y < this.#down) this.#cells[y * this.#across + x] |= LINE;
  }

  /** @param {Point[]} corners */
  #fill(corners) {
    for (let y = 0; y < this.#down; y += 1) {
      const height = (y + 0.5) * this.#square;
      /** @type {number[]} */
      const across = [];
      for (let i = 1; i < corners.length; i += 1) {
        const [[ax, ay], [bx, by]] = [corners[i - 1], corners[i]];
        if (ay > height !== by > height) across.push(ax + ((height - ay) / (by - ay)) * (bx - ax));
      }
      across.sort((a, b) => a - b);
      for (let i = 1; i < across.length; i += 2) {
        const [x0, x1] = this.#span(across[i - 1], across[i], this.#across);
        for (let x = x0; x <= x1; x += 1) this.#cells[y * this.#across + x] |= HATCH;
      }
    }
  }
}
