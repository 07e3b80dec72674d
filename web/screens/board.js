// @ts-check
// The whole page: margins, sheet with its title block, ribbon.

import { signal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { html } from "../html.js";
import { ribbon } from "../figures/ribbon.js";
import { inMotion } from "../motion.js";
import { playing, togglePlay } from "../play.js";
import { goTo, instant, pins, readInstant, set, sheet } from "../state.js";
import { onKey, turnByKey } from "./keys.js";
import { Notes } from "./notes.js";
import { Paper } from "./paper.js";
import { Foot } from "./playback.js";
import { Statement } from "./statement.js";
import { Sweep } from "./sweep.js";
import { Text } from "./text.js";
import { Title, openDropped } from "./title.js";
import { inColumn, useWidth } from "./width.js";

/** What stands beside the bands of the ribbon, px: its edges, the pallet's name, the last angle. */
const BESIDE_PX = 120;
const BESIDE_UPRIGHT_PX = 56;
/** Widths of the window from which on both margins, or one, are open at first. */
const BOTH_PX = 1200;
const ONE_PX = 900;
/** Below this all stands in one column, and nothing is pinned at first. */
const COLUMN_PX = 700;

const MARGINS = {
  left: [["statement", Statement], ["text", Text]],
  right: [["notes", Notes], ["sweep", Sweep]],
};

/** What lies open at each side. */
const open = {
  left: signal(/** @type {string | null} */ (innerWidth >= ONE_PX || innerWidth < COLUMN_PX ? "statement" : null)),
  right: signal(/** @type {string | null} */ (innerWidth >= BOTH_PX || innerWidth < COLUMN_PX ? "notes" : null)),
};

/** @param {{ side: "left" | "right" }} props */
function Margin({ side }) {
  const now = open[side].value;
  const shown = MARGINS[side].find(([name]) => name === now);
  return html`<aside class="margin ${side} ${now ? "" : "folded"}" aria-label=${side === "left" ? "Statement" : "Notes"}>
    <div class="tabs words" role="group" aria-label="Open at the ${side}">
      ${MARGINS[side].map(
        ([name]) => html`<button
          class="word"
          type="button"
          aria-pressed=${name === now}
          onClick=${() => void (open[side].value = name === now ? null : /** @type {string} */ (name))}
          >${name}</button
        >`,
      )}
    </div>
    ${shown ? html`<div class="content"><${shown[1]} /></div>` : null}
  </aside>`;
}

/** The instant under a pointer on the ribbon. @param {PointerEvent} event */
function onRibbon(event) {
  if (event.buttons !== 1) return;
  const strip = /** @type {HTMLElement} */ (event.currentTarget);
  if (event.type === "pointerdown") strip.setPointerCapture(event.pointerId);
  const rows = [...strip.querySelectorAll(".bands")].map((row) => ({ row, box: row.getBoundingClientRect() }));
  const off = (/** @type {DOMRect} */ b) => Math.abs(event.clientY - (b.top + b.bottom) / 2);
  const { row, box } = rows.reduce((a, b) => (off(b.box) < off(a.box) ? b : a));
  const { first, end } = /** @type {HTMLElement} */ (row).dataset;
  const along = Math.min(Math.max((event.clientX - box.left) / box.width, 0), 1);
  goTo(Math.round(Number(first) + along * (Number(end) - 1 - Number(first))));
}

/** Past the statement, for whoever goes by keyboard: the first stop, seen while it has the focus. */
const toRibbon = () => /** @type {HTMLElement | null} */ (document.querySelector(".ribbon"))?.focus();

/** The whole page. */
export function Board() {
  useEffect(() => {
    if (innerWidth >= ONE_PX) pins.value = ["entry", "exit"];
    const over = (/** @type {DragEvent} */ e) => e.preventDefault();
    const drop = (/** @type {DragEvent} */ e) => {
      e.preventDefault();
      void openDropped(e.dataTransfer?.files[0]);
    };
    addEventListener("keydown", onKey);
    addEventListener("dragover", over);
    addEventListener("drop", drop);
    return () => {
      removeEventListener("keydown", onKey);
      removeEventListener("dragover", over);
      removeEventListener("drop", drop);
    };
  }, []);
  return html`<main class="board">
    <button class="word skip" onClick=${toRibbon}>to the moment of the oscillation</button>
    <${Margin} side="left" />
    <div class="middle"><${Paper} /><${Title} /></div>
    <${Ribbon} />
    <${Margin} side="right" />
    <${Foot} />
  </main>`;
}

/** While something is held the ribbon follows with the lists: its numbers are not read faster. */
function Ribbon() {
  const [box, width] = useWidth(innerWidth);
  const at = set.value.length > 0 ? readInstant.value : instant.value;
  const upright = inColumn.value;
  return html`<div class="strip-box" ref=${box}>${sheet.value
    ? ribbon(sheet.value, {
      instant: at, playing: playing.value, away: inMotion.value, width_px: width - (upright ? BESIDE_UPRIGHT_PX : BESIDE_PX), upright,
      onPointer: onRibbon, onKey: turnByKey, onPlay: togglePlay,
    })
    : html`<div class="ribbon"></div>`}</div>`;
}
