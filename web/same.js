// @ts-check
// What an answer has in common with the one before.

/**
 * An answer in which every part that is as it was before is the very object of before: whoever has drawn that has no
 * need to draw it again.
 * @template T
 * @param {any} before
 * @param {T} now changed in place
 * @returns {T}
 */
export function keepingSame(before, now) {
  if (typeof now !== "object" || now === null || typeof before !== "object" || before === null) return now;
  const [was, is] = [/** @type {any} */ (before), /** @type {any} */ (now)];
  if (Array.isArray(is) !== Array.isArray(was)) return now;
  let same;
  if (Array.isArray(is)) {
    same = is.length === was.length;
    for (let i = 0; i < is.length; i += 1) {
      if (is[i] === was[i]) continue;
      is[i] = keepingSame(was[i], is[i]);
      same &&= is[i] === was[i];
    }
  } else {
    same = true;
    for (const key in is) {
      is[key] = keepingSame(was[key], is[key]);
      same &&= is[key] === was[key];
    }
    for (const key in was) same &&= key in is;
  }
  return same ? before : now;
}
