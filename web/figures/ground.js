// @ts-check
// What is drawn in one view, as a grid of small squares: where there is room for words and insets.

/** @import { Area, Point, Pose, View } from "../geometry.js" */
/** @import { Box, Edge } from "./paths.js" */
import { onScreen, posed } from "../geometry.js";
import { arcCuts, circleOf, pointOf } from "./paths.js";
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
  /** @param {Area} area @param {number} [square] px */
  constructor(area, square = 4) {
    this.#area = area;
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
    this.#walk((t) => [x + t * (x2 - x), y + t * (y2 - y)], Math.hypot(x2 - x, y2 - y));
    return true;
  }

  /** A line or an arc, in px; whether any of it is in view. @param {Edge} edge */
  edge(edge) {
    if (edge.radius === 0) return this.line(edge.start, edge.end);
    const { width_px, height_px } = this.#area;
    const box = { left: 0, top: 0, right: width_px, low: height_px };
    const arc = circleOf(edge);
    if (arc.x + arc.radius < 0 || arc.x - arc.radius > width_px || arc.y + arc.radius < 0 || arc.y - arc.radius > height_px) return false;
    let any = false;
    const cuts = [0, ...arcCuts(arc, box), 1].sort((a, b) => a - b);
    for (let i = 1; i < cuts.length; i += 1) {
      const [from, to] = [cuts[i - 1], cuts[i]];
      const [x, y] = pointOf(arc, (from + to) / 2);
      if (x < 0 || y < 0 || x > width_px || y > height_px) continue;
      this.#walk((t) => pointOf(arc, from + t * (to - from)), arc.radius * Math.abs(arc.turn) * (to - from));
      any = true;
    }
    return any;
  }

  /** An outline as the bench sends it, the squares inside it too where it is hatched; whether any of it is in view. @param {number[][]} outline @param {Pose} pose @param {View} view @param {boolean} hatched */
  outline(outline, pose, view, hatched) {
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

  /** @param {(t: number) => Point | number[]} at @param {number} length */
  #walk(at, length) {
    const steps = Math.ceil(length / (0.75 * this.#square));
    for (let i = 0; i <= steps; i += 1) {
      const [px, py] = at(i / Math.max(steps, 1));
      const x = Math.floor(px / this.#square);
      const y = Math.floor(py / this.#square);
      if (x >= 0 && y >= 0 && x < this.#across && y < this.#down) this.#cells[y * this.#across + x] |= LINE;
    }
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
