//! Overrides from the command line and from sweeps: the checks of the file, and nothing changed by a faulty one.
#![allow(clippy::unwrap_used)]

use movement::{Diagnostic, Pallet, ParamKind, SET_SOURCE, Statement, read, render};

const TEXT: &str = "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 15\nlocking_radius_mm = 4\n[wheel.teeth.12]\nlonger_mm = 0.01\n[pallets]\nlock_deg = 1.5\nentry.draw_deg = 11\n";

fn statement() -> Statement {
    let reading = read("a.toml", TEXT);
    assert_eq!(reading.diagnostics, []);
    reading.statement
}

fn refused(statement: &mut Statement, assignments: &[&str]) -> Vec<Diagnostic> {
    let before = statement.values.clone();
    let faults = statement.set_all(assignments).unwrap_err();
    assert_eq!(statement.values, before, "{assignments:?}");
    faults
}

#[test]
fn sets_what_the_file_would() {
    for (assignment, file) in [
        ("pallets.exit.lock_deg=1.25", "[pallets.exit]\nlock_deg = 1.25\n"),
        (" pallets.exit.lock_deg = 1.25 ", "[pallets.exit]\nlock_deg = 1.25\n"),
        ("guard.form=pin", "[guard]\nform = \"pin\"\n"),
        ("guard.form=\"pin\"", "[guard]\nform = \"pin\"\n"),
        ("wheel.spoke_count=5", "wheel.spoke_count = 5\n"),
        ("wheel.teeth.3.bent_deg=-0.5", "[wheel.teeth.3]\nbent_deg = -0.5\n"),
        ("fork.ratio_of_radii=3e0", "[fork]\nratio_of_radii = 3.0\n"),
    ] {
        let mut by_set = statement();
        by_set.set(assignment).unwrap();
        let text = match file.strip_prefix("wheel.") {
            Some(line) => TEXT.replace("[wheel.teeth.12]", &format!("{line}[wheel.teeth.12]")),
            None => format!("{TEXT}{file}"),
        };
        assert_eq!(by_set.values, read("a.toml", &text).statement.values, "{assignment}");
    }
}

#[test]
fn a_key_for_both_pallets_overrides_both() {
    let mut statement = statement();
    statement.set("pallets.draw_deg=13").unwrap();
    for pallet in Pallet::BOTH {
        let id = ParamKind::PalletDraw.at(pallet);
        assert_eq!(statement.values.get(id), Some(13_f64.to_radians()));
        assert_eq!(statement.place(id).map(|p| p.source.as_str()), Some(SET_SOURCE));
    }
}

#[test]
fn an_empty_value_takes_the_statement_away() {
    let mut statement = statement();
    statement.set("pallets.entry.lock_deg=").unwrap();
    assert_eq!(statement.values.get(ParamKind::PalletLock.at(Pallet::Entry)), None);
    assert!(statement.values.get(ParamKind::PalletLock.at(Pallet::Exit)).is_some());
    assert_eq!(statement.place(ParamKind::PalletLock.at(Pallet::Entry)), None);
    // The size may change its form, in either order; alone it may not go.
    statement.set_all(&["wheel.locking_radius_mm=", "centres.wheel_pallet_mm=4.6"]).unwrap();
    assert_eq!(refused(&mut statement, &["centres.wheel_pallet_mm="])[0].code, "missing");
    assert_eq!(refused(&mut statement, &["wheel.tooth_count="])[0].code, "missing");
}

#[test]
fn faulty_assignments_are_refused_together() {
    let mut statement = statement();
    let faults = refused(
        &mut statement,
        &[
            "pallets.lock_deg=90",
            "pallets.lock_mm=1",
            "lock",
            "guard.form=horn",
            "wheel.tooth_count=15.5",
            "fork.length_mm=nan",
            "pallets.spaces_spanned=2",
            "fork.length_mm=3mm",
            "=",
            "name=x",
        ],
    );
    let codes: Vec<&str> = faults.iter().map(|d| d.code).collect();
    assert_eq!(
        codes,
        [
            "out-of-range",
            "unknown-key",
            "bad-assignment",
            "unknown-word",
            "not-whole",
            "not-finite",
            "not-half",
            "wrong-type",
            "unknown-key",
            "not-a-parameter"
        ]
    );
    let numbers: Vec<u32> = faults.iter().map(|d| d.place.as_ref().unwrap().line).collect();
    assert_eq!(numbers, [1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
    assert!(render(&faults, &statement, false).starts_with(
        "error[out-of-range]: `pallets.lock_deg` is out of range\n --> --set:1:18\n  |\n1 | pallets.lock_deg=90\n  |                  ^^ 90 deg\n"
    ));
}

#[test]
fn fewer_teeth_than_a_tooth_that_is_named() {
    let mut statement = statement();
    let faults = refused(&mut statement, &["wheel.tooth_count=12"]);
    assert_eq!((faults[0].code, faults[0].place.as_ref().map(|p| p.line)), ("no-such-tooth", Some(7)));
    statement.set("wheel.tooth_count=13").unwrap();
    assert_eq!(refused(&mut statement, &["wheel.teeth.13.bent_deg=1"])[0].code, "no-such-tooth");
}

#[test]
fn a_line_feed_in_an_assignment_is_shown_without_harm() {
    let mut statement = statement();
    let faults = refused(&mut statement, &["pallets.lock_deg=\n\n\n\n99"]);
    assert!(render(&faults, &statement, false).contains("out of range"));
}

#[test]
fn values_set_in_a_row_do_not_pile_up() {
    let mut statement = statement();
    let id = ParamKind::PalletLock.at(Pallet::Exit);
    for step in 0..1000 {
        statement.set_value(id, 0.5 + f64::from(step) * 1e-3).unwrap();
    }
    assert_eq!(statement.values.get(id), Some((0.5 + 999.0 * 1e-3_f64).to_radians()));
    let place = statement.place(id).unwrap();
    assert_eq!((place.line, statement.source_text(place)), (1, Some("pallets.exit.lock_deg=1.499")));
    let fault = &statement.set_value(id, 99.0).unwrap_err()[0];
    assert_eq!(
        (fault.code, fault.value.as_deref(), fault.allowed.as_deref()),
        ("out-of-range", Some("99 deg"), Some("-5 to 10 deg"))
    );
    assert_eq!(statement.values.get(id), Some((0.5 + 999.0 * 1e-3_f64).to_radians()));
    assert_eq!(statement.set_value(ParamKind::WheelToothCount.once(), 12.0).unwrap_err()[0].code, "no-such-tooth");
    assert!(statement.set_value(ParamKind::GuardForm.once(), 1.0).is_ok());
    assert!(statement.set_value(ParamKind::GuardForm.once(), 2.0).is_err());
    assert!(statement.set_value(ParamKind::PalletsSpacesSpanned.once(), 3.0).is_err());
    assert!(statement.set_value(id, f64::NAN).is_err());
}

#[test]
fn places_are_filled_from_the_parameters_concerned() {
    let statement = statement();
    let [entry, exit] = Pallet::BOTH.map(|p| ParamKind::PalletLock.at(p));
    let both = statement.placed(Diagnostic::error("x", "y").about(entry).about(exit));
    // One line states both, so there is one place.
    assert_eq!((both.place.as_ref().map(|p| p.line), both.related.len()), (Some(9), 0));
    let draw = ParamKind::PalletDraw.at(Pallet::Entry);
    let two = statement.placed(Diagnostic::error("x", "y").about(ParamKind::ForkLength.once()).about(draw).about(exit));
    assert_eq!((two.place.as_ref().map(|p| p.line), two.related[0].0.line), (Some(10), 9));
}

#[test]
fn only_parameters_can_be_set() {
    for (assignment, code, marked, hint) in [
        ("name=x", "not-a-parameter", "name", "in the movement file, where `name = ...` stands at the top"),
        ("format=2", "not-a-parameter", "format", "where `format = ...` stands"),
        ("kind=foo", "not-a-parameter", "kind", "where `kind = ...` stands"),
        ("wheel={a=1}", "not-a-parameter", "wheel", "such as wheel.tooth_count=..."),
        ("pallets.exit=1", "not-a-parameter", "pallets.exit", "such as pallets.exit.lock_deg=..."),
        (" wheel.teeth.3 = 1", "not-a-parameter", "wheel.teeth.3", "such as wheel.teeth.3.longer_mm=..."),
        ("nam=x", "unknown-key", "nam", "`beatwright schema` lists every key"),
        ("pallets.exit.lokc_deg=1", "unknown-key", "pallets.exit.lokc_deg", "did you mean `pallets.exit.lock_deg`?"),
        ("wheel.teeth.30.longer_mm=0.1", "no-such-tooth", "30", "numbered from 0"),
        (" wheel.teeth.70000.longer_mm=0.1", "no-such-tooth", "70000", "numbered from 0"),
        ("wheel.teeth.15.bent_deg=0.1", "no-such-tooth", "15", "numbered from 0"),
    ] {
        let faults = refused(&mut statement(), &[assignment]);
        let place = faults[0].place.as_ref().unwrap();
        assert_eq!((faults[0].code, &assignment[place.start..place.end]), (code, marked), "{assignment}");
        assert!(faults[0].hint.as_ref().unwrap().contains(hint), "{assignment}: {:?}", faults[0].hint);
    }
}
