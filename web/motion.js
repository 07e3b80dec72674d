// @ts-check
// The computed motion in time: asked for, found at a time, played at a speed. Angles between two instants are drawn on the
// straight line between them; nothing else is worked out here.
import { batch, computed, effect, signal } from "@preact/signals";
import { askPlayed } from "./api.js";
import { click, silence } from "./clicks.js";
import { keepingSame } from "./same.js";
import { instant, name, played, played_s, set, sheet, text, turned, wantedMotion } from "./state.js";
import { trueMinus } from "./units.js";

/** @import { Oscillation, Played, Sheet, Stretch } from "./wire" */

/** How many times slower than it is. */
export const SPEEDS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000];
/** The slowest at which shocks follow one another as a sound. */
const HEARD_TO = 20;
/** Free arcs need not be slower than this. */
const FREE_ARC = 20;
/** With less motion asked for it goes from phase to phase, each shown so long. */
const PHASE_MS = 1200;
/** A frame that comes later than this goes on by no more, s: chosen. A page that was hidden goes on where it was, and tells
 * no clicks of what nobody saw. */
const LATEST_S = 0.25;

/** Speeds at which they are played until another is chosen, as places in `SPEEDS`: a start from rest takes long. */
const speeds = { steady: SPEEDS.indexOf(500), rest: SPEEDS.indexOf(10) };
/** Place of the speed in `SPEEDS`. */
export const speed = signal(speeds.steady);
/** What it is the speed of. @type {"steady" | "rest"} */
let speedOf = "steady";
/** Whether free arcs pass at 1/20 where all else is slower. */
export const hurries = signal(true);
/** Whether shocks are heard. */
export const heard = signal(false);
/** Whether it plays. */
export const goes = signal(false);
/** What could not be worked out. @type {import("@preact/signals").Signal<string | null>} */
export const refused = signal(null);

/** Whether shocks can be heard at this speed. */
export const audible = computed(() => SPEEDS[speed.value] <= HEARD_TO);

/** The instant at or before a time. @param {Played} motion @param {number} at_s */
export function placeOf({ t_s }, at_s) {
  let [low, high] = [0, t_s.length - 1];
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (t_s[middle] <= at_s) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** Where everything stands at a time. @param {Played} motion @param {number} at_s */
export function momentOf(motion, at_s) {
  const { t_s, wheel_deg, lever_deg, jewel_deg } = motion;
  const place = placeOf(motion, at_s);
  const next = Math.min(place + 1, t_s.length - 1);
  const part = next > place ? (at_s - t_s[place]) / (t_s[next] - t_s[place]) : 0;
  const between = (/** @type {number[]} */ column) => column[place] + part * (column[next] - column[place]);
  return {
    place, at_s, stretch: motion.stretches[motion.stretch[place]],
    wheel_deg: between(wheel_deg), lever_deg: between(lever_deg), jewel_deg: between(jewel_deg),
    // At its end it presses as it did until then.
    forces: motion.forces[Math.min(place, motion.forces.length - 1)] ?? [],
  };
}
/** @typedef {ReturnType<typeof momentOf>} Moment */

/** The moment of the motion that the drawing shows. @type {import("@preact/signals").ReadonlySignal<Moment | null>} */
export const moment = computed(() => {
  const [motion, at_s] = [played.value, played_s.value];
  return motion && at_s !== null && motion.t_s.length > 0 ? momentOf(motion, at_s) : null;
});

/** Whether the drawing shows the motion, and not the moment turned by hand. */
export const inMotion = computed(() => moment.value !== null);

/** What the motion is of that was told last. */
const toldOf = signal({ text: "", set: /** @type {string[]} */ ([]) });
/** Whether that is another state than the one that is here. */
export const outdated = computed(() => {
  const { text: was, set: held } = toldOf.value;
  return played.value !== null && (was !== text.value || held.join() !== set.value.join());
});

/** A table of one instant, in which the drawing finds the moment as it does one turned by hand. @param {Moment} of @returns {Oscillation} */
const tableOf = ({ stretch: { pallet, phase }, wheel_deg, lever_deg, jewel_deg }) => ({
  first_beat: 0, wheel_deg: [wheel_deg], lever_deg: [lever_deg], jewel_deg: [jewel_deg], span: [0], contact: [null],
  advance_deg: [null], torque_ratio: [null], spans: [{ pallet, phase, first: 0, end: 1, contact: null }], shocks: [],
});

/**
 * What stands on the drawing: the moment turned by hand, or that of the motion.
 * @param {Sheet} of @returns {{ sheet: Sheet, turned: Oscillation | null, instant: number, moment: Moment | null }}
 */
export function standing(of) {
  const now = moment.value;
  if (!now) return { sheet: of, turned: turned.value, instant: instant.value, moment: null };
  const table = tableOf(now);
  return { sheet: { ...of, oscillation: table, stop: null }, turned: table, instant: 0, moment: now };
}

let asking = false;
let again = false;

/** Asks for the motion of what is here. */
async function ask() {
  if (asking) {
    again = true;
    return;
  }
  asking = true;
  do {
    again = false;
    const which = wantedMotion.peek();
    const of = { text: text.peek(), set: set.peek() };
    const answer = await askPlayed({ name: name.peek(), ...of, from_rest: which === "rest" });
    // Meanwhile it has been left, or the other is wanted.
    if (which !== wantedMotion.peek()) continue;
    batch(() => {
      refused.value = answer.answer === "problem" ? trueMinus(answer.message) : null;
      if (answer.answer !== "played") return;
      toldOf.value = of;
      take(answer.played);
    });
  } while (again && wantedMotion.peek() !== null);
  asking = false;
}

/** Takes up a motion; of one that is shown already the moment stays, as far into the same phase. @param {Played} now */
function take(now) {
  const [was, at_s] = [played.peek(), played_s.peek()];
  played.value = keepingSame(was, now);
  if (now.t_s.length === 0) {
    halt();
    played_s.value = null;
  } else if (begins) {
    begins = false;
    played_s.value = now.t_s[0];
    start();
  } else if (was && at_s !== null) {
    played_s.value = sameTime(was, now, at_s);
  }
}

/** The same moment in another motion. @param {Played} was @param {Played} now @param {number} at_s */
function sameTime(was, now, at_s) {
  const end_s = now.t_s[now.t_s.length - 1];
  const old = momentOf(was, at_s).stretch;
  const same = now.stretches.find((s) => s.beat === old.beat && s.phase === old.phase);
  // A motion that stops where it begins is one instant, a phase of no time.
  const lasted_s = was.t_s[old.last] - was.t_s[old.first];
  if (!same || lasted_s === 0 || was.from_rest !== now.from_rest) return Math.min(Math.max(at_s, now.t_s[0]), end_s);
  const along = (at_s - was.t_s[old.first]) / lasted_s;
  return now.t_s[same.first] + along * (now.t_s[same.last] - now.t_s[same.first]);
}

/** Whether it is to be played from its beginning as soon as it is here. */
let begins = false;

/** Plays the steady motion, or from rest. @param {"steady" | "rest"} which */
export function begin(which) {
  halt();
  begins = true;
  speeds[speedOf] = speed.peek();
  speedOf = which;
  speed.value = speeds[which];
  wantedMotion.value = which;
  void ask();
}

// Any edit shows the new motion.
effect(() => {
  void sheet.value;
  if (wantedMotion.peek() !== null) void ask();
});

// One that was left can be gone on with until the next edit, which asks for none.
effect(() => {
  if (wantedMotion.value !== null) return;
  begins = false;
  refused.value = null;
  if (outdated.value) played.value = null;
});

/** A motion that is gone on with is wanted again. @param {Played} motion */
const want = (motion) => void (wantedMotion.value ??= motion.from_rest ? "rest" : "steady");

let frame = 0;
let timer = 0;

/** Plays on, or stops. */
export const toggle = () => (goes.value ? halt() : start());

/** Stops, and stays where it is. */
export function halt() {
  goes.value = false;
  cancelAnimationFrame(frame);
  clearInterval(timer);
  silence();
}

/** Shows the motion no longer. */
export function leave() {
  halt();
  batch(() => {
    played_s.value = null;
    wantedMotion.value = null;
  });
}

/** Plays on; from the beginning where it is at its end. */
function start() {
  const motion = played.value;
  if (!motion || motion.t_s.length < 2) return;
  halt();
  want(motion);
  if (played_s.value === null || (!motion.repeats && played_s.value >= endOf(motion))) played_s.value = motion.t_s[0];
  goes.value = true;
  if (matchMedia("(prefers-reduced-motion: reduce)").matches) {
    timer = window.setInterval(() => (played_s.peek() !== null && toStretch(1, true) ? undefined : halt()), PHASE_MS);
    return;
  }
  let last_ms = performance.now();
  const on = (/** @type {number} */ now_ms) => {
    const by_s = Math.min(Math.max(now_ms - last_ms, 0) / 1000, LATEST_S);
    last_ms = now_ms;
    // Turned by hand meanwhile, it is shown no longer.
    if (played_s.peek() === null || !played.peek()) return halt();
    advance(/** @type {Played} */ (played.peek()), by_s);
    if (goes.value) frame = requestAnimationFrame(on);
  };
  frame = requestAnimationFrame(on);
}

/** @param {Played} motion */
export const endOf = (motion) => motion.t_s[motion.t_s.length - 1];

/** How many times slower a phase is played. @param {Stretch} stretch */
const slowerIn = (stretch) =>
  hurries.peek() && stretch.phase.startsWith("free arc") ? Math.min(SPEEDS[speed.peek()], FREE_ARC) : SPEEDS[speed.peek()];

/** Goes on by a time of the clock, phase by phase: each may have a speed of its own. @param {Played} motion @param {number} left_s */
function advance(motion, left_s) {
  let at_s = Math.min(/** @type {number} */ (played_s.peek()), endOf(motion));
  let waits_s = 0;
  // A frame that comes late goes through no more than a whole motion.
  for (let n = 0; n <= motion.stretches.length && left_s > 0; n += 1) {
    const stretch = momentOf(motion, at_s).stretch;
    const slower = slowerIn(stretch);
    const to_s = Math.min(at_s + left_s / slower, motion.t_s[stretch.last]);
    sound(motion, at_s, to_s, slower, waits_s);
    waits_s += (to_s - at_s) * slower;
    left_s -= (to_s - at_s) * slower;
    at_s = to_s;
    if (at_s < endOf(motion)) continue;
    if (!motion.repeats) {
      played_s.value = at_s;
      return halt();
    }
    at_s = motion.t_s[0];
  }
  played_s.value = at_s;
}

/** Clicks of the shocks in a time. @param {Played} motion @param {number} from_s @param {number} to_s @param {number} slower @param {number} waits_s until it begins */
function sound(motion, from_s, to_s, slower, waits_s) {
  if (!heard.peek() || !audible.peek()) return;
  const loudest = Math.max(...motion.shocks.map((s) => s.lost_nj));
  for (const shock of motion.shocks) {
    const at_s = motion.t_s[shock.instant];
    if (at_s > from_s && at_s <= to_s && shock.lost_nj > 0) click(waits_s + (at_s - from_s) * slower, shock.lost_nj / loudest);
  }
}

/** Shows an instant. @param {number} place */
export function goTo(place) {
  const motion = played.value;
  if (!motion || motion.t_s.length === 0) return;
  const count = motion.t_s.length;
  const index = motion.repeats && (place < 0 || place >= count) ? ((place % (count - 1)) + count - 1) % (count - 1) : place;
  want(motion);
  played_s.value = motion.t_s[Math.min(Math.max(index, 0), count - 1)];
}

/** Goes to the start of the next phase, or back to that of the one before; false at the end. @param {1 | -1} way @param {boolean} [round] */
export function toStretch(way, round = false) {
  const motion = played.value;
  if (!motion || motion.t_s.length === 0) return false;
  const here = placeOf(motion, played_s.value ?? 0);
  const starts = motion.stretches.map((s) => s.first);
  const next = way > 0 ? starts.find((s) => s > here) : starts.findLast((s) => s < here);
  if (next === undefined && round && !motion.repeats) return false;
  if (next !== undefined) goTo(next);
  else if (motion.repeats) goTo(way > 0 ? starts[0] : starts[starts.length - 1]);
  else goTo(way > 0 ? motion.t_s.length - 1 : 0);
  return true;
}

/** Goes to the next shock, or back to the one before; of more at once it is one. @param {1 | -1} way */
export function toShock(way) {
  const motion = played.value;
  if (!motion || motion.shocks.length === 0) return;
  const here = placeOf(motion, played_s.value ?? 0);
  const places = motion.shocks.map((s) => s.instant);
  const next = way > 0 ? places.find((p) => p > here) : places.findLast((p) => p < here);
  if (next !== undefined) goTo(next);
  else if (motion.repeats) goTo(way > 0 ? places[0] : places[places.length - 1]);
}
