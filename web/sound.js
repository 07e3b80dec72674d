// @ts-check
// What is listened to and what was heard: a recording or the microphone, and what is stated of it.
import { batch, computed, effect, signal } from "@preact/signals";
import { openSound, sendRecording } from "./api.js";
import { microphoneFault, microphones, openMicrophone } from "./microphone.js";
import { keepAnew, keepBlock } from "./recorder.js";
import { sheet, tables, text } from "./signals.js";
import { trueMinus } from "./units.js";

/** @import { Sounded, Stated, Told } from "./wire" */
/** @import { Microphone } from "./microphone.js" */

/** Figures as they were earlier, for how they settle. @typedef {{ lasts_s: number, report: Sounded["report"] }} Earlier */

/** Problems of what is stated. */
const MISSTATED = ["bad-lift", "bad-beats", "bad-clock"];
/** Earlier figures that are kept. */
const EARLIER_MOST = 400;
/** Sound that may wait to be sent, bytes: some five seconds. */
const WAITING_MOST = 1_000_000;
/** Seconds over which the loudest sample is shown. */
const HOLD_MS = 1000;

/** What is listened to. @type {import("@preact/signals").Signal<{ kind: "file" | "live", name: string, file: File | null } | null>} */
export const source = signal(null);
/** Whether it is being listened to: a file that is on its way, or sound that comes in. @type {import("@preact/signals").Signal<"no" | "opening" | "file" | "live">} */
export const hearing = signal("no");
/** What was heard. @type {import("@preact/signals").Signal<Sounded | null>} */
export const sounded = signal(null);
/** The same earlier, of live sound. @type {import("@preact/signals").Signal<Earlier[]>} */
export const earlier = signal([]);
/** What went wrong. @type {import("@preact/signals").Signal<string | null>} */
export const trouble = signal(null);
/** What is stated wrongly. @type {import("@preact/signals").Signal<{ code: string, message: string } | null>} */
export const misstated = signal(null);

/** Devices there are, and the one that is wanted. */
export const devices = signal(/** @type {{ id: string, label: string }[]} */ ([]));
export const device = signal("");
/** What the browser does to the sound against what was asked. @type {import("@preact/signals").Signal<string[]>} */
export const altered = signal([]);
/** Loudest sample of the last second, full scale 1; null: nothing comes in. @type {import("@preact/signals").Signal<number | null>} */
export const level = signal(null);

/** Where the lift is from; null: as is best. @type {import("@preact/signals").Signal<"model" | "hand" | null>} */
const liftWanted = signal(null);
/** As written by hand. */
export const liftText = signal("");
export const beatsText = signal("");
export const clockText = signal("");
export const clockErrorText = signal("");

/** The lift of the open movement. */
export const modelLift = computed(() => {
  const row = sheet.value?.values.find((v) => v.path === "balance.heard_lift_deg");
  return row ? { deg: row.value, origin: row.origin, name: sheet.value?.name ?? "" } : null;
});
/** The demo says nothing of a watch: its lift is taken when that is asked for. */
export const liftFrom = computed(() => liftWanted.value ?? (modelLift.value && text.value !== tables.value?.demo ? "model" : "hand"));
/** @param {"model" | "hand"} from */
export const takeLiftFrom = (from) => void (liftWanted.value = from);

/** What is stated. @type {import("@preact/signals").ReadonlySignal<Stated>} */
export const stated = computed(() => {
  const [clock, error] = [clockText.value.trim(), clockErrorText.value.trim()].map((t) => t.replaceAll("\u2212", "-"));
  return {
    lift_deg: liftFrom.value === "model" ? String(modelLift.value?.deg ?? "") : liftText.value,
    beats_per_hour: beatsText.value,
    clock_ppm: error === "" ? clock : `${clock === "" ? "0" : clock}+-${error}`,
  };
});

/** Forgets what was heard. @param {typeof source.value} next */
function begin(next) {
  line?.close();
  line = null;
  batch(() => {
    source.value = next;
    sounded.value = null;
    earlier.value = [];
    trouble.value = null;
  });
}

/** Listens to a recording. @param {File} file */
export async function takeRecording(file) {
  stop();
  begin({ kind: "file", name: file.name, file });
  await send();
}

let sent = 0;
/** Has the recording heard with what is stated now. */
async function send() {
  const file = source.peek()?.file;
  if (!file) return;
  const most = tables.peek()?.recording_bytes_most ?? Infinity;
  if (file.size > most) {
    trouble.value = `${file.name} has ${file.size} bytes; a recording may have ${most}: cut it, or give it to the command beatwright listen`;
    return;
  }
  const number = (sent += 1);
  hearing.value = "file";
  /** @type {Told} */
  let answer;
  try {
    answer = await sendRecording(file.name, file, stated.peek());
  } catch (error) {
    answer = { told: "problem", code: "no-answer", message: `the bench did not answer: ${error instanceof Error ? error.message : error}` };
  }
  if (number !== sent) return;
  batch(() => {
    hearing.value = "no";
    misstated.value = null;
    if (answer.told === "sounded") sounded.value = answer.sounded;
    else if (MISSTATED.includes(answer.code)) misstated.value = answer;
    else trouble.value = `${file.name}: ${answer.message}`;
  });
}

/** @type {Microphone | null} */
let microphone = null;
/** @type {ReturnType<typeof openSound> | null} */
let line = null;
/** Blocks that came before the line was open. @type {Float32Array<ArrayBuffer>[]} */
let early = [];
let lineOpen = false;
let loudest = { at_ms: 0, value: 0 };

/** Looks which microphones there are. */
export const lookForDevices = async () => void (devices.value = await microphones().catch(() => []));

/** Listens to the microphone. */
export async function start() {
  stop();
  begin({ kind: "live", name: "microphone", file: null });
  hearing.value = "opening";
  try {
    const opened = await openMicrophone(device.peek(), take, () => {
      trouble.value = "the microphone was taken away; what was heard until then stays";
      stop();
    });
    if (hearing.peek() !== "opening") return opened.close();
    microphone = opened;
  } catch (error) {
    batch(() => {
      hearing.value = "no";
      trouble.value = microphoneFault(error);
    });
    return;
  }
  batch(() => {
    hearing.value = "live";
    altered.value = microphone?.altered ?? [];
    source.value = { kind: "live", name: microphone?.label || "microphone", file: null };
  });
  void lookForDevices();
  connect();
}

/** Opens a line for the sound that comes in. */
function connect() {
  keepAnew(microphone?.rate_hz ?? 0);
  [early, lineOpen] = [[], false];
  line = openSound({
    open: () => {
      lineOpen = true;
      line?.say({ hear: "begin", rate_hz: microphone?.rate_hz ?? 0, stated: stated.peek() });
      for (const block of early) line?.block(block);
      early = [];
    },
    told,
    closed: () => {
      line = null;
      trouble.value = sounded.peek()?.ended ? trouble.peek() : "the line to the bench was lost; what was heard until then stays";
      quiet();
    },
  });
}

/** Hears the same microphone anew, as after the watch was turned. */
export function beginAnew() {
  if (hearing.peek() !== "live") return;
  const same = source.peek();
  begin(same && { ...same });
  connect();
}

/** @param {Float32Array<ArrayBuffer>} block */
function take(block) {
  const peak = block.reduce((most, v) => Math.max(most, Math.abs(v)), 0);
  const now_ms = performance.now();
  if (peak >= loudest.value || now_ms - loudest.at_ms > HOLD_MS) {
    loudest = { at_ms: now_ms, value: peak };
    level.value = peak;
  }
  keepBlock(block);
  if (!lineOpen) early.push(block);
  else if (line && line.waiting() > WAITING_MOST) {
    trouble.value = "the bench does not keep up with the sound: stopped, so that nothing is left out; what was heard until then stays";
    stop();
  } else line?.block(block);
}

/** @param {Told} now */
function told(now) {
  batch(() => {
    if (now.told === "problem") {
      const which = MISSTATED.includes(now.code) ? misstated : null;
      if (which) which.value = now;
      else trouble.value = now.message;
      return;
    }
    misstated.value = null;
    sounded.value = now.sounded;
    const { report, lasts_s, ended } = now.sounded;
    if (!report.refused && !ended) earlier.value = thinned([...earlier.peek(), { lasts_s, report }]);
    if (ended && hearing.peek() === "live") {
      trouble.value = "an hour has been heard: that is all that one line takes; start again for more";
      quiet();
    }
  });
}

/** Every second one where there are too many. @param {Earlier[]} all */
const thinned = (all) => (all.length <= EARLIER_MOST ? all : all.filter((_, i) => i % 2 === 0 || i > all.length - 8));

/** Closes the microphone. */
function quiet() {
  microphone?.close();
  microphone = null;
  batch(() => {
    hearing.value = "no";
    level.value = null;
  });
}

/** Stops listening; what was heard stays, and is gone through once more as a whole. */
export function stop() {
  if (hearing.peek() === "no") return;
  sent += 1;
  if (hearing.peek() === "live") line?.say({ hear: "end" });
  quiet();
}

// What is stated anew is heard with at once.
let last = "";
effect(() => {
  const now = JSON.stringify(stated.value);
  if (now === last) return;
  last = now;
  earlier.value = [];
  if (source.peek()?.kind === "file") void send();
  else if (line && lineOpen) line.say({ hear: "state", stated: stated.peek() });
  else misstated.value = null;
});

/** What is wrong with a field, as it is read. @param {string} code */
export const faultOf = (code) => (misstated.value?.code === code ? trueMinus(misstated.value.message) : null);
