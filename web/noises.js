// @ts-check
// Noises of the mean beats placed by hand, the amplitude by them, and which side is the entry pallet's.
import { computed, effect, signal } from "@preact/signals";
import { askAmplitude } from "./api.js";
import { sounded, source, stated } from "./sound.js";

/** @import { MeanBeat } from "./wire" */

/** Noises placed by hand, from the beginning of the mean beat, ms; null: as the program has it. @typedef {{ first: number | null, drop: number | null }} Placed */
/** @typedef {"first" | "drop"} Noise */

/** Noises placed by hand, of side A and B. */
export const placed = signal(/** @type {[Placed, Placed]} */ ([{ first: null, drop: null }, { first: null, drop: null }]));
/** The side that the person says is the entry pallet's. @type {import("@preact/signals").Signal<"A" | "B" | null>} */
export const entrySide = signal(null);
/** Amplitudes by noises placed by hand. @type {import("@preact/signals").Signal<{ sides_deg: ([number, number] | null)[], both_deg: [number, number] | null } | null>} */
export const byHand = signal(null);

/** Whether any noise was placed by hand. */
export const anyPlaced = computed(() => placed.value.some((p) => p.first !== null || p.drop !== null));

/** The amplitude by them, with its error; null where none was placed. */
export const handed = computed(() => (anyPlaced.value ? (byHand.value?.both_deg ?? null) : null));

/** Where a noise is, ms from the program's drop; null where it is not heard. @param {MeanBeat} side @param {Placed} hand @param {Noise} noise */
export function noiseAt(side, hand, noise) {
  const own = hand[noise];
  if (own !== null) return side.from_ms + own;
  return noise === "drop" ? 0 : side.first_ms;
}

/** Places a noise. @param {number} side @param {Noise} noise @param {number} ms from the program's drop */
export function place(side, noise, ms) {
  const mean = sounded.value?.sides[side];
  if (!mean) return;
  const end = mean.each_ms * (mean.loudness.length - 1);
  let at = Math.min(Math.max(ms - mean.from_ms, 0), end);
  // The first noise comes before the drop.
  const other = noiseAt(mean, placed.value[side], noise === "first" ? "drop" : "first");
  if (other !== null) {
    const bound = other - mean.from_ms;
    at = noise === "first" ? Math.min(at, bound - mean.each_ms) : Math.max(at, bound + mean.each_ms);
  }
  const next = /** @type {[Placed, Placed]} */ ([...placed.value]);
  next[side] = { ...next[side], [noise]: Math.min(Math.max(at, 0), end) };
  placed.value = next;
}

/** Leaves noises as the program has them. */
export const placeNothing = () => void (placed.value = [{ first: null, drop: null }, { first: null, drop: null }]);

let asked = 0;
effect(() => {
  const [now, hand, lift] = [sounded.value, placed.value, Number(stated.value.lift_deg)];
  const beat_s = now?.report.beat_s ?? null;
  if (!now || beat_s === null || !anyPlaced.value || !(lift >= 10 && lift <= 120)) {
    asked += 1;
    byHand.value = null;
    return;
  }
  const between_ms = /** @type {[number, number]} */ (now.sides.map((side, i) => {
    const first = noiseAt(side, hand[i], "first");
    return first === null ? 0 : (noiseAt(side, hand[i], "drop") ?? 0) - first;
  }));
  const number = (asked += 1);
  void askAmplitude({ lift_deg: lift, beat_s, between_ms, step_ms: now.sides[0].each_ms }).then((answer) => {
    if (answer.answer === "amplitude" && number === asked) byHand.value = answer;
  });
});

// Of another sound nothing was placed or said.
effect(() => {
  void source.value;
  placeNothing();
  entrySide.value = null;
});
