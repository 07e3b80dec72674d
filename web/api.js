// @ts-check
// All that goes to the bench and comes from it. One question is on its way at a time; of sheets asked for meanwhile only
// the newest is asked, everything else waits its turn, and what nobody waits for at the hand comes last. A lost line is opened again by itself and the question put anew.

/** @import { Ask, Answer, Hear, Shown, Stated, Tables, Told } from "./wire" */
/** @typedef {"open" | "waiting" | "closed"} Link */
/** @typedef {{ question: any, done: (answer: Answer | null) => void }} Waiting */

const FIRST_WAIT_MS = 250;
const LONGEST_WAIT_MS = 4000;

const token = new URLSearchParams(location.search).get("token") ?? "";

/** @param {string} address */
async function fetched(address) {
  const response = await fetch(address);
  const body = await response.json();
  if (!response.ok) throw new Error(body.message);
  return body;
}

/** The tables of parameters and figures. @returns {Promise<Tables>} */
export const fetchTables = () => fetched("/tables.json");

/** The movement to begin with. @returns {Promise<{ name: string, text: string }>} */
export const fetchBegin = () => fetched(`/begin.json?token=${encodeURIComponent(token)}`);

/** The line to the bench. */
class Line {
  /** @type {WebSocket | null} */
  #socket = null;
  /** @type {Waiting | null} */
  #asked = null;
  /** @type {Waiting | null} */
  #newest = null;
  /** @type {Waiting[]} */
  #queue = [];
  /** @type {Waiting[]} */
  #later = [];
  #revision = 0;
  #wait = FIRST_WAIT_MS;
  /** @type {(link: Link) => void} */
  #tell = () => {};

  /** Opens the line. @param {(link: Link) => void} tell told whenever its state changes */
  open(tell) {
    this.#tell = tell;
    this.#connect();
  }

  /** Asks for a sheet; null where a newer one was asked before this one's turn. @param {any} question */
  sheet(question) {
    this.#newest?.done(null);
    return new Promise((done) => {
      this.#newest = { question, done };
      this.#next();
    });
  }

  /** Asks anything else. @param {any} question @returns {Promise<Answer>} */
  other(question) {
    return new Promise((done) => {
      this.#queue.push({ question, done: /** @type {any} */ (done) });
      this.#next();
    });
  }

  /** Asks what an edit need not wait for: when nothing else is to be asked. @param {any} question @returns {Promise<Answer>} */
  later(question) {
    return new Promise((done) => {
      this.#later.push({ question, done: /** @type {any} */ (done) });
      this.#next();
    });
  }

  #connect() {
    const socket = new WebSocket(`ws://${location.host}/socket?token=${encodeURIComponent(token)}`);
    this.#socket = socket;
    let opened = false;
    socket.onopen = () => {
      opened = true;
      this.#wait = FIRST_WAIT_MS;
      this.#tell("open");
      this.#send();
    };
    socket.onmessage = (message) => this.#answered(JSON.parse(message.data));
    socket.onclose = async () => {
      this.#socket = null;
      this.#tell("waiting");
      if (!opened && (await refused())) {
        this.#tell("closed");
        return;
      }
      setTimeout(() => this.#connect(), this.#wait);
      this.#wait = Math.min(2 * this.#wait, LONGEST_WAIT_MS);
    };
  }

  /** Takes the next question, unless one is on its way. */
  #next() {
    if (this.#asked) return;
    // A rewrite or a sweep was asked for once and is answered once; sheets come in between.
    const next = this.#queue.shift() ?? this.#newest ?? this.#later.shift();
    if (!next) return;
    if (next === this.#newest) this.#newest = null;
    this.#revision += 1;
    this.#asked = next;
    this.#asked.question = { ...next.question, revision: this.#revision };
    this.#send();
  }

  #send() {
    if (this.#asked && this.#socket?.readyState === WebSocket.OPEN) {
      this.#socket.send(JSON.stringify(this.#asked.question));
    } else if (!this.#asked) {
      this.#next();
    }
  }

  /** @param {Answer} answer */
  #answered(answer) {
    const asked = this.#asked;
    // An answer to another question than the one on its way is an old one, of a line that was lost.
    if (!asked || (answer.revision !== asked.question.revision && answer.revision !== 0)) return;
    this.#asked = null;
    asked.done(answer);
    this.#next();
  }
}

/** Whether the bench is there and turns this page away: then its address is an old one. */
async function refused() {
  try {
    return (await fetch(`/begin.json?token=${encodeURIComponent(token)}`)).status === 403;
  } catch {
    return false;
  }
}

const line = new Line();

/** Opens the line to the bench. @param {(link: Link) => void} tell */
export const openLine = (tell) => line.open(tell);

/**
 * Asks for a sheet. Null where a newer one was asked for before this one's turn.
 * @param {{ name: string, text: string, set: string[], beat: number, sideshake: boolean, brief: boolean, shown: Shown | null }} question
 * @returns {Promise<Answer | null>}
 */
export const askSheet = (question) => line.sheet({ ask: "sheet", ...question });

/**
 * Asks for a rewritten text.
 * @param {{ name: string, text: string, changes: { path: string, value: string | null }[] }} question
 */
export const askRewrite = (question) => line.other({ ask: "rewrite", ...question });

/**
 * Asks for a sweep; `axis` is `key=first:last:count`.
 * @param {{ name: string, text: string, set: string[], axis: string, figures: string[] }} question
 */
export const askSweep = (question) => line.other({ ask: "sweep", ...question });

/** The same, after all that is asked for meanwhile. @type {typeof askSweep} */
export const askSweepLater = (question) => line.later({ ask: "sweep", ...question });

/**
 * Asks for a motion in time, after all else.
 * @param {{ name: string, text: string, set: string[], from_rest: boolean }} question
 */
export const askPlayed = (question) => line.later({ ask: "played", ...question });

/** Asks for a new movement file. @param {{ tooth_count: number, locking_radius_mm: number }} question */
export const askBegin = (question) => line.other({ ask: "begin", ...question });

/** Reads amplitudes from noises placed by hand. @param {{ lift_deg: number, beat_s: number, between_ms: [number, number], step_ms: number }} question */
export const askAmplitude = (question) => line.other({ ask: "amplitude", ...question });

/**
 * Has a recording listened to.
 * @param {string} name @param {Blob} recording @param {Stated} stated
 * @returns {Promise<Told>}
 */
export async function sendRecording(name, recording, stated) {
  const query = new URLSearchParams({ token, name, ...stated });
  const response = await fetch(`/recording?${query}`, { method: "POST", body: recording });
  const body = await response.json();
  return response.ok ? body : { told: "problem", ...body };
}

/**
 * Opens a line for live sound.
 * @param {{ open: () => void, told: (told: Told) => void, closed: () => void }} tell
 */
export function openSound(tell) {
  const socket = new WebSocket(`ws://${location.host}/sound?token=${encodeURIComponent(token)}`);
  socket.binaryType = "arraybuffer";
  socket.onopen = tell.open;
  socket.onmessage = (message) => tell.told(JSON.parse(message.data));
  socket.onclose = tell.closed;
  const ready = () => socket.readyState === WebSocket.OPEN;
  return {
    /** @param {Hear} hear */
    say: (hear) => ready() && socket.send(JSON.stringify(hear)),
    /** @param {Float32Array<ArrayBuffer>} block */
    block: (block) => ready() && socket.send(block),
    /** Bytes that have not been sent yet. */
    waiting: () => socket.bufferedAmount,
    close: () => {
      socket.onclose = socket.onmessage = null;
      socket.close();
    },
  };
}
