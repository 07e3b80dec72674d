// @ts-check
// The pen of one view: it draws lines, keeps in mind where they lie, and at the end writes the words beside them.

/** @import { Area, Point, Pose, View } from "../geometry.js" */
/** @import { Box } from "./paths.js" */
/** @import { Kept, Said } from "./words.js" */
import { html } from "../html.js";
import { Ground } from "./ground.js";
import { at, cutEnds, head, stroke } from "./strokes.js";
import { written } from "./words.js";

export class Pen {
  /** What is drawn, to be looked at only where there are words. @type {((ground: Ground) => void)[]} */
  #drawn = [];
  /** @type {Said[]} */
  #said = [];
  #area;
  #kept;
  #id;

  /** @param {Area} area @param {Kept} kept @param {string} id of the view */
  constructor(area, kept, id) {
    this.#area = area;
    this.#kept = kept;
    this.#id = id;
  }

  /** A line. @param {Point} a @param {Point} b */
  stroke(a, b) {
    this.#drawn.push((ground) => ground.line(a, b));
    return stroke(a, b);
  }

  /** A line, cut to what is seen. @param {Point} a @param {Point} b */
  cut(a, b) {
    const ends = cutEnds(a, b, this.#area);
    return ends && this.stroke(...ends);
  }

  /** An arc of less than half a turn. @param {Point} start @param {Point} end @param {number} radius @param {boolean} sweep as SVG has it */
  arc(start, end, radius, sweep) {
    this.#drawn.push((ground) => ground.edge({ start, end, radius, large: false, sweep }));
    return html`<path d="M${at(start)}A${radius} ${radius} 0 0 ${sweep ? 1 : 0} ${at(end)}" />`;
  }

  /** An arrow head, and the line behind it where there is one. @param {Point} tip @param {Point} way of unit length @param {number} [tail] */
  arrow(tip, way, tail = 0) {
    const from = /** @type {Point} */ ([tip[0] - tail * way[0], tip[1] - tail * way[1]]);
    return [tail > 0 ? this.stroke(from, tip) : null, head(tip, way)];
  }

  /** An outline that is drawn elsewhere. @param {number[][]} outline @param {Pose} pose @param {View} view @param {boolean} hatched */
  outline(outline, pose, view, hatched) {
    this.#drawn.push((ground) => ground.outline(outline, pose, view, hatched));
  }

  /** Room that is given away. @param {Box} box */
  take(box) {
    this.#drawn.push((ground) => ground.take(box));
  }

  /** A line that no words may lie over. @param {Point} a @param {Point} b */
  keepOff(a, b) {
    this.#drawn.push((ground) => ground.keepOff(a, b));
  }

  /** Words, to be written when all is drawn; first those that matter most. @param {Said} said */
  say(said) {
    this.#said.push({ ...said, key: `${this.#id} ${said.key}` });
  }

  /** Writes what is to be said. */
  words() {
    if (this.#said.length === 0) return null;
    const ground = new Ground(this.#area);
    for (const draw of this.#drawn) draw(ground);
    return written(this.#said, ground, this.#area, this.#kept);
  }
}
