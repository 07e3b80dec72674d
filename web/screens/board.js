// @ts-check
import { html } from "../html.js";
import { sheet } from "../state.js";
import { Notes } from "./notes.js";
import { Statement } from "./statement.js";
import { Sweep } from "./sweep.js";
import { Text } from "./text.js";

/** The whole page. */
export function Board() {
  return html`<main class="board">
    <aside class="statement"><${Statement} /><${Text} /></aside>
    <section class="paper">${sheet.value?.name}</section>
    <aside class="notes"><${Notes} /><${Sweep} /></aside>
  </main>`;
}
