// @ts-check
// The sheet: the drawing under the hand, insets, grips, names of the views.

/** @import { Sheet, View as Place } from "../wire" */
/** @import { Size } from "../geometry.js" */
/** @import { Slot } from "../figures/slots.js" */
/** @import { Hold, Window } from "./hand.js" */
import { effect, signal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { html } from "../html.js";
import { drawing, facts, momentText } from "../figures/drawing.js";
import { asLarge, inset, insetArea, insetView, leader } from "../figures/inset.js";
import { whereabouts } from "../figures/lost.js";
import { aboveBar, barRoom, scaleBar } from "../figures/marks.js";
import { aboveForces, forceBar, forceWords } from "../figures/pressing.js";
import { CLOSE_RATIO, roomOf, slotsOf, smaller } from "../figures/slots.js";
import { fitted, onScreen, posed, posesAt } from "../geometry.js";
import { SPEEDS, goes, speed, standing } from "../motion.js";
import * as state from "../state.js";
import { Grips } from "./grips.js";
import { moveByKey } from "./keys.js";
import { Places } from "./places.js";
import { Pinch, moving, onPaper, showView, turning, wheelFactor, wholeSheet, zoom } from "./hand.js";

/** How much closer each inset is than its view asks for. */
const magnified = signal(/** @type {ReadonlyMap<string, number>} */ (new Map()));
const MAGNIFIED = { least: 0.25, most: 1000 };
/** Where words stood in the frame before. */
const kept = new Map();
/** Half the room of a grip. */
const GRIP_PX = 12;

/** @param {Sheet} sheet */
const pinned = (sheet) => sheet.views.filter((v) => state.pins.value.includes(v.name));

/** What lies in the lower right corner. @returns {import("../figures/paths.js").Box[]} */
function corner() {
  const { width_px, height_px, corner: size } = state.area.value;
  return size ? [{ left: width_px - size.width_px, right: width_px, top: height_px - size.height_px, low: height_px }] : [];
}

/** @type {{ of: unknown[], slots: Map<string, Slot> }} */
let laid = { of: [], slots: new Map() };

/** The slots of the insets; they stay where they are while something is held. @param {Sheet} sheet */
function slots(sheet) {
  const area = state.area.value;
  const { px_per_mm } = fitted(sheet, area);
  const of = [area, state.pins.value, sheet.name, Math.round(px_per_mm * sheet.locking_radius_mm)];
  const same = of.every((v, i) => v === laid.of[i]) || (state.set.value.length > 0 && area === laid.of[0]);
  if (!same) {
    const bar = barRoom({ x_mm: 0, y_mm: 0, px_per_mm }, area, aboveBar(area, true));
    laid = { of, slots: slotsOf(sheet, area, pinned(sheet), [...corner(), bar]) };
  }
  const close = state.view.value.px_per_mm > CLOSE_RATIO * px_per_mm;
  return close ? new Map([...laid.slots].map(([name, slot]) => [name, smaller(slot, area)])) : laid.slots;
}

/** The insets: place, slot and view of each. @param {Sheet} sheet */
function insets(sheet) {
  const where = slots(sheet);
  return pinned(sheet).flatMap((place) => {
    const slot = where.get(place.name);
    return slot ? [{ place, slot, view: insetView(place, slot, magnified.value.get(place.name) ?? 1) }] : [];
  });
}

/** The view under a pointer: an inset's or the sheet's. @param {Event} event @returns {{ window: Window, place: Place | null }} */
function under(event) {
  const name = /** @type {Element} */ (event.target).closest("[data-inset]")?.getAttribute("data-inset");
  const found = state.live.value ? insets(state.live.value).find(({ place }) => place.name === name) : undefined;
  if (!found) return { window: wholeSheet(), place: null };
  const { place, slot, view } = found;
  const corner = /** @type {[number, number]} */ (slot.middle.map((m) => m - slot.radius));
  return { window: { view, area: insetArea(slot), corner }, place };
}

/** What the pointer does on the sheet. @param {{ current: SVGSVGElement | null }} ref */
function useHand(ref) {
  useEffect(() => {
    const paper = ref.current;
    if (!paper) return;
    const pinch = new Pinch();
    /** @type {Hold | null} */
    let hold = null;
    /** The view when the pointer came down. */
    let began = state.wantedView.value;
    const down = (/** @type {PointerEvent} */ event) => {
      if (event.button !== 0) return;
      pinch.down(event, paper);
      began = state.wantedView.value;
      const { window, place } = under(event);
      const rides = /** @type {any} */ (event.target).dataset.rides;
      hold = pinch.active ? null : rides ? turning(rides, event, paper, window) : place ? null : moving(event, paper);
      paper.setPointerCapture(event.pointerId);
      paper.classList.toggle("turning", Boolean(rides));
      paper.classList.toggle("moving", hold !== null && !rides);
    };
    const move = (/** @type {PointerEvent} */ event) => {
      if (pinch.active) pinch.move(event, paper);
      else hold?.move(event);
    };
    const up = (/** @type {PointerEvent} */ event) => {
      pinch.up(event);
      // The browser takes a swipe for itself: the paper was not meant.
      if (event.type === "pointercancel" && hold && paper.classList.contains("moving")) state.wantedView.value = began;
      hold = null;
      paper.classList.remove("turning", "moving");
    };
    // What a press would take hold of is marked beforehand, with all that turns with it.
    const over = (/** @type {PointerEvent} */ event) => {
      if (event.buttons === 0) paper.dataset.over = /** @type {any} */ (event.target).dataset.rides ?? "";
    };
    const away = () => void (paper.dataset.over = "");
    // Of the whole sheet an upward or downward swipe beside the parts scrolls the page; else the finger is the hand.
    const touch = (/** @type {TouchEvent} */ event) => {
      const beside = event.touches.length === 1 && !(/** @type {any} */ (event.target).dataset.rides);
      if (!beside || state.wantedView.value) event.preventDefault();
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
    const all = [["pointerdown", down], ["pointermove", move], ["pointerup", up], ["pointercancel", up], ["dblclick", twice],
      ["pointerover", over], ["pointerleave", away]];
    for (const [name, act] of all) paper.addEventListener(name, act);
    paper.addEventListener("wheel", wheel, { passive: false });
    paper.addEventListener("touchstart", touch, { passive: false });
    const title = document.querySelector(".title-block");
    // While a part is held the drawing does not give way to a title block that grows or shrinks.
    const watch = new ResizeObserver(() => state.set.peek().length === 0 && measure(paper, title));
    watch.observe(paper);
    if (title) watch.observe(title);
    const forget = effect(() => void (state.set.value.length === 0 && requestAnimationFrame(() => measure(paper, title))));
    const print = () => printed(true);
    const shown = () => printed(false);
    addEventListener("beforeprint", print);
    addEventListener("afterprint", shown);
    return () => {
      for (const [name, act] of all) paper.removeEventListener(name, act);
      paper.removeEventListener("wheel", wheel);
      paper.removeEventListener("touchstart", touch);
      watch.disconnect();
      forget();
      removeEventListener("beforeprint", print);
      removeEventListener("afterprint", shown);
    };
  }, []);
}

/** The title block grows and shrinks by lines of text; the drawing gives way by so much at a time. */
const GIVES_WAY_PX = 48;

/** Notes the size of the paper, and of the title block where that lies over it. @param {Element} paper @param {Element | null} title */
function measure(paper, title) {
  const { width, height, right, bottom } = paper.getBoundingClientRect();
  if (width === 0 || height === 0) return;
  const over = title?.getBoundingClientRect();
  /** @type {Size | null} */
  const size = over && over.left < right && over.top < bottom && over.right > right - width && over.bottom > bottom - 1
    ? { width_px: over.width, height_px: Math.ceil(over.height / GIVES_WAY_PX) * GIVES_WAY_PX }
    : null;
  const { width_px, height_px, corner: was } = state.area.value;
  if (width === width_px && height === height_px && was?.height_px === size?.height_px && was?.width_px === size?.width_px) return;
  state.area.value = { width_px: width, height_px: height, corner: size };
}

/** Paper of 297 by 210 mm with a border of 10 mm, in px of a 96th of an inch: printed, the scale named is the scale. */
const PRINTED = { width_px: (277 / 25.4) * 96, height_px: (190 / 25.4) * 96 };
/** The area on the screen, while the sheet is drawn for paper. @type {import("../geometry.js").Area | null} */
let screen = null;

/** Draws for the printed sheet, or for the screen again. @param {boolean} now */
function printed(now) {
  if (now) screen = state.area.value;
  const { px_per_mm, ...middle } = state.view.value;
  const before = state.area.value;
  const after = now ? { ...PRINTED, corner: before.corner } : (screen ?? before);
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
        aria-label=${sheet ? said(sheet) : "No drawing yet"}
      >
        ${sheet ? drawn(sheet) : null}
      </svg>
      ${sheet ? html`<${Grips} sheet=${sheet} /><${Lost} sheet=${sheet} />` : null}
    </div>
  </section>`;
}

/** Says where the drawing is when none of it is in sight. @param {{ sheet: Sheet }} props */
function Lost({ sheet }) {
  if (!state.wantedView.value) return null;
  const now = standing(sheet);
  const poses = posesAt(sheet, now.turned, now.instant);
  const where = whereabouts(sheet, poses, state.view.value, state.area.value);
  return where === null ? null : html`<p class="lost" role="status">No outline is in sight: the nearest lies ${where}.${" "}
    <button class="word" type="button" onClick=${() => void (state.wantedView.value = null)}>show all</button></p>`;
}

/** The drawing in words: of a motion that plays, only that it does. @param {Sheet} of */
function said(of) {
  const { sheet, instant, moment } = standing(of);
  if (!moment) return facts(sheet, instant);
  if (goes.value) return `${sheet.name}, in motion`;
  const motion = state.played.value;
  const forces = motion ? forceWords(motion, moment.forces) : [];
  return `${sheet.name}, in motion: ${momentText(sheet, instant)}. ${forces.length > 0 ? `It presses: ${forces.join(", ")}.` : "Nothing presses."}`;
}

/** Played faster than this, forces are not written beside their arrows: nobody reads them. */
const READ_FROM = 100;

/** @param {Sheet} of */
function drawn(of) {
  const { sheet, turned, instant, moment } = standing(of);
  const [view, area] = [state.view.value, state.area.value];
  const motion = moment && state.played.value;
  const above = motion ? aboveForces(area) : aboveBar(area, Boolean(sheet.oscillation?.contact[instant]));
  const options = {
    id: "sheet",
    instant,
    turned,
    pressing: motion && { motion, forces: moment.forces, said: !goes.value || SPEEDS[speed.value] >= READ_FROM },
    view,
    area,
    // The state before was not played.
    before: motion ? null : state.before.value,
    definitions: state.tables.value?.figures ?? [],
    words: true,
    kept,
    taken: [...corner(), barRoom(view, area, above)],
    leads: /** @type {[import("../geometry.js").Point, import("../geometry.js").Point][]} */ ([]),
  };
  const shown = insets(sheet).filter((i) => !asLarge(i.view, options));
  for (const { place, slot, view: own } of shown) {
    options.taken.push(roomOf(slot));
    const ends = leader(place, slot, own, options);
    if (ends) options.leads.push([ends.from, ends.to]);
  }
  if (state.grips.value) {
    const poses = posesAt(sheet, options.turned, instant);
    for (const { at_mm, rides } of sheet.handles) {
      const [x, y] = onScreen(view, area, posed(poses[rides], at_mm));
      options.taken.push({ left: x - GRIP_PX, right: x + GRIP_PX, top: y - GRIP_PX, low: y + GRIP_PX });
    }
  }
  return html`${drawing(sheet, options)} ${shown.map((i) => inset(sheet, i.place, i.slot, i.view, options))}
  ${scaleBar(view, area, above)} ${motion && forceBar(motion, area)}`;
}
