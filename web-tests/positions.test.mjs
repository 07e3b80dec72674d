// What is drawn is what was computed: positions read back from the path text, at every zoom, against the contact curves
// that the program prints.
import assert from "node:assert/strict";
import { checks, until } from "./page.mjs";
import { distance, posed, read } from "./outline.mjs";
import { printed } from "./program.mjs";

const MOMENTS = 20;
/** Asked for: a millionth of the wheel's radius. */
const NEAR_RATIO = 1e-6;
/** The closest the page goes, px for a mm: one px is a nanometre. */
const CLOSEST = 1e6;

/** Asks the bench itself for the sheet of a text, past the page's own line. */
const askSheet = (page, text) => page.evaluate((asked) => new Promise((done, failed) => {
  const token = new URLSearchParams(location.search).get("token");
  const line = new WebSocket(`ws://${location.host}/socket?token=${token}`);
  line.onerror = () => failed(new Error("the bench does not answer"));
  line.onopen = () => line.send(JSON.stringify(
    { ask: "sheet", revision: 1, name: "demo.toml", text: asked, set: [], beat: 0, sideshake: false, brief: false, shown: null }));
  line.onmessage = ({ data }) => {
    line.close();
    done(JSON.parse(data).sheet);
  };
}), text);

/** Scale and size of what is seen, by the scale bar; place of the contact; path text of the parts. */
const seenOn = (page, parts) => page.evaluate((names) => {
  const drawing = document.querySelector("svg.drawing");
  const bar = drawing.querySelector(":scope > .scale");
  const [left, right] = bar.querySelector("path").getAttribute("d").match(/^M([\d.]+) [\d.]+V[\d.]+H([\d.]+)/).slice(1);
  const [length, unit] = bar.querySelector("text").textContent.split(" ");
  const touch = drawing.querySelector(":scope > .drawn > .contact > .touch");
  const [, , width, height] = drawing.getAttribute("viewBox").split(" ").map(Number);
  const box = drawing.getBoundingClientRect();
  return {
    px_per_mm: (right - left) / (Number(length) * (unit === "mm" ? 1 : 1e-3)),
    touch: touch && [Number(touch.getAttribute("cx")), Number(touch.getAttribute("cy"))],
    size: [width, height],
    corner: [box.left, box.top],
    paths: Object.fromEntries(names.map((name) =>
      [name, drawing.querySelector(`:scope > .drawn path.body[data-part="${name}"]`).getAttribute("d")])),
    axes: [...drawing.querySelectorAll(":scope > .drawn > .axes circle")].map((c) =>
      [Number(c.getAttribute("cx")), Number(c.getAttribute("cy"))]),
  };
}, parts);

/** Shows an instant, all of the sheet. */
async function show(page, instant) {
  await page.locator(".places").getByRole("button", { name: "show whole" }).click();
  await page.evaluate(async (to) => (await import("/state.js")).goTo(to), instant);
  await page.waitForFunction((to) => document.querySelector(".ribbon").getAttribute("aria-valuenow") === String(to), instant);
}

/** Comes closer to the contact until the scale is that one. */
async function closer(page, parts, px_per_mm) {
  for (;;) {
    const { px_per_mm: now, touch, corner } = await seenOn(page, parts);
    const by = Math.min(px_per_mm / now, 10);
    if (by < 1 + 1e-7) return;
    await page.mouse.move(corner[0] + touch[0], corner[1] + touch[1]);
    await page.mouse.wheel(0, -Math.log(by) / 0.0015);
    await until(async () => (await seenOn(page, parts)).px_per_mm, (v) => v > now, `scale at ${touch}, px for a mm`);
  }
}

/** Angles are printed with 12 digits: so near to its end a curve is read at its end. */
const PRINTED_DEG = 1e-9;

/** The contact of one pallet at a lever angle, between two points of the printed curve. */
function between(curve, lever_deg) {
  const end = [curve[0], curve[curve.length - 1]].find((p) => Math.abs(p.lever_deg - lever_deg) < PRINTED_DEG);
  if (end) return end;
  const k = curve.findIndex((p, i) => i > 0 && (p.lever_deg - lever_deg) * (curve[i - 1].lever_deg - lever_deg) <= 0
    && p.lever_deg !== curve[i - 1].lever_deg);
  if (k < 0) return null;
  const [a, b] = [curve[k - 1], curve[k]];
  const t = (lever_deg - a.lever_deg) / (b.lever_deg - a.lever_deg);
  return Object.fromEntries(["wheel_deg", "x_mm", "y_mm"].map((name) => [name, a[name] + t * (b[name] - a[name])]));
}

/** Instants spread over all that have a contact, with the pallet that is touched. */
function moments({ oscillation: at }) {
  const touched = at.contact.flatMap((contact, instant) => {
    if (!contact) return [];
    const { pallet, phase } = at.spans[at.span[instant]];
    const other = pallet === "entry" ? "exit" : "entry";
    return [{ instant, pallet: phase === "run" || phase === "free arc, going" ? other : pallet }];
  });
  return Array.from({ length: MOMENTS }, (_, i) => touched[Math.round((i * (touched.length - 1)) / (MOMENTS - 1))]);
}

const inside = ([x, y], [width, height]) => x >= 0 && y >= 0 && x <= width && y <= height;

checks("what is drawn", ({ open, check }) => {
  check(`agrees with the action at ${MOMENTS} moments and three zooms, to a millionth of the wheel's radius`, async () => {
    const page = await open();
    const text = await page.evaluate(async () => (await (await fetch("/tables.json")).json()).demo);
    const sheet = await askSheet(page, text);
    const told = JSON.parse(await printed("action", "demo", "--json", "--curve", "--points", "2000"));
    const curves = Object.fromEntries(told.beats.map((beat) => [beat.pallet, beat.curve]));
    const pitch_deg = 360 / sheet.tooth_count;
    const near_mm = NEAR_RATIO * sheet.locking_radius_mm;
    const worst = { whole: 0, "100 times": 0, "1 px a nm": 0 };
    const compared = { whole: 0, "100 times": 0, "1 px a nm": 0 };
    const chosen = moments(sheet);
    assert.equal(new Set(chosen.map((m) => m.instant)).size, MOMENTS, "different moments");
    for (const { instant, pallet } of chosen) {
      const lever_deg = sheet.oscillation.lever_deg[instant];
      const contact = between(curves[pallet], lever_deg);
      assert.ok(contact, `the printed ${pallet} curve reaches a lever angle of ${lever_deg} deg`);
      // All teeth of this wheel are alike: the one that acts may be another one of the pitch.
      const off = contact.wheel_deg - sheet.oscillation.wheel_deg[instant];
      const wheel_deg = contact.wheel_deg - Math.round(off / pitch_deg) * pitch_deg;
      const poses = {
        "escape wheel": { angle_deg: wheel_deg, axis_mm: sheet.axes_mm[0] },
        lever: { angle_deg: lever_deg, axis_mm: sheet.axes_mm[1] },
        [`${pallet} stone`]: { angle_deg: lever_deg, axis_mm: sheet.axes_mm[1] },
      };
      const parts = Object.keys(poses);
      await show(page, instant);
      const whole = (await seenOn(page, parts)).px_per_mm;
      for (const [zoom, px_per_mm] of [["whole", whole], ["100 times", 100 * whole], ["1 px a nm", CLOSEST]]) {
        await closer(page, parts, px_per_mm);
        const seen = await seenOn(page, parts);
        assert.ok(Math.abs(seen.px_per_mm / px_per_mm - 1) < 1e-6, `${zoom}: ${seen.px_per_mm} px a mm`);
        const toScreen = ([x, y]) => [
          seen.touch[0] + (x - contact.x_mm) * seen.px_per_mm,
          seen.touch[1] - (y - contact.y_mm) * seen.px_per_mm,
        ];
        const near_px = near_mm * seen.px_per_mm;
        const note = (px, what) => {
          worst[zoom] = Math.max(worst[zoom], px / seen.px_per_mm / sheet.locking_radius_mm);
          compared[zoom] += 1;
          assert.ok(px <= near_px, `${zoom}, instant ${instant}: ${what} is off by ${px} px, at most ${near_px}`);
        };
        seen.axes.forEach((axis, i) => {
          if (zoom === "whole") note(Math.hypot(...toScreen(sheet.axes_mm[i]).map((v, k) => v - axis[k])), `axis ${i}`);
        });
        for (const part of parts) {
          const { outlines_mm } = sheet.bodies.find((body) => body.part === part);
          const wanted = posed(outlines_mm, poses[part], toScreen, seen.px_per_mm);
          const drawn = read(seen.paths[part]);
          for (const edge of drawn) {
            if (inside(edge.to, seen.size)) note(distance(wanted, edge.to), `a corner drawn of the ${part}`);
          }
          for (const edge of wanted) {
            if (!inside(edge.to, seen.size)) continue;
            note(Math.min(...drawn.map((d) => Math.hypot(d.to[0] - edge.to[0], d.to[1] - edge.to[1]))), `a corner of the ${part}`);
          }
          if (part !== "lever") note(distance(drawn, seen.touch), `the contact on the ${part}`);
        }
      }
    }
    assert.ok(Object.values(compared).every((count) => count >= 2 * MOMENTS), JSON.stringify(compared));
    for (const [zoom, ratio] of Object.entries(worst)) {
      console.log(`positions, ${zoom}: ${compared[zoom]} compared, worst ${ratio.toExponential(1)} of the wheel's radius`);
    }
  });
});
