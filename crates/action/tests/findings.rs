//! Every finding can be brought about by what a person may do to a movement, and is found then. Invented data: the demo
//! movement and changes of it; that each change does what is said follows from the geometry.
#![allow(clippy::unwrap_used)]

use action::{Finding, Gravity, Scratch, findings, solve};
use std::collections::BTreeSet;

const DEMO: &str = include_str!("../../beatwright/demo.toml");

fn found(changes: &str) -> Vec<Finding> {
    let mut statement = movement::read("demo", DEMO).statement;
    let changes: Vec<String> = changes.split_whitespace().map(str::to_owned).collect();
    statement.set_all(&changes).unwrap_or_else(|faults| panic!("{changes:?}: {faults:?}"));
    let build = parts::build(&statement.values).unwrap_or_else(|faults| panic!("{changes:?}: {faults:?}"));
    findings(&build.parts, &solve(&build.parts, &mut Scratch::default()))
}

/// Code, gravity, and a change that brings it about.
const CASES: &[(&str, Gravity, &str)] = &[
    ("no-banking", Gravity::Fault, "bankings.distance_mm=3.2"),
    ("not-stopped", Gravity::Fault, "pallets.exit.stone_spread_mm=0.5"),
    ("stone-out-of-reach", Gravity::Fault, "pallets.entry.stone_out_mm=-0.5"),
    ("no-locking-face", Gravity::Fault, "centres.wheel_pallet_change_mm=0.3"),
    ("no-drop", Gravity::Fault, "pallets.entry.stone_thicker_mm=0.08"),
    ("tooth-passes", Gravity::Fault, "wheel.teeth.3.longer_mm=-0.3"),
    ("tooth-passes", Gravity::Fault, "wheel.teeth.0.longer_mm=-0.3"),
    ("does-not-lock", Gravity::Fault, "pallets.exit.stone_out_mm=-0.06"),
    ("banking-before-let-off", Gravity::Fault, "bankings.exit.open_mm=-0.03"),
    ("in-the-way", Gravity::Fault, "bankings.distance_mm=2.9"),
    (
        "in-the-way",
        Gravity::Fault,
        "lever.line_angle_deg=90 bankings.distance_mm=0.9 bankings.pin_radius_mm=0.4 bankings.form=pins",
    ),
    ("stone-strikes-rim", Gravity::Fault, "wheel.root_radius_mm=2.15"),
    ("lever-over-teeth", Gravity::Caution, "lever.line_angle_deg=130"),
    ("stone-strikes-tooth", Gravity::Fault, "pallets.entry.stone_thicker_mm=0.08"),
    ("jewel-does-not-enter", Gravity::Fault, "bankings.entry.open_mm=0.4"),
    ("jewel-cannot-leave", Gravity::Fault, "bankings.exit.open_mm=-0.03"),
    ("no-freedom", Gravity::Fault, "guard.longer_mm=0.05"),
    ("guard-strikes-in-passing", Gravity::Fault, "roller.crescent_half_angle_deg=4 roller.crescent_depth_mm=0.06"),
    ("guard-strikes-in-passing", Gravity::Fault, "guard.bend_mm=0.06"),
    ("guard-strikes-in-passing", Gravity::Fault, "roller.form=single jewel.out_mm=0.08"),
    ("can-overbank", Gravity::Fault, "fork.horn_length_mm=0.01 guard.longer_mm=-0.1"),
    ("safety-lock-used-up", Gravity::Fault, "fork.longer_mm=-0.1"),
    ("guard-after-horn", Gravity::Caution, "guard.longer_mm=-0.03"),
    ("crescent-not-covered", Gravity::Fault, "guard.longer_mm=-0.05"),
    ("no-draw", Gravity::Fault, "pallets.entry.draw_deg=-3"),
    ("no-draw", Gravity::Fault, "pallets.exit.draw_deg=4"),
    ("banked-to-drop-strikes", Gravity::Caution, "jewel.out_mm=0.1"),
    ("banked-to-drop-guard", Gravity::Caution, "guard.longer_mm=0.05"),
    ("outside-accepted", Gravity::Caution, "bankings.run_deg=0.9"),
    ("outside-accepted", Gravity::Caution, "roller.turn_deg=4"),
    ("outside-accepted", Gravity::Caution, "fork.bend_mm=0.05"),
];

#[test]
fn the_demo_has_none() {
    assert_eq!(found("").iter().map(|f| f.message.as_str()).collect::<Vec<_>>(), Vec::<&str>::new());
}

#[test]
fn each_is_found() {
    let mut missing = Vec::new();
    for (code, gravity, change) in CASES {
        let all = found(change);
        if !all.iter().any(|f| f.code == *code && f.gravity == *gravity) {
            missing.push(format!("{change}: no {code} in {:?}", all.iter().map(|f| &f.message).collect::<Vec<_>>()));
        }
    }
    assert!(missing.is_empty(), "{}", missing.join("\n"));
}

#[test]
fn the_manual_explains_each() {
    let manual = include_str!("../../../docs/manual/figures.md");
    let unexplained: BTreeSet<_> =
        CASES.iter().map(|c| c.0).filter(|code| !manual.contains(&format!("`{code}`"))).collect();
    assert!(unexplained.is_empty(), "{unexplained:?}");
}

#[test]
fn faults_come_before_cautions_and_like_ones_together() {
    for (_, _, change) in CASES {
        let all = found(change);
        assert!(all.windows(2).all(|w| w[0].gravity <= w[1].gravity), "{change}");
        let groups: Vec<&Finding> = all.chunk_by(Finding::is_like).map(|g| &g[0]).collect();
        for (i, a) in groups.iter().enumerate() {
            assert!(groups[i + 1..].iter().all(|b| !a.is_like(b)), "{change}: {}", a.message);
        }
    }
}

/// A figure is outside at one end: only what that end means is said.
#[test]
fn only_the_side_that_applies_is_said() {
    let run = |deg: &str| {
        let all = found(&format!("bankings.run_deg={deg}"));
        all.into_iter().find(|f| f.code == "outside-accepted").map(|f| f.message).unwrap()
    };
    assert!(run("0.9").contains("more unlocking work") && !run("0.9").contains("too"), "{}", run("0.9"));
}

/// A tooth too short to be stopped goes by on both pallets, whichever it is; the others are as they were.
#[test]
fn a_short_tooth_passes_and_is_named() {
    for tooth in [0, 1, 7, 14] {
        let all = found(&format!("wheel.teeth.{tooth}.longer_mm=-0.3"));
        let passing: Vec<_> = all.iter().filter(|f| f.code == "tooth-passes").collect();
        assert!(!passing.is_empty(), "{all:?}");
        assert!(passing.iter().all(|f| f.message.contains(&format!("does not stop tooth {tooth}:"))), "{passing:?}");
        assert!(!all.iter().any(|f| f.code == "does-not-lock"), "{all:?}");
    }
}
