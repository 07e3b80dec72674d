// @ts-check
// Right margin: what was found, what it does in time, the contact curves, the figures.
import { html } from "../html.js";
import { sheet } from "../state.js";
import { ContactCurves } from "./contact.js";
import { Figures, SelectedFigure } from "./figures.js";
import { Findings } from "./findings.js";
import { MotionFigures } from "./running.js";

export function Notes() {
  if (!sheet.value) return html`<p class="quiet">Nothing has been worked out yet.</p>`;
  return html`<section class="notes-list" aria-label="Notes">
    <div class="read">
      <h2>Findings</h2>
      <${Findings} />
      <h2>Motion</h2>
      <${MotionFigures} />
      <h2>Contact</h2>
      <${ContactCurves} />
      <h2>Figures</h2>
      <${Figures} />
    </div>
    <${SelectedFigure} />
  </section>`;
}
