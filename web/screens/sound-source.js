// @ts-check
// What is listened to: a recording, or a microphone with its level.
import { useRef } from "preact/hooks";
import { html } from "../html.js";
import { KEPT_S, kept_s, wavOf } from "../recorder.js";
import { beginAnew, device, devices, hearing, level, sounded, source, start, stop, takeRecording } from "../sound.js";
import { number } from "../units.js";

/** Full scale that is too near, and what is hardly there. */
const TOO_LOUD = 0.98;
const FAINT = 0.003;
/** Least level drawn, dB of full scale. */
const FLOOR_DB = -80;

/** Hands what was heard to the browser to be saved. */
function saveSound() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(wavOf());
  link.download = `sound ${new Date().toISOString().slice(0, 19).replaceAll(":", "-")}.wav`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

export function SoundSource() {
  const input = useRef(/** @type {HTMLInputElement | null} */ (null));
  const live = hearing.value === "live" || hearing.value === "opening";
  const choose = (/** @type {Event} */ event) => {
    const field = /** @type {HTMLInputElement} */ (event.currentTarget);
    const file = field.files?.[0];
    if (file) void takeRecording(file).then(() => (field.value = ""));
  };
  const word = (/** @type {string} */ name, /** @type {() => void} */ act, able = true) =>
    html`<button class="word" type="button" disabled=${!able} onClick=${act}>${name}</button>`;
  return html`<section class="sound-source" aria-label="Source">
    <h2>Recording</h2>
    <p class="words">${word("choose a recording", () => input.current?.click())}
      <input class="unseen" type="file" accept="audio/*,.wav,.flac,.ogg,.mp3,.m4a,.aif,.aiff,.caf" aria-label="Choose a recording" tabindex="-1" ref=${input} onChange=${choose} />
      <span class="quiet">or drop it on the page</span></p>
    <h2>Microphone</h2>
    <p class="row"><label for="device">device</label><select id="device" value=${device.value} disabled=${live}
      onChange=${(/** @type {any} */ e) => (device.value = e.currentTarget.value)}>
      <option value="">as the system has it</option>${devices.value.map((d) => html`<option key=${d.id} value=${d.id}>${d.label}</option>`)}</select></p>
    <p class="words">${word("start listening", () => void start(), !live)} ${word("stop", stop, live)} ${word("begin anew", beginAnew, hearing.value === "live")}
      ${source.value?.kind === "live" && word("save as WAV", saveSound, sounded.value !== null)}</p>
    <${Level} />
    ${source.value?.kind !== "live"
      ? html`<p class="quiet">It is asked for without echo cancellation, noise suppression and automatic gain. Sound stays on this machine; nothing of it is kept but what you save.</p>`
      : (sounded.value?.lasts_s ?? 0) > KEPT_S && html`<p class="quiet">Saved would be the first ${number(kept_s() / 60, 0)} min.</p>`}
  </section>`;
}

/** Loudest sample of the last second. */
function Level() {
  const now = level.value;
  const db = now === null || now <= 0 ? FLOOR_DB : Math.max(20 * Math.log10(now), FLOOR_DB);
  const word = now === null ? "no sound comes in" : now >= TOO_LOUD ? "too loud: lower the gain" : now < FAINT ? "very faint: raise the gain, or bring it nearer" : "well";
  const wrong = now !== null && (now >= TOO_LOUD || now < FAINT);
  return html`<div class="level"><div class="level-bar" role="meter" aria-label="Level" aria-valuemin=${FLOOR_DB} aria-valuemax="0" aria-valuenow=${Math.round(db)}
      aria-valuetext=${now === null ? word : `${Math.round(db)} dB of full scale, ${word}`}><span style=${{ width: `${100 * (1 - db / FLOOR_DB)}%` }}></span></div>
    <p class=${wrong ? "red" : "quiet"}>${now === null ? "" : html`loudest <span class="figure">${number(db, 0)}</span> dB of full scale, `}${word}</p></div>`;
}
