// Takes the pictures of docs/manual/board.md and listening.md. With UPDATE_MANUAL=1 they are written to docs/pictures; without it they are
// taken all the same, and the manual is checked to name just these.
import assert from "node:assert/strict";
import { readFileSync, statSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { DESK, PHONE, checks, demoText, figure, grip, margin, openText, until } from "./page.mjs";
import { withPalette } from "./png.mjs";
import { ticking, wav } from "./ticking.mjs";

const DOCS = fileURLToPath(new URL("../docs/", import.meta.url));
const BYTES_MAX = 200_000;

/** An invented movement with findings. */
const worn = (demo) => `${demo.trimEnd()}\n\n[pallets.exit]\nstone_out_mm = -0.015   # invented, as everything here\n`;

const ribbon = async (page, presses) => {
  await page.locator(".ribbon").focus();
  for (const key of presses) await page.keyboard.press(key);
  await page.evaluate(() => document.activeElement?.blur());
};
const show = (page, name) => page.getByRole("button", { name: `show ${name}`, exact: true }).click();

/** @type {Record<string, { browser: object, set: (page: any) => Promise<void> }>} */
const PICTURES = {
  "board-day": {
    browser: { viewport: DESK, colorScheme: "light" },
    set: async (page) => {
      await openText(page, "worn.toml", worn(await demoText(page)));
      await page.locator(".findings").waitFor();
      await ribbon(page, ["PageDown", "PageDown", "PageDown", ...Array(12).fill("ArrowRight")]);
    },
  },
  "board-night": {
    browser: { viewport: DESK, colorScheme: "dark" },
    set: (page) => ribbon(page, ["PageDown", "PageDown", "PageDown", ...Array(12).fill("ArrowRight")]),
  },
  "board-contact": {
    browser: { viewport: DESK, colorScheme: "light" },
    set: async (page) => {
      await ribbon(page, ["PageDown"]);
      const box = await page.locator("svg.drawing > .drawn > .contact .touch").boundingBox();
      let [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
      for (let i = 0; i < 2; i += 1) {
        await page.mouse.move(x, y);
        await page.mouse.wheel(0, -1800);
        await page.waitForTimeout(200);
        const now = await page.locator("svg.drawing > .drawn > .contact .touch").boundingBox();
        [x, y] = [now.x + now.width / 2, now.y + now.height / 2];
      }
      await page.mouse.move(5, 5);
    },
  },
  "board-motion": {
    browser: { viewport: DESK, colorScheme: "light" },
    set: async (page) => {
      await page.getByRole("button", { name: "play the motion" }).click();
      await page.locator(".time-bar").press("Home");
      for (const key of [...Array(4).fill("PageDown"), ...Array(20).fill("ArrowRight")]) await page.locator(".time-bar").press(key);
      await page.evaluate(() => document.activeElement?.blur());
    },
  },
  "board-compare": {
    browser: { viewport: DESK, colorScheme: "light" },
    set: async (page) => {
      await show(page, "exit");
      await ribbon(page, ["PageDown"]);
      await page.getByRole("button", { name: "compare from here" }).click();
      await page.getByRole("button", { name: "grips" }).click();
      const drop = await figure(page, "drop", "exit");
      await grip(page, "pallets.exit.stone_out_mm").focus();
      for (let i = 0; i < 5; i += 1) await page.keyboard.press("ArrowUp");
      await until(() => figure(page, "drop", "exit"), (v) => v !== drop, "exit drop");
    },
  },
  "board-sweep": {
    browser: { viewport: DESK, colorScheme: "light" },
    set: async (page) => {
      await margin(page, "text");
      await margin(page, "sweep");
      await page.locator(".sweep-sheet").getByRole("button", { name: "Draw the curves" }).click();
      await page.locator(".sweep-sheet svg.curve").nth(1).waitFor();
    },
  },
  "board-faults": {
    browser: { viewport: { width: 1024, height: 768 }, colorScheme: "light" },
    set: async (page) => {
      const text = (await demoText(page)).replace("tooth_count = 15", "tooth_count = 15.5").replace("lift_deg = 8.5", "lift_dge = 8.5");
      await openText(page, "faulty.toml", text);
      await margin(page, "text");
      await page.locator("#text-said button").first().waitFor();
    },
  },
  "board-phone": {
    browser: { viewport: PHONE, isMobile: true, hasTouch: true, colorScheme: "light" },
    set: (page) => ribbon(page, ["PageDown", "PageDown", "PageDown", ...Array(12).fill("ArrowRight")]),
  },
};

/** Sounds of an invented watch in three positions. */
const WATCH = /** @type {const} */ ([["CH", 5.2, 274], ["FH", 3.1, 270], ["9H", -4.4, 243]]);

PICTURES["listening-day"] = {
  browser: { viewport: DESK, colorScheme: "light" },
  set: async (page) => {
    await page.locator(".title-block").getByRole("button", { name: "listen", exact: true }).click();
    const write = (label, text) => page.locator(".sound-stated").getByLabel(label, { exact: true }).fill(text);
    await write("lift", "52");
    await write("clock is fast by", "3.2");
    await write("known to ±", "1.5");
    await page.keyboard.press("Enter");
    for (const [i, [position, rate_s_per_day, amplitude_deg]] of WATCH.entries()) {
      await page.getByRole("button", { name: `${position}, ` }).click();
      const sound = wav(ticking({ rate_s_per_day, amplitude_deg, seed: 20 + i, noise: 0.01, jitter_ms: 0.05, wander_ms: 0.06, wander_s: 12 }));
      await page.getByLabel("Choose a recording").setInputFiles({ name: `watch ${position}.wav`, mimeType: "audio/wav", buffer: sound });
      await page.locator(".title-block h1", { hasText: position }).waitFor();
      await page.locator(".bars table").waitFor();
      if (i < WATCH.length - 1) await page.getByRole("button", { name: `keep as ${position}`, exact: true }).click();
    }
    await page.locator(".beats-drawn .shock").first().waitFor({ state: "attached" });
    await page.evaluate(() => document.activeElement?.blur());
  },
};

checks("pictures of the manual", ({ open, check }) => {
  for (const [name, { browser, set }] of Object.entries(PICTURES)) {
    check(name, async () => {
      const page = await open({ browser });
      await page.evaluate(() => document.fonts.ready);
      await until(() => page.locator(".title-block .moment").count(), (n) => n > 0, "the moment in the title block");
      await set(page);
      await page.waitForTimeout(300);
      const taken = withPalette(await page.screenshot({ animations: "disabled" }));
      assert.ok(taken.length < BYTES_MAX, `${taken.length} bytes`);
      if (process.env.UPDATE_MANUAL) writeFileSync(`${DOCS}pictures/${name}.png`, taken);
      const kept = statSync(`${DOCS}pictures/${name}.png`);
      assert.ok(kept.size < BYTES_MAX, `docs/pictures/${name}.png has ${kept.size} bytes`);
    });
  }

  check("the manual names these and no others", async () => {
    const manual = ["board", "listening"].map((name) => readFileSync(`${DOCS}manual/${name}.md`, "utf8")).join("");
    const named = [...manual.matchAll(/\.\.\/pictures\/((?:board|listening)-[a-z]+)\.png/g)].map((m) => m[1]);
    assert.deepEqual([...new Set(named)].sort(), Object.keys(PICTURES).sort());
  });
});
