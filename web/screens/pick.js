// @ts-check
// A field in which a parameter or figure is chosen by name: type to search, take one of the list.
import { useSignal } from "@preact/signals";
import { html } from "../html.js";
import { found } from "./names.js";

/** @typedef {{ path: string, name: string, definition: string }} Choice */

/** The choice that a text means: by name or path, or the only one that it finds. @param {Choice[]} choices @param {string} written */
export function meantBy(choices, written) {
  const text = written.trim().toLowerCase();
  if (text === "") return null;
  const exact = choices.find((c) => c.name.toLowerCase() === text || c.path === text);
  if (exact) return exact;
  const all = choices.filter((c) => found(text, [c.name, c.path]));
  return all.length === 1 ? all[0] : null;
}

/**
 * @param {object} props
 * @param {string} props.id
 * @param {string} props.label
 * @param {Choice[]} props.choices
 * @param {string} props.value name shown
 * @param {(path: string) => void} props.take
 * @param {boolean} [props.empties] whether the field is empty again after a choice
 */
export function Pick({ id, label, choices, value, take, empties = false }) {
  const draft = useSignal(/** @type {string | null} */ (null));
  const wrong = useSignal(/** @type {string | null} */ (null));
  const settle = () => {
    const written = draft.value;
    if (written === null) return;
    const choice = meantBy(choices, written);
    wrong.value = null;
    if (choice) {
      draft.value = null;
      take(choice.path);
    } else if (written.trim() === "") {
      draft.value = null;
    } else {
      const named = choices.filter((c) => found(written, [c.name, c.path]));
      const near = named.length > 0 ? named : choices.filter((c) => found(written, [c.definition]));
      wrong.value = near.length === 0 ? `nothing is named “${written}”` : `“${written}” can mean ${near.slice(0, 6).map((c) => c.name).join("; ")}${near.length > 6 ? `; and ${near.length - 6} more` : ""}`;
    }
  };
  const typed = (/** @type {any} */ event) => {
    draft.value = event.currentTarget.value;
    wrong.value = null;
    // One taken from the list is there in full at once.
    const whole = choices.find((c) => c.name === draft.value);
    if (whole && event.inputType !== "insertText" && event.inputType !== "deleteContentBackward") settle();
  };
  return html`<div class="pick">
    <label for=${id}>${label}</label>
    <input id=${id} list=${`${id}-list`} type="text" autocomplete="off" spellcheck=${false} value=${draft.value ?? (empties ? "" : value)}
      placeholder="search" aria-invalid=${wrong.value ? "true" : undefined} aria-describedby=${wrong.value ? `${id}-wrong` : undefined}
      onInput=${typed} onBlur=${settle} onFocus=${(/** @type {any} */ e) => e.currentTarget.select()}
      onKeyDown=${(/** @type {KeyboardEvent} */ e) => {
        e.stopPropagation();
        if (e.key !== "Enter") return;
        e.preventDefault();
        settle();
      }} />
    <datalist id=${`${id}-list`}>${choices.map((c) => html`<option value=${c.name}></option>`)}</datalist>
    ${wrong.value && html`<p class="fault" id=${`${id}-wrong`} role="status">${wrong.value}.</p>`}
  </div>`;
}
