// The sheet of listening: recordings made by the checks' own generator, heard by the page; by hand, by keyboard, on a phone.
import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { DESK, PHONE, checks, demoText, numberOf, openText, until } from "./page.mjs";
import { printed } from "./program.mjs";
import { beatOf, betweenOf, hiss, ticking, wav } from "./ticking.mjs";

const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const phone = { viewport: PHONE, isMobile: true, hasTouch: true, deviceScaleFactor: 2 };
/** Least height of what is touched, px, as docs/design.md has it. */
const TARGET_PHONE = 40;
/** What was made, of every figure. */
const MADE = { lasts_s: 30, per_hour: 28_800, rate_s_per_day: 12, amplitude_deg: 270, lift_deg: 52, beat_error_ms: 0.8 };
const SOUND = wav(ticking(MADE));
/** Errors by which a figure may differ from what was made: four, of one test in 16,000 by chance. */
const ERRORS = 4;

/** Goes to the sheet of listening. */
async function listen(page) {
  await page.locator(".title-block").getByRole("button", { name: "listen", exact: true }).click();
  await page.locator(".sound-sheet").waitFor();
}
const choose = (page, name, buffer) => page.getByLabel("Choose a recording").setInputFiles({ name, mimeType: "audio/wav", buffer });
const soundOf = (page) => page.evaluate(async () => (await import("/sound.js")).sounded.value);
/** The figures once there are some. */
const heard = async (page) => (await until(() => soundOf(page), (s) => s !== null && !s.report.refused, "figures")).report;
const says = (page) => page.locator(".measured").innerText();
const shown = async (page, figure) => (await page.locator(`[data-figure="${figure}"] td`).allInnerTexts()).slice(0, 2).map((t) => numberOf(t.replace("± ", "")));
const state = (page, label, text) => page.locator(".sound-stated").getByLabel(label, { exact: true }).fill(text).then(() => page.keyboard.press("Enter"));
const noise = (page, name) => page.locator(`[data-noise="${name}"]`);
const near = (found, made, error, about) => assert.ok(Math.abs(found - made) <= error, `${about}: ${found}, made ${made}, within ${error}`);

/** Drops a file on the page, as a hand does. */
const drop = (page, name, bytes) => page.evaluate(([file, text]) => {
  const dataTransfer = new DataTransfer();
  dataTransfer.items.add(new File([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))], file));
  for (const kind of ["dragover", "drop"]) document.body.dispatchEvent(new DragEvent(kind, { bubbles: true, cancelable: true, dataTransfer }));
}, [name, bytes.toString("base64")]);

/** A page with the sound heard and the lift stated. */
async function ready(open, options = {}) {
  const page = await open(options);
  await listen(page);
  await state(page, "lift", "52");
  await choose(page, "made.wav", SOUND);
  await until(() => soundOf(page), (s) => s?.report.amplitude_deg != null, "an amplitude");
  return page;
}

checks("listening", ({ open, check, at }) => {
  check("a recording that is dropped has the figures of the command, within their errors of what was made", async () => {
    const page = await open();
    await listen(page);
    await state(page, "lift", "52");
    await drop(page, "made.wav", SOUND);
    const report = await heard(page);
    const path = join(at.state, "made.wav");
    writeFileSync(path, SOUND);
    const told = JSON.parse(await printed("listen", path, "--lift-deg", "52", "--json"));
    assert.deepEqual({ ...report, file: "" }, { ...told, file: "" }, "page and command");
    near(report.rate_s_per_day, MADE.rate_s_per_day, ERRORS * report.rate_se_s_per_day, "rate, s/d");
    near(report.beat_error_ms, MADE.beat_error_ms, ERRORS * report.beat_error_se_ms, "beat error, ms");
    near(report.amplitude_deg, MADE.amplitude_deg, Math.max(ERRORS * report.amplitude_se_deg, 3), "amplitude, deg");
    for (const [figure, value, se] of [["rate", "rate_s_per_day", "rate_se_s_per_day"], ["amplitude", "amplitude_deg", "amplitude_se_deg"], ["beat error", "beat_error_ms", "beat_error_se_ms"]]) {
      const [seen, error] = await shown(page, figure);
      assert.ok(Math.abs(seen - report[value]) <= 0.5 * report[se] && Math.abs(error - report[se]) <= 0.5 * report[se], `${figure} ${seen} ± ${error}`);
    }
    const text = await says(page);
    assert.match(text, /It gains: \+1\d\.\d+ ± [\d.]+ s\/d by the recorder's clock, which is unchecked: a usual one may be off by 8\.6 s\/d/);
    assert.match(text, /The amplitude is 2\d\d\.\d ± [\d.]+ deg, with a lift of 52\.0 deg, stated by hand; 1 deg of lift more or less is 5\.\d deg/);
    assert.match(text, /± is one standard error/);
  });

  check("what is stated of the clock and the beat is heard with at once; what cannot be is refused beside its field", async () => {
    const page = await ready(open);
    const before = await heard(page);
    await state(page, "clock is fast by", "\u221212.5");
    await state(page, "known to ±", "2");
    // 0.0864 s/d for a part of a million (L8 of docs/theory/listening.md).
    const after = await until(() => heard(page), (r) => r.clock_se_ppm === 2, "the clock");
    near(after.rate_s_per_day, before.rate_s_per_day - 12.5 * 0.0864, 1e-6, "rate, s/d");
    near(after.rate_se_s_per_day, Math.hypot(before.rate_se_s_per_day, 2 * 0.0864), 1e-6, "its error, s/d");
    assert.match(await says(page), /the clock's error taken off/);
    await state(page, "lift", "500");
    const fault = page.locator(".sound-stated .fault");
    await fault.waitFor();
    assert.match(await fault.innerText(), /lift “500”: out of range: give a number of degrees, 10 to 120 deg, such as 52/);
    assert.equal(await page.getByLabel("lift", { exact: true }).getAttribute("aria-invalid"), "true");
    await state(page, "lift", "54");
    const larger = await until(() => heard(page), (r) => r.lift_deg === 54, "the other lift");
    near(larger.amplitude_deg, (before.amplitude_deg * 54) / 52, 1e-6, "amplitude, deg");
    assert.equal(await fault.count(), 0);
    await state(page, "lift", "");
    await until(() => says(page), (t) => /Amplitude not given: give the lift\./.test(t), "what is missing");
    await state(page, "beats an hour", "21600");
    const odd = await until(() => heard(page), (r) => r.beats_per_hour === 21_600, "the nominal beat");
    assert.ok(odd.rate_s_per_day > 20_000, `${odd.rate_s_per_day} s/d`);
  });

  check("what bears no figures out says why and what would help; what is no sound is told from that", async () => {
    const page = await open();
    await listen(page);
    await choose(page, "hiss.wav", wav(hiss(8)));
    await until(() => says(page), (t) => /No figures: nothing in it returns as the beats of a watch do .*bring the microphone nearer/s.test(t), "the refusal");
    assert.equal(await page.locator(".mean-beats, .beat-deviation, .bars table").count(), 0, "no empty boxes");
    assert.equal(await page.getByRole("button", { name: /^keep as/ }).isDisabled(), true);
    await choose(page, "letter.wav", Buffer.from("Dear Sir, "));
    await until(() => says(page), (t) => /Letter\.wav: could not read the sound.*WAV, FLAC/s.test(t), "the reason");
    await choose(page, "made.wav", SOUND);
    await heard(page);
    assert.doesNotMatch(await says(page), /could not read/);
    await page.evaluate(async () => {
      const { tables } = await import("/state.js");
      tables.value = { ...tables.value, recording_bytes_most: 1000 };
    });
    await choose(page, "long.wav", SOUND);
    await until(() => says(page), (t) => t.includes(`Long.wav has ${SOUND.length} bytes; a recording may have 1000: cut it`), "the bound");
  });

  check("noises are moved by hand and by key; the amplitude follows, and it is said that they were", async () => {
    const page = await ready(open);
    const before = await soundOf(page);
    const { each_ms, first_ms } = before.sides[0];
    near(-first_ms, 1e3 * betweenOf({ ...MADE }), 0.15, "first noise to drop, ms");
    const grip = noise(page, "A first");
    await grip.focus();
    for (let i = 0; i < 3; i += 1) await page.keyboard.press("ArrowRight");
    near(Number(await grip.getAttribute("aria-valuenow")), first_ms + 3 * each_ms, 0.006, "first noise of A, ms");
    assert.match(await grip.getAttribute("aria-valuetext"), /placed by hand$/);
    assert.match(await noise(page, "B first").getAttribute("aria-valuetext"), /as found$/);
    // B1 of docs/theory/beats.md, worked out here.
    const amplitude = (ms) => MADE.lift_deg / 2 / Math.sin((Math.PI * ms) / (2e3 * beatOf(MADE)));
    const sides = [amplitude(-first_ms - 3 * each_ms), amplitude(-before.sides[1].first_ms)];
    const [seen] = await until(() => shown(page, "amplitude"), ([v]) => Math.abs(v - before.report.amplitude_deg) > 0.5, "the amplitude by hand");
    near(seen, (sides[0] + sides[1]) / 2, 0.6, "amplitude, deg");
    const words = await page.locator(".beats-words").innerText();
    assert.match(words, /Side A: .*first noise placed by hand/);
    assert.doesNotMatch(words, /Side B: [^\n]*placed by hand/);
    assert.match(await says(page), /by the noises placed by hand/);
    // By pointer.
    const [box, other] = [await noise(page, "B drop").boundingBox(), await noise(page, "B drop").getAttribute("aria-valuenow")];
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width / 2 + 30, box.y + box.height / 2, { steps: 5 });
    await page.mouse.up();
    assert.ok(Number(await noise(page, "B drop").getAttribute("aria-valuenow")) > Number(other) + each_ms, "dragged");
    // A first noise stays before its drop.
    await grip.focus();
    for (let i = 0; i < 12; i += 1) await page.keyboard.press("Shift+ArrowRight");
    const [first, drop] = [await grip.getAttribute("aria-valuenow"), await noise(page, "A drop").getAttribute("aria-valuenow")].map(Number);
    assert.ok(first < drop, `${first} before ${drop}`);
    await page.getByRole("button", { name: "noises as found" }).click();
    near(Number(await grip.getAttribute("aria-valuenow")), first_ms, 0.006, "put back, ms");
    await until(() => shown(page, "amplitude"), ([v]) => Math.abs(v - before.report.amplitude_deg) < 0.6, "the amplitude as found");
  });

  check("the model stands below on the same time, on its side once that is named; its lift is taken when asked for", async () => {
    const page = await ready(open);
    const names = () => page.locator(".beats-drawn .row-name").allTextContents();
    await until(names, (n) => n.join() === "side A,side B,entry, model,exit, model", "rows");
    await page.getByRole("group", { name: "Side of the entry pallet" }).getByRole("button", { name: "side B" }).click();
    await until(names, (n) => n.join() === "exit (A),exit, model,entry (B),entry, model", "rows of named sides");
    // The model's own first shock, from the command.
    const beats = JSON.parse(await printed("motion", "demo", "--json")).beats;
    const entry = beats.find((b) => b.pallet === "entry");
    const text = await page.locator(".beats-words").innerText();
    const first = numberOf(text.match(/entry 1 [a-z ]+ (\u2212[\d.]+)/)[1]);
    near(first, entry.unlocking_ms - entry.drop_ms, 0.006, "the model's first shock, ms from its drop");
    await page.getByRole("button", { name: "with the model" }).click();
    await until(names, (n) => n.length === 2, "rows without the model");
    await page.getByRole("button", { name: "of the open movement" }).click();
    const lift = await page.evaluate(async () => (await import("/state.js")).sheet.value.values.find((v) => v.path === "balance.heard_lift_deg"));
    await until(() => heard(page), (r) => r.lift_deg === lift.value, "the model's lift");
    assert.match(await page.locator(".sound-stated").innerText(), new RegExp(`balance.heard_lift_deg of Demo: flat wrist movement, ${lift.origin}`));
    // Another sound: which side is which was said of the first.
    await choose(page, "other.wav", wav(ticking({ ...MADE, seed: 3 })));
    await until(() => page.getByRole("button", { name: "not known" }).getAttribute("aria-pressed"), (v) => v === "true", "sides of another sound");
  });

  check("where no first noise is heard none is shown, until it is placed by hand; the amplitude is by that", async () => {
    const page = await open();
    await listen(page);
    await state(page, "lift", "52");
    // Of the two noises of a beat that come first nothing is left.
    await choose(page, "bare.wav", wav(ticking({ ...MADE, first: 0, lasts_s: 24, amplitude_deg: 250 }).map((v) => (Math.abs(v) < 0.12 ? 0.02 * v : v))));
    await heard(page);
    if ((await soundOf(page)).sides.some((s) => s.first_ms !== null)) return assert.fail("a first noise is heard in it");
    await until(() => says(page), (t) => t.includes("Amplitude not given: no first noise"), "what is missing");
    assert.equal(await noise(page, "A first").count(), 0);
    for (const side of ["A", "B"]) await page.getByRole("button", { name: `place the first noise of side ${side}` }).click();
    // 8 ms before the drop: B1 of docs/theory/beats.md, worked out here.
    const [seen] = await until(() => shown(page, "amplitude"), ([v]) => Number.isFinite(v), "the amplitude by hand");
    near(seen, 26 / Math.sin((Math.PI * 8) / (2e3 * beatOf(MADE))), 2, "amplitude, deg");
    assert.match(await says(page), /by the noises placed by hand/);
    assert.doesNotMatch(await says(page), /Amplitude not given/);
  });

  check("a movement of one's own gives its lift without being asked", async () => {
    const page = await open();
    await openText(page, "mine.toml", `${(await demoText(page)).trimEnd()}\n\n[balance]\nheard_lift_deg = 53.5\n`.replace(/\[balance\]\n([^[]*)(?=[\s\S]*\[balance\])/, "[balance]\n$1"));
    const value = await until(() => page.evaluate(async () => (await import("/state.js")).sheet.value?.values.find((v) => v.path === "balance.heard_lift_deg")), Boolean, "the lift");
    await listen(page);
    await choose(page, "made.wav", SOUND);
    assert.equal((await heard(page)).lift_deg, value.value);
  });

  check("beats that wander are drawn as they do, with their error; every point is read by pointer and by key", async () => {
    const page = await open();
    await listen(page);
    const [wander_ms, wander_s] = [0.3, 10];
    await choose(page, "wander.wav", wav(ticking({ ...MADE, wander_ms, wander_s, jitter_ms: 0.02 })));
    await heard(page);
    const { deviation } = await soundOf(page);
    // The sine that was made, less the straight line through it (least squares), by its own means.
    const made = deviation.at_s.map((s) => wander_ms * Math.sin((2 * Math.PI * (s - 0.01)) / wander_s));
    const mean = (all) => all.reduce((a, b) => a + b, 0) / all.length;
    const [ms, mm, ml] = [mean(deviation.at_s), mean(made), mean(deviation.late_ms)];
    const slope = deviation.at_s.reduce((a, s, i) => a + (s - ms) * (made[i] - mm), 0) / deviation.at_s.reduce((a, s) => a + (s - ms) ** 2, 0);
    const off = deviation.late_ms.map((v, i) => v - ml - (made[i] - mm - slope * (deviation.at_s[i] - ms)));
    assert.ok(Math.sqrt(mean(off.map((v) => v * v))) < 0.05, `scatter about what was made: ${Math.sqrt(mean(off.map((v) => v * v)))} ms`);
    assert.ok(deviation.at_s.length > 60 && deviation.beats_each === 2, `${deviation.at_s.length} points`);
    const chart = page.locator(".beat-deviation svg.curve");
    const box = await chart.boundingBox();
    await page.mouse.move(box.x + box.width / 2, box.y + 60);
    const read = await until(() => page.locator(".readout").innerText(), (t) => /at [\d.]+ s: [+\u2212]?[\d.]+ ± [\d.]+ ms/.test(t), "the reading");
    await chart.focus();
    await page.keyboard.press("ArrowRight");
    assert.notEqual(await page.locator(".readout").innerText(), read);
    assert.match(await page.locator(".beat-deviation").innerText(), /mean of 2 beats; band: two standard errors/);
  });

  check("positions are kept one after another, copied as CSV, taken out and put back, and there after a reload", async () => {
    const page = await ready(open);
    await page.context().grantPermissions(["clipboard-read", "clipboard-write"]);
    const rows = () => page.locator(".positions tbody tr").allInnerTexts();
    for (const [i, symbol] of ["CH", "FH"].entries()) {
      await page.getByRole("button", { name: `keep as ${symbol}`, exact: true }).click();
      await until(rows, (all) => all.length === i + 1 && all[i].startsWith(symbol), symbol);
    }
    await page.getByRole("button", { name: "9H, nine up" }).click();
    await choose(page, "other, second.wav", wav(ticking({ ...MADE, rate_s_per_day: -20, seed: 5 })));
    await until(() => heard(page), (r) => r.file.startsWith("other"), "the other sound");
    await page.getByRole("button", { name: "keep as 9H", exact: true }).click();
    await until(rows, (all) => all.length === 3, "three rows");
    await page.getByRole("button", { name: "copy as CSV" }).click();
    await page.locator(".positions [role=status]", { hasText: "3 positions copied" }).waitFor();
    const csv = (await page.evaluate(() => navigator.clipboard.readText())).split("\r\n");
    assert.equal(csv.length, 5);
    const names = csv[0].split(",");
    assert.deepEqual(names.slice(0, 3), ["position_iso3158", "rate_s_per_day", "rate_se_s_per_day"]);
    assert.match(csv[3], /^9H,-\d+\.\d+,.*,stated by hand,.*,"other, second\.wav",/);
    near(Number(csv[3].split(",")[1]), -20, 4 * Number(csv[3].split(",")[2]), "rate of 9H, s/d");
    await page.getByRole("button", { name: "remove FH" }).click();
    await until(rows, (all) => all.map((r) => r.split(/\s/)[0]).join() === "CH,9H", "FH taken out");
    await page.getByRole("button", { name: "put FH back" }).click();
    await until(rows, (all) => all.map((r) => r.split(/\s/)[0]).join() === "CH,FH,9H", "FH put back");
    await page.reload();
    await page.locator(".sound-sheet").waitFor();
    assert.equal((await rows()).length, 3);
  });

  check("a recording dropped on the board is listened to, a movement dropped here is laid on the bench", async () => {
    const page = await open();
    await drop(page, "made.wav", SOUND);
    await page.locator(".sound-sheet").waitFor();
    await heard(page);
    const text = (await demoText(page)).replace("Demo: flat wrist movement", "Dropped");
    await drop(page, "dropped.toml", Buffer.from(text));
    await page.locator(".title-block .kind", { hasText: "Dropped" }).waitFor();
    await page.getByRole("link", { name: "to the board" }).click();
    await page.locator(".title-block h1", { hasText: "Dropped" }).waitFor();
    await page.goBack();
    await page.locator(".sound-sheet").waitFor();
    assert.ok((await soundOf(page)) !== null, "what was heard is still there");
  });

  check("everything is reached by keyboard, and it is seen where", async () => {
    const page = await ready(open);
    await page.getByRole("button", { name: "keep as CH" }).click();
    const names = await page.evaluate(() => [...document.querySelectorAll("a[href], button, input, select, [tabindex]")]
      .filter((e) => e.tabIndex >= 0 && !e.disabled && e.checkVisibility({ visibilityProperty: true }))
      .map((e, i) => ((e.dataset.reach = String(i)), e.getAttribute("aria-label") ?? e.textContent.trim())));
    assert.ok(names.length > 25, `${names.length} places`);
    await page.evaluate(() => document.activeElement?.blur());
    const seen = new Set();
    for (let i = 0; i < names.length + 4; i += 1) {
      await page.keyboard.press("Tab");
      const at = await page.evaluate(() => {
        const own = document.activeElement;
        const style = getComputedStyle(own);
        return { mark: own.dataset.reach, outline: style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth) };
      });
      if (at.mark === undefined) continue;
      seen.add(Number(at.mark));
      assert.ok(at.outline >= 2, `${names[Number(at.mark)]}: the focus is not seen`);
    }
    assert.deepEqual(names.filter((_, i) => !seen.has(i)), [], "not reached");
  });

  check("a phone has title block and figures first, nothing to the side, all large enough to touch", async () => {
    const page = await ready(open, { browser: phone });
    await page.getByRole("button", { name: "keep as CH" }).click();
    const wide = await page.evaluate(() => document.scrollingElement.scrollWidth);
    assert.ok(wide <= PHONE.width, `${wide} px wide`);
    const small = await page.evaluate((least) => [...document.querySelectorAll("button, select, input, a.word")]
      .filter((e) => e.checkVisibility({ visibilityProperty: true }) && !e.classList.contains("unseen") && !e.classList.contains("skip"))
      .filter((e) => e.getBoundingClientRect().height < least)
      .map((e) => `${e.getAttribute("aria-label") ?? e.textContent.trim()}: ${e.getBoundingClientRect().height}`), TARGET_PHONE);
    assert.deepEqual(small, []);
    const order = await page.evaluate(() => [".title-block", ".measured", ".sound-margin", ".mean-beats", ".beat-deviation", ".positions"]
      .map((name) => document.querySelector(name).getBoundingClientRect().top));
    assert.deepEqual(order, [...order].sort((a, b) => a - b), "from above");
  });

  check("nothing is cut at 1024 px, and on paper what was heard stands alone", async () => {
    const page = await ready(open, { browser: { viewport: { width: 1024, height: 768 } } });
    assert.ok((await page.evaluate(() => document.scrollingElement.scrollWidth)) <= 1024);
    assert.ok(await page.locator(".sound-sheet").evaluate((e) => e.scrollWidth <= e.clientWidth), "the sheet");
    await page.emulateMedia({ media: "print" });
    for (const name of [".says", ".bars table", ".beats-drawn", ".beat-deviation svg", ".title-block h1"]) assert.ok(await page.locator(name).first().isVisible(), name);
    for (const name of [".sound-margin", ".noise-grip", ".positions button"]) assert.ok(!(await page.locator(name).first().isVisible()), name);
  });

  check("axe finds nothing: day and night, desk and phone, before a sound, with one, after a refusal", async () => {
    for (const colorScheme of ["light", "dark"]) {
      for (const browser of [{ viewport: DESK }, phone]) {
        // What axe itself puts on the page is not the page's.
        const page = await open({ browser: { ...browser, colorScheme, bypassCSP: true } });
        const judge = async (stage) => {
          await page.evaluate(AXE);
          const found = await page.evaluate(async () => (await axe.run({ preload: false })).violations.map((v) =>
            `${v.id}: ${v.nodes.slice(0, 3).map((n) => `${n.html.slice(0, 140)} ${n.failureSummary}`).join("; ")}`));
          assert.deepEqual(found, [], `${colorScheme}, ${browser.viewport.width} px, ${stage}`);
        };
        await listen(page);
        await judge("nothing yet");
        await choose(page, "hiss.wav", wav(hiss(5)));
        await until(() => says(page), (t) => t.includes("No figures"), "the refusal");
        await judge("refused");
        await state(page, "lift", "52");
        await choose(page, "made.wav", SOUND);
        await until(() => soundOf(page), (s) => s?.report.amplitude_deg != null, "an amplitude");
        await noise(page, "A first").focus();
        await page.keyboard.press("ArrowRight");
        await page.getByRole("button", { name: "keep as CH" }).click();
        await judge("heard");
      }
    }
  });
});
