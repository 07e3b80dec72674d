// @ts-check
// What was found wrong, worst first, like ones together; each shows its place and what moves it.
import { html } from "../html.js";
import { reply, select, selected, sheet, showPlace } from "../state.js";
import { trueMinus } from "../units.js";
import { fullName } from "./names.js";

/** @import { FindingRow, Sheet } from "../wire" */

/** Findings by group, in order. @param {FindingRow[]} findings */
function grouped(findings) {
  /** @type {FindingRow[][]} */
  const groups = [];
  for (const finding of findings) (groups[finding.group] ??= []).push(finding);
  return groups.filter(Boolean);
}

/** Shows where a finding is and lights up its figure. @param {Sheet} now @param {FindingRow} finding */
function show(now, { place_mm, figure }) {
  if (figure !== null) select(figure);
  if (place_mm !== null) showPlace(place_mm[0], place_mm[1], now.views[0]?.half_width_mm ?? 0.16 * now.locking_radius_mm);
}

/** @param {string} text */
const sentence = (text) => `${text[0].toUpperCase()}${trueMinus(text.slice(1))}.`;

/** @param {{ now: Sheet, group: FindingRow[] }} props */
function Group({ now, group }) {
  const movers = [...new Set(group.flatMap((f) => f.moved_by))];
  const here = selected.value;
  return html`<li class=${`finding ${group[0].gravity}`}>
    ${group.map((f, i) => html`<button type="button" class="said" title=${f.place_mm ? "Show its place on the drawing" : undefined}
      aria-pressed=${f.figure !== null && f.figure === here ? "true" : "false"} onClick=${() => show(now, f)}>
      ${i === 0 && html`<span class="gravity">${f.gravity}</span> `}${sentence(f.message)}</button>`)}
    ${movers.length > 0 && html`<p class="movers">Moved by${" "}
      ${movers.map((path, i) => html`${i > 0 && ", "}<button type="button" class="word"
        aria-pressed=${path === here ? "true" : "false"} onClick=${() => select(path)}>${fullName(path)}</button>`)}</p>`}
    <details class="source"><summary>Why</summary>
      ${[...new Set(group.map((f) => f.source))].map((s) => html`<p>${sentence(s).replace(/\.\.$/, ".")}</p>`)}</details>
  </li>`;
}

export function Findings() {
  const now = sheet.value;
  if (!now) return null;
  const old = reply.value && !reply.value.sheet ? html`<p class="quiet">The text has faults; this is of the state last worked out.</p>` : null;
  const groups = grouped(now.findings);
  if (groups.length === 0) return html`${old}<p class="quiet">${sentence(now.sentence)}</p>`;
  return html`${old}<p class="quiet">${sentence(now.sentence)}</p><ol class="findings" aria-label="Findings, worst first">
    ${groups.map((group) => html`<${Group} key=${group[0].code + (group[0].figure ?? group[0].message)} now=${now} group=${group} />`)}
  </ol>`;
}
