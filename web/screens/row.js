// @ts-check
// One line of the parts list: symbol, words, value field, unit, origin mark.
import { Component } from "preact";
import { html } from "../html.js";
import { asWritten, decimalsOf, number, sign, wordsOf } from "../units.js";
import { choiceWords, fullName, ORIGINS, shortName, twinOf } from "./names.js";
import { Faults, OWN_AT_MOST } from "./faults.js";
import { hold, redo, release, select, setValue, setValues, undo } from "../state.js";

/** @import { DiagnosticRow, ParameterRow, Sheet } from "../wire" */
/**
 * @typedef {object} RowProps
 * @property {ParameterRow} row
 * @property {string} path
 * @property {number | null} value nothing where the movement has none
 * @property {string} origin
 * @property {number | null} step smallest step worth making where the drawing has a handle for it
 * @property {boolean} selected
 * @property {DiagnosticRow[] | null} said errors of the text about this parameter
 * @property {Sheet | null} sheet
 */

/** Time after the last step with the arrow keys at which the value is written, ms. */
const SETTLED_MS = 600;

/** Steps of the arrow keys where the drawing has no handle, by unit. @type {Record<string, number>} */
const STEPS = { deg: 0.05, mm: 0.001, "mg cm2": 0.1, "uN m": 0.01, "1/h": 100, "mm/s": 0.1, "": 0.01 };

/** A value as the field has it: the decimals of its unit, more where it has more. @param {string} path @param {string} unit @param {number} value @param {boolean} all */
function fieldText(path, unit, value, all) {
  if (path.endsWith("_count")) return number(value, 0);
  const written = asWritten(value);
  const own = written.includes(".") ? written.length - written.indexOf(".") - 1 : 0;
  return number(value, all && !written.includes("e") ? Math.max(own, decimalsOf(unit)) : decimalsOf(unit));
}

/** @extends {Component<RowProps, { draft: string | null, faults: DiagnosticRow[] }>} */
export class Row extends Component {
  /** @type {{ draft: string | null, faults: DiagnosticRow[] }} */
  state = { draft: null, faults: [] };
  /** The draft was taken and stands until the sheet shows it. */
  sent = false;
  /** The drawing is held at the draft. */
  held = false;
  timer = 0;
  /** @type {HTMLElement | null} */
  line = null;
  wasSelected = false;
  wasFaulty = false;
  wasOrigin = "";

  /** @param {RowProps} next */
  componentWillReceiveProps(next) {
    if (next.sheet !== this.props.sheet && this.sent && !this.held) {
      this.sent = false;
      this.setState({ draft: null });
    }
  }

  /** @param {any} next @param {any} state */
  shouldComponentUpdate(next, state) {
    const own = /** @type {any} */ (this.props);
    const changed = Object.keys(next).some((key) => key !== "sheet" && next[key] !== own[key]);
    return changed || state.draft !== this.state.draft || state.faults !== this.state.faults;
  }

  componentDidMount() {
    this.seen();
  }

  componentDidUpdate() {
    this.seen();
  }

  /** Brings the line into view when it is selected, and when something is said under it or at the foot of the list. */
  seen() {
    const { selected, origin } = this.props;
    const faulty = this.faults().length > 0;
    const stays = this.wasSelected && this.wasFaulty === faulty && this.wasOrigin === origin;
    // Only when the lines above, and what is said at the foot, stand where they will stand.
    if (selected && !stays) requestAnimationFrame(() => this.show());
    this.wasSelected = selected;
    this.wasFaulty = faulty;
    this.wasOrigin = origin;
  }

  componentWillUnmount() {
    this.letGo();
  }

  /** Brings the line into view within the parts list, and leaves the page where it is. */
  show() {
    const { line } = this;
    const list = line?.closest(".parts");
    if (!line || !list) return;
    const [at, frame] = [line.getBoundingClientRect(), list.getBoundingClientRect()];
    if (at.top < frame.top) list.scrollTop += at.top - frame.top - 24;
    else if (at.bottom > frame.bottom) list.scrollTop += Math.min(at.bottom - frame.bottom + 24, at.top - frame.top - 24);
  }

  /** @param {HTMLElement | null} line */
  keepLine = (line) => void (this.line = line);

  text() {
    const { path, row, value, origin } = this.props;
    return value === null ? "" : fieldText(path, row.unit, value, origin === "stated");
  }

  /** Writes what stands in the field into the movement. @param {boolean} [both] for the other pallet too */
  async commit(both = false) {
    const { path, origin } = this.props;
    if (this.held) return this.letGo();
    const { draft } = this.state;
    if (draft === null || this.sent) return;
    const text = draft.trim().replaceAll("\u2212", "-");
    const twin = both ? twinOf(path) : path;
    if (twin === path && (draft.trim() === this.text() || (text === "" && origin !== "stated"))) {
      this.setState({ draft: null, faults: [] });
      return;
    }
    const value = text === "" ? null : text;
    const changes = [path, twin].map((p) => ({ path: p, value }));
    await this.took(twin === path ? setValue(path, value) : setValues(changes, `${wordsOf(path)} of both pallets ${value ?? "taken out"}`));
  }

  /** Ends the steps made with the arrow keys: they become one change of the text. */
  letGo() {
    clearTimeout(this.timer);
    if (!this.held) return;
    this.held = false;
    this.took(release());
  }

  /** Waits for what came of a change. @param {Promise<DiagnosticRow[]>} change */
  async took(change) {
    this.sent = true;
    const faults = await change;
    if (faults.length > 0) this.sent = false;
    this.setState({ faults });
  }

  /** @param {number} count */
  stepBy(count) {
    const { path, row, value, step } = this.props;
    const from = Number((this.state.draft ?? String(value ?? "")).replaceAll("\u2212", "-"));
    if (!Number.isFinite(from) || (this.state.draft ?? "0").trim() === "") return;
    const one = step ?? (path.endsWith("_count") ? 1 : STEPS[row.unit]);
    const to = Number(asWritten(from + count * one));
    if (to < row.least || to > row.most) return;
    this.held = true;
    this.setState({ draft: fieldText(path, row.unit, to, true), faults: [] });
    hold(path, to);
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => this.letGo(), SETTLED_MS);
  }

  /** Undo and redo are those of the page, once nothing is being written here. @param {boolean} again */
  takeBack(again) {
    const writing = this.state.draft !== null && !this.sent && !this.held;
    this.setState({ draft: null, faults: [] });
    if (this.held) this.letGo();
    if (!writing) again ? redo() : undo();
  }

  /** @param {KeyboardEvent} event */
  key = (event) => {
    const letter = event.key.toLowerCase();
    if ((event.ctrlKey || event.metaKey) && (letter === "z" || letter === "y")) this.takeBack(letter === "y" || event.shiftKey);
    else if (event.key === "Enter") this.commit(event.shiftKey);
    else if (event.key === "Escape" && this.state.draft !== null && !this.held) this.setState({ draft: null, faults: [] });
    else if (event.key === "ArrowUp") this.stepBy(event.shiftKey ? 10 : 1);
    else if (event.key === "ArrowDown") this.stepBy(event.shiftKey ? -10 : -1);
    else return;
    event.preventDefault();
    event.stopPropagation();
  };

  field() {
    const { path, row, origin, selected } = this.props;
    const label = `${fullName(path)}${row.unit && `, ${row.unit}`}, ${ORIGINS[origin]?.word ?? "not there"}`;
    const faulty = this.faults().length > 0;
    const common = {
      "aria-label": label,
      "aria-invalid": faulty ? "true" : undefined,
      "aria-describedby": [faulty && `fault-${path}`, selected && "statement-detail"].filter(Boolean).join(" ") || undefined,
      "data-path": path,
      onFocus: () => select(path),
    };
    if (row.choices.length > 0) return this.choice(common);
    return html`<input ...${common} type="text" inputmode="decimal" autocomplete="off" spellcheck=${false}
      value=${this.state.draft ?? this.text()} onKeyDown=${this.key} onBlur=${() => this.commit()}
      onInput=${(/** @type {any} */ e) => {
        this.sent = false;
        this.setState({ draft: e.currentTarget.value });
      }} />`;
  }

  /** @param {object} common */
  choice(common) {
    const { path, row, value, origin } = this.props;
    const stated = origin === "stated";
    const now = value === null ? "" : row.choices[value];
    const bare = stated || !now ? "not stated" : `${choiceWords(now)}`;
    return html`<select ...${common} value=${stated ? now : ""}
      onChange=${(/** @type {any} */ e) => this.took(setValue(path, e.currentTarget.value || null))}>
      <option value="">${bare}</option>
      ${row.choices.map((word) => html`<option value=${word}>${choiceWords(word)}${stated || word !== now ? "" : ", stated"}</option>`)}
    </select>`;
  }

  /** What is wrong with the value: as just entered, or as the text has it. */
  faults() {
    const { faults } = this.state;
    return faults.length > 0 ? faults : (this.props.said ?? []);
  }

  render() {
    const { path, row, origin, selected } = this.props;
    const faults = this.faults();
    // An error about many parameters is said with the one that is looked at.
    const quiet = !selected && faults.every((f) => f.about.length > OWN_AT_MOST);
    const mark = ORIGINS[origin]?.mark ?? "";
    return html`<li ref=${this.keepLine} class=${`part-row${selected ? " selected" : ""}${["bench", "motion"].includes(row.role) ? ` ${row.role}` : ""}`}>
      <span class="symbol" aria-hidden="true">${row.symbol}</span>
      <button type="button" class="name" tabindex="-1" aria-pressed=${selected ? "true" : "false"} title=${row.definition}
        onClick=${() => select(path)}>${shortName(path)}</button>
      ${this.field()}
      <span class="unit" aria-hidden="true">${sign(row.unit)}</span>
      <span class="mark" aria-hidden="true" title=${ORIGINS[origin]?.word}>${mark}</span>
      ${faults.length > 0 && html`<div class=${quiet ? "unseen" : "fault"} id=${`fault-${path}`}>
        ${quiet ? "does not agree with the rest" : html`<${Faults} rows=${faults} path=${path} />`}</div>`}
    </li>`;
  }
}
