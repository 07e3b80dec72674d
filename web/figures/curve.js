// @ts-check
// A chart of one figure over another: one plot area, axes named with unit, thin grid, ink curve.
import { html } from "../html.js";

/**
 * @typedef {{ name: string, unit: string, decimals: number }} AxisName
 * @typedef {{ x: number[], y: (number | null)[] }} Points
 * @typedef {Points & { kind: "ink" | "before", name: string }} Series
 * @typedef {object} Chart
 * @property {string} title what is shown, for a screen reader and as heading of the plot
 * @property {AxisName} x
 * @property {AxisName} y
 * @property {Series[]} series
 * @property {Points} [picks] points that can be picked; those of the first series
 * @property {{ least: number | null, most: number | null } | null} [accepted] accepted range of y
 * @property {number | null} [present] value of x that holds now
 * @property {number[]} [broken] places in x where there is no action
 * @property {number | null} [at] picked point
 * @property {(index: number) => void} [onPick]
 * @property {(value: number, decimals: number) => string} format
 * @property {{ x: number[], low: number[], high: number[] }} [band] about the first series, from low to high
 * @property {number} [level] value of y at which a line is drawn across
 * @property {boolean} [hover] whether a point is picked by the pointer alone, without a press
 * @property {number} width
 * @property {number} height
 * @property {[number, number]} [xRange] where several charts share an axis
 * @property {[number, number]} [yRange]
 */

/** Room for the numbers of the upright axis, in a small chart and in a wide one. */
const LEFT_SMALL = 32;
const LEFT_WIDE = 46;
const SMALL_PX = 200;
const RIGHT = 6;
const TOP = 24;
const BOTTOM = 36;
/** Values that hold for a smaller part of the way may run out of the plot: a ratio of arms has no bound where an arm vanishes. */
const RUNNING_OUT = 0.01;
/** Those that lie no farther beyond the others, as a part of their range, are shown all the same. */
const BEYOND_RATIO = 0.15;
/** An arrow where a line leaves the plot. */
const ARROW_PX = 4;

/**
 * The range of values shown: that of the data, a little widened; a limit close by is taken in.
 * @param {(number | null)[][]} columns
 * @param {{ near?: (number | null | undefined)[] }} [how] limits
 * @returns {[number, number]}
 */
export function rangeOf(columns, { near = [] } = {}) {
  const all = columns.flat().flatMap((v) => (v !== null && Number.isFinite(v) ? [v] : []));
  if (all.length === 0) return [0, 1];
  let [low, high] = [Math.min(...all), Math.max(...all)];
  const reach = Math.max(high - low, Math.abs(high) * 0.02, 1e-9);
  for (const v of near) {
    if (v === null || v === undefined) continue;
    if (v < low && low - v < 0.6 * reach) low = v;
    if (v > high && v - high < 0.6 * reach) high = v;
  }
  const room = Math.max(high - low, Math.abs(high) * 0.02, 1e-9) * 0.06;
  return [low - room, high + room];
}

/**
 * The range of values of curves without bound: what holds for hardly any of the way is left out.
 * @param {Series[]} series
 * @returns {[number, number]}
 */
export function boundedRange(series) {
  const held = series.flatMap(({ x, y }) => y.flatMap((value, i) => {
    const way = Math.abs((x[i + 1] ?? x[i]) - (x[i - 1] ?? x[i]));
    return value === null || !Number.isFinite(value) ? [] : [{ value, way }];
  })).sort((a, b) => a.value - b.value);
  const least = RUNNING_OUT * held.reduce((sum, h) => sum + h.way, 0);
  const within = (/** @type {typeof held} */ from) => {
    let passed = 0;
    return from.find((h) => (passed += h.way) > least)?.value ?? 0;
  };
  const [low, high] = [within(held), within([...held].reverse())];
  const beyond = BEYOND_RATIO * (high - low);
  return rangeOf([held.map((h) => h.value).filter((v) => v >= low - beyond && v <= high + beyond)]);
}

/**
 * Where a curve runs out of a range: over which of its points, at most how far.
 * @param {Series} series @param {[number, number]} range
 */
export function runningOut({ x, y }, [low, high]) {
  /** @type {{ from: number, to: number, farthest: number }[]} */
  const out = [];
  let inside = true;
  y.forEach((v, i) => {
    const beyond = v !== null && (v < low || v > high);
    const last = out.at(-1);
    if (beyond && !inside && last) {
      last.to = x[i];
      if (Math.abs(v - high) > Math.abs(last.farthest - high)) last.farthest = v;
    } else if (beyond) out.push({ from: x[i], to: x[i], farthest: v });
    inside = !beyond;
  });
  return out;
}

/**
 * Round values to name along an axis.
 * @param {[number, number]} range
 * @param {number} most
 */
export function ticks([low, high], most) {
  const raw = (high - low) / most;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = power * ([1, 2, 5].find((m) => m * power >= raw) ?? 10);
  const first = Math.ceil(low / step - 1e-9);
  const last = Math.floor(high / step + 1e-9);
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const values = [];
  for (let i = first; i <= last; i += 1) values.push(i * step);
  return { values, decimals };
}

/**
 * The point of `x` nearest to `value`.
 * @param {number[]} x
 * @param {number} value
 */
export function nearest(x, value) {
  let best = 0;
  for (let i = 1; i < x.length; i += 1) if (Math.abs(x[i] - value) < Math.abs(x[best] - value)) best = i;
  return best;
}

/**
 * What a point says, with units.
 * @param {Chart} chart
 * @param {number} index
 */
export function reading({ x, y, series, picks = series[0], format }, index) {
  const say = (/** @type {AxisName} */ a, /** @type {number | null | undefined} */ v) =>
    v === null || v === undefined ? `no ${a.name}` : `${a.name} ${format(v, a.decimals)}${a.unit && ` ${a.unit}`}`;
  return `${say(x, picks.x[index])}, ${say(y, picks.y[index])}`;
}

/**
 * @param {Chart} chart
 */
export function curve(chart) {
  const { title, x, y, series, accepted, present, broken = [], at = null, onPick, format, width, height } = chart;
  const [x0, x1] = chart.xRange ?? rangeOf(series.map((s) => s.x));
  const [y0, y1] = chart.yRange ?? rangeOf(series.map((s) => s.y), { near: [accepted?.least, accepted?.most] });
  const left = width < SMALL_PX ? LEFT_SMALL : LEFT_WIDE;
  const right = width - RIGHT;
  const foot = height - BOTTOM;
  const px = (/** @type {number} */ v) => left + ((v - x0) / (x1 - x0)) * (right - left);
  const py = (/** @type {number} */ v) => foot - ((v - y0) / (y1 - y0)) * (foot - TOP);
  const along = ticks([x0, x1], Math.max(3, Math.floor((right - left) / 36)));
  const up = ticks([y0, y1], Math.max(3, Math.floor((foot - TOP) / 24)));
  const main = series[0];
  const picks = chart.picks ?? main;
  const count = picks.x.length;

  /** @param {KeyboardEvent} event */
  const key = (event) => {
    if (!onPick || count === 0) return;
    const ahead = picks.x[count - 1] >= picks.x[0] ? 1 : -1;
    const step = { ArrowRight: ahead, ArrowUp: ahead, ArrowLeft: -ahead, ArrowDown: -ahead }[event.key];
    const here = at ?? 0;
    const ends = ahead > 0 ? { Home: 0, End: count - 1 } : { Home: count - 1, End: 0 };
    let to = step === undefined ? ends[/** @type {"Home" | "End"} */ (event.key)] : here + step * (event.shiftKey ? 10 : 1);
    if (to === undefined) return;
    // Where one stretch ends and the next begins the same point is there twice.
    while (step !== undefined && to > 0 && to < count - 1 && picks.x[to] === picks.x[here] && picks.y[to] === picks.y[here]) to += step;
    event.preventDefault();
    event.stopPropagation();
    onPick(Math.min(count - 1, Math.max(0, to)));
  };
  /** @param {PointerEvent} event */
  const point = (event) => {
    if (!onPick || count === 0 || (event.type === "pointermove" && !chart.hover && !(event.buttons & 1))) return;
    const box = /** @type {SVGElement} */ (event.currentTarget).getBoundingClientRect();
    const place = ((event.clientX - box.left) / box.width) * width;
    onPick(nearest(picks.x.map(px), place));
  };
  const role = onPick
    ? {
        role: "slider",
        tabindex: 0,
        "aria-valuemin": 0,
        "aria-valuemax": Math.max(0, count - 1),
        "aria-valuenow": at ?? 0,
        "aria-valuetext": at === null ? "no point" : reading(chart, at),
        onKeyDown: key,
        onPointerDown: point,
        onPointerMove: point,
      }
    : { role: "img" };
  const picked = at === null ? null : picks.y[at];

  return html`<svg class="curve" viewBox="0 0 ${width} ${height}" width=${width} height=${height} aria-label=${title} ...${role}>
    ${accepted && shade(accepted, [y0, y1], py, [left, right])}
    ${along.values.map((v) => html`<path class="grid" d="M${px(v).toFixed(1)} ${TOP}V${foot}" />
      <text class="tick" x=${px(v).toFixed(1)} y=${foot + 14} text-anchor="middle">${format(v, along.decimals)}</text>`)}
    ${up.values.map((v) => html`<path class="grid" d="M${left} ${py(v).toFixed(1)}H${right}" />
      <text class="tick" x=${left - 4} y=${(py(v) + 4).toFixed(1)} text-anchor="end">${format(v, up.decimals)}</text>`)}
    <path class="axis" d="M${left} ${TOP}V${foot}H${right}" />
    <text class="axis-name" x="2" y="13">${named(y)}</text>
    <text class="axis-name" x=${right} y=${height - 5} text-anchor="end">${named(x)}</text>
    ${present !== null && present !== undefined && html`<path class="present" d="M${px(present).toFixed(1)} ${TOP}V${foot}" />`}
    ${broken.map((v) => html`<path class="broken" d="M${px(v).toFixed(1)} ${foot}v-7" />`)}
    <svg x=${left} y=${TOP} width=${right - left} height=${foot - TOP} viewBox="${left} ${TOP} ${right - left} ${foot - TOP}">
      ${chart.band && html`<path class="band" d=${outlineOf(chart.band, px, py)} />`}
      ${chart.level !== undefined && html`<path class="level" d="M${left} ${py(chart.level).toFixed(1)}H${right}" />`}
      ${[...series].reverse().map((s) => html`<path class=${`line ${s.kind}`} d=${path(s, px, py)} />`)}
    </svg>
    ${runningOut(main, [y0, y1]).map(({ from, farthest }) => {
      const [place, edge, way] = [px(from), farthest > y1 ? TOP : foot, farthest > y1 ? -1 : 1];
      return html`<path class="out" d="M${place.toFixed(1)} ${edge + way * ARROW_PX}l${-ARROW_PX / 2} ${-way * ARROW_PX}h${ARROW_PX}Z" />`;
    })}
    ${at !== null && picked !== null && picked !== undefined && picked >= y0 && picked <= y1 &&
      html`<circle class="picked" cx=${px(picks.x[at]).toFixed(1)} cy=${py(picked).toFixed(1)} r="4.5" />`}
  </svg>`;
}

/** @param {AxisName} axis */
const named = (axis) => (axis.unit ? `${axis.name}, ${axis.unit}` : axis.name);

/**
 * The accepted range, as far as it is in the plot.
 * @param {{ least: number | null, most: number | null }} range
 * @param {[number, number]} shown
 * @param {(v: number) => number} py
 * @param {[number, number]} across
 */
function shade({ least, most }, [y0, y1], py, [left, right]) {
  const low = Math.max(least ?? y0, y0);
  const high = Math.min(most ?? y1, y1);
  if (high <= low) return null;
  const inside = (/** @type {number | null} */ v) => v !== null && v > y0 && v < y1;
  const limit = (/** @type {number} */ v) => html`<path class="limit" d="M${left} ${py(v).toFixed(1)}H${right}" />`;
  return html`<rect class="accepted" x=${left} y=${py(high).toFixed(1)} width=${right - left}
      height=${(py(low) - py(high)).toFixed(1)} />
    ${inside(least) && limit(/** @type {number} */ (least))} ${inside(most) && limit(/** @type {number} */ (most))}`;
}

/**
 * @param {{ x: number[], low: number[], high: number[] }} band
 * @param {(v: number) => number} px
 * @param {(v: number) => number} py
 */
function outlineOf({ x, low, high }, px, py) {
  const at = (/** @type {number} */ i, /** @type {number[]} */ y) => `${px(x[i]).toFixed(2)} ${py(y[i]).toFixed(2)}`;
  const forth = x.map((_, i) => at(i, high));
  return forth.length > 0 ? `M${[...forth, ...x.map((_, i) => at(i, low)).reverse()].join("L")}Z` : "";
}

/**
 * @param {Series} series
 * @param {(v: number) => number} px
 * @param {(v: number) => number} py
 */
function path(series, px, py) {
  let out = "";
  let pen = "M";
  series.x.forEach((v, i) => {
    const value = series.y[i];
    if (value === null || value === undefined) {
      pen = "M";
      return;
    }
    out += `${pen}${px(v).toFixed(2)} ${py(value).toFixed(2)}`;
    // A point between two gaps is a dot.
    if (pen === "M" && (series.y[i + 1] ?? null) === null) out += "h0";
    pen = "L";
  });
  return out;
}
