//! Every finding can be brought about by what a person may do to a movement, and is found then. Invented data: the demo
//! movement and changes of it; that each change does what is said follows from the geometry.
#![allow(clippy::unwrap_used)]

use action::{Action, CODES, FigureId, Finding, Scratch, findings, solve};
use movement::Pallet;
use parts::Parts;
use plane::{Pose, Profile, Vector};
use std::collections::BTreeSet;

const DEMO: &str = include_str!("../../beatwright/demo.toml");

fn found(changes: &str) -> Vec<Finding> {
    solved(changes).2
}

fn solved(changes: &str) -> (Parts, Action, Vec<Finding>) {
    let mut statement = movement::read("demo", DEMO).statement;
    let changes: Vec<String> = changes.split_whitespace().map(str::to_owned).collect();
    statement.set_all(&changes).unwrap_or_else(|faults| panic!("{changes:?}: {faults:?}"));
    let build = parts::build(&statement.values).unwrap_or_else(|faults| panic!("{changes:?}: {faults:?}"));
    let action = solve(&build.parts, &mut Scratch::default());
    let all = findings(&build.parts, &action);
    (build.parts, action, all)
}

/// Code, a word of its message, a change of the demo that brings it about, and the nearest one tried that does not.
const CASES: &[(&str, &str, &str, &str)] = &[
    ("no-banking", "within 60 deg", "bankings.distance_mm=3.2", "bankings.distance_mm=1.7"),
    ("not-stopped", "it runs", "pallets.exit.stone_spread_mm=0.5", "pallets.exit.stone_spread_mm=0.01"),
    ("stone-out-of-reach", "entry stone", "pallets.entry.stone_out_mm=-0.5", "pallets.entry.stone_out_mm=-0.06"),
    ("no-locking-face", "exit stone", "centres.wheel_pallet_change_mm=0.3", "centres.wheel_pallet_change_mm=0.06"),
    (
        "no-drop",
        "jams",
        "pallets.entry.stone_thicker_mm=0.08 bankings.open_mm=0.08",
        "pallets.entry.stone_thicker_mm=0.08",
    ),
    ("no-drop", "jams", "pallets.drop_deg=0", "pallets.drop_deg=0.001"),
    ("tooth-passes", "tooth 3:", "wheel.teeth.3.longer_mm=-0.3", "wheel.teeth.3.longer_mm=-0.02"),
    ("tooth-passes", "tooth 0:", "wheel.teeth.0.longer_mm=-0.3", "wheel.teeth.0.longer_mm=-0.02"),
    ("tooth-passes", "tooth 3:", "wheel.teeth.3.longer_mm=-0.3 wheel.teeth.4.bent_deg=-2", "wheel.teeth.4.bent_deg=-1"),
    ("does-not-lock", "impulse face", "pallets.exit.stone_out_mm=-0.06", "pallets.exit.stone_out_mm=-0.03"),
    ("does-not-lock", "does not lock: the tooth", "pallets.lock_deg=0", "pallets.lock_deg=0.001"),
    ("banking-before-let-off", "exit banking", "bankings.exit.open_mm=-0.03", "bankings.exit.open_mm=-0.005"),
    ("stone-strikes-banking", "entry stone", SIDE_LEVER, "lever.line_angle_deg=45"),
    ("banking-in-teeth", "circle of the teeth", SIDE_LEVER, "lever.line_angle_deg=90"),
    ("banking-in-jewels-way", "circle of the jewel", "bankings.distance_mm=2.9", "bankings.distance_mm=1.7"),
    ("stone-strikes-rim", "rim", "wheel.root_radius_mm=2.15", "wheel.root_radius_mm=2.0"),
    ("lever-over-teeth", "over the teeth", "lever.line_angle_deg=130", "lever.line_angle_deg=90"),
    (
        "stone-strikes-tooth",
        "entry stone",
        "pallets.entry.stone_thicker_mm=0.08",
        "pallets.entry.stone_thicker_mm=0.02",
    ),
    ("notch-too-shallow", "floor", "fork.notch_depth_mm=0.05", "fork.notch_depth_mm=0.2"),
    ("notch-too-narrow", "no freedom", "fork.notch_freedom_mm=0", "pivots.balance_across_mm=0.02"),
    ("jewel-does-not-enter", "nothing of the fork", "bankings.entry.open_mm=0.4", "bankings.entry.open_mm=0.01"),
    ("jewel-does-not-enter", "the horn", "bankings.open_mm=0.3", "bankings.open_mm=0.01"),
    (
        "jewel-slips",
        "before the tooth is unlocked",
        "pallets.entry.stone_out_mm=0.206",
        "pallets.entry.stone_out_mm=0.117",
    ),
    ("jewel-slips", "before the tooth is unlocked", "pallets.stone_out_mm=0.3", "pallets.stone_out_mm=0.15"),
    ("jewel-cannot-leave", "notch wall", "bankings.exit.open_mm=-0.03", "bankings.exit.open_mm=-0.005"),
    ("rests-outside-notch", "does not start", "roller.turn_deg=30", "roller.turn_deg=20"),
    ("no-freedom", "guard presses", "guard.longer_mm=0.05", "guard.longer_mm=0.03"),
    ("no-freedom", "guard presses", "guard.freedom_deg=0", "guard.freedom_deg=0.001"),
    (
        "no-freedom",
        "horn presses",
        "fork.horn_freedom_deg=0 guard.freedom_deg=0",
        "fork.horn_freedom_deg=0.001 guard.freedom_deg=0.0005",
    ),
    (
        "guard-strikes-crescent",
        "entry side",
        "roller.crescent_half_angle_deg=4 roller.crescent_depth_mm=0.06",
        "guard.longer_mm=0.01",
    ),
    ("guard-strikes-crescent", "entry side", "guard.bend_mm=0.06", "guard.bend_mm=0.005"),
    ("guard-strikes-jewel", "jewel in passing", "roller.form=single jewel.out_mm=0.08", "roller.form=single"),
    ("can-overbank", "wrong side", "fork.horn_length_mm=0.01 guard.longer_mm=-0.1", "guard.longer_mm=-0.01"),
    ("safety-lock-used-up", "horn freedom", "fork.longer_mm=-0.1", "fork.longer_mm=-0.01"),
    ("guard-after-horn", "not smaller than horn", "guard.longer_mm=-0.03", "guard.longer_mm=-0.01"),
    (
        "guard-after-horn",
        "not smaller than horn",
        "guard.freedom_deg=0.1 fork.horn_freedom_deg=0.1",
        "guard.freedom_deg=0.1 fork.horn_freedom_deg=0.11",
    ),
    ("crescent-not-covered", "crescent's edge", "guard.longer_mm=-0.05", "guard.longer_mm=-0.01"),
    (
        "crescent-not-covered",
        "(tooth 5)",
        "wheel.teeth.5.longer_mm=-0.008 fork.horn_length_mm=0.075",
        "fork.horn_length_mm=0.12",
    ),
    ("no-draw", "locking corner", "pallets.exit.draw_deg=-3", "pallets.entry.draw_deg=10"),
    ("no-draw", "on its banking", "pallets.draw_deg=7 pallets.lock_deg=3", "pallets.draw_deg=10 pallets.lock_deg=3"),
    ("banked-to-drop", "jewel strikes", "jewel.out_mm=0.1", "jewel.out_mm=0.005"),
    ("banked-to-drop", "guard presses", "guard.longer_mm=0.05", "guard.longer_mm=0.01"),
    ("banked-to-drop", "guard presses", "wheel.eccentricity_mm=0.015", "wheel.eccentricity_mm=0.001"),
    ("outside-accepted", "run is", "bankings.run_deg=0.9", "bankings.run_deg=0.75"),
    ("outside-accepted", "out of beat", "roller.turn_deg=4", "roller.turn_deg=2"),
    ("outside-accepted", "out of angle", "fork.bend_mm=0.03", "fork.bend_mm=0.01"),
];

/// A side lever with thick pins beside the stones.
const SIDE_LEVER: &str =
    "lever.line_angle_deg=90 bankings.distance_mm=0.9 bankings.pin_radius_mm=0.4 bankings.form=pins";

#[test]
fn the_demo_has_none() {
    assert_eq!(found("").iter().map(|f| f.message.as_str()).collect::<Vec<_>>(), Vec::<&str>::new());
}

#[test]
fn each_is_found_where_it_is_and_not_beside() {
    let mut wrong = Vec::new();
    for (code, word, change, beside) in CASES {
        let has = |change: &str| {
            let all = found(change);
            let told: Vec<String> = all.iter().map(|f| format!("{}: {}", f.code, f.message)).collect();
            (all.iter().any(|f| f.code == *code && f.message.contains(word)), told)
        };
        let (here, told) = has(change);
        if !here {
            wrong.push(format!("{change}: no {code} ({word}) in {told:?}"));
        }
        let (there, told) = has(beside);
        if there {
            wrong.push(format!("{beside}: {code} in {told:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A stone that never lets go needs a tooth without an end, a tooth that falls in its lift a face with a step: no change
/// of the demo has come upon either.
const WITHOUT_CASE: [&str; 2] = ["no-let-off", "falls-in-lift"];

#[test]
fn every_code_has_a_case() {
    let cases: BTreeSet<_> = CASES.iter().map(|c| c.0).filter(|c| *c != "outside-accepted").collect();
    let codes: BTreeSet<_> = CODES.iter().map(|(code, _)| *code).filter(|c| !WITHOUT_CASE.contains(c)).collect();
    assert_eq!(cases, codes);
}

/// Nothing is found where the lever cannot go: at an angle beyond the bankings as they are set.
#[test]
fn lever_angles_found_lie_between_the_bankings() {
    let far = ["centres.wheel_pallet_change_mm=-0.15", "pallets.stone_out_mm=0.15", "pallets.entry.stone_out_mm=0.117"];
    let mut seen = 0;
    for change in CASES.iter().map(|c| c.2).chain(far) {
        let (_, action, all) = solved(change);
        let (Some(entry), Some(exit)) = (action.bankings_rad.entry, action.bankings_rad.exit) else { continue };
        let bankings = entry.min(exit).to_degrees() - 0.005..=entry.max(exit).to_degrees() + 0.005;
        for f in &all {
            let Some(said) = f.message.split("lever at ").nth(1) else { continue };
            let at: f64 = said.split(" deg").next().unwrap().parse().unwrap();
            assert!(bankings.contains(&at), "{change}: {}, bankings at {bankings:?}", f.message);
            seen += 1;
        }
    }
    assert!(seen > 10);
}

/// Where the lever meets its banking before the drop, that is found, and no fault with a lock or drop that does not come
/// about; the figures add up all the same.
#[test]
fn without_a_drop_nothing_is_said_of_the_lock() {
    for change in ["pallets.entry.stone_out_mm=0.117", "bankings.open_mm=-0.2"] {
        let (_, action, all) = solved(change);
        let figure = |path: &str| FigureId::from_path(path).unwrap().value(&action).unwrap();
        let total_rad = figure("exit.lock_deg") + figure("exit.run_deg");
        assert!(figure("exit.run_deg") < 0.0 && (total_rad - figure("exit.total_lock_deg")).abs() < 1e-12);
        assert!(all.iter().any(|f| f.code == "banking-before-let-off" && f.pallet == Some(Pallet::Exit)), "{all:?}");
        let idle = ["exit lock", "exit does not lock", "entry drop", "entry balance lift"];
        assert!(!all.iter().any(|f| idle.iter().any(|words| f.message.starts_with(words))), "{all:?}");
    }
}

/// Knocking is where the jewel, having come round, meets the fork from outside: on both outlines, away from the stones.
#[test]
fn knocking_is_where_the_jewel_strikes_the_fork() {
    let (parts, action, all) = solved("bankings.open_mm=-0.2");
    let knocking: Vec<_> = all.iter().filter(|f| f.message.contains("knocking")).collect();
    assert_eq!(knocking.len(), 2);
    for f in knocking {
        let (pallet, place) = (f.pallet.unwrap(), f.place_m.unwrap());
        let lever = parts.lever_pose(action.bankings_rad[pallet].unwrap());
        let jewel = parts.roller_pose(pallet.outward() * f.found.unwrap());
        let off = |outline: &Profile, pose: &Pose| {
            let at = pose.back(place);
            outline
                .edges
                .iter()
                .map(|e| (0..=4000).map(|i| (e.at(f64::from(i) / 4e3) - at).norm()).fold(1.0, f64::min))
                .fold(1.0, f64::min)
        };
        assert!(off(&parts.lever.fork.profile, &lever) < 2e-7, "{:?}", off(&parts.lever.fork.profile, &lever));
        assert!(off(&parts.roller.jewel.profile, &jewel) < 2e-7, "{:?}", off(&parts.roller.jewel.profile, &jewel));
    }
}

/// Every finding has a place, near the part it is about.
#[test]
fn every_finding_has_a_place() {
    for change in CASES.iter().map(|c| c.2) {
        let (parts, _, all) = solved(change);
        let near_m = |f: &Finding, at: Vector| (f.place_m.unwrap_or_else(|| panic!("{}", f.message)) - at).norm();
        for f in &all {
            let pallets_m = parts.centres.pallet_m;
            let of_fork = ["jewel", "notch", "horn", "guard", "knocking", "overbank", "crescent"];
            if of_fork.iter().any(|word| f.code.contains(word)) && !f.code.starts_with("banking") {
                assert!(near_m(f, parts.centres.balance_m) < near_m(f, pallets_m), "{change}: {}", f.message);
            } else if f.code.starts_with("stone") || f.message.contains(" lock is") || f.message.contains(" drop is") {
                assert!(near_m(f, pallets_m) < near_m(f, parts.centres.balance_m), "{change}: {}", f.message);
            }
        }
    }
}

#[test]
fn faults_come_before_cautions_and_like_ones_together() {
    for (_, _, change, _) in CASES {
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

/// Two short teeth are two findings on each pallet, each by its own name.
#[test]
fn every_tooth_that_passes_is_named() {
    let all = found("wheel.teeth.3.longer_mm=-0.3 wheel.teeth.8.longer_mm=-0.3");
    let passing: BTreeSet<_> = all.iter().filter(|f| f.code == "tooth-passes").map(|f| f.tooth).collect();
    assert_eq!(passing, BTreeSet::from([Some(3), Some(8)]));
}

/// Banked to drop is what bankings closed to the drop show: measured on such ones, by contact.
#[test]
fn banked_to_drop_is_the_action_with_the_bankings_closed() {
    let solved = |changes: &str| {
        let mut statement = movement::read("demo", DEMO).statement;
        let changes: Vec<String> = changes.split_whitespace().map(str::to_owned).collect();
        statement.set_all(&changes).unwrap();
        solve(&parts::build(&statement.values).unwrap().parts, &mut Scratch::default())
    };
    // Bankings closed a little less than to the drop: the guard and the horn stay what they are.
    let open = solved("");
    let closed = solved("bankings.open_mm=-0.003");
    for (a, b) in open.fork.iter().zip(&closed.fork) {
        let closed_by_rad = open.beats[0].run_rad - closed.beats[0].run_rad;
        assert!(closed_by_rad > 0.0 && closed.beats[0].run_rad > 0.0);
        // The same lever angles at which guard and horn touch.
        let guard = a.guard_freedom_rad.unwrap() - b.guard_freedom_rad.unwrap();
        let horn = a.horn_freedom_rad.unwrap() - b.horn_freedom_rad.unwrap();
        assert!((guard - closed_by_rad).abs() < 1e-9, "{guard} {closed_by_rad}");
        assert!((horn - closed_by_rad).abs() < 1e-4, "{horn} {closed_by_rad}");
        let drop = |f: &action::ForkAction| f.banked_to_drop.guard_freedom_rad.unwrap();
        assert!((drop(a) - drop(b)).abs() < 1e-9);
    }
}
