//! What is read at each point of a sweep: figures of the action, or of the steady motion where they are named.

use action::{Action, FigureId};
use motion::{Dynamics, Machine, Setting, Steady};
use movement::Movement;
use parts::Parts;
use std::fmt;

use crate::motion_command::{Found, options, outcome, setting};
use crate::output::{Stop, edge};
use crate::tables::{fixed, number};

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

/// A figure to be read.
#[derive(Clone, Copy)]
pub enum Wanted {
    /// Of the action.
    Action(FigureId),
    /// Of the steady motion.
    Motion(&'static motion::Figure),
}

impl fmt::Display for Wanted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Wanted::Action(id) => id.fmt(f),
            Wanted::Motion(figure) => f.write_str(figure.path),
        }
    }
}

impl Wanted {
    fn from_path(path: &str) -> Option<Wanted> {
        let of_motion = || motion::Figure::from_path(path).map(Wanted::Motion);
        FigureId::from_path(path).map(Wanted::Action).or_else(of_motion)
    }

    /// Whether the motion has to be found for it.
    pub fn is_of_motion(self) -> bool {
        matches!(self, Wanted::Motion(_))
    }

    /// Its value at the edge.
    pub fn at_edge(self, si: Option<f64>) -> Option<f64> {
        si.map(|v| {
            edge(match self {
                Wanted::Action(id) => id.figure().unit.from_si(v),
                Wanted::Motion(figure) => figure.unit.from_si(v),
            })
        })
    }

    /// The same as text.
    pub fn text(self, si: Option<f64>) -> String {
        match self {
            Wanted::Action(id) => number(si, id.figure().unit),
            Wanted::Motion(figure) => fixed(si.map(|v| figure.unit.from_si(v)), figure.unit.decimals()),
        }
    }

    /// Its SI value.
    pub fn value(self, action: &Action, played: Option<&(Steady, Setting)>) -> Option<f64> {
        match self {
            Wanted::Action(id) => id.value(action),
            Wanted::Motion(figure) => played.and_then(|(steady, setting)| figure.value(steady, setting)),
        }
    }
}

/// The steady motion of parts and what became of the search, by its name.
pub fn play(movement: &Movement, parts: &Parts, action: &Action) -> (Option<(Steady, Setting)>, &'static str) {
    let Ok(machine) = Machine::new(parts, action, Dynamics::of(movement)) else { return (None, "bad-dynamics") };
    let found = machine.steady(options(2 * machine.repeats()));
    let told = outcome(&found.as_ref().map_or_else(Found::NotSteady, Found::Steady), &machine, parts, action);
    (found.ok().map(|steady| (steady, setting(movement))), told.code)
}

/// The figures of these paths; the usual ones when none are named.
pub fn wanted_figures(paths: &[String]) -> Result<Vec<Wanted>, Stop> {
    let usual: Vec<String> = USUAL.iter().map(|s| (*s).to_owned()).collect();
    let paths = if paths.is_empty() { &usual } else { paths };
    let unknown: Vec<&str> = paths.iter().filter(|p| Wanted::from_path(p).is_none()).map(String::as_str).collect();
    if !unknown.is_empty() {
        let all: Vec<String> =
            FigureId::all().map(|id| id.to_string()).chain(motion::FIGURES.iter().map(|f| f.path.to_owned())).collect();
        let meant: Option<Vec<String>> = unknown.iter().map(|path| meant(path, &all)).collect();
        return Err(Stop::problem(
            format!("there is no figure {}", unknown.join(", ")),
            meant.map_or_else(
                || format!("the figures are {}", all.join(", ")),
                |meant| format!("did you mean {}?", meant.join(", and ")),
            ),
        ));
    }
    Ok(paths.iter().filter_map(|p| Wanted::from_path(p)).collect())
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
