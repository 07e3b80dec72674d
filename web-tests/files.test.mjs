// Movement files on the page: faults read in place, saved and opened with their comments, two tabs, a bench that goes away
// and comes back.
import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { DESK, checks, demoText, drawn, field, figure, margin, openPage, openText, outline, textOf, until } from "./page.mjs";
import { printed, removeFolder, startBench, stateFolder } from "./program.mjs";

const FAULTY = `# Written in a hurry: \u03b5 is not stated.
format = 1
name = "Four faults"

[wheel]
tooth_count = 15.5
locking_radius_mm = 2250      # the figure is in \u00b5m
tooth_widht_deg = 4.0

[pallets]
lock_deg = "one and a half"
lift_deg = 8.5
`;

/** What the page says of a text, as the margin lists it. */
const said = (page) => page.locator("#text-said li").allInnerTexts();
const link = (page) => page.locator(".title-block .verdict", { hasText: "Waiting for the bench" });

checks("movement files", ({ open, check, at }) => {
  check("a bad file is opened and all its faults are read in place", async () => {
    const page = await open();
    await margin(page, "text");
    await page.locator(".ribbon").focus();
    await page.keyboard.press("PageDown");
    const before = await outline(page, "lever");
    await openText(page, "faulty.toml", FAULTY);
    const path = join(at.state, "faulty.toml");
    writeFileSync(path, FAULTY);
    const told = JSON.parse(await printedFaults(path)).diagnostics;
    assert.equal(told.length, 4, "the command finds four");
    const rows = await until(() => said(page), (all) => all.length === told.length, "faults listed");
    // As the page writes it: without quoting marks, with true minus signs.
    const plain = (text) => text.replaceAll("`", "").replace(/(^|\s)-(?=\d)/g, "$1\u2212");
    for (const { message, allowed, value, hint, place, severity } of told) {
      const row = rows.find((r) => r.includes(plain(message)));
      assert.ok(row, `${message} is listed in ${JSON.stringify(rows)}`);
      assert.ok(row.includes(`line ${place.line}: `) && row.startsWith(severity), row);
      for (const part of [allowed, value, hint?.slice(1)]) {
        if (part) assert.ok(row.includes(plain(part)), `${part} is said in ${row}`);
      }
    }
    // Each is marked where it stands, beside the line's number too.
    const marks = await page.locator(".text-sheet pre mark").allInnerTexts();
    assert.deepEqual(marks, ["15.5", "2250", "tooth_widht_deg", '"one and a half"']);
    const numbers = await page.locator(".text-sheet .gutter .error").allInnerTexts();
    assert.deepEqual(numbers.map((n) => Number(n.replace(/\D/g, ""))), [6, 7, 8, 11]);
    // A fault leads to its place.
    await page.locator("#text-said button").nth(2).click();
    const chosen = await page.locator(".text-sheet textarea").evaluate((f) => f.value.slice(f.selectionStart, f.selectionEnd));
    assert.equal(chosen, "tooth_widht_deg");
    const verdict = await page.locator(".title-block .verdict").innerText();
    assert.match(verdict, /^Cannot be worked out: wheel tooth count needs a whole number\./);
    await page.locator(".ribbon").focus();
    await page.keyboard.press("PageDown");
    assert.equal(await outline(page, "lever"), before, "the last drawing stays, and is still turned");
    // Mended where it stands, it is drawn.
    const demo = await demoText(page);
    await page.locator(".text-sheet textarea").fill(demo);
    await until(() => said(page), (all) => all.length === 0, "nothing is wrong any more");
    assert.match(await page.locator("#text-said").innerText(), /in order/);
  });

  check("a file is saved and opened again, with everything that was written in it", async () => {
    const page = await open();
    const begun = `# Bench of M. Muster, \u201cno. 7\u201d\n${await demoText(page)}\n# Last line: 0.05 \u2212 0.02 mm\n`;
    await openText(page, "muster.toml", begun);
    await field(page, "pallets.exit.drop_deg").fill("1.8");
    await page.keyboard.press("Enter");
    await until(() => figure(page, "drop", "exit"), (v) => v === 1.8, "exit drop");
    const [file] = await Promise.all([
      page.waitForEvent("download"),
      page.locator(".title-block").getByRole("button", { name: "save", exact: true }).click(),
    ]);
    assert.equal(file.suggestedFilename(), "muster.toml");
    const path = join(at.state, "saved.toml");
    await file.saveAs(path);
    const saved = readFileSync(path, "utf8");
    assert.equal(saved, await textOf(page));
    const left = saved.split("\n").filter((line) => !begun.split("\n").includes(line)).filter((line) => line !== "");
    assert.deepEqual(left, ["[pallets.exit]", "drop_deg = 1.8"], "what was added");
    assert.deepEqual(begun.split("\n").filter((line) => !saved.split("\n").includes(line)), [], "what was lost");
    await page.locator(".title-block .file", { hasText: "not saved" }).waitFor({ state: "detached" });
    // The command reads what the page wrote.
    const told = JSON.parse(await printed("check", path, "--json"));
    assert.equal(told.figures.exit.drop_deg.toFixed(3), "1.800");
    const again = await open();
    await again.getByLabel("Open a movement file").setInputFiles(path);
    await until(() => figure(again, "drop", "exit"), (v) => v === 1.8, "exit drop, opened again");
    assert.equal(await textOf(again), saved);
  });

  check("a file dropped on the page is opened", async () => {
    const page = await open();
    const text = (await demoText(page)).replace("Demo: flat wrist movement", "Dropped");
    await page.evaluate((content) => {
      const dataTransfer = new DataTransfer();
      dataTransfer.items.add(new File([content], "dropped.toml", { type: "application/toml" }));
      const over = { bubbles: true, cancelable: true, dataTransfer };
      const paper = document.querySelector("svg.drawing");
      for (const kind of ["dragover", "drop"]) paper.dispatchEvent(new DragEvent(kind, over));
    }, text);
    await page.locator(".title-block h1", { hasText: "Dropped" }).waitFor();
    assert.equal(await textOf(page), text);
  });

  check("a reload takes up the work, its undo with it", async () => {
    const page = await open();
    const begun = await textOf(page);
    await field(page, "pallets.exit.drop_deg").fill("1.7");
    await page.keyboard.press("Enter");
    const text = await until(() => textOf(page), (t) => t !== begun, "the text");
    page.once("dialog", (dialog) => dialog.accept());
    await page.reload();
    await drawn(page);
    assert.equal(await textOf(page), text);
    await page.locator(".title-block").getByRole("button", { name: "undo", exact: true }).click();
    assert.equal(await textOf(page), begun);
  });

  check("two tabs do not disturb one another", async () => {
    const context = await at.browser.newContext({ viewport: DESK });
    const [one, two] = [await open({ context }), await open({ context })];
    const begun = await textOf(two);
    await field(one, "pallets.exit.drop_deg").fill("1.7");
    await one.keyboard.press("Enter");
    await until(() => figure(one, "drop", "exit"), (v) => v === 1.7, "exit drop in the first tab");
    assert.equal(await figure(two, "drop", "exit"), 1.6);
    assert.equal(await textOf(two), begun);
    await field(two, "pallets.exit.drop_deg").fill("1.9");
    await two.keyboard.press("Enter");
    await until(() => figure(two, "drop", "exit"), (v) => v === 1.9, "exit drop in the second tab");
    assert.equal(await figure(one, "drop", "exit"), 1.7);
    // Each takes up its own again.
    for (const [page, drop] of [[one, 1.7], [two, 1.9]]) {
      page.once("dialog", (dialog) => dialog.accept());
      await page.reload();
      await drawn(page);
      await until(() => figure(page, "drop", "exit"), (v) => v === drop, "exit drop after a reload");
    }
  });

  check("the bench stops and starts again: the page waits, goes on, and loses nothing", async () => {
    const state = stateFolder();
    let bench = await startBench({ state });
    const context = await at.browser.newContext({ viewport: DESK });
    try {
      const page = await openPage(context, bench.url, { lineMayBreak: true });
      await until(() => figure(page, "drop", "exit"), (v) => v === 1.6, "exit drop to begin with");
      await bench.stop();
      await link(page).waitFor();
      // It is still turned by hand, and what is written waits.
      await page.locator(".ribbon").focus();
      await page.keyboard.press("PageDown");
      assert.match(await page.locator(".ribbon").getAttribute("aria-valuetext"), /unlocking/);
      await margin(page, "text");
      const written = page.locator(".text-sheet textarea");
      await written.fill((await written.inputValue()).replace("drop_deg = 1.6", "drop_deg = 1.75"));
      await written.blur();
      assert.equal(await figure(page, "drop", "exit"), 1.6, "nothing is made up without the bench");
      bench = await startBench({ state, port: bench.port });
      await link(page).waitFor({ state: "detached" });
      await until(() => figure(page, "drop", "exit"), (v) => v === 1.75, "exit drop once the bench is there again");
      assert.deepEqual(page.faults, []);
    } finally {
      await context.close();
      await bench.stop();
      removeFolder(state);
    }
  });

  check("a page with an old address is told so", async () => {
    const context = await at.browser.newContext({ viewport: DESK });
    const page = await context.newPage();
    await page.goto(at.program.url.replace(/token=.*/, "token=0"));
    await page.locator("body", { hasText: /does not know this page|open the address it printed/ }).waitFor();
    await context.close();
  });
});

/** What the command prints of a file with faults: status 2. */
async function printedFaults(path) {
  try {
    return await printed("check", path, "--json");
  } catch (error) {
    assert.equal(error.code, 2);
    return error.stdout;
  }
}
