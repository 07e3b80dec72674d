// A page of the bench, and what a person finds on it.
import assert from "node:assert/strict";
import { after, before, describe, it } from "node:test";
import { removeFolder, startBench, startBrowser, stateFolder } from "./program.mjs";

export const DESK = { width: 1440, height: 900 };
export const PHONE = { width: 390, height: 844 };
const PATIENCE_MS = 20_000;

/**
 * Checks that share one program and one browser.
 * @param {string} title
 * @param {(bench: { open: typeof openPage, check: (name: string, act: () => Promise<void>) => void, at: any }) => void} define
 * @param {string[]} [switches] of the browser
 */
export function checks(title, define, switches = []) {
  describe(title, { timeout: 600_000 }, () => {
    const at = { program: null, browser: null, state: stateFolder() };
    const contexts = [];
    const pages = [];
    before(async () => {
      at.program = await startBench({ state: at.state });
      at.browser = await startBrowser(switches);
    });
    after(async () => {
      await at.browser?.close();
      await at.program?.stop();
      removeFolder(at.state);
    });
    const open = async (options = {}) => {
      const context = options.context ?? (await at.browser.newContext({ viewport: DESK, ...options.browser }));
      contexts.push(context);
      const page = await openPage(context, at.program.url, options);
      pages.push(page);
      return page;
    };
    const check = (name, act) =>
      it(name, { timeout: 300_000 }, async () => {
        try {
          await act();
          assert.deepEqual(pages.flatMap((page) => page.faults), [], "faults of the page's own");
        } finally {
          pages.length = 0;
          for (const context of contexts.splice(0)) await context.close();
        }
      });
    define({ open, check, at });
  });
}

/**
 * Opens a page and waits for its drawing. What goes wrong on the page by itself is gathered in `faults`.
 * @param {any} context
 * @param {string} url
 * @param {{ lineMayBreak?: boolean }} [how] whether the bench will be stopped meanwhile
 */
export async function openPage(context, url, { lineMayBreak = false } = {}) {
  const page = await context.newPage();
  page.setDefaultTimeout(PATIENCE_MS);
  const faults = [];
  page.on("pageerror", (error) => faults.push(error.stack ?? String(error)));
  page.on("console", (message) => {
    if (message.type() !== "error" || (lineMayBreak && /WebSocket|Failed to load resource/.test(message.text()))) return;
    faults.push(message.text());
  });
  page.faults = faults;
  await page.goto(url);
  await drawn(page);
  return page;
}

/** Waits until something is drawn. */
export const drawn = (page) => page.locator("svg.drawing > .drawn path.body").first().waitFor({ state: "attached" });

/** Waits until a condition holds of what `read` gives; says what it gave last where it never does. */
export async function until(read, holds, about) {
  const end = Date.now() + PATIENCE_MS;
  let last;
  do {
    last = await read();
    if (holds(last)) return last;
    await new Promise((done) => setTimeout(done, 40));
  } while (Date.now() < end);
  return assert.fail(`${about}: still ${JSON.stringify(last)}`);
}

/** A number as the page writes it. */
export const numberOf = (text) => Number(text.trim().replace("\u2212", "-").match(/^[-+]?[\d.]+/)?.[0] ?? NaN);

/** Opens a margin's part: statement, text, notes or sweep. */
export async function margin(page, name) {
  const tab = page.locator(".margin .tabs").getByRole("button", { name, exact: true });
  if ((await tab.getAttribute("aria-pressed")) !== "true") await tab.click();
}

/** Field of a parameter in the parts list. */
export const field = (page, path) => page.locator(`.parts-list [data-path="${path}"]`);

/** Grip of a parameter on the drawing. */
export const grip = (page, path) => page.locator(`.grip[data-path="${path}"]`);

/** A figure as the table shows it. @param {"entry" | "exit"} side */
export async function figure(page, words, side) {
  const row = page.locator(".figures tr", { has: page.getByRole("button", { name: words, exact: true }) }).first();
  return numberOf(await row.locator("td").nth(side === "entry" ? 0 : 1).innerText());
}

/** Path text of a part on the sheet. */
export const outline = (page, part) =>
  page.locator(`svg.drawing > .drawn path.body[data-part="${part}"]`).getAttribute("d");

/** The movement file as the page has it, by the field it is written in. */
export async function textOf(page) {
  const before = await page.locator(".margin.left .tabs [aria-pressed=true]").innerText();
  await margin(page, "text");
  const text = await page.locator(".text-sheet textarea").inputValue();
  if (before !== "text") await margin(page, before);
  return text;
}

/** Lays a file on the bench by the title block's field. */
export async function openText(page, name, text) {
  await page
    .getByLabel("Open a movement file")
    .setInputFiles({ name, mimeType: "application/toml", buffer: Buffer.from(text, "utf8") });
  await page.locator(".title-block .file .figure", { hasText: name }).waitFor();
}

/** Words of the title block. */
export const undoWord = (page) => page.locator(".title-block").getByRole("button", { name: "undo", exact: true });
export const redoWord = (page) => page.locator(".title-block").getByRole("button", { name: "redo", exact: true });

/** The motion that the page was told. */
export const motionOf = (page) => page.evaluate(async () => (await import("/state.js")).played.value);

/** The time bar of the motion. */
export const timeBar = (page) => page.locator(".time-bar");

/** Begins to play the motion, and stands at its first instant. */
export async function beginMotion(page, word = "play the motion") {
  await page.getByRole("button", { name: word, exact: true }).click();
  await timeBar(page).waitFor();
  await timeBar(page).press("Home");
}

/** The movement with which the bench begins. */
export const demoText = (page) => page.evaluate(async () => (await (await fetch("/tables.json")).json()).demo);
