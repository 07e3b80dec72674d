// @ts-check
// Mean beats over one another on one axis of time, counted from the drop; the shocks of the model below.
import { html } from "../html.js";
import { ticks } from "./curve.js";

/** @import { MeanBeat } from "../wire" */
/** @import { ModelBeat } from "../model-beats.js" */

/**
 * @typedef {{ kind: "heard", label: string, mean: MeanBeat, first: number | null, drop: number } | { kind: "model", label: string, beat: ModelBeat }} Row
 * @typedef {{ left: number, right: number, from_ms: number, to_ms: number, tops: number[], height: number, foot: number }} Layout
 */

const LEFT = 84;
const RIGHT = 12;
/** Room above for the names of noises, of a heard beat, of one of the model, for the axis. */
const NAMES_PX = 20;
const HEARD_PX = 58;
const MODEL_PX = 32;
const AXIS_PX = 20;
/** Room of the unit at the end of the axis. */
const UNIT_PX = 30;
/** Names stand to the right of their line where there is so much room to the next. */
const NAME_PX = 132;

/** Where everything stands. @param {Row[]} rows @param {number} width @returns {Layout} */
export function layoutOf(rows, width) {
  const ends = rows.flatMap((row) => row.kind === "heard"
    ? [row.mean.from_ms, row.mean.from_ms + row.mean.each_ms * (row.mean.loudness.length - 1)]
    : row.beat.shocks.map((s) => s.ms));
  const tops = [];
  let at = 0;
  for (const row of rows) {
    tops.push(at);
    at += row.kind === "heard" ? NAMES_PX + HEARD_PX : MODEL_PX;
  }
  return { left: LEFT, right: width - RIGHT, from_ms: Math.min(...ends), to_ms: Math.max(...ends), tops, height: at + AXIS_PX, foot: at };
}

/** Place of a time. @param {Layout} layout @param {number} ms */
export const across = ({ left, right, from_ms, to_ms }, ms) => left + ((ms - from_ms) / (to_ms - from_ms)) * (right - left);
/** Time at a place. @param {Layout} layout @param {number} px */
export const timeAt = ({ left, right, from_ms, to_ms }, px) => from_ms + ((px - left) / (right - left)) * (to_ms - from_ms);
/** Middle of a heard beat's band, where its handles are. @param {Layout} layout @param {number} row */
export const handleTop = (layout, row) => layout.tops[row] + NAMES_PX + HEARD_PX / 2;

/** @param {{ rows: Row[], layout: Layout, width: number, title: string, format: (value: number, decimals: number) => string }} options */
export function meanBeats({ rows, layout, width, title, format }) {
  const { left, right, from_ms, to_ms, foot, height } = layout;
  const px = (/** @type {number} */ ms) => across(layout, ms).toFixed(1);
  const along = ticks([from_ms, to_ms], Math.max(4, Math.floor((right - left) / 90)));
  return html`<svg class="beats-drawn" role="img" aria-label=${title} viewBox="0 0 ${width} ${height}" width=${width} height=${height}>
    ${along.values.map((v) => html`<path class="grid" d="M${px(v)} ${NAMES_PX}V${foot}" />
      ${across(layout, v) < right - UNIT_PX && html`<text class="tick" x=${px(v)} y=${foot + 14} text-anchor="middle">${format(v, along.decimals)}</text>`}`)}
    <text class="axis-name" x=${right} y=${foot + 14} text-anchor="end">ms</text>
    ${rows.map((row, i) => row.kind === "heard" ? heard(row, layout, i, px, format) : model(row, layout, i, px))}
    <path class="axis" d="M${left} ${foot}H${right}" />
  </svg>`;
}

/** @param {Extract<Row, { kind: "heard" }>} row @param {Layout} layout @param {number} i @param {(ms: number) => string} px @param {(value: number, decimals: number) => string} format */
function heard({ label, mean, first, drop }, layout, i, px, format) {
  const [top, foot] = [layout.tops[i] + NAMES_PX, layout.tops[i] + NAMES_PX + HEARD_PX];
  const loudest = Math.max(...mean.loudness, 1e-9);
  const line = mean.loudness.map((v, k) => `${px(mean.from_ms + k * mean.each_ms)} ${(foot - (v / loudest) * (HEARD_PX - 4)).toFixed(1)}`).join("L");
  const last = mean.from_ms + (mean.loudness.length - 1) * mean.each_ms;
  const close = first !== null && across(layout, drop) - across(layout, first) < NAME_PX;
  const named = (/** @type {string} */ name, /** @type {number} */ ms, /** @type {boolean} */ before) => html`<path class="noise" d="M${px(ms)} ${top - 4}V${foot}" />
    <text class="noise-name" x=${across(layout, ms) + (before ? -6 : 6)} y=${top - 8} text-anchor=${before ? "end" : "start"}>${name} ${format(ms, 2)} ms</text>`;
  return html`<text class="row-name" x="2" y=${foot - 4}>${label}</text>
    <path class="sound" d=${`M${px(mean.from_ms)} ${foot}L${line}L${px(last)} ${foot}Z`} />
    <path class="sound-line" d=${`M${line}`} />
    <path class="rest" d="M${layout.left} ${foot}H${layout.right}" />
    ${first !== null && named("first noise", first, close)}
    ${named(first === null ? "loudest, drop?" : "drop", drop, false)}`;
}

/** @param {Extract<Row, { kind: "model" }>} row @param {Layout} layout @param {number} i @param {(ms: number) => string} px */
function model({ label, beat }, layout, i, px) {
  const foot = layout.tops[i] + MODEL_PX;
  // Numbers that would lie over one another stand one up, one down.
  let [before, up] = [-Infinity, false];
  return html`<text class="row-name" x="2" y=${foot - 6}>${label}</text>
    <path class="rest" d="M${layout.left} ${foot}H${layout.right}" />
    ${beat.shocks.map((s, k) => {
      const at = across(layout, s.ms);
      up = at - before < 10 && !up;
      before = at;
      return html`<path class="shock" d="M${px(s.ms)} ${foot - 14}V${foot}" /><text class="shock-number" x=${px(s.ms)} y=${foot - (up ? 24 : 16)} text-anchor="middle">${k + 1}</text>`;
    })}`;
}
