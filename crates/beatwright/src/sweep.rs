//! `sweep`: parameters varied over a grid, figures read at every point.

mod points;
mod wanted;

pub use points::{AxisFault, axis, point};
use points::{MOST_PLAYED, MOST_POINTS, Point, Swept, values_at};
use wanted::Wanted;
pub use wanted::wanted_figures;

use action::Scratch;
use indicatif::{ProgressBar, ProgressStyle};
use movement::{Diagnostic, Statement, Unit};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::io::IsTerminal;
use study::{Axis, Cancel, Grid, Outcome, Partial, Progress, Study};

use crate::action_command::field;
use crate::cli::SweepArgs;
use crate::input::{read_statement, refuse};
use crate::output::{Status, Stop, edge, emit, pretty};
use crate::tables::{bare_table, right};

/// Points from which on progress is shown: those of a fifth of a second, without motion and with it.
const LONG: usize = 2000;
const LONG_PLAYED: usize = 20;

/// Runs a sweep.
pub fn sweep(args: &SweepArgs) -> Result<Status, Stop> {
    let (statement, _) = read_statement(&args.movement, args.json)?;
    let figures = wanted_figures(&args.figures)?;
    let (swept, axes): (Vec<Swept>, Vec<Axis>) = args
        .axes
        .iter()
        .map(|text| axis(text, &statement).map_err(|fault| fault.refused(args.json)))
        .collect::<Result<Vec<_>, _>>()?
        .into_iter()
        .unzip();
    for (i, later) in swept.iter().enumerate() {
        if let Some(first) = swept[..i].iter().find(|first| first.ids.iter().any(|id| later.ids.contains(id))) {
            return Err(Stop::problem(
                format!("two axes vary the same parameter: {} and {}", first.key, later.key),
                "give one axis for each parameter",
            ));
        }
    }
    let grid = Grid::build(axes).map_err(|e| Stop::from_error(&e))?;
    let plays = figures.iter().any(|f| f.is_of_motion());
    let most = if plays { MOST_PLAYED } else { MOST_POINTS };
    if grid.count() > most {
        return Err(Stop::problem(
            format!("a grid of {} points is too large", grid.count()),
            format!("at most {most} points{}; use fewer steps", if plays { " with figures of the motion" } else { "" }),
        ));
    }
    let cancel = Cancel::default();
    let stop = cancel.clone();
    // A second handler cannot be set; without one, the signal ends the program as usual.
    let _ = ctrlc::set_handler(move || stop.cancel());
    let bar = progress_bar(grid.count(), if plays { LONG_PLAYED } else { LONG });
    let report = |p: Progress| {
        if let Some(bar) = &bar {
            bar.set_position(p.done as u64);
        }
    };
    let study = Study { threads: args.threads, progress: Some(&report), cancel: Some(&cancel), ..Study::default() };
    let room = || (Scratch::default(), vec![0.0; swept.len()]);
    let outcome = study
        .execute(grid.count(), room, |trial, (scratch, at)| {
            grid.write_point(trial.index, at);
            point(&statement, &swept, at, &figures, scratch)
        })
        .map_err(|e| Stop::from_error(&e))?;
    if let Some(bar) = &bar {
        bar.finish_and_clear();
    }
    let (points, total) = match outcome {
        Outcome::Complete(points) => (points, None),
        Outcome::Cancelled(Partial { complete, prefix_count, total_count }) => {
            (complete.into_iter().take(prefix_count).map(|(_, p)| p).collect(), Some(total_count))
        }
    };
    if total.is_none() && points.iter().all(|point| !point.made) {
        return Err(none_made(&statement, &swept, &grid, args.json));
    }
    let text = if args.json {
        as_json(args, &grid, &swept, &figures, &points)
    } else if args.csv {
        as_csv(&grid, &swept, &figures, &points)
    } else {
        as_table(&grid, &swept, &figures, &points)
    };
    emit(&text)?;
    match total {
        None => Ok(Status::Ok),
        Some(total) => {
            eprintln!("stopped: {} of {total} points, those shown, were computed in order", points.len());
            Err(Stop::Cancelled)
        }
    }
}

/// Where no point has parts: why the first has none.
fn none_made(statement: &Statement, swept: &[Swept], grid: &Grid, json: bool) -> Stop {
    let at = grid.point(0);
    let point: Vec<String> = swept.iter().zip(&at).map(|(s, v)| format!("{} = {v}", s.key)).collect();
    let place = |fault: Diagnostic| {
        let message = format!("at the first point of the sweep, {}: {}", point.join(", "), fault.message);
        let fault = Diagnostic { message, ..fault };
        // What is swept stands in no text.
        let own = fault.about.first().is_some_and(|id| swept.iter().any(|s| s.ids.contains(id)));
        if own { fault } else { statement.placed(fault) }
    };
    let faults = parts::build(&values_at(statement, swept, &at)).err().unwrap_or_default();
    let faults: Vec<Diagnostic> = faults.into_iter().map(place).collect();
    refuse(&faults, faults.len(), statement, json)
}

fn progress_bar(count: usize, long: usize) -> Option<ProgressBar> {
    if count < long || !std::io::stderr().is_terminal() {
        return None;
    }
    let bar = ProgressBar::new(count as u64);
    let style =
        ProgressStyle::with_template("{bar:40} {pos}/{len} points, {eta} left").expect("the template is well formed");
    bar.set_style(style.progress_chars("=- "));
    Some(bar)
}

fn as_csv(grid: &Grid, swept: &[Swept], figures: &[Wanted], points: &[Point]) -> String {
    let keys: Vec<String> =
        swept.iter().map(|s| s.key.clone()).chain(figures.iter().map(ToString::to_string)).collect();
    let mut text = format!("{},outcome\n", keys.join(","));
    let mut at = vec![0.0; swept.len()];
    for (i, p) in points.iter().enumerate() {
        grid.write_point(i, &mut at);
        for v in &at {
            let _ = write!(text, "{},", edge(*v)); // writing to a String cannot fail
        }
        for (id, si) in figures.iter().zip(&p.figures) {
            text.push_str(&field(id.at_edge(*si)));
            text.push(',');
        }
        text.push_str(p.outcome);
        text.push('\n');
    }
    text
}

fn as_json(args: &SweepArgs, grid: &Grid, swept: &[Swept], figures: &[Wanted], points: &[Point]) -> String {
    let columns: Vec<String> =
        swept.iter().map(|s| s.key.clone()).chain(figures.iter().map(ToString::to_string)).collect();
    let row = |(i, p): (usize, &Point)| -> Value {
        let figures = figures.iter().zip(&p.figures).map(|(id, si)| json!(id.at_edge(*si)));
        let mut row: Vec<Value> = grid.point(i).into_iter().map(|v| json!(edge(v))).chain(figures).collect();
        row.push(json!(p.outcome));
        Value::Array(row)
    };
    let rows: Vec<Value> = points.iter().enumerate().map(row).collect();
    let mut columns = columns;
    columns.push("outcome".to_owned());
    pretty(&json!({
        "schema": "beatwright.sweep/1",
        "file": args.movement.file.display().to_string(),
        "columns": columns,
        "complete": points.len() == grid.count(),
        "rows": rows,
    }))
}

fn as_table(grid: &Grid, swept: &[Swept], figures: &[Wanted], points: &[Point]) -> String {
    let mut table = bare_table();
    let mut header: Vec<String> = swept.iter().map(|s| s.key.clone()).collect();
    header.extend(figures.iter().map(ToString::to_string));
    header.push("outcome".to_owned());
    let columns = header.len();
    table.set_header(header);
    for (i, p) in points.iter().enumerate() {
        let shown = |(s, v): (&Swept, f64)| {
            let whole = s.ids.iter().all(|id| matches!(id.param().unit, Unit::Count));
            if whole { v.to_string() } else { format!("{v:.6}") }
        };
        let mut row: Vec<String> = swept.iter().zip(grid.point(i)).map(shown).collect();
        row.extend(figures.iter().zip(&p.figures).map(|(id, si)| id.text(*si)));
        row.push(p.outcome.to_owned());
        table.add_row(row);
    }
    right(&mut table, 0..columns - 1);
    format!("{table}\n")
}
