//! `sweep`: parameters varied over a grid, figures read at every point.

mod points;

pub use points::{AxisFault, Point, Swept, axis, edge, point, wanted_figures};

use action::{FigureId, Scratch};
use indicatif::{ProgressBar, ProgressStyle};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::io::IsTerminal;
use study::{Axis, Cancel, Grid, Outcome, Partial, Progress, Study};

use crate::action_command::field;
use crate::cli::SweepArgs;
use crate::input::read_statement;
use crate::output::{Status, Stop, emit, pretty};
use crate::tables::{bare_table, number, right};

/// Most points of a grid: at 100 us each, about a quarter of an hour.
const MOST_POINTS: usize = 10_000_000;

/// Runs a sweep.
pub fn sweep(args: &SweepArgs) -> Result<Status, Stop> {
    let (statement, _) = read_statement(&args.movement, args.json)?;
    let figures = wanted_figures(&args.figures)?;
    let (swept, axes): (Vec<Swept>, Vec<Axis>) = args
        .axes
        .iter()
        .map(|text| axis(text, &statement).map_err(AxisFault::show))
        .collect::<Result<Vec<_>, _>>()?
        .into_iter()
        .unzip();
    let grid = Grid::build(axes).map_err(|e| Stop::from_error(&e))?;
    if grid.count() > MOST_POINTS {
        return Err(Stop::problem(
            format!("a grid of {} points is too large", grid.count()),
            format!("at most {MOST_POINTS} points; use fewer steps"),
        ));
    }
    let cancel = Cancel::default();
    let stop = cancel.clone();
    // A second handler cannot be set; without one, the signal ends the program as usual.
    let _ = ctrlc::set_handler(move || stop.cancel());
    let bar = progress_bar(grid.count());
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

fn progress_bar(count: usize) -> Option<ProgressBar> {
    if count < 2000 || !std::io::stderr().is_terminal() {
        return None;
    }
    let bar = ProgressBar::new(count as u64);
    let style =
        ProgressStyle::with_template("{bar:40} {pos}/{len} points, {eta} left").expect("the template is well formed");
    bar.set_style(style.progress_chars("=- "));
    Some(bar)
}

fn as_csv(grid: &Grid, swept: &[Swept], figures: &[FigureId], points: &[Point]) -> String {
    let keys: Vec<String> =
        swept.iter().map(|s| s.key.clone()).chain(figures.iter().map(ToString::to_string)).collect();
    let mut text = format!("{},outcome\n", keys.join(","));
    let mut at = vec![0.0; swept.len()];
    for (i, p) in points.iter().enumerate() {
        grid.write_point(i, &mut at);
        for v in &at {
            let _ = write!(text, "{v},"); // writing to a String cannot fail
        }
        for (id, si) in figures.iter().zip(&p.figures) {
            text.push_str(&field(edge(*id, *si)));
            text.push(',');
        }
        text.push_str(p.outcome);
        text.push('\n');
    }
    text
}

fn as_json(args: &SweepArgs, grid: &Grid, swept: &[Swept], figures: &[FigureId], points: &[Point]) -> String {
    let columns: Vec<String> =
        swept.iter().map(|s| s.key.clone()).chain(figures.iter().map(ToString::to_string)).collect();
    let row = |(i, p): (usize, &Point)| -> Value {
        let figures = figures.iter().zip(&p.figures).map(|(id, si)| json!(edge(*id, *si)));
        let mut row: Vec<Value> = grid.point(i).into_iter().map(|v| json!(v)).chain(figures).collect();
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

fn as_table(grid: &Grid, swept: &[Swept], figures: &[FigureId], points: &[Point]) -> String {
    let mut table = bare_table();
    let mut header: Vec<String> = swept.iter().map(|s| s.key.clone()).collect();
    header.extend(figures.iter().map(ToString::to_string));
    header.push("outcome".to_owned());
    let columns = header.len();
    table.set_header(header);
    for (i, p) in points.iter().enumerate() {
        let mut row: Vec<String> = grid.point(i).into_iter().map(|v| format!("{v:.6}")).collect();
        row.extend(figures.iter().zip(&p.figures).map(|(id, si)| number(*si, id.figure().unit)));
        row.push(p.outcome.to_owned());
        table.add_row(row);
    }
    right(&mut table, 0..columns - 1);
    format!("{table}\n")
}
