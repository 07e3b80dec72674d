// Turning the escapement by hand: by its parts, by the beat slider, by key.
import assert from "node:assert/strict";
import { checks, demoText, numberOf, openText, outline, until } from "./page.mjs";
import { printed } from "./program.mjs";

/** The order of a beat, as the program's manual has it; what comes before the parts touch and after is the free arc. */
const BEAT = [
  "free arc, coming", "unlocking", "notch catches jewel", "impulse on stone", "impulse on tooth", "drop", "run",
  "free arc, going",
];

const ribbon = (page) => page.locator(".ribbon[role=slider]");
const instantOf = async (page) => Number(await ribbon(page).getAttribute("aria-valuenow"));

/** Beat and phase as the title block says them. */
async function momentOf(page) {
  const [beat, phase] = await page.locator(".title-block .phase").evaluate((row) =>
    [...row.children].map((cell) => cell.textContent ?? ""));
  return { beat, phase };
}

/** An angle of the title block. */
const angle = async (page, part) =>
  numberOf(await page.locator(".title-block .moment div", { hasText: `${part}, deg` }).locator("dd").innerText());

/** Where on the screen a part can be taken hold of, far from its axis. */
const holdOf = (page, part, axis) => page.evaluate(([rides, at]) => {
  const box = document.querySelector("svg.drawing").getBoundingClientRect();
  let best = null;
  for (let x = box.left; x < box.right; x += 6) {
    for (let y = box.top; y < box.bottom; y += 6) {
      const there = document.elementFromPoint(x, y);
      if (there?.dataset?.rides !== rides || there.closest("[data-inset]")) continue;
      const far = Math.hypot(x - at.x, y - at.y);
      if (!best || far > best.far) best = { x, y, far };
    }
  }
  return best;
}, [part, axis]);

/** Places of the axes on the screen: wheel, pallets, balance. */
const axesOf = (page) => page.locator("svg.drawing > .drawn > .axes circle").evaluateAll((all) => all.map((circle) => {
  const box = circle.getBoundingClientRect();
  return { x: (box.left + box.right) / 2, y: (box.top + box.bottom) / 2 };
}));

/** Turns the pointer about an axis from where it is down, in small steps; says what passed. */
async function turn(page, axis, from, by_deg, seen) {
  const [radius, first] = [Math.hypot(from.x - axis.x, from.y - axis.y), Math.atan2(from.y - axis.y, from.x - axis.x)];
  const steps = Math.ceil(Math.abs(by_deg) / 0.1);
  let at = from;
  for (let i = 1; i <= steps; i += 1) {
    // The screen's y is down: anticlockwise on the plate is the other way round there.
    const now = first - (by_deg * i * Math.PI) / (180 * steps);
    at = { x: axis.x + radius * Math.cos(now), y: axis.y + radius * Math.sin(now) };
    await page.mouse.move(at.x, at.y);
    seen.push(await momentOf(page));
  }
  return at;
}

/** Opens the demo movement with something changed. @param {[string, string, number]} change table, key and value */
async function openChanged(page, [table, key, value]) {
  await openText(page, "changed.toml", `${(await demoText(page)).trimEnd()}\n\n[${table}]\n${key} = ${value}\n`);
  await page.locator(".findings").waitFor();
}

/** What the program's own command says of it. */
const told = async ([table, key, value]) => JSON.parse(await printed("check", "demo", "--json", "--set", `${table}.${key}=${value}`));

const spoken = (page) => ribbon(page).getAttribute("aria-valuetext");

/** Phases in the order they passed, each once where it went on. */
const passed = (seen) => seen.filter((m, i) => i === 0 || m.phase !== seen[i - 1].phase || m.beat !== seen[i - 1].beat);

checks("turning the escapement", ({ open, check }) => {
  check("the lever is dragged through both beats, its phases pass in order", async () => {
    const page = await open();
    await page.getByRole("button", { name: "pin entry" }).click();
    await page.getByRole("button", { name: "pin exit" }).click();
    const axis = (await axesOf(page))[1];
    const from = await holdOf(page, "lever", axis);
    assert.ok(from, "the lever can be taken hold of");
    const wheel = [await outline(page, "escape wheel"), await angle(page, "wheel")];
    await page.mouse.move(from.x, from.y);
    await page.mouse.down();
    const seen = [await momentOf(page)];
    const across = await turn(page, axis, from, -11.5, seen);
    const going = seen.length;
    await turn(page, axis, across, 11.5, seen);
    await page.mouse.up();
    assert.ok(wheel[1] - (await angle(page, "wheel")) > 20, "the wheel has gone on by about two half pitches");
    assert.notEqual(await outline(page, "escape wheel"), wheel[0]);
    for (const [beat, moments] of [["entry beat", seen.slice(0, going)], ["exit beat", seen.slice(going)]]) {
      const order = passed(moments).filter((m) => m.beat === beat).map((m) => BEAT.indexOf(m.phase));
      assert.ok(order.every((k) => k >= 0), `${beat}: only phases of a beat: ${JSON.stringify(passed(moments))}`);
      assert.ok(order.every((k, i) => i === 0 || k > order[i - 1]), `${beat}: in order: ${order}`);
      for (const phase of ["unlocking", "impulse on stone", "impulse on tooth", "run"]) {
        assert.ok(order.includes(BEAT.indexOf(phase)), `${beat}: ${phase} passed`);
      }
    }
  });

  check("wheel and balance turn by hand too", async () => {
    for (const [part, place, by_deg] of [["wheel", 0, -12], ["roller", 2, 150]]) {
      const page = await open();
      const axis = (await axesOf(page))[place];
      const from = await holdOf(page, part, axis);
      assert.ok(from, `the ${part} can be taken hold of`);
      await page.mouse.move(from.x, from.y);
      await page.mouse.down();
      const seen = [await momentOf(page)];
      await turn(page, axis, from, by_deg, seen);
      await page.mouse.up();
      const order = passed(seen).map((m) => `${m.beat} ${m.phase}`);
      assert.ok(order.includes("entry beat impulse on stone"), `${part}: ${order}`);
      await page.close();
    }
  });

  check("the beat slider is turned by key: instants, phases, ends, and all the way round", async () => {
    const page = await open();
    await ribbon(page).focus();
    assert.equal(await instantOf(page), 0);
    await page.keyboard.press("ArrowRight");
    assert.equal(await instantOf(page), 1);
    await page.keyboard.press("Shift+ArrowRight");
    assert.equal(await instantOf(page), 11);
    await page.keyboard.press("ArrowLeft");
    assert.equal(await instantOf(page), 10);
    await page.keyboard.press("Home");
    const seen = [await momentOf(page)];
    for (let i = 1; i < 2 * BEAT.length; i += 1) {
      await page.keyboard.press("PageDown");
      seen.push(await momentOf(page));
    }
    const all = ["entry beat", "exit beat"].flatMap((beat) => BEAT.map((phase) => ({ beat, phase })));
    assert.deepEqual(seen, all);
    const last = Number(await ribbon(page).getAttribute("aria-valuemax"));
    await page.keyboard.press("End");
    assert.equal(await instantOf(page), last);
    await page.keyboard.press("ArrowRight");
    assert.equal(await instantOf(page), 0, "after the last instant comes the first");
    await page.keyboard.press("PageUp");
    assert.deepEqual(await momentOf(page), all.at(-1));
    // It says to a screen reader what the title block says to the eye.
    const said = await ribbon(page).getAttribute("aria-valuetext");
    const lever = await page.locator(".title-block .moment div", { hasText: "lever, deg" }).locator("dd").innerText();
    assert.ok(said.startsWith("exit beat, free arc, going; lever") && said.includes(`lever ${lever} deg`), said);
  });

  check("the beat slider is dragged by the pointer", async () => {
    const page = await open();
    const bands = page.locator(".ribbon .bands").nth(1);
    const box = await bands.boundingBox();
    await page.mouse.move(box.x + 0.2 * box.width, box.y + box.height / 2);
    await page.mouse.down();
    const [first, end] = await bands.evaluate((row) => [Number(row.dataset.first), Number(row.dataset.end)]);
    for (const part of [0.2, 0.5, 0.9]) {
      await page.mouse.move(box.x + part * box.width, box.y + box.height / 2);
      const wanted = Math.round(first + part * (end - 1 - first));
      await until(() => instantOf(page), (i) => Math.abs(i - wanted) <= 1, `instant at ${part} of the exit beat`);
    }
    await page.mouse.up();
  });

  check("a movement that stops is turned up to where it stops, and no farther", async () => {
    const change = ["bankings.exit", "open_mm", -0.02];
    const page = await open();
    await openChanged(page, change);
    const { figures } = await told(change);
    await ribbon(page).focus();
    await page.keyboard.press("End");
    const last = await instantOf(page);
    assert.ok(last > 100, `${last} instants`);
    assert.deepEqual(await momentOf(page), { beat: "entry beat", phase: "impulse on tooth" });
    assert.match(await page.locator(".title-block .stops").innerText(), /lever on banking$/);
    assert.equal(await angle(page, "lever"), Number(figures.exit.banking_deg.toFixed(3)), "the lever on its banking");
    assert.match(await spoken(page), /stops here: the lever meets the exit banking [\d.]+ deg before the entry pallet lets go: the watch stops$/);
    assert.match(await page.locator(".ribbon .stop").innerText(), /^lever on banking: /);
    await page.keyboard.press("ArrowRight");
    assert.equal(await instantOf(page), last, "it goes no farther");
    await page.keyboard.press("Home");
    await page.keyboard.press("ArrowLeft");
    assert.equal(await instantOf(page), 0, "nor back from its start");
    // By the lever: it follows the hand as far as the banking, and comes back with it.
    await page.getByRole("button", { name: "pin entry" }).click();
    await page.getByRole("button", { name: "pin exit" }).click();
    const axis = (await axesOf(page))[1];
    const from = await holdOf(page, "lever", axis);
    await page.mouse.move(from.x, from.y);
    await page.mouse.down();
    const beyond = await turn(page, axis, from, -14, []);
    await until(() => instantOf(page), (i) => i === last, "the instant with the lever drawn beyond its banking");
    await turn(page, axis, beyond, 9, []);
    await page.mouse.up();
    assert.ok((await angle(page, "lever")) > 0, "it came back");
  });

  check("a movement that cannot be turned at all says why", async () => {
    const page = await open();
    await openChanged(page, ["pallets.exit", "stone_spread_mm", 0.5]);
    assert.match(await page.locator(".ribbon.still").innerText(), /nothing on the entry pallet stops the wheel/);
  });

  check("where parts overlap the ribbon is red, and says what is in the way", async () => {
    const change = ["guard", "bend_mm", 0.06];
    const page = await open();
    await openChanged(page, change);
    const found = (await told(change)).findings.find((f) => f.code === "guard-strikes-crescent" && f.pallet === "entry");
    const [said, lever_deg] = found.message.match(/^(.*), lever at ([-\d.]+) deg$/).slice(1);
    const marks = await page.locator(".ribbon .struck").evaluateAll((all) => all.map((e) => e.title));
    assert.ok(marks.some((title) => title.startsWith(said)), `${said} in ${marks}`);
    await ribbon(page).focus();
    const holds = async () => (await spoken(page)).includes(said);
    assert.ok(!(await holds()), "not with the lever on its banking");
    // The command looks a quarter of a degree apart, the ribbon at each instant.
    for (let i = 0; i < 40 && !(await holds()); i += 1) await page.keyboard.press("Shift+ArrowRight");
    assert.ok(await holds(), "said where it holds");
    for (let i = 0; i < 11 && (await holds()); i += 1) await page.keyboard.press("ArrowLeft");
    await page.keyboard.press("ArrowRight");
    assert.ok(Math.abs((await angle(page, "lever")) - Number(lever_deg)) < 0.3, `${await angle(page, "lever")} for ${lever_deg} deg`);
    assert.ok((await page.locator(".ribbon .band.past").count()) > 0, "what lies past it is marked");
    assert.equal(await page.locator(".ribbon .stop").count(), 0);
  });

  check("five shocks of each beat are named at the instants where they come", async () => {
    const page = await open();
    const names = ["jewel meets notch", "tooth meets impulse face", "notch catches jewel", "drop", "banking"];
    const ticks = await page.locator(".ribbon .tick").evaluateAll((all) => all.map((e) => e.title));
    assert.deepEqual(ticks, [...names, ...names]);
    await ribbon(page).focus();
    for (const name of names) {
      // Each comes where one phase goes over into the next.
      for (let i = 0; i < 3; i += 1) {
        await page.keyboard.press("PageDown");
        await page.keyboard.press("ArrowLeft");
        if ((await spoken(page)).includes("shock")) break;
        await page.keyboard.press("ArrowRight");
      }
      assert.match(await spoken(page), new RegExp(`shock: ${name}$`));
      await page.keyboard.press("ArrowRight");
    }
  });

  check("it plays by itself, and any touch stops it", async () => {
    const page = await open();
    const word = page.getByRole("button", { name: "play", exact: true });
    const plays = async () => (await word.getAttribute("aria-pressed")) === "true";
    const goesOn = async () => {
      const begun = await instantOf(page);
      await until(() => instantOf(page), (i) => i > begun + 5, "the instant while it plays");
      assert.ok(await plays());
    };
    await word.click();
    await goesOn();
    await page.mouse.click(700, 400);
    assert.ok(!(await plays()), "a touch of the sheet stops it");
    await word.click();
    await goesOn();
    await word.click();
    assert.ok(!(await plays()), "its own word stops it");
    await ribbon(page).focus();
    await page.keyboard.press("Space");
    await goesOn();
    await page.keyboard.press("Space");
    assert.ok(!(await plays()), "the space bar plays and stops");
    await page.keyboard.press("Space");
    await goesOn();
    await page.keyboard.press("ArrowLeft");
    assert.ok(!(await plays()), "so does any key");
    const still = await instantOf(page);
    await page.waitForTimeout(200);
    assert.equal(await instantOf(page), still);
  });

  check("asked for less motion it plays from phase to phase; at a stop it ends", async () => {
    const page = await open({ browser: { reducedMotion: "reduce" } });
    await openChanged(page, ["bankings.exit", "open_mm", -0.02]);
    await ribbon(page).focus();
    await page.keyboard.press("Space");
    const seen = new Set();
    const last = Number(await ribbon(page).getAttribute("aria-valuemax"));
    await until(async () => {
      const now = await instantOf(page);
      seen.add(now);
      return now;
    }, (i) => i === last, "the last instant");
    assert.equal(seen.size, 6, `starts of the phases and the end: ${[...seen]}`);
    assert.equal(await page.getByRole("button", { name: "play", exact: true }).getAttribute("aria-pressed"), "false");
  });
});
