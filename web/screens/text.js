// @ts-check
// The movement file as text, with what is said about it in its place.
import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { html } from "../html.js";
import { name, redo, reply, saved, setText, text, undo } from "../state.js";
import { faultText } from "./faults.js";
import { beginNew, canWrite, openDemo, pickFile, save, watchFiles } from "./files.js";
import { caretAfter, longest, offsetOf, spansByLine } from "./lines.js";

/** @import { DiagnosticRow } from "../wire" */

/** Rest in typing after which the bench is asked, ms. */
const RESTED_MS = 180;

/** One line of the text under the field, with its spans underlined. @param {{ line: string, spans: { from: number, to: number, severity: string }[] }} props */
function MarkedLine({ line, spans }) {
  const pieces = [];
  let at = 0;
  for (const { from, to, severity } of spans) {
    if (from < at) continue;
    pieces.push(line.slice(at, from), html`<mark class=${severity}>${line.slice(from, to) || " "}</mark>`);
    at = to;
  }
  return html`${pieces}${line.slice(at)}${"\n"}`;
}

/** Begins a new movement. @param {{ done: () => void }} props */
function NewForm({ done }) {
  const teeth = useSignal("15");
  const radius = useSignal("2.25");
  const wrong = useSignal(/** @type {string | null} */ (null));
  const begin = async (/** @type {Event} */ event) => {
    event.preventDefault();
    wrong.value = await beginNew(teeth.value, radius.value);
    if (wrong.value === null) done();
  };
  const field = (/** @type {{ value: string }} */ to, /** @type {string} */ label, /** @type {string} */ unit) => html`<label>${label}
    <input type="text" inputmode="decimal" class="narrow" value=${to} aria-invalid=${wrong.value ? "true" : undefined}
      aria-describedby=${wrong.value ? "new-wrong" : undefined}
      onInput=${(/** @type {any} */ e) => (to.value = e.currentTarget.value)} /> ${unit}</label>`;
  return html`<form class="new-form" aria-label="New movement" onSubmit=${begin}>
    ${field(teeth, "teeth", "")} ${field(radius, "locking radius", "mm")}
    <button type="submit" class="word">Begin</button> <button type="button" class="word" onClick=${done}>Leave it</button>
    ${wrong.value && html`<p class="fault" id="new-wrong" role="status">${wrong.value}.</p>`}
  </form>`;
}

/** @param {{ rows: DiagnosticRow[], jump: (row: DiagnosticRow) => void }} props */
function Said({ rows, jump }) {
  if (!reply.value) return html`<p class="quiet" id="text-said" role="status">Waiting for the bench.</p>`;
  if (rows.length === 0) return html`<p class="quiet" id="text-said" role="status">The file is in order.</p>`;
  const place = (/** @type {DiagnosticRow} */ r) => (r.line === null ? "" : `line ${r.line}: `);
  return html`<div class="diagnostics" id="text-said" role="status"><ol>
    ${rows.map((row) => html`<li class=${row.severity}>
      ${row.line === null
        ? html`<span><span class="severity">${row.severity}</span> ${faultText(row)}</span>`
        : html`<button type="button" onClick=${() => jump(row)}><span class="severity">${row.severity}</span> ${place(row)}${faultText(row)}</button>`}
    </li>`)}
  </ol></div>`;
}

/** The field, with line numbers before it and marks under it. @param {{ rows: DiagnosticRow[], field: any }} props */
function Editor({ rows, field }) {
  const draft = useSignal(/** @type {string | null} */ (null));
  const timer = useRef(0);
  const shown = draft.value ?? text.value;
  const lines = shown.split("\n");
  const spans = spansByLine(rows, lines);

  const flush = () => {
    clearTimeout(timer.current);
    if (draft.value === null) return;
    setText(draft.value, "typed in the text");
    draft.value = null;
  };
  useEffect(() => flush, []);
  const typed = (/** @type {any} */ event) => {
    draft.value = event.currentTarget.value;
    clearTimeout(timer.current);
    timer.current = window.setTimeout(flush, RESTED_MS);
  };
  /** Undo is that of the page: it takes back changes made on the drawing too. @param {KeyboardEvent} event */
  const key = (event) => {
    event.stopPropagation();
    const command = event.ctrlKey || event.metaKey;
    const letter = event.key.toLowerCase();
    if (command && letter === "s") save(event.shiftKey);
    else if (command && (letter === "z" || letter === "y")) {
      flush();
      const old = text.value;
      (letter === "y" || event.shiftKey ? redo : undo)();
      const caret = caretAfter(old, text.value);
      requestAnimationFrame(() => field.current?.setSelectionRange(caret, caret));
    } else return;
    event.preventDefault();
  };
  const faulty = rows.some((r) => r.severity === "error");
  return html`<div class="editor" tabindex="-1">
    <div class="gutter" aria-hidden="true">${lines.map((_, i) => {
      const severity = spans.get(i + 1)?.severity ?? "";
      return html`<div class=${severity}>${severity && "\u25b8"}${i + 1}</div>`;
    })}</div>
    <div class="under">
      <pre aria-hidden="true">${lines.map((line, i) => html`<${MarkedLine} line=${line} spans=${spans.get(i + 1)?.spans ?? []} />`)}</pre>
      <textarea ref=${field} aria-label=${`Movement file ${name.value}`} aria-describedby="text-said" wrap="off" spellcheck=${false}
        autocomplete="off" autocapitalize="off" aria-invalid=${faulty ? "true" : undefined} rows=${lines.length} cols=${longest(lines) + 2}
        value=${shown} onInput=${typed} onBlur=${flush} onKeyDown=${key}></textarea>
    </div>
  </div>`;
}

export function Text() {
  const field = useRef(/** @type {HTMLTextAreaElement | null} */ (null));
  const beginning = useSignal(false);
  useEffect(watchFiles, []);
  const rows = reply.value?.diagnostics ?? [];
  const unsaved = text.value !== saved.value;

  /** @param {DiagnosticRow} row */
  const jump = (row) => {
    if (!field.current || row.line === null) return;
    const from = offsetOf(text.value, row.line, row.column ?? 1);
    const to = offsetOf(text.value, row.line, (row.column ?? 1) + (row.length ?? 1));
    field.current.focus({ preventScroll: true });
    field.current.setSelectionRange(from, to);
    const box = field.current.closest(".editor");
    const height = field.current.clientHeight / text.value.split("\n").length;
    if (box) box.scrollTop = (row.line - 1) * height - box.clientHeight / 2;
  };
  return html`<section class="text-sheet" aria-label="Movement text">
    <header>
      <h2 class="unseen">Text</h2>
      <p class="file"><b>${name.value}</b> <span role="status">${unsaved ? "not saved" : "saved"}</span></p>
      <div class="commands">
        <button type="button" class="word" onClick=${pickFile}>Open</button>
        <button type="button" class="word" aria-keyshortcuts="Control+S" onClick=${() => save()}>Save</button>
        ${canWrite() && html`<button type="button" class="word" onClick=${() => save(true)}>Save as</button>`}
        <button type="button" class="word" aria-expanded=${beginning.value ? "true" : "false"}
          onClick=${() => (beginning.value = !beginning.value)}>New</button>
        <button type="button" class="word" onClick=${openDemo}>Demo</button>
      </div>
      ${beginning.value && html`<${NewForm} done=${() => (beginning.value = false)} />`}
    </header>
    <${Editor} rows=${rows} field=${field} />
    <${Said} rows=${rows} jump=${jump} />
  </section>`;
}
