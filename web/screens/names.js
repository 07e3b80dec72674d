// @ts-check
// Words of parameters and figures, made from their paths and the tables of the bench.
import { sign, wordsOf } from "../units.js";

/** @import { FigureDefinition, ParameterRow, Tables } from "../wire" */

/** Parts in the order of the parts list: beginning of the path, heading, word before a parameter's own. */
export const PARTS = [
  { key: "wheel", heading: "Escape wheel", word: "wheel" },
  { key: "pallets", heading: "Pallets", word: "pallets" },
  { key: "pallets.entry", heading: "Entry pallet", word: "entry" },
  { key: "pallets.exit", heading: "Exit pallet", word: "exit" },
  { key: "lever", heading: "Lever", word: "lever" },
  { key: "fork", heading: "Fork", word: "fork" },
  { key: "guard", heading: "Guard", word: "guard" },
  { key: "jewel", heading: "Impulse jewel", word: "jewel" },
  { key: "roller", heading: "Roller", word: "roller" },
  { key: "balance", heading: "Balance", word: "balance" },
  { key: "centres", heading: "Centres", word: "" },
  { key: "bankings", heading: "Bankings", word: "bankings" },
  { key: "pivots", heading: "Pivots", word: "" },
  { key: "motion.wheel", heading: "In motion: wheel and train", word: "wheel" },
  { key: "motion.lever", heading: "In motion: lever", word: "lever" },
  { key: "motion.balance", heading: "In motion: balance and hairspring", word: "balance" },
  { key: "motion.surfaces", heading: "In motion: surfaces", word: "" },
];

/** The part under whose heading a parameter stands: what moves the parts stands by itself. @param {ParameterRow} row @param {string} path */
export const headingOf = (row, path) => (row.role === "motion" ? `motion.${partOf(path)}` : partOf(path));

/** The part a parameter belongs to. @param {string} path */
export function partOf(path) {
  const [first, second, third] = path.split(".");
  return first === "pallets" && third !== undefined ? `${first}.${second}` : first;
}

/** Number of the tooth that a path is about, as written; nothing for other paths. @param {string} path */
export function toothOf(path) {
  return path.match(/^wheel\.teeth\.([^.]+)\./)?.[1] ?? null;
}

/** The path under which the table has a parameter: of teeth, that of every tooth. @param {string} path */
export const tablePath = (path) => path.replace(/^(wheel\.teeth)\.\d+\./, "$1.*.");

/** The same parameter of the other pallet; of other parameters the path itself. @param {string} path */
export const twinOf = (path) => path.replace(/^pallets\.(entry|exit)\./, (_, p) => `pallets.${p === "entry" ? "exit" : "entry"}.`);

/** A parameter within its part: "lock", "entry run", "tooth 3 longer". @param {string} path */
export function shortName(path) {
  const words = path.endsWith("_ratio") ? `${wordsOf(path)} ratio` : wordsOf(path);
  const tooth = toothOf(path);
  if (tooth !== null) return `tooth ${tooth} ${words}`;
  const [first, second, third] = path.split(".");
  return first === "bankings" && third !== undefined ? `${second} ${words}` : words;
}

/** A parameter in full: "exit stone out", "fork bend", "entry banking run". @param {string} path */
export function fullName(path) {
  const words = shortName(path);
  if (toothOf(path) !== null) return words;
  const [first, second, third] = path.split(".");
  if (first === "bankings" && third !== undefined) return `${second} banking ${wordsOf(path)}`;
  const word = PARTS.find((p) => p.key.replace(/^motion\./, "") === partOf(path))?.word ?? first;
  return word && !words.startsWith(`${word} `) ? `${word} ${words}` : words;
}

/** A figure in full: "exit drop". @param {FigureDefinition} figure */
export const figureName = (figure) => (figure.pallet ? `${figure.pallet} ${figure.words}` : figure.words);

/** Figures of the action and of the motion. @param {Tables} tables */
export const figuresOf = (tables) => [...tables.figures, ...tables.motion_figures];

/** Name and unit, by which like-named figures differ. @param {string} name @param {string} unit */
export const withUnit = (name, unit) => (unit ? `${name}, ${sign(unit)}` : name);

/** The definition of a path, of a figure or a parameter. @param {Tables} tables @param {string} path */
export function nameOf(tables, path) {
  const figure = tables.figures.find((f) => f.path === path);
  return figure ? figureName(figure) : fullName(path);
}

/** A word of a choice as it is read. @param {string} word */
export const choiceWords = (word) => word.replaceAll("_", " ");

/** Origins: the mark that stands beside a value, and its word. @type {Record<string, { mark: string, word: string }>} */
export const ORIGINS = {
  stated: { mark: "", word: "stated" },
  default: { mark: "d", word: "default" },
  derived: { mark: "=", word: "derived" },
};

/**
 * Whether every word of a search is somewhere in the texts.
 * @param {string} search
 * @param {string[]} texts
 */
export function found(search, texts) {
  const all = texts.join(" ").toLowerCase();
  return search.toLowerCase().split(/\s+/).every((word) => all.includes(word));
}

/** What a search of a parameter looks through. @param {ParameterRow} row @param {string} path */
export const textsOf = (row, path) => [path, row.symbol, row.definition, fullName(path)];
