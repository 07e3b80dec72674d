// @ts-check
// The ribbon: one oscillation turned by hand, the entry beat above, the exit beat below. Every phase has room by its
// number of instants; the balance angle stands at each bound.

/** @import { Oscillation, Sheet } from "../wire" */
/** @import { Phase } from "../moment.js" */
import { html } from "../html.js";
import { phases } from "../moment.js";
import { number } from "../units.js";
import { momentText } from "./drawing.js";

/**
 * @typedef {object} Options
 * @property {number} instant
 * @property {(event: PointerEvent) => void} onPointer
 * @property {(event: KeyboardEvent) => void} onKey
 */

/** The beats of an oscillation: stretches of phases of one pallet. @param {Oscillation} oscillation */
export function beatsOf(oscillation) {
  /** @type {{ pallet: string, first: number, end: number, phases: Phase[] }[]} */
  const out = [];
  for (const phase of phases(oscillation)) {
    const last = out.at(-1);
    if (last && last.pallet === phase.pallet) {
      last.end = phase.end;
      last.phases.push(phase);
    } else out.push({ pallet: phase.pallet, first: phase.first, end: phase.end, phases: [phase] });
  }
  return out;
}

/** @param {Sheet} sheet @param {Options} options */
export function ribbon(sheet, { instant, onPointer, onKey }) {
  const at = sheet.oscillation;
  if (!at) return html`<p class="ribbon still">The escapement cannot be turned through: ${sheet.sentence}</p>`;
  return html`<div
    class="ribbon"
    role="slider"
    tabindex="0"
    aria-label="Moment of the oscillation"
    aria-valuemin="0"
    aria-valuemax=${at.wheel_deg.length - 1}
    aria-valuenow=${instant}
    aria-valuetext=${momentText(sheet, instant)}
    onPointerDown=${onPointer}
    onPointerMove=${onPointer}
    onKeyDown=${onKey}
  >
    ${beatsOf(at).map((beat) => row(at, beat, instant))}
  </div>`;
}

/** @param {Oscillation} at @param {ReturnType<typeof beatsOf>[number]} beat @param {number} instant */
function row(at, beat, instant) {
  const here = instant >= beat.first && instant < beat.end;
  const along = (instant - beat.first) / Math.max(beat.end - 1 - beat.first, 1);
  return html`<div class="beat" key=${beat.first}>
    <span class="pallet">${beat.pallet}</span>
    <div class="bands" data-first=${beat.first} data-end=${beat.end}>
      ${beat.phases.map(
        (p) => html`<span
          class="band ${kindOf(p.phase)} ${instant >= p.first && instant < p.end ? "now" : ""}"
          key=${p.first}
          style=${{ flexGrow: p.end - p.first }}
          title=${p.phase}
          ><span class="phase">${p.phase}</span
          ><span class="figure bound">${number(at.jewel_deg[p.first], 1)}</span></span
        >`,
      )}
      ${here ? html`<span class="head" style=${{ left: `${100 * along}%` }}></span>` : null}
    </div>
    <span class="figure bound last">${number(at.jewel_deg[beat.end - 1], 1)}</span>
  </div>`;
}

/** How a band is drawn. @param {string} phase */
function kindOf(phase) {
  if (phase.startsWith("impulse")) return "impulse";
  if (phase.startsWith("free arc")) return "free";
  return "between";
}
