//! The action against check values that stand outside this program: `published/*.toml`, each with its source.
//!
//! All entries are compared and all failures reported together. `TOLERANCE_SCALE` multiplies every tolerance;
//! `TOLERANCE_SCALE=0` therefore lists every raw residual.
#![allow(clippy::unwrap_used)]

#[path = "support/entry.rs"]
mod entry;
#[path = "support/measure.rs"]
mod measure;

use action::{Scratch, solve};
use entry::{compare, read_all, solved, statement};
use movement::{Pallet, ParamKind as K};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

fn directory() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/published"))
}

#[test]
fn every_published_value_holds() {
    let tolerance_scale = std::env::var("TOLERANCE_SCALE").map_or(1.0, |s| s.parse().unwrap());
    let files = read_all(directory());
    assert!(!files.is_empty(), "no check values in {}", directory().display());
    let (mut compared, mut written) = (0, 0);
    let mut failures = Vec::new();
    let mut by_status: BTreeMap<_, u32> = BTreeMap::new();
    for (path, file) in &files {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        assert!(!file.source.trim().is_empty() && !file.check.is_empty(), "{name} names no source or has no entry");
        let given: BTreeMap<&str, _> = file.given.iter().map(|(n, table)| (n.as_str(), statement(n, table))).collect();
        let mut used = BTreeSet::new();
        for (at, check) in file.check.iter().enumerate() {
            written += check.figures.len().max(1);
            let about = format!("{name}, entry {}, {} ({}; {:?})", at + 1, check.quantity, check.place, check.status);
            let found = match given.get(check.given.as_str()) {
                None => Err(format!("no movement is given as {:?}", check.given)),
                Some(Err(fault)) => Err(fault.clone()),
                Some(Ok(statement)) => compare(check, statement, tolerance_scale),
            };
            used.insert(check.given.as_str());
            let differs = check.differs.as_deref().map_or(String::new(), |d| format!(" [differs: {d}]"));
            match found {
                Err(fault) => failures.push(format!("{about}: not compared: {fault}")),
                Ok(residuals) => {
                    for r in residuals {
                        compared += 1;
                        *by_status.entry(r.status).or_default() += 1;
                        if !r.holds {
                            failures.push(format!("{about}: {}{differs}", r.text));
                        }
                    }
                }
            }
        }
        failures.extend(
            file.given
                .keys()
                .filter(|n| !used.contains(n.as_str()))
                .map(|n| format!("{name}: {n} is given and not used")),
        );
    }
    println!("{compared} of {written} values compared: {by_status:?}");
    assert!(failures.is_empty(), "{} of {written} values fail\n{}", failures.len(), failures.join("\n"));
    assert_eq!(compared, written, "entries that were not compared");
}

/// Lever angles of the geometry notes count clockwise from the instant at which the exit pallet has just let go
/// (`eps = 0`); ours count anticlockwise from the fork in the middle. Printed there for lock 1.5 and lift 8.5: the entry
/// pallet unlocks at eps = 1.5 and lets go at 10, the exit pallet unlocks at 8.5 and lets go at 0.
#[test]
fn lever_angle_is_minus_eps_from_the_middle() {
    let text = "format = 1\nname = \"fixture\"\n[wheel]\ntooth_count = 15\nlocking_radius_mm = 1.0\n";
    let reading = movement::read("fixture", text);
    let s = solved(&reading.statement, &[]).unwrap();
    let middle_eps_deg = 5.0;
    let printed = [(Pallet::Entry, 1.5, 10.0), (Pallet::Exit, 8.5, 0.0)];
    for (pallet, unlocking_eps, let_off_eps) in printed {
        let own = s.action.of(pallet).next().unwrap();
        for (found, eps) in [(own.unlocking, unlocking_eps), (own.let_off, let_off_eps)] {
            let expect = -(eps - middle_eps_deg);
            assert!(
                (found.lever_rad.to_degrees() - expect).abs() < 1e-9,
                "{pallet:?} {} {expect}",
                found.lever_rad.to_degrees()
            );
        }
        // Entry pallet on the left; the lever lifts it by turning clockwise, to smaller angles.
        assert_eq!(own.unlocking.point_m.x < 0.0, pallet == Pallet::Entry);
        assert_eq!(own.let_off.lever_rad < own.unlocking.lever_rad, pallet == Pallet::Entry);
    }
}

/// A cycle closes: both travels and drops less both turns back are one tooth. Each of the six is measured on its own;
/// asserted on everything the files give, sound or changed.
#[test]
fn the_wheel_advances_one_tooth_in_a_cycle() {
    let mut cycles = 0;
    for (path, file) in read_all(directory()) {
        for check in &file.check {
            let given = statement(&check.given, &file.given[&check.given]).unwrap();
            let s = solved(&given, &check.change).unwrap();
            if s.build.parts.wheel.teeth.len() > 1 {
                continue; // teeth that differ have one pitch each
            }
            let pitch_deg = 360.0 / s.build.movement.si(K::WheelToothCount);
            let sum: f64 = s.action.beats.iter().map(|b| b.travel_rad + b.drop_rad - b.recoil_from_drop_rad).sum();
            assert!(
                (sum.to_degrees() - pitch_deg).abs() < 1e-9,
                "{} {}: {}",
                path.display(),
                check.quantity,
                sum.to_degrees()
            );
            cycles += 1;
        }
    }
    assert!(cycles > 50, "{cycles} cycles");
}

/// The worked examples of the handbook can be read, are sound and play.
#[test]
fn handbook_examples_play() {
    for name in ["circular", "equidistant", "perfected"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../../examples/handbook-1904-{name}.toml"));
        let reading = movement::read(name, &std::fs::read_to_string(path).unwrap());
        assert!(reading.diagnostics.is_empty(), "{:#?}", reading.diagnostics);
        let build = parts::build(&reading.statement.values).unwrap();
        let action = solve(&build.parts, &mut Scratch::default());
        assert_eq!(action.broken, None);
        for pallet in Pallet::BOTH {
            assert_eq!(action.of(pallet).count(), 1, "one action speaks for teeth that are alike");
        }
    }
}
