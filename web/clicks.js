// @ts-check
// Shocks as clicks: each a short burst of noise that dies away, as loud as the root of the energy lost in it.

/** A click dies away with this time, and lasts so long, s: chosen by ear. */
const DIES_S = 0.0015;
const LASTS_S = 0.012;
/** Clicks are told to the sound card so long before they are heard, s: chosen, so that none comes too late. */
const AHEAD_S = 0.03;
const LOUDEST = 0.8;

/** @type {{ context: AudioContext, burst: AudioBuffer, out: GainNode } | null} */
let card = null;

/** The sound card, made when it is first needed: a browser lets no page make a noise before it has been touched. */
function opened() {
  if (card) return card;
  const context = new AudioContext();
  const burst = context.createBuffer(1, Math.ceil(LASTS_S * context.sampleRate), context.sampleRate);
  const wave = burst.getChannelData(0);
  for (let i = 0; i < wave.length; i += 1) wave[i] = (2 * Math.random() - 1) * Math.exp(-i / (DIES_S * context.sampleRate));
  const out = context.createGain();
  out.connect(context.destination);
  card = { context, burst, out };
  return card;
}

/** A click after a time. @param {number} after_s @param {number} energy_ratio its energy, a part of the largest */
export function click(after_s, energy_ratio) {
  const { context, burst, out } = opened();
  if (context.state === "suspended") void context.resume();
  const source = context.createBufferSource();
  source.buffer = burst;
  const gain = context.createGain();
  gain.gain.value = LOUDEST * Math.sqrt(energy_ratio);
  source.connect(gain).connect(out);
  source.start(context.currentTime + AHEAD_S + after_s);
}

/** What was told and is not heard yet is not heard any more. */
export function silence() {
  if (!card) return;
  card.out.disconnect();
  card.out = card.context.createGain();
  card.out.connect(card.context.destination);
}
