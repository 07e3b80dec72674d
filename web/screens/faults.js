// @ts-check
// What is wrong with something that was written: message, value found, allowed range, what to do.
import { html } from "../html.js";
import { setValue, tables } from "../state.js";
import { number, quantity, trueMinus } from "../units.js";
import { fullName, tablePath, twinOf } from "./names.js";

/** @import { DiagnosticRow } from "../wire" */

/** An error about more parameters than this is said once, and not with each of them: lock of entry and exit are two. */
export const OWN_AT_MOST = 2;

/** What is said of a line of the text, and what holds of a field. */
const OF_A_KEY = "its unit is the end of the key";
const OF_A_FIELD = "its unit stands behind the field";
const PATH = /\b[a-z]+(?:\.[a-z0-9_]+)+/g;
const VALUE = /(-?\d+(?:\.\d+)?)( to (-?\d+(?:\.\d+)?))? (deg|mm|um)\b/g;
const WOULD_BE = /([a-z]+(?:\.[a-z0-9_]+)+) would have to be (-?\d+(?:\.\d+)?)(?: (deg|mm|um))?/g;

/** A text of the bench in words of the page: parameters by their names, values with the digits of their unit. @param {string} text */
export function inWords(text) {
  const known = (/** @type {string} */ path) => tables.value?.parameters.some((p) => p.path === tablePath(path));
  const digits = (/** @type {string} */ v, /** @type {string} */ unit) => quantity(Number(v), unit).replace(/ \S+$/, "");
  return text
    .replaceAll("`", "")
    .replace(OF_A_KEY, OF_A_FIELD)
    .replace(PATH, (path) => (known(path) ? fullName(path) : path))
    .replace(VALUE, (_, from, __, to, unit) => (to === undefined ? quantity(Number(from), unit) : `${digits(from, unit)} to ${quantity(Number(to), unit)}`));
}

/** What the bench says of a fault, as a sentence; the value found as it was written. @param {DiagnosticRow} row @param {(text: string) => string} words */
function said({ message, value, allowed, hint }, words) {
  const plain = words(message);
  const found = value === null ? "" : `: ${value}`;
  const range = allowed === null ? "" : `; allowed ${words(allowed)}`;
  const todo = hint === null ? "" : `. ${hint[0].toUpperCase()}${words(hint.slice(1))}`;
  const text = `${plain}${found}${range}${todo}`;
  return /[.?]$/.test(text) ? text : `${text}.`;
}

/** One fault as the bench says it. @param {DiagnosticRow} row */
export const faultText = (row) => trueMinus(said(row, (text) => text.replaceAll("`", "")));

/** @param {string[]} words */
const and = (words) => (words.length > 1 ? `${words.slice(0, -1).join(", ")} and ${words.at(-1)}` : (words[0] ?? ""));

/** The parameters a fault is about, each once. @param {DiagnosticRow} row */
export const aboutOf = (row) => [...new Set(row.about)].sort();

/** A fault in short, in words of the page. @param {DiagnosticRow} row */
export const shortText = (row) =>
  row.code === "over-determined" ? `${and(aboutOf(row).map(fullName))} do not go together as stated` : inWords(row.message);

/** Each of the values that statements which clash would have to have, the others being kept. @param {DiagnosticRow} row */
const waysOf = ({ message }) => [...message.matchAll(WOULD_BE)].map(([, path, value, unit = ""]) => ({ path, value, unit }));

/** Statements that do not go together, and what each of them could be instead. @param {{ row: DiagnosticRow, path: string }} props */
function Clash({ row, path }) {
  const rank = (/** @type {string} */ p) => (p === path ? 2 : p === twinOf(path) ? 0 : 1);
  const ways = waysOf(row).sort((a, b) => rank(a.path) - rank(b.path));
  const others = aboutOf(row).filter((p) => p !== path).map(fullName);
  return html`Does not go together with ${and(others)} as stated.${ways.length > 0 && html` It holds with
    <span class="ways">${ways.map((way) => html`<button type="button" class="word" onClick=${() => setValue(way.path, way.value)}>
      ${fullName(way.path)} ${way.unit ? quantity(Number(way.value), way.unit) : number(Number(way.value), 3)}</button> `)}</span>`}`;
}

/** @param {{ rows: DiagnosticRow[], path?: string }} props faults, and the parameter they stand under */
export const Faults = ({ rows, path }) => html`<div role="status"><ul class="faults">${rows.map((row) => html`<li class=${row.severity}>
  ${row.code === "over-determined" && path !== undefined ? html`<${Clash} row=${row} path=${path} />` : trueMinus(said(row, inWords))}</li>`)}</ul></div>`;
