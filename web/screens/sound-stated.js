// @ts-check
// What the person states of a sound: lift, clock, beats an hour, which side is the entry pallet's.
import { html } from "../html.js";
import { entrySide } from "../noises.js";
import { beatsText, clockErrorText, clockText, faultOf, liftFrom, liftText, modelLift, sounded, takeLiftFrom } from "../sound.js";
import { number } from "../units.js";

/** @param {{ id: string, label: string, text: import("@preact/signals").Signal<string>, unit: string, fault: string | null, about: string, holds?: string }} props */
function Field({ id, label, text, unit, fault, about, holds = "" }) {
  return html`<div class="row"><label for=${id} title=${about}>${label}</label>
    <input id=${id} inputmode="decimal" autocomplete="off" value=${text.value} placeholder=${holds} aria-invalid=${fault ? "true" : "false"} aria-describedby=${`${id}-about`}
      onChange=${(/** @type {any} */ e) => (text.value = e.currentTarget.value)} />
    <span class="unit">${unit}</span><span class="unseen" id=${`${id}-about`}>${about}</span>
    ${fault && html`<p class="fault" role="alert">${fault}</p>`}</div>`;
}

const LIFT = "lift at the balance from the first noise to the drop, 10 to 120 deg: a few degrees more than the geometric one; motion gives it as the effective lift";

export function StatedOfSound() {
  const model = modelLift.value;
  const from = liftFrom.value;
  const choice = (/** @type {boolean} */ on, /** @type {string} */ name, /** @type {() => void} */ act, able = true) =>
    html`<button class="word" type="button" aria-pressed=${on ? "true" : "false"} disabled=${!able} onClick=${act}>${name}</button>`;
  return html`<section class="sound-stated" aria-label="Stated">
    <h2>Lift</h2>
    <p class="words" role="group" aria-label="Lift from">${choice(from === "hand", "by hand", () => takeLiftFrom("hand"))}
      ${choice(from === "model", "of the open movement", () => takeLiftFrom("model"), model !== null)}</p>
    ${from === "model" && model
      ? html`<p class="row"><span>lift</span><span class="figure">${number(model.deg, 2)}</span><span class="unit">deg</span></p>
        <p class="quiet">balance.heard_lift_deg of ${model.name}, ${model.origin}${model.origin === "stated" ? "" : ": the geometric lift; the heard one is larger"}.</p>
        ${faultOf("bad-lift") && html`<p class="fault" role="alert">${faultOf("bad-lift")}</p>`}`
      : html`<${Field} id="lift" label="lift" text=${liftText} unit="deg" fault=${faultOf("bad-lift")} about=${LIFT} />`}
    <h2>Clock and beat</h2>
    <${Field} id="clock" label="clock is fast by" text=${clockText} unit="ppm" fault=${faultOf("bad-clock")} holds="unchecked"
      about="error of the recorder's clock in parts of a million, negative where it is slow; 1 ppm is 0.0864 s/d" />
    <${Field} id="clock-error" label="known to ±" text=${clockErrorText} unit="ppm" fault=${null} about="standard error of that, parts of a million" />
    <${Field} id="beats" label="beats an hour" text=${beatsText} unit="1/h" fault=${faultOf("bad-beats")} holds="as heard"
      about="nominal beats an hour, 7200 to 43200; where nothing is written the usual count that it is near" />
    <h2>Entry pallet</h2>
    <p class="words" role="group" aria-label="Side of the entry pallet">${choice(entrySide.value === null, "not known", () => void (entrySide.value = null))}
      ${/** @type {const} */ (["A", "B"]).map((side) => choice(entrySide.value === side, `side ${side}`, () => void (entrySide.value = side), (sounded.value?.sides.length ?? 0) > 0))}</p>
    <p class="quiet">${entrySide.value === null ? "A sound does not tell which side is which." : `Side ${entrySide.value} is the entry pallet's: stated by hand.`}</p>
  </section>`;
}
