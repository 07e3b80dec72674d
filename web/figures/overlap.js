// @ts-check
// Where two parts that should keep clear of one another lie over one another, shaded in red pencil at the moment drawn.

/** @import { Sheet } from "../wire" */
import { html } from "../html.js";

/** Parts that lie in one plane. @type {[string, string[]][]} */
const KEEP_CLEAR = [
  ["safety roller", ["guard"]],
  ["lever", ["impulse jewel", "entry banking", "exit banking"]],
  ["escape wheel", ["entry stone", "exit stone"]],
  ["entry banking", ["entry stone", "exit stone"]],
  ["exit banking", ["entry stone", "exit stone"]],
];

/**
 * Overlaps, by the outlines as they are drawn. A movement that is sound has none.
 * @param {Sheet} sheet @param {(part: string) => string} textOf path text of a part @param {string} id of the view
 */
export function overlaps(sheet, textOf, id) {
  if (sheet.verdict !== "findings") return null;
  return html`<g class="overlaps">
    <pattern id=${`${id}-red`} class="hatch" width="3" height="3" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)"><path d="M0 0V3" /></pattern>
    ${KEEP_CLEAR.flatMap(([one, others]) => others.map((other) => {
      const [a, b] = [textOf(one), textOf(other)];
      if (a === "" || b === "") return null;
      const clip = `${id}-${one}-in-${other}`.replaceAll(" ", "-");
      return html`<g key=${clip}><clipPath id=${clip}><path d=${b} clip-rule="evenodd" /></clipPath>
        <path class="overlap" d=${a} fill-rule="evenodd" clip-path="url(#${clip})" style=${{ fill: `url(#${id}-red)` }} /></g>`;
    }))}
  </g>`;
}
