//! What page and bench say to each other over the socket. From these types comes `web/wire.d.ts`; a test holds them equal.
//!
//! Lengths in mm, angles in degrees, both named so; outlines and poses as ARCHITECTURE.md gives frames and signs.

mod played;
mod running;
mod sounded;

use serde::{Deserialize, Serialize};
use ts_rs::TS;

pub use played::{Played, PlayedShock, Stretch};
pub use running::{LedgerRow, MotionFigure, Running};
pub use sounded::{Deviation, Hear, MeanBeat, Sounded, Stated, Told};

/// A question of the page. The bench keeps nothing between two of them.
#[derive(Deserialize, TS, Debug)]
#[serde(tag = "ask", rename_all = "snake_case", deny_unknown_fields)]
pub enum Ask {
    /// Work out a movement and send its sheet.
    Sheet {
        /// Number of the question; comes back with the answer.
        revision: u32,
        /// Name of the file.
        name: String,
        /// The movement file.
        text: String,
        /// Overrides, `key=value`.
        set: Vec<String>,
        /// The beat with which the oscillation shown begins, where teeth differ.
        beat: u32,
        /// Whether to try the sideshake too.
        sideshake: bool,
        /// Whether to send only what is drawn, while something is held: handles of what is overridden, no values, no
        /// contact curves and no motion.
        brief: bool,
        /// The moment shown, where only that of the oscillation is wanted: an oscillation of one instant. One that has no
        /// such stretch, or stops at that very moment, is sent whole.
        shown: Option<Shown>,
    },
    /// Write values into a movement file, its comments kept.
    Rewrite {
        /// Number of the question.
        revision: u32,
        /// Name of the file.
        name: String,
        /// The movement file.
        text: String,
        /// What to change.
        changes: Vec<Change>,
    },
    /// Vary a parameter and read figures.
    Sweep {
        /// Number of the question.
        revision: u32,
        /// Name of the file.
        name: String,
        /// The movement file.
        text: String,
        /// Overrides, `key=value`.
        set: Vec<String>,
        /// `key=first:last:count`.
        axis: String,
        /// Paths of the figures.
        figures: Vec<String>,
    },
    /// Play the motion of a movement.
    Played {
        /// Number of the question.
        revision: u32,
        /// Name of the file.
        name: String,
        /// The movement file.
        text: String,
        /// Overrides, `key=value`.
        set: Vec<String>,
        /// Whether to begin with everything at rest, and not with the steady motion.
        from_rest: bool,
    },
    /// Read an amplitude from noises placed by hand.
    Amplitude {
        /// Number of the question.
        revision: u32,
        /// Lift from the first noise to the drop.
        lift_deg: f64,
        /// Mean beat.
        beat_s: f64,
        /// From the first noise to the drop, of each side.
        between_ms: [f64; 2],
        /// How finely they are placed.
        step_ms: f64,
    },
    /// Write a commented movement file to begin with.
    Begin {
        /// Number of the question.
        revision: u32,
        /// Number of teeth.
        tooth_count: u32,
        /// Distance of the teeth's locking corner from the wheel centre.
        locking_radius_mm: f64,
    },
}

/// A value to be written.
#[derive(Deserialize, TS, Debug)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// The parameter's path.
    pub path: String,
    /// As written in the file, in its unit; nothing takes the statement away.
    pub value: Option<String>,
}

/// An answer.
#[derive(Serialize, TS, Debug)]
#[serde(tag = "answer", rename_all = "snake_case")]
pub enum Answer {
    /// The sheet of a movement, or what is wrong with its text.
    Sheet {
        /// Number of the question.
        revision: u32,
        /// What is said about the text, errors first.
        diagnostics: Vec<DiagnosticRow>,
        /// Nothing where the text has errors.
        sheet: Option<Box<Sheet>>,
    },
    /// A movement file.
    Text {
        /// Number of the question.
        revision: u32,
        /// The file.
        text: String,
    },
    /// A motion in time.
    Played {
        /// Number of the question.
        revision: u32,
        /// The motion.
        played: Box<Played>,
    },
    /// Figures over a parameter.
    Curve {
        /// Number of the question.
        revision: u32,
        /// Path of the parameter.
        path: String,
        /// Its values, in its unit.
        at: Vec<f64>,
        /// The figures.
        figures: Vec<SweptFigure>,
        /// What came of each point: `played`, `cycle-broken`, `does-not-lock` or the code of what is wrong.
        outcomes: Vec<String>,
    },
    /// Amplitudes by the sound, each with what its noises' places are uncertain by; nothing where there is none.
    Amplitude {
        /// Number of the question.
        revision: u32,
        /// Of each side.
        sides_deg: [Option<[f64; 2]>; 2],
        /// Of both.
        both_deg: Option<[f64; 2]>,
    },
    /// The question could not be answered.
    Problem {
        /// Number of the question; 0 where it could not be read.
        revision: u32,
        /// Stable name.
        code: String,
        /// What is wrong and what to do.
        message: String,
        /// Diagnostics, where it is about a text.
        diagnostics: Vec<DiagnosticRow>,
    },
}

/// One figure of a sweep.
#[derive(Serialize, TS, Debug)]
pub struct SweptFigure {
    /// Path.
    pub path: String,
    /// Value at each point, in the figure's unit; nothing where there is none.
    pub values: Vec<Option<f64>>,
}

/// A diagnostic with its place in the text.
#[derive(Serialize, TS, Debug)]
pub struct DiagnosticRow {
    /// `error`, `warning` or `note`.
    pub severity: String,
    /// Stable name.
    pub code: String,
    /// What is wrong.
    pub message: String,
    /// The value found, with unit.
    pub value: Option<String>,
    /// What is allowed, with unit.
    pub allowed: Option<String>,
    /// What to do.
    pub hint: Option<String>,
    /// Paths of the parameters concerned.
    pub about: Vec<String>,
    /// Line from 1; nothing where it is in no line of the text.
    pub line: Option<u32>,
    /// Column in characters, from 1.
    pub column: Option<u32>,
    /// Length in characters.
    pub length: Option<u32>,
}

/// Everything shown of a movement.
#[derive(Serialize, TS, Debug)]
pub struct Sheet {
    /// Name of the movement.
    pub name: String,
    /// Kind of escapement.
    pub kind: String,
    /// `sound` or `findings`.
    pub verdict: String,
    /// The verdict as a sentence.
    pub sentence: String,
    /// Axes of wheel, pallets and balance, x and y.
    pub axes_mm: [[f64; 2]; 3],
    /// Direction from pallet to balance axis less +y; the roller's frame is turned by it.
    pub line_deg: f64,
    /// Distance of the teeth's locking corner from the wheel centre: the measure of the drawing.
    pub locking_radius_mm: f64,
    /// Number of teeth.
    pub tooth_count: u16,
    /// Number of beats after which the action repeats: 2 where all teeth are alike.
    pub beat_count: u32,
    /// The parts.
    pub bodies: Vec<Outlined>,
    /// The oscillation as far as it can be turned; nothing where it cannot be turned at all.
    pub oscillation: Option<Oscillation>,
    /// What keeps it from being turned on from its last instant; nothing where both beats are whole.
    pub stop: Option<StopRow>,
    /// Lever angles at the bankings, entry and exit, as far as it meets them.
    pub bankings_deg: [Option<f64>; 2],
    /// What was found wrong, worst first.
    pub findings: Vec<FindingRow>,
    /// Every figure.
    pub figures: Vec<FigureRow>,
    /// What it does in time; nothing where only what is drawn is wanted.
    pub running: Option<Running>,
    /// Every parameter's value.
    pub values: Vec<ValueRow>,
    /// Where a bench move can be taken hold of on the drawing.
    pub handles: Vec<Handle>,
    /// Places worth a magnified view.
    pub views: Vec<View>,
    /// Contact curves of the beats shown.
    pub curves: Vec<ContactCurve>,
    /// Number of combinations of displaced pivots tried; nothing where none were.
    pub sideshake_combinations: Option<u32>,
}

/// What a part turns with.
#[derive(Serialize, TS, Clone, Copy, Debug, PartialEq, Eq)]
#[serde(rename_all = "snake_case")]
pub enum Rides {
    /// The escape wheel, about its axis.
    Wheel,
    /// The lever, about the pallet axis.
    Lever,
    /// The balance, about its axis, turned by the line of the lever at jewel angle 0.
    Roller,
    /// Nothing: it stands on the plate.
    Plate,
}

/// A part as lines and arcs, in the frame of what it rides on.
#[derive(Serialize, TS, Debug)]
pub struct Outlined {
    /// Its name.
    pub part: String,
    /// What it turns with.
    pub rides: Rides,
    /// `steel`, `brass`, `ruby`, `banking`, `hidden` (where the lever covers it) or `phantom` (above all else).
    pub finish: String,
    /// Closed outlines. Each begins with its start, `[x, y]`; then per edge the end `[x, y]` of a line, or
    /// `[x, y, radius, large, sweep]` of an arc, both flags 0 or 1, sweep 1 anticlockwise in the frame with y up.
    pub outlines_mm: Vec<Vec<Vec<f64>>>,
}

/// Columns of one oscillation: entry `i` of every column is one instant.
#[derive(Serialize, TS, Debug)]
pub struct Oscillation {
    /// Number of the beat it begins with, from 0.
    pub first_beat: u32,
    /// Wheel angle, running on.
    pub wheel_deg: Vec<f64>,
    /// Lever angle.
    pub lever_deg: Vec<f64>,
    /// Jewel angle.
    pub jewel_deg: Vec<f64>,
    /// Place in `spans`.
    pub span: Vec<u32>,
    /// Contact of tooth and stone: `[x, y, nx, ny, wheel arm, lever arm]` in mm with the normal out of the stone;
    /// nothing while the wheel is free.
    pub contact: Vec<Option<[f64; 6]>>,
    /// Advance of the wheel from the unlocking of the pallet that is touched; nothing while the wheel is free.
    pub advance_deg: Vec<Option<f64>>,
    /// Torque on the lever over torque on the wheel, without friction; nothing while the wheel is free, and where its arm
    /// vanishes.
    pub torque_ratio: Vec<Option<f64>>,
    /// Phases in order.
    pub spans: Vec<Span>,
    /// The shocks of the beats, in order.
    pub shocks: Vec<ShockRow>,
}

/// A shock.
#[derive(Serialize, TS, Debug)]
pub struct ShockRow {
    /// The instant at which it comes.
    pub instant: u32,
    /// Its name.
    pub name: String,
    /// What strikes on what, in short: no phase is called so.
    pub short: String,
}

/// What stops the oscillation.
#[derive(Serialize, TS, Debug)]
pub struct StopRow {
    /// A few words.
    pub name: String,
    /// The sentence.
    pub message: String,
}

/// One phase of one beat.
#[derive(Serialize, TS, Debug)]
pub struct Span {
    /// The pallet whose beat it is.
    pub pallet: String,
    /// Its name.
    pub phase: String,
    /// First instant.
    pub first: u32,
    /// Instant after the last.
    pub end: u32,
    /// What touches what, in words; nothing while the wheel is free.
    pub contact: Option<String>,
}

/// A moment of an oscillation, by which it is found in another one.
#[derive(Deserialize, TS, Debug)]
#[serde(deny_unknown_fields)]
pub struct Shown {
    /// The pallet whose beat it is.
    pub pallet: String,
    /// Name of the phase.
    pub phase: String,
    /// What touches what.
    pub contact: Option<String>,
    /// How far along the instants of that stretch, 0 to 1.
    pub along: f64,
}

/// A finding.
#[derive(Serialize, TS, Debug)]
pub struct FindingRow {
    /// `fault` or `caution`.
    pub gravity: String,
    /// Stable name.
    pub code: String,
    /// The sentence.
    pub message: String,
    /// Where the demand comes from.
    pub source: String,
    /// Pallet concerned.
    pub pallet: Option<String>,
    /// Path of the figure concerned.
    pub figure: Option<String>,
    /// Paths of parameters that move it.
    pub moved_by: Vec<String>,
    /// Where it is on the plate.
    pub place_mm: Option<[f64; 2]>,
    /// Instants of the oscillation at which the parts concerned overlap: of each stretch the first and the one after the
    /// last; none where it is about something else.
    pub instants: Vec<[u32; 2]>,
    /// Number of the group of like findings it belongs to.
    pub group: u32,
}

/// A figure's value.
#[derive(Serialize, TS, Debug)]
pub struct FigureRow {
    /// Path.
    pub path: String,
    /// Value in its unit; nothing where the action has none.
    pub value: Option<f64>,
    /// Least over the sideshake.
    pub least: Option<f64>,
    /// Largest over the sideshake.
    pub most: Option<f64>,
    /// The wanted value.
    pub wanted: Option<f64>,
    /// Where that comes from: `stated`, `default` or `derived`.
    pub wanted_origin: Option<String>,
}

/// A parameter's value.
#[derive(Serialize, TS, Debug)]
pub struct ValueRow {
    /// Path.
    pub path: String,
    /// Value in its unit; of a choice its number.
    pub value: f64,
    /// `stated`, `default` or `derived`.
    pub origin: String,
}

/// A place on the drawing by which a parameter is moved.
#[derive(Serialize, TS, Debug)]
pub struct Handle {
    /// The parameter's path.
    pub path: String,
    /// Words for it.
    pub label: String,
    /// What the place rides on.
    pub rides: Rides,
    /// The place, in the frame of what it rides on.
    pub at_mm: [f64; 2],
    /// How far it goes for each unit of the parameter.
    pub per_unit_mm: [f64; 2],
    /// Value now, in its unit.
    pub value: f64,
    /// Smallest step worth making, in its unit.
    pub step: f64,
}

/// A magnified view.
#[derive(Serialize, TS, Debug)]
pub struct View {
    /// Its name.
    pub name: String,
    /// Middle, on the plate.
    pub at_mm: [f64; 2],
    /// Half its width.
    pub half_width_mm: f64,
}

/// The contact curve of one pallet.
#[derive(Serialize, TS, Debug)]
pub struct ContactCurve {
    /// The pallet.
    pub pallet: String,
    /// Lever angle of each point.
    pub lever_deg: Vec<f64>,
    /// Wheel angle, counted from where the tooth is unlocked, in the sense of its advance.
    pub advance_deg: Vec<f64>,
    /// Torque on the lever over torque on the wheel; nothing above 20, where the wheel's arm goes to nothing.
    pub torque_ratio: Vec<Option<f64>>,
}

/// What does not change with the movement: the rows of the tables.
#[derive(Serialize, TS, Debug)]
pub struct Tables {
    /// Parameters.
    pub parameters: Vec<ParameterRow>,
    /// Figures.
    pub figures: Vec<FigureDefinition>,
    /// Figures of the steady motion.
    pub motion_figures: Vec<FigureDefinition>,
    /// Text of the demo movement.
    pub demo: String,
    /// Version of the program.
    pub version: String,
    /// Largest recording that is taken, bytes.
    pub recording_bytes_most: u32,
}

/// A parameter as the table has it.
#[derive(Serialize, TS, Debug)]
pub struct ParameterRow {
    /// Path; of a parameter of each pallet, one row for each. Teeth have `*`.
    pub path: String,
    /// Letter.
    pub symbol: String,
    /// Unit sign.
    pub unit: String,
    /// Least value.
    pub least: f64,
    /// Largest value.
    pub most: f64,
    /// Words of a choice.
    pub choices: Vec<String>,
    /// What holds when it is not stated.
    pub unstated: String,
    /// `dimension`, `wanted` or `bench`.
    pub role: String,
    /// Definition.
    pub definition: String,
}

/// A figure as the table has it.
#[derive(Serialize, TS, Debug)]
pub struct FigureDefinition {
    /// Path.
    pub path: String,
    /// Heading it stands under.
    pub group: String,
    /// Its name in words, without the pallet.
    pub words: String,
    /// `entry`, `exit`, or nothing.
    pub pallet: Option<String>,
    /// Unit sign.
    pub unit: String,
    /// Decimals shown.
    pub decimals: u32,
    /// Definition.
    pub definition: String,
    /// Least accepted value.
    pub accepted_least: Option<f64>,
    /// Largest accepted value.
    pub accepted_most: Option<f64>,
    /// Where the range comes from.
    pub source: Option<String>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::Report;

    /// `web/wire.d.ts` is what these types say. `UPDATE_MANUAL=1 cargo test -p beatwright` rewrites it.
    #[test]
    fn the_page_has_these_types() {
        let config = ts_rs::Config::default();
        macro_rules! declared {
            ($($name:ty),*) => { [$(<$name as TS>::decl(&config)),*] };
        }
        let all = declared![
            Ask,
            Change,
            Answer,
            SweptFigure,
            DiagnosticRow,
            Sheet,
            Rides,
            Outlined,
            Oscillation,
            Span,
            Shown,
            ShockRow,
            StopRow,
            FindingRow,
            Running,
            MotionFigure,
            LedgerRow,
            Played,
            Stretch,
            PlayedShock,
            FigureRow,
            ValueRow,
            Handle,
            View,
            ContactCurve,
            Stated,
            Hear,
            Told,
            Sounded,
            MeanBeat,
            Deviation,
            Report,
            Tables,
            ParameterRow,
            FigureDefinition
        ];
        let text: String = std::iter::once("// Written by a test of crates/beatwright/src/bench/wire.rs.\n".to_owned())
            .chain(all.iter().map(|d| format!("export {d}\n")))
            .collect();
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../web/wire.d.ts");
        if std::env::var_os("UPDATE_MANUAL").is_some() {
            std::fs::write(path, &text).expect("the page's folder can be written to");
        }
        let page = std::fs::read_to_string(path).expect("web/wire.d.ts is there");
        assert!(page == text, "web/wire.d.ts is out of date: UPDATE_MANUAL=1 cargo test -p beatwright");
    }
}
