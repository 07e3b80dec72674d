//! The synthesis and the drawn stones against check values that stand outside this program: `published/*.toml`.
//!
//! All entries are compared and all failures reported together. `TOLERANCE_SCALE` multiplies every tolerance;
//! `TOLERANCE_SCALE=0` therefore lists every raw residual.
#![allow(clippy::unwrap_used)]

use movement::{Pallet, ParamId};
use parts::{Build, Stone, build};
use plane::{Vector, cross};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// One file: a source, the movements its values are given for, and the values.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Published {
    /// Author, title, year.
    source: String,
    /// Movements by name: the tables of a movement file.
    given: BTreeMap<String, toml::Table>,
    check: Vec<Check>,
}

/// What stands behind a value.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Status {
    /// Printed in the source named.
    Published,
    /// Common practice.
    Practice,
    /// Computed from the source's figures by a route away from this program.
    Derived,
    /// A formula.
    ClosedForm,
}

/// One entry: figures of one movement, side by side with what is printed.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Check {
    quantity: String,
    status: Status,
    /// Page, figure or section.
    place: String,
    /// Name of the movement.
    given: String,
    /// Our lever angle at which positions are taken.
    #[serde(default)]
    lever_deg: f64,
    /// As printed.
    printed: String,
    /// Paths of parameters, or names of `measure`.
    figures: Vec<String>,
    /// Values in the units of the figures.
    expect: Vec<f64>,
    /// Largest difference accepted, in the units of the figures.
    tolerance: f64,
    /// Why that much.
    reason: String,
    /// Where the source's definition is not ours.
    differs: Option<String>,
}

fn read_all() -> Vec<(String, Published)> {
    let directory = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/published"));
    let mut paths: Vec<PathBuf> = std::fs::read_dir(directory).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let named = paths.into_iter().map(|path| {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let file = toml::from_str(&std::fs::read_to_string(&path).unwrap()).unwrap_or_else(|e| panic!("{name}: {e}"));
        (name, file)
    });
    named.collect()
}

fn built(name: &str, tables: &toml::Table) -> Build {
    let text = format!("format = 1\nname = \"{name}\"\n{}", toml::to_string(tables).unwrap());
    let reading = movement::read(name, &text);
    assert!(reading.diagnostics.is_empty(), "{name}: {:#?}", reading.diagnostics);
    build(&reading.statement.values).unwrap_or_else(|faults| panic!("{name}: {faults:#?}"))
}

/// A parameter, or what is measured on the drawn stones with the lever at `lever_deg`. In millimetres and degrees.
fn value(name: &str, build: &Build, lever_deg: f64) -> Result<f64, String> {
    if let Some(ids) = ParamId::from_path(name) {
        let [id] = ids[..] else { return Err("more than one parameter".to_owned()) };
        let (si, _) = build.movement.get(id).ok_or("not closed")?;
        return Ok(id.param().unit.from_si(si));
    }
    let (pallet, of) = name.split_once('.').ok_or("no such figure")?;
    let pallet = Pallet::BOTH.into_iter().find(|p| p.name() == pallet).ok_or("no such pallet")?;
    let stone = |p: Pallet| -> &Stone { &build.parts.lever.stones[p] };
    let (own, other) = (stone(pallet), stone(pallet.other()));
    let pose = build.parts.lever_pose(lever_deg.to_radians());
    let mm = |at: Vector| pose.point(at) * 1e3;
    let chord_mm = (own.let_off_corner_m - own.locking_corner_m) * 1e3;
    let face = pose.direction(own.face);
    Ok(match of {
        "locking_corner_x_mm" => mm(own.locking_corner_m).x,
        "locking_corner_y_mm" => mm(own.locking_corner_m).y,
        "let_off_corner_x_mm" => mm(own.let_off_corner_m).x,
        "let_off_corner_y_mm" => mm(own.let_off_corner_m).y,
        "locking_face_deg" => face.y.atan2(face.x).to_degrees(),
        "locking_less_other_let_off_mm" => 1e3 * (own.locking_corner_m.norm() - other.let_off_corner_m.norm()),
        "width_mm" => cross(chord_mm, own.face).abs(),
        "impulse_face_mm" => chord_mm.norm(),
        "face_off_square_deg" => chord_mm.dot(&own.face).abs().atan2(cross(chord_mm, own.face).abs()).to_degrees(),
        _ => return Err("no such figure".to_owned()),
    })
}

#[test]
fn every_published_value_holds() {
    let tolerance_scale: f64 = std::env::var("TOLERANCE_SCALE").map_or(1.0, |s| s.parse().unwrap());
    let (mut compared, mut written) = (0, 0);
    let mut failures = Vec::new();
    let files = read_all();
    for (name, file) in &files {
        assert!(!file.source.trim().is_empty() && !file.check.is_empty(), "{name} names no source or has no entry");
        let builds: BTreeMap<&str, Build> = file.given.iter().map(|(n, t)| (n.as_str(), built(n, t))).collect();
        let mut used = BTreeSet::new();
        for (at, check) in file.check.iter().enumerate() {
            written += check.expect.len().max(1);
            let about = format!("{name}, entry {}, {} ({}; {:?})", at + 1, check.quantity, check.place, check.status);
            let said = [&check.quantity, &check.place, &check.printed, &check.reason];
            if said.iter().any(|text| text.trim().is_empty()) || check.figures.len() != check.expect.len() {
                failures.push(format!("{about}: quantity, place, printed, reason and one value per figure are needed"));
                continue;
            }
            let Some(build) = builds.get(check.given.as_str()) else {
                failures.push(format!("{about}: no movement is given as {:?}", check.given));
                continue;
            };
            used.insert(check.given.as_str());
            for (figure, expect) in check.figures.iter().zip(&check.expect) {
                match value(figure, build, check.lever_deg) {
                    Err(why) => failures.push(format!("{about}: {figure}: {why}")),
                    Ok(found) => {
                        compared += 1;
                        let residual = found - expect;
                        // A value that is not a number fails; 1e-12 is the rounding of the printed number, no tolerance.
                        if residual.is_nan() || residual.abs() > check.tolerance * tolerance_scale + 1e-12 {
                            let differs = check.differs.as_deref().unwrap_or("nothing");
                            failures.push(format!(
                                "{about}: {figure} {found:.9}, printed {}, residual {residual:+.2e}, tolerance {:.1e}, differs: {differs}",
                                check.printed, check.tolerance
                            ));
                        }
                    }
                }
            }
        }
        let unused = file.given.keys().filter(|n| !used.contains(n.as_str()));
        failures.extend(unused.map(|n| format!("{name}: {n} is given and not used")));
    }
    assert!(failures.is_empty(), "{} of {written} values fail\n{}", failures.len(), failures.join("\n"));
    assert_eq!(compared, written, "entries that were not compared");
    assert!(compared >= 70, "{compared} values compared");
}
