// The motion played beside the rest of the page: one moment is shown at a time, edits do not wait for it, and what it says
// can be read.
import assert from "node:assert/strict";
import { DESK, PHONE, beginMotion, checks, demoText, field, motionOf, numberOf, openText, textOf, timeBar, until } from "./page.mjs";
import { printed } from "./program.mjs";

const NOT_RUNNING = "wheel.torque_un_m=1.5";
/** A word that stands elsewhere is not found at once; so far it may move from one instant to the next. */
const JUMP_PX = 15;
const JUMPS_RATIO = 0.01;

/** Texts of questions that the page puts, by kind, from now on. */
function questions(page) {
  const all = [];
  page.on("websocket", (socket) => socket.on("framesent", ({ payload }) => all.push(JSON.parse(payload))));
  return (kind) => all.filter((q) => q.ask === kind);
}

/** The page opened anew with its questions heard. */
async function heard(page) {
  const of = questions(page);
  await page.reload();
  await page.locator(".running .in-motion").waitFor();
  return of;
}

/** Writes a parameter's field. */
async function write(page, path, value) {
  await field(page, path).fill(value);
  await page.keyboard.press("Enter");
}

/** Words of forces on the sheet and the shafts of arrows, at each instant of the first beat. */
const forcesOf = (page) => page.evaluate(async () => {
  const { goTo } = await import("/motion.js");
  const { played } = await import("/state.js");
  const drawn = document.querySelector("svg.drawing > .drawn");
  const out = [];
  for (let i = 0; i < played.value.t_s.length / 2; i += 1) {
    goTo(i);
    await new Promise((done) => requestAnimationFrame(() => setTimeout(done, 0)));
    const shafts = [...drawn.querySelectorAll(":scope > .pressing .force path:not(.head)")].map((p) => p.getAttribute("d").match(/-?[\d.]+/g).map(Number));
    const words = [...drawn.querySelectorAll(":scope > .said[data-said^='sheet force']")].map((g) => {
      const { x, y, width, height } = g.querySelector("text").getBBox();
      return { key: g.dataset.said, text: g.textContent.trim(), x, y, width, height };
    });
    out.push({ shafts, words });
  }
  return out;
});

/** Whether a line runs through a box. */
const through = ([x1, y1, x2, y2], { x, y, width, height }) => Array.from({ length: 51 }, (_, i) => i / 50).some((t) => {
  const [px, py] = [x1 + t * (x2 - x1), y1 + t * (y2 - y1)];
  return px > x && px < x + width && py > y + 1 && py < y + height - 1;
});

checks("the motion beside the rest of the page", ({ open, check }) => {
  check("while the motion is drawn the ribbon's own mark is hollow, and nothing of it lit", async () => {
    const page = await open();
    const look = () => page.evaluate(() => {
      const style = (of) => getComputedStyle(document.querySelector(of));
      return { head: style(".ribbon .head").backgroundColor, around: style(".ribbon .head").borderLeftWidth, lit: style(".ribbon .band.now .phase").boxShadow };
    });
    const before = await look();
    assert.notEqual(before.lit, "none");
    await beginMotion(page);
    const away = await look();
    assert.equal(away.lit, "none");
    assert.notEqual(away.head, before.head);
    assert.equal(away.around, "1px");
    assert.match(await page.locator(".ribbon").getAttribute("aria-valuetext"), /The drawing shows the motion$/);
    await page.getByRole("button", { name: "back to the hand" }).click();
    await until(look, (now) => JSON.stringify(now) === JSON.stringify(before), "the ribbon as it was");
  });

  check("a start from rest begins at 1/10, and each keeps the speed it was given", async () => {
    const page = await open();
    const said = () => page.getByLabel("Speed").getAttribute("aria-valuetext");
    await beginMotion(page);
    assert.equal(await said(), "500 times slower");
    await page.getByLabel("Speed").press("ArrowRight");
    await beginMotion(page, "start from rest");
    assert.equal(await said(), "10 times slower");
    await beginMotion(page);
    assert.equal(await said(), "200 times slower");
  });

  check("left, no edit asks for the motion; gone on with, every edit does", async () => {
    const page = await open();
    const asked = await heard(page);
    await beginMotion(page);
    await page.getByRole("button", { name: "back to the hand" }).click();
    const word = page.getByRole("button", { name: "play the motion", exact: true });
    await until(() => word.getAttribute("aria-pressed"), (p) => p === "false", "the word let go");
    assert.equal(await page.getByRole("button", { name: "back to the hand" }).count(), 0);
    await timeBar(page).press("PageDown");
    assert.equal(await word.getAttribute("aria-pressed"), "true");
    let count = asked("played").length;
    await write(page, "balance.quality_ratio", "300");
    await until(() => asked("played").length, (n) => n > count, "the motion of the edit");
    await until(() => page.locator(".playback .stale").count(), (n) => n === 0, "the new motion");
    // The hand takes the drawing back.
    await page.locator(".ribbon").press("ArrowRight");
    count = asked("played").length;
    await write(page, "balance.quality_ratio", "310");
    await until(() => textOf(page), (text) => /quality_ratio = 310/.test(text), "the edit");
    await until(() => timeBar(page).count(), (n) => n === 0, "the time bar");
    const amplitude = JSON.parse(await printed("motion", "demo", "--json", "--set", "balance.quality_ratio=310")).steady.amplitude_deg;
    await until(() => page.locator(".in-motion .number").first().innerText(), (t) => Math.abs(numberOf(t) - amplitude) < 0.006, "its figures");
    assert.equal(asked("played").length, count);
  });

  check("the motion of a state before says so until the new one is there", async () => {
    const page = await open();
    await beginMotion(page, "start from rest");
    await page.evaluate(() => {
      window.marked = false;
      new MutationObserver(() => (window.marked ||= document.querySelector(".playback .stale") !== null)).observe(document.body, { childList: true, subtree: true });
    });
    await write(page, "balance.quality_ratio", "300");
    await until(() => page.evaluate(() => window.marked), Boolean, "the mark");
    await until(() => page.locator(".playback .stale").count(), (n) => n === 0, "the new motion");
  });

  check("curves of what does not run are asked for point by point, after the sheet, and are marked until they are new", async () => {
    const page = await open();
    const asked = await heard(page);
    await page.locator(".torque summary").press("Enter");
    await until(() => page.locator(".torque").innerText(), (t) => !t.includes("Working") && t.includes("as it is now"), "the curves");
    const counts = asked("sweep").map((q) => Number(q.axis.split(":").at(-1)));
    assert.equal(counts[0], 1, "one, until it is known how long a point takes");
    assert.ok(Math.max(...counts) <= 4, counts.join());
    const stated = (await demoText(page)).replace(/^\[wheel\]$/m, `[wheel]\n${NOT_RUNNING.replace("wheel.", "").replace("=", " = ")}`);
    const [before, first] = [asked("sweep").length, asked("sheet").length];
    await openText(page, "strong.toml", stated);
    const marked = await until(() => page.locator(".torque .stale, .torque .legend").allInnerTexts(),
      (all) => all.some((t) => /of the state before|dashed: the state before/.test(t)), "the mark");
    assert.ok(marked.length > 0);
    await until(() => asked("sweep").length, (n) => n > before + 2, "points of the new state");
    // An edit meanwhile goes before the points that are still to come.
    const points = asked("sweep").length;
    await openText(page, "stronger.toml", stated.replace("= 1.5", "= 1.6"));
    await until(() => asked("sheet").length, (n) => n > first + 1, "the sheet of the edit");
    assert.ok(asked("sweep").length <= points + 2, `${asked("sweep").length - points} questions went before the sheet`);
  });

  check("the phase played stands as text, and where a finger points, all phases of its beat", async () => {
    const page = await open({ browser: { viewport: PHONE, isMobile: true, hasTouch: true } });
    await beginMotion(page);
    const motion = await motionOf(page);
    const names = motion.stretches.filter((s) => s.beat === motion.stretches[0].beat).map((s) => s.phase);
    assert.deepEqual(await page.locator(".foot .phases li").allInnerTexts(), names);
    await timeBar(page).press("PageDown");
    assert.equal(await page.locator(".foot .phases .now").innerText(), names[1]);
    assert.equal(await page.locator(".foot .now .phase").innerText(), names[1]);
    assert.ok(await page.locator(".foot .phases").evaluate((e) => e.getBoundingClientRect().right <= innerWidth));
    const desk = await open();
    await beginMotion(desk);
    assert.ok(!(await desk.locator(".phases").isVisible()));
    assert.ok(await desk.locator(".playback .now .phase").isVisible());
  });

  for (const view of ["whole", "entry"]) {
    check(`words of forces stay where they were, and lie over no arrow: ${view}`, async () => {
      const page = await open({ browser: { viewport: DESK } });
      await beginMotion(page);
      await page.evaluate(async (name) => name === "whole" || (await import("/screens/hand.js")).showView(name), view);
      let [words, jumps, last] = [0, 0, new Map()];
      for (const [i, now] of (await forcesOf(page)).entries()) {
        for (const word of now.words) {
          for (const shaft of now.shafts) assert.ok(!through(shaft, word), `${word.text} lies over an arrow at ${i}`);
          const was = last.get(word.key);
          const middle = (w) => [w.x + w.width / 2, w.y + w.height / 2];
          if (was && Math.hypot(...middle(word).map((v, k) => v - middle(was)[k])) > JUMP_PX) jumps += 1;
        }
        words += now.words.length;
        last = new Map(now.words.map((w) => [w.key, w]));
      }
      assert.ok(words > 100, `${words} words`);
      assert.ok(jumps <= JUMPS_RATIO * words, `${jumps} of ${words} jumped`);
    });
  }

  check("what the arrows are of is said beside their scale", async () => {
    const page = await open();
    await beginMotion(page);
    const said = (await page.locator("svg.drawing .scale text").allTextContents()).join(" ");
    assert.match(said, /arrow: force of the part named first, such as of the tooth in tooth on stone/);
  });
});
