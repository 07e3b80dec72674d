//! The points of a sweep: which parameters are varied over what, and what one point gives.

use action::{FigureId, Scratch, solve};
use movement::{Diagnostic, ParamId, Statement};
use std::io::IsTerminal;
use study::Axis;

use crate::output::Stop;

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

/// One point of the grid: figures, or why there are none.
pub struct Point {
    /// SI values.
    pub figures: Vec<Option<f64>>,
    /// `played`, `cycle-broken`, `does-not-lock`, or the code of what is wrong.
    pub outcome: &'static str,
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

impl AxisFault {
    /// Shows diagnostics on standard error.
    pub fn show(self) -> Stop {
        match self {
            AxisFault::Stop(stop) => stop,
            AxisFault::Values(faults, trial) => {
                eprint!("{}", movement::render(&faults, &trial, std::io::stderr().is_terminal()));
                Stop::Reported
            }
        }
    }
}

/// Builds and solves one point of the grid.
pub fn point(statement: &Statement, swept: &[Swept], at: &[f64], figures: &[FigureId], scratch: &mut Scratch) -> Point {
    let mut values = statement.values.clone();
    for (swept, edge) in swept.iter().zip(at) {
        for id in &swept.ids {
            values.set(*id, id.param().unit.to_si(*edge));
        }
    }
    match parts::build_tersely(&values) {
        Ok(build) => {
            let action = solve(&build.parts, scratch);
            let locks = action.beats.iter().all(|b| b.lock_rad > 0.0);
            let outcome = match (action.broken, locks) {
                (Some(_), _) => "cycle-broken",
                (None, false) => "does-not-lock",
                (None, true) => "played",
            };
            Point { figures: figures.iter().map(|f| f.value(&action)).collect(), outcome }
        }
        Err(faults) => {
            Point { figures: vec![None; figures.len()], outcome: faults.first().map_or("bad-input", |d| d.code) }
        }
    }
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
    let form = || {
        AxisFault::Stop(Stop::problem(
            format!("'{text}' is no axis of a sweep"),
            "write key=first:last:count, such as pallets.entry.stone_out_mm=-0.02:0.02:41",
        ))
    };
    let (key, range) = text.split_once('=').ok_or_else(form)?;
    let parts: Vec<&str> = range.split(':').collect();
    let [first, last, count] = parts[..] else { return Err(form()) };
    let (first, last): (f64, f64) =
        (first.trim().parse().map_err(|_| form())?, last.trim().parse().map_err(|_| form())?);
    let count: usize = count.trim().parse().map_err(|_| form())?;
    let axis = Axis::build(first, last, count).map_err(|e| AxisFault::Stop(Stop::from_error(&e)))?;
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
        return Err(AxisFault::Values(faults, Box::new(trial)));
    }
    let ids = ParamId::from_path(key.trim()).ok_or_else(form)?;
    if ids.iter().any(|id| matches!(id.param().unit, movement::Unit::Count)) && axis.values().any(|v| v.fract() != 0.0)
    {
        return Err(AxisFault::Stop(Stop::problem(
            format!("'{text}' gives fractions of a count"),
            "choose first, last and count so that every value is whole",
        )));
    }
    Ok((Swept { key: key.trim().to_owned(), ids }, axis))
}

/// A figure's value at the edge.
pub fn edge(id: FigureId, si: Option<f64>) -> Option<f64> {
    si.map(|v| id.figure().unit.from_si(v))
}
