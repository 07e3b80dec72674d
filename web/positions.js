// @ts-check
// Positions taken one after another in one sitting, kept in this tab.
import { effect, signal } from "@preact/signals";
import { entrySide, handed } from "./noises.js";
import { liftFrom, sounded, source } from "./sound.js";

/** @import { Report } from "./wire" */

/** Positions of ISO 3158, with what they mean. */
export const POSITIONS = [
  { symbol: "CH", words: "dial up" },
  { symbol: "FH", words: "dial down" },
  { symbol: "12H", words: "twelve up" },
  { symbol: "3H", words: "three up" },
  { symbol: "6H", words: "six up" },
  { symbol: "9H", words: "nine up" },
];

/**
 * @typedef {object} Taken
 * @property {string} position
 * @property {string} source
 * @property {number} lasts_s
 * @property {Report} report
 * @property {string} lift_origin
 * @property {[number, number] | null} by_hand amplitude by noises placed by hand, with its error, deg
 * @property {"A" | "B" | null} entry_side
 * @property {string} taken_at
 */

const KEY = "positions";

/** The position that is listened to. */
export const position = signal("CH");
/** Those that were kept. @type {import("@preact/signals").Signal<Taken[]>} */
export const taken = signal(kept());
/** The one that was taken out last, and its place. @type {import("@preact/signals").Signal<{ row: Taken, place: number } | null>} */
export const removed = signal(null);

/** @returns {Taken[]} */
function kept() {
  try {
    return JSON.parse(sessionStorage.getItem(KEY) ?? "[]");
  } catch {
    return [];
  }
}
effect(() => sessionStorage.setItem(KEY, JSON.stringify(taken.value)));

/** Keeps what was heard as that of the position; the next that was not taken yet is up then. */
export function keepPosition() {
  const now = sounded.value;
  if (!now || now.report.refused) return;
  taken.value = [...taken.value, {
    position: position.value, source: source.value?.name ?? "", lasts_s: now.lasts_s, report: now.report,
    lift_origin: liftFrom.value === "model" ? "the open movement" : "stated by hand",
    by_hand: handed.value, entry_side: entrySide.value, taken_at: new Date().toISOString(),
  }];
  const had = new Set(taken.value.map((t) => t.position));
  position.value = POSITIONS.find((p) => !had.has(p.symbol))?.symbol ?? position.value;
}

/** Takes one out. @param {number} place */
export function removePosition(place) {
  removed.value = { row: taken.value[place], place };
  taken.value = taken.value.filter((_, i) => i !== place);
}

/** Puts back the one that was taken out last. */
export function putBack() {
  const last = removed.value;
  if (!last) return;
  taken.value = [...taken.value.slice(0, last.place), last.row, ...taken.value.slice(last.place)];
  removed.value = null;
}

const COLUMNS = /** @type {const} */ ([
  ["position_iso3158", (/** @type {Taken} */ t) => t.position],
  ["rate_s_per_day", (/** @type {Taken} */ t) => t.report.rate_s_per_day],
  ["rate_se_s_per_day", (/** @type {Taken} */ t) => t.report.rate_se_s_per_day],
  ["amplitude_deg", (/** @type {Taken} */ t) => t.by_hand?.[0] ?? t.report.amplitude_deg],
  ["amplitude_se_deg", (/** @type {Taken} */ t) => t.by_hand?.[1] ?? t.report.amplitude_se_deg],
  ["amplitude_by", (/** @type {Taken} */ t) => (t.by_hand ? "noises placed by hand" : "the program")],
  ["beat_error_ms", (/** @type {Taken} */ t) => t.report.beat_error_ms],
  ["beat_error_se_ms", (/** @type {Taken} */ t) => t.report.beat_error_se_ms],
  ["beats_per_hour", (/** @type {Taken} */ t) => t.report.beats_per_hour],
  ["beats_heard", (/** @type {Taken} */ t) => t.report.beats_heard],
  ["lift_deg", (/** @type {Taken} */ t) => t.report.lift_deg],
  ["lift_origin", (/** @type {Taken} */ t) => (t.report.lift_deg === null ? null : t.lift_origin)],
  ["clock_ppm", (/** @type {Taken} */ t) => t.report.clock_ppm],
  ["clock_se_ppm", (/** @type {Taken} */ t) => t.report.clock_se_ppm],
  ["entry_side_stated", (/** @type {Taken} */ t) => t.entry_side],
  ["lasts_s", (/** @type {Taken} */ t) => t.lasts_s],
  ["source", (/** @type {Taken} */ t) => t.source],
  ["taken_at", (/** @type {Taken} */ t) => t.taken_at],
]);

/** The table as CSV (RFC 4180). @param {Taken[]} rows */
export function csvOf(rows) {
  const cell = (/** @type {unknown} */ value) => {
    const text = value === null || value === undefined ? "" : String(value);
    return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  const lines = [COLUMNS.map(([name]) => name), ...rows.map((row) => COLUMNS.map(([, read]) => read(row)))];
  return lines.map((line) => `${line.map(cell).join(",")}\r\n`).join("");
}
