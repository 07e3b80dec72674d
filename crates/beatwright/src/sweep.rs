//! `sweep`: parameters varied over a grid, figures read at every point.

use action::{FigureId, Scratch, solve};
use indicatif::{ProgressBar, ProgressStyle};
use movement::{Diagnostic, ParamId, Statement};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::io::IsTerminal;
use study::{Axis, Cancel, Grid, Outcome, Partial, Progress, Study};

use crate::action_command::field;
use crate::cli::SweepArgs;
use crate::input::read_statement;
use crate::output::{Status, Stop, emit, pretty};
use crate::tables::{bare_table, number, right};

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
const MOST_POINTS: usize = 10_000_000;

/// One point of the grid: figures, or why there are none.
struct Point {
    figures: Vec<Option<f64>>,
    outcome: &'static str,
}

struct Swept {
    key: String,
    ids: Vec<ParamId>,
}

/// Runs a sweep.
pub fn sweep(args: &SweepArgs) -> Result<Status, Stop> {
    let (statement, _) = read_statement(&args.movement, args.json)?;
    let figures = wanted_figures(&args.figures)?;
    let (swept, axes): (Vec<Swept>, Vec<Axis>) =
        args.axes.iter().map(|text| axis(text, &statement)).collect::<Result<Vec<_>, _>>()?.into_iter().unzip();
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

fn point(statement: &Statement, swept: &[Swept], at: &[f64], figures: &[FigureId], scratch: &mut Scratch) -> Point {
    let mut values = statement.values.clone();
    for (swept, edge) in swept.iter().zip(at) {
        for id in &swept.ids {
            values.set(*id, id.param().unit.to_si(*edge));
        }
    }
    match parts::build(&values) {
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

fn wanted_figures(paths: &[String]) -> Result<Vec<FigureId>, Stop> {
    let usual: Vec<String> = USUAL.iter().map(|s| (*s).to_owned()).collect();
    let paths = if paths.is_empty() { &usual } else { paths };
    let unknown: Vec<&str> = paths.iter().filter(|p| FigureId::from_path(p).is_none()).map(String::as_str).collect();
    if !unknown.is_empty() {
        let all: Vec<String> = FigureId::all().map(|id| id.to_string()).collect();
        return Err(Stop::problem(
            format!("there is no figure {}", unknown.join(", ")),
            format!("the figures are {}", all.join(", ")),
        ));
    }
    Ok(paths.iter().filter_map(|p| FigureId::from_path(p)).collect())
}

/// Reads `key=first:last:count` and checks both ends against the parameter's range.
fn axis(text: &str, statement: &Statement) -> Result<(Swept, Axis), Stop> {
    let form = || {
        Stop::problem(
            format!("'{text}' is no axis of a sweep"),
            "write key=first:last:count, such as pallets.entry.stone_out_mm=-0.02:0.02:41",
        )
    };
    let (key, range) = text.split_once('=').ok_or_else(form)?;
    let parts: Vec<&str> = range.split(':').collect();
    let [first, last, count] = parts[..] else { return Err(form()) };
    let (first, last): (f64, f64) =
        (first.trim().parse().map_err(|_| form())?, last.trim().parse().map_err(|_| form())?);
    let count: usize = count.trim().parse().map_err(|_| form())?;
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
        eprint!("{}", movement::render(&faults, &trial, std::io::stderr().is_terminal()));
        return Err(Stop::Reported);
    }
    let ids = ParamId::from_path(key.trim()).ok_or_else(form)?;
    if ids.iter().any(|id| matches!(id.param().unit, movement::Unit::Count)) && axis.values().any(|v| v.fract() != 0.0)
    {
        return Err(Stop::problem(
            format!("'{text}' gives fractions of a count"),
            "choose first, last and count so that every value is whole",
        ));
    }
    Ok((Swept { key: key.trim().to_owned(), ids }, axis))
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

fn edge(id: FigureId, si: Option<f64>) -> Option<f64> {
    si.map(|v| id.figure().unit.from_si(v))
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

/// Path, its values, the figures and what came of each point.
pub type Curve = (String, Vec<f64>, Vec<crate::bench::SweptFigure>, Vec<String>);

/// One parameter varied, for the page.
pub fn curve(statement: &Statement, axis_text: &str, paths: &[String]) -> Result<Curve, Stop> {
    let figures = wanted_figures(paths)?;
    let (swept, axis) = axis(axis_text, statement)?;
    let grid = Grid::build(vec![axis]).map_err(|e| Stop::from_error(&e))?;
    if grid.count() > 2000 {
        return Err(Stop::problem("too many points", "at most 2000"));
    }
    let swept = [swept];
    let outcome = Study::default()
        .execute(
            grid.count(),
            || (Scratch::default(), vec![0.0; 1]),
            |trial, (scratch, at)| {
                grid.write_point(trial.index, at);
                (at[0], point(statement, &swept, at, &figures, scratch))
            },
        )
        .map_err(|e| Stop::from_error(&e))?;
    let Outcome::Complete(points) = outcome else { return Err(Stop::Cancelled) };
    let rows = figures.iter().enumerate().map(|(i, id)| crate::bench::SweptFigure {
        path: id.to_string(),
        values: points.iter().map(|(_, p)| edge(*id, p.figures[i])).collect(),
    });
    Ok((
        swept[0].key.clone(),
        points.iter().map(|(at, _)| *at).collect(),
        rows.collect(),
        points.iter().map(|(_, p)| p.outcome.to_owned()).collect(),
    ))
}
