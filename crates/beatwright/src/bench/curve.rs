//! Figures over a parameter, for the page.

use action::Scratch;
use movement::Statement;
use study::{Grid, Outcome, Study};

use crate::bench::answer::{refused, stopped};
use crate::bench::wire::{Answer, SweptFigure};
use crate::output::Stop;
use crate::sweep::{AxisFault, axis, point, wanted_figures};

/// Most points of a curve on a page; more are not seen.
const MOST_POINTS: usize = 2000;
/// The same where the motion is found at each, which takes up to half a second: chosen, so that the page is answered in a
/// minute.
const MOST_PLAYED: usize = 100;

/// One parameter varied.
pub fn curve(revision: u32, statement: &Statement, axis_text: &str, paths: &[String]) -> Answer {
    let (swept, axis) = match axis(axis_text, statement) {
        Ok(both) => both,
        Err(AxisFault::Values(faults, trial)) => return refused(revision, "bad-value", &faults, &trial),
        Err(AxisFault::Stop(stop)) => return stopped(revision, stop),
    };
    let found = wanted_figures(paths).and_then(|figures| {
        let grid = Grid::build(vec![axis]).map_err(|e| Stop::from_error(&e))?;
        let plays = figures.iter().any(|f| f.is_of_motion());
        let most = if plays { MOST_PLAYED } else { MOST_POINTS };
        if grid.count() > most {
            return Err(Stop::problem(
                format!("{} points are too many", grid.count()),
                format!("at most {most}{}", if plays { " with figures of the motion" } else { "" }),
            ));
        }
        let swept = [swept];
        let room = || (Scratch::default(), [0.0]);
        let outcome = Study::default()
            .execute(grid.count(), room, |trial, (scratch, at)| {
                grid.write_point(trial.index, at);
                (at[0], point(statement, &swept, at, &figures, scratch))
            })
            .map_err(|e| Stop::from_error(&e))?;
        let Outcome::Complete(points) = outcome else { return Err(Stop::Cancelled) };
        let of = |i: usize| points.iter().map(|(_, p)| figures[i].at_edge(p.figures[i])).collect();
        Ok(Answer::Curve {
            revision,
            path: swept[0].key.clone(),
            at: points.iter().map(|(at, _)| *at).collect(),
            figures: figures
                .iter()
                .enumerate()
                .map(|(i, id)| SweptFigure { path: id.to_string(), values: of(i) })
                .collect(),
            outcomes: points.iter().map(|(_, p)| p.outcome.to_owned()).collect(),
        })
    });
    found.unwrap_or_else(|stop| stopped(revision, stop))
}
