// @ts-check
// Keys that hold on the whole page, and those that turn the escapement.

import { goTo, live, redo, saveFile, step, toPhase, undo, wantedView } from "../state.js";
import { countOf } from "../moment.js";
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
    default:
      return false;
  }
  event.preventDefault();
  return true;
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
