// What the sheet looks like: words beside lines, insets beside the drawing, findings at their places.
import assert from "node:assert/strict";
import { DESK, PHONE, checks, demoText, field, figure, margin, numberOf, openText, until } from "./page.mjs";

const SMALL = { width: 1024, height: 768 };
const MOMENTS = 30;
/** Words whose places are tried in vain may lie on a line: at most so many of all. */
const ON_LINES_RATIO = 0.05;

/** Invented movements: a dart that is too long; a stone that does not let go. */
const guarded = (demo) => `${demo.trimEnd()}\n\n[guard]\nlonger_mm = 0.2\n`;
const jammed = (demo) => `${demo.trimEnd()}\n\n[pallets.exit]\nstone_out_mm = 0.06\n`;

/** Shows an instant of the table. */
async function show(page, instant) {
  await page.evaluate(async (to) => (await import("/state.js")).goTo(to), instant);
  await page.waitForFunction((to) => document.querySelector(".ribbon").getAttribute("aria-valuenow") === String(to), instant);
}

/** The first instant of a beat's phase, and some on. */
async function showPhase(page, pallet, phase, on = 0) {
  const first = await page.evaluate(async ([side, name]) =>
    (await import("/state.js")).live.value.oscillation.spans.find((s) => s.pallet === side && s.phase === name).first, [pallet, phase]);
  await show(page, first + on);
}

const instants = (page) => page.evaluate(async () => (await import("/state.js")).live.value.oscillation.wheel_deg.length);

/** Boxes of words on the sheet itself, and whether an outline of a part passes through them. */
const wordsOn = (page) => page.evaluate(() => {
  const drawing = document.querySelector("svg.drawing");
  const bodies = [...drawing.querySelectorAll(":scope > .drawn path.body")];
  const point = drawing.createSVGPoint();
  return [...drawing.querySelectorAll(":scope > .drawn > .said text")].map((text) => {
    const { x, y, width, height } = text.getBBox();
    let crossed = false;
    for (let i = 0; i <= 24; i += 1) {
      for (let k = 1; k < 4; k += 1) {
        [point.x, point.y] = [x + (i / 24) * width, y + (k / 4) * height];
        crossed ||= bodies.some((body) => body.isPointInStroke(point));
      }
    }
    return { text: text.textContent, left: x, right: x + width, top: y, low: y + height, crossed };
  });
});

/** Circles of the insets, and the title block, on the sheet. */
const kept = (page) => page.evaluate(() => {
  const drawing = document.querySelector("svg.drawing");
  const { left, top } = drawing.getBoundingClientRect();
  const circles = [...drawing.querySelectorAll("[data-inset] > .ground")].map((c) => {
    const box = c.getBoundingClientRect();
    return { name: c.parentElement.dataset.inset, x: box.left - left + box.width / 2, y: box.top - top + box.height / 2, r: box.width / 2 };
  });
  const title = document.querySelector(".title-block").getBoundingClientRect();
  return { circles, title: { left: title.left - left, right: title.right - left, top: title.top - top, low: title.bottom - top } };
});

const overlap = (a, b) => a.left < b.right && b.left < a.right && a.top < b.low && b.top < a.low;
const inCircle = ({ x, y, r }, [px, py]) => Math.hypot(px - x, py - y) < r;

/** Points along every outline of the sheet. */
const outlinePoints = (page) => page.evaluate(() =>
  [...document.querySelectorAll("svg.drawing > .drawn path.body")].flatMap((path) => {
    const length = path.getTotalLength();
    return Array.from({ length: Math.ceil(length / 4) }, (_, i) => path.getPointAtLength(4 * i)).map(({ x, y }) => [x, y]);
  }));

checks("the look of the sheet", ({ open, check }) => {
  check("words keep off one another, off insets and title block, and off the lines where there is room", async () => {
    const page = await open();
    const count = await instants(page);
    let [words, onLines] = [0, 0];
    for (let i = 0; i < MOMENTS; i += 1) {
      await show(page, Math.round((i * (count - 1)) / (MOMENTS - 1)));
      const { circles, title } = await kept(page);
      const all = await wordsOn(page);
      all.forEach((a, k) => {
        for (const b of all.slice(k + 1)) assert.ok(!overlap(a, b), `${a.text} lies over ${b.text}`);
        assert.ok(!overlap(a, title), `${a.text} runs under the title block`);
        const corners = [[a.left, a.top], [a.right, a.top], [a.left, a.low], [a.right, a.low]];
        for (const c of circles) assert.ok(!corners.some((p) => inCircle(c, p)), `${a.text} runs under the inset ${c.name}`);
      });
      words += all.length;
      onLines += all.filter((w) => w.crossed).length;
    }
    assert.ok(words > MOMENTS, `${words} words`);
    assert.ok(onLines <= ON_LINES_RATIO * words, `${onLines} of ${words} lie on an outline`);
  });

  check("insets and title block lie beside the drawing, all four insets at either width", async () => {
    for (const viewport of [DESK, SMALL]) {
      const page = await open({ browser: { viewport } });
      for (const name of ["fork", "guard"]) await page.getByRole("button", { name: `pin ${name}`, exact: true }).click();
      const { circles, title } = await kept(page);
      assert.equal(circles.length, 4);
      const points = await outlinePoints(page);
      assert.ok(points.length > 500, `${points.length} points`);
      for (const c of circles) {
        assert.ok(c.r >= 40, `${c.name} has a radius of ${c.r} px`);
        assert.ok(!points.some((p) => inCircle(c, p)), `${c.name} lies over the drawing at ${viewport.width} px`);
        for (const d of circles) assert.ok(c === d || Math.hypot(c.x - d.x, c.y - d.y) > c.r + d.r, `${c.name} lies over ${d.name}`);
      }
      assert.ok(!points.some(([x, y]) => x > title.left && y > title.top && y < title.low), "the title block lies over the drawing");
    }
  });

  check("a narrow sheet has the title block below it: nothing of the drawing and no scale bar is covered", async () => {
    const page = await open({ browser: { viewport: SMALL } });
    for (const left of ["statement", "text"]) {
      await margin(page, left);
      await margin(page, "notes");
      // The sheet is laid out anew by what its size is.
      const free = await until(() => page.evaluate(() => {
        const title = document.querySelector(".title-block").getBoundingClientRect();
        const inside = document.querySelector(".middle").getBoundingClientRect();
        const drawn = [...document.querySelectorAll("svg.drawing > .drawn path.body, svg.drawing > .scale")].map((e) => e.getBoundingClientRect());
        return {
          count: drawn.length,
          covered: drawn.filter((b) => b.bottom > title.top && b.right > title.left).length,
          outside: drawn.filter((b) => b.left < inside.left || b.right > inside.right || b.top < inside.top).length,
          shown: title.bottom <= inside.bottom + 1 && title.right <= inside.right + 1,
        };
      }), (f) => f.covered === 0 && f.outside === 0, `the sheet beside ${left} and notes`);
      assert.ok(free.count > 8 && free.shown, JSON.stringify(free));
    }
  });

  check("a phone has the drawing in the middle", async () => {
    const page = await open({ browser: { viewport: PHONE, isMobile: true, hasTouch: true } });
    const across = (await outlinePoints(page)).map(([x]) => x);
    const middle = (Math.min(...across) + Math.max(...across)) / 2;
    assert.ok(Math.abs(middle - PHONE.width / 2) < 3, `its middle is at ${middle} of ${PHONE.width} px`);
    const names = await page.locator(".beat:has(.now) .phase").evaluateAll((all) =>
      all.map((e) => ({ text: e.textContent, fits: e.scrollHeight <= e.clientHeight + 1 && getComputedStyle(e).fontSize !== "0px" })));
    assert.ok(names.length > 5 && names.every((n) => n.fits), JSON.stringify(names));
  });

  check("lock and run are dimensioned on the pallet whose tooth is locked, and on no other", async () => {
    const page = await open();
    const said = (inset) => page.locator(`svg.drawing [data-inset=${inset}] .said text`).allTextContents();
    const dimensions = (inset) => page.locator(`svg.drawing [data-inset=${inset}] .dimensions path`).count();
    for (const [own, other] of [["entry", "exit"], ["exit", "entry"]]) {
      await showPhase(page, own, "unlocking", 2);
      assert.ok((await said(own)).includes(`lock ${(await figure(page, "lock", own)).toFixed(3)} deg`), (await said(own)).join());
      assert.deepEqual([await dimensions(other), (await said(other)).length], [0, 0], `${own} unlocking`);
      await showPhase(page, own, "impulse on stone", 2);
      assert.deepEqual([await dimensions(own), await dimensions(other)], [0, 0], `${own} impulse`);
    }
  });

  check("what lies over what is shaded red, and a sound movement has none of it", async () => {
    const page = await open();
    assert.equal(await page.locator("svg.drawing .overlap").count(), 0);
    await openText(page, "guard.toml", guarded(await demoText(page)));
    await page.locator(".findings").waitFor();
    // The tip of the dart, which lies in the roller at this moment, is red; the middle of the lever is not.
    const shaded = await page.evaluate(async () => {
      const drawing = document.querySelector("svg.drawing > .drawn");
      const guard = drawing.querySelector('path.body[data-part="guard"]');
      const roller = drawing.querySelector('path.body[data-part="safety roller"]');
      const points = Array.from({ length: 200 }, (_, i) => guard.getPointAtLength((i / 200) * guard.getTotalLength()));
      const marked = drawing.querySelector('.overlap[clip-path*="in-guard"]');
      return { inside: points.filter((p) => roller.isPointInFill(p)).length, same: marked?.getAttribute("d") === roller.getAttribute("d") };
    });
    assert.ok(shaded.inside > 0 && shaded.same, JSON.stringify(shaded));
  });

  check("title block, notes and list count findings alike", async () => {
    for (const make of [guarded, jammed]) {
      const page = await open();
      await openText(page, `${make.name}.toml`, make(await demoText(page)));
      await page.locator(".findings").waitFor();
      const sentence = await until(() => page.locator(".title-block .verdict p").first().innerText(), (s) => s.startsWith("not sound"), "verdict");
      const heading = await page.locator(".notes-list .read > .quiet").first().innerText();
      assert.equal(heading.toLowerCase(), `${sentence}.`);
      for (const gravity of ["fault", "caution"]) {
        const counted = Number(sentence.match(new RegExp(`(\\d+) ${gravity}`))?.[1] ?? 0);
        assert.equal(await page.locator(`.finding.${gravity}`).count(), counted, sentence);
        assert.equal(await page.locator(".finding .gravity", { hasText: gravity }).count(), counted, sentence);
      }
    }
  });

  check("where no outline is in sight it is said where they are, and one word leads back", async () => {
    const page = await open();
    const whole = await page.locator(".title-block .kind .figure").innerText();
    await page.evaluate(async () => ((await import("/state.js")).wantedView.value = { x_mm: 20, y_mm: 1, px_per_mm: 300 }));
    await page.locator(".lost", { hasText: "to the left" }).waitFor();
    await page.getByRole("button", { name: "show all", exact: true }).click();
    assert.equal(await page.locator(".lost").count(), 0);
    assert.equal(await page.locator(".title-block .kind .figure").innerText(), whole);
  });

  check("statements that clash say with what they hold; both pallets are changed at once", async () => {
    const page = await open();
    await field(page, "pallets.entry.lock_deg").fill("2");
    await page.keyboard.press("Enter");
    const ways = page.locator(".part-row .ways button");
    await ways.first().waitFor();
    assert.deepEqual(await ways.allInnerTexts(), ["exit lock 2.000 deg", "entry lift 8.000 deg", "exit lift 9.000 deg", "entry lock 1.500 deg"]);
    await ways.first().click();
    await until(() => figure(page, "lock", "exit"), (v) => v === 2, "exit lock");
    assert.equal(await figure(page, "lock", "entry"), 2);
    await field(page, "pallets.entry.lock_deg").fill("1.8");
    await page.keyboard.press("Shift+Enter");
    await until(() => figure(page, "lock", "exit"), (v) => v === 1.8, "exit lock");
    assert.equal(await figure(page, "lock", "entry"), 1.8);
    await page.locator(".title-block").getByRole("button", { name: "undo", exact: true }).click();
    await until(() => figure(page, "lock", "entry"), (v) => v === 2, "entry lock after one undo");
  });

  check("no curve is drawn through points without action; a torque that runs out says where", async () => {
    const page = await open();
    const legend = await page.locator(".contact .legend", { hasText: "runs out" }).allInnerTexts();
    const out = await page.locator(".contact svg.curve .out").count();
    assert.ok(out > 0 && legend.length === out, `${out} arrows, ${legend.length} lines`);
    await margin(page, "sweep");
    await page.locator(".sweep-sheet").getByRole("button", { name: "Draw the curves" }).click();
    const line = page.locator(".sweep-sheet svg.curve .line").first();
    await line.waitFor();
    const drawn = (await line.getAttribute("d")).match(/[ML]/g).length;
    const broken = await page.locator(".sweep-sheet svg.curve").first().locator(".broken").count();
    assert.ok(broken > 0);
    assert.equal(drawn + broken, numberOf(await page.getByLabel("points").inputValue()));
  });
});
