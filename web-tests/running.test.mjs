// What the escapement does in time stands beside every edit, as the program's own command says it.
import assert from "node:assert/strict";
import { checks, demoText, field, numberOf, openText, textOf, until } from "./page.mjs";
import { printed } from "./program.mjs";

/** What the command says of the demo movement. @param {string[]} set */
const told = async (...set) => JSON.parse(await printed("motion", "demo", "--json", ...set.flatMap((s) => ["--set", s])));

const row = (page, name) => page.locator(".running .in-motion tr", { has: page.getByRole("rowheader", { name, exact: true }) });
const shown = async (page, name) => numberOf(await row(page, name).locator(".number").innerText());

checks("what it does in time", ({ open, check }) => {
  check("amplitude, rate and where the energy goes are those of the command", async () => {
    const page = await open();
    const { steady, ledger } = await told();
    await until(() => shown(page, "amplitude"), (v) => Math.abs(v - steady.amplitude_deg) < 0.006, "the amplitude");
    assert.ok(Math.abs((await shown(page, "rate")) - steady.rate_s_per_day) < 0.006);
    assert.ok(Math.abs((await shown(page, "efficiency")) - steady.efficiency_ratio) < 0.0006);
    const drive = ledger[0].nj_per_beat;
    const air = ledger.find((l) => l.place === "air and hairspring");
    const said = await page.locator(".ledger tr", { hasText: air.place }).locator(".number").innerText();
    assert.ok(Math.abs(numberOf(said) - (100 * air.nj_per_beat) / drive) < 0.06, said);
    const parts = await page.locator(".ledger .number").allInnerTexts();
    const sum = parts.map(numberOf).reduce((a, b) => a + b, 0);
    assert.ok(Math.abs(sum - 100) < 1, `the parts add up to ${sum} %`);
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
});
