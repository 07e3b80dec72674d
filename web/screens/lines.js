// @ts-check
// Places in a text: the bench counts lines and columns in characters from 1, the browser in its own units from 0.

/** @import { DiagnosticRow } from "../wire" */
/** @typedef {{ severity: string, spans: { from: number, to: number, severity: string }[] }} Marked */

/** Place within a line of the character before which so many stand. @param {string} line @param {number} characters */
function placeIn(line, characters) {
  let at = 0;
  let count = 0;
  for (const character of line) {
    if (count >= characters) break;
    at += character.length;
    count += 1;
  }
  return at;
}

/** Place in the text of a line and column. @param {string} text @param {number} line @param {number} column */
export function offsetOf(text, line, column) {
  const lines = text.split("\n");
  const before = lines.slice(0, line - 1).reduce((sum, l) => sum + l.length + 1, 0);
  return before + placeIn(lines[line - 1] ?? "", column - 1);
}

/** What is marked, by line; the worst severity first, as the bench sorts them. @param {DiagnosticRow[]} rows @param {string[]} lines */
export function spansByLine(rows, lines) {
  /** @type {Map<number, Marked>} */
  const out = new Map();
  for (const { line, column, length, severity } of rows) {
    if (line === null || lines[line - 1] === undefined) continue;
    const own = lines[line - 1];
    const from = placeIn(own, (column ?? 1) - 1);
    const to = Math.max(from + 1, placeIn(own, (column ?? 1) - 1 + (length ?? own.length)));
    const marked = out.get(line) ?? { severity, spans: [] };
    marked.spans.push({ from, to, severity });
    marked.spans.sort((a, b) => a.from - b.from);
    out.set(line, marked);
  }
  return out;
}

/** Length of the longest line. @param {string[]} lines */
export const longest = (lines) => lines.reduce((most, line) => Math.max(most, line.length), 0);

/** Where the caret belongs after a text became another: behind what changed. @param {string} old @param {string} now */
export function caretAfter(old, now) {
  let end = 0;
  const most = Math.min(old.length, now.length);
  while (end < most && old[old.length - 1 - end] === now[now.length - 1 - end]) end += 1;
  let start = 0;
  while (start < most - end && old[start] === now[start]) start += 1;
  return Math.max(start, now.length - end);
}
