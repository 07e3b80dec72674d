// @ts-check
// Stating something of a single tooth.
import { useSignal } from "@preact/signals";
import { html } from "../html.js";
import { setValue } from "../state.js";
import { sign, wordsOf } from "../units.js";
import { Faults } from "./faults.js";
import { toothOf } from "./names.js";

/** @import { DiagnosticRow, ParameterRow } from "../wire" */

/** @param {{ rows: ParameterRow[] }} props */
export function ToothForm({ rows }) {
  const kinds = rows.filter((r) => toothOf(r.path) === "*");
  const tooth = useSignal("0");
  const kind = useSignal(kinds[0]?.path ?? "");
  const value = useSignal("");
  const faults = useSignal(/** @type {DiagnosticRow[]} */ ([]));
  const unit = kinds.find((k) => k.path === kind.value)?.unit ?? "";
  const state = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (value.value.trim() === "") return;
    faults.value = await setValue(kind.value.replace("*", tooth.value.trim()), value.value.trim().replaceAll("\u2212", "-"));
    if (faults.value.length === 0) value.value = "";
  };
  const typed = (/** @type {{ value: string }} */ to) => (/** @type {any} */ e) => (to.value = e.currentTarget.value);
  return html`<form class="tooth-form" aria-label="Of one tooth" onSubmit=${state}>
    <label>tooth <input type="text" inputmode="numeric" class="narrow" value=${tooth} onInput=${typed(tooth)} /></label>
    <select aria-label="What of it" value=${kind} onChange=${typed(kind)}>
      ${kinds.map((k) => html`<option value=${k.path}>${wordsOf(k.path)}</option>`)}
    </select>
    <label>by <input type="text" inputmode="decimal" class="narrow" value=${value} onInput=${typed(value)} /> ${sign(unit)}</label>
    <button type="submit" class="word">State it</button>
    ${faults.value.length > 0 && html`<${Faults} rows=${faults.value} />`}
  </form>`;
}
