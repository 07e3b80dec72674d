// @ts-check
// Grips: where a bench move is taken hold of on the drawing. Each is a slider; dragging holds the parameter, letting go
// writes it.

/** @import { Handle, Sheet } from "../api.d.ts" */
/** @import { Point } from "../geometry.js" */
import { useRef, useState } from "preact/hooks";
import { html } from "../html.js";
import { onScreen, posed, posesAt, turnedWay } from "../geometry.js";
import { area, dropHeld, grips, hold, instant, release, select, selected, tables, view } from "../state.js";
import { decimalsOf, quantity, unitOfPath } from "../units.js";

/** Grips nearer to one another than this are set apart. */
const APART_PX = 20;
/** Where a grip may be set, beside its place. */
const BESIDE = [[0, 0], [1, 0], [-1, 0], [0, -1], [0, 1], [1, 1], [-1, 1], [1, -1], [-1, -1], [2, 0], [-2, 0]];

/** @param {{ sheet: Sheet }} props */
export function Grips({ sheet }) {
  const poses = posesAt(sheet, instant.value);
  /** @type {Point[]} */
  const taken = [];
  const set = sheet.handles.map((handle) => {
    const there = onScreen(view.value, area.value, posed(poses[handle.rides], handle.at_mm));
    const free = BESIDE.map(([x, y]) => /** @type {Point} */ ([there[0] + x * APART_PX, there[1] + y * APART_PX]));
    const at = free.find((p) => taken.every((t) => Math.hypot(t[0] - p[0], t[1] - p[1]) >= APART_PX)) ?? there;
    taken.push(at);
    return { handle, at, there, way: turnedWay(poses[handle.rides], handle.per_unit_mm) };
  });
  const { width_px, height_px } = area.value;
  const seen = set.filter(({ at: [x, y] }) => x > 0 && y > 0 && x < width_px && y < height_px);
  return html`<div class="grips ${grips.value ? "shown" : ""}">
    ${seen.map((grip) => html`<${Grip} key=${grip.handle.path} ...${grip} />`)}
  </div>`;
}

/** @param {{ handle: Handle, at: Point, there: Point, way: Point }} props */
function Grip({ handle, at, there, way }) {
  const { path, label, value, step } = handle;
  const unit = unitOfPath(path);
  const row = tables.value?.parameters.find((p) => p.path === path);
  /** What is held, from where. @type {{ current: { x: number, y: number, value: number, way: Point } | null }} */
  const from = useRef(null);
  const [held, setHeld] = useState(/** @type {number | null} */ (null));

  /** @param {number} wanted */
  const take = (wanted) => {
    const next = Number((Math.round(wanted / step) * step).toFixed(9));
    setHeld(next);
    hold(path, next);
  };
  const letGo = () => {
    from.current = null;
    setHeld(null);
    void release();
  };
  const drop = () => {
    from.current = null;
    setHeld(null);
    dropHeld();
  };
  /** @param {PointerEvent} event */
  const down = (event) => {
    if (event.button !== 0) return;
    /** @type {Element} */ (event.currentTarget).setPointerCapture(event.pointerId);
    event.stopPropagation();
    from.current = { x: event.clientX, y: event.clientY, value, way };
    select(path);
  };
  /** @param {PointerEvent} event */
  const move = (event) => {
    const began = from.current;
    if (!began) return;
    const [dx, dy] = [event.clientX - began.x, began.y - event.clientY].map((d) => d / view.value.px_per_mm);
    const [u, v] = began.way;
    take(began.value + (dx * u + dy * v) / (u * u + v * v));
  };
  /** @param {KeyboardEvent} event */
  const key = (event) => {
    const by = /** @type {Record<string, number>} */ ({ ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1 })[event.key];
    if (event.key === "Escape" && held !== null) drop();
    else if (by) take((held ?? value) + by * step * (event.shiftKey ? 10 : 1));
    else return;
    event.preventDefault();
    event.stopPropagation();
  };
  const shown = held ?? value;
  const said = quantity(shown, unit, decimalsOf(unit));
  const angle = Math.atan2(-way[1], way[0]);
  return html`<div
    class="grip ${held === null ? "" : "held"} ${selected.value === path ? "selected" : ""}"
    role="slider"
    tabindex="0"
    data-path=${path}
    aria-label=${label}
    aria-valuemin=${row?.least}
    aria-valuemax=${row?.most}
    aria-valuenow=${shown}
    aria-valuetext=${said}
    style=${{ left: `${at[0]}px`, top: `${at[1]}px` }}
    onPointerDown=${down}
    onPointerMove=${move}
    onPointerUp=${() => from.current && letGo()}
    onPointerCancel=${drop}
    onKeyDown=${key}
    onKeyUp=${(/** @type {KeyboardEvent} */ e) => e.key.startsWith("Arrow") && held !== null && letGo()}
    onBlur=${() => held !== null && letGo()}
    onFocus=${() => select(path)}
  >
    <svg class="mark" width="24" height="24" viewBox="-12 -12 24 24" aria-hidden="true">
      <path class="lead" d="M0 0L${there[0] - at[0]} ${there[1] - at[1]}" />
      <g transform="rotate(${(angle * 180) / Math.PI})"><path d="M-9 0H9M-9 0l3 -2M-9 0l3 2M9 0l-3 -2M9 0l-3 2" /></g>
      <circle r="3.5" />
    </svg>
    <span class="said" aria-hidden="true">${label} <span class="figure">${said}</span></span>
  </div>`;
}
