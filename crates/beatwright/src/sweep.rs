//! `sweep`: parameters varied over a grid, figures read at every point.

use action::{Action, FigureId, Gravity, Scratch, findings, solve};
use indicatif::{ProgressBar, ProgressStyle};
use movement::{Diagnostic, ParamId, SET_SOURCE, Statement, Unit, Values};
use parts::Parts;
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::io::IsTerminal;
use study::{Axis, Cancel, Grid, Outcome, Partial, Progress, Study};

use crate::action_command::field;
use crate::argument::number as read_number;
use crate::cli::SweepArgs;
use crate::input::{read_statement, refuse};
use crate::output::{Status, Stop, edge, emit, pretty};
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
struct Point {
    figures: Vec<Option<f64>>,
    outcome: &'static str,
    /// Whether parts could be made.
    made: bool,
}

struct Swept {
    key: String,
    ids: Vec<ParamId>,
}

/// Runs a sweep.
pub fn sweep(args: &SweepArgs) -> Result<Status, Stop> {
    let (statement, _) = read_statement(&args.movement, args.json)?;
    let figures = wanted_figures(&args.figures)?;
    let (swept, axes): (Vec<Swept>, Vec<Axis>) = args
        .axes
        .iter()
        .map(|text| axis(text, &statement, args.json))
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

fn point(statement: &Statement, swept: &[Swept], at: &[f64], figures: &[FigureId], scratch: &mut Scratch) -> Point {
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
    let gravest = found.iter().find(|f| f.gravity == Gravity::Fault && NOT_PLAYED.contains(&f.code));
    gravest.map_or("played", |f| f.code)
}

/// What is stated at a point of the grid.
fn values_at(statement: &Statement, swept: &[Swept], at: &[f64]) -> Values {
    let mut values = statement.values.clone();
    for (swept, edge) in swept.iter().zip(at) {
        for id in &swept.ids {
            values.set(*id, id.param().unit.to_si(*edge));
        }
    }
    values
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

fn wanted_figures(paths: &[String]) -> Result<Vec<FigureId>, Stop> {
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
fn axis(text: &str, statement: &Statement, json: bool) -> Result<(Swept, Axis), Stop> {
    const FORM: &str = "write key=first:last:count, such as pallets.entry.stone_out_mm=-0.02:0.02:41";
    let form = || Stop::problem(format!("'{text}' is no axis of a sweep"), FORM);
    let bad = |what: &str, why: String| Stop::problem(format!("'{text}' is no axis of a sweep: {what}: {why}"), FORM);
    let (key, range) = text.split_once('=').ok_or_else(form)?;
    let parts: Vec<&str> = range.split(':').collect();
    let [first, last, count] = parts[..] else { return Err(form()) };
    let end = |what: &str, text: &str| read_number(text, "a number in the unit of the key").map_err(|e| bad(what, e));
    let (first, last) = (end("first", first)?, end("last", last)?);
    let wanted = "a whole number of values, such as 41";
    let count = read_number(count, wanted).map_err(|e| bad("count", e))?;
    if count.fract() != 0.0 || count < 1.0 || count > MOST_POINTS as f64 {
        return Err(bad("count", format!("out of range: {wanted}, at most {MOST_POINTS}")));
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
        return Err(refuse(&faults, faults.len(), &trial, json));
    }
    let ids = ParamId::from_path(key.trim()).ok_or_else(form)?;
    if ids.iter().any(|id| matches!(id.param().unit, Unit::Count)) && axis.values().any(|v| v.fract() != 0.0) {
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

fn at_edge(id: FigureId, si: Option<f64>) -> Option<f64> {
    si.map(|v| edge(id.figure().unit.from_si(v)))
}

fn as_csv(grid: &Grid, swept: &[Swept], figures: &[FigureId], points: &[Point]) -> String {
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
            text.push_str(&field(at_edge(*id, *si)));
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
        let figures = figures.iter().zip(&p.figures).map(|(id, si)| json!(at_edge(*id, *si)));
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

fn as_table(grid: &Grid, swept: &[Swept], figures: &[FigureId], points: &[Point]) -> String {
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
        row.extend(figures.iter().zip(&p.figures).map(|(id, si)| number(*si, id.figure().unit)));
        row.push(p.outcome.to_owned());
        table.add_row(row);
    }
    right(&mut table, 0..columns - 1);
    format!("{table}\n")
}
