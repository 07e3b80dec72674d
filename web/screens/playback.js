// @ts-check
// The motion played on the drawing: what is played, how fast, and where in it: phases as bands, shocks as strokes, each
// beat by itself, with as much room as there are instants.
import { useEffect, useRef } from "preact/hooks";
import { html } from "../html.js";
import { curve } from "../figures/curve.js";
import { forceWords } from "../figures/pressing.js";
import {
  SPEEDS, audible, begin, endOf, goTo, goes, halt, heard, hurries, leave, moment, outdated, placeOf, refused, speed, toShock, toStretch, toggle,
} from "../motion.js";
import { played, played_s, sheet, wantedMotion } from "../state.js";
import { number, quantity, trueMinus } from "../units.js";
import { inColumn, useWidth } from "./width.js";

/** @import { Played, Stretch } from "../wire" */

/** Beats up to here are all shown; of more the one that is played. */
const ALL_BEATS = 2;
const HEIGHT_PX = 130;

/** @typedef {{ number: number, pallet: string, first: number, last: number, stretches: Stretch[] }} Beat */

/** @type {WeakMap<Played, Beat[]>} */
const known = new WeakMap();

/** Its beats. @param {Played} motion */
function beatsOf(motion) {
  const old = known.get(motion);
  if (old) return old;
  /** @type {Beat[]} */
  const out = [];
  for (const stretch of motion.stretches) {
    const last = out.at(-1);
    if (last && last.number === stretch.beat) {
      last.last = stretch.last;
      last.stretches.push(stretch);
    } else out.push({ number: stretch.beat, pallet: stretch.pallet, first: stretch.first, last: stretch.last, stretches: [stretch] });
  }
  known.set(motion, out);
  return out;
}

/** A time of a motion. @param {number} s */
const time = (s) => quantity(1e3 * s, "ms", 3);

/** Where it is, in words. @param {Played} motion @param {number} at_s */
function where(motion, at_s) {
  const place = placeOf(motion, at_s);
  const stretch = motion.stretches[motion.stretch[place]];
  const struck = motion.shocks.filter((s) => s.instant === place && motion.t_s[place] === at_s).map((s) => `shock: ${s.name}, ${quantity(s.lost_nj, "nJ", 2)}`);
  return [`${time(at_s)}, ${stretch.pallet} beat, ${stretch.phase}`, ...struck].join(". ");
}

/** The instant under a pointer. @param {PointerEvent} event */
function onBar(event) {
  if (event.buttons !== 1) return;
  const bar = /** @type {HTMLElement} */ (event.currentTarget);
  if (event.type === "pointerdown") bar.setPointerCapture(event.pointerId);
  const rows = [...bar.querySelectorAll(".bands")].map((row) => ({ row, box: row.getBoundingClientRect() }));
  if (rows.length === 0) return;
  const off = (/** @type {DOMRect} */ b) => Math.abs(event.clientY - (b.top + b.bottom) / 2);
  const { row, box } = rows.reduce((a, b) => (off(b.box) < off(a.box) ? b : a));
  const { first, last } = /** @type {HTMLElement} */ (row).dataset;
  const along = Math.min(Math.max((event.clientX - box.left) / box.width, 0), 1);
  halt();
  goTo(Math.round(Number(first) + along * (Number(last) - Number(first))));
}

/** @param {KeyboardEvent} event @param {Played} motion */
function byKey(event, motion) {
  const by = event.shiftKey ? 10 : 1;
  const here = placeOf(motion, played_s.value ?? 0);
  const acts = /** @type {Record<string, () => void>} */ ({
    ArrowRight: () => goTo(here + by), ArrowUp: () => goTo(here + by), ArrowLeft: () => goTo(here - by), ArrowDown: () => goTo(here - by),
    PageDown: () => void toStretch(1), PageUp: () => void toStretch(-1), Home: () => goTo(0), End: () => goTo(motion.t_s.length - 1),
  });
  if (event.key === " ") toggle();
  else if (acts[event.key]) {
    halt();
    acts[event.key]();
  } else return;
  event.preventDefault();
  event.stopPropagation();
}

/** A beat as bands. @param {Played} motion @param {Beat} beat @param {number | null} place of the instant shown @param {number} part of the way to the next */
function row(motion, beat, place, part) {
  const count = Math.max(beat.last - beat.first, 1);
  const along = (/** @type {number} */ i) => Math.round((10_000 * (i - beat.first)) / count) / 100;
  const now = place !== null && place >= beat.first && (place < beat.last || beat.last === motion.t_s.length - 1);
  const shocks = motion.shocks.filter((s) => s.instant >= beat.first && s.instant < beat.last);
  return html`<div class="played-beat" key=${beat.number}>
    <span class="pallet">${beat.pallet}</span>
    <div class="bands" data-first=${beat.first} data-last=${beat.last}>
      ${beat.stretches.map((s) => html`<span class=${`band ${s.phase.startsWith("impulse") ? "impulse" : ""} ${now && place >= s.first && place < s.last ? "now" : ""}`}
        key=${s.first} title=${s.phase} style=${{ left: `${along(s.first)}%`, width: `${along(s.last) - along(s.first)}%` }}></span>`)}
      ${shocks.map((s) => html`<span class=${`shock ${s.of_five ? "" : "lesser"}`} title=${s.name} style=${{ left: `${along(s.instant)}%` }}></span>`)}
      ${now && html`<span class="head" style=${{ left: `${along(place + part)}%` }}></span>`}
    </div>
  </div>`;
}

/** The time bar. @param {{ motion: Played }} props */
function Bar({ motion }) {
  const at_s = played_s.value;
  const here = moment.value;
  const place = here?.place ?? null;
  const beats = beatsOf(motion);
  const current = beats.findLast((b) => place !== null && b.first <= place) ?? beats[0];
  const shown = beats.length > ALL_BEATS ? [current] : beats;
  const next = place === null ? 0 : Math.min(place + 1, motion.t_s.length - 1);
  const part = here && next > here.place ? (here.at_s - motion.t_s[here.place]) / (motion.t_s[next] - motion.t_s[here.place]) : 0;
  return html`<div class="time-bar" role="slider" tabindex="0" aria-label="Moment of the motion" aria-valuemin="0"
      aria-valuemax=${motion.t_s.length - 1} aria-valuenow=${place ?? 0} aria-valuetext=${at_s === null ? "not shown" : where(motion, at_s)}
      onPointerDown=${onBar} onPointerMove=${onBar} onKeyDown=${(/** @type {KeyboardEvent} */ e) => byKey(e, motion)}>
      ${shown.map((beat) => row(motion, beat, place, part))}
    </div>`;
}

/** The beat that is played; of none, the first. @param {Played} motion */
function beatNow(motion) {
  const place = moment.value?.place ?? 0;
  return beatsOf(motion).findLast((b) => b.first <= place) ?? beatsOf(motion)[0];
}

/** Names of the bands in order, for a finger, which cannot rest on one of them. @param {{ motion: Played }} props */
function Phases({ motion }) {
  const now = moment.value?.stretch;
  const { pallet, stretches } = beatNow(motion);
  return html`<ol class="phases" aria-label=${`Phases of the ${pallet} beat`}>${stretches.map((s) =>
    html`<li key=${s.first} class=${s === now ? "now" : ""}>${s.phase}</li>`)}</ol>`;
}

/** The five shocks of the beat that is played, each to go to, and what else strikes in it. @param {{ motion: Played }} props */
function Shocks({ motion }) {
  const place = moment.value?.place ?? 0;
  const beat = beatNow(motion);
  const own = motion.shocks.filter((s) => s.instant >= beat.first && s.instant < beat.last);
  const five = own.filter((s) => s.of_five);
  const rest = own.filter((s) => !s.of_five);
  if (own.length === 0) return html`<p class="legend">Nothing strikes in this beat.</p>`;
  return html`<table class="shocks"><caption>Shocks of the ${beat.pallet} beat${beatsOf(motion).length > ALL_BEATS ? `, number ${beat.number + 1}` : ""}: time since the beat began, energy lost</caption>
    <tbody>${five.map((s) => html`<tr key=${s.instant} class=${s.instant === place ? "now" : ""}>
      <th scope="row"><button type="button" class="name" onClick=${() => { halt(); goTo(s.instant); }}>${s.name}</button></th>
      <td class="number">${number(1e3 * (motion.t_s[s.instant] - motion.t_s[beat.first]), 3)}</td><td class="unit">ms</td>
      <td class="number">${number(s.lost_nj, 2)}</td><td class="unit">nJ</td></tr>`)}</tbody></table>
    ${rest.length > 0 && html`<p class="legend">and ${rest.length} lesser shock${rest.length > 1 ? "s" : ""}, ${quantity(rest.reduce((sum, s) => sum + s.lost_nj, 0), "nJ", 2)} together.</p>`}`;
}

/** What it comes to, beat by beat. @param {{ motion: Played }} props */
function RunUp({ motion }) {
  const [box, width] = useWidth(320);
  const beats = beatsOf(motion);
  if (beats.length <= ALL_BEATS) return null;
  const place = moment.value?.place ?? 0;
  const at = Math.max(beats.findLastIndex((b) => b.first <= place), 0);
  const x = beats.map((b) => b.number + 1);
  const y = beats.map((b) => Math.abs(motion.extreme_deg[b.number - motion.beats_before]));
  return html`<figure ref=${box}>${curve({
    title: "angle from the spring's rest where the balance turns, over beats", x: { name: "beat", unit: "", decimals: 0 }, y: { name: "balance turns at", unit: "deg", decimals: 1 },
    series: [{ kind: "ink", name: "now", x, y }], at, onPick: (to) => { halt(); goTo(beats[to].first); }, format: number, width, height: HEIGHT_PX,
  })}<figcaption>beat ${x[at]} of ${x.length}: the balance turns at ${quantity(y[at], "deg", 1)}</figcaption></figure>`;
}

/** How fast, and what with. */
function Pace() {
  const slower = SPEEDS[speed.value];
  return html`<p class="pace"><label><span>speed</span><input type="range" min="0" max=${SPEEDS.length - 1} step="1" value=${SPEEDS.length - 1 - speed.value}
      aria-label="Speed" aria-valuetext=${slower === 1 ? "as it is" : `${slower} times slower`} onKeyDown=${(/** @type {Event} */ e) => e.stopPropagation()}
      onInput=${(/** @type {any} */ e) => (speed.value = SPEEDS.length - 1 - Number(e.currentTarget.value))} /></label>
    <span class="figure">1/${slower}</span>
    <button type="button" class="word" aria-pressed=${hurries.value ? "true" : "false"} title="where all else is slower, free arcs pass at 1/20"
      onClick=${() => (hurries.value = !hurries.value)}>pass free arcs at 1/20</button>
    <button type="button" class="word" aria-pressed=${heard.value ? "true" : "false"} title="a click at each shock, as loud as it loses energy; from 1/1 to 1/20"
      onClick=${() => (heard.value = !heard.value)}>sound</button></p>
    ${heard.value && !audible.value && html`<p class="legend">Shocks are heard from 1/1 to 1/20.</p>`}`;
}

/** The moment shown: phase, time and what presses. @param {{ motion: Played }} props */
function Now({ motion }) {
  const now = moment.value;
  if (!now) return html`<p class="legend">The drawing shows the moment turned by hand.</p>`;
  const forces = forceWords(motion, now.forces);
  return html`<p class="now"><span class="phase">${now.stretch.phase}</span> <span class="figure">${time(now.at_s)}</span>
      ${outdated.value && html`<span class="stale">of the state before</span>`}</p>
    <p class="presses">${forces.length === 0 ? "nothing presses" : forces.map((f, i) => html`${i > 0 && ", "}<span>${f}</span>`)}</p>`;
}

/** Whether there is something to be played. */
const ready = () => played.value !== null && played.value.t_s.length > 0;

/** Words that play it, the time bar, what holds now, and how fast it goes. */
function Controls() {
  const which = wantedMotion.value;
  const motion = played.value;
  const word = (/** @type {"steady" | "rest"} */ of, /** @type {string} */ name) =>
    html`<button type="button" class="word" aria-pressed=${which === of ? "true" : "false"} onClick=${() => {
      begin(of);
      // In one column the drawing may be far off.
      document.querySelector(".paper")?.scrollIntoView({ block: "nearest" });
    }}>${name}</button>`;
  return html`<p class="words">${word("steady", "play the motion")} ${word("rest", "start from rest")}
      ${ready() && html`<button type="button" class="word" aria-pressed=${goes.value ? "true" : "false"} onClick=${toggle}>${goes.value ? "stop" : "go on"}</button>
        <button type="button" class="word" aria-label="shock before" onClick=${() => { halt(); toShock(-1); }}>‹ shock</button>
        <button type="button" class="word" aria-label="next shock" onClick=${() => { halt(); toShock(1); }}>shock ›</button>
        `}
      ${which !== null && html`<button type="button" class="word" onClick=${leave}>back to the hand</button>`}</p>
    ${motion && ready() && html`<${Bar} motion=${motion} /><${Phases} motion=${motion} /><${Now} motion=${motion} /><${Pace} />`}`;
}

/** Whether the controls lie at the foot of the window: in one column the drawing is far from the notes. */
const atFoot = () => inColumn.value && ready() && played_s.value !== null;

/** The controls at the foot of the window. */
export function Foot() {
  return atFoot() ? html`<${AtFoot} />` : null;
}

function AtFoot() {
  const box = useRef(/** @type {HTMLElement | null} */ (null));
  // What was pressed has gone from its place in the notes: who goes by keyboard goes on here.
  useEffect(() => void (/** @type {HTMLElement | null} */ (box.current?.querySelector(".time-bar")))?.focus({ preventScroll: true }), []);
  return html`<section class="foot playback" aria-label="Motion played" ref=${box}><${Controls} /></section>`;
}

export function Playback() {
  const motion = played.value;
  return html`<div class="playback">
    ${refused.value && html`<p class="outcome" role="status">${refused.value}.</p>`}
    ${motion && html`<p class=${motion.runs ? "legend" : "outcome"} role="status">${told(motion)}</p>`}
    ${!atFoot() && html`<${Controls} />`}
    ${motion && ready() && html`<${RunUp} motion=${motion} /><${Shocks} motion=${motion} />`}
  </div>`;
}

/** What is played. @param {Played} motion */
function told(motion) {
  const sentence = `${motion.sentence[0].toUpperCase()}${trueMinus(motion.sentence.slice(1))}.`;
  if (motion.t_s.length === 0) return sentence;
  const count = beatsOf(motion).length;
  if (motion.repeats) return `${count === 2 ? "Two" : count} beats of the steady motion, ${time(endOf(motion))}.`;
  const what = `Played: ${count === 1 ? "one beat" : `${count} beats`}, ${time(endOf(motion))}, ${motion.from_rest ? "from rest" : "from an amplitude of 270 deg"}.`;
  // What is said of the movement above is not said again.
  return motion.sentence === sheet.value?.running?.sentence ? what : `${sentence} ${what}`;
}
