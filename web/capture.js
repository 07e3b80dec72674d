// @ts-check
// Runs in the browser's audio thread: hands the samples on in blocks, as they come. It imports nothing.

/** Samples of a block: a twentieth of a second at 48 kHz. */
const BLOCK = 2400;

class Capture extends AudioWorkletProcessor {
  block = new Float32Array(BLOCK);
  filled = 0;
  begun = false;

  /** @param {Float32Array[][]} inputs */
  process([input]) {
    const samples = input[0];
    this.begun ||= samples !== undefined;
    if (!this.begun) return true;
    // What is missing is silence: time goes on.
    for (let i = 0; i < (samples?.length ?? 128); i += 1) {
      this.block[this.filled] = samples ? samples[i] : 0;
      this.filled += 1;
      if (this.filled < BLOCK) continue;
      this.port.postMessage(this.block, [this.block.buffer]);
      this.block = new Float32Array(BLOCK);
      this.filled = 0;
    }
    return true;
  }
}

registerProcessor("capture", Capture);
