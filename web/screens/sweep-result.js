// @ts-check
// What a sweep gave: a curve for each figure, the places without action named, all values as a table and as CSV.
import { useSignal } from "@preact/signals";
import { curve, nearest, reading } from "../figures/curve.js";
import { html } from "../html.js";
import { name, setValue, sheet, tables, text } from "../state.js";
import { asWritten, decimalsOf, number, quantity, sign } from "../units.js";
import { acceptedText } from "./detail.js";
import { figureName, figuresOf, fullName, withUnit } from "./names.js";
import { breaks, outcomeWords, runs } from "./outcomes.js";
import { useWidth } from "./width.js";

/** @import { FigureDefinition } from "../wire" */
/** @import { Chart } from "../figures/curve.js" */
/** @typedef {{ path: string, at: number[], figures: { path: string, values: (number | null)[] }[], outcomes: string[], text: string }} Swept */

const HEIGHT_PX = 170;

/** @param {Swept} swept */
function download(swept) {
  const lines = [[swept.path, ...swept.figures.map((f) => f.path), "outcome"].join(",")];
  swept.at.forEach((at, i) => {
    lines.push([at, ...swept.figures.map((f) => f.values[i] ?? ""), swept.outcomes[i]].join(","));
  });
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([`${lines.join("\n")}\n`], { type: "text/csv" }));
  link.download = `${(name.value.split(/[\\/]/).at(-1) ?? "").replace(/\.toml$/, "") || "movement"}-${swept.path}.csv`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/** @param {{ swept: Swept, unit: string, definitions: (FigureDefinition | undefined)[] }} props */
function Values({ swept, unit, definitions }) {
  const open = useSignal(false);
  const head = (/** @type {FigureDefinition | undefined} */ d) => d && withUnit(figureName(d), d.unit);
  return html`<details class="facts" onToggle=${(/** @type {any} */ e) => (open.value = e.currentTarget.open)}>
    <summary>Values as a table</summary>
    ${open.value && html`<table><thead><tr><th scope="col" class="number">${withUnit(fullName(swept.path), unit)}</th>
      ${definitions.map((d) => html`<th scope="col" class="number">${head(d)}</th>`)}<th scope="col">outcome</th></tr></thead>
      <tbody>${swept.at.map((at, i) => html`<tr><th scope="row" class="number">${number(at, decimalsOf(unit))}</th>
        ${swept.figures.map((f, k) => html`<td>${number(f.values[i], definitions[k]?.decimals ?? 3)}</td>`)}
        <td class=${runs(swept.outcomes[i]) ? "words" : "words outside"}>${outcomeWords(swept.outcomes[i])}</td></tr>`)}</tbody></table>`}
  </details>`;
}

/** @param {{ swept: Swept }} props */
export function SweepResult({ swept }) {
  const [box, width] = useWidth(340);
  const picked = useSignal(/** @type {{ of: Swept, index: number } | null} */ (null));
  const all = tables.value;
  const row = all?.parameters.find((p) => p.path === swept.path);
  if (!all || !row) return null;
  const unit = row.unit;
  const x = { name: fullName(swept.path), unit: sign(unit), decimals: decimalsOf(unit) };
  const present = sheet.value?.values.find((v) => v.path === swept.path)?.value ?? null;
  const inside = present !== null && present >= Math.min(...swept.at) && present <= Math.max(...swept.at);
  const at = picked.value?.of === swept ? picked.value.index : nearest(swept.at, present ?? swept.at[0]);
  const definitions = swept.figures.map((f) => figuresOf(all).find((d) => d.path === f.path));
  const broken = swept.at.filter((_, i) => !runs(swept.outcomes[i]));

  /** @param {number} k @returns {Chart | null} */
  const chart = (k) => {
    const d = definitions[k];
    return d ? {
      title: `${figureName(d)} over ${x.name}`, x, y: { name: figureName(d), unit: sign(d.unit), decimals: d.decimals },
      // No line is drawn through points without action.
      series: [{ kind: "ink", name: figureName(d), x: swept.at, y: swept.figures[k].values.map((v, i) => (runs(swept.outcomes[i]) ? v : null)) }],
      accepted: d.accepted_least === null && d.accepted_most === null ? null : { least: d.accepted_least, most: d.accepted_most },
      present: inside ? present : null, broken, at, onPick: (index) => (picked.value = { of: swept, index }),
      format: number, width, height: HEIGHT_PX,
    } : null;
  };
  const charts = swept.figures.map((_, k) => chart(k)).filter((c) => c !== null);
  /** A point is read off with its value, action or not. @param {Chart} c @param {number} k */
  const said = (c, k) => reading({ ...c, series: [{ ...c.series[0], y: swept.figures[k].values }] }, at);
  const range = (/** @type {number} */ from, /** @type {number} */ to) =>
    from === to ? `At ${quantity(from, unit)}` : `From ${number(from, x.decimals)} to ${quantity(to, unit)}`;
  return html`<div class="sweep-result" ref=${box}>
    ${swept.text !== text.value && html`<p class="stale">The movement has been changed since these curves were drawn.</p>`}
    ${charts.map((c, k) => c.series[0].y.every((v) => v === null) ? html`<p class="reading outside" key=${swept.figures[k].path}>
      ${c.y.name} has no value where it runs in this range.</p>` : html`<figure key=${swept.figures[k].path}>${curve(c)}
      <figcaption>${said(c, k)}${c.accepted && definitions[k] ? `; accepted ${acceptedText(definitions[k])}, shaded` : ""}</figcaption></figure>`)}
    ${!runs(swept.outcomes[at]) && html`<p class="reading outside">Here ${outcomeWords(swept.outcomes[at])}.</p>`}
    <p class="legend">${inside ? `Upright line: ${quantity(present, unit)}, as it is now.` : "The value now is outside these curves."}</p>
    ${broken.length > 0 && html`<ul class="breaks" aria-label="Where it does not run">${breaks(swept).map((b) =>
      html`<li>${range(b.from, b.to)}: ${outcomeWords(b.code)} (ticks on the axis).</li>`)}</ul>`}
    <p class="commands"><button type="button" class="word" onClick=${() => setValue(swept.path, asWritten(swept.at[at]))}>Set it to ${quantity(swept.at[at], unit)}</button>
      <button type="button" class="word" onClick=${() => download(swept)}>Values as CSV</button></p>
    <${Values} swept=${swept} unit=${unit} definitions=${definitions} />
  </div>`;
}
