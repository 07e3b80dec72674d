// What is written on the page can be read: whole, of the moment drawn, in words of the place where it stands.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { DESK, PHONE, checks, demoText, field, grip, margin, numberOf, openText, until } from "./page.mjs";

const SMALL = { width: 1024, height: 768 };
const phone = { viewport: PHONE, isMobile: true, hasTouch: true };
/** The bench rounds an angle to so many decimals on the page, a ratio to three. */
const HALF_DIGIT = 0.00051;

/** An invented movement: the bankings stand so near that the lever meets them before a pallet lets go. */
const banked = (demo, mm) => `${demo.trimEnd()}\n\n[bankings.entry]\nopen_mm = ${mm}\n\n[bankings.exit]\nopen_mm = ${mm}\n`;
const slipping = (demo) => `${demo.trimEnd()}\n\n[pallets.entry]\nstone_out_mm = 0.2\n`;
/** Without an entry stone in reach. */
const short = (demo) => `${demo.trimEnd()}\n\n[pallets.entry]\nstone_out_mm = -0.3\n`;

/** Shows an instant, and waits until lists and curves have come up to it and are drawn. */
async function show(page, instant) {
  await page.evaluate(async (to) => {
    const { goTo, readInstant } = await import("/state.js");
    const frame = () => new Promise(requestAnimationFrame);
    goTo(to);
    while (readInstant.value !== to) await frame();
    await frame();
    await frame();
  }, instant);
}

/** The lever's angle as the title block has it. */
const leverOf = async (page) =>
  numberOf(await page.locator(".title-block .moment div", { hasText: "lever, deg" }).locator("dd").innerText());

const instants = (page) => page.evaluate(async () => (await import("/state.js")).live.value.oscillation.wheel_deg.length);

/** Boxes of what is shown under a selector, with their words. */
const boxes = (page, selector) => page.locator(selector).evaluateAll((all) => all
  .filter((e) => e.checkVisibility())
  .map((e) => {
    const range = document.createRange();
    range.selectNodeContents(e);
    const { left, right, top, bottom } = range.getBoundingClientRect();
    return { text: e.textContent.trim(), left, right, top, low: bottom };
  }));

const overlap = (a, b) => a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.low - 1 && b.top < a.low - 1;

checks("what is written can be read", ({ open, check }) => {
  check("contact is read at the moment drawn: lever, advance, torque, and the circle on the curve", async () => {
    const page = await open();
    const count = await instants(page);
    let seen = 0;
    for (let i = 3; i < count; i += 17) {
      await show(page, i);
      const facts = await page.locator("svg.drawing").getAttribute("aria-label");
      const arms = facts.match(/arm at the wheel (\S+) mm, arm at the lever (\S+) mm/)?.slice(1).map(numberOf);
      const lines = await page.locator(".contact .reading").allInnerTexts();
      const own = lines.filter((l) => !l.includes("no contact"));
      assert.equal(own.length, arms ? 1 : 0, `${i}: ${lines}`);
      if (!arms) continue;
      const lever = await leverOf(page);
      assert.equal(numberOf(own[0].match(/lever (\S+) deg/)[1]), lever, `${i}: ${own[0]}`);
      const ratio = own[0].match(/torque ratio ([^,]+)\.$/)?.[1];
      if (ratio) {
        const [wheel, arm] = arms.map(Math.abs);
        // Arms are written to a tenth of a micron: so far the ratio of those written may be off.
        const rounding = HALF_DIGIT + (0.00005 * (1 + arm / wheel)) / wheel;
        assert.ok(Math.abs(Math.abs(numberOf(ratio)) - arm / wheel) < rounding, `${i}: ${ratio} for ${arm} / ${wheel}`);
      }
      // The circle lies where the axis has that angle: between the names of two ticks.
      const [pallet] = own[0].split(":");
      const place = await page.locator(`.contact svg.curve[aria-label^="${pallet}: wheel advance"]`).evaluate((svg) => {
        const at = [...svg.querySelectorAll("text.tick[text-anchor=middle]")].map((t) => ({ v: Number(t.textContent.replace("\u2212", "-")), x: Number(t.getAttribute("x")) }));
        const [a, b] = [at[0], at[at.length - 1]];
        return a.v + ((Number(svg.querySelector(".picked").getAttribute("cx")) - a.x) / (b.x - a.x)) * (b.v - a.v);
      });
      // A tenth of a px of a curve about 10 deg and 80 px wide.
      assert.ok(Math.abs(place - lever) < 0.03, `${i}: the circle at ${place}, the lever at ${lever}`);
      seen += 1;
    }
    assert.ok(seen > 12, `${seen} moments with contact`);
  });

  check("a curve is gone along by key, moment by moment, and the escapement with it", async () => {
    const page = await open();
    const curve = page.locator('.contact svg.curve[aria-label^="entry: wheel advance"]');
    await curve.focus();
    await page.keyboard.press("Home");
    let last = -Infinity;
    for (let i = 0; i < 10; i += 1) {
      last = await until(() => leverOf(page), (lever) => lever > last, "the lever's angle");
      await until(() => curve.getAttribute("aria-valuetext"), (said) => numberOf(said.match(/lever (\S+) deg/)?.[1] ?? "") === last,
        `the curve's point, the lever at ${last}`);
      await page.keyboard.press("Shift+ArrowRight");
    }
  });

  check("words beside a ring are whole sentences", async () => {
    const page = await open();
    for (const make of [(demo) => banked(demo, -0.03), (demo) => banked(demo, -0.2), slipping]) {
      await page.evaluate(async () => (globalThis.was = (await import("/state.js")).live.value));
      await openText(page, "found.toml", make(await demoText(page)));
      const found = await until(() => page.evaluate(async () => {
        const { live } = await import("/state.js");
        return live.value === globalThis.was ? [] : live.value.findings.map((f) => f.message);
      }), (all) => all.length > 0, "findings");
      const written = await page.locator("svg.drawing > .drawn > .said.red").evaluateAll((all) =>
        all.map((g) => [...g.querySelectorAll("text")].map((t) => t.textContent)));
      assert.ok(written.length > 1, "words beside rings");
      const sentences = found.map((f) => f.replaceAll("-", "\u2212"));
      for (const lines of written) {
        let rest = lines.join(" ");
        for (const sentence of sentences) rest = rest.replace(sentence.replace(/(\w)\u2212(?=\w)/g, "$1-"), "");
        rest = rest.replace(/and \d+ more in the notes/, "").replace(/(entry |exit )?[a-z ]+ \u2212?[\d.]+ (deg|mm|\u00b5m)( accepted (from|to)?[\d. to\u2212]+ (deg|mm|\u00b5m))?/g, "");
        assert.equal(rest.trim(), "", `cut: ${lines.join(" / ")}`);
      }
    }
  });

  check("every shock of the ribbon is read in full, and is called as no phase is", async () => {
    for (const viewport of [DESK, SMALL]) {
      const page = await open({ browser: { viewport } });
      const shocks = await boxes(page, ".ribbon .bound .shock");
      assert.equal(shocks.length, 10, "five of each beat");
      const all = [...shocks, ...(await boxes(page, ".ribbon .bound .figure")), ...(await boxes(page, ".ribbon .phase"))];
      all.forEach((a, i) => all.slice(i + 1).forEach((b) => assert.ok(!overlap(a, b), `${a.text} over ${b.text} at ${viewport.width}`)));
      const cut = await page.locator(".ribbon .bound, .ribbon .shock, .ribbon .phase").evaluateAll((elements) => elements
        .filter((e) => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflow !== "visible").map((e) => e.textContent));
      assert.deepEqual(cut, []);
      const bands = await page.locator(".ribbon .band").evaluateAll((elements) => elements.map((band) => {
        const box = band.getBoundingClientRect();
        return [...band.querySelectorAll(".shock")].every((s) => s.getBoundingClientRect().right <= box.right + 1);
      }));
      assert.ok(bands.every(Boolean), `a shock's name runs into the next phase at ${viewport.width}`);
      const phases = new Set((await boxes(page, ".ribbon .phase")).map((p) => p.text));
      for (const { text } of shocks) assert.ok(!phases.has(text), `${text} is a phase too`);
      assert.ok((await page.locator(".ribbon").evaluate((e) => e.getBoundingClientRect().bottom)) <= viewport.height);
    }
  });

  check("a band too narrow for its words has them below its beat", async () => {
    const text = readFileSync(new URL("../examples/handbook-1904-circular.toml", import.meta.url), "utf8");
    for (const viewport of [DESK, SMALL]) {
      const page = await open({ browser: { viewport } });
      await openText(page, "circular.toml", text);
      const gone = page.locator(".ribbon .gone > span");
      await until(() => gone.allInnerTexts(), (all) => all.length === 1, "the run of the exit beat");
      assert.match((await gone.innerText()).replace(/\s+/g, " "), /^run, from −15\.2 deg tooth on stone$/);
      const seen = await page.locator(".ribbon .bound:visible, .ribbon .gone").evaluateAll((all) => all
        .filter((e) => getComputedStyle(e).visibility === "visible" && !e.closest(".beyond")).flatMap((e) => [...e.querySelectorAll(".figure, .shock"), ...(e.matches(".figure") ? [e] : [])])
        .map((e) => ({ text: e.textContent, ...e.getBoundingClientRect().toJSON() })));
      seen.forEach((a, i) => seen.slice(i + 1).forEach((b) => assert.ok(
        !(a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1), `${a.text} over ${b.text} at ${viewport.width}`)));
      const heights = await page.locator(".ribbon .bands").evaluateAll((all) => all.map((e) => e.getBoundingClientRect().height));
      assert.ok(Math.max(...heights) <= 80, `the beats are ${heights} px high`);
    }
  });

  check("a phone lists the shocks of the beat shown with the jewel's angle", async () => {
    const page = await open({ browser: phone });
    const listed = await boxes(page, ".ribbon .shocks > span");
    assert.equal(listed.length, 5);
    listed.forEach(({ text, right }, i) => {
      assert.match(text, new RegExp(`^${i + 1} [a-z ]+ \u2212?[\\d.]+ deg$`));
      assert.ok(right <= PHONE.width, text);
    });
    assert.deepEqual((await boxes(page, ".ribbon .place")).map((p) => p.text), ["1", "2", "3", "4", "5"]);
  });

  check("no red line runs through the name of a phase", async () => {
    const page = await open({ browser: phone });
    await openText(page, "slipping.toml", slipping(await demoText(page)));
    const struck = page.locator(".ribbon .struck").first();
    await struck.waitFor();
    const sides = await struck.evaluate((e) => ["borderLeftWidth", "borderRightWidth"].map((w) => getComputedStyle(e)[w]));
    assert.deepEqual(sides, ["0px", "0px"]);
  });

  check("what a grip says is seen whole on a phone, and covers no part", async () => {
    const page = await open({ browser: phone });
    await page.getByRole("button", { name: "grips" }).click();
    const sheet = await page.locator("svg.drawing").boundingBox();
    const paths = await page.locator(".grip").evaluateAll((all) => all.map((g) => g.dataset.path));
    assert.ok(paths.length > 10);
    await page.keyboard.press("Tab");
    for (const path of paths) {
      await grip(page, path).focus();
      const box = await grip(page, path).locator(".said").boundingBox();
      assert.ok(box.x >= sheet.x && box.x + box.width <= sheet.x + sheet.width && box.y >= sheet.y, `${path} is cut`);
      const covered = await page.evaluate(({ x, y, width, height }) => [...document.querySelectorAll("svg.drawing > .drawn path.body")]
        .filter((e) => {
          const b = e.getBoundingClientRect();
          return b.left < x + width && b.right > x && b.top < y + height && b.bottom > y;
        }).map((e) => e.dataset.part), box);
      assert.deepEqual(covered, [], path);
    }
  });

  check("columns of figures keep apart, and a default is called so", async () => {
    const page = await open();
    await openText(page, "banked.toml", banked(await demoText(page), -0.2));
    await page.locator(".findings").waitFor();
    await page.locator(".figures td", { hasText: "\u2212" }).first().waitFor();
    const cells = await page.locator(".figures tbody tr").evaluateAll((rows) => rows.filter((r) => r.checkVisibility()).map((row) =>
      [...row.children].filter((c) => c.checkVisibility() && c.textContent.trim() !== "").map((c) => {
        const range = document.createRange();
        range.selectNodeContents(c);
        const { left, right } = range.getBoundingClientRect();
        return { text: c.textContent.trim(), left, right };
      })));
    for (const row of cells) row.forEach((c, i) => assert.ok(i === 0 || c.left >= row[i - 1].right + 3, `${row[i - 1]?.text} | ${c.text}`));
    // The longest a value of degrees can be.
    const room = await page.locator(".figures td").first().evaluate((td) => {
      td.textContent = "\u2212359.999";
      return td.clientWidth - td.scrollWidth;
    });
    assert.ok(room >= 0, `${room} px too little`);
    const wanted = await page.locator(".figures span.want").allTextContents();
    assert.ok(wanted.some((t) => t.endsWith(" (default)")), `${wanted}`);
    for (const text of wanted) assert.match(text, /^\u2212?[\d.]+( \((default|derived)\))?$/);
  });

  check("a field quotes what was typed, and speaks of a field", async () => {
    const page = await open();
    await field(page, "wheel.locking_radius_mm").fill("2.25 mm");
    await page.keyboard.press("Enter");
    const said = await page.locator(".part-row .fault").innerText();
    assert.match(said, /not this: 2\.25 mm;/);
    assert.match(said, /Write the number alone, 2\.25: its unit stands behind the field\.$/);
  });

  check("a tooth has no number where all are alike", async () => {
    const page = await open();
    await openText(page, "short.toml", short(await demoText(page)));
    await page.locator(".findings").waitFor();
    const all = await page.locator("body").innerText();
    assert.ok(!/tooth \d/.test(all), all.match(/.*tooth \d.*/)?.[0]);
    assert.match(all, /the tooth/);
    await openText(page, "two.toml", `${short(await demoText(page))}\n[wheel.teeth.3]\nlonger_mm = 0.01\n`);
    await page.locator(".findings", { hasText: /tooth \d/ }).waitFor();
  });
});
