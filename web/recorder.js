// @ts-check
// Live sound kept in the page, so that it can be saved as it was heard.

/** Longest sound that is kept, s: some 115 MB at 48 kHz. */
export const KEPT_S = 600;

/** @type {Float32Array<ArrayBuffer>[]} */
let blocks = [];
let count = 0;
let rate_hz = 48_000;

/** Forgets what was kept. @param {number} hz samples a second of what follows */
export function keepAnew(hz) {
  blocks = [];
  count = 0;
  rate_hz = hz;
}

/** Keeps a block, as long as there is room. @param {Float32Array<ArrayBuffer>} block */
export function keepBlock(block) {
  if (count + block.length > KEPT_S * rate_hz) return;
  blocks.push(block);
  count += block.length;
}

/** How much is kept, s. */
export const kept_s = () => count / rate_hz;

/** A WAV file of it: one channel, 32 bits, floating point, every sample as it was heard (RIFF, Microsoft and IBM 1991). */
export function wavOf() {
  const head = new DataView(new ArrayBuffer(44));
  const word = (/** @type {number} */ at, /** @type {string} */ text) => [...text].forEach((c, i) => head.setUint8(at + i, c.charCodeAt(0)));
  word(0, "RIFF");
  head.setUint32(4, 36 + 4 * count, true);
  word(8, "WAVEfmt ");
  head.setUint32(16, 16, true);
  head.setUint16(20, 3, true);
  head.setUint16(22, 1, true);
  head.setUint32(24, rate_hz, true);
  head.setUint32(28, 4 * rate_hz, true);
  head.setUint16(32, 4, true);
  head.setUint16(34, 32, true);
  word(36, "data");
  head.setUint32(40, 4 * count, true);
  return new Blob([head.buffer, ...blocks], { type: "audio/wav" });
}
