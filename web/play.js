// @ts-check
// The oscillation played by itself, as slowly as a hand turns it, until something is touched.

import { signal } from "@preact/signals";
import { countOf } from "./moment.js";
import { goTo, instant, live, step, toPhase } from "./state.js";

/** An oscillation takes about ten seconds. */
const INSTANTS_A_SECOND = 40;
/** With less motion asked for it goes from phase to phase, each shown so long. */
const PHASE_MS = 1200;

/** Whether it plays. */
export const playing = signal(false);

let frame = 0;
let timer = 0;

/** Plays, or stops. */
export const togglePlay = () => (playing.value ? stop() : play());

function play() {
  const count = countOf(live.value);
  if (count === 0) return;
  playing.value = true;
  if (ended()) goTo(0);
  for (const kind of TOUCHES) addEventListener(kind, touched, { capture: true, passive: true });
  if (matchMedia("(prefers-reduced-motion: reduce)").matches) {
    timer = window.setInterval(() => advance(() => toPhase(1)), PHASE_MS);
    return;
  }
  let last_ms = performance.now();
  const on = (/** @type {number} */ now_ms) => {
    const by = Math.floor(((now_ms - last_ms) * INSTANTS_A_SECOND) / 1000);
    if (by > 0) {
      last_ms += (by * 1000) / INSTANTS_A_SECOND;
      advance(() => step(by));
    }
    if (playing.value) frame = requestAnimationFrame(on);
  };
  frame = requestAnimationFrame(on);
}

function stop() {
  playing.value = false;
  cancelAnimationFrame(frame);
  clearInterval(timer);
  for (const kind of TOUCHES) removeEventListener(kind, touched, { capture: true });
}

/** Where it comes to a stop, playing ends. @param {() => void} act */
function advance(act) {
  act();
  if (ended()) stop();
}

/** Whether it stands where it cannot be turned on. */
const ended = () => Boolean(live.value?.stop) && instant.value >= countOf(live.value) - 1;

const TOUCHES = ["pointerdown", "keydown", "wheel"];

/** Any touch stops it; that of the word which plays and stops is its own. @param {Event} event */
function touched(event) {
  const at = event.target instanceof Element ? event.target : null;
  const key = event instanceof KeyboardEvent ? event.key : null;
  const onWord = Boolean(at?.closest("[data-play]")) && (key === null || key === " " || key === "Enter");
  const onRibbon = key === " " && (at === document.body || Boolean(at?.closest(".ribbon")));
  if (!onWord && !onRibbon) stop();
}
