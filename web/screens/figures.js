// @ts-check
// The table of figures: entry and exit side by side, wanted and accepted, the difference to the state before.
import { html } from "../html.js";
import { before, select, selected, sheet, tables } from "../state.js";
import { number, sign, signed } from "../units.js";
import { acceptedText, FigureDetail } from "./detail.js";
import { figureName, ORIGINS } from "./names.js";

/** @import { FigureDefinition, FigureRow, Sheet } from "../api.d.ts" */
/** @typedef {{ words: string, unit: string, entry?: FigureDefinition, exit?: FigureDefinition, whole?: FigureDefinition }} Line */

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

/** Whether a value is outside what is accepted. @param {FigureDefinition} figure @param {number | null} value */
const outside = ({ accepted_least: least, accepted_most: most }, value) =>
  value !== null && ((least !== null && value < least) || (most !== null && value > most));

/** @param {Sheet | null} of @returns {Map<string, FigureRow>} */
const byPath = (of) => new Map(of?.figures.map((f) => [f.path, f]));

/** @param {{ figure: FigureDefinition | undefined, now: Map<string, FigureRow>, was: Map<string, FigureRow> | null, span?: number }} props */
function Cell({ figure, now, was, span = 1 }) {
  if (!figure) return html`<td colspan=${span}></td>`;
  const row = now.get(figure.path);
  const value = row?.value ?? null;
  const old = was?.get(figure.path)?.value ?? null;
  const out = outside(figure, value);
  const here = selected.value === figure.path;
  const change = was && value !== null && old !== null ? signed(value - old, figure.decimals) : null;
  const moved = change !== null && Number(change.replace("\u2212", "-")) !== 0;
  return html`<td colspan=${span} class=${`${out ? "outside" : ""}${here ? " selected" : ""}`}>
    ${number(value, figure.decimals)}
    ${out && html`<span class="flag">outside</span>`}
    ${moved && html`<span class="change"><span class="unseen">changed by </span>${change}</span>`}
    ${was && value === null && old !== null && html`<span class="change">was ${number(old, figure.decimals)}</span>`}
    ${row && row.least !== null && row.most !== null && html`<span class="reach"><span class="unseen">over the sideshake </span>
      ${number(row.least, figure.decimals)} to ${number(row.most, figure.decimals)}</span>`}
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

/** @param {{ line: Line, now: Map<string, FigureRow>, was: Map<string, FigureRow> | null }} props */
function FigureLine({ line, now, was }) {
  const own = line.entry ?? line.exit ?? line.whole;
  if (!own) return null;
  const here = [line.entry, line.exit, line.whole].some((f) => f && f.path === selected.value);
  const wanted = wantedOf(line, now);
  const range = acceptedText(own);
  const want = wanted.map(({ text, origin }) => html`<span class="want">${text}<span class="mark"
    title=${ORIGINS[origin]?.word}>${ORIGINS[origin]?.mark}</span><span class="unseen"> ${ORIGINS[origin]?.word}</span></span>`);
  const asked = wanted.length > 0 || range !== "";
  return html`<tr class=${`${here ? "selected" : ""}${asked ? " asked" : ""}`}>
    <th scope="row"><button type="button" class="name" aria-pressed=${here ? "true" : "false"} title=${own.definition}
      onClick=${() => select(here ? null : own.path)}>${line.words}</button></th>
    ${line.whole
      ? html`<${Cell} figure=${line.whole} now=${now} was=${was} span=${2} />`
      : html`<${Cell} figure=${line.entry} now=${now} was=${was} /><${Cell} figure=${line.exit} now=${now} was=${was} />`}
    <td class="unit">${sign(line.unit)}</td>
    <td class="wanted wide">${want}</td>
    <td class="range wide">${range}</td>
  </tr>
  ${asked && html`<tr class=${`narrow${here ? " selected" : ""}`}><td colspan="4">
    ${wanted.length > 0 && html`wanted ${want}`}${wanted.length > 0 && range && "; "}${range && `accepted ${range}`}</td></tr>`}`;
}

export function Figures() {
  const all = tables.value;
  if (!all || !sheet.value) return null;
  const now = byPath(sheet.value);
  const was = before.value ? byPath(before.value) : null;
  const tried = sheet.value.sideshake_combinations;
  return html`<div class="figures">
    ${was && html`<p class="legend change">In blue: by how much it differs from the state before.</p>`}
    ${tried !== null && html`<p class="legend">Below a value: least and largest over ${tried} positions of the pivots in their holes.</p>`}
    ${[...headings(all.figures)].map(([heading, lines]) => html`<table key=${heading}>
      <caption>${heading[0].toUpperCase() + heading.slice(1)}</caption>
      <colgroup><col /><col class="value" /><col class="value" /><col class="of" /><col class="want wide" /><col class="range wide" /></colgroup>
      <thead><tr><th scope="col"><span class="unseen">figure</span></th>
        ${lines[0].whole ? html`<th scope="col" colspan="2" class="number">value</th>` : html`<th scope="col" class="number">entry</th><th scope="col" class="number">exit</th>`}
        <th scope="col"><span class="unseen">unit</span></th>
        <th scope="col" class="number wide">wanted</th><th scope="col" class="number wide">accepted</th></tr></thead>
      <tbody>${lines.map((line) => html`<${FigureLine} key=${line.words + line.unit} line=${line} now=${now} was=${was} />`)}</tbody>
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
