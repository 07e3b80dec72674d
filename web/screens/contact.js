// @ts-check
// The contact curves of both pallets: wheel advance and torque ratio over the lever's angle, with the moment shown.
import { useSignal } from "@preact/signals";
import { boundedRange, curve, nearest, rangeOf, reading, runningOut } from "../figures/curve.js";
import { touched } from "../figures/touched.js";
import { html } from "../html.js";
import { before, goTo, instant, readInstant, sheet } from "../state.js";
import { number } from "../units.js";
import { useWidth } from "./width.js";

/** @import { ContactCurve, Oscillation } from "../wire" */
/** @import { Chart, Series } from "../figures/curve.js" */
/** @typedef {{ pallet: string, index: number, instant: number }} Picked */

const LEVER = { name: "lever", unit: "deg", decimals: 3 };
const HEIGHT_PX = 150;

/** @type {{ name: string, unit: string, decimals: number, unbounded: boolean, of: (c: ContactCurve) => (number | null)[] }[]} */
const KINDS = [
  { name: "wheel advance", unit: "deg", decimals: 3, of: (c) => c.advance_deg, unbounded: false },
  { name: "torque ratio", unit: "", decimals: 3, of: (c) => c.torque_ratio, unbounded: true },
];

/** @param {typeof KINDS[number]} kind @param {ContactCurve} own @returns {Series} */
const seriesOf = (kind, own) => ({ kind: "ink", name: "now", x: own.lever_deg, y: kind.of(own) });

/** The curve's point at an instant; nothing while no tooth touches that stone. @param {ContactCurve} own @param {Oscillation | null} all @param {number} now */
const pointAt = (own, all, now) =>
  all && touched(all, now) === own.pallet ? nearest(own.lever_deg, all.lever_deg[now]) : null;

/** The instant of a pallet's contact at which the lever stands nearest to an angle. @param {Oscillation} all @param {string} pallet @param {number} lever_deg */
function instantAt(all, pallet, lever_deg) {
  let best = -1;
  all.lever_deg.forEach((at, i) => {
    if (touched(all, i) !== pallet) return;
    if (best < 0 || Math.abs(at - lever_deg) < Math.abs(all.lever_deg[best] - lever_deg)) best = i;
  });
  return best;
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
  const picked = useSignal(/** @type {Picked | null} */ (null));
  const now = sheet.value;
  if (!now || now.curves.length === 0) return null;
  const at = readInstant.value;
  const old = before.value?.curves ?? [];
  const each = Math.floor((width - 8) / 2);
  const shared = KINDS.map((kind) => {
    const all = [...now.curves, ...old];
    return kind.unbounded ? boundedRange(all.map((c) => seriesOf(kind, c))) : rangeOf(all.map(kind.of));
  });

  /** @param {ContactCurve} own */
  const index = (own) => {
    const hand = picked.value;
    if (hand && hand.pallet === own.pallet && hand.instant === instant.peek() && hand.index < own.lever_deg.length) return hand.index;
    return pointAt(own, now.oscillation, at);
  };
  /** @param {ContactCurve} own @param {number} to */
  const pick = (own, to) => {
    const there = now.oscillation ? instantAt(now.oscillation, own.pallet, own.lever_deg[to]) : -1;
    picked.value = { pallet: own.pallet, index: to, instant: there < 0 ? instant.peek() : there };
    if (there >= 0) goTo(there);
  };
  /** @param {typeof KINDS[number]} kind @param {ContactCurve} own @param {number} k @returns {Chart} */
  const chart = (kind, own, k) => {
    const was = old.find((c) => c.pallet === own.pallet);
    /** @type {Series[]} */
    const series = [seriesOf(kind, own)];
    if (was) series.push({ kind: "before", name: "before", x: was.lever_deg, y: kind.of(was) });
    return {
      title: `${own.pallet}: ${kind.name} over lever angle`, x: LEVER, y: kind, series, at: index(own), yRange: shared[k],
      onPick: (to) => pick(own, to), format: number, width: each, height: HEIGHT_PX,
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
