// @ts-check
// The microphone: as it is, with nothing that alters the sound, in blocks of samples.

/**
 * @typedef {object} Microphone
 * @property {number} rate_hz samples a second
 * @property {string} label
 * @property {string[]} altered what the browser does to the sound all the same
 * @property {() => void} close
 */

/** What alters a sound, by the browser's names and in words. */
const ALTERS = /** @type {const} */ ([
  ["echoCancellation", "echo cancellation"], ["noiseSuppression", "noise suppression"], ["autoGainControl", "automatic gain"],
]);

/** Microphones there are; their names are known once one was allowed. @returns {Promise<{ id: string, label: string }[]>} */
export async function microphones() {
  const all = (await navigator.mediaDevices?.enumerateDevices()) ?? [];
  const found = all.filter((d) => d.kind === "audioinput" && d.deviceId !== "" && d.deviceId !== "default" && d.deviceId !== "communications");
  return found.map((d, i) => ({ id: d.deviceId, label: d.label || `microphone ${i + 1}` }));
}

/** What went wrong, and what to do. @param {unknown} error */
export function microphoneFault(error) {
  const name = error instanceof Error ? error.name : "";
  const words = /** @type {Record<string, string>} */ ({
    NotAllowedError: "the browser was not allowed to use the microphone: allow it for this page and start again",
    NotFoundError: "there is no microphone: connect one and start again",
    NotReadableError: "the microphone is in use by another program, or cannot be read: free it and start again",
    OverconstrainedError: "that microphone is not there any more: choose another",
  });
  return words[name] ?? `the microphone could not be opened: ${error instanceof Error ? error.message : error}`;
}

/**
 * Opens a microphone.
 * @param {string} device its id; empty: that of the system
 * @param {(block: Float32Array<ArrayBuffer>) => void} take
 * @param {() => void} gone told when it is taken away
 * @returns {Promise<Microphone>}
 */
export async function openMicrophone(device, take, gone) {
  if (!navigator.mediaDevices) throw new Error("this browser has none for this page; open the bench at 127.0.0.1");
  const off = Object.fromEntries(ALTERS.map(([key]) => [key, false]));
  const audio = { ...off, channelCount: { ideal: 1 }, ...(device && { deviceId: { exact: device } }) };
  const stream = await navigator.mediaDevices.getUserMedia({ audio });
  const [track] = stream.getAudioTracks();
  const settings = /** @type {any} */ (track.getSettings());
  const { context, source } = connected(stream, settings.sampleRate);
  try {
    await context.audioWorklet.addModule("/capture.js");
    const capture = new AudioWorkletNode(context, "capture", { numberOfOutputs: 0, channelCount: 1, channelCountMode: "explicit" });
    capture.port.onmessage = (message) => take(message.data);
    source.connect(capture);
    // Not waited for: where nothing can be played some browsers never say that it runs.
    void context.resume();
  } catch (error) {
    track.stop();
    void context.close();
    throw error;
  }
  track.onended = gone;
  return {
    rate_hz: context.sampleRate,
    label: track.label,
    altered: ALTERS.filter(([key]) => settings[key] === true).map(([, words]) => words),
    close: () => {
      track.onended = null;
      track.stop();
      void context.close();
    },
  };
}

/** Its samples as they were taken, where the browser can do without converting them. @param {MediaStream} stream @param {number | undefined} rate_hz */
function connected(stream, rate_hz) {
  if (rate_hz) {
    const context = new AudioContext({ sampleRate: rate_hz });
    try {
      return { context, source: context.createMediaStreamSource(stream) };
    } catch {
      void context.close();
    }
  }
  const context = new AudioContext();
  return { context, source: context.createMediaStreamSource(stream) };
}
