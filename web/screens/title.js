// @ts-check
// The title block: the summary, always in view.

import { html } from "../html.js";
import { useRef } from "preact/hooks";
import { scaleOf } from "../figures/marks.js";
import { phaseAt } from "../moment.js";
import { standing } from "../motion.js";
import { isRecording } from "../recordings.js";
import * as state from "../state.js";
import { decimalsOf, number, trueMinus } from "../units.js";
import { shortText } from "./faults.js";
import { outcomeWords } from "./outcomes.js";

/** Opens a movement, or listens to a recording. @param {File | undefined} file */
export async function openDropped(file) {
  if (!file) return;
  if (isRecording(file)) {
    location.hash = "listening";
    return (await import("../sound.js")).takeRecording(file);
  }
  const text = await file.text();
  state.openFile(file.name, text);
}

export function Title() {
  const sheet = state.live.value;
  return html`<section class="title-block" aria-label="Title block">
    <h1>${sheet?.name ?? "No movement yet"}${sheet && faulty() ? html`<span class="quiet">, as last worked out</span>` : null}</h1>
    ${sheet ? html`<p class="kind">${sheet.kind} <span class="figure">${scaleOf(state.view.value)}</span></p>` : null}
    <${Verdict} />
    <${Moment} />
    <${File} />
  </section>`;
}

/** The first fault of a text that cannot be worked out. */
function faulty() {
  const reply = state.reply.value;
  return reply && !reply.sheet ? reply.diagnostics.find((d) => d.severity === "error") : undefined;
}

/** What was found, or why nothing could be worked out. */
function Verdict() {
  const sheet = state.live.value;
  const fault = faulty();
  const running = sheet?.running;
  const waiting = state.link.value;
  return html`<div class="verdict" role="status">
    ${fault
      ? html`<p class="red">Cannot be worked out: ${shortText(fault)}. ${sheet ? "The last state that could be is drawn." : ""}</p>`
      : html`<p class=${sheet?.verdict === "findings" ? "red" : ""}>${sheet?.sentence ?? ""}</p>`}
    ${!fault && running && !running.runs ? html`<p class="red">in motion: ${outcomeWords(running.outcome)}</p>` : null}
    ${waiting === "waiting" ? html`<p class="quiet">Waiting for the bench.</p>` : null}
    ${waiting === "closed" ? html`<p class="red">The bench does not know this page: open the address it printed.</p>` : null}
    ${state.notice.value
      ? html`<p class="quiet">
          ${state.notice.value}
          <button class="word" type="button" onClick=${() => void (state.notice.value = null)}>seen</button>
        </p>`
      : null}
  </div>`;
}

/** Where it stands; while something is held it follows with the lists. */
function Moment() {
  const isHeld = state.set.value.length > 0;
  const own = isHeld ? state.sheet.value : state.live.value;
  if (!own) return null;
  const { sheet, instant, moment } = standing(own);
  const at = sheet.oscillation;
  const i = isHeld && !moment ? state.readInstant.value : instant;
  const phase = at && phaseAt(at, i);
  if (!at || !phase) {
    const why = sheet.stop?.message ?? sheet.findings[0]?.message;
    return html`<p class="quiet">Cannot be turned${why ? `: ${trueMinus(why)}` : ""}.</p>`;
  }
  const row = (/** @type {string} */ name, /** @type {number} */ value) =>
    html`<div><dt>${name}, deg</dt><dd class="figure">${number(value, decimalsOf("deg"))}</dd></div>`;
  const beats = moment ? 0 : sheet.beat_count;
  const stop = i === at.lever_deg.length - 1 ? sheet.stop : null;
  const which = beats > 2 ? `, beats ${at.first_beat + 1} and ${((at.first_beat + 1) % beats) + 1} of ${beats}` : "";
  return html`<dl class="moment">
    <div class="phase"><dt>${phase.pallet} beat${moment ? " in motion" : ""}</dt><dd>${phase.phase}${which}</dd></div>
    ${stop && html`<div class="stops red"><dt>stops here:</dt><dd>${stop.name}</dd></div>`}
    ${row("lever", at.lever_deg[i])} ${row("wheel", at.wheel_deg[i])} ${row("jewel", at.jewel_deg[i])}
  </dl>`;
}

function File() {
  const { past, future } = state.history.value;
  const input = useRef(/** @type {HTMLInputElement | null} */ (null));
  const word = (/** @type {string} */ name, /** @type {() => void} */ act, able = true, about = "") =>
    html`<button class="word" type="button" disabled=${!able} title=${about} onClick=${act}>${name}</button>`;
  const unsaved = state.text.value !== state.saved.value;
  const take = (/** @type {Event} */ event) => {
    const field = /** @type {HTMLInputElement} */ (event.currentTarget);
    void openDropped(field.files?.[0]).then(() => (field.value = ""));
  };
  const left = state.left.value;
  const takeUp = () => {
    if (left) state.takeUp(left);
    state.left.value = null;
  };
  return html`<div class="file">
    <p>
      <span class="figure">${state.name.value.split(/[\\/]/).at(-1)}</span>
      <span class="quiet">${unsaved ? "not saved" : "saved"}</span>
    </p>
    ${left ? html`<p>Left unsaved on ${new Date(left.at_ms).toLocaleString()}: ${left.name} ${word("take it up", takeUp)}</p>` : null}
    <p class="words">
      ${word("undo", state.undo, past.length > 0, past.at(-1)?.label)}
      ${word("redo", state.redo, future.length > 0, future.at(-1)?.label)} ${word("save", state.saveFile)}
      ${word("open", () => input.current?.click())}
      ${word("listen", () => void (location.hash = "listening"), true, "to a recording, or to the microphone")}
      <input class="unseen" type="file" accept=".toml,text/plain" aria-label="Open a movement file" tabindex="-1" ref=${input} onChange=${take} />
    </p>
  </div>`;
}
