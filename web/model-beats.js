// @ts-check
// When the shocks of a beat come by the model: the steady motion of the open movement, from the drop.
import { effect, signal } from "@preact/signals";
import { askPlayed } from "./api.js";
import { name, screen, sheet, text } from "./signals.js";

/** @import { Played } from "./wire" */
/** @typedef {{ pallet: string, shocks: { name: string, ms: number }[] }} ModelBeat */

/** A beat of each pallet, entry and exit, or why there is none. @type {import("@preact/signals").Signal<{ name: string, beats: ModelBeat[], why: string | null } | null>} */
export const modelBeats = signal(null);

/** Name of the shock from which times are counted. */
const DROP = "drop";

/** The first beat of each pallet that has its drop. @param {Played} motion @returns {ModelBeat[]} */
function beatsOf(motion) {
  return ["entry", "exit"].flatMap((pallet) => {
    const own = motion.stretches.filter((s) => s.pallet === pallet);
    for (const beat of new Set(own.map((s) => s.beat))) {
      const part = own.filter((s) => s.beat === beat);
      const [first, last] = [part[0].first, part[part.length - 1].last];
      const five = motion.shocks.filter((s) => s.of_five && s.instant >= first && s.instant < last);
      const drop = five.find((s) => s.name === DROP);
      if (!drop) continue;
      return [{ pallet, shocks: five.map((s) => ({ name: s.name, ms: 1e3 * (motion.t_s[s.instant] - motion.t_s[drop.instant]) })) }];
    }
    return [];
  });
}

let asked = "";
effect(() => {
  const now = sheet.value;
  if (screen.value !== "listening" || !now || text.value === asked) return;
  const of = text.value;
  asked = of;
  void askPlayed({ name: name.peek(), text: of, set: [], from_rest: false }).then((answer) => {
    if (of !== asked) return;
    const motion = answer.answer === "played" ? answer.played : null;
    const beats = motion?.repeats ? beatsOf(motion) : [];
    const why = beats.length === 2 ? null : (motion?.sentence ?? "its motion could not be worked out");
    modelBeats.value = { name: now.name, beats: beats.length === 2 ? beats : [], why };
  });
});
