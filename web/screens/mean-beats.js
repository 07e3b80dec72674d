// @ts-check
// The mean beat of each side with its noises, which can be moved by hand, and the model's shocks below it.
import { signal } from "@preact/signals";
import { html } from "../html.js";
import { across, handleTop, layoutOf, meanBeats, timeAt } from "../figures/mean-beat.js";
import { modelBeats } from "../model-beats.js";
import { anyPlaced, byHand, entrySide, noiseAt, place, placeNothing, placed } from "../noises.js";
import { sounded } from "../sound.js";
import { number, signed, trueMinus } from "../units.js";
import { estimate } from "./verdict.js";
import { useWidth } from "./width.js";

/** @import { Layout, Row } from "../figures/mean-beat.js" */
/** @import { MeanBeat, Sounded } from "../wire" */
/** @import { Noise } from "../noises.js" */

const SIDES = /** @type {const} */ (["A", "B"]);
const NOISES = /** @type {const} */ ([["first", "first noise"], ["drop", "drop"]]);
/** Where a first noise is put that the program does not hear, ms before the drop. */
const GUESS_MS = -8;

/** Whether the model is shown. */
const withModel = signal(true);

/** The pallet of a side, where that was stated. @param {"A" | "B"} side */
const palletOf = (side) => (entrySide.value === null ? null : entrySide.value === side ? "entry" : "exit");

/** Name of a side. @param {"A" | "B"} side */
const sideName = (side) => (palletOf(side) ? `${palletOf(side)} (${side})` : `side ${side}`);

/** Rows from above: sides, each with the model of its pallet below it, or the model of both last. @param {MeanBeat[]} sides @returns {Row[]} */
function rowsOf(sides) {
  const models = withModel.value ? (modelBeats.value?.beats ?? []) : [];
  /** @type {Row[]} */
  const rows = [];
  const modelRow = (/** @type {typeof models[number]} */ beat) => rows.push({ kind: "model", label: `${beat.pallet}, model`, beat });
  SIDES.forEach((side, i) => {
    const [mean, hand] = [sides[i], placed.value[i]];
    rows.push({ kind: "heard", label: sideName(side), mean, first: noiseAt(mean, hand, "first"), drop: noiseAt(mean, hand, "drop") ?? 0 });
    models.filter((m) => m.pallet === palletOf(side)).forEach(modelRow);
  });
  if (entrySide.value === null) models.forEach(modelRow);
  return rows;
}

export function MeanBeats() {
  const now = sounded.value;
  return now && now.sides.length === 2 ? html`<${Beats} now=${now} />` : null;
}

/** @param {{ now: Sounded }} props */
function Beats({ now }) {
  const [box, width] = useWidth(300);
  const rows = rowsOf(now.sides);
  const layout = layoutOf(rows, width);
  const model = modelBeats.value;
  return html`<section class="mean-beats" aria-label="Average beat">
    <header><h2>Average beat of each side, time from its drop</h2>
      <p class="words">
        ${SIDES.map((side, i) => now.sides[i].first_ms === null && placed.value[i].first === null
          ? html`<button class="word" type="button" key=${side} onClick=${() => place(i, "first", GUESS_MS)}>place the first noise of side ${side}</button>` : null)}
        <button class="word" type="button" disabled=${!anyPlaced.value} onClick=${placeNothing}>noises as found</button>
        ${model && model.beats.length > 0 && html`<button class="word" type="button" aria-pressed=${withModel.value ? "true" : "false"} onClick=${() => (withModel.value = !withModel.value)}>with the model</button>`}</p></header>
    <div class="beats-box" ref=${box}>
      ${meanBeats({ rows, layout, width, title: titleOf(now.sides), format: number })}
      ${SIDES.flatMap((side, i) => NOISES.map(([noise, name]) => handle(side, i, noise, name, now.sides[i], layout, rows)))}
    </div>
    <${Words} sides=${now.sides} />
  </section>`;
}

/** @param {MeanBeat[]} sides */
const titleOf = (sides) => `Loudness of the average beat over time: ${SIDES.map((side, i) => {
  const [first, drop] = NOISES.map(([noise]) => noiseAt(sides[i], placed.value[i], noise));
  return `${sideName(side)}, ${first === null ? "no first noise" : `first noise at ${number(first, 2)} ms`}, drop at ${number(drop, 2)} ms`;
}).join("; ")}`;

/** A grip on a noise. @param {"A" | "B"} side @param {number} i @param {Noise} noise @param {string} name @param {MeanBeat} mean @param {Layout} layout @param {Row[]} rows */
function handle(side, i, noise, name, mean, layout, rows) {
  const at = noiseAt(mean, placed.value[i], noise);
  if (at === null) return null;
  const byHandHere = placed.value[i][noise] !== null;
  const row = rows.findIndex((r) => r.kind === "heard" && r.mean === mean);
  const [from, to] = [mean.from_ms, mean.from_ms + mean.each_ms * (mean.loudness.length - 1)];
  const key = (/** @type {KeyboardEvent} */ event) => {
    const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[event.key];
    if (by === undefined) return;
    event.preventDefault();
    place(i, noise, at + by * mean.each_ms * (event.shiftKey ? 10 : 1));
  };
  const drag = (/** @type {PointerEvent} */ event) => {
    const own = /** @type {HTMLElement} */ (event.currentTarget);
    if (event.type === "pointerdown") own.setPointerCapture(event.pointerId);
    else if (!(event.buttons & 1)) return;
    else place(i, noise, timeAt(layout, event.clientX - (own.parentElement?.getBoundingClientRect().left ?? 0)));
  };
  return html`<div class=${`noise-grip ${byHandHere ? "placed" : ""}`} key=${`${side} ${noise}`} data-noise=${`${side} ${noise}`} role="slider" tabindex="0"
    aria-label=${`${name} of side ${side}`} aria-valuemin=${from.toFixed(2)} aria-valuemax=${to.toFixed(2)} aria-valuenow=${at.toFixed(2)}
    aria-valuetext=${`${number(at, 2)} ms from the drop as found, ${byHandHere ? "placed by hand" : "as found"}`}
    style=${{ left: `${across(layout, at)}px`, top: `${handleTop(layout, row)}px` }} onKeyDown=${key} onPointerDown=${drag} onPointerMove=${drag}></div>`;
}

/** What is read from them. @param {{ sides: MeanBeat[] }} props */
function Words({ sides }) {
  const lines = SIDES.map((side, i) => {
    const [first, drop] = NOISES.map(([noise]) => noiseAt(sides[i], placed.value[i], noise));
    const moved = NOISES.filter(([noise]) => placed.value[i][noise] !== null).map(([, name]) => name);
    const between = first === null || drop === null ? "no first noise is heard apart" : `first noise to drop ${number(drop - first, 2)} ms`;
    const own = anyPlaced.value ? byHand.value?.sides_deg[i] : null;
    return `${sideName(side)}: ${between}${own ? `, amplitude ${estimate(own[0], own[1], "deg", 1)}` : ""}${moved.length > 0 ? `; ${moved.join(" and ")} placed by hand` : ""}`;
  });
  const model = modelBeats.value;
  return html`<div class="beats-words"><div class="beats-sides">${lines.map((line) => html`<p>${line[0].toUpperCase() + line.slice(1)}.</p>`)}</div>
    ${anyPlaced.value && html`<p class="quiet">Placed by hand, to a step of ${number(sides[0].each_ms, 2)} ms; rate and beat error stay those of the noises as found.</p>`}
    ${withModel.value && model && (model.why !== null
      ? html`<p class="quiet">No shocks of ${model.name} are shown: ${trueMinus(model.why)}.</p>`
      : html`<p class="quiet">Shocks of ${model.name} in its steady motion, a prediction, ms from its drop: ${model.beats.map((b) => `${b.pallet} ${b.shocks.map((s, k) => `${k + 1} ${s.name} ${signed(s.ms, 2)}`).join(", ")}`).join("; ")}.</p>`)}
  </div>`;
}
