// @ts-check
// Everything the page knows.

/** @import { DiagnosticRow, Oscillation, Played, Sheet, Tables } from "./wire" */
/** @import { Kept, Step } from "./store.js" */
/** @import { Link } from "./api.js" */
/** @import { Area, View } from "./geometry.js" */
import { computed, signal } from "@preact/signals";
import { fitted } from "./geometry.js";

/** The tables of parameters and figures. @type {import("@preact/signals").Signal<Tables | null>} */
export const tables = signal(null);
/** Name of the file. */
export const name = signal("");
/** The movement file. */
export const text = signal("");
/** The text as it was opened or saved. */
export const saved = signal("");
/** Overrides `path=value` of what is held now. @type {import("@preact/signals").Signal<string[]>} */
export const set = signal([]);
/** What was said of the text last, and whether it makes a sheet. @type {import("@preact/signals").Signal<{ diagnostics: DiagnosticRow[], sheet: boolean } | null>} */
export const reply = signal(null);
/** The last sheet that could be worked out: what the drawing shows. @type {import("@preact/signals").Signal<Sheet | null>} */
export const live = signal(null);
/** The same for lists and curves: while something is dragged they follow a little later. @type {import("@preact/signals").Signal<Sheet | null>} */
export const sheet = signal(null);
/** The sheet kept to compare with. @type {import("@preact/signals").Signal<Sheet | null>} */
export const before = signal(null);
/** The oscillation of the last sheet that could be turned: one that cannot be turned at all is drawn as the hand left it. @type {import("@preact/signals").Signal<Oscillation | null>} */
export const turned = signal(null);
/** The moment shown: place in `turned`. */
export const instant = signal(0);
/** The same for lists and curves: it follows when the drawing is done. */
export const readInstant = signal(0);
/** Beat with which the oscillation begins. */
export const beat = signal(0);
/** Whether the sideshake is tried too. */
export const sideshake = signal(false);
/** What of the plate is seen, and how large; null: all of it. @type {import("@preact/signals").Signal<View | null>} */
export const wantedView = signal(null);
/** Size of the drawing on the screen. */
export const area = signal(/** @type {Area} */ ({ width_px: 800, height_px: 600 }));
/** What of the plate is seen. @type {import("@preact/signals").ReadonlySignal<View>} */
export const view = computed(() => wantedView.value ?? fitted(live.value, area.value));
/** Names of the magnified views that are pinned. @type {import("@preact/signals").Signal<string[]>} */
export const pins = signal([]);
/** Path of the parameter or figure that is looked at. @type {import("@preact/signals").Signal<string | null>} */
export const selected = signal(null);
/** Work that was left unsaved in a tab that is closed. @type {import("@preact/signals").Signal<Kept | null>} */
export const left = signal(null);
/** State of the line to the bench. @type {import("@preact/signals").Signal<Link>} */
export const link = signal(/** @type {Link} */ ("waiting"));
/** `day`, `night` or `system`. */
export const theme = signal("system");
/** Whether all grips are shown. */
export const grips = signal(false);
/** What is to be said once, quietly. @type {import("@preact/signals").Signal<string | null>} */
export const notice = signal(null);
/** Steps that can be undone, and done again. @type {import("@preact/signals").Signal<{ past: Step[], future: Step[] }>} */
export const history = signal({ past: [], future: [] });
/** What is held, a number for each path. */
export const held = signal(/** @type {ReadonlyMap<string, number>} */ (new Map()));
/** The motion in time that was asked for last. @type {import("@preact/signals").Signal<Played | null>} */
export const played = signal(null);
/** The motion that any edit asks for anew: the steady one, or that from rest; null: none. @type {import("@preact/signals").Signal<"steady" | "rest" | null>} */
export const wantedMotion = signal(null);
/** The time of that motion which the drawing shows; null while it shows the moment turned by hand. @type {import("@preact/signals").Signal<number | null>} */
export const played_s = signal(null);
/** What lies on the bench: the board's sheet or that of listening. */
export const screen = signal(location.hash === "#listening" ? "listening" : "board");
addEventListener("hashchange", () => void (screen.value = location.hash === "#listening" ? "listening" : "board"));
