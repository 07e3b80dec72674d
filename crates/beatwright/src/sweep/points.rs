//! The points of a sweep: which parameters are varied over what, and what one point gives.

use action::{Action, FigureId, Gravity, Scratch, findings, solve};
use movement::{Diagnostic, ParamId, SET_SOURCE, Statement, Unit, Values};
use parts::Parts;
use study::Axis;

use crate::argument::number as read_number;
use crate::input::refuse;
use crate::output::{Stop, edge};

/// Figures read when none are named.
const USUAL: [&str; 8] = [
    "entry.lock_deg",
    "exit.lock_deg",
    "entry.lift_deg",
    "exit.lift_deg",
    "entry.drop_deg",
    "exit.drop_deg",
    "entry.run_deg",
    "exit.run_deg",
];

/// Most points of a grid: at 100 us each, about a quarter of an hour.
pub const MOST_POINTS: usize = 10_000_000;

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

/// Lock and drop, as angles, that are small enough for all the findings to be looked for, and what a drop may come short
/// of the pitch by; chosen above every rounding of the findings' own limits.
const NEAR_RAD: f64 = 1e-6;

/// One point of the grid: figures, or why there are none.
pub struct Point {
    /// SI values.
    pub figures: Vec<Option<f64>>,
    /// `played`, the code of what keeps the cycle from being played, or of why there are no parts.
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

/// Builds and solves one point.
pub fn point(statement: &Statement, swept: &[Swept], at: &[f64], figures: &[FigureId], scratch: &mut Scratch) -> Point {
    match parts::build_tersely(&values_at(statement, swept, at)) {
        Ok(build) => {
            let action = solve(&build.parts, scratch);
            let figures = figures.iter().map(|f| f.value(&action)).collect();
            Point { figures, outcome: outcome(&build.parts, &action), made: true }
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
        return "played";
    }
    let found = findings(parts, action);
    let tells = |f: &&action::Finding| action.broken.is_some() || NOT_PLAYED.contains(&f.code);
    let gravest = found.iter().filter(|f| f.gravity == Gravity::Fault).find(tells);
    gravest.map_or("played", |f| f.code)
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

/// The figures of these paths; the usual ones when none are named.
pub fn wanted_figures(paths: &[String]) -> Result<Vec<FigureId>, Stop> {
    let usual: Vec<String> = USUAL.iter().map(|s| (*s).to_owned()).collect();
    let paths = if paths.is_empty() { &usual } else { paths };
    let unknown: Vec<&str> = paths.iter().filter(|p| FigureId::from_path(p).is_none()).map(String::as_str).collect();
    if !unknown.is_empty() {
        let all: Vec<String> = FigureId::all().map(|id| id.to_string()).collect();
        let meant: Option<Vec<String>> = unknown.iter().map(|path| meant(path, &all)).collect();
        return Err(Stop::problem(
            format!("there is no figure {}", unknown.join(", ")),
            meant.map_or_else(
                || format!("the figures are {}", all.join(", ")),
                |meant| format!("did you mean {}?", meant.join(", and ")),
            ),
        ));
    }
    Ok(paths.iter().filter_map(|p| FigureId::from_path(p)).collect())
}

/// The figures meant by a path that is none: one without its pallet or its unit, with another unit, or misspelled.
fn meant(path: &str, all: &[String]) -> Option<String> {
    let stem = |path: &str| path.rsplit_once('_').map_or(path.to_owned(), |(stem, _)| stem.to_owned());
    let of_pallet = |figure: &str| figure.split_once('.').map_or(figure.to_owned(), |(_, name)| name.to_owned());
    let such = |is: &dyn Fn(&str) -> bool| {
        let found: Vec<&str> = all.iter().map(String::as_str).filter(|figure| is(figure)).collect();
        (!found.is_empty()).then(|| found.join(" or "))
    };
    such(&|figure| of_pallet(figure) == path)
        .or_else(|| such(&|figure| stem(figure) == path))
        .or_else(|| such(&|figure| stem(&of_pallet(figure)) == path))
        .or_else(|| such(&|figure| stem(figure) == stem(path)))
        .or_else(|| {
            let figures: Vec<&str> = all.iter().map(String::as_str).collect();
            movement::nearest(path, &figures).map(str::to_owned)
        })
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

/// A figure's value at the edge.
pub fn at_edge(id: FigureId, si: Option<f64>) -> Option<f64> {
    si.map(|v| edge(id.figure().unit.from_si(v)))
}
