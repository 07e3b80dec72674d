// @ts-check
// The table of figures: entry and exit side by side, wanted and accepted, the difference to the state before.
import { signal } from "@preact/signals";
import { Component } from "preact";
import { html } from "../html.js";
import { before, select, selected, sheet, sideshake, tables } from "../state.js";
import { number, sign, signed } from "../units.js";
import { acceptedText, FigureDetail } from "./detail.js";
import { figureName, ORIGINS } from "./names.js";

/** @import { FigureDefinition, FigureRow, Sheet } from "../wire" */
/** @typedef {{ words: string, unit: string, entry?: FigureDefinition, exit?: FigureDefinition, whole?: FigureDefinition }} Line */

/** Tab stops on one figure, from which the arrow keys go on: its path. @type {import("@preact/signals").Signal<string | null>} */
const stop = signal(null);

/** Goes by arrow key from figure to figure. @param {KeyboardEvent} event */
function walk(event) {
  const names = [.../** @type {Element} */ (event.currentTarget).querySelectorAll("button.name")];
  const here = names.findIndex((n) => n === event.target);
  const to = { ArrowDown: here + 1, ArrowUp: here - 1, Home: 0, End: names.length - 1 }[event.key];
  if (here < 0 || to === undefined) return;
  event.preventDefault();
  /** @type {HTMLElement | undefined} */ (names[to])?.focus();
}

/** The figure a line goes by. @param {Line} line */
const ownOf = (line) => line.entry ?? line.exit ?? line.whole;

/** Figures by heading, those of both pallets on one line. @param {FigureDefinition[]} figures */
function headings(figures) {
  /** @type {Map<string, Line[]>} */
  const out = new Map();
  for (const figure of figures) {
    const lines = out.get(figure.group) ?? [];
    out.set(figure.group, lines);
    let line = lines.find((l) => l.words === figure.words && l.unit === figure.unit);
    if (!line) lines.push((line = { words: figure.words, unit: figure.unit }));
    line[/** @type {"entry" | "exit" | "whole"} */ (figure.pallet ?? "whole")] = figure;
  }
  return out;
}

/** Whether a value, as it is shown, is outside what is accepted. @param {FigureDefinition} figure @param {number | null} value */
const outside = ({ accepted_least: least, accepted_most: most, decimals }, value) => {
  if (value === null) return false;
  const shown = Number(value.toFixed(decimals));
  return (least !== null && shown < least) || (most !== null && shown > most);
};

/** @param {Sheet | null} of @returns {Map<string, FigureRow>} */
const byPath = (of) => new Map(of?.figures.map((f) => [f.path, f]));

/**
 * @typedef {object} Shown what stands in one cell, as text
 * @property {string} value
 * @property {boolean} outside
 * @property {boolean} here
 * @property {string} change difference to the state before
 * @property {string} was value before, where there is none now
 * @property {string[]} reach least and largest over the sideshake
 */
/** @typedef {{ line: Line, cells: (Shown | null)[], wanted: { text: string, origin: string }[], stops: boolean }} Drawn what a line is drawn of */

/** @param {FigureDefinition} figure @param {Map<string, FigureRow>} now @param {Map<string, FigureRow> | null} was @returns {Shown} */
function shownOf(figure, now, was) {
  const row = now.get(figure.path);
  const value = row?.value ?? null;
  const old = was?.get(figure.path)?.value ?? null;
  const text = (/** @type {number | null} */ v) => number(v, figure.decimals);
  const change = value !== null && old !== null ? signed(value - old, figure.decimals) : "";
  return {
    value: text(value),
    outside: outside(figure, value),
    here: selected.value === figure.path,
    change: Number(change.replace("\u2212", "-")) === 0 ? "" : change,
    was: value === null && old !== null ? text(old) : "",
    reach: row && row.least !== null && row.most !== null ? [text(row.least), text(row.most)] : [],
  };
}

/** @param {Shown | null} shown @param {number} span */
function cell(shown, span) {
  if (!shown) return html`<td colspan=${span}></td>`;
  return html`<td colspan=${span} class=${`${shown.outside ? "outside" : ""}${shown.here ? " selected" : ""}`}>
    ${shown.value}
    ${shown.outside && html`<span class="flag">outside</span>`}
    ${shown.change && html`<span class="change"><span class="unseen">changed by </span>${shown.change}</span>`}
    ${shown.was && html`<span class="change">was ${shown.was}</span>`}
    ${shown.reach.map((v, i) => html`<span class="reach"><span class="unseen">${i === 0 ? "least" : "largest"} </span>${v}</span>`)}
  </td>`;
}

/** What is wanted: once where both pallets want the same. @param {Line} line @param {Map<string, FigureRow>} now */
function wantedOf(line, now) {
  const all = [line.entry, line.exit, line.whole].flatMap((f) => {
    const row = f && now.get(f.path);
    return row && row.wanted !== null ? [{ text: number(row.wanted, f.decimals), origin: row.wanted_origin ?? "" }] : [];
  });
  return all.filter((w, i) => all.findIndex((o) => o.text === w.text && o.origin === w.origin) === i);
}

/**
 * One line of the table; drawn anew only when something in it reads otherwise than before.
 * @extends {Component<Drawn & { stamp: string }>}
 */
class FigureLine extends Component {
  /** @param {{ stamp: string }} next */
  shouldComponentUpdate(next) {
    return next.stamp !== this.props.stamp;
  }

  render() {
    return figureLine(this.props);
  }
}

/** @param {Drawn} props */
function figureLine({ line, cells, wanted, stops }) {
  const own = ownOf(line);
  if (!own) return null;
  const here = cells.some((c) => c?.here);
  const range = acceptedText(own);
  const want = wanted.map(({ text, origin }) => html`<span class="want">${text}${
    origin !== "stated" && html`<span class="origin"> (${ORIGINS[origin]?.word})</span>`}</span>`);
  const asked = wanted.length > 0 || range !== "";
  return html`<tr class=${`${here ? "selected" : ""}${asked ? " asked" : ""}`}>
    <th scope="row"><button type="button" class="name" aria-pressed=${here ? "true" : "false"} title=${own.definition}
      tabindex=${stops ? 0 : -1} onFocus=${() => void (stop.value = own.path)}
      onClick=${() => select(here ? null : own.path)}>${line.words}</button></th>
    ${cells.map((c) => cell(c, 3 - cells.length))}
    <td class="unit">${sign(line.unit)}</td>
    <td class="wanted wide">${want}</td>
    <td class="range wide">${range}</td>
  </tr>
  ${asked && html`<tr class=${`narrow${here ? " selected" : ""}`}><td colspan="4">
    ${wanted.length > 0 && html`wanted ${want}`}${wanted.length > 0 && range && "; "}${range && `accepted ${range}`}</td></tr>`}`;
}

/** Everything that a line of the table says. @param {Line} line @param {Map<string, FigureRow>} now @param {Map<string, FigureRow> | null} was @param {boolean} stops */
function lineProps(line, now, was, stops) {
  const figures = line.whole ? [line.whole] : [line.entry, line.exit];
  const cells = figures.map((f) => (f ? shownOf(f, now, was) : null));
  const wanted = wantedOf(line, now);
  return { line, cells, wanted, stops, stamp: JSON.stringify([cells, wanted, stops]) };
}

export function Figures() {
  const all = tables.value;
  if (!all || !sheet.value) return null;
  const now = byPath(sheet.value);
  const was = before.value ? byPath(before.value) : null;
  const tried = sheet.value.sideshake_combinations;
  const groups = [...headings(all.figures)];
  const paths = groups.flatMap(([, lines]) => lines.map((l) => ownOf(l)?.path));
  const at = stop.value !== null && paths.includes(stop.value) ? stop.value : paths[0];
  const loose = sheet.value.values.some((v) => v.path.endsWith("sideshake_mm") && v.value > 0);
  return html`<div class="figures" onKeyDown=${walk}>
    ${was && html`<p class="legend change">In blue: by how much it differs from the state before.</p>`}
    <p class="commands"><button type="button" class="word" aria-pressed=${sideshake.value ? "true" : "false"}
      onClick=${() => (sideshake.value = !sideshake.value)}>Try the sideshake</button></p>
    ${sideshake.value && !loose && html`<p class="legend">No sideshake is stated: the pivots stand in the middle of their holes.</p>`}
    ${tried !== null && html`<p class="legend">Below a value: its least and its largest over ${tried} positions of the pivots in their holes.</p>`}
    ${groups.map(([heading, lines]) => html`<table key=${heading}>
      <caption>${heading[0].toUpperCase() + heading.slice(1)}</caption>
      <colgroup><col /><col class="value" /><col class="value" /><col class="of" /><col class="want wide" /><col class="range wide" /></colgroup>
      <thead><tr><th scope="col"><span class="unseen">figure</span></th>
        ${lines[0].whole ? html`<th scope="col" colspan="2" class="number">value</th>` : html`<th scope="col" class="number">entry</th><th scope="col" class="number">exit</th>`}
        <th scope="col"><span class="unseen">unit</span></th>
        <th scope="col" class="number wide">wanted</th><th scope="col" class="number wide">accepted</th></tr></thead>
      <tbody>${lines.map((line) => html`<${FigureLine} key=${line.words + line.unit} ...${lineProps(line, now, was, ownOf(line)?.path === at)} />`)}</tbody>
    </table>`)}
  </div>`;
}

/** The strip that says what the selected figure is. */
export function SelectedFigure() {
  const all = tables.value;
  const figure = all?.figures.find((f) => f.path === selected.value);
  const sides = (all?.figures ?? []).filter((f) => figure && f.pallet && f.words === figure.words && f.unit === figure.unit);
  return html`<${FigureDetail} figure=${figure} choose=${select}
    sides=${sides.map((f) => ({ path: f.path, pallet: f.pallet, name: figureName(f) }))}
    row=${figure && sheet.value?.figures.find((f) => f.path === figure.path)} />`;
}
