//! Check values as data: files of `published/`, what an entry says, and how it is compared.

use action::{Action, FigureId, Scratch, solve};
use movement::{ParamId, Statement};
use parts::{Build, build};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use crate::measure;

/// One file: a source, the movements its values are given for, and the values.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Published {
    /// Author, title, year; where several, each with its mark.
    pub source: String,
    /// Movements by name: the tables of a movement file, or `file = "examples/..."`.
    pub given: BTreeMap<String, toml::Table>,
    /// The values.
    pub check: Vec<Check>,
}

/// What stands behind a value.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq, PartialOrd, Ord)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// Printed in the source named.
    Published,
    /// Common practice.
    Practice,
    /// Computed from the source's figures by a route of its own, away from this program.
    Derived,
    /// An approximate formula.
    ClosedForm,
}

/// One entry: figures of one movement, side by side with what is printed.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// What is measured, in words.
    pub quantity: String,
    /// What stands behind the value.
    pub status: Status,
    /// Page, figure or section.
    pub place: String,
    /// Name of the movement it is given for.
    pub given: String,
    /// Overrides of that movement, as `key=value`.
    #[serde(default)]
    pub change: Vec<String>,
    /// Whether the value is the difference that `change` makes.
    #[serde(default)]
    pub difference: bool,
    /// As printed.
    pub printed: String,
    /// Paths of figures, of parameters, or names of `measure`; `-` before one turns its sign.
    pub figures: Vec<String>,
    /// The values printed, in the units of the figures.
    pub expect: Vec<f64>,
    /// Largest difference accepted, in the units of the figures.
    pub tolerance: f64,
    /// Why that much.
    pub reason: String,
    /// Where the source's definition is not ours.
    pub differs: Option<String>,
}

/// A movement closed and solved.
pub struct Solved {
    pub build: Build,
    pub action: Action,
}

/// One comparison.
pub struct Residual {
    pub status: Status,
    pub text: String,
    pub holds: bool,
}

/// Every file of the directory, by name.
pub fn read_all(directory: &Path) -> Vec<(PathBuf, Published)> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(directory)
        .unwrap_or_else(|e| panic!("{}: {e}", directory.display()))
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    paths.sort();
    paths
        .into_iter()
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap();
            let file = toml::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
            (path, file)
        })
        .collect()
}

/// The statement of a `given` table.
pub fn statement(name: &str, given: &toml::Table) -> Result<Statement, String> {
    let text = match given.get("file") {
        Some(file) => {
            let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(file.as_str().unwrap());
            std::fs::read_to_string(&path).map_err(|e| format!("{}: {e}", path.display()))?
        }
        None => format!("format = 1\nname = \"{name}\"\n{}", toml::to_string(given).unwrap()),
    };
    let reading = movement::read(name, &text);
    if reading.has_errors() {
        return Err(format!("{:#?}", reading.diagnostics));
    }
    Ok(reading.statement)
}

/// Closes and solves a statement with overrides made.
pub fn solved(statement: &Statement, change: &[String]) -> Result<Solved, String> {
    let mut statement = statement.clone();
    statement.set_all(change).map_err(|faults| format!("{faults:#?}"))?;
    let build = build(&statement.values).map_err(|faults| format!("{faults:#?}"))?;
    let action = solve(&build.parts, &mut Scratch::default());
    match action.broken {
        Some(broken) => Err(format!("the cycle cannot be played: {broken:?}")),
        None => Ok(Solved { build, action }),
    }
}

/// Value of a figure, a parameter or a measure, in its unit at the edges.
fn value(name: &str, solved: &Solved) -> Result<f64, String> {
    if let Some(of) = name.strip_prefix('-') {
        return Ok(-value(of, solved)?);
    }
    if let Some(id) = FigureId::from_path(name) {
        let si = id.value(&solved.action).ok_or(format!("{name} has no value"))?;
        return Ok(id.figure().unit.from_si(si));
    }
    if let Some(ids) = ParamId::from_path(name) {
        let [id] = ids[..] else { return Err(format!("{name} is more than one parameter")) };
        let (si, _) = solved.build.movement.get(id).ok_or(format!("{name} is not closed"))?;
        return Ok(id.param().unit.from_si(si));
    }
    measure::measure(name, solved)?.ok_or(format!("{name} has no value"))
}

/// Compares one entry; an entry that cannot be compared is a failure that says why.
pub fn compare(check: &Check, given: &Statement, tolerance_scale: f64) -> Result<Vec<Residual>, String> {
    if check.figures.is_empty() || check.figures.len() != check.expect.len() {
        return Err(format!("{} figures and {} expected values", check.figures.len(), check.expect.len()));
    }
    if check.reason.trim().is_empty() || check.printed.trim().is_empty() || check.place.trim().is_empty() {
        return Err("printed, place and reason must say something".to_owned());
    }
    let changed = solved(given, &check.change)?;
    let before = if check.difference { Some(solved(given, &[])?) } else { None };
    let mut out = Vec::new();
    for (name, expect) in check.figures.iter().zip(&check.expect) {
        let mut found = value(name, &changed)?;
        if let Some(before) = &before {
            found -= value(name, before)?;
        }
        let residual = found - expect;
        let mut text = String::new();
        write!(
            text,
            "{name}: {found:.6}, printed {expect}, residual {residual:+.2e}, tolerance {:.1e}",
            check.tolerance
        )
        .unwrap();
        // The 1e-12 lets a residual of exactly half a digit through; it is no part of the tolerance.
        out.push(Residual {
            status: check.status,
            text,
            holds: residual.abs() <= check.tolerance * tolerance_scale + 1e-12,
        });
    }
    Ok(out)
}
