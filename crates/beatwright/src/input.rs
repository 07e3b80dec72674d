//! From a file to a built movement and its action, or to diagnostics shown.

use action::{Action, Finding, Gravity, Scratch, Sideshake, findings, moved_first, rank, solve};
use movement::{Diagnostic, Reading, Statement};
use parts::{Build, build};
use std::collections::BTreeMap;
use std::io::{IsTerminal, Read};
use std::path::Path;
use study::{Outcome, Study};

use crate::cli::MovementArgs;
use crate::output::{Stop, emit_refusal};

/// The built-in demo movement, a scenario of our own.
pub const DEMO: &str = include_str!("../demo.toml");

/// A movement read, closed, drawn and solved.
pub struct Loaded {
    /// What was stated.
    pub statement: Statement,
    /// The closed movement and its parts.
    pub build: Build,
    /// Warnings and notes about the statement.
    pub diagnostics: Vec<Diagnostic>,
    /// What the parts do.
    pub action: Action,
    /// What is wrong, worst first; sideshake included.
    pub findings: Vec<Finding>,
    /// Ranges over the sideshake, where freedoms are stated.
    pub shaken: Option<Shaken>,
}

/// Ranges of the figures over every combination of displaced axes.
pub struct Shaken {
    /// Number of combinations.
    pub count: usize,
    /// Least and largest SI value of each figure, by path.
    pub ranges: BTreeMap<action::FigureId, (f64, f64)>,
}

/// Reads the movement of a command and makes its overrides.
pub fn read_statement(args: &MovementArgs, json: bool) -> Result<(Statement, Vec<Diagnostic>), Stop> {
    let Reading { mut statement, mut diagnostics, mut error_count } = read(&args.file)?;
    if !diagnostics.iter().any(Diagnostic::is_error)
        && let Err(faults) = statement.set_all(&args.set)
    {
        error_count += faults.len();
        diagnostics.extend(faults);
    }
    if error_count > 0 {
        return Err(refuse(&diagnostics, error_count, &statement, json));
    }
    Ok((statement, diagnostics))
}

/// Reads, builds and solves the movement of a command, and tells what is worth saying about its statements.
pub fn load(args: &MovementArgs, json: bool) -> Result<Loaded, Stop> {
    let loaded = load_quietly(args, json)?;
    if !json {
        loaded.remark();
    }
    Ok(loaded)
}

impl Loaded {
    /// Names first, of what moves each finding, what was moved in this movement: each move is undone and solved again.
    pub fn tell_moves(&mut self) {
        let Loaded { build, action, findings, .. } = self;
        moved_first(&build.movement, &build.parts, action, findings, &mut Scratch::default());
    }

    /// Warnings and notes about the statement, on standard error.
    pub fn remark(&self) {
        if !self.diagnostics.is_empty() {
            eprint!("{}", movement::render(&self.diagnostics, &self.statement, std::io::stderr().is_terminal()));
        }
    }
}

/// Reads, builds and solves the movement of a command.
pub fn load_quietly(args: &MovementArgs, json: bool) -> Result<Loaded, Stop> {
    let (statement, diagnostics) = read_statement(args, json)?;
    let mut loaded = match work_out(statement, diagnostics) {
        Ok(loaded) => loaded,
        Err(r) => return Err(refuse(&r.diagnostics, r.fault_count, &r.statement, json)),
    };
    loaded.tell_moves();
    loaded.try_sideshake()?;
    Ok(loaded)
}

/// A statement that makes no movement, and why.
pub struct Refused {
    /// What was stated.
    pub statement: Statement,
    /// At least one error.
    pub diagnostics: Vec<Diagnostic>,
    /// How many of them are errors.
    pub fault_count: usize,
}

/// Builds and solves what is stated, its pivots in the middle of their holes.
///
/// # Errors
/// Every diagnostic, where the statement makes no movement.
pub fn work_out(statement: Statement, mut diagnostics: Vec<Diagnostic>) -> Result<Loaded, Box<Refused>> {
    let build = match build(&statement.values) {
        Ok(build) => build,
        Err(faults) => {
            let count = faults.len();
            diagnostics.extend(faults.into_iter().map(|d| statement.placed(d)));
            return Err(Box::new(Refused { statement, diagnostics, fault_count: count }));
        }
    };
    diagnostics.extend(build.notes.iter().map(|d| statement.placed(d.clone())));
    let mut scratch = Scratch::default();
    let action = solve(&build.parts, &mut scratch);
    let findings = findings(&build.parts, &action);
    Ok(Loaded { statement, build, diagnostics, action, findings, shaken: None })
}

impl Loaded {
    /// Tries every combination of displaced axes where freedoms of the pivots are stated; adds what only shows there.
    pub fn try_sideshake(&mut self) -> Result<(), Stop> {
        if let Some(sideshake) = Sideshake::of(&self.build.movement) {
            self.shaken = Some(shake(&self.build, &sideshake, &mut self.findings)?);
        }
        Ok(())
    }
}

/// The demo movement with overrides, for tests.
#[cfg(test)]
pub fn demo(changes: &str) -> Loaded {
    let mut statement = movement::read("demo", DEMO).statement;
    let changes: Vec<String> = changes.split_whitespace().map(str::to_owned).collect();
    statement.set_all(&changes).unwrap_or_else(|faults| panic!("{faults:?}"));
    work_out(statement, Vec::new()).unwrap_or_else(|refused| panic!("{:?}", refused.diagnostics))
}

fn read(file: &Path) -> Result<Reading, Stop> {
    if file == Path::new("demo") && !file.exists() {
        return Ok(movement::read("demo", DEMO));
    }
    let failed = |e: std::io::Error| {
        Stop::coded(
            "unreadable",
            format!("could not read {}: {e}", file.display()),
            "give the path of a movement file; `beatwright new FILE` writes one",
        )
    };
    // One byte more than is allowed, so that a file that is too large is seen to be, without reading all of it.
    let most = movement::MAX_BYTES as u64 + 1;
    let mut bytes = Vec::new();
    let name = if file == Path::new("-") {
        std::io::stdin().lock().take(most).read_to_end(&mut bytes).map_err(failed)?;
        "standard input".to_owned()
    } else {
        std::fs::File::open(file).map_err(failed)?.take(most).read_to_end(&mut bytes).map_err(failed)?;
        file.display().to_string()
    };
    Ok(movement::read_bytes(&name, &bytes))
}

/// Shows diagnostics that make a movement unusable: all at once, on standard error and, where asked, as JSON.
pub fn refuse(diagnostics: &[Diagnostic], errors: usize, statement: &Statement, json: bool) -> Stop {
    eprint!("{}", movement::render(diagnostics, statement, std::io::stderr().is_terminal()));
    eprintln!("{errors} {} in the movement; nothing was computed", if errors == 1 { "fault" } else { "faults" });
    if json {
        return emit_refusal(Some(statement.source_name()), diagnostics, errors).err().unwrap_or(Stop::Reported);
    }
    Stop::Reported
}

/// Tries every combination of displaced axes; faults that only show there are added to `found`.
fn shake(build: &Build, sideshake: &Sideshake, found: &mut Vec<Finding>) -> Result<Shaken, Stop> {
    let study = Study::default();
    let cases = study
        .execute(sideshake.count(), Scratch::default, |trial, scratch| {
            let parts = sideshake.displaced(&build.parts, trial.index);
            let action = solve(&parts, scratch);
            let faults: Vec<Finding> =
                findings(&parts, &action).into_iter().filter(|f| f.gravity == Gravity::Fault).collect();
            let values: Vec<_> = action::FigureId::all().map(|id| (id, range_over_teeth(&action, id))).collect();
            (values, faults)
        })
        .map_err(|e| Stop::from_error(&e))?;
    let Outcome::Complete(cases) = cases else { return Err(Stop::Cancelled) };
    let mut ranges: BTreeMap<action::FigureId, (f64, f64)> = BTreeMap::new();
    // Each with how many combinations have it, and the one in which it is worst.
    let mut extra: Vec<(Finding, usize, usize)> = Vec::new();
    for (index, (values, faults)) in cases.iter().enumerate() {
        for (id, range) in values {
            if let Some((least, most)) = range {
                let entry = ranges.entry(*id).or_insert((*least, *most));
                *entry = (entry.0.min(*least), entry.1.max(*most));
            }
        }
        for fault in faults {
            if found.iter().any(|f| f.code == fault.code && f.pallet == fault.pallet) {
                continue;
            }
            match extra.iter_mut().find(|(f, ..)| f.code == fault.code && f.pallet == fault.pallet) {
                Some((worst, count, at)) => {
                    *count += 1;
                    if fault.excess_ratio > worst.excess_ratio {
                        (*worst, *at) = (fault.clone(), index);
                    }
                }
                None => extra.push((fault.clone(), 1, index)),
            }
        }
    }
    let mut scratch = Scratch::default();
    for (mut fault, count, at) in extra {
        let parts = sideshake.displaced(&build.parts, at);
        let action = solve(&parts, &mut scratch);
        let mut there = findings(&parts, &action);
        moved_first(&build.movement, &parts, &action, &mut there, &mut scratch);
        if let Some(f) = there.into_iter().find(|f| f.code == fault.code && f.pallet == fault.pallet) {
            fault.moved_by = f.moved_by;
        }
        fault.message = format!(
            "with the pivots displaced in their holes ({count} of {} combinations): {}",
            cases.len(),
            fault.message
        );
        found.push(fault);
    }
    rank(found);
    Ok(Shaken { count: cases.len(), ranges })
}

fn range_over_teeth(action: &Action, id: action::FigureId) -> Option<(f64, f64)> {
    let Some(pallet) = id.pallet().filter(|_| !id.is_spread()) else { return id.value(action).map(|v| (v, v)) };
    let each =
        (0..action.beats.len()).filter(|&i| action.beats[i].pallet == pallet).filter_map(|i| id.of_beat(action, i));
    each.map(|v| (v, v)).reduce(|(a, b), (c, d)| (a.min(c), b.max(d)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fault that only shows with the pivots displaced names what was moved, too.
    #[test]
    fn what_was_moved_is_named_with_the_pivots_displaced() {
        let mut statement = movement::read("demo", DEMO).statement;
        let changes = ["pallets.entry.stone_tilt_deg=1", "pivots.pallet_sideshake_mm=0.004"].map(str::to_owned);
        statement.set_all(&changes).unwrap_or_else(|faults| panic!("{faults:?}"));
        let mut loaded = work_out(statement, Vec::new()).unwrap_or_else(|r| panic!("{:?}", r.diagnostics));
        let sound = |found: &[Finding]| !found.iter().any(|f| f.code == "banking-before-let-off");
        assert!(sound(&loaded.findings));
        assert!(loaded.try_sideshake().is_ok() && !sound(&loaded.findings));
        let of_exit = |f: &&Finding| f.code == "banking-before-let-off" && f.pallet == Some(movement::Pallet::Exit);
        let moved_by = loaded.findings.iter().find(of_exit).map(|f| f.moved_by[0].to_string());
        assert_eq!(moved_by.as_deref(), Some("pallets.entry.stone_tilt_deg"));
    }

    /// The spread over the teeth is shaken as itself: what it is with the pivots in the middle lies within its range.
    #[test]
    fn the_spread_of_the_lock_has_a_range_of_its_own() {
        let mut statement = movement::read("demo", DEMO).statement;
        let changes = ["wheel.teeth.3.longer_mm=0.004", "pivots.wheel_sideshake_mm=0.004"].map(str::to_owned);
        statement.set_all(&changes).unwrap_or_else(|faults| panic!("{faults:?}"));
        let mut loaded = work_out(statement, Vec::new()).unwrap_or_else(|r| panic!("{:?}", r.diagnostics));
        assert!(loaded.try_sideshake().is_ok());
        let ranges = loaded.shaken.expect("a freedom is stated").ranges;
        for path in ["entry.lock_spread_deg", "exit.lock_spread_deg"] {
            let id = action::FigureId::from_path(path).expect("a figure");
            let (least, most) = ranges[&id];
            let own = id.value(&loaded.action).expect("the teeth differ");
            let lock =
                action::FigureId::from_path(&path.replace("_spread", "")).and_then(|id| id.value(&loaded.action));
            assert!(least <= own && own <= most && most < 0.5 * lock.unwrap_or(0.0), "{path}: {least} {own} {most}");
        }
    }
}
