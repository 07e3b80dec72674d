// @ts-check
// Finding one's way in the table of instants. Nothing is worked out: every angle is one of the table's.

/** @import { Oscillation, Sheet, Shown, Span } from "./wire" */
/** @typedef {"wheel_deg" | "lever_deg" | "jewel_deg"} Column */
/** @typedef {{ pallet: string, phase: string, first: number, end: number }} Phase */

/** Phases in order: spans that differ in what touches what only, as one. @param {Oscillation} oscillation */
export function phases(oscillation) {
  /** @type {Phase[]} */
  const out = [];
  for (const { pallet, phase, first, end } of oscillation.spans) {
    const last = out.at(-1);
    if (last && last.pallet === pallet && last.phase === phase) last.end = end;
    else out.push({ pallet, phase, first, end });
  }
  return out;
}

/** The phase an instant belongs to. @param {Oscillation} oscillation @param {number} instant */
export function phaseAt(oscillation, instant) {
  return phases(oscillation).find((p) => instant < p.end);
}

/** Number of instants. @param {Sheet | null} sheet */
export const countOf = (sheet) => sheet?.oscillation?.wheel_deg.length ?? 0;

/** How far an instant is along its span. @param {Span} span @param {number} instant */
const alongOf = ({ first, end }, instant) => (instant - first) / Math.max(end - 1 - first, 1);

/**
 * The moment of an instant, by which it is found in a table that the bench makes.
 * @param {Oscillation} oscillation
 * @param {number} instant
 * @returns {Shown}
 */
export function shownAt(oscillation, instant) {
  const span = oscillation.spans[oscillation.span[instant] ?? 0];
  const { pallet, phase, contact } = span;
  return { pallet, phase, contact, along: alongOf(span, instant) };
}

/**
 * A table with one instant as it is now; all else is as it was.
 * @param {Oscillation} was
 * @param {number} instant
 * @param {Oscillation} now of that instant alone
 * @returns {Oscillation}
 */
export function withInstant(was, instant, now) {
  const out = { ...was };
  for (const column of /** @type {const} */ (["wheel_deg", "lever_deg", "jewel_deg", "contact", "advance_deg", "torque_ratio"])) {
    /** @type {any[]} */ (out[column]) = /** @type {any[]} */ (was[column]).with(instant, now[column][0]);
  }
  return out;
}

/**
 * The same moment in another table: as far into the same phase.
 * @param {Oscillation | null | undefined} from
 * @param {Oscillation | null | undefined} to
 * @param {number} instant
 */
export function sameMoment(from, to, instant) {
  if (!from || !to) return 0;
  const old = from.spans[from.span[instant] ?? 0];
  const here = (/** @type {boolean} */ strict) =>
    to.spans.find(
      (s) => s.pallet === old.pallet && s.phase === old.phase && (!strict || s.contact === old.contact),
    );
  const now = here(true) ?? here(false);
  if (!now) return Math.min(instant, to.span.length - 1);
  return now.first + Math.round(alongOf(old, instant) * (now.end - 1 - now.first));
}

/**
 * The instant, near the one now, at which a part stands at an angle: the fewest instants away, going on rather than back.
 * A whole table repeats: instants are counted on beyond its end and before its start, and the wheel's angle runs on with
 * them. One that comes to a stop ends there. Beyond what the part reaches it is the middle of the rest at its farthest, so
 * that coming back goes on.
 *
 * @param {number[]} column the part's angle
 * @param {number} now instant now
 * @param {number} wanted_deg angle wanted
 * @param {{ each_deg?: number, stops?: boolean }} [how] what the angle gains from one round of the table to the next;
 *   whether it comes to a stop
 */
export function nearest(column, now, wanted_deg, { each_deg = 0, stops = false } = {}) {
  const count = column.length;
  const off = (/** @type {number} */ i) => {
    const round = Math.floor(i / count);
    return column[i - round * count] + round * each_deg - wanted_deg;
  };
  const here = off(now);
  if (here === 0) return now;
  let [best, least] = [now, Math.abs(here)];
  for (let far = 1; far <= count; far += 1) {
    for (const i of [now + far, now - far]) {
      if (stops && (i < 0 || i >= count)) continue;
      const there = off(i);
      if (there * here > 0) {
        if (Math.abs(there) < least) [best, least] = [i, Math.abs(there)];
        continue;
      }
      const last = i - Math.sign(i - now);
      return Math.abs(there) <= Math.abs(off(last)) ? i : last;
    }
  }
  return each_deg === 0 ? middleOfRest(column, best, stops) : best;
}

/**
 * The middle of the stretch round an instant on which a part stands still.
 * @param {number[]} column
 * @param {number} instant
 * @param {boolean} stops
 */
function middleOfRest(column, instant, stops) {
  const count = column.length;
  const at = (/** @type {number} */ i) => (stops ? column[i] : column[((i % count) + count) % count]);
  let [first, last] = [instant, instant];
  while (last - first < count && at(last + 1) === at(instant)) last += 1;
  while (last - first < count && at(first - 1) === at(instant)) first -= 1;
  return Math.round((first + last) / 2);
}
