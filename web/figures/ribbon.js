// @ts-check
// The ribbon: one oscillation turned by hand, the entry beat above, the exit beat below. Every phase has room by its
// number of instants; at each bound stand the balance angle and the shock that comes there. Red is what stands in the
// way: where parts overlap, and where it comes to a stop. Where there is no room at the bounds, on a phone, the shocks are
// numbered, and listed below; so is elsewhere what a band is too narrow for.

/** @import { Oscillation, Sheet } from "../wire" */
/** @import { Phase } from "../moment.js" */
import { html } from "../html.js";
import { phases } from "../moment.js";
import { keepingSame } from "../same.js";
import { number, trueMinus } from "../units.js";
import { momentText } from "./drawing.js";

/**
 * @typedef {object} Options
 * @property {number} instant
 * @property {boolean} playing
 * @property {boolean} away whether the drawing shows another moment, of a motion in time
 * @property {number} width_px of the bands of a beat
 * @property {boolean} upright whether names stand upright, on a phone
 * @property {(event: PointerEvent) => void} onPointer
 * @property {(event: KeyboardEvent) => void} onKey
 * @property {() => void} onPlay
 */

/** @typedef {{ name: string, short: string, place: number }} Shock the place is that among the shocks of its beat, from 1 */
/**
 * @typedef {object} Band a phase as it is drawn; parts of it in percent of its width
 * @property {number} first
 * @property {number} grow its number of instants
 * @property {string} phase
 * @property {string} title
 * @property {string} kind
 * @property {string} angle of the jewel where it begins
 * @property {Shock | null} shock that comes where it begins
 * @property {{ left: number, width: number, said: string }[]} struck where parts overlap
 * @property {number | null} head where the play head stands
 * @property {boolean} narrow whether its words have no room
 */

/** Part of a beat's room that the stop has. */
const STOP_RATIO = 0.34;
/** Width of a letter and of a digit, more or less, and what is free beside them. */
const LETTER_PX = 6;
const DIGIT_PX = 7.3;
const BESIDE_PX = 6;
/** Width of a name that stands upright. */
const UPRIGHT_PX = 13;

/** The beats of an oscillation: stretches of phases of one pallet. @param {Oscillation} oscillation */
export function beatsOf(oscillation) {
  /** @type {{ pallet: string, first: number, end: number, phases: Phase[] }[]} */
  const out = [];
  for (const phase of phases(oscillation)) {
    const last = out.at(-1);
    if (last && last.pallet === phase.pallet) {
      last.end = phase.end;
      last.phases.push(phase);
    } else out.push({ pallet: phase.pallet, first: phase.first, end: phase.end, phases: [phase] });
  }
  return out;
}

/** @param {Sheet} sheet @param {Options} options */
export function ribbon(sheet, options) {
  const { instant, playing, away, onPointer, onKey, onPlay } = options;
  const at = sheet.oscillation;
  if (!at) return html`<p class="ribbon still">It cannot be turned: ${sheet.stop?.message ?? sheet.sentence}.</p>`;
  const beats = beatsOf(at);
  const stop = sheet.stop;
  return html`<div class="strip">
    <div
      class=${`ribbon${away ? " away" : ""}`}
      role="slider"
      tabindex="0"
      aria-label="Moment of the oscillation"
      aria-valuemin="0"
      aria-valuemax=${at.wheel_deg.length - 1}
      aria-valuenow=${instant}
      aria-valuetext=${`${said(sheet, at, instant)}${away ? ". The drawing shows the motion" : ""}`}
      onPointerDown=${onPointer}
      onPointerMove=${onPointer}
      onKeyDown=${onKey}
    >
      ${beats.map((beat, i) => row(sheet, at, beat, options, i === beats.length - 1 ? stop : null))}
    </div>
    <button class="word play" type="button" data-play aria-pressed=${playing} onClick=${onPlay}>play</button>
  </div>`;
}

/** What holds at an instant beside its phase: a shock, parts that overlap, the stop. @param {Sheet} sheet @param {Oscillation} at @param {number} instant */
function said(sheet, at, instant) {
  const shock = at.shocks.find((s) => s.instant === instant);
  const struck = sheet.findings.filter((f) => f.instants.some(([first, end]) => instant >= first && instant < end));
  const stop = instant === at.wheel_deg.length - 1 ? sheet.stop : null;
  const more = [shock && `shock: ${shock.name}`, ...struck.map((f) => trueMinus(f.message)), stop && `stops here: ${stop.message}`];
  return [momentText(sheet, instant), ...more.filter(Boolean)].join(". ");
}

/**
 * @param {Sheet} sheet @param {Oscillation} at @param {ReturnType<typeof beatsOf>[number]} beat @param {Options} options
 * @param {Sheet["stop"]} stop what ends it
 */
function row(sheet, at, beat, { instant, width_px, upright }, stop) {
  const last = number(at.jewel_deg[beat.end - 1], 1);
  const each_px = (width_px * (stop ? 1 - STOP_RATIO : 1)) / (beat.end - beat.first);
  const bands = beat.phases.map((phase) => withRoom(bandOf(sheet, at, beat, phase, instant), each_px, upright));
  const end = stop ? shockBefore(at, beat, beat.end) : null;
  const now = instant >= beat.first && instant < beat.end;
  return html`<div class="beat" key=${beat.first}>
    <span class="pallet">${beat.pallet}</span>
    <div class="way">
      <div class="bands" data-first=${beat.first} data-end=${beat.end} style=${{ gridTemplateColumns: columnsOf(bands) }}>
        ${bands.map(drawn)}
      </div>
      ${stop
        ? html`<span class="beyond" title=${stop.message}>
            ${tick(end)}<span class="stop">${stop.name}: ${stop.message}</span>
            ${bound(last, end)}
          </span>`
        : null}
    </div>
    <span class="figure bound last">${stop ? "" : last}</span>
    ${upright ? null : gone(bands.filter((b) => b.narrow))}
    ${now ? html`<span class="shocks">${shocksOf(at, beat).map((s, i) => html`<span>${i + 1} ${s.short} <span class="figure">${number(at.jewel_deg[s.instant], 1)} deg</span></span> `)}</span>` : null}
  </div>`;
}

/** Whether its words have room. @param {Band} band @param {number} each_px of an instant @param {boolean} upright */
function withRoom(band, each_px, upright) {
  const { grow, phase, angle, shock } = band;
  const longest = (/** @type {string} */ words) => Math.max(...words.split(" ").map((word) => word.length));
  const letters = Math.max(longest(phase), longest(shock?.short ?? ""));
  const needs_px = upright ? UPRIGHT_PX : BESIDE_PX + Math.max(LETTER_PX * letters, DIGIT_PX * longest(angle));
  return { ...band, narrow: grow * each_px < needs_px };
}

/** What the narrow bands of a beat would say. @param {Band[]} bands */
const gone = (bands) => (bands.length === 0 ? null : html`<span class="gone">${bands.map(({ phase, angle, shock }) =>
  html`<span>${phase}, from <span class="figure">${angle.replace(" deg", "")} deg</span>${shock && ` ${shock.short}`}</span> `)}</span>`);

/** A phase has room by its number of instants. @param {Band[]} bands */
const columnsOf = (bands) => bands.map((b) => `minmax(0, ${b.grow}fr)`).join(" ");

/** The shocks of a beat, in order. @param {Oscillation} at @param {{ first: number, end: number }} beat */
const shocksOf = (at, { first, end }) => at.shocks.filter((s) => s.instant >= first && s.instant < end);

/** The shock with which a phase begins. @param {Oscillation} at @param {{ first: number, end: number }} beat @param {number} first @returns {Shock | null} */
function shockBefore(at, beat, first) {
  const all = shocksOf(at, beat);
  const i = all.findIndex((s) => s.instant === first - 1);
  return i < 0 ? null : { name: all[i].name, short: all[i].short, place: i + 1 };
}

/** @param {Shock | null} shock */
const tick = (shock) => (shock === null ? null : html`<span class="tick" title=${shock.name}><span class="place">${shock.place}</span></span>`);

/** What stands at a bound: the jewel's angle and the shock. @param {string} angle @param {Shock | null} shock */
const bound = (angle, shock) => html`<span class="bound"><span class="figure">${angle}</span>
  ${shock === null ? null : html` <span class="shock">${shock.short}</span>`}</span>`;

/** @param {Sheet} sheet @param {Oscillation} at @param {{ first: number, end: number }} beat @param {Phase} phase @param {number} instant @returns {Band} */
function bandOf({ findings }, at, beat, { phase, first, end }, instant) {
  const part = (/** @type {number} */ i) => Math.round((10_000 * (i - first)) / (end - first)) / 100;
  const overlaps = findings.flatMap((f) => f.instants.map(([a, z]) => ({ a, z, said: trueMinus(f.message) })));
  const here = overlaps.filter(({ a, z }) => a < end && z > first);
  // The hand gets to a later phase only by turning parts through one another.
  const before = overlaps.find(({ z }) => z <= first);
  return {
    first,
    grow: end - first,
    phase,
    title: here.length > 0 ? here.map((o) => o.said).join(". ") : before ? `${phase}, past this: ${before.said}` : phase,
    kind: `${kindOf(phase)}${here.length === 0 && before ? " past" : ""}`,
    angle: number(at.jewel_deg[first], 1) + (first === beat.first ? " deg" : ""),
    shock: shockBefore(at, beat, first),
    struck: here.map(({ a, z, said }) => {
      const [left, right] = [part(Math.max(a, first)), part(Math.min(z, end))];
      return { left, width: right - left, said };
    }),
    head: instant >= first && instant < end ? part(instant + 0.5) : null,
    narrow: false,
  };
}

/** How a band is drawn. @param {string} phase */
function kindOf(phase) {
  if (phase.startsWith("impulse")) return "impulse";
  if (phase.startsWith("free arc")) return "free";
  return "between";
}

/** The bands as they were drawn last, by their first instant. @type {Map<number, { band: Band, node: unknown }>} */
const last = new Map();

/** A band; one that is as it was is not drawn anew. @param {Band} now */
function drawn(now) {
  const was = last.get(now.first);
  const band = keepingSame(was?.band, now);
  if (was && band === was.band) return was.node;
  const node = bandNode(band);
  last.set(now.first, { band, node });
  return node;
}

/** @param {Band} band */
function bandNode({ first, phase, title, kind, angle, shock, struck, head, narrow }) {
  return html`<span class="band ${kind} ${head === null ? "" : "now"} ${narrow ? "narrow" : ""}" key=${first} title=${title}>
    ${tick(shock)}
    <span class="cell">
      <span class="phase">${phase}</span>
      ${struck.map((s) => html`<span class="struck" title=${s.said} style=${{ left: `${s.left}%`, width: `${s.width}%` }}></span>`)}
      ${head === null ? null : html`<span class="head" style=${{ left: `${head}%` }}></span>`}
    </span>
    ${bound(angle, shock)}
  </span>`;
}
