// Live sound: the browser's own stand-in for a microphone plays a recording of the checks' generator; what the page hears
// of it is what it hears in the file.
import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { checks, until } from "./page.mjs";
import { printed, removeFolder, stateFolder } from "./program.mjs";
import { ticking, wav } from "./ticking.mjs";

/** What was made; longer than it is listened to. */
const MADE = { lasts_s: 120, per_hour: 28_800, rate_s_per_day: -35, amplitude_deg: 255, lift_deg: 52, beat_error_ms: 0.6, seed: 11 };
/** So long it is listened to, s; and so long the work of the bench is measured, ms. */
const HEARD_S = 32;
const MEASURED_MS = 20_000;
const ERRORS = 4;
/** Clock ticks of a second: what Linux counts the time of processes in (USER_HZ, man 5 proc). */
const TICKS = 100;

const folder = stateFolder();
process.on("exit", () => removeFolder(folder));
const path = join(folder, "made.wav");
writeFileSync(path, wav(ticking(MADE)));

const soundOf = (page) => page.evaluate(async () => (await import("/sound.js")).sounded.value);
const start = (page) => page.getByRole("button", { name: "start listening" }).click();
const permissions = ["microphone"];

/** Seconds of work a process has done. @param {number} pid */
function worked_s(pid) {
  const fields = readFileSync(`/proc/${pid}/stat`, "utf8").replace(/^.*\) /s, "").split(" ");
  return (Number(fields[11]) + Number(fields[12])) / TICKS;
}

async function listen(page) {
  await page.locator(".title-block").getByRole("button", { name: "listen", exact: true }).click();
  await page.locator(".sound-sheet").waitFor();
  await page.getByLabel("lift", { exact: true }).fill("52");
  await page.keyboard.press("Enter");
}

checks("live sound", ({ open, check, at }) => {
  check("figures of live sound are those of the file within their errors, told twice a second and more; they settle", async () => {
    const page = await open({ browser: { permissions, viewport: { width: 1440, height: 900 } } });
    await listen(page);
    const told = [];
    page.on("websocket", (line) => line.url().includes("/sound") && line.on("framereceived", () => told.push(performance.now())));
    await start(page);
    const meter = page.getByRole("meter", { name: "Level" });
    await until(() => meter.getAttribute("aria-valuetext"), (t) => /dB of full scale, well/.test(t), "the level");
    await until(() => page.locator(".says").innerText(), (t) => /No figures yet: beats are looked for/.test(t), "what it waits for");
    const asked = await page.evaluate(async () => (await import("/sound.js")).altered.value);
    assert.deepEqual(asked, [], "nothing alters the sound");
    const until_s = async (s) => {
      for (let i = 0; i < 2000; i += 1) {
        const now = await soundOf(page);
        if (now && now.lasts_s >= s) return now;
        await page.waitForTimeout(50);
      }
      return assert.fail(`never ${s} s`);
    };
    await until_s(4);
    const [from_ms, from_s] = [performance.now(), worked_s(at.program.pid)];
    await page.waitForTimeout(MEASURED_MS);
    const part = (worked_s(at.program.pid) - from_s) / ((performance.now() - from_ms) / 1000);
    const early = await until_s(HEARD_S / 1.4);
    await until_s(HEARD_S);
    const gaps = told.slice(1).map((t, i) => t - told[i]).sort((a, b) => a - b);
    console.log(`# live sound, ${(await soundOf(page)).report.sampling_hz} Hz: ${(100 * part).toFixed(2)} % of a core; told ${told.length} times, every ${gaps[gaps.length >> 1].toFixed(0)} ms, at most ${gaps.at(-1).toFixed(0)} ms`);
    await page.locator(".error-bar .earlier").first().waitFor({ state: "attached" });
    await page.getByRole("button", { name: "stop", exact: true }).click();
    const { report, deviation } = await until(() => soundOf(page), (s) => s.ended, "the end");
    const file = JSON.parse(await printed("listen", path, "--lift-deg", "52", "--json"));
    for (const [value, se, made] of [["rate_s_per_day", "rate_se_s_per_day", MADE.rate_s_per_day], ["amplitude_deg", "amplitude_se_deg", null], ["beat_error_ms", "beat_error_se_ms", MADE.beat_error_ms]]) {
      const error = ERRORS * Math.hypot(report[se], file[se]);
      assert.ok(Math.abs(report[value] - file[value]) <= error, `${value}: ${report[value]} ± ${report[se]} live, ${file[value]} ± ${file[se]} of the file`);
      if (made !== null) assert.ok(Math.abs(report[value] - made) <= ERRORS * report[se], `${value}: ${report[value]} ± ${report[se]}, made ${made}`);
    }
    assert.ok(report.rate_se_s_per_day < early.report.rate_se_s_per_day, "the error grows smaller");
    assert.ok(deviation.at_s.length > 50 && report.beats_heard > 0.95 * report.beats, `${report.beats_heard} of ${report.beats} beats`);
    assert.ok(gaps[gaps.length >> 1] <= 500, `told every ${gaps[gaps.length >> 1]} ms`);
  });

  check("begun anew nothing of the sound before is in the figures; what is stated while it goes on is heard with", async () => {
    const page = await open({ browser: { permissions } });
    await listen(page);
    await start(page);
    await until(() => soundOf(page), (s) => s !== null && s.lasts_s > 3, "three seconds");
    await page.getByRole("button", { name: "begin anew" }).click();
    const anew = await until(() => soundOf(page), (s) => s !== null, "the sound anew");
    assert.ok(anew.lasts_s < 2, `${anew.lasts_s} s`);
    await page.getByLabel("lift", { exact: true }).fill("53");
    await page.keyboard.press("Enter");
    await until(() => soundOf(page), (s) => s.report.lift_deg === 53, "the lift");
    await page.getByLabel("lift", { exact: true }).fill("3");
    await page.keyboard.press("Enter");
    await page.locator(".sound-stated .fault", { hasText: "10 to 120 deg" }).waitFor();
    // Left, the microphone is let go.
    await page.getByRole("link", { name: "to the board" }).click();
    await until(() => page.evaluate(async () => (await import("/sound.js")).hearing.value), (h) => h === "no", "the microphone");
  });

  check("what was heard is saved as it was: the command hears the same in it", async () => {
    const page = await open({ browser: { permissions } });
    await listen(page);
    await start(page);
    await until(() => soundOf(page), (s) => s !== null && s.lasts_s > 2, "two seconds");
    await page.getByRole("button", { name: "stop", exact: true }).click();
    const heard = await until(() => soundOf(page), (s) => s.ended, "the end");
    const [saved] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "save as WAV" }).click()]);
    const file = join(folder, "saved.wav");
    await saved.saveAs(file);
    const samples = (readFileSync(file).length - 44) / 4;
    assert.ok(Math.abs(samples / heard.report.sampling_hz - heard.lasts_s) < 1e-6, `${samples} samples of ${heard.lasts_s} s`);
    const told = JSON.parse(await printed("listen", file, "--lift-deg", "52", "--json"));
    assert.deepEqual([told.sampling_hz, told.reason], [heard.report.sampling_hz, heard.report.reason]);
  });

  check("a microphone that is not allowed is told, and what to do", async () => {
    const page = await open({ browser: { permissions: [] } });
    await listen(page);
    await page.evaluate(() => {
      navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("denied", "NotAllowedError"));
    });
    await start(page);
    await page.getByRole("alert").filter({ hasText: "The browser was not allowed to use the microphone: allow it for this page" }).waitFor();
  });

  check("two pages listen at once", async () => {
    const pages = [await open({ browser: { permissions } }), await open({ browser: { permissions } })];
    for (const page of pages) {
      await listen(page);
      await start(page);
    }
    for (const page of pages) await until(() => soundOf(page), (s) => s !== null && s.lasts_s > 2, "sound on both");
  });
}, ["--use-fake-device-for-media-stream", `--use-file-for-fake-audio-capture=${path}`, "--autoplay-policy=no-user-gesture-required"]);
