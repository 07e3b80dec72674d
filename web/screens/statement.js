// @ts-check
// Left margin: the statement as a parts list.
import { useSignal } from "@preact/signals";
import { html } from "../html.js";
import { reply, select, selected, setValue, sheet, tables } from "../state.js";
import { ParameterDetail, rowOf } from "./detail.js";
import { aboutOf, OWN_AT_MOST, shortText } from "./faults.js";
import { found, fullName, headingOf, PARTS, tablePath, textsOf, toothOf } from "./names.js";
import { Row } from "./row.js";
import { ToothForm } from "./tooth.js";

/** @import { DiagnosticRow, ParameterRow, Sheet, Tables } from "../wire" */
/** @typedef {{ row: ParameterRow, path: string, heading: string }} Line */

/** Every line there can be: the table, and of each tooth what is stated of it. @param {Tables} all @param {Sheet | null} now */
function linesOf(all, now) {
  /** @type {Line[]} */
  const lines = [];
  const teeth = now?.values.filter((v) => toothOf(v.path) !== null) ?? [];
  const add = (/** @type {ParameterRow} */ row, /** @type {string} */ path) => lines.push({ row, path, heading: headingOf(row, path) });
  for (const row of all.parameters) {
    if (toothOf(row.path) === null) add(row, row.path);
    else for (const v of teeth) if (tablePath(v.path) === row.path) add(row, v.path);
  }
  return lines;
}

/** Errors by the path they are about. @param {DiagnosticRow[]} diagnostics */
function errorsByPath(diagnostics) {
  /** @type {Map<string, DiagnosticRow[]>} */
  const out = new Map();
  for (const d of diagnostics) {
    if (d.severity !== "error") continue;
    for (const path of d.about) out.set(path, [...(out.get(path) ?? []), d]);
  }
  return out;
}

/** An error about many parameters, said once, with the way to each of them. @param {{ said: DiagnosticRow }} props */
function Clash({ said }) {
  return html`<div class="clash fault" role="status">
    <p>${said.code === "over-determined" ? "These do not go together as stated:" : `${shortText(said)}.`}</p>
    <ul>${aboutOf(said).map((path) => html`<li><button type="button" class="word"
      aria-pressed=${selected.value === path ? "true" : "false"} onClick=${() => select(path)}>${fullName(path)}</button></li>`)}</ul>
  </div>`;
}

/** The same lists as long as the answer is the same, so that lines which did not change are left alone. @type {WeakMap<DiagnosticRow[], Map<string, DiagnosticRow[]>>} */
const sorted = new WeakMap();

/** @param {DiagnosticRow[] | undefined} diagnostics */
function errorsOf(diagnostics) {
  if (!diagnostics) return new Map();
  const known = sorted.get(diagnostics) ?? errorsByPath(diagnostics);
  sorted.set(diagnostics, known);
  return known;
}

export function Statement() {
  const search = useSignal("");
  const everything = useSignal(false);
  const opened = useSignal(/** @type {string[]} */ ([]));
  const all = tables.value;
  const now = sheet.value;
  if (!all) return html`<p class="quiet">Waiting for the bench.</p>`;

  const lines = linesOf(all, now);
  const values = new Map(now?.values.map((v) => [v.path, v]));
  const steps = new Map(now?.handles.map((h) => [h.path, h.step]));
  const errors = errorsOf(reply.value?.diagnostics);
  const clashes = (reply.value?.diagnostics ?? []).filter((d) => d.severity === "error" && d.about.length > OWN_AT_MOST && !d.about.includes(selected.value ?? ""));
  const here = selected.value;
  const sought = search.value.trim();
  const shown = (/** @type {Line} */ { row, path, heading }) => {
    if (sought !== "") return found(sought, textsOf(row, path));
    return everything.value || path === here || errors.has(path) || values.get(path)?.origin === "stated" ||
      opened.value.includes(heading);
  };
  const visible = lines.filter(shown);

  /** @param {Line} line */
  const rowFor = ({ row, path }) => html`<${Row} key=${path} row=${row} path=${path} sheet=${now}
    value=${values.get(path)?.value ?? null} origin=${values.get(path)?.origin ?? "none"} step=${steps.get(path) ?? null}
    selected=${path === here} said=${errors.get(path) ?? null} />`;

  /** @param {typeof PARTS[number]} part */
  const group = ({ key, heading }) => {
    const own = visible.filter((l) => l.heading === key);
    const hidden = sought === "" ? lines.filter((l) => l.heading === key).length - own.length : 0;
    const open = opened.value.includes(key);
    const toggle = () => (opened.value = open ? opened.value.filter((k) => k !== key) : [...opened.value, key]);
    if (own.length + hidden === 0) return null;
    return html`<section key=${key} aria-label=${heading}>
      <h3>${heading}
        ${!everything.value && sought === "" && (hidden > 0 || open) &&
        html`<button type="button" class="word more" aria-expanded=${open ? "true" : "false"}
          aria-label=${open ? `${heading}: stated only` : `${heading}: ${hidden} more`} onClick=${toggle}>
          ${open ? "stated only" : `${hidden} more`}</button>`}
      </h3>
      ${own.length > 0 && html`<ul>${own.map(rowFor)}</ul>`}
      ${key === "wheel" && sought === "" && (everything.value || open) && html`<${ToothForm} rows=${all.parameters} />`}
    </section>`;
  };

  const row = here === null ? undefined : rowOf(all.parameters, here);
  const takeAway = () => here !== null && setValue(here, null);
  const switched = (/** @type {boolean} */ to, /** @type {string} */ word) => html`<button type="button" class="word"
    aria-pressed=${everything.value === to ? "true" : "false"} onClick=${() => (everything.value = to)}>${word}</button>`;
  return html`<section class="parts-list" aria-label="Statement">
    <header>
      <h2 class="unseen">Statement</h2>
      <input type="search" aria-label="Search the parameters" placeholder="search" value=${search}
        onInput=${(/** @type {any} */ e) => (search.value = e.currentTarget.value)} />
      <span class="switches" role="group" aria-label="Parameters shown">${switched(false, "stated")}${switched(true, "all")}</span>
      <p class="unseen" aria-live="polite">${sought !== "" && `${visible.length} of ${lines.length} parameters`}</p>
    </header>
    <div class="parts">
      ${reply.value && !reply.value.sheet && html`<p class="stale">The text has errors; these values are of the last drawing.</p>`}
      ${clashes.map((d) => html`<${Clash} said=${d} />`)}
      ${PARTS.map(group)}
      ${visible.length === 0 && sought !== "" && html`<p class="quiet">No parameter has “${sought}” in its name, symbol or definition.</p>`}
    </div>
    <${ParameterDetail} row=${row} path=${here} value=${here === null ? undefined : values.get(here)} takeAway=${takeAway} />
  </section>`;
}
