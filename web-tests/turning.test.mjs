// Turning the escapement by hand: by its parts, by the beat slider, by key.
import assert from "node:assert/strict";
import { checks, numberOf, outline, until } from "./page.mjs";

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
});
