// What the escapement does in time stands beside every edit, as the program's own command says it.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { DESK, PHONE, beginMotion as begin, checks, demoText, field, margin, motionOf, numberOf, openText, textOf, timeBar as bar, until } from "./page.mjs";
import { printed } from "./program.mjs";

const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** What the command says of the demo movement. @param {string[]} how options and overrides */
const told = async (...how) => JSON.parse(await printed("motion", "demo", "--json", ...how.flatMap((s) => (s.startsWith("--") ? [s] : ["--set", s]))));

const row = (page, name) => page.locator(".running .in-motion tr", { has: page.getByRole("rowheader", { name, exact: true }) });
const shown = async (page, name) => numberOf(await row(page, name).locator(".number").innerText());

checks("what it does in time", ({ open, check }) => {
  check("amplitude, rate and where the energy goes are those of the command", async () => {
    const page = await open();
    const { steady, ledger } = await told();
    await until(() => shown(page, "amplitude"), (v) => Math.abs(v - steady.amplitude_deg) < 0.006, "the amplitude");
    assert.ok(Math.abs((await shown(page, "rate")) - steady.rate_s_per_day) < 0.006);
    assert.ok(Math.abs((await shown(page, "efficiency")) - steady.efficiency_percent) < 0.06);
    const drive = ledger[0].nj_per_beat;
    const air = ledger.find((l) => l.place === "air and hairspring");
    const said = await page.locator(".ledger tr", { hasText: air.place }).locator(".number").innerText();
    assert.ok(Math.abs(numberOf(said) - (100 * air.nj_per_beat) / drive) < 0.06, said);
    const rows = await page.locator(".ledger tr").evaluateAll((all) => all.map((tr) =>
      ({ sum: tr.classList.contains("sum"), name: tr.querySelector("th").textContent.trim(), said: tr.querySelector(".number").textContent })));
    const value = (name) => numberOf(rows.find((r) => r.name === name).said);
    // What reaches the balance is what the command calls the efficiency; with what is lost on the way it is all.
    assert.ok(Math.abs(value("reaches the balance") - steady.efficiency_percent) < 0.06);
    const sums = rows.filter((r) => r.sum);
    assert.equal(sums.length, 2);
    assert.ok(Math.abs(sums.map((r) => (r.said.startsWith("<") ? 0 : numberOf(r.said))).reduce((a, b) => a + b) - 100) < 0.2, JSON.stringify(sums));
    // No place is left out: small ones stand in one row.
    const text = rows.map((r) => r.name).join(", ");
    for (const { place } of ledger.slice(1)) assert.ok(text.includes(place), `${place} is not in ${text}`);
    assert.match(rows.find((r) => r.name.startsWith("others: ")).said, /^(< 0\.05|0\.0) %$/);
  });

  check("an edit changes it, and the difference to the state before stands beside it", async () => {
    const page = await open();
    const before = (await told()).steady.amplitude_deg;
    const after = (await told("balance.quality_ratio=320")).steady.amplitude_deg;
    await until(() => shown(page, "amplitude"), (v) => Math.abs(v - before) < 0.006, "the amplitude");
    await page.getByRole("button", { name: "compare from here" }).click();
    await field(page, "balance.quality_ratio").fill("320");
    await page.keyboard.press("Enter");
    await until(() => textOf(page), (text) => /quality_ratio = 320/.test(text), "the text");
    await until(() => shown(page, "amplitude"), (v) => Math.abs(v - after) < 0.006, "the amplitude with another balance");
    const change = numberOf((await row(page, "amplitude").locator(".change").innerText()).replace("changed by", ""));
    assert.ok(Math.abs(change - (after - before)) < 0.011, `${change}, ${after - before}`);
  });

  check("a movement that does not go on is told why, and has no figures", async () => {
    const page = await open();
    const { reason } = await told("pallets.entry.stone_out_mm=-0.3");
    await openText(page, "short.toml", `${(await demoText(page)).trimEnd()}\n\n[pallets.entry]\nstone_out_mm = -0.3\n`);
    const said = page.locator(".running .outcome");
    await until(() => said.innerText(), (text) => text.toLowerCase().startsWith(reason.slice(0, 30).toLowerCase()), reason);
    assert.equal(await page.locator(".running .in-motion").count(), 0);
  });

  check("the title says beside a sound action that it does not run in motion", async () => {
    const page = await open();
    const verdict = page.locator(".title-block .verdict");
    const demo = (await demoText(page)).trimEnd();
    await page.locator(".running .in-motion").waitFor();
    assert.doesNotMatch(await verdict.innerText(), /in motion/);
    for (const [torque, outcome, words] of [["0", "no-drive", "nothing drives it"], ["1.5", "knocks", "it knocks"]]) {
      assert.equal((await told(`wheel.torque_un_m=${torque}`)).outcome, outcome);
      await openText(page, `torque-${torque}.toml`, demo.replace(/^\[wheel\]$/m, `[wheel]\ntorque_un_m = ${torque}`));
      await until(() => verdict.innerText(), (text) => text.startsWith("sound") && text.includes(`in motion: ${words}`), words);
    }
  });

  check("what is not known of it is said directly below its figures", async () => {
    const page = await open();
    const figures = await page.locator(".running .in-motion").boundingBox();
    const caution = await page.getByText(/^A prediction; \d+ of its masses/).boundingBox();
    assert.ok(caution.y - figures.y - figures.height < 8, JSON.stringify([figures, caution]));
  });
});

const at = async (page) => Number(await bar(page).getAttribute("aria-valuenow"));
const here = (page) => page.locator(".playback .now");
/** Turns of the parts on the drawing: of each the first point of its outline against its axis. */
const turnsOf = (page) => page.evaluate(async () => {
  const { live, view, area } = await import("/state.js");
  const [sheet, { x_mm, y_mm, px_per_mm }, { width_px, height_px }] = [live.value, view.value, area.value];
  const turn = (part, axis) => {
    const body = sheet.bodies.find((b) => b.part === part);
    const d = document.querySelector(`svg.drawing > .drawn path.body[data-part="${part}"]`).getAttribute("d");
    const [px, py] = d.match(/^M(-?[\d.]+)[ ,](-?[\d.]+)/).slice(1).map(Number);
    const [x, y] = [x_mm + (px - width_px / 2) / px_per_mm - axis[0], y_mm - (py - height_px / 2) / px_per_mm - axis[1]];
    const [own_x, own_y] = body.outlines_mm[0][0];
    return { deg: ((Math.atan2(y, x) - Math.atan2(own_y, own_x)) * 180) / Math.PI, off_deg: (180 / Math.PI) * (0.02 / px_per_mm / Math.hypot(x, y)) };
  };
  const [wheel, pallets, balance] = sheet.axes_mm;
  const roller = turn("impulse jewel", balance);
  return { wheel: turn("escape wheel", wheel), lever: turn("lever", pallets), roller: { ...roller, deg: roller.deg - sheet.line_deg } };
});
const apart = (a, b) => Math.abs(((((a - b) % 360) + 540) % 360) - 180);

checks("the motion played", ({ open, check }) => {
  check("the parts are drawn where the bench says they are, at five moments and between two", async () => {
    const page = await open();
    await begin(page);
    const motion = await motionOf(page);
    const { steady, beats } = await told();
    assert.ok(Math.abs(1e3 * motion.t_s.at(-1) - steady.period_ms) < 1e-6);
    for (const part of [0.1, 0.25, 0.4, 0.7, 0.93]) {
      const place = Math.round(part * motion.t_s.length);
      await page.evaluate(async (i) => (await import("/motion.js")).goTo(i), place);
      await until(() => at(page), (now) => now === place, "the instant");
      const turns = await turnsOf(page);
      for (const [name, column] of [["wheel", "wheel_deg"], ["lever", "lever_deg"], ["roller", "jewel_deg"]]) {
        const { deg, off_deg } = turns[name];
        assert.ok(apart(deg, motion[column][place]) < off_deg + 0.001, `${name} at ${place}: ${deg}, ${motion[column][place]}, ${off_deg}`);
      }
    }
    // Between two instants it is on the way from one to the other.
    const place = motion.shocks.find((s) => s.name === "drop").instant - 5;
    await page.evaluate(async (s) => ((await import("/state.js")).played_s.value = s), 0.5 * (motion.t_s[place] + motion.t_s[place + 1]));
    await until(() => at(page), (now) => now === place, "the instant before");
    const turns = await turnsOf(page);
    assert.ok(apart(turns.wheel.deg, 0.5 * (motion.wheel_deg[place] + motion.wheel_deg[place + 1])) < turns.wheel.off_deg + 0.001);
    // The five shocks of a beat are where the command says they come.
    const said = motion.shocks.filter((s) => s.of_five && motion.t_s[s.instant] < 1e-3 * beats[0].extreme_ms);
    const wanted = ["unlocking_ms", "impulse_ms", "catch_ms", "drop_ms", "banking_ms"].map((k) => beats[0][k]).filter((v) => v !== null);
    const ms = said.map((s) => 1e3 * motion.t_s[s.instant]);
    assert.equal(ms.length, wanted.length);
    for (const v of wanted) assert.ok(ms.some((m) => Math.abs(m - v) < 1e-6), `${v} of ${ms}`);
  });

  check("phases, shocks and forces are named as they come, by keyboard alone", async () => {
    const page = await open();
    await begin(page);
    const motion = await motionOf(page);
    for (const stretch of motion.stretches.slice(0, 7)) {
      assert.equal(await at(page), stretch.first);
      assert.equal(await here(page).locator(".phase").innerText(), stretch.phase);
      assert.match(await bar(page).getAttribute("aria-valuetext"), new RegExp(`${stretch.pallet} beat, ${stretch.phase}`));
      await bar(page).press("PageDown");
    }
    await bar(page).press("Home");
    await bar(page).press("ArrowRight");
    assert.equal(await at(page), 1);
    await bar(page).press("Shift+ArrowRight");
    assert.equal(await at(page), 11);
    await page.getByRole("button", { name: "next shock" }).press("Enter");
    const first = motion.shocks[0];
    assert.equal(await at(page), first.instant);
    assert.match(await bar(page).getAttribute("aria-valuetext"), /shock: jewel meets notch/);
    // The arrows are the bench's forces, in size, place and words.
    const lift = motion.stretches.find((s) => s.phase === "impulse on tooth");
    const place = Math.round((lift.first + lift.last) / 2);
    await page.evaluate(async (i) => (await import("/motion.js")).goTo(i), place);
    const arrows = page.locator("svg.drawing > .drawn > .pressing .force");
    await until(() => arrows.count(), (n) => n === motion.forces[place].length, "the arrows");
    assert.ok(motion.forces[place].length >= 2);
    const words = await page.locator(".presses").innerText();
    for (const [i, [what, , , x, y]] of motion.forces[place].entries()) {
      assert.equal(Number(await arrows.nth(i).getAttribute("data-mn")), Math.hypot(x, y));
      assert.ok(words.includes(`${motion.touching[what]} ${Math.hypot(x, y).toPrecision(3)} mN`), words);
    }
    assert.match(await page.locator("svg.drawing").getAttribute("aria-label"), /in motion: entry beat, impulse on tooth.*It presses: tooth on entry stone/);
    // The hand takes the drawing back.
    await page.locator(".ribbon").press("ArrowRight");
    await until(() => page.locator(".pressing").count(), (n) => n === 0, "the arrows of the motion");
  });

  check("a tooth at rest presses with the torque of the wheel", async () => {
    const page = await open();
    await begin(page);
    const motion = await motionOf(page);
    const wheel_mm = await page.evaluate(async () => (await import("/state.js")).live.value.axes_mm[0]);
    const [, x, y, fx, fy] = motion.forces[0].find(([what]) => motion.touching[what].startsWith("tooth"));
    const torque_un_m = Math.abs((x - wheel_mm[0]) * fy - (y - wheel_mm[1]) * fx);
    const { rests_on } = await told();
    // Statics: force times arm, mN mm are uN m.
    assert.ok(Math.abs(torque_un_m / rests_on.find((r) => r.path === "wheel.torque_un_m").value - 1) < 1e-4, `${torque_un_m} uN m`);
  });

  check("it goes as slowly as it is told, and stops", async () => {
    const page = await open();
    await begin(page);
    const speed = page.getByLabel("Speed");
    const now_s = () => page.evaluate(async () => (await import("/state.js")).played_s.value);
    const motion = await motionOf(page);
    const unlocking = motion.stretches.find((s) => s.phase === "unlocking");
    for (const [key, slower] of [["Home", 2000], ["ArrowRight", 1000]]) {
      await speed.press(key);
      assert.match(await speed.getAttribute("aria-valuetext"), new RegExp(`${slower} times slower`));
      await page.evaluate(async (i) => (await import("/motion.js")).goTo(i), unlocking.first);
      const [went_s, took_s] = await page.evaluate(async () => {
        const { toggle } = await import("/motion.js");
        const { played_s } = await import("/state.js");
        const frame = () => new Promise((done) => requestAnimationFrame(done));
        toggle();
        await frame();
        const [from_s, from_ms] = [played_s.value, await frame()];
        let to_ms = from_ms;
        const begun_s = played_s.value;
        while (to_ms - from_ms < 800) to_ms = await frame();
        void from_s;
        return [played_s.value - begun_s, (to_ms - from_ms) / 1000];
      });
      await page.getByRole("button", { name: "stop", exact: true }).click();
      assert.ok(Math.abs((went_s * slower) / took_s - 1) < 0.1, `${slower}: ${went_s} s in ${took_s} s`);
    }
    await speed.press("End");
    assert.equal(await speed.getAttribute("aria-valuetext"), "as it is");
    const stopped = await now_s();
    await page.waitForTimeout(200);
    assert.equal(await now_s(), stopped);
  });

  check("with less motion asked for it steps from phase to phase", async () => {
    const page = await open({ browser: { reducedMotion: "reduce" } });
    await page.getByRole("button", { name: "play the motion", exact: true }).click();
    const motion = await until(() => motionOf(page), (m) => m !== null, "the motion");
    const seen = new Set();
    await until(async () => (seen.add(await at(page)), seen.size), (n) => n >= 3, "three phases");
    for (const place of seen) assert.ok(motion.stretches.some((s) => s.first === place), String(place));
  });

  check("an edit shows the new motion, at the same moment", async () => {
    const page = await open();
    await begin(page);
    for (let i = 0; i < 4; i += 1) await bar(page).press("PageDown");
    const [phase, before] = [await here(page).locator(".phase").innerText(), await motionOf(page)];
    await field(page, "balance.quality_ratio").fill("320");
    await page.keyboard.press("Enter");
    const after = await until(() => motionOf(page), (m) => m.t_s.at(-1) !== before.t_s.at(-1), "the new motion");
    assert.ok(Math.abs(1e3 * after.t_s.at(-1) - (await told("balance.quality_ratio=320")).steady.period_ms) < 1e-6);
    assert.equal(await here(page).locator(".phase").innerText(), phase);
  });

  check("shocks are heard where asked for, as loud as their energy, and not when it is slow", async () => {
    const page = await open();
    await page.evaluate(() => {
      window.clicks = [];
      const gain = AudioContext.prototype.createGain;
      AudioContext.prototype.createGain = function () {
        const node = gain.call(this);
        const connect = node.connect.bind(node);
        node.connect = (to) => (to === this.destination || window.clicks.push(node.gain.value), connect(to));
        return node;
      };
    });
    const heard = () => page.evaluate(() => window.clicks);
    await begin(page);
    const motion = await motionOf(page);
    const speed = page.getByLabel("Speed");
    await speed.press("End");
    await page.getByRole("button", { name: "go on", exact: true }).click();
    await page.waitForTimeout(600);
    assert.deepEqual(await heard(), [], "off at first");
    await page.getByRole("button", { name: "sound", exact: true }).click();
    const all = await until(heard, (c) => c.length >= 2 * motion.shocks.length, "two oscillations");
    await page.getByRole("button", { name: "stop", exact: true }).click();
    const loudest = Math.max(...motion.shocks.map((s) => s.lost_nj));
    const wanted = motion.shocks.filter((s) => s.lost_nj > 0).map((s) => Math.sqrt(s.lost_nj / loudest));
    const most = Math.max(...all);
    for (const gain of all) assert.ok(wanted.some((w) => Math.abs(w - gain / most) < 1e-4), String(gain / most));
    await speed.press("Home");
    await page.evaluate(async () => (await import("/motion.js")).goTo((await import("/state.js")).played.value.shocks[0].instant - 1));
    const count = (await heard()).length;
    await page.getByRole("button", { name: "go on", exact: true }).click();
    await page.waitForTimeout(500);
    assert.equal((await heard()).length, count);
    assert.match(await page.locator(".playback").innerText(), /heard from 1\/1 to 1\/20/);
  });

  check("from rest it is said whether it starts, beat by beat, or why not", async () => {
    const page = await open();
    const said = page.locator(".playback [role=status]");
    await begin(page, "start from rest");
    const { reason, beats } = await told("--from-rest");
    await until(() => said.innerText(), (text) => text.toLowerCase().startsWith(reason.toLowerCase()), reason);
    const chart = page.locator(".playback svg.curve");
    await chart.press("End");
    await until(() => page.locator(".playback figcaption").innerText(), (t) => t.startsWith(`beat ${beats.length} of`), "the last beat");
    const last = await page.locator(".playback figcaption").innerText();
    const turns = numberOf(last.split("turns at ")[1]);
    assert.ok(Math.abs(turns - Math.abs(beats.at(-1).extreme_deg)) < 0.06, `${last}, ${beats.at(-1).extreme_deg}`);
    await page.locator(".margin.left").getByRole("button", { name: "all", exact: true }).click();
    await field(page, "wheel.torque_un_m").fill("0.05");
    await page.keyboard.press("Enter");
    const not = (await told("--from-rest", "wheel.torque_un_m=0.05")).reason;
    assert.match(not, /does not start/);
    await until(() => said.innerText(), (text) => text.toLowerCase().startsWith(not.slice(0, 60).toLowerCase()), not);
    assert.equal(await page.locator(".playback .outcome").count(), 1);
  });

  check("on a phone what plays it lies at the foot, the drawing above it", async () => {
    const page = await open({ browser: { viewport: PHONE, isMobile: true, hasTouch: true } });
    await page.getByRole("button", { name: "play the motion", exact: true }).click();
    const foot = await until(() => page.locator(".foot .time-bar").boundingBox(), (box) => box !== null, "the time bar");
    const paper = await page.locator("svg.drawing").boundingBox();
    assert.ok(foot.y > PHONE.height / 2 && foot.y + foot.height <= PHONE.height, JSON.stringify(foot));
    assert.ok(paper.y > -paper.height / 4 && paper.y + paper.height / 2 < foot.y, JSON.stringify([paper, foot]));
    assert.ok(await bar(page).evaluate((e) => e === document.activeElement), "the bar has the focus");
    const low = await page.locator(".foot").locator("button, input, .bands").evaluateAll((all) =>
      all.map((e) => [e.textContent || e.tagName, e.getBoundingClientRect().height]).filter(([, height]) => height < 40));
    assert.deepEqual(low, [], "too small for a finger");
    await page.getByRole("button", { name: "back to the hand" }).click();
    await until(() => page.locator(".foot").count(), (n) => n === 0, "the foot");
  });

  for (const colorScheme of ["light", "dark"]) {
    check(`axe finds nothing, ${colorScheme}`, async () => {
      const page = await open({ browser: { colorScheme, viewport: DESK, bypassCSP: true } });
      await begin(page, "start from rest");
      await bar(page).press("PageDown");
      await page.locator(".torque summary").press("Enter");
      await page.locator(".torque svg.curve").first().waitFor();
      await page.addScriptTag({ content: AXE });
      const { violations } = await page.evaluate(() => window.axe.run({ preload: false }));
      assert.deepEqual(violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html).join(" ")}`), []);
    });
  }
});

checks("figures of the motion over a parameter", ({ open, check }) => {
  const torqueOf = (page) => page.evaluate(async () => (await import("/state.js")).sheet.value.values.find((v) => v.path === "wheel.torque_un_m").value);

  check("curves against the torque are those of the command, and say where it does not run", async () => {
    const page = await open();
    await page.locator(".running .in-motion").waitFor();
    await page.locator(".torque summary").press("Enter");
    const charts = page.locator(".torque svg.curve");
    await until(() => page.locator(".torque").innerText(), (t) => !t.includes("Working") && t.includes("as it is now"), "the curves");
    assert.equal(await charts.count(), 3);
    const torque = await torqueOf(page);
    const { steady } = await told();
    // Begun at the torque that holds.
    for (const [i, value] of [steady.amplitude_deg, steady.rate_s_per_day, steady.efficiency_percent].entries()) {
      const within = i === 2 ? 0.06 : 0.006;
      const said = await charts.nth(i).getAttribute("aria-valuetext");
      assert.ok(Math.abs(numberOf(said.split(", ")[0].replace(/^\D*?(?=[\d\u2212])/, "")) - torque) < 0.0006, said);
      const last = said.match(/[\u2212-]?[\d.]+(?=\D*$)/)[0];
      assert.ok(Math.abs(Number(last.replace("\u2212", "-")) - value) < within, `${said}, ${value}`);
    }
    await charts.first().press("Home");
    const less = 0.25 * torque;
    const there = (await told(`wheel.torque_un_m=${less}`)).steady.amplitude_deg;
    await until(() => charts.first().getAttribute("aria-valuetext"), (t) => t.includes(there.toFixed(2)), String(there));
    const most = (await told(`wheel.torque_un_m=${1.5 * torque}`)).outcome;
    assert.equal(most, "knocks");
    assert.match(await page.locator(".torque .breaks").innerText(), /it knocks/);
  });

  check("a sweep reads the motion too", async () => {
    const page = await open();
    await margin(page, "sweep");
    const sheet = page.locator(".sweep-sheet");
    await sheet.locator("#sweep-parameter").fill("balance quality ratio");
    await page.keyboard.press("Enter");
    for (const [label, value] of [["first", "200"], ["last", "300"], ["points", "5"]]) await sheet.getByLabel(label, { exact: true }).fill(value);
    await sheet.locator("#sweep-figure").fill("amplitude_deg");
    await page.keyboard.press("Enter");
    await sheet.getByRole("button", { name: "Draw the curves" }).click();
    const figure = sheet.locator("figure", { has: page.locator('svg[aria-label^="amplitude over"]') });
    await figure.locator("svg.curve").press("End");
    const { steady } = await told("balance.quality_ratio=300");
    await until(() => figure.locator("figcaption").innerText(), (t) => t.includes(steady.amplitude_deg.toFixed(2)), String(steady.amplitude_deg));
    await sheet.getByLabel("points", { exact: true }).fill("101");
    await sheet.getByRole("button", { name: "Draw the curves" }).click();
    await until(() => sheet.locator(".fault").innerText(), (t) => /from 2 to 100 with figures of the motion/.test(t), "the fault");
  });
});
