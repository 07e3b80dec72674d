// What it weighs, and how long it takes. Weight is held to its limit; times depend on the machine and are printed, for
// docs/measured.md.
import assert from "node:assert/strict";
import { performance } from "node:perf_hooks";
import { DESK, checks, drawn, grip } from "./page.mjs";
import { removeFolder, startBench, stateFolder } from "./program.mjs";

/** Asked for: 1 MB with fonts. */
const WEIGHT_MAX = 1_000_000;
const STARTS = 5;
const MOVES = 200;

const sorted = (values) => [...values].sort((a, b) => a - b);
const median = (values) => sorted(values)[Math.floor(values.length / 2)];
const most = (values, part) => sorted(values)[Math.min(Math.floor(values.length * part), values.length - 1)];
const ms = (value) => `${value.toFixed(1)} ms`;

/**
 * Begins to note, for each move of the pointer that changes the drawing, how long it was from the pointer's move (as the
 * browser has it) until the frame with the change was painted, and how much of it bench and page were at work: the rest
 * is the wait for the screen's next frame.
 * @param {any} page
 * @param {string} part whose path text changes
 */
const noteFrames = (page, part) => page.evaluate((name) => {
  const notes = (window.frames_ms = []);
  /** The newest move told to the page, and the move that the question on its way was asked after. */
  let [moved, asked] = [null, null];
  const note = (e) => (moved = { at: e.timeStamp, told: performance.now() });
  for (const kind of ["pointermove", "pointerrawupdate"]) addEventListener(kind, note, true);
  const send = WebSocket.prototype.send;
  WebSocket.prototype.send = function (data) {
    asked = moved;
    return send.call(this, data);
  };
  const path = document.querySelector(`svg.drawing > .drawn path.body[data-part="${name}"]`);
  new MutationObserver(() => {
    const [from, drawn] = [asked ?? moved, performance.now()];
    asked = null;
    requestAnimationFrame(() => {
      const framed = performance.now();
      // A message sent from within a frame is received once it has been painted.
      const after = new MessageChannel();
      after.port1.onmessage = () => {
        const painted = performance.now();
        notes.push({ all: painted - from.at, work: drawn - from.told + painted - framed });
      };
      after.port2.postMessage(0);
    });
  }).observe(path, { attributes: true, attributeFilter: ["d"] });
}, part);

/** Between two moves, ms: never the same part of a frame, so that the wait for the next is now short, now long. */
const pause_ms = (i) => 22 + ((i * 10.3) % 16.7);

/** What was noted, as a line. */
async function told(page, what) {
  const frames = await page.evaluate(() => window.frames_ms);
  const [all, work] = ["all", "work"].map((k) => frames.map((f) => f[k]));
  console.log(`${what}: median ${ms(median(all))}, 95th percentile ${ms(most(all, 0.95))}; at work ${ms(median(work))}, ${ms(most(work, 0.95))}; ${all.length} frames`);
  return all.length;
}

checks("weight and time", ({ open, check, at }) => {
  check("the page weighs at most 1 MB, fonts and all, and fetches nothing from elsewhere", async () => {
    const context = await at.browser.newContext({ viewport: DESK });
    const page = await context.newPage();
    const line = await context.newCDPSession(page);
    await line.send("Network.enable");
    const addresses = [];
    let bytes = 0;
    line.on("Network.requestWillBeSent", ({ request }) => addresses.push(request.url));
    line.on("Network.loadingFinished", ({ encodedDataLength }) => (bytes += encodedDataLength));
    await page.goto(at.program.url, { waitUntil: "networkidle" });
    await drawn(page);
    await page.evaluate(() => document.fonts.ready);
    const kinds = await page.evaluate(() => [...document.fonts].filter((f) => f.status === "loaded").length);
    assert.ok(kinds >= 2, `${kinds} fonts came with the page`);
    const foreign = addresses.filter((a) => !a.startsWith("data:") && new URL(a).origin !== new URL(at.program.url).origin);
    assert.deepEqual(foreign, []);
    console.log(`page weight: ${bytes} bytes in ${addresses.filter((a) => !a.startsWith("data:")).length} requests`);
    assert.ok(bytes > 100_000 && bytes <= WEIGHT_MAX, `${bytes} bytes`);
    await context.close();
  });

  check(`start of the program to the first page, ${STARTS} times`, async () => {
    const [pages, drawings] = [[], []];
    for (let i = 0; i < STARTS; i += 1) {
      const state = stateFolder();
      const context = await at.browser.newContext({ viewport: DESK });
      const page = await context.newPage();
      const start = performance.now();
      const bench = await startBench({ state });
      await page.goto(bench.url, { waitUntil: "commit" });
      pages.push(performance.now() - start);
      await drawn(page);
      drawings.push(performance.now() - start);
      await context.close();
      await bench.stop();
      removeFolder(state);
    }
    assert.equal(drawings.length, STARTS);
    console.log(`start to first page: median ${ms(median(pages))}, most ${ms(Math.max(...pages))}`);
    console.log(`start to drawing: median ${ms(median(drawings))}, most ${ms(Math.max(...drawings))}`);
  });

  check(`input to painted frame while a stone is dragged, ${MOVES} moves`, async () => {
    const page = await open();
    await page.getByRole("button", { name: "grips" }).click();
    await page.getByRole("button", { name: "show exit" }).click();
    const box = await grip(page, "pallets.exit.stone_out_mm").boundingBox();
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    await page.mouse.move(x, y);
    await page.mouse.down();
    await noteFrames(page, "exit stone");
    for (let i = 0; i < MOVES; i += 1) {
      await page.mouse.move(x + 8 * Math.sin(i / 9), y - 10 * Math.sin(i / 9));
      await page.waitForTimeout(pause_ms(i));
    }
    const count = await told(page, "stone dragged, answer of the bench painted");
    await page.keyboard.press("Escape");
    await page.mouse.up();
    assert.ok(count > MOVES / 2, `${count} frames`);
  });

  check(`input to painted frame while the lever is turned, ${MOVES} moves`, async () => {
    const page = await open();
    const [place] = await page.locator("svg.drawing > .drawn > .axes circle").evaluateAll((all) =>
      all.slice(1, 2).map((c) => c.getBoundingClientRect()).map((b) => ({ x: b.x + b.width / 2, y: b.y + b.height / 2 })));
    // Between axis and fork the lever is narrow and straight.
    const from = await page.evaluate((axis) => {
      for (let y = axis.y - 30; y > axis.y - 250; y -= 4) {
        for (let x = axis.x - 60; x < axis.x + 60; x += 4) {
          const there = document.elementFromPoint(x, y);
          if (there?.dataset?.rides === "lever" && !there.closest("[data-inset]")) return { x, y };
        }
      }
      return null;
    }, place);
    assert.ok(from, "the lever can be taken hold of");
    await page.mouse.move(from.x, from.y);
    await page.mouse.down();
    await noteFrames(page, "lever");
    const radius = Math.hypot(from.x - place.x, from.y - place.y);
    const first = Math.atan2(from.y - place.y, from.x - place.x);
    for (let i = 0; i < MOVES; i += 1) {
      const angle = first + (5.3 - 5.3 * Math.cos(i / 8)) * (Math.PI / 180);
      await page.mouse.move(place.x + radius * Math.cos(angle), place.y + radius * Math.sin(angle));
      await page.waitForTimeout(pause_ms(i));
    }
    await page.mouse.up();
    const count = await told(page, "lever turned, painted");
    assert.ok(count > MOVES / 4, `${count} frames`);
  });
});
