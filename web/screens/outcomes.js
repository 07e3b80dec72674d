// @ts-check
// What became of a point of a sweep, in words.

/** @typedef {{ at: number[], outcomes: string[] }} Points */

/** @type {Record<string, string>} */
const WORDS = {
  played: "plays through",
  steady: "runs",
  "cycle-broken": "the cycle cannot be played through",
  "does-not-lock": "a stone does not lock",
  stops: "it stops",
  jams: "it jams",
  "beyond-bankings": "the lever goes beyond its bankings",
  knocks: "it knocks: the jewel meets the fork from behind",
  "does-not-enter": "the jewel does not enter the notch",
  "runs-through": "the wheel runs through",
  "no-drive": "nothing drives it",
  "out-of-step": "it falls out of step",
  "does-not-start": "it does not start",
  unsettled: "it does not settle",
  "given-up": "it was given up without an answer",
};

/** Whether it does there what was asked. @param {string} code */
export const runs = (code) => code === "played" || code === "steady";

/** An outcome in words. @param {string} code */
export const outcomeWords = (code) => WORDS[code] ?? `cannot be built: ${code.replaceAll("-", " ")}`;

/** Runs of points with the same outcome, other than one that runs. @param {Points} swept */
export function breaks({ at, outcomes }) {
  /** @type {{ code: string, from: number, to: number }[]} */
  const out = [];
  outcomes.forEach((code, i) => {
    if (runs(code)) return;
    const last = out.at(-1);
    if (last && outcomes[i - 1] === code) last.to = at[i];
    else out.push({ code, from: at[i], to: at[i] });
  });
  return out;
}
