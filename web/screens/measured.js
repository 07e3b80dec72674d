// @ts-check
// What can be said and what cannot, and the figures with their errors.
import { html } from "../html.js";
import { errorBar, halved } from "../figures/error-bar.js";
import { handed } from "../noises.js";
import { altered, earlier, hearing, liftFrom, modelLift, sounded, source, trouble } from "../sound.js";
import { number, signed } from "../units.js";
import { FIGURES, decimalsFor, estimate, lasts, says, whole } from "./verdict.js";
import { useWidth } from "./width.js";

/** @import { Report, Sounded } from "../wire" */

/** So long it may take until beats are found: before, there being no figures says nothing. */
const LOOKED_FOR_S = 12;

/** Where the lift is from. */
const liftWords = () => (liftFrom.value === "model" ? `of ${modelLift.value?.name ?? "the open movement"}` : "stated by hand");

export function Measured() {
  const now = sounded.value;
  return html`<section class="measured" aria-label="What can be said">
    <div class="says"><h2>What can be said</h2><${Says} now=${now} /></div>
    <${Bars} now=${now} />
  </section>`;
}

/** @param {{ now: Sounded | null }} props */
function Says({ now }) {
  const wrong = trouble.value && html`<p class="red" role="alert">${whole(trouble.value)}</p>`;
  if (!now) {
    if (source.value) return html`${wrong}${hearing.value === "file" ? html`<p>The recording is being listened to.</p>` : null}`;
    return html`${wrong}<p>Drop a recording here, choose one, or start the microphone: rate, amplitude and beat error come with what they are uncertain by,
      and with the sound they rest on.</p>
      <p class="quiet">Lay the watch on a contact microphone, or a phone's microphone on the case back, in a quiet room; half a minute is good.
        Magnets of loudspeakers, headphones and phone holders keep away from the watch.</p>`;
  }
  const { report } = now;
  if (report.refused) {
    const early = hearing.value === "live" && now.lasts_s < LOOKED_FOR_S && report.refusal !== "silent";
    return html`${wrong}<p class=${early ? "" : "red"}>${early ? `No figures yet: beats are looked for again and again in what has come; ${lasts(now.lasts_s)} so far.`
      : whole(`no figures: ${report.reason ?? ""}`)}</p>`;
  }
  const { can, cannot } = says(report, liftWords(), handed.value);
  return html`${wrong}${can.map((s, i) => html`<p class=${i === 0 ? "first" : ""}>${s}</p>`)}
    ${cannot.map((s) => html`<p class="red">${s}</p>`)}
    ${source.value?.kind === "live" && html`<${Basis} now=${now} />`}
    ${altered.value.length > 0 && source.value?.kind === "live" ? html`<p class="red">The browser keeps ${altered.value.join(", ")} on: figures suffer by it. Try another browser or microphone.</p>` : null}`;
}

/** What the figures rest on. @param {{ now: Sounded }} props */
function Basis({ now }) {
  const { report } = now;
  return html`<p class="quiet">${report.beats_heard} of ${report.beats} beats in ${lasts(now.lasts_s)}, ${number(report.beats_per_hour ?? 3600 / (report.beat_s ?? 1), 0)} an hour${report.beats_per_hour === null ? ", no usual count" : ""};
      timed by ${report.timed_by}, ${number(report.band_hz?.[0], 0)} to ${number(report.band_hz?.[1], 0)} Hz, ${report.heard_in}; beats scatter by ${number(report.scatter_ms, 3)} ms.${(report.unreadable_packets ?? 0) > 0 ? ` ${report.unreadable_packets} packets could not be read: their time is missing.` : ""}
      ${" "}± is one standard error; beat error is ${report.beat_error_definition}. These are estimates and no certificate of a standard.</p>`;
}

/** Figures as bars. @param {{ now: Sounded | null }} props */
function Bars({ now }) {
  const [box, width] = useWidth(320);
  if (!now || now.report.refused) return html`<div class="bars" ref=${box}></div>`;
  const settles = source.value?.kind === "live";
  const parts = settles ? halved(earlier.value, now.lasts_s) : [];
  return html`<div class="bars" ref=${box}><table><caption class="unseen">Figures with their standard errors</caption><tbody>
    ${FIGURES.map((row) => {
      const [value, se] = (row.name === "amplitude" && handed.value) || [now.report[row.value], now.report[row.se]];
      const decimals = decimalsFor(se, row.most);
      const known = value !== null && se !== null;
      return html`<tr key=${row.name} data-figure=${row.name}>
        <th scope="row">${row.name}</th>
        <td class="number">${value === null ? "–" : row.sign ? signed(value, decimals) : number(value, decimals)}</td>
        <td class="number">${known ? `± ${number(se, decimals)}` : ""}</td><td class="unit">${row.unit}</td>
        <td class="bar">${known && errorBar({
          now: { value, se }, earlier: pastOf(parts, row), settles, zero: row.zero, shift: shiftOf(now.report, row.name), width: Math.max(width - 232, 120), format: number,
          title: `${row.name} ${estimate(value, se, row.unit, row.most, row.sign)}`,
        })}</td></tr>`;
    })}</tbody></table>
    ${settles ? null : html`<${Basis} now=${now} />`}
    <p class="quiet">Thick: one standard error; thin: two.${settles ? " Above: what it was after a part of the time." : ""} ${shiftWords(now.report)}</p></div>`;
}

/** @param {{ report: Report }[]} parts @param {typeof FIGURES[number]} row */
const pastOf = (parts, row) => parts.flatMap(({ report }) => {
  const [value, se] = [report[row.value], report[row.se]];
  return value !== null && se !== null ? [{ value, se }] : [];
});

/** What a figure may be off by besides. @param {Report} report @param {string} name */
const shiftOf = (report, name) =>
  name === "rate" ? report.clock_unchecked_s_per_day : name === "amplitude" ? report.amplitude_per_lift_ratio : null;

/** @param {Report} report */
function shiftWords(report) {
  const words = [
    ...(report.clock_unchecked_s_per_day === null ? [] : ["the unchecked clock"]),
    ...(report.amplitude_per_lift_ratio === null ? [] : ["1 deg of lift"]),
  ];
  return words.length === 0 ? "" : `Bracket below: ${words.join(", ")}.`;
}
