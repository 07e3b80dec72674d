// @ts-check
// Which stone a tooth is on.

/** @import { Oscillation } from "../wire" */

/** The pallet whose stone a tooth touches at an instant: after the drop, the other one's. @param {Oscillation} all @param {number} now */
export function touched(all, now) {
  if (!all.contact[now]) return null;
  const own = all.spans[all.span[now]].pallet;
  for (let i = all.span[now] - 1; i >= 0 && all.spans[i].pallet === own; i -= 1) {
    if (all.spans[i].contact === null) return own === "entry" ? "exit" : "entry";
  }
  return own;
}

/** The pallet whose tooth is locked or runs at an instant. @param {Oscillation} all @param {number} now */
export function locked(all, now) {
  const { phase } = all.spans[all.span[now]];
  return phase.startsWith("free arc") || phase === "unlocking" || phase === "run" ? touched(all, now) : null;
}
