// Takes the pictures of docs/manual/board.md. With UPDATE_MANUAL=1 they are written to docs/pictures; without it they are
// taken all the same, and the manual is checked to name just these.
import assert from "node:assert/strict";
import { readFileSync, statSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { DESK, PHONE, checks, demoText, figure, grip, margin, openText, until } from "./page.mjs";
import { withPalette } from "./png.mjs";

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
    const manual = readFileSync(`${DOCS}manual/board.md`, "utf8");
    const named = [...manual.matchAll(/\.\.\/pictures\/(board-[a-z]+)\.png/g)].map((m) => m[1]);
    assert.deepEqual([...new Set(named)].sort(), Object.keys(PICTURES).sort());
  });
});
