// @ts-check
// Keys that hold on the whole page, and those that turn the escapement.

import { goTo, live, redo, saveFile, step, toPhase, undo, view, wantedView } from "../state.js";
import { countOf } from "../moment.js";
import { togglePlay } from "../play.js";
import { zoom } from "./hand.js";

/** Turns by key; true where the key was one of these. @param {KeyboardEvent} event */
export function turnByKey(event) {
  const by = event.shiftKey ? 10 : 1;
  switch (event.key) {
    case "ArrowRight":
    case "ArrowUp":
      step(by);
      break;
    case "ArrowLeft":
    case "ArrowDown":
      step(-by);
      break;
    case "PageDown":
      toPhase(1);
      break;
    case "PageUp":
      toPhase(-1);
      break;
    case "Home":
      goTo(0);
      break;
    case "End":
      goTo(countOf(live.value) - 1);
      break;
    case " ":
      togglePlay();
      break;
    default:
      return false;
  }
  event.preventDefault();
  return true;
}

/** A press moves the paper so far. */
const PAPER_PX = 40;

/** Moves the paper by key. @param {KeyboardEvent} event */
export function moveByKey(event) {
  const ways = /** @type {Record<string, [number, number]>} */ ({
    ArrowRight: [1, 0],
    ArrowLeft: [-1, 0],
    ArrowUp: [0, 1],
    ArrowDown: [0, -1],
  });
  const way = ways[event.key];
  if (!way || event.target !== event.currentTarget) return;
  const { x_mm, y_mm, px_per_mm } = view.value;
  const far_mm = (PAPER_PX * (event.shiftKey ? 5 : 1)) / px_per_mm;
  wantedView.value = { x_mm: x_mm + way[0] * far_mm, y_mm: y_mm + way[1] * far_mm, px_per_mm };
  event.preventDefault();
}

/** Whether keys belong to what has the focus. @param {EventTarget | null} target */
const takesKeys = (target) =>
  target instanceof Element && target.closest("input, textarea, select, [contenteditable], [role=slider], summary, [role=listbox]") !== null;

/** @param {KeyboardEvent} event */
export function onKey(event) {
  const writing = event.target instanceof Element && event.target.closest("textarea, input") !== null;
  const key = event.key.toLowerCase();
  if (event.ctrlKey || event.metaKey) {
    // Text that is being written has an undo of its own until it is handed over.
    if (key === "s") saveFile();
    else if (key === "z" && !writing) event.shiftKey ? redo() : undo();
    else if (key === "y" && !writing) redo();
    else return;
    event.preventDefault();
    return;
  }
  if (event.altKey || event.defaultPrevented || takesKeys(event.target)) {
    if (event.key === "Escape" && !writing && !event.defaultPrevented) wantedView.value = null;
    return;
  }
  if (event.key === "Escape") wantedView.value = null;
  else if (event.key === "+" || event.key === "=") zoom(1.25);
  else if (event.key === "-") zoom(0.8);
  else if (event.target === document.body) turnByKey(event);
}
