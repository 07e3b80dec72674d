// @ts-check
// Grips: where a bench move is taken hold of on the drawing. Each is a slider; dragging holds the parameter, letting go
// writes it.

/** @import { Handle, Sheet } from "../wire" */
/** @import { Point } from "../geometry.js" */
import { useRef, useState } from "preact/hooks";
import { html } from "../html.js";
import { onScreen, posed, posesAt, turnedWay } from "../geometry.js";
import { standing } from "../motion.js";
import { keepingSame } from "../same.js";
import { area, dropHeld, grips, hold, release, reply, select, selected, tables, view } from "../state.js";
import { decimalsOf, quantity, unitOfPath } from "../units.js";

/** Room of a grip, across and down: what is touched, and a little between two. */
const ROOM_PX = { desk: 26, phone: 42 };
/** From this width of the window on it is a desk. */
const DESK_PX = 700;
/** Rounds in which grips are pushed apart; a crowd of all of them takes about twenty. */
const ROUNDS = 300;
/** Nearer than this they do not lie on one another. */
const NOTHING_PX = 0.5;
/** Room that the words beside a grip need. */
const WORDS_PX = 260;
/** A sheet narrower than this has that room on neither side. */
const NARROW_PX = 2 * WORDS_PX;
/** So far from the edge a grip is brought in, and so much farther where there is room. */
const INSIDE_PX = 24;
const MORE_PX = 40;
/** No farther than this from its place, in wheel radii. */
const REACH_RATIO = 0.5;
/** Where the browser tells of the pointer between two frames, the answer is there for the next of them. */
const MOVED = "onpointerrawupdate" in window ? "onpointerrawupdate" : "onPointerMove";

/** What a grip takes, across and down. */
const roomOf = () => (innerWidth < DESK_PX ? ROOM_PX.phone : ROOM_PX.desk);

/** @typedef {{ handle: Handle, at: Point, there: Point, way: Point }} Placed */

/** @param {{ sheet: Sheet }} props */
export function Grips({ sheet }) {
  const last = useRef(/** @type {Placed[]} */ ([]));
  // A value that is refused changes no sheet, but is to be read all the same.
  void reply.value;
  const now = standing(sheet);
  const poses = posesAt(sheet, now.turned, now.instant);
  const { width_px, height_px } = area.value;
  const seen = sheet.handles.flatMap((handle) => {
    const way = turnedWay(poses[handle.rides], handle.per_unit_mm);
    const own = onScreen(view.value, area.value, posed(poses[handle.rides], handle.at_mm));
    const there = broughtIn(own, way, sheet.locking_radius_mm);
    const [x, y] = there;
    return x > 0 && y > 0 && x < width_px && y < height_px ? [{ handle, there, way }] : [];
  });
  const places = laidApart(seen.map((grip) => grip.there));
  const placed = seen.map((grip, i) => ({ ...grip, at: places[i] }));
  // A grip that stays where it is is the same as before, and is not drawn anew.
  last.current = keepingSame(last.current, placed);
  return html`<div class="grips ${grips.value ? "shown" : ""}">
    ${last.current.map((grip) => html`<${Grip} key=${grip.handle.path} ...${grip} />`)}
  </div>`;
}

/**
 * Places at which no two grips lie on one another: each pair that does is pushed apart, the short way, until none is.
 * @param {Point[]} wanted
 * @returns {Point[]}
 */
function laidApart(wanted) {
  const size = roomOf();
  const most = [area.value.width_px - size / 2, area.value.height_px - size / 2];
  const places = wanted.map((p) => /** @type {Point} */ ([...p]));
  const push = (/** @type {Point} */ p, /** @type {0 | 1} */ k, /** @type {number} */ by) => {
    if (by !== 0) p[k] = Math.min(Math.max(p[k] + by, size / 2), most[k]);
  };
  for (let round = 0; round < ROUNDS; round += 1) {
    let apart = true;
    for (let i = 1; i < places.length; i += 1) {
      for (let j = 0; j < i; j += 1) {
        const [p, q] = [places[i], places[j]];
        const [dx, dy] = [p[0] - q[0], p[1] - q[1]];
        if (Math.max(Math.abs(dx), Math.abs(dy)) >= size - NOTHING_PX) continue;
        apart = false;
        const k = Math.abs(dx) >= Math.abs(dy) ? 0 : 1;
        const by = ((size - Math.abs(p[k] - q[k])) / 2) * (p[k] < q[k] ? -1 : 1);
        push(p, k, by);
        push(q, k, -by);
      }
    }
    if (apart) break;
  }
  return places;
}

/**
 * A grip whose place is out of sight is brought in along the way it moves, where that leads through what is seen: how far
 * it is dragged counts, not where from.
 * @param {Point} there @param {Point} way @param {number} radius_mm
 * @returns {Point}
 */
function broughtIn(there, way, radius_mm) {
  const size = [area.value.width_px, area.value.height_px];
  if (there.every((v, i) => v >= INSIDE_PX && v <= size[i] - INSIDE_PX)) return there;
  const length = Math.hypot(way[0], way[1]);
  const [u, v] = [way[0] / length, -way[1] / length];
  let [first, last] = [-REACH_RATIO, REACH_RATIO].map((r) => r * radius_mm * view.value.px_per_mm);
  for (const [at, by, most] of [[there[0], u, size[0]], [there[1], v, size[1]]]) {
    const ends = [(INSIDE_PX - at) / by, (most - INSIDE_PX - at) / by].sort((a, b) => a - b);
    first = Math.max(first, ends[0]);
    last = Math.min(last, ends[1]);
  }
  if (!(first < last)) return there;
  // As near to its place as can be, but well inside.
  const far = first > 0 ? first + Math.min(MORE_PX, (last - first) / 2) : last - Math.min(MORE_PX, (last - first) / 2);
  return [there[0] + far * u, there[1] + far * v];
}

/** @param {Placed} props */
function Grip({ handle, at, there, way }) {
  const { path, label, value, step } = handle;
  const unit = unitOfPath(path);
  const row = tables.value?.parameters.find((p) => p.path === path);
  /** What is held, from where. @type {{ current: { x: number, y: number, value: number, way: Point } | null }} */
  const from = useRef(null);
  /** Drawn anew with the next answer, not before: one frame for one move. @type {{ current: number | null }} */
  const held = useRef(null);
  const [holding, setHolding] = useState(false);
  /** What was let go but is not on the sheet yet: the next move goes on from there. @type {{ current: number | null }} */
  const written = useRef(null);
  if (written.current === value) written.current = null;
  const now = held.current ?? written.current ?? value;

  /** @param {number} wanted */
  const take = (wanted) => {
    const next = Number((Math.round(wanted / step) * step).toFixed(9));
    held.current = next;
    setHolding(true);
    hold(path, next);
  };
  /** @param {string} [series] */
  const letGo = async (series) => {
    from.current = null;
    written.current = held.current;
    held.current = null;
    setHolding(false);
    if ((await release(series)).length > 0) written.current = null;
  };
  const drop = () => {
    from.current = null;
    held.current = null;
    setHolding(false);
    dropHeld();
  };
  /** @param {PointerEvent} event */
  const down = (event) => {
    if (event.button !== 0) return;
    /** @type {Element} */ (event.currentTarget).setPointerCapture(event.pointerId);
    event.stopPropagation();
    from.current = { x: event.clientX, y: event.clientY, value: now, way };
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
    if (event.key === "Escape" && held.current !== null) drop();
    else if (by) take((held.current ?? now) + by * step * (event.shiftKey ? 10 : 1));
    else return;
    event.preventDefault();
    event.stopPropagation();
  };
  const said = quantity(now, unit, decimalsOf(unit));
  const angle = Math.atan2(-way[1], way[0]);
  const { width_px } = area.value;
  const side = width_px < NARROW_PX ? "aside" : at[0] > width_px - WORDS_PX ? "left" : "";
  // Where no side has room for them the words stand in the sheet's upper corner, clear of the drawing.
  const half = roomOf() / 2;
  const place = side === "aside" ? { left: `${half - at[0]}px`, top: `${half - at[1]}px` } : undefined;
  return html`<div
    class="grip ${holding ? "held" : ""} ${selected.value === path ? "selected" : ""}"
    role="slider"
    tabindex=${grips.value ? 0 : -1}
    data-path=${path}
    aria-label=${label}
    aria-valuemin=${row?.least}
    aria-valuemax=${row?.most}
    aria-valuenow=${now}
    aria-valuetext=${said}
    style=${{ left: `${at[0]}px`, top: `${at[1]}px` }}
    onPointerDown=${down}
    ...${{ [MOVED]: move }}
    onPointerUp=${() => from.current && letGo()}
    onPointerCancel=${drop}
    onKeyDown=${key}
    onKeyUp=${(/** @type {KeyboardEvent} */ e) => e.key.startsWith("Arrow") && held.current !== null && letGo(`keys ${path}`)}
    onBlur=${() => held.current !== null && letGo()}
    onFocus=${() => select(path)}
  >
    <svg class="mark" width="24" height="24" viewBox="-12 -12 24 24" aria-hidden="true">
      <path class="lead" d="M0 0L${there[0] - at[0]} ${there[1] - at[1]}" />
      <g transform="rotate(${(angle * 180) / Math.PI})"><path d="M-9 0H9M-9 0l3 -2M-9 0l3 2M9 0l-3 -2M9 0l-3 2" /></g>
      <circle r="3.5" />
    </svg>
    <span class="said ${side}" style=${place} aria-hidden="true">${label} <span class="figure">${said}</span></span>
  </div>`;
}
