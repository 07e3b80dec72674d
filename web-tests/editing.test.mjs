// Changing the movement: by field, by hand on the drawing, back and forth, beside the state before, over a range.
import assert from "node:assert/strict";
import {
  DESK, PHONE, checks, demoText, field, figure, grip, margin, numberOf, openText, outline, redoWord, textOf, undoWord, until,
} from "./page.mjs";
import { printed } from "./program.mjs";

const STONE = "pallets.exit.stone_out_mm";
const COMMENT = "# as it was found";

/** The demo movement with the exit stone's move stated, and a comment beside it. */
const commented = (demo) => `${demo.trimEnd()}\n\n[pallets.exit]\nstone_out_mm = 0.0   ${COMMENT}\n`;

/** Takes hold of a grip and moves it by px, in steps; the pointer stays down. */
async function drag(page, path, dx, dy, steps = 8) {
  const box = await grip(page, path).boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let i = 1; i <= steps; i += 1) await page.mouse.move(x + (dx * i) / steps, y + (dy * i) / steps);
}

/** What is read once it has been the same a few times over: the pointer's moves arrive one by one. */
async function atRest(read) {
  let [last, same] = [await read(), 0];
  await until(async () => {
    const now = await read();
    [last, same] = [now, now === last ? same + 1 : 0];
    return same;
  }, (count) => count >= 8, "something goes on changing");
  return last;
}

/** What the program's own command says of the demo movement. @param {string[]} set */
const told = async (...set) =>
  JSON.parse(await printed("check", "demo", "--json", ...set.flatMap((s) => ["--set", s]))).figures;

const held = async (page, path) => Number(await grip(page, path).getAttribute("aria-valuenow"));
const value = (text, path) => Number(text.match(new RegExp(`^${path} = (\\S+)`, "m"))?.[1] ?? NaN);

checks("changing the movement", ({ open, check }) => {
  check("what moves the parts is stated under headings of its own, and draws nothing", async () => {
    const page = await open();
    const balance = page.getByRole("region", { name: "In motion: balance and hairspring" });
    assert.equal(await balance.locator('[data-path="balance.inertia_mg_cm2"]').inputValue(), "10.0000");
    assert.equal(await balance.locator(".part-row .unit").first().innerText(), "mg cm\u00b2");
    assert.equal(await balance.locator('[data-path="balance.lift_deg"]').count(), 0, "the lift is the drawing's");
    await page.getByRole("button", { name: /In motion: surfaces: \d+ more/ }).click();
    const surfaces = page.getByRole("region", { name: "In motion: surfaces" });
    assert.equal(await surfaces.locator("input").count(), 8);
    const drawn = await outline(page, "escape wheel");
    await surfaces.locator('[data-path="surfaces.stone_friction_ratio"]').fill("0.15");
    await page.keyboard.press("Enter");
    await until(() => textOf(page), (text) => /stone_friction_ratio = 0\.15/.test(text), "the text");
    assert.equal(await outline(page, "escape wheel"), drawn);
  });

  check("a lock that is edited changes table and drawing, as the command says it", async () => {
    const page = await open();
    await until(() => figure(page, "lock", "entry"), (v) => v === 1.5, "entry lock of the demo movement");
    const stone = await outline(page, "entry stone");
    await field(page, "pallets.entry.lock_deg").fill("2.1");
    await page.keyboard.press("Enter");
    // Lift and the other lock are stated too: it is said in place what would have to be, and the drawing waits.
    const clash = page.locator('.part-row:has([data-path="pallets.entry.lock_deg"]) .fault');
    assert.match(await clash.innerText(), /holds with\s+exit lock 2\.100 deg/);
    assert.equal(await outline(page, "entry stone"), stone, "the last state that could be worked out stays");
    await field(page, "pallets.exit.lock_deg").fill("2.1");
    await page.keyboard.press("Enter");
    await until(() => figure(page, "lock", "entry"), (v) => v === 2.1, "entry lock");
    assert.equal(await clash.count(), 0);
    assert.notEqual(await outline(page, "entry stone"), stone, "the drawing of the stone");
    const { entry, exit } = await told("pallets.entry.lock_deg=2.1", "pallets.exit.lock_deg=2.1");
    for (const [side, of] of [["entry", entry], ["exit", exit]]) {
      for (const [words, name] of [["lock", "lock_deg"], ["total lock", "total_lock_deg"], ["drop", "drop_deg"]]) {
        assert.equal(await figure(page, words, side), Number(of[name].toFixed(3)), `${side} ${words}`);
      }
    }
    assert.match(await textOf(page), /drop_deg = 1\.6 +# on both sides: each stone gets its own breadth/);
  });

  check("a stone is dragged: numbers follow, letting go is one step, the text has the value and its comment", async () => {
    const page = await open();
    const begun = commented(await demoText(page));
    await openText(page, "stone.toml", begun);
    await margin(page, "text");
    await page.getByRole("button", { name: "grips" }).click();
    await page.getByRole("button", { name: "show exit" }).click();
    await until(() => figure(page, "lock", "exit"), (v) => v === 1.5, "exit lock to begin with");
    const stone = await outline(page, "exit stone");
    const steps = await page.evaluate(async () => (await import("/state.js")).history.value.past.length);
    await drag(page, STONE, 0, 30);
    const out_mm = await atRest(() => held(page, STONE));
    assert.ok(Math.abs(out_mm) > 0.001, `${out_mm} mm are held`);
    const { exit } = await told(`${STONE}=${out_mm}`);
    const lock = Number(exit.lock_deg.toFixed(3));
    assert.ok(Math.abs(lock - 1.5) > 0.01, `${out_mm} mm move the lock`);
    await until(() => figure(page, "lock", "exit"), (v) => v === lock, `exit lock while dragging, for ${lock}`);
    assert.notEqual(await outline(page, "exit stone"), stone, "the drawing of the stone");
    assert.equal(await textOf(page), begun, "nothing is written while it is held");
    await page.mouse.up();
    const text = await until(() => textOf(page), (t) => t !== begun, "the text after letting go");
    assert.equal(value(text, "stone_out_mm"), out_mm);
    assert.equal(text, begun.replace("stone_out_mm = 0.0 ", `stone_out_mm = ${out_mm} `), "nothing else is written");
    assert.ok(text.includes(COMMENT));
    const after = await page.evaluate(async () => (await import("/state.js")).history.value.past.length);
    assert.equal(after, steps + 1, "steps that can be undone");
    await undoWord(page).click();
    assert.equal(await textOf(page), begun, "one undo takes the whole drag back");
    await until(() => figure(page, "lock", "exit"), (v) => v === 1.5, "exit lock after undoing");
  });

  check("a drag that is broken off with Escape leaves nothing behind", async () => {
    const page = await open();
    await page.getByRole("button", { name: "grips" }).click();
    await page.getByRole("button", { name: "show exit" }).click();
    const begun = await textOf(page);
    const entry = await held(page, STONE);
    await drag(page, STONE, 0, 30);
    await until(() => held(page, STONE), (v) => v !== entry, "what is held");
    await page.keyboard.press("Escape");
    await page.mouse.up();
    await until(() => held(page, STONE), (v) => v === entry, "what is held after Escape");
    await until(() => figure(page, "lock", "exit"), (v) => v === 1.5, "exit lock after Escape");
    assert.equal(await textOf(page), begun);
  });

  check("the parts list keeps the line in view of what is moved on the drawing", async () => {
    const page = await open();
    await grip(page, STONE).focus();
    await page.keyboard.press("ArrowUp");
    await page.getByRole("button", { name: "Take the statement away" }).waitFor();
    const inView = () => page.evaluate((path) => {
      const row = document.querySelector(`.part-row:has([data-path="${path}"])`)?.getBoundingClientRect();
      const list = document.querySelector(".parts").getBoundingClientRect();
      return Boolean(row && row.top >= list.top && row.bottom <= list.bottom);
    }, STONE);
    await until(inView, (v) => v, "the line of the exit stone is in view");
  });

  check("undo and redo go over fields, drags and typing, by key and by word", async () => {
    const page = await open();
    const texts = [await textOf(page)];
    await field(page, "pallets.exit.drop_deg").fill("1.9");
    await page.keyboard.press("Enter");
    texts.push(await until(() => textOf(page), (t) => t !== texts[0], "text after the field"));
    await page.getByRole("button", { name: "grips" }).click();
    await grip(page, "fork.longer_mm").focus();
    await page.keyboard.press("ArrowUp");
    texts.push(await until(() => textOf(page), (t) => t !== texts[1], "text after the grip"));
    await margin(page, "text");
    const written = page.locator(".text-sheet textarea");
    await written.press("Control+End");
    await page.keyboard.type("# looked at twice");
    texts.push(`${texts[2]}# looked at twice`);
    await written.blur();
    await page.locator(".title-block h1").click();
    for (const back of [2, 1]) {
      await page.keyboard.press("Control+z");
      assert.equal(await until(() => textOf(page), (t) => t === texts[back], "undone"), texts[back]);
    }
    await undoWord(page).click();
    assert.equal(await textOf(page), texts[0]);
    assert.ok(await undoWord(page).isDisabled(), "there is nothing before the beginning");
    await until(() => figure(page, "drop", "exit"), (v) => v === 1.6, "exit drop at the beginning");
    await redoWord(page).click();
    assert.equal(await textOf(page), texts[1]);
    for (const key of ["Control+Shift+z", "Control+y"]) await page.keyboard.press(key);
    assert.equal(await textOf(page), texts[3]);
    assert.ok(await redoWord(page).isDisabled());
    await until(() => figure(page, "drop", "exit"), (v) => v === 1.9, "exit drop done again");
  });

  check("presses of a key on one grip that follow one another are one step", async () => {
    const page = await open();
    const past = () => page.evaluate(async () => (await import("/state.js")).history.value.past.map((step) => step.label));
    const written = (path, wanted) => until(() => textOf(page), (t) => value(t, path) === wanted, `${path} = ${wanted}`);
    const begun = await textOf(page);
    await grip(page, STONE).focus();
    for (let i = 0; i < 3; i += 1) await page.keyboard.press("ArrowUp");
    await written("stone_out_mm", 0.003);
    assert.deepEqual(await past(), ["stone out 0.003"]);
    // A while later it is another step, and so it is on another grip.
    await page.evaluate(() => {
      const now = performance.now.bind(performance);
      performance.now = () => now() + 2000;
    });
    await grip(page, STONE).focus();
    await page.keyboard.press("ArrowDown");
    await written("stone_out_mm", 0.002);
    await grip(page, "fork.longer_mm").focus();
    for (let i = 0; i < 2; i += 1) await page.keyboard.press("ArrowUp");
    await written("longer_mm", 0.002);
    assert.deepEqual(await past(), ["stone out 0.003", "stone out 0.002", "longer 0.002"]);
    await page.keyboard.press("Control+z");
    const undone = await until(() => textOf(page), (t) => !/^longer_mm/m.test(t), "the fork undone");
    assert.equal(value(undone, "stone_out_mm"), 0.002);
    // What is undone is not gone on with.
    await grip(page, "fork.longer_mm").focus();
    await page.keyboard.press("ArrowUp");
    await written("longer_mm", 0.001);
    assert.deepEqual(await past(), ["stone out 0.003", "stone out 0.002", "longer 0.001"]);
    for (let i = 0; i < 3; i += 1) await page.keyboard.press("Control+z");
    await until(() => textOf(page), (t) => t === begun, "all undone");
  });

  check("what is held is sent in short; let go, the whole sheet is there", async () => {
    const page = await open();
    await page.evaluate(() => {
      window.asked = [];
      const send = WebSocket.prototype.send;
      WebSocket.prototype.send = function (data) {
        window.asked.push(JSON.parse(data));
        return send.call(this, data);
      };
    });
    await page.getByRole("button", { name: "grips" }).click();
    await page.getByRole("button", { name: "show exit" }).click();
    const begun = await textOf(page);
    await drag(page, STONE, 0, 12, 30);
    const out_mm = await atRest(() => held(page, STONE));
    const brief = await page.evaluate(() => window.asked.filter((q) => q.ask === "sheet" && q.brief).length);
    assert.ok(brief > 0, "some questions are in short");
    // Lists that wait for a whole sheet get one while it is still held.
    const { exit } = await told(`${STONE}=${out_mm}`);
    await until(() => figure(page, "lock", "exit"), (v) => v === Number(exit.lock_deg.toFixed(3)), "exit lock while it is held");
    await page.mouse.up();
    const text = await until(() => textOf(page), (t) => t !== begun, "the text after letting go");
    const whole = await page.evaluate((asked) => new Promise((done) => {
      const token = new URLSearchParams(location.search).get("token");
      const line = new WebSocket(`ws://${location.host}/socket?token=${token}`);
      const question = { ask: "sheet", revision: 1, name: "demo.toml", text: asked, set: [], beat: 0, sideshake: false, brief: false, shown: null };
      line.onopen = () => line.send(JSON.stringify(question));
      line.onmessage = ({ data }) => done(JSON.parse(data).sheet);
    }), text);
    assert.ok(whole.values.length > 0 && whole.curves.length > 0);
    const shown = () => page.evaluate(async () => {
      const { live, sheet } = await import("/state.js");
      return [live.value, sheet.value].map((s) => JSON.stringify(s));
    });
    await until(shown, (all) => all.every((s) => s === JSON.stringify(whole)), "the sheet after letting go");
  });

  check("no two grips lie on one another, each leads to its place", async () => {
    for (const browser of [{ viewport: DESK }, { viewport: PHONE, isMobile: true, hasTouch: true }]) {
      const page = await open({ browser });
      await page.getByRole("button", { name: "grips" }).click();
      for (const view of ["whole", "fork", "guard", "entry", "exit"]) {
        await page.getByRole("button", { name: `show ${view}`, exact: true }).click();
        const boxes = () => page.locator(".grip").evaluateAll((all) => all.map((e) => {
          const { left, right, top, bottom } = e.getBoundingClientRect();
          const lead = e.querySelector(".lead").getBoundingClientRect();
          const middle = [(left + right) / 2, (top + bottom) / 2];
          return { path: e.dataset.path, left, right, top, bottom, middle, led: Math.max(lead.width, lead.height) };
        }));
        const all = await until(boxes, (b) => b.length > 0, `${view}: grips`);
        const over = all.flatMap((a, i) => all.slice(i + 1)
          .filter((b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom)
          .map((b) => `${a.path} and ${b.path}`));
        assert.deepEqual(over, [], `${browser.viewport.width} px, ${view}`);
        if (view === "whole") assert.ok(all.some((g) => g.led > 8) && all.length > 10, "some are led to their places");
      }
    }
  });

  check("numbers in what the bench says have a true minus", async () => {
    const page = await open();
    await openText(page, "bent.toml", `${(await demoText(page)).trimEnd()}\n\n[bankings.exit]\nopen_mm = -0.02\n`);
    await page.locator(".findings").waitFor();
    await field(page, "pallets.entry.draw_deg").fill("999");
    await page.keyboard.press("Enter");
    await page.locator(".part-row .fault").first().waitFor();
    for (const place of [".findings", ".part-row .fault", ".title-block"]) {
      const said = await page.locator(place).first().innerText();
      assert.doesNotMatch(said, /(^|[\s(:,])-[\d.]/, place);
    }
    assert.match(await page.locator(".findings").innerText(), /\u2212\d/);
    assert.match(await page.locator(".part-row .fault").first().innerText(), /\u2212\d/);
  });

  check("units in what the bench says are written as beside a field", async () => {
    const page = await open();
    await margin(page, "text");
    await openText(page, "torque.toml", "format = 1\nname = \"torque\"\n[wheel]\ntooth_count = 15\nlocking_radius_mm = 2.5\ntorque_un_m = -1\n");
    const fault = page.locator("#text-said li").first();
    await fault.waitFor();
    assert.match(await fault.innerText(), /\u22121 \u00b5N m/);
    assert.doesNotMatch(await fault.innerText(), /uN m/);
  });

  check("the state before lies under the state after it, in drawing and table", async () => {
    const page = await open();
    await page.getByRole("button", { name: "show exit" }).click();
    const before = { stone: await outline(page, "exit stone"), drop: await figure(page, "drop", "exit") };
    await page.getByRole("button", { name: "compare from here" }).click();
    await field(page, "pallets.exit.drop_deg").fill("1.85");
    await page.keyboard.press("Enter");
    const drop = await until(() => figure(page, "drop", "exit"), (v) => v === 1.85, "exit drop");
    const ghosts = page.locator("svg.drawing > .drawn > .before path");
    const drawnBefore = await ghosts.evaluateAll((all) => all.map((p) => p.getAttribute("d")));
    assert.ok(drawnBefore.includes(before.stone), "the stone as it was is under the drawing");
    assert.notEqual(await outline(page, "exit stone"), before.stone);
    const row = page.locator(".figures tr", { has: page.getByRole("button", { name: "drop", exact: true }) }).first();
    const change = await row.locator("td").nth(1).locator(".change").innerText();
    assert.equal(numberOf(change.replace("changed by", "")), Number((drop - before.drop).toFixed(3)));
    await page.getByRole("button", { name: "compared with before" }).click();
    assert.equal(await ghosts.count(), 0);
    assert.equal(await page.locator(".figures .change").count(), 0);
  });

  check("a text that is emptied is a text with errors, then and after a reload, and comes back by undoing", async () => {
    const page = await open();
    await margin(page, "text");
    await page.locator(".text-sheet textarea").focus();
    await page.keyboard.press("Control+a");
    await page.keyboard.press("Delete");
    const said = page.locator("#text-said");
    await until(() => said.innerText(), (t) => /^error/.test(t), "what is said of it");
    assert.match(await page.locator(".title-block .verdict").innerText(), /^Cannot be worked out/);
    await page.locator(".title-block .file", { hasText: "not saved" }).waitFor();
    // The work is kept a little after the change.
    await until(() => page.evaluate(async () => {
      const { recall } = await import("/store.js");
      return (await recall(sessionStorage.getItem("sheet")))?.text;
    }), (t) => t === "", "the work kept");
    page.on("dialog", (dialog) => dialog.accept());
    await page.reload();
    await margin(page, "text");
    await until(() => said.innerText(), (t) => /^error/.test(t), "what is said of it after a reload");
    assert.match(await page.locator(".title-block .verdict").innerText(), /^Cannot be worked out/);
    await undoWord(page).click();
    await until(() => said.innerText(), (t) => t === "The file is in order.", "what is said after undoing");
  });

  check("a sweep draws the curves that the command prints", async () => {
    const page = await open();
    await margin(page, "sweep");
    const sheet = page.locator(".sweep-sheet");
    const [from, to, points] = [-0.02, 0.02, 9];
    await sheet.getByLabel("first").fill(String(from));
    await sheet.getByLabel("last").fill(String(to));
    await sheet.getByLabel("points").fill(String(points));
    await sheet.getByRole("button", { name: "Draw the curves" }).click();
    await sheet.locator("svg.curve").first().waitFor();
    assert.equal(await sheet.locator("svg.curve .line.ink").count(), 2, "a curve for each figure");
    await sheet.getByText("Values as a table").click();
    const rows = await sheet.locator("details table tbody tr").evaluateAll((all) =>
      all.map((row) => [...row.children].slice(0, 3).map((cell) => cell.textContent ?? "")));
    const axis = `${STONE}=${from}:${to}:${points}`;
    const csv = await printed("sweep", "demo", axis, "--figure", "exit.lock_deg", "--figure", "exit.drop_deg", "--csv");
    const lines = csv.trim().split("\n").slice(1).map((line) => line.split(",").slice(0, 3).map(Number));
    assert.equal(rows.length, points);
    const decimals = [4, 3, 3];
    rows.forEach((row, i) => row.forEach((cell, k) =>
      assert.equal(numberOf(cell), Number(lines[i][k].toFixed(decimals[k])), `point ${i}, column ${k}`)));
    const slider = sheet.locator("svg.curve").first();
    await slider.focus();
    await page.keyboard.press("End");
    assert.match(await slider.getAttribute("aria-valuetext"), /exit stone out 0\.0200 mm, exit lock [\d.]+ deg/);
  });
});
