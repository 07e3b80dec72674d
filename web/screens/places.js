// @ts-check
// Words along the head of the sheet: where to look, what to pin, what else to draw, by which light.

/** @import { Sheet } from "../wire" */
import { html } from "../html.js";
import * as state from "../state.js";
import { showView } from "./hand.js";

/** @param {boolean} on @param {string} word @param {() => void} act @param {string} [label] */
const toggled = (on, word, act, label = word) =>
  html`<button class="word" type="button" aria-pressed=${on} aria-label=${label} onClick=${act}>${word}</button>`;

/** @param {string} name */
function pin(name) {
  const now = state.pins.value;
  state.pins.value = now.includes(name) ? now.filter((n) => n !== name) : [...now, name];
}

/** @param {{ sheet: Sheet }} props */
export function Places({ sheet }) {
  const comparing = state.before.value !== null;
  return html`<div class="places">
    <div role="group" aria-label="Show">
      <span class="of">show</span>
      <button class="word" type="button" aria-label="show whole" onClick=${() => void (state.wantedView.value = null)}>whole</button>
      ${sheet.views.map(
        (v) => html`<button class="word" type="button" aria-label="show ${v.name}" onClick=${() => showView(v.name)}>${v.name}</button>`,
      )}
    </div>
    <div role="group" aria-label="Pin">
      <span class="of">pin</span>
      ${sheet.views.map((v) => toggled(state.pins.value.includes(v.name), v.name, () => pin(v.name), `pin ${v.name}`))}
    </div>
    <div role="group" aria-label="On the drawing">
      ${toggled(state.grips.value, "grips", () => void (state.grips.value = !state.grips.value))}
      ${toggled(comparing, comparing ? "compared with before" : "compare from here", comparing ? state.dropBefore : state.keepBefore)}
    </div>
    <${Light} />
  </div>`;
}

/** By which light the sheet is seen. */
export const Light = () => html`<div role="group" aria-label="Light">
    ${["day", "night", "system"].map((n) =>
      toggled(state.theme.value === n, n === "system" ? "as the system" : n, () => void (state.theme.value = n)),
    )}
  </div>`;
