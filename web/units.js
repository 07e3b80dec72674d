// @ts-check
// How numbers are written. Nothing here computes: a value comes from the bench in its unit and leaves in the same unit.

/** Decimals shown for each unit sign. */
const DECIMALS = new Map([["deg", 3], ["mm", 4], ["um", 1], ["mg cm2", 4], ["uN m", 3], ["1/h", 0], ["mm/s", 2], ["", 3]]);

const MINUS = "\u2212";

/** Decimals shown of a value in a unit. @param {string} unit */
export function decimalsOf(unit) {
  return DECIMALS.get(unit) ?? 3;
}

/**
 * A number with fixed decimals, a true minus, and no minus before nought.
 * @param {number | null | undefined} value
 * @param {number} decimals
 */
export function number(value, decimals) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "\u2013";
  const text = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(text) !== 0 ? MINUS + text : text;
}

/** A number of which the sign is always written: for differences. @param {number} value @param {number} decimals */
export function signed(value, decimals) {
  const text = number(value, decimals);
  return value > 0 && Number(value.toFixed(decimals)) !== 0 ? "+" + text : text;
}

/** A text of the bench with true minus signs, its units as fields have them. @param {string} text */
export const trueMinus = (text) => text.replace(/(^|[\s(])-(?=\d)/g, "$1\u2212").replace(/(?<=\d )(uN m|um|mg cm2)(?!\w)/g, sign);

/** The sign of a unit as it is read. @param {string} unit */
export function sign(unit) {
  return unit.replace(/^u(?=m|N)/, "\u00b5").replace("cm2", "cm\u00b2");
}

/** Value and unit. @param {number | null | undefined} value @param {string} unit @param {number} [decimals] */
export function quantity(value, unit, decimals = decimalsOf(unit)) {
  const text = number(value, decimals);
  return value === null || value === undefined || unit === "" ? text : `${text} ${sign(unit)}`;
}

/** The unit that a path ends with. @param {string} path */
export function unitOfPath(path) {
  const end = path.match(/_(deg|mm|um)$/);
  return end ? end[1] : "";
}

/**
 * A value as a movement file has it: no more digits than it needs.
 * @param {number} value
 * @param {number} [decimals]
 */
export function asWritten(value, decimals = 9) {
  return String(Number(value.toFixed(decimals)));
}

/** Words of a path's last part without its unit: `pallets.entry.stone_out_mm` is "stone out". @param {string} path */
export function wordsOf(path) {
  const last = path.slice(path.lastIndexOf(".") + 1);
  return last.replace(/_(mg_cm2|un_m|per_hour|mm_per_s|deg|mm|um|ratio)$/, "").replaceAll("_", " ");
}
