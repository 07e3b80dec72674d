// @ts-check
// Wires the page: begins with what this tab had open or what the bench was started with, asks for a sheet whenever text
// or overrides change, and keeps the work.
import { render } from "preact";
import { effect, signal } from "@preact/signals";
import { fetchBegin, fetchTables, openLine } from "./api.js";
import { html } from "./html.js";
import { Board } from "./screens/board.js";
import { keep, leftUnsaved, recall, tabKey } from "./store.js";
import * as state from "./state.js";

const KEEP_AFTER_MS = 300;

async function begin() {
  const key = await tabKey();
  const [tables, kept] = await Promise.all([fetchTables(), recall(key).catch(() => undefined)]);
  state.tables.value = tables;
  if (kept) {
    state.takeUp(kept);
  } else {
    const { name, text } = await fetchBegin();
    state.openFile(name, text);
    state.left.value = await leftUnsaved().catch(() => null);
  }
  keepWork(key);
}

/** Keeps the work a little after each change. @param {string} key */
function keepWork(key) {
  let timer = 0;
  const write = () =>
    keep({
      key,
      name: state.name.value,
      text: state.text.value,
      saved: state.saved.value,
      ...state.history.value,
      at_ms: Date.now(),
    }).catch((e) => {
      state.notice.value = `the browser does not keep the work: ${e.message}; save the file to keep it`;
    });
  effect(() => {
    void [state.name.value, state.text.value, state.saved.value, state.history.value];
    clearTimeout(timer);
    timer = window.setTimeout(write, KEEP_AFTER_MS);
  });
  addEventListener("pagehide", () => void write());
}

function followTheme() {
  const kept = localStorage.getItem("theme");
  if (kept === "day" || kept === "night") state.theme.value = kept;
  effect(() => {
    document.documentElement.dataset.theme = state.theme.value;
    localStorage.setItem("theme", state.theme.value);
  });
}

followTheme();
effect(() => {
  const listens = state.screen.value === "listening" ? "Listening, " : "";
  document.title = `${listens}${state.sheet.value?.name ?? "Beatwright"}${state.text.value === state.saved.value ? "" : " (not saved)"}`;
});
openLine((link) => {
  state.link.value = link;
});
effect(() => void state.askForSheet());
const root = document.getElementById("bench");
/** The sheet of listening, once it was asked for. @type {import("@preact/signals").Signal<unknown>} */
const listening = signal(null);
effect(() => {
  if (state.screen.value === "listening") void import("./screens/listening.js").then(
    (module) => (listening.value = module.Listening),
    () => {
      state.notice.value = "the sheet of listening could not be loaded: is the bench still running?";
      location.hash = "board";
    },
  );
});
const Bench = () => (state.screen.value === "board" ? html`<${Board} />` : listening.value ? html`<${listening.value} />` : null);
if (root) render(html`<${Bench} />`, root);
begin().catch((e) => {
  state.notice.value = `the bench did not answer: ${e.message}`;
});
