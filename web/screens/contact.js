// @ts-check
// The contact curves of both pallets: wheel advance and torque ratio over the lever's angle, with the moment shown.
import { useSignal } from "@preact/signals";
import { boundedRange, curve, rangeOf, reading, runningOut } from "../figures/curve.js";
import { touched } from "../figures/touched.js";
import { html } from "../html.js";
import { before, goTo, readInstant, sheet } from "../state.js";
import { number } from "../units.js";
import { useWidth } from "./width.js";

/** @import { ContactCurve, Oscillation } from "../wire" */
/** @import { Chart, Series } from "../figures/curve.js" */

const LEVER = { name: "lever", unit: "deg", decimals: 3 };
const HEIGHT_PX = 150;

/** @type {{ name: string, unit: string, decimals: number, unbounded: boolean, of: (c: ContactCurve | Oscillation) => (number | null)[] }[]} */
const KINDS = [
  { name: "wheel advance", unit: "deg", decimals: 3, of: (c) => c.advance_deg, unbounded: false },
  { name: "torque ratio", unit: "", decimals: 3, of: (c) => c.torque_ratio, unbounded: true },
];

/** @param {typeof KINDS[number]} kind @param {ContactCurve} own @returns {Series} */
const seriesOf = (kind, own) => ({ kind: "ink", name: "now", x: own.lever_deg, y: kind.of(own) });

/**
 * Instants of a pallet's beat at which a tooth touches its stone, along the curve, the one shown among them where it is of
 * the other beat: each can be read and turned to.
 * @param {Oscillation | null} all @param {string} pallet @param {number} at the instant shown
 */
function instantsOn(all, pallet, at) {
  if (!all) return [];
  const { lever_deg, span, spans } = all;
  const on = (/** @type {number} */ i) => touched(all, i) === pallet;
  const own = lever_deg.flatMap((_, i) => (spans[span[i]].pallet === pallet && on(i) ? [i] : []));
  if (own.includes(at) || !on(at)) return own;
  const way = Math.sign(lever_deg[own[own.length - 1]] - lever_deg[own[0]]);
  const after = own.findIndex((i) => way * (lever_deg[i] - lever_deg[at]) > 0);
  return after < 0 ? [...own, at] : [...own.slice(0, after), at, ...own.slice(after)];
}

/** The curve's points as a table, written when it is opened. @param {{ own: ContactCurve }} props */
function Facts({ own }) {
  const open = useSignal(false);
  return html`<details class="facts" onToggle=${(/** @type {any} */ e) => (open.value = e.currentTarget.open)}>
    <summary>${own.pallet} curve as a table</summary>
    ${open.value && html`<table><thead><tr><th scope="col" class="number">lever, deg</th><th scope="col" class="number">wheel advance, deg</th>
      <th scope="col" class="number">torque ratio</th></tr></thead>
      <tbody>${own.lever_deg.map((at, i) => html`<tr><td>${number(at, 3)}</td><td>${number(own.advance_deg[i], 3)}</td>
        <td>${number(own.torque_ratio[i], 3)}</td></tr>`)}</tbody></table>`}
  </details>`;
}

export function ContactCurves() {
  const [box, width] = useWidth(340);
  const now = sheet.value;
  if (!now || now.curves.length === 0) return null;
  const at = readInstant.value;
  const old = before.value?.curves ?? [];
  const each = Math.floor((width - 8) / 2);
  const shared = KINDS.map((kind) => {
    const all = [...now.curves, ...old];
    return kind.unbounded ? boundedRange(all.map((c) => seriesOf(kind, c))) : rangeOf(all.map(kind.of));
  });

  // Read and picked are the moments of the table: the curve is drawn through fewer points.
  const all = now.oscillation;
  const on = new Map(now.curves.map((own) => [own.pallet, instantsOn(all, own.pallet, at)]));
  const index = (/** @type {ContactCurve} */ own) => {
    const place = on.get(own.pallet)?.indexOf(at) ?? -1;
    return place < 0 ? null : place;
  };
  /** @param {ContactCurve} own @param {typeof KINDS[number]} kind */
  const picksOf = (own, kind) => {
    const instants = on.get(own.pallet) ?? [];
    const column = all ? kind.of(all) : [];
    return { x: instants.map((i) => all?.lever_deg[i] ?? 0), y: instants.map((i) => column[i]) };
  };
  /** @param {typeof KINDS[number]} kind @param {ContactCurve} own @param {number} k @returns {Chart} */
  const chart = (kind, own, k) => {
    const was = old.find((c) => c.pallet === own.pallet);
    /** @type {Series[]} */
    const series = [seriesOf(kind, own)];
    if (was) series.push({ kind: "before", name: "before", x: was.lever_deg, y: kind.of(was) });
    return {
      title: `${own.pallet}: ${kind.name} over lever angle`, x: LEVER, y: kind, series, picks: picksOf(own, kind),
      at: index(own), yRange: shared[k], onPick: (to) => goTo(on.get(own.pallet)?.[to] ?? at), format: number,
      width: each, height: HEIGHT_PX,
    };
  };
  const said = now.curves.map((own) => {
    const here = index(own);
    if (here === null) return `${own.pallet}: no contact at this moment.`;
    const [advance, torque] = KINDS.map((kind, k) => reading(chart(kind, own, k), here));
    return `${own.pallet}: ${advance}, ${torque.slice(torque.indexOf(", ") + 2)}.`;
  });
  return html`<div class="contact" ref=${box}>
    <div class="charts">
      ${now.curves.map((own) => html`<p class="side" key=${own.pallet}>${own.pallet}</p>`)}
      ${KINDS.map((kind, k) => now.curves.map((own) => html`<figure key=${kind.name + own.pallet}>${curve(chart(kind, own, k))}</figure>`))}
    </div>
    ${said.map((line) => html`<p class="reading">${line}</p>`)}
    ${KINDS.flatMap((kind, k) => now.curves.flatMap((own) => runningOut(seriesOf(kind, own), shared[k]).map((o) =>
      html`<p class="legend">${own.pallet}: ${kind.name} runs out of the plot at lever ${number(o.from, LEVER.decimals)} deg, as far as ${number(o.farthest, kind.decimals)}.</p>`)))}
    ${old.length > 0 && html`<p class="legend change">Dashed blue: the state before.</p>`}
    ${now.curves.map((own) => html`<${Facts} key=${own.pallet} own=${own} />`)}
  </div>`;
}
