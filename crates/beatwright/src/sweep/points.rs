//! The points of a sweep: which parameters are varied over what, and what one point gives.

use action::{Action, Gravity, Scratch, findings, solve};
use movement::{Diagnostic, ParamId, SET_SOURCE, Statement, Unit, Values};
use parts::Parts;
use study::Axis;

use crate::argument::number as read_number;
use crate::input::refuse;
use crate::output::Stop;
use crate::sweep::wanted::{Wanted, play};

/// Most points of a grid: at 100 us each, about a quarter of an hour.
pub const MOST_POINTS: usize = 10_000_000;
/// The same where the motion is found at each, which takes a hundred times as long.
pub const MOST_PLAYED: usize = 100_000;

/// Faults that tell that the cycle does not go round with every tooth locking and none passing, as outcomes. They rank
/// before all others.
const NOT_PLAYED: [&str; 8] = [
    "no-banking",
    "not-stopped",
    "stone-out-of-reach",
    "no-locking-face",
    "no-let-off",
    "no-drop",
    "tooth-passes",
    "does-not-lock",
];

/// The outcome where the cycle goes round.
const PLAYED: &str = "played";

/// Lock and drop, as angles, that are small enough for all the findings to be looked for, and what a drop may come short
/// of the pitch by; chosen above every rounding of the findings' own limits.
const NEAR_RAD: f64 = 1e-6;

/// One point of the grid: figures, or why there are none.
pub struct Point {
    /// SI values.
    pub figures: Vec<Option<f64>>,
    /// `played`, the code of what keeps the cycle from being played, or of why there are no parts; where the cycle goes
    /// round and a figure of the motion is wanted, the outcome of that.
    pub outcome: &'static str,
    /// Whether parts could be made.
    pub made: bool,
}

/// A parameter that is varied, or one on each pallet.
pub struct Swept {
    /// As written.
    pub key: String,
    /// The parameters.
    pub ids: Vec<ParamId>,
}

/// Why an axis cannot be swept.
pub enum AxisFault {
    /// It is none, or has no points.
    Stop(Stop),
    /// Its values are out of range.
    Values(Vec<Diagnostic>, Box<Statement>),
}

impl From<Stop> for AxisFault {
    fn from(stop: Stop) -> AxisFault {
        AxisFault::Stop(stop)
    }
}

impl AxisFault {
    /// Shows what is wrong, as text or JSON.
    pub fn refused(self, json: bool) -> Stop {
        match self {
            AxisFault::Stop(stop) => stop,
            AxisFault::Values(faults, trial) => refuse(&faults, faults.len(), &trial, json),
        }
    }
}

/// Builds and solves one point, and finds its motion where a figure of it is wanted.
pub fn point(statement: &Statement, swept: &[Swept], at: &[f64], figures: &[Wanted], scratch: &mut Scratch) -> Point {
    match parts::build_tersely(&values_at(statement, swept, at)) {
        Ok(build) => {
            let action = solve(&build.parts, scratch);
            let of_action = outcome(&build.parts, &action);
            let (played, outcome) = if of_action == PLAYED && figures.iter().any(|f| f.is_of_motion()) {
                play(&build.movement, &build.parts, &action)
            } else {
                (None, of_action)
            };
            let figures = figures.iter().map(|f| f.value(&action, played.as_ref())).collect();
            Point { figures, outcome, made: true }
        }
        Err(faults) => Point {
            figures: vec![None; figures.len()],
            outcome: faults.first().map_or("bad-input", |d| d.code),
            made: false,
        },
    }
}

/// The code of the gravest finding where the cycle does not go round with every tooth locking and none passing, else
/// `played`. All the findings are only looked for where lock or drop ask for it: they cost more than the action.
fn outcome(parts: &Parts, action: &Action) -> &'static str {
    let pitch_rad = parts.wheel.pitch_rad();
    let goes_round = |beat: &action::PalletAction| {
        beat.lock_rad > NEAR_RAD && beat.drop_rad > NEAR_RAD && beat.drop_rad < pitch_rad - NEAR_RAD
    };
    if action.broken.is_none() && action.beats.iter().all(goes_round) {
        return PLAYED;
    }
    let found = findings(parts, action);
    let tells = |f: &&action::Finding| action.broken.is_some() || NOT_PLAYED.contains(&f.code);
    let gravest = found.iter().filter(|f| f.gravity == Gravity::Fault).find(tells);
    gravest.map_or(PLAYED, |f| f.code)
}

/// What is stated at a point of the grid.
pub fn values_at(statement: &Statement, swept: &[Swept], at: &[f64]) -> Values {
    let mut values = statement.values.clone();
    for (swept, edge) in swept.iter().zip(at) {
        for id in &swept.ids {
            values.set(*id, id.param().unit.to_si(*edge));
        }
    }
    values
}

/// Reads `key=first:last:count` and checks both ends against the parameter's range.
pub fn axis(text: &str, statement: &Statement) -> Result<(Swept, Axis), AxisFault> {
    const FORM: &str = "write key=first:last:count, such as pallets.entry.stone_out_mm=-0.02:0.02:41";
    let form = || Stop::problem(format!("'{text}' is no axis of a sweep"), FORM);
    let bad = |what: &str, why: String| Stop::problem(format!("'{text}' is no axis of a sweep: {what}: {why}"), FORM);
    let (key, range) = text.split_once('=').ok_or_else(form)?;
    let parts: Vec<&str> = range.split(':').collect();
    let [first, last, count] = parts[..] else { return Err(form().into()) };
    let end = |what: &str, text: &str| read_number(text, "a number in the unit of the key").map_err(|e| bad(what, e));
    let (first, last) = (end("first", first)?, end("last", last)?);
    let wanted = "a whole number of values, such as 41";
    let count = read_number(count, wanted).map_err(|e| bad("count", e))?;
    if count.fract() != 0.0 || count < 1.0 || count > MOST_POINTS as f64 {
        return Err(bad("count", format!("out of range: {wanted}, at most {MOST_POINTS}")).into());
    }
    let count = count as usize;
    let axis = Axis::build(first, last, count).map_err(|e| Stop::from_error(&e))?;
    let mut trial = statement.clone();
    // The check of an override knows unknown keys and the nearest name; both ends of the axis go through it.
    let mut faults: Vec<Diagnostic> = Vec::new();
    for end in [first, last] {
        if let Err(found) = trial.set(&format!("{key}={end}")) {
            faults.extend(found);
            if first == last || ParamId::from_path(key.trim()).is_none() {
                break;
            }
        }
    }
    if !faults.is_empty() {
        let of_axis = |fault: Diagnostic| {
            let place = fault.place.filter(|place| place.source != SET_SOURCE);
            Diagnostic { message: format!("in the axis '{text}': {}", fault.message), place, ..fault }
        };
        let faults: Vec<Diagnostic> = faults.into_iter().map(of_axis).collect();
        return Err(AxisFault::Values(faults, Box::new(trial)));
    }
    let ids = ParamId::from_path(key.trim()).ok_or_else(form)?;
    if ids.iter().any(|id| matches!(id.param().unit, Unit::Count)) && axis.values().any(|v| v.fract() != 0.0) {
        return Err(Stop::problem(
            format!("'{text}' gives fractions of a count"),
            "choose first, last and count so that every value is whole",
        )
        .into());
    }
    Ok((Swept { key: key.trim().to_owned(), ids }, axis))
}
