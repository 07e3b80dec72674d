// Written by a test of crates/beatwright/src/bench/wire.rs.
export type Ask = { "ask": "sheet", 
/**
 * Number of the question; comes back with the answer.
 */
revision: number, 
/**
 * Name of the file.
 */
name: string, 
/**
 * The movement file.
 */
text: string, 
/**
 * Overrides, `key=value`.
 */
set: Array<string>, 
/**
 * The beat with which the oscillation shown begins, where teeth differ.
 */
beat: number, 
/**
 * Whether to try the sideshake too.
 */
sideshake: boolean, 
/**
 * Whether to send only what is drawn, while something is held: handles of what is overridden, no values, no
 * contact curves and no motion.
 */
brief: boolean, 
/**
 * The moment shown, where only that of the oscillation is wanted: an oscillation of one instant. One that has no
 * such stretch, or stops at that very moment, is sent whole.
 */
shown: Shown | null, } | { "ask": "rewrite", 
/**
 * Number of the question.
 */
revision: number, 
/**
 * Name of the file.
 */
name: string, 
/**
 * The movement file.
 */
text: string, 
/**
 * What to change.
 */
changes: Array<Change>, } | { "ask": "sweep", 
/**
 * Number of the question.
 */
revision: number, 
/**
 * Name of the file.
 */
name: string, 
/**
 * The movement file.
 */
text: string, 
/**
 * Overrides, `key=value`.
 */
set: Array<string>, 
/**
 * `key=first:last:count`.
 */
axis: string, 
/**
 * Paths of the figures.
 */
figures: Array<string>, } | { "ask": "played", 
/**
 * Number of the question.
 */
revision: number, 
/**
 * Name of the file.
 */
name: string, 
/**
 * The movement file.
 */
text: string, 
/**
 * Overrides, `key=value`.
 */
set: Array<string>, 
/**
 * Whether to begin with everything at rest, and not with the steady motion.
 */
from_rest: boolean, } | { "ask": "amplitude", 
/**
 * Number of the question.
 */
revision: number, 
/**
 * Lift from the first noise to the drop.
 */
lift_deg: number, 
/**
 * Mean beat.
 */
beat_s: number, 
/**
 * From the first noise to the drop, of each side.
 */
between_ms: [number, number], 
/**
 * How finely they are placed.
 */
step_ms: number, } | { "ask": "begin", 
/**
 * Number of the question.
 */
revision: number, 
/**
 * Number of teeth.
 */
tooth_count: number, 
/**
 * Distance of the teeth's locking corner from the wheel centre.
 */
locking_radius_mm: number, };
export type Change = { 
/**
 * The parameter's path.
 */
path: string, 
/**
 * As written in the file, in its unit; nothing takes the statement away.
 */
value: string | null, };
export type Answer = { "answer": "sheet", 
/**
 * Number of the question.
 */
revision: number, 
/**
 * What is said about the text, errors first.
 */
diagnostics: Array<DiagnosticRow>, 
/**
 * Nothing where the text has errors.
 */
sheet: Sheet | null, } | { "answer": "text", 
/**
 * Number of the question.
 */
revision: number, 
/**
 * The file.
 */
text: string, } | { "answer": "played", 
/**
 * Number of the question.
 */
revision: number, 
/**
 * The motion.
 */
played: Played, } | { "answer": "curve", 
/**
 * Number of the question.
 */
revision: number, 
/**
 * Path of the parameter.
 */
path: string, 
/**
 * Its values, in its unit.
 */
at: Array<number>, 
/**
 * The figures.
 */
figures: Array<SweptFigure>, 
/**
 * What came of each point: `played`, `cycle-broken`, `does-not-lock` or the code of what is wrong.
 */
outcomes: Array<string>, } | { "answer": "amplitude", 
/**
 * Number of the question.
 */
revision: number, 
/**
 * Of each side.
 */
sides_deg: [[number, number] | null, [number, number] | null], 
/**
 * Of both.
 */
both_deg: [number, number] | null, } | { "answer": "problem", 
/**
 * Number of the question; 0 where it could not be read.
 */
revision: number, 
/**
 * Stable name.
 */
code: string, 
/**
 * What is wrong and what to do.
 */
message: string, 
/**
 * Diagnostics, where it is about a text.
 */
diagnostics: Array<DiagnosticRow>, };
export type SweptFigure = { 
/**
 * Path.
 */
path: string, 
/**
 * Value at each point, in the figure's unit; nothing where there is none.
 */
values: Array<number | null>, };
export type DiagnosticRow = { 
/**
 * `error`, `warning` or `note`.
 */
severity: string, 
/**
 * Stable name.
 */
code: string, 
/**
 * What is wrong.
 */
message: string, 
/**
 * The value found, with unit.
 */
value: string | null, 
/**
 * What is allowed, with unit.
 */
allowed: string | null, 
/**
 * What to do.
 */
hint: string | null, 
/**
 * Paths of the parameters concerned.
 */
about: Array<string>, 
/**
 * Line from 1; nothing where it is in no line of the text.
 */
line: number | null, 
/**
 * Column in characters, from 1.
 */
column: number | null, 
/**
 * Length in characters.
 */
length: number | null, };
export type Sheet = { 
/**
 * Name of the movement.
 */
name: string, 
/**
 * Kind of escapement.
 */
kind: string, 
/**
 * `sound` or `findings`.
 */
verdict: string, 
/**
 * The verdict as a sentence.
 */
sentence: string, 
/**
 * Axes of wheel, pallets and balance, x and y.
 */
axes_mm: [[number, number], [number, number], [number, number]], 
/**
 * Direction from pallet to balance axis less +y; the roller's frame is turned by it.
 */
line_deg: number, 
/**
 * Distance of the teeth's locking corner from the wheel centre: the measure of the drawing.
 */
locking_radius_mm: number, 
/**
 * Number of teeth.
 */
tooth_count: number, 
/**
 * Number of beats after which the action repeats: 2 where all teeth are alike.
 */
beat_count: number, 
/**
 * The parts.
 */
bodies: Array<Outlined>, 
/**
 * The oscillation as far as it can be turned; nothing where it cannot be turned at all.
 */
oscillation: Oscillation | null, 
/**
 * What keeps it from being turned on from its last instant; nothing where both beats are whole.
 */
stop: StopRow | null, 
/**
 * Lever angles at the bankings, entry and exit, as far as it meets them.
 */
bankings_deg: [number | null, number | null], 
/**
 * What was found wrong, worst first.
 */
findings: Array<FindingRow>, 
/**
 * Every figure.
 */
figures: Array<FigureRow>, 
/**
 * What it does in time; nothing where only what is drawn is wanted.
 */
running: Running | null, 
/**
 * Every parameter's value.
 */
values: Array<ValueRow>, 
/**
 * Where a bench move can be taken hold of on the drawing.
 */
handles: Array<Handle>, 
/**
 * Places worth a magnified view.
 */
views: Array<View>, 
/**
 * Contact curves of the beats shown.
 */
curves: Array<ContactCurve>, 
/**
 * Number of combinations of displaced pivots tried; nothing where none were.
 */
sideshake_combinations: number | null, };
export type Rides = "wheel" | "lever" | "roller" | "plate";
export type Outlined = { 
/**
 * Its name.
 */
part: string, 
/**
 * What it turns with.
 */
rides: Rides, 
/**
 * `steel`, `brass`, `ruby`, `banking`, `hidden` (where the lever covers it) or `phantom` (above all else).
 */
finish: string, 
/**
 * Closed outlines. Each begins with its start, `[x, y]`; then per edge the end `[x, y]` of a line, or
 * `[x, y, radius, large, sweep]` of an arc, both flags 0 or 1, sweep 1 anticlockwise in the frame with y up.
 */
outlines_mm: Array<Array<Array<number>>>, };
export type Oscillation = { 
/**
 * Number of the beat it begins with, from 0.
 */
first_beat: number, 
/**
 * Wheel angle, running on.
 */
wheel_deg: Array<number>, 
/**
 * Lever angle.
 */
lever_deg: Array<number>, 
/**
 * Jewel angle.
 */
jewel_deg: Array<number>, 
/**
 * Place in `spans`.
 */
span: Array<number>, 
/**
 * Contact of tooth and stone: `[x, y, nx, ny, wheel arm, lever arm]` in mm with the normal out of the stone;
 * nothing while the wheel is free.
 */
contact: Array<[number, number, number, number, number, number] | null>, 
/**
 * Advance of the wheel from the unlocking of the pallet that is touched; nothing while the wheel is free.
 */
advance_deg: Array<number | null>, 
/**
 * Torque on the lever over torque on the wheel, without friction; nothing while the wheel is free, and where its arm
 * vanishes.
 */
torque_ratio: Array<number | null>, 
/**
 * Phases in order.
 */
spans: Array<Span>, 
/**
 * The shocks of the beats, in order.
 */
shocks: Array<ShockRow>, };
export type Span = { 
/**
 * The pallet whose beat it is.
 */
pallet: string, 
/**
 * Its name.
 */
phase: string, 
/**
 * First instant.
 */
first: number, 
/**
 * Instant after the last.
 */
end: number, 
/**
 * What touches what, in words; nothing while the wheel is free.
 */
contact: string | null, };
export type Shown = { 
/**
 * The pallet whose beat it is.
 */
pallet: string, 
/**
 * Name of the phase.
 */
phase: string, 
/**
 * What touches what.
 */
contact: string | null, 
/**
 * How far along the instants of that stretch, 0 to 1.
 */
along: number, };
export type ShockRow = { 
/**
 * The instant at which it comes.
 */
instant: number, 
/**
 * Its name.
 */
name: string, 
/**
 * What strikes on what, in short: no phase is called so.
 */
short: string, };
export type StopRow = { 
/**
 * A few words.
 */
name: string, 
/**
 * The sentence.
 */
message: string, };
export type FindingRow = { 
/**
 * `fault` or `caution`.
 */
gravity: string, 
/**
 * Stable name.
 */
code: string, 
/**
 * The sentence.
 */
message: string, 
/**
 * Where the demand comes from.
 */
source: string, 
/**
 * Pallet concerned.
 */
pallet: string | null, 
/**
 * Path of the figure concerned.
 */
figure: string | null, 
/**
 * Paths of parameters that move it.
 */
moved_by: Array<string>, 
/**
 * Where it is on the plate.
 */
place_mm: [number, number] | null, 
/**
 * Instants of the oscillation at which the parts concerned overlap: of each stretch the first and the one after the
 * last; none where it is about something else.
 */
instants: Array<[number, number]>, 
/**
 * Number of the group of like findings it belongs to.
 */
group: number, };
export type Running = { 
/**
 * What became of the motion, by its name.
 */
outcome: string, 
/**
 * The same as a sentence without a full stop.
 */
sentence: string, 
/**
 * Whether it goes on.
 */
runs: boolean, 
/**
 * Figures of the steady motion; none where there is none.
 */
figures: Array<MotionFigure>, 
/**
 * Where the energy of a beat goes, the drive first; empty where there is no steady motion.
 */
ledger: Array<LedgerRow>, 
/**
 * Masses, torques and surfaces that nobody stated, by path.
 */
defaults: Array<string>, };
export type MotionFigure = { 
/**
 * Its path, which ends in its unit.
 */
path: string, 
/**
 * The same in words.
 */
name: string, 
/**
 * Unit of its value.
 */
unit: string, 
/**
 * Decimals shown.
 */
decimals: number, 
/**
 * What it is, one line.
 */
definition: string, 
/**
 * Its value; nothing where the motion does not have it.
 */
value: number | null, };
export type LedgerRow = { 
/**
 * The place.
 */
place: string, 
/**
 * Energy of a mean beat.
 */
nj_per_beat: number, 
/**
 * The same as a part of what the train gives.
 */
share_ratio: number, };
export type Played = { 
/**
 * Whether it begins with everything at rest.
 */
from_rest: boolean, 
/**
 * What became of it: a stable name.
 */
outcome: string, 
/**
 * The same in words.
 */
sentence: string, 
/**
 * Whether the movement does what was asked of it.
 */
runs: boolean, 
/**
 * Whether its end is its beginning, one tooth on.
 */
repeats: boolean, 
/**
 * Beats that went by before the first instant: of a motion that fails its last beats are shown.
 */
beats_before: number, 
/**
 * Balance angle from the spring's rest at the end of each beat; of one that has not ended, at the last instant.
 */
extreme_deg: Array<number>, 
/**
 * Instants, from the beginning of the motion; each larger than the one before.
 */
t_s: Array<number>, 
/**
 * Wheel angle of each.
 */
wheel_deg: Array<number>, 
/**
 * Lever angle of each.
 */
lever_deg: Array<number>, 
/**
 * Jewel angle of each.
 */
jewel_deg: Array<number>, 
/**
 * What holds from each instant to the next: its place among `stretches`.
 */
stretch: Array<number>, 
/**
 * Forces from each instant to the next, as they are halfway: place among `touching`, x and y of the contact in mm, x
 * and y of the force in mN.
 */
forces: Array<Array<[number, number, number, number, number]>>, 
/**
 * What touches what; the force is that of the first on the second.
 */
touching: Array<string>, 
/**
 * Phases, in order.
 */
stretches: Array<Stretch>, 
/**
 * Shocks, in order.
 */
shocks: Array<PlayedShock>, };
export type Stretch = { 
/**
 * The pallet whose beat it is.
 */
pallet: string, 
/**
 * Number of the beat, from 0 at the beginning of the motion.
 */
beat: number, 
/**
 * Its name.
 */
phase: string, 
/**
 * First instant.
 */
first: number, 
/**
 * Last instant, the first of the next.
 */
last: number, };
export type PlayedShock = { 
/**
 * Place of its instant.
 */
instant: number, 
/**
 * Its name: one of the five of a beat, or what met.
 */
name: string, 
/**
 * Whether it is one of the five of its beat.
 */
of_five: boolean, 
/**
 * Speed at which the parts closed.
 */
mm_per_s: number, 
/**
 * Energy lost there.
 */
lost_nj: number, };
export type FigureRow = { 
/**
 * Path.
 */
path: string, 
/**
 * Value in its unit; nothing where the action has none.
 */
value: number | null, 
/**
 * Least over the sideshake.
 */
least: number | null, 
/**
 * Largest over the sideshake.
 */
most: number | null, 
/**
 * The wanted value.
 */
wanted: number | null, 
/**
 * Where that comes from: `stated`, `default` or `derived`.
 */
wanted_origin: string | null, };
export type ValueRow = { 
/**
 * Path.
 */
path: string, 
/**
 * Value in its unit; of a choice its number.
 */
value: number, 
/**
 * `stated`, `default` or `derived`.
 */
origin: string, };
export type Handle = { 
/**
 * The parameter's path.
 */
path: string, 
/**
 * Words for it.
 */
label: string, 
/**
 * What the place rides on.
 */
rides: Rides, 
/**
 * The place, in the frame of what it rides on.
 */
at_mm: [number, number], 
/**
 * How far it goes for each unit of the parameter.
 */
per_unit_mm: [number, number], 
/**
 * Value now, in its unit.
 */
value: number, 
/**
 * Smallest step worth making, in its unit.
 */
step: number, };
export type View = { 
/**
 * Its name.
 */
name: string, 
/**
 * Middle, on the plate.
 */
at_mm: [number, number], 
/**
 * Half its width.
 */
half_width_mm: number, };
export type ContactCurve = { 
/**
 * The pallet.
 */
pallet: string, 
/**
 * Lever angle of each point.
 */
lever_deg: Array<number>, 
/**
 * Wheel angle, counted from where the tooth is unlocked, in the sense of its advance.
 */
advance_deg: Array<number>, 
/**
 * Torque on the lever over torque on the wheel; nothing above 20, where the wheel's arm goes to nothing.
 */
torque_ratio: Array<number | null>, };
export type Stated = { 
/**
 * Lift at the balance.
 */
lift_deg: string, 
/**
 * Nominal beats an hour.
 */
beats_per_hour: string, 
/**
 * Error of the recorder's clock, `12.5` or `12.5+-0.4`.
 */
clock_ppm: string, };
export type Hear = { "hear": "begin", 
/**
 * Samples a second.
 */
rate_hz: number, 
/**
 * What is stated.
 */
stated: Stated, } | { "hear": "state", 
/**
 * What is stated.
 */
stated: Stated, } | { "hear": "end", };
export type Told = { "told": "sounded", 
/**
 * All of it.
 */
sounded: Sounded, } | { "told": "problem", 
/**
 * Stable name.
 */
code: string, 
/**
 * What is wrong and what to do.
 */
message: string, };
export type Sounded = { 
/**
 * Figures, as the command `listen` gives them.
 */
report: Report, 
/**
 * How much was heard.
 */
lasts_s: number, 
/**
 * Whether that is all of it.
 */
ended: boolean, 
/**
 * Mean beat of each side, A and B; empty where there are none.
 */
sides: Array<MeanBeat>, 
/**
 * How beats depart from even ones; nothing where there are none.
 */
deviation: Deviation | null, };
export type MeanBeat = { 
/**
 * Root of the loudness, the loudest about 1, at even times.
 */
loudness: Array<number>, 
/**
 * Time of the first, from the drop.
 */
from_ms: number, 
/**
 * From one to the next.
 */
each_ms: number, 
/**
 * When the first noise begins, from the drop; nothing where it is not heard on both sides.
 */
first_ms: number | null, };
export type Deviation = { 
/**
 * Every point is the mean of so many beats.
 */
beats_each: number, 
/**
 * Middle of each, from the beginning of the sound.
 */
at_s: Array<number>, 
/**
 * Departure, positive where they are late.
 */
late_ms: Array<number>, 
/**
 * Standard error, from the scatter of all beats.
 */
se_ms: Array<number>, 
/**
 * Beats farther off than five times the scatter: they are in no figure, and not in here.
 */
left_out: number, };
export type Report = { 
/**
 * Name and version.
 */
schema: string, 
/**
 * The recording.
 */
file: string, 
/**
 * Nominal beats an hour: as stated, or the usual count it is near.
 */
beats_per_hour: number | null, 
/**
 * Gain over the nominal beat, the clock's error taken off.
 */
rate_s_per_day: number | null, 
/**
 * Its standard error, the clock's in it.
 */
rate_se_s_per_day: number | null, 
/**
 * Amplitude by the sound.
 */
amplitude_deg: number | null, 
/**
 * Its standard error, without that of the lift.
 */
amplitude_se_deg: number | null, 
/**
 * Half the absolute difference of successive beats.
 */
beat_error_ms: number | null, 
/**
 * Its standard error.
 */
beat_error_se_ms: number | null, 
/**
 * What is called beat error.
 */
beat_error_definition: string, 
/**
 * Mean beat.
 */
beat_s: number | null, 
/**
 * Its standard error.
 */
beat_se_s: number | null, 
/**
 * Lift by which the amplitude is read.
 */
lift_deg: number | null, 
/**
 * What a degree of lift makes of the amplitude, in degrees.
 */
amplitude_per_lift_ratio: number | null, 
/**
 * Stated error of the recorder's clock.
 */
clock_ppm: number | null, 
/**
 * Its standard error.
 */
clock_se_ppm: number | null, 
/**
 * What an unchecked clock may be off by; nothing where its error is stated.
 */
clock_unchecked_s_per_day: number | null, 
/**
 * Whether there are no figures.
 */
refused: boolean, 
/**
 * Why, and what would help.
 */
reason: string | null, 
/**
 * The same as a stable name.
 */
refusal: string | null, 
/**
 * Why single figures are missing.
 */
missing: Array<string>, 
/**
 * Samples a second.
 */
sampling_hz: number | null, 
/**
 * Channels.
 */
channels: number | null, 
/**
 * Which of them was heard.
 */
heard_in: string | null, 
/**
 * Packets that could not be read.
 */
unreadable_packets: number | null, 
/**
 * Beats that were timed.
 */
beats_heard: number | null, 
/**
 * Beats from the first to the last.
 */
beats: number | null, 
/**
 * How long it is.
 */
lasts_s: number | null, 
/**
 * Edges of the band in which it was heard.
 */
band_hz: [number, number] | null, 
/**
 * How beats scatter about a straight line.
 */
scatter_ms: number | null, 
/**
 * Which noise is timed.
 */
timed_by: string | null, 
/**
 * Where the sound changes on the way, as when the watch is moved: all that was heard, in order of time. The figures
 * above are of the longest of a recording, of the last of live sound; nothing else is in them.
 */
stretches: Array<Stretch>, };
export type Tables = { 
/**
 * Parameters.
 */
parameters: Array<ParameterRow>, 
/**
 * Figures.
 */
figures: Array<FigureDefinition>, 
/**
 * Figures of the steady motion.
 */
motion_figures: Array<FigureDefinition>, 
/**
 * Text of the demo movement.
 */
demo: string, 
/**
 * Version of the program.
 */
version: string, 
/**
 * Largest recording that is taken, bytes.
 */
recording_bytes_most: number, };
export type ParameterRow = { 
/**
 * Path; of a parameter of each pallet, one row for each. Teeth have `*`.
 */
path: string, 
/**
 * Letter.
 */
symbol: string, 
/**
 * Unit sign.
 */
unit: string, 
/**
 * Least value.
 */
least: number, 
/**
 * Largest value.
 */
most: number, 
/**
 * Words of a choice.
 */
choices: Array<string>, 
/**
 * What holds when it is not stated.
 */
unstated: string, 
/**
 * `dimension`, `wanted` or `bench`.
 */
role: string, 
/**
 * Definition.
 */
definition: string, };
export type FigureDefinition = { 
/**
 * Path.
 */
path: string, 
/**
 * Heading it stands under.
 */
group: string, 
/**
 * Its name in words, without the pallet.
 */
words: string, 
/**
 * `entry`, `exit`, or nothing.
 */
pallet: string | null, 
/**
 * Unit sign.
 */
unit: string, 
/**
 * Decimals shown.
 */
decimals: number, 
/**
 * Definition.
 */
definition: string, 
/**
 * Least accepted value.
 */
accepted_least: number | null, 
/**
 * Largest accepted value.
 */
accepted_most: number | null, 
/**
 * Where the range comes from.
 */
source: string | null, };
