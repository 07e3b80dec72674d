// Sounds made for the checks, from nothing of the program: noises that ring and die away at known instants, over noise.
// Every figure in here is invented.

/** Random numbers that are the same every time: mulberry32, from memory. @param {number} seed */
function dice(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** What is ticking. Wander: beats come early and late by so much, in a sine of that period. */
const USUAL = {
  rate_hz: 48_000, lasts_s: 30, per_hour: 28_800, rate_s_per_day: 12, amplitude_deg: 270, lift_deg: 52, beat_error_ms: 0.8,
  jitter_ms: 0.01, noise: 0.002, first: 0.25, wander_ms: 0, wander_s: 10, seed: 1,
};

/** A beat, s. */
export const beatOf = ({ per_hour, rate_s_per_day }) => 3600 / per_hour / (1 + rate_s_per_day / 86_400);

/** From the first noise to the drop, s: the balance turns by the lift about its middle. */
export const betweenOf = (made) => ((2 * beatOf(made)) / Math.PI) * Math.asin(made.lift_deg / 2 / made.amplitude_deg);

/** Samples of a ticking escapement, full scale 1. @param {Partial<typeof USUAL>} [how] */
export function ticking(how = {}) {
  const made = { ...USUAL, ...how };
  const { rate_hz, lasts_s, beat_error_ms, jitter_ms, noise, first, wander_ms, wander_s, seed } = made;
  const chance = dice(seed);
  const normal = () => Math.sqrt(-2 * Math.log(1 - chance())) * Math.cos(2 * Math.PI * chance());
  const out = new Float32Array(Math.round(lasts_s * rate_hz));
  for (let i = 0; i < out.length; i += 1) out[i] = noise * normal();
  // Each side rings in its own way.
  const rings = [0, 1].map(() => [0, 1, 2, 3].map(() => ({ hz: 3000 + 9000 * chance(), loud: 0.3 + 0.7 * chance(), dies_s: 4e-4 + 8e-4 * chance() })));
  const [beat_s, between_s] = [beatOf(made), betweenOf(made)];
  for (let n = 0; ; n += 1) {
    const even_s = 0.1 + n * beat_s;
    if (even_s + 0.06 > lasts_s) break;
    const side = n % 2;
    const at_s = even_s + ((side === 0 ? 0.5 : -0.5) * beat_error_ms + jitter_ms * normal() + wander_ms * Math.sin((2 * Math.PI * even_s) / wander_s)) / 1e3;
    for (const [part, loud] of [[0, first], [0.24, 0.35], [0.31, 0.3], [1, 1], [1.12, 0.35]]) {
      const from_s = at_s + part * between_s;
      for (const ring of rings[side]) {
        const phase = 2 * Math.PI * chance();
        for (let i = Math.ceil(from_s * rate_hz); i < Math.min(out.length, (from_s + 8 * ring.dies_s) * rate_hz); i += 1) {
          const s = i / rate_hz - from_s;
          out[i] += 0.2 * loud * ring.loud * Math.exp(-s / ring.dies_s) * Math.sin(2 * Math.PI * ring.hz * s + phase);
        }
      }
    }
  }
  return out;
}

/** Noise alone. @param {number} lasts_s */
export function hiss(lasts_s, rate_hz = 48_000) {
  const chance = dice(7);
  return Float32Array.from({ length: lasts_s * rate_hz }, () => 0.1 * (chance() - 0.5));
}

/** A WAV file of 16 bits, one channel (RIFF, Microsoft and IBM 1991). @param {Float32Array} samples */
export function wav(samples, rate_hz = 48_000) {
  const out = Buffer.alloc(44 + 2 * samples.length);
  out.write("RIFF", 0);
  out.writeUInt32LE(36 + 2 * samples.length, 4);
  out.write("WAVEfmt ", 8);
  out.writeUInt32LE(16, 16);
  out.writeUInt16LE(1, 20);
  out.writeUInt16LE(1, 22);
  out.writeUInt32LE(rate_hz, 24);
  out.writeUInt32LE(2 * rate_hz, 28);
  out.writeUInt16LE(2, 32);
  out.writeUInt16LE(16, 34);
  out.write("data", 36);
  out.writeUInt32LE(2 * samples.length, 40);
  samples.forEach((v, i) => out.writeInt16LE(Math.round(32767 * Math.max(-1, Math.min(1, v))), 44 + 2 * i));
  return out;
}
