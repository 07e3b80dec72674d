// @ts-check
// What is wrong with something that was written: message, value found, allowed range, what to do.
import { html } from "../html.js";

/** @import { DiagnosticRow } from "../wire" */

/** An error about more parameters than this is said once, and not with each of them: lock of entry and exit are two. */
export const OWN_AT_MOST = 2;

/** One fault in words. @param {DiagnosticRow} row */
export function faultText({ message, value, allowed, hint }) {
  const plain = message.replaceAll("`", "");
  const found = value === null ? "" : `: ${value}`;
  const range = allowed === null ? "" : `; allowed ${allowed}`;
  const todo = hint === null ? "" : `. ${hint[0].toUpperCase()}${hint.slice(1).replaceAll("`", "")}`;
  return `${plain}${found}${range}${todo}`.replace(/[.?]$/, "");
}

/** @param {{ rows: DiagnosticRow[] }} props */
export const Faults = ({ rows }) =>
  html`<div role="status"><ul class="faults">${rows.map((row) => html`<li class=${row.severity}>${faultText(row)}.</li>`)}</ul></div>`;
