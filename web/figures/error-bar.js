// @ts-check
// An estimate as a bar: one standard error thick, two thin, what it was earlier above it, what else may shift it below.
import { html } from "../html.js";
import { ticks } from "./curve.js";

/** @typedef {{ value: number, se: number }} Estimate */

const LEFT = 8;
const RIGHT = 8;
/** Earlier bars lie so far apart; at most so many. */
const STEP_PX = 4;
const EARLIER_MOST = 5;
/** Nought is taken in where it lies within so many times the range of the bar. */
const NEAR_RATIO = 3;
const OWN_PX = 8;
const SHIFT_PX = 10;
const AXIS_PX = 16;

/** Height of one. @param {boolean} settles whether it has earlier ones */
export const heightOf = (settles) => (settles ? EARLIER_MOST * STEP_PX : 4) + OWN_PX + SHIFT_PX + AXIS_PX;

/** Range in which estimates are seen beside one another, with what they are uncertain by. @param {Estimate[]} all @returns {[number, number]} */
export function besideRange(all) {
  const ends = all.flatMap(({ value, se }) => [value - 2.5 * se, value + 2.5 * se]);
  return [Math.min(...ends), Math.max(...ends)];
}

/** An estimate beside others. @param {Estimate} now @param {[number, number]} range @param {number} width */
export function bareBar({ value, se }, [from, to], width) {
  const px = (/** @type {number} */ v) => (LEFT + ((v - from) / (to - from)) * (width - LEFT - RIGHT)).toFixed(1);
  return html`<svg aria-hidden="true" viewBox="0 0 ${width} 14" width=${width} height="14">
    ${from < 0 && to > 0 && html`<path class="level" d="M${px(0)} 0v14" />`}
    <path class="two" d="M${px(value - 2 * se)} 7H${px(value + 2 * se)}" /><path class="one" d="M${px(value - se)} 7H${px(value + se)}" />
    <path class="estimate" d="M${px(value)} 2v10" /></svg>`;
}

/** The axis of them. @param {[number, number]} range @param {number} width @param {string} unit @param {(value: number, decimals: number) => string} format */
export function besideAxis([from, to], width, unit, format) {
  const px = (/** @type {number} */ v) => (LEFT + ((v - from) / (to - from)) * (width - LEFT - RIGHT)).toFixed(1);
  const along = ticks([from, to], 3);
  return html`<svg aria-hidden="true" viewBox="0 0 ${width} 20" width=${width} height="20"><path class="axis" d="M${LEFT} 1H${width - RIGHT}" />
    ${along.values.map((v) => html`<path class="mark" d="M${px(v)} 1v4" /><text class="tick" x=${px(v)} y="17" text-anchor="middle">${format(v, along.decimals)}</text>`)}
    <text class="tick" x=${width} y="17" text-anchor="end">${unit}</text></svg>`;
}

/** Estimates at a half, a quarter and so on of the time. @template {{ lasts_s: number }} T @param {T[]} earlier @param {number} lasts_s @returns {T[]} */
export function halved(earlier, lasts_s) {
  /** @type {T[]} */
  const out = [];
  for (let part = 1.5; out.length < EARLIER_MOST; part *= 1.5) {
    const at = earlier.findLast((e) => e.lasts_s <= lasts_s / part);
    if (!at) break;
    if (out.at(-1) !== at) out.push(at);
  }
  return out.reverse();
}

/**
 * @param {{ now: Estimate, earlier: Estimate[], settles: boolean, shift: number | null, zero: boolean, width: number, title: string,
 *   format: (value: number, decimals: number) => string }} options shift: what it may be off by besides; zero: whether nought is worth seeing
 */
export function errorBar({ now, earlier, settles, shift, zero, width, title, format }) {
  const reach = [...earlier, now].flatMap(({ value, se }) => [value - 2.5 * se, value + 2.5 * se]);
  const ends = [...reach, ...(shift === null ? [] : [now.value - 1.1 * shift, now.value + 1.1 * shift])];
  let [low, high] = [Math.min(...ends), Math.max(...ends)];
  // Nought is seen where it is not far off: else the bar would be a point.
  const toZero = zero && Math.abs(now.value) < NEAR_RATIO * (high - low);
  if (toZero) [low, high] = [Math.min(low, 0), Math.max(high, 0)];
  const room = 0.05 * Math.max(high - low, 1e-6);
  const [from, to] = [low - room, high + room];
  const px = (/** @type {number} */ v) => (LEFT + ((v - from) / (to - from)) * (width - LEFT - RIGHT)).toFixed(1);
  const height = heightOf(settles);
  const own = height - AXIS_PX - SHIFT_PX - OWN_PX / 2;
  const foot = height - AXIS_PX;
  const along = ticks([from, to], Math.max(2, Math.floor(width / 70)));
  const span = (/** @type {Estimate} */ { value, se }, /** @type {number} */ times) => `M${px(value - times * se)} `.concat(`{y}H${px(value + times * se)}`);
  const at = (/** @type {string} */ path, /** @type {number} */ y) => path.replace("{y}", String(y));
  return html`<svg class="error-bar" role="img" aria-label=${title} viewBox="0 0 ${width} ${height}" width=${width} height=${height}>
    <path class="axis" d="M${LEFT} ${foot}H${width - RIGHT}" />
    ${along.values.map((v) => html`<path class="mark" d="M${px(v)} ${foot}v4" /><text class="tick" x=${px(v)} y=${height - 1} text-anchor="middle">${format(v, along.decimals)}</text>`)}
    ${toZero && html`<path class="level" d="M${px(0)} 0V${foot}" />`}
    ${shift !== null && html`<path class="shift" d="M${px(now.value - shift)} ${foot - 3}v-4m0 2H${px(now.value + shift)}m0 -2v4" />`}
    ${earlier.map((e, i) => html`<path class="earlier" d=${at(span(e, 2), own - OWN_PX / 2 - STEP_PX * (earlier.length - i) + 1)} />`)}
    <path class="two" d=${at(span(now, 2), own)} />
    <path class="one" d=${at(span(now, 1), own)} />
    <path class="estimate" d="M${px(now.value)} ${own - 6}v12" />
  </svg>`;
}
