// The page for everyone: by keyboard alone, to a screen reader, on a phone, by night, on paper.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { DESK, PHONE, checks, demoText, field, figure, grip, margin, numberOf, openText, textOf, until } from "./page.mjs";

const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const PARTS = ["statement", "text", "notes", "sweep"];
/** Least height and width of what is touched, as docs/design.md has it: px on a phone, px else. */
const TARGET = { phone: 40, desk: 24 };
const phone = { viewport: PHONE, isMobile: true, hasTouch: true, deviceScaleFactor: 2 };
/** An invented movement with findings: the stones are set so far out that they do not let go. */
const wrong = (demo) => `${demo.trimEnd()}\n\n[pallets.exit]\nstone_out_mm = 0.06\n\n[pallets.entry]\nstone_out_mm = -0.03\n`;

/** Everything that can have the focus and is shown, marked so that it is known again. */
const markReachable = (page) => page.evaluate(() => {
  const all = [...document.querySelectorAll("a[href], button, input, select, textarea, summary, [tabindex]")];
  return all.filter((e) => e.tabIndex >= 0 && !e.disabled && e.checkVisibility({ visibilityProperty: true }))
    .map((e, i) => {
      e.dataset.reach = String(i);
      return e.getAttribute("aria-label") ?? e.textContent.trim().slice(0, 40);
    });
});

/** What has the focus, and how that is seen. */
const focused = (page) => page.evaluate(() => {
  const at = document.activeElement;
  if (!at || at === document.body) return null;
  // The text's line is round the whole of its field: what scrolls lies within.
  const style = getComputedStyle(at.closest(".editor") ?? at);
  const box = at.getBoundingClientRect();
  return {
    mark: at.dataset.reach ?? null,
    name: `${at.tagName} ${at.getAttribute("aria-label") ?? at.textContent.trim().slice(0, 40)}`,
    outline: style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth),
    seen: box.width > 0 && box.height > 0,
  };
});

/** Presses a key until the focus is where it is asked for. */
async function reach(page, name, key = "Tab") {
  for (let i = 0; i < 400; i += 1) {
    await page.keyboard.press(key);
    if ((await focused(page))?.name.includes(name)) return;
  }
  assert.fail(`${name} was not reached`);
}

/** Shows each part of a margin in turn: on a desk both margins are open. */
async function eachPart(page, act) {
  for (const part of PARTS) {
    await margin(page, part);
    await act(part);
  }
}

checks("the page for everyone", ({ open, check }) => {
  check("Tab reaches everything, traps nowhere, and shows where it is", async () => {
    const page = await open();
    await page.getByRole("button", { name: "grips" }).click();
    for (const [left, right] of [["statement", "notes"], ["text", "sweep"]]) {
      await margin(page, left);
      await margin(page, right);
      // What is offered of the selected parameter comes and goes with the selection.
      await page.evaluate(async () => (await import("/state.js")).select(null));
      const names = await markReachable(page);
      assert.ok(names.length > 40, `${names.length} places`);
      await page.evaluate(() => {
        document.activeElement?.blur();
        getSelection()?.removeAllRanges();
        document.querySelector(".tabs button").focus();
      });
      const visited = new Set();
      const blind = [];
      for (let i = 0; i < 2 * names.length + 10; i += 1) {
        await page.keyboard.press("Tab");
        const at = await focused(page);
        if (at?.mark) {
          visited.add(Number(at.mark));
          if (at.outline < 2 || !at.seen) blind.push(at.name);
        }
      }
      const missed = names.filter((_, i) => !visited.has(i));
      assert.deepEqual(missed, [], `${left} and ${right}: not reached`);
      assert.deepEqual([...new Set(blind)], [], `${left} and ${right}: focus not seen`);
      // Back again as well.
      await page.locator(".ribbon").focus();
      await page.keyboard.press("Shift+Tab");
      assert.ok((await focused(page)) && !(await page.locator(".ribbon").evaluate((e) => e === document.activeElement)));
    }
  });

  check("the figures are one stop of Tab, gone through by arrow keys; grips that are off are none", async () => {
    const page = await open();
    const stops = (await markReachable(page)).length;
    assert.ok(stops < 105, `${stops} stops`);
    assert.equal(await page.locator(".grip").evaluateAll((all) => all.filter((g) => g.tabIndex >= 0).length), 0);
    const names = page.locator(".figures button.name");
    assert.equal(await names.evaluateAll((all) => all.filter((n) => n.tabIndex >= 0).length), 1);
    await page.evaluate(() => document.activeElement.blur());
    await page.keyboard.press("Tab");
    assert.ok((await focused(page)).name.includes("to the moment"), "the first stop leads past the statement");
    await page.keyboard.press("Enter");
    assert.ok((await focused(page)).name.includes("Moment of the oscillation"));
    await reach(page, "Try the sideshake");
    await page.keyboard.press("Tab");
    const at = () => page.evaluate(() => [...document.querySelectorAll(".figures button.name")].indexOf(document.activeElement));
    assert.equal(await at(), 0);
    for (const [key, place] of [["ArrowDown", 1], ["ArrowDown", 2], ["ArrowUp", 1], ["End", (await names.count()) - 1], ["Home", 0], ["ArrowDown", 1]]) {
      await page.keyboard.press(key);
      assert.equal(await at(), place, key);
    }
    await page.keyboard.press("Enter");
    assert.equal(await names.nth(1).getAttribute("aria-pressed"), "true");
    await page.keyboard.press("Tab");
    assert.equal(await at(), -1, "the next Tab leaves the table");
    await page.keyboard.press("Shift+Tab");
    assert.equal(await at(), 1, "and comes back to where it was");
  });

  check("what a press would hold is marked: the part with all that turns with it, the paper by another hand", async () => {
    const page = await open();
    const place = (part) => page.evaluate((name) => {
      const box = document.querySelector("svg.drawing").getBoundingClientRect();
      for (let y = box.top + 40; y < box.bottom; y += 3) {
        for (let x = box.left + 40; x < box.right; x += 3) {
          const there = document.elementFromPoint(x, y);
          if (!there?.closest("svg.drawing") || there.closest("[data-inset]")) continue;
          if ((there.dataset.part ?? "paper") === name) return { x, y, cursor: getComputedStyle(there).cursor };
        }
      }
      return null;
    }, part);
    const strokes = () => page.evaluate(() => Object.fromEntries([...document.querySelectorAll("svg.drawing > .drawn path.body")].map((e) =>
      [e.dataset.part, getComputedStyle(e).stroke])));
    const paper = await place("paper");
    await page.mouse.move(paper.x, paper.y);
    const plain = await strokes();
    for (const [part, others] of [["escape wheel", []], ["lever", ["entry stone", "exit stone"]]]) {
      const at = await place(part);
      assert.notEqual(at.cursor, paper.cursor);
      await page.mouse.move(at.x, at.y);
      const marked = await strokes();
      for (const name of [part, ...others]) assert.notEqual(marked[name], plain[name], `${name} over ${part}`);
      assert.equal(marked["entry banking"], plain["entry banking"]);
      assert.equal(part === "lever" ? marked["escape wheel"] : marked.lever, part === "lever" ? plain["escape wheel"] : plain.lever);
    }
    await page.mouse.move(paper.x, paper.y);
    assert.deepEqual(await strokes(), plain);
  });

  check("on a phone a swipe up beside the parts scrolls the page; sideways it moves the paper, on a part it turns that", async () => {
    const page = await open({ browser: phone });
    const line = await page.context().newCDPSession(page);
    const swipe = async ([x, y], dx, dy) => {
      const at = (part) => [{ x: x + part * dx, y: y + part * dy }];
      await line.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints: at(0) });
      for (let i = 1; i <= 10; i += 1) await line.send("Input.dispatchTouchEvent", { type: "touchMove", touchPoints: at(i / 10) });
      await line.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
    };
    const state = () => page.evaluate(async () => {
      const { instant, wantedView } = await import("/state.js");
      return { scrolled: scrollY, view: wantedView.value, instant: instant.value };
    });
    const { x, y } = await page.locator("svg.drawing").boundingBox();
    await swipe([x + 30, y + 220], 0, -160);
    const scrolled = await until(state, (s) => s.scrolled > 60, "the page");
    assert.equal(scrolled.view, null, "the paper stays");
    // It goes on by itself for a while.
    await page.evaluate(async () => {
      for (let still = 0, last = -1; still < 10; last = scrollY) {
        await new Promise(requestAnimationFrame);
        still = scrollY === last ? still + 1 : 0;
      }
      scrollTo(0, 0);
    });
    await swipe([x + 30, y + 60], 120, 4);
    const moved = await until(state, (s) => s.view !== null, "the paper");
    assert.equal(moved.scrolled, 0);
    // Closer up the finger moves the paper every way.
    await swipe([x + 30, y + 60], 0, -50);
    const up = await until(state, (s) => s.view.y_mm < moved.view.y_mm, "the paper moved up");
    assert.equal(up.scrolled, 0);
    await page.evaluate(async () => ((await import("/state.js")).wantedView.value = null));
    const lever = await page.evaluate(() => {
      const box = document.querySelector('svg.drawing path.body[data-part="lever"]').getBoundingClientRect();
      for (let py = box.top; py < box.bottom; py += 2) {
        for (let px = box.left; px < box.right; px += 2) if (document.elementFromPoint(px, py)?.dataset.part === "lever") return [px, py];
      }
      return null;
    });
    await swipe(lever, 40, -40);
    const turned = await until(state, (s) => s.instant > 0, "the lever");
    assert.deepEqual([turned.scrolled, turned.view], [0, null]);
  });

  check("everything is done by keyboard: turn, change, move a stone, look closer, compare, undo", async () => {
    const page = await open();
    await reach(page, "Moment of the oscillation");
    await page.keyboard.press("PageDown");
    assert.match(await page.locator(".ribbon").getAttribute("aria-valuetext"), /^entry beat, unlocking/);
    await reach(page, "compare from here", "Shift+Tab");
    await page.keyboard.press("Enter");
    await reach(page, "grips", "Shift+Tab");
    await page.keyboard.press("Enter");
    await reach(page, "exit drop, deg", "Shift+Tab");
    await page.keyboard.press("Control+a");
    await page.keyboard.type("1.85");
    await page.keyboard.press("Enter");
    await until(() => figure(page, "drop", "exit"), (v) => v === 1.85, "exit drop");
    assert.ok(await page.locator("svg.drawing > .drawn > .before path").count());
    await reach(page, "exit stone out or in");
    const before = Number(await grip(page, "pallets.exit.stone_out_mm").getAttribute("aria-valuenow"));
    await page.keyboard.press("ArrowUp");
    await page.keyboard.press("Shift+ArrowUp");
    const step = await until(
      async () => Number(await grip(page, "pallets.exit.stone_out_mm").getAttribute("aria-valuenow")) - before,
      (v) => v > 0, "the stone moved",
    );
    assert.match(await grip(page, "pallets.exit.stone_out_mm").getAttribute("aria-valuetext"), /^\d\.\d{4} mm$/);
    await until(() => textOf(page), (t) => /stone_out_mm = 0\.0/.test(t), `the text after ${step} mm`);
    await reach(page, "show exit", "Shift+Tab");
    const scale = () => page.locator(".title-block .kind .figure").innerText();
    const whole = await scale();
    await page.keyboard.press("Enter");
    assert.notEqual(await scale(), whole);
    await reach(page, "Drawing: arrow keys");
    const close = numberOf((await scale()).replace("scale ", ""));
    await page.keyboard.press("+");
    assert.ok(numberOf((await scale()).replace("scale ", "")) > close);
    await page.keyboard.press("Escape");
    assert.equal(await scale(), whole);
    for (let i = 0; i < 3; i += 1) await page.keyboard.press("Control+z");
    await until(() => figure(page, "drop", "exit"), (v) => v === 1.6, "exit drop after undoing");
  });

  check("axe finds nothing: day and night, desk and phone, every part of the margins, with findings and faults", async () => {
    for (const colorScheme of ["light", "dark"]) {
      for (const [screen, browser] of [["desk", { viewport: DESK }], ["phone", phone]]) {
        // What axe itself puts on the page is not the page's.
        const page = await open({ browser: { ...browser, colorScheme, bypassCSP: true } });
        const judge = async (state) => {
          await page.evaluate(AXE);
          const found = await page.evaluate(async () => (await axe.run({ preload: false })).violations.map((v) =>
            `${v.id}: ${v.nodes.slice(0, 3).map((n) => `${n.html.slice(0, 120)} ${n.failureSummary}`).join("; ")}`));
          assert.deepEqual(found, [], `${colorScheme}, ${screen}, ${state}`);
        };
        await page.getByRole("button", { name: "grips" }).click();
        await eachPart(page, (part) => judge(part));
        await page.locator(".sweep-sheet").getByRole("button", { name: "Draw the curves" }).click();
        await page.locator(".sweep-sheet svg.curve").first().waitFor();
        await judge("a sweep");
        await openText(page, "wrong.toml", wrong(await demoText(page)));
        await margin(page, "notes");
        await page.locator(".findings").waitFor();
        await page.locator(".findings button.said").first().click();
        await judge("findings");
        await openText(page, "faulty.toml", "format = 1\n[wheel]\ntooth_count = 15.5\n");
        await margin(page, "text");
        await page.locator("#text-said button").first().waitFor();
        await judge("a faulty text");
        await margin(page, "statement");
        await judge("the parts list of a faulty text");
      }
    }
  });

  check("a phone shows everything in one column, without scrolling sideways, large enough to touch", async () => {
    const page = await open({ browser: phone });
    await eachPart(page, async (part) => {
      const wide = await page.evaluate(() => document.scrollingElement.scrollWidth);
      assert.ok(wide <= PHONE.width, `${part}: ${wide} px wide`);
      const small = await page.evaluate((least) => [...document.querySelectorAll("button, select, input, summary")]
        .filter((e) => e.checkVisibility({ visibilityProperty: true }) && !e.closest(".unseen") && !e.classList.contains("unseen"))
        .filter((e) => e.getBoundingClientRect().height < least)
        .map((e) => `${e.getAttribute("aria-label") ?? e.textContent.trim()}: ${e.getBoundingClientRect().height}`), TARGET.phone);
      assert.deepEqual(small, [], `${part}: less than ${TARGET.phone} px high`);
    });
    const order = await page.evaluate(() => [".title-block", ".ribbon", ".paper", ".margin.left", ".margin.right"]
      .map((name) => document.querySelector(name).getBoundingClientRect().top));
    assert.deepEqual(order, [...order].sort((a, b) => a - b), "title block, ribbon, sheet, margins");
    // Turned with a finger.
    await page.locator(".ribbon").scrollIntoViewIfNeeded();
    const bands = await page.locator(".ribbon .bands").first().boundingBox();
    await page.touchscreen.tap(bands.x + 0.5 * bands.width, bands.y + bands.height / 2);
    await until(async () => Number(await page.locator(".ribbon").getAttribute("aria-valuenow")), (i) => i > 0, "the moment");
  });

  check("nothing is cut at 1024 px", async () => {
    const page = await open({ browser: { viewport: { width: 1024, height: 768 } } });
    await eachPart(page, async (part) => {
      const wide = await page.evaluate(() => document.scrollingElement.scrollWidth);
      assert.ok(wide <= 1024, `${part}: ${wide} px wide`);
    });
  });

  check("asked for less motion, nothing moves by itself", async () => {
    const page = await open({ browser: { reducedMotion: "reduce", viewport: DESK } });
    const moving = await page.evaluate(() => document.getAnimations().length);
    assert.equal(moving, 0);
  });

  check("printed, it is one sheet with its title block, drawn at the scale it names", async () => {
    const page = await open();
    const paper = (await page.pdf({ preferCSSPageSize: true, printBackground: true })).toString("latin1");
    assert.equal(paper.match(/\/Type\s*\/Page\b/g)?.length, 1, "one page");
    const box = paper.match(/\/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)/)?.slice(1).map(Number);
    // A4 landscape, in points of a 72nd of an inch (ISO 216).
    assert.ok(Math.abs(box[0] - (297 / 25.4) * 72) < 1 && Math.abs(box[1] - (210 / 25.4) * 72) < 1, `page of ${box} points`);
    await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
    await page.emulateMedia({ media: "print" });
    const shown = (name) => page.locator(name).first().isVisible();
    for (const name of [".title-block h1", ".title-block .kind .figure", "svg.drawing"]) assert.ok(await shown(name), name);
    for (const name of [".margin", ".ribbon", ".places", ".grips", ".title-block button"]) assert.ok(!(await shown(name)), name);
    const ink = await page.locator("svg.drawing > .drawn path.body").first().evaluate((e) => getComputedStyle(e).stroke);
    assert.equal(ink, "rgb(0, 0, 0)");
    const bar = await page.locator("svg.drawing > .scale").evaluate((e) => {
      const { width } = e.querySelector("path").getBoundingClientRect();
      return { px: width, text: e.querySelector("text").textContent };
    });
    const scale = numberOf((await page.locator(".title-block .kind .figure").innerText()).replace("scale ", ""));
    const [length, unit] = bar.text.split(" ");
    const printed_mm = (bar.px / 96) * 25.4;
    assert.equal(unit, "mm");
    assert.ok(Math.abs(printed_mm / (Number(length) * scale) - 1) < 0.01, `${printed_mm} mm on paper for ${bar.text} at ${scale} : 1`);
    await page.emulateMedia({ media: "screen" });
    await page.evaluate(() => dispatchEvent(new Event("afterprint")));
    assert.ok(await shown(".ribbon"));
  });
});
