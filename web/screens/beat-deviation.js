// @ts-check
// How beats depart from even ones over the time of the sound.
import { signal } from "@preact/signals";
import { html } from "../html.js";
import { curve, rangeOf } from "../figures/curve.js";
import { sounded } from "../sound.js";
import { number, signed } from "../units.js";
import { useWidth } from "./width.js";

/** @import { Deviation } from "../wire" */

const HEIGHT_PX = 140;

/** The point that is read. */
const at = signal(/** @type {number | null} */ (null));

export function BeatDeviation() {
  const now = sounded.value?.deviation;
  return now && now.at_s.length > 1 ? html`<${Curve} now=${now} />` : null;
}

/** @param {{ now: Deviation }} props */
function Curve({ now }) {
  const [box, width] = useWidth(300);
  const { at_s, late_ms, se_ms, beats_each, left_out } = now;
  const [low, high] = [late_ms.map((v, i) => v - 2 * se_ms[i]), late_ms.map((v, i) => v + 2 * se_ms[i])];
  const picked = at.value === null ? null : Math.min(at.value, at_s.length - 1);
  return html`<section class="beat-deviation" aria-label="Beat deviation"><header><h2>Beat deviation</h2>
      <p class="figure readout">${picked === null ? "" : `at ${number(at_s[picked], 1)} s: ${signed(late_ms[picked], 3)} ± ${number(se_ms[picked], 3)} ms`}</p></header>
    <div ref=${box}>${curve({
      title: "Beat deviation over time", x: { name: "time", unit: "s", decimals: 1 }, y: { name: "late", unit: "ms", decimals: 3 },
      series: [{ kind: "ink", name: "deviation", x: at_s, y: late_ms }], band: { x: at_s, low, high }, level: 0, hover: true,
      yRange: rangeOf([low, high]), at: picked, onPick: (to) => (at.value = to), format: number, width, height: HEIGHT_PX,
    })}</div>
    <p class="quiet">From the straight line through all beats, each side about its own; above nought they are late. Each point is the mean of ${beats_each} beats; band: two standard errors, from the scatter of all.
      ${left_out > 0 ? `${left_out} beat${left_out > 1 ? "s" : ""} farther off than five times the scatter left out, here and in the figures.` : ""}</p>
  </section>`;
}
