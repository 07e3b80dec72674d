// @ts-check
// The sheet of listening: what is listened to at the left; on the sheet what can be said, and what it rests on.
import { useEffect } from "preact/hooks";
import { html } from "../html.js";
import { handed } from "../noises.js";
import { isRecording } from "../recordings.js";
import { hearing, lookForDevices, sounded, source, stop, takeRecording } from "../sound.js";
import { openFile, sheet } from "../state.js";
import { BeatDeviation } from "./beat-deviation.js";
import { MeanBeats } from "./mean-beats.js";
import { Measured } from "./measured.js";
import { Light } from "./places.js";
import { Positions } from "./positions.js";
import { SoundSource } from "./sound-source.js";
import { StatedOfSound } from "./sound-stated.js";
import { FIGURES, estimate, stateOf } from "./verdict.js";

/** Takes what is dropped: a recording is heard, a movement laid on the bench. @param {DragEvent} event */
async function dropped(event) {
  event.preventDefault();
  const file = event.dataTransfer?.files[0];
  if (!file) return;
  if (!isRecording(file) && /\.toml$/i.test(file.name)) return openFile(file.name, await file.text());
  await takeRecording(file);
}

const over = (/** @type {DragEvent} */ event) => event.preventDefault();

/** Past the statements, for whoever goes by keyboard. */
const toSheet = () => /** @type {HTMLElement | null} */ (document.querySelector(".evidence"))?.focus();

/** The whole sheet. */
export function Listening() {
  useEffect(() => {
    void lookForDevices();
    addEventListener("dragover", over);
    addEventListener("drop", dropped);
    return () => {
      removeEventListener("dragover", over);
      removeEventListener("drop", dropped);
      // A recording is heard to its end all the same.
      if (hearing.peek() !== "file") stop();
    };
  }, []);
  return html`<main class="listening">
    <button class="word skip" onClick=${toSheet}>to what was heard</button>
    <aside class="sound-margin" aria-label="Sound">
      <${SoundSource} />
      <${StatedOfSound} />
      <${Light} />
    </aside>
    <section class="sound-sheet" aria-label="Heard">
      <div class="evidence" tabindex="0" role="region" aria-label="What was heard"><${Measured} /><${MeanBeats} /><${BeatDeviation} /></div>
      <div class="sheet-foot"><${Positions} /><${Title} /></div>
    </section>
  </main>`;
}

/** Figures with their errors, while the sheet is scrolled. */
function Summary() {
  const report = sounded.value?.report;
  if (!report || report.refused) return null;
  return html`<dl class="summary">${FIGURES.map(({ name, unit, value, se, most, sign }) => {
    const [found, error] = (name === "amplitude" && handed.value) || [report[value], report[se]];
    return found !== null && html`<div key=${name}><dt>${name}</dt><dd class="figure">${estimate(found, error, unit, most, sign)}</dd></div>`;
  })}</dl>`;
}

/** The title block: what is heard, of what, and how it stands. */
function Title() {
  const own = source.value;
  return html`<section class="title-block" aria-label="Title block">
    <h1>${own ? own.name : "Nothing listened to yet"}</h1>
    <p class="kind"><span>on the bench: ${sheet.value?.name ?? "no movement"}</span></p>
    <${Summary} />
    <p class="stands"><span class="verdict" role="status">${stateOf(hearing.value, sounded.value, own !== null)}</span> <a class="word" href="#board">to the board</a></p>
  </section>`;
}
