// @ts-check
// The sheet: the drawing under the hand, insets, grips, names of the views.

/** @import { Sheet, View as Place } from "../wire" */
/** @import { Slot } from "../figures/inset.js" */
/** @import { Hold, Window } from "./hand.js" */
import { signal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { html } from "../html.js";
import { drawing, facts } from "../figures/drawing.js";
import { inset, insetArea, insetView } from "../figures/inset.js";
import { scaleBar } from "../figures/marks.js";
import * as state from "../state.js";
import { Grips } from "./grips.js";
import { moveByKey } from "./keys.js";
import { Places } from "./places.js";
import { Pinch, moving, onPaper, showView, turning, wheelFactor, wholeSheet, zoom } from "./hand.js";

/** How much closer each inset is than its view asks for. */
const magnified = signal(/** @type {ReadonlyMap<string, number>} */ (new Map()));
const MAGNIFIED = { least: 0.25, most: 1000 };

/** Where the insets are pinned: across and down as parts of the sheet. @type {Record<string, [0 | 1, number]>} */
const PINNED_AT = { entry: [0, 0.43], exit: [1, 0.43], guard: [0, 0.14], fork: [1, 0.14] };

/** @param {string} name @returns {Slot} */
function slotOf(name) {
  const { width_px: w, height_px: h } = state.area.value;
  const radius = Math.max(Math.min(0.11 * w, 0.12 * h), 56);
  const [side, down] = PINNED_AT[name] ?? [0, 0.85];
  const y = Math.min(Math.max(down * h, radius + 12), h - radius - 28);
  return { middle: [side === 0 ? radius + 16 : w - radius - 16, y], radius, magnified: magnified.value.get(name) ?? 1 };
}

/** @param {Sheet} sheet */
const pinned = (sheet) => sheet.views.filter((v) => state.pins.value.includes(v.name));

/** The view under a pointer: an inset's or the sheet's. @param {Event} event @returns {{ window: Window, place: Place | null }} */
function under(event) {
  const name = /** @type {Element} */ (event.target).closest("[data-inset]")?.getAttribute("data-inset");
  const place = state.live.value?.views.find((v) => v.name === name);
  if (!place) return { window: wholeSheet(), place: null };
  const slot = slotOf(place.name);
  const corner = /** @type {[number, number]} */ (slot.middle.map((m) => m - slot.radius));
  return { window: { view: insetView(place, slot), area: insetArea(slot), corner }, place };
}

/** What the pointer does on the sheet. @param {{ current: SVGSVGElement | null }} ref */
function useHand(ref) {
  useEffect(() => {
    const paper = ref.current;
    if (!paper) return;
    const pinch = new Pinch();
    /** @type {Hold | null} */
    let hold = null;
    const down = (/** @type {PointerEvent} */ event) => {
      if (event.button !== 0) return;
      pinch.down(event, paper);
      const { window, place } = under(event);
      const rides = /** @type {any} */ (event.target).dataset.rides;
      hold = pinch.active ? null : rides ? turning(rides, event, paper, window) : place ? null : moving(event, paper);
      paper.setPointerCapture(event.pointerId);
      paper.classList.toggle("turning", Boolean(rides));
    };
    const move = (/** @type {PointerEvent} */ event) => {
      if (pinch.active) pinch.move(event, paper);
      else hold?.move(event);
    };
    const up = (/** @type {PointerEvent} */ event) => {
      pinch.up(event);
      hold = null;
      paper.classList.remove("turning");
    };
    const wheel = (/** @type {WheelEvent} */ event) => {
      event.preventDefault();
      const { place } = under(event);
      if (!place) return zoom(wheelFactor(event), onPaper(event, paper));
      const by = (magnified.value.get(place.name) ?? 1) * wheelFactor(event);
      const held = Math.min(Math.max(by, MAGNIFIED.least), MAGNIFIED.most);
      magnified.value = new Map([...magnified.value, [place.name, held]]);
    };
    const twice = (/** @type {MouseEvent} */ event) => {
      const { place } = under(event);
      if (place) showView(place.name);
      else zoom(4, onPaper(event, paper));
    };
    /** @type {[string, any][]} */
    const all = [["pointerdown", down], ["pointermove", move], ["pointerup", up], ["pointercancel", up], ["dblclick", twice]];
    for (const [name, act] of all) paper.addEventListener(name, act);
    paper.addEventListener("wheel", wheel, { passive: false });
    const watch = new ResizeObserver(() => {
      const { width, height } = paper.getBoundingClientRect();
      if (width > 0 && height > 0) state.area.value = { width_px: width, height_px: height };
    });
    watch.observe(paper);
    const print = () => printed(true);
    const shown = () => printed(false);
    addEventListener("beforeprint", print);
    addEventListener("afterprint", shown);
    return () => {
      for (const [name, act] of all) paper.removeEventListener(name, act);
      paper.removeEventListener("wheel", wheel);
      watch.disconnect();
      removeEventListener("beforeprint", print);
      removeEventListener("afterprint", shown);
    };
  }, []);
}

/** Paper of 297 by 210 mm with a border of 10 mm, in px of a 96th of an inch: printed, the scale named is the scale. */
const PRINTED = { width_px: (277 / 25.4) * 96, height_px: (190 / 25.4) * 96 };
/** @type {typeof PRINTED | null} */
let onScreen = null;

/** Draws for the printed sheet, or for the screen again. @param {boolean} now */
function printed(now) {
  if (now) onScreen = state.area.value;
  const { px_per_mm, ...middle } = state.view.value;
  const before = state.area.value;
  const after = now ? PRINTED : (onScreen ?? before);
  const by = Math.min(after.width_px / before.width_px, after.height_px / before.height_px);
  if (state.wantedView.value) state.wantedView.value = { ...middle, px_per_mm: px_per_mm * by };
  state.area.value = after;
}

/** The sheet. */
export function Paper() {
  const ref = useRef(/** @type {SVGSVGElement | null} */ (null));
  useHand(ref);
  const sheet = state.live.value;
  return html`<section class="paper" aria-label="Sheet">
    ${sheet ? html`<${Places} sheet=${sheet} />` : null}
    <div
      class="ground"
      role="group"
      tabindex="0"
      aria-label="Drawing: arrow keys move the paper, plus and minus come closer, Escape shows all"
      onKeyDown=${moveByKey}
    >
      <svg
        class="drawing"
        ref=${ref}
        role="img"
        viewBox="0 0 ${state.area.value.width_px} ${state.area.value.height_px}"
        aria-label=${sheet ? facts(sheet, state.instant.value) : "No drawing yet"}
      >
        ${sheet ? drawn(sheet) : null}
      </svg>
      ${sheet ? html`<${Grips} sheet=${sheet} />` : null}
    </div>
  </section>`;
}

/** @param {Sheet} sheet */
function drawn(sheet) {
  const options = {
    id: "sheet",
    instant: state.instant.value,
    turned: state.turned.value,
    view: state.view.value,
    area: state.area.value,
    before: state.before.value,
    definitions: state.tables.value?.figures ?? [],
    words: true,
  };
  return html`${drawing(sheet, options)} ${pinned(sheet).map((place) => inset(sheet, place, slotOf(place.name), options))}
  ${scaleBar(options.view, options.area, Boolean(sheet.oscillation?.contact[options.instant]))}`;
}
