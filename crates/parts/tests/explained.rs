//! What is said of statements that do not go together: every value named mends them, every limit is one.
#![allow(clippy::unwrap_used)]

use movement::{Diagnostic, ParamId, Values};
use parts::{build, build_tersely};
use std::collections::BTreeSet;

/// A plain movement, invented, with further values in the units of their rows.
fn stated(changes: &[(&str, f64)]) -> Values {
    let mut v = Values::default();
    for (path, edge) in [("wheel.tooth_count", 15.0), ("wheel.locking_radius_mm", 2.5)].iter().chain(changes) {
        for id in ParamId::from_path(path).unwrap() {
            v.set(id, id.param().unit.to_si(*edge));
        }
    }
    v
}

fn faults(v: &Values) -> Vec<Diagnostic> {
    build(v).map(|_| ()).expect_err("the statements do not go together")
}

/// The number after `words` in a text.
fn number_after(text: &str, words: &str) -> f64 {
    let rest = text.split(words).nth(1).unwrap_or_else(|| panic!("no {words:?} in {text:?}"));
    rest.split_whitespace().next().unwrap().trim_end_matches([',', ';']).parse().unwrap()
}

#[test]
fn an_over_determined_set_is_named_evenly_and_each_value_named_mends_it() {
    // lift + lock is the travel, the same on both pallets: 10 and 9.5.
    let set = [
        ("pallets.entry.lock_deg", 1.5),
        ("pallets.exit.lock_deg", 1.5),
        ("pallets.entry.lift_deg", 8.5),
        ("pallets.exit.lift_deg", 8.0),
    ];
    let found = faults(&stated(&set));
    assert_eq!(found.iter().map(|f| f.code).collect::<Vec<_>>(), ["over-determined"]);
    let message = &found[0].message;
    for (i, (path, edge)) in set.into_iter().enumerate() {
        assert!(message.contains(&format!("{path} = {edge} deg")), "{message}");
        let other = number_after(message, &format!("{path} would have to be "));
        assert!(((other - edge).abs() - 0.5).abs() < 1e-9, "{path}: {message}");
        let mut mended = set;
        mended[i].1 = other;
        assert!(build(&stated(&mended)).is_ok(), "{path} = {other}");
    }
}

#[test]
fn limits_are_limits() {
    let cases: [(&[(&str, f64)], &str); 5] = [
        (&[("roller.safety_radius_mm", 3.0)], "roller.safety_radius_mm"),
        (&[("pallets.entry.drop_deg", 12.0)], "pallets.entry.drop_deg"),
        (&[("centres.wheel_pallet_mm", 9.0)], "centres.wheel_pallet_mm"),
        (&[("centres.wheel_pallet_mm", 9.0), ("pallets.placing_ratio", 0.5)], "centres.wheel_pallet_mm"),
        (&[("pallets.exit.locking_angle_deg", 120.0)], "pallets.exit.locking_angle_deg"),
    ];
    for (changes, path) in cases {
        let id = ParamId::from_path(path).unwrap()[0];
        let v = stated(changes);
        let found = faults(&v);
        let fault = &found[0];
        assert!(fault.about.contains(&id) && fault.message.contains(&format!("{path} = ")), "{fault:?}");
        let hint = fault.hint.as_ref().unwrap();
        let most = number_after(hint, &format!("{path} can be at most "));
        let faults = |edge: f64| {
            let mut v = v.clone();
            v.set(id, id.param().unit.to_si(edge));
            build_tersely(&v).map(|_| ()).err()
        };
        assert_eq!(faults(most), None, "{path} = {most}");
        assert!(faults(most + 1e-3 * most).is_some(), "{path} could go beyond {most}: {hint}");
    }
}

#[test]
fn a_value_derived_out_of_its_range_names_what_it_follows_from() {
    let found = faults(&stated(&[("roller.safety_radius_mm", 3.0)]));
    let ratio = ParamId::from_path("roller.safety_ratio").unwrap()[0];
    let fault = found.iter().find(|f| f.about.contains(&ratio)).unwrap();
    assert_eq!(
        (fault.code, fault.about[0].to_string()),
        ("derived-out-of-range", "roller.safety_radius_mm".to_owned())
    );
    assert_eq!(fault.value.as_deref(), Some("3 mm"));
}

/// A drop that leaves a stone no breadth, width nor face is one fault in one sentence; what to do names both statements,
/// the one that is less far off first.
#[test]
fn values_out_of_range_for_one_cause_are_one_fault() {
    let mut statement = movement::read("demo", include_str!("../../beatwright/demo.toml")).statement;
    statement.set_all(&["pallets.entry.drop_deg=7.5"]).unwrap();
    let v = statement.values;
    let terse = build_tersely(&v).map(|_| ()).unwrap_err();
    assert!(terse.len() > 1 && terse.iter().all(|f| f.code == "derived-out-of-range"), "{terse:?}");
    let found = faults(&v);
    let [fault] = &found[..] else { panic!("{found:#?}") };
    let said = "pallets.entry.drop_deg = 7.5 deg and pallets.placing_ratio = 0.25 do not go together: \
                pallets.entry.breadth_deg would be ";
    assert!(fault.message.starts_with(said), "{}", fault.message);
    assert_eq!((&fault.value, &fault.allowed), (&None, &None));
    let hint = fault.hint.as_ref().unwrap();
    let most = number_after(hint, "pallets.entry.drop_deg can be at most ");
    assert!(most > 0.0 && most < 7.5 && hint.contains("or pallets.placing_ratio can be "), "{hint}");
    // Every value that would be out of its range is among what it is about.
    assert!(terse.iter().all(|f| fault.about.contains(&f.about[0])), "{fault:?}");
}

/// Without the search for limits the same codes come out.
#[test]
fn terse_faults_have_the_same_codes() {
    for changes in [
        &[("roller.safety_radius_mm", 3.0)][..],
        &[("pallets.entry.drop_deg", 12.0)],
        &[("pallets.lock_deg", 1.5), ("pallets.entry.lift_deg", 8.5), ("pallets.exit.lift_deg", 8.0)],
    ] {
        let v = stated(changes);
        let codes = |faults: Vec<Diagnostic>| faults.iter().map(|f| f.code).collect::<BTreeSet<_>>();
        assert_eq!(codes(faults(&v)), codes(build_tersely(&v).map(|_| ()).unwrap_err()));
    }
}

/// What is wrong with the pallets does not hide what is wrong with the fork.
#[test]
fn faults_of_pallets_and_of_fork_are_told_together() {
    let pallets = [
        ("pallets.lock_deg", 1.5),
        ("pallets.lift_deg", 8.5),
        ("pallets.drop_deg", 1.0),
        ("pallets.breadth_deg", 5.0),
        ("pallets.stone_width_mm", 0.5),
    ];
    let fork = [("fork.length_mm", 3.0), ("roller.jewel_distance_mm", 2.0), ("fork.ratio_of_radii", 3.0)];
    let bankings = [("bankings.run_deg", 0.25), ("bankings.lever_angle_deg", 9.0)];
    let of = |parts: &[&[(&str, f64)]]| {
        let found = faults(&stated(&parts.concat()));
        assert!(found.iter().all(|f| !f.message.contains("residual")));
        let first = |table: &str| found.iter().filter(|f| f.about[0].to_string().starts_with(table)).count();
        (found.len(), first("bankings."), first("fork."))
    };
    let alone = of(&[&pallets]);
    assert_eq!(of(&[&pallets, &fork, &bankings]), (alone.0 + 3, 2, 1));
    // Half the travel is 5 deg: the run makes the banking 5.25.
    let found = faults(&stated(&[&pallets[..], &bankings].concat()));
    let told = found.iter().find(|f| f.about[0].to_string() == "bankings.entry.lever_angle_deg").unwrap();
    assert!(told.message.contains("lever_angle_deg would have to be 5.25 deg (off by 3.75 deg)"), "{}", told.message);
    // With no lift stated where the pallets let go is not known: what the fork says of itself is told still.
    let found = faults(&stated(&[&[("centres.wheel_pallet_mm", 9.0)][..], &fork].concat()));
    assert!(
        found.iter().any(|f| f.message.contains("fork.ratio_of_radii would have to be 1.5 (off by 1.50)")),
        "{found:?}"
    );
}

/// The size cannot be left out, so what it makes too small is told with how large it would have to be.
#[test]
fn a_size_that_makes_a_value_too_small_is_named_with_its_limit() {
    let at =
        |teeth: f64, radius_mm: f64| stated(&[("wheel.tooth_count", teeth), ("wheel.locking_radius_mm", radius_mm)]);
    // Pallets over 2.5 of 60 teeth stand close to the wheel: R tan 7.5 deg = 0.026 mm, of at least 0.05.
    let found = faults(&at(60.0, 0.2));
    let of_distance = |f: &&Diagnostic| f.message.starts_with("pallets.entry.locking_distance_mm is not stated");
    let fault = found.iter().find(of_distance).unwrap();
    assert_eq!(fault.code, "derived-out-of-range");
    let least = number_after(fault.hint.as_ref().unwrap(), "wheel.locking_radius_mm = 0.2 mm can be at least ");
    let there = |radius_mm: f64| build(&at(60.0, radius_mm)).err().unwrap_or_default().iter().any(|f| of_distance(&f));
    assert!(!there(least) && there(0.999 * least), "{least}");
    assert!((least - 0.05 / 7.5_f64.to_radians().tan()).abs() < 1e-3, "{least}");
}

/// Two values out of range, each with its own cause: each cause with its limit.
#[test]
fn each_of_two_causes_has_its_limit() {
    let found = faults(&stated(&[("wheel.locking_radius_mm", 0.2), ("pallets.breadth_deg", 0.3)]));
    for pallet in ["entry", "exit"] {
        let path = format!("pallets.{pallet}.breadth_deg");
        let fault = found.iter().find(|f| f.about[0].to_string() == path).unwrap();
        let least = number_after(fault.hint.as_ref().unwrap(), &format!("{path} can be at least "));
        assert!(least > 0.3 && least < 1.5, "{least}");
    }
}
