// @ts-check
// What can be said of a sound, and what cannot, as sentences. Numbers are those of the bench.
import { number, signed, trueMinus } from "../units.js";

/** @import { Report, Sounded } from "../wire" */

/** Decimals that an uncertainty allows: two digits of it where the first is 1, else one. @param {number | null} se @param {number} most */
export function decimalsFor(se, most) {
  if (se === null || !(se > 0)) return most;
  const place = Math.floor(Math.log10(se));
  const digits = se / 10 ** place < 2 ? 1 : 0;
  return Math.min(Math.max(digits - place, 0), most);
}

/** Most decimals of each figure. */
export const DECIMALS = { rate: 3, amplitude: 2, beatError: 4 };

/** Figures by their keys. */
export const FIGURES = /** @type {const} */ ([
  { name: "rate", unit: "s/d", value: "rate_s_per_day", se: "rate_se_s_per_day", most: DECIMALS.rate, sign: true, zero: true },
  { name: "amplitude", unit: "deg", value: "amplitude_deg", se: "amplitude_se_deg", most: DECIMALS.amplitude, sign: false, zero: false },
  { name: "beat error", unit: "ms", value: "beat_error_ms", se: "beat_error_se_ms", most: DECIMALS.beatError, sign: false, zero: true },
]);

/** An estimate with its error. @param {number} value @param {number | null} se @param {string} unit @param {number} most @param {boolean} [withSign] */
export function estimate(value, se, unit, most, withSign = false) {
  const decimals = decimalsFor(se, most);
  return `${withSign ? signed(value, decimals) : number(value, decimals)}${se === null ? "" : ` ± ${number(se, decimals)}`} ${unit}`;
}

/** Time in words. @param {number} s */
export const lasts = (s) => (s < 600 ? `${number(s, s < 100 ? 1 : 0)} s` : `${number(s / 60, 1)} min`);

/** How it stands, in a few words that seldom change. @param {"no" | "opening" | "file" | "live"} hearing @param {Sounded | null} sounded @param {boolean} any */
export function stateOf(hearing, sounded, any) {
  if (hearing === "opening") return "waiting for the microphone";
  if (hearing === "file") return "listening to the recording";
  if (hearing === "live") return sounded && !sounded.report.refused ? "listening, figures so far" : "listening, no figures yet";
  if (!sounded) return any ? "nothing heard" : "no sound yet";
  return sounded.report.refused ? "no figures" : "heard";
}

/** A sentence as it begins and ends. @param {string} text */
export const whole = (text) => `${text[0].toUpperCase()}${trueMinus(text.slice(1))}${/[.?]$/.test(text) ? "" : "."}`;

/** What the rate says. @param {Report} r */
function rateSays(r) {
  const [rate, se] = [r.rate_s_per_day, r.rate_se_s_per_day];
  if (rate === null || se === null) return null;
  const way = Math.abs(rate) < 2 * se ? "Gain or loss cannot be told from none" : rate > 0 ? "It gains" : "It loses";
  const known = `${way}: ${estimate(rate, se, "s/d", DECIMALS.rate, true)}`;
  const open = r.clock_unchecked_s_per_day;
  if (open === null) return `${known}, the clock's error taken off.`;
  return `${known} by the recorder's clock, which is unchecked: a usual one may be off by ${number(open, 1)} s/d. ${open > 5 * se
    ? "For a rate that is closer than that, have the clock checked; more listening does not help."
    : "Longer listening makes it surer."}`;
}

/** What the amplitude says. @param {Report} r @param {string} liftWords @param {[number, number] | null} byHand */
function amplitudeSays(r, liftWords, byHand) {
  const [value, se] = byHand ?? [r.amplitude_deg, r.amplitude_se_deg];
  if (value === null || se === null) return null;
  const each = r.amplitude_per_lift_ratio;
  const lift = each === null ? "" : `; 1 deg of lift more or less is ${number(each, 1)} deg of it`;
  return `The amplitude is ${estimate(value, se, "deg", DECIMALS.amplitude)}${byHand ? " by the noises placed by hand" : ""}, with a lift of ${number(r.lift_deg, 1)} deg, ${liftWords}${lift}.`;
}

/** What the beat error says. @param {Report} r */
function beatErrorSays(r) {
  const [value, se] = [r.beat_error_ms, r.beat_error_se_ms];
  if (value === null || se === null) return null;
  const none = value < 2 * se ? ", which cannot be told from none" : "";
  return `Beat error ${estimate(value, se, "ms", DECIMALS.beatError)}${none}.`;
}

/** All that can be said, and then what cannot. @param {Report} r @param {string} liftWords @param {[number, number] | null} byHand @returns {{ can: string[], cannot: string[] }} */
export function says(r, liftWords, byHand) {
  const can = [rateSays(r), amplitudeSays(r, liftWords, byHand), beatErrorSays(r)];
  const cannot = r.missing.filter((m) => !(byHand && m.startsWith("amplitude"))).map((m) => whole(m.replace(/^([a-z ]+): /, "$1 not given: ")));
  return { can: can.flatMap((s) => (s === null ? [] : [s])), cannot };
}
