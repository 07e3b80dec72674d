//! Every finding can be brought about by what a person may do to a movement, and is found then. Invented data: the demo
//! movement and changes of it; that each change does what is said follows from the geometry.
#![allow(clippy::unwrap_used)]

use action::{Action, CODES, FigureId, Finding, LIMITS, Scratch, findings, moved_first, solve};
use movement::{Pallet, ParamId, ParamKind, Role, Unit};
use parts::{Build, Parts};
use plane::{Pose, Profile, Vector};
use std::collections::BTreeSet;

const DEMO: &str = include_str!("../../beatwright/demo.toml");

fn found(changes: &str) -> Vec<Finding> {
    solved(changes).2
}

fn solved(changes: &str) -> (Parts, Action, Vec<Finding>) {
    let (build, action, all) = built(changes);
    (build.parts, action, all)
}

fn built(changes: &str) -> (Build, Action, Vec<Finding>) {
    let mut statement = movement::read("demo", DEMO).statement;
    let changes: Vec<String> = changes.split_whitespace().map(str::to_owned).collect();
    statement.set_all(&changes).unwrap_or_else(|faults| panic!("{changes:?}: {faults:?}"));
    let build = parts::build(&statement.values).unwrap_or_else(|faults| panic!("{changes:?}: {faults:?}"));
    let action = solve(&build.parts, &mut Scratch::default());
    let all = findings(&build.parts, &action);
    (build, action, all)
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

/// Moves at the bench by which each parameter is tried: what is wrong with the demo then comes of it.
const MOVES_MM: [f64; 10] = [-0.3, -0.15, -0.06, -0.02, -0.008, 0.008, 0.02, 0.06, 0.15, 0.3];
const MOVES_DEG: [f64; 8] = [-30.0, -12.0, -4.0, -1.5, 1.5, 4.0, 12.0, 30.0];

/// Whatever is moved alone in a sound movement stands first in the list of what moves everything that is found.
#[test]
fn what_was_moved_is_named_first() {
    let demo = movement::read("demo", DEMO).statement;
    let (mut seen, mut wrong) = (BTreeSet::new(), Vec::new());
    let teeth = [ParamKind::ToothLonger.tooth(3), ParamKind::ToothBent.tooth(3)];
    for id in ParamId::dense().chain(teeth).filter(|id| id.param().role == Role::Bench) {
        let moves = if id.param().unit == Unit::Millimetre { &MOVES_MM[..] } else { &MOVES_DEG };
        for by in moves {
            let mut statement = demo.clone();
            if statement.set_value(id, *by).is_err() {
                continue;
            }
            let Ok(build) = parts::build_tersely(&statement.values) else { continue };
            let action = solve(&build.parts, &mut Scratch::default());
            let mut all = findings(&build.parts, &action);
            moved_first(&build.movement, &build.parts, &action, &mut all, &mut Scratch::default());
            for f in &all {
                seen.insert(id);
                if f.moved_by.first() != Some(&id) {
                    wrong.push(format!(
                        "{id}={by}: {} is moved by {:?}",
                        f.message,
                        f.moved_by.first().map(ToString::to_string)
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), seen.len(), wrong.join("\n"));
    assert!(seen.len() > 20, "{seen:?}");
}

/// Of two moves the one from which the finding comes is named first, and one that has nothing to do with it is not.
#[test]
fn of_two_moves_the_cause_is_named() {
    for (changes, found, first, absent) in [
        (
            "bankings.entry.open_mm=0.041 guard.longer_mm=0.002",
            "out of beat",
            "bankings.entry.open_mm",
            "guard.longer_mm",
        ),
        (
            "pallets.entry.stone_out_mm=0.117 jewel.out_mm=0.002",
            "back of the exit stone",
            "pallets.entry.stone_out_mm",
            "jewel.out_mm",
        ),
        (
            "centres.wheel_pallet_change_mm=-0.05 roller.turn_deg=1",
            "exit banking",
            "centres.wheel_pallet_change_mm",
            "roller.turn_deg",
        ),
        (
            "roller.turn_deg=4 pallets.exit.stone_out_mm=0.001",
            "out of beat",
            "roller.turn_deg",
            "pallets.exit.stone_out_mm",
        ),
    ] {
        let (build, action, mut all) = built(changes);
        moved_first(&build.movement, &build.parts, &action, &mut all, &mut Scratch::default());
        let f = all.iter().find(|f| f.message.contains(found)).unwrap_or_else(|| panic!("{changes}: {all:?}"));
        let names: Vec<String> = f.moved_by.iter().map(ToString::to_string).collect();
        assert_eq!(names[0], first, "{changes}: {}", f.message);
        assert!(!names.iter().any(|n| n == absent), "{changes}: {names:?}");
    }
}

/// A movement with nothing stated but its size, where every other dimension can be stated.
const PLAIN: &str = "format = 1\nname = \"plain\"\n[wheel]\ntooth_count = 15\nlocking_radius_mm = 2.5\n";

/// The values stated in `text` with a parameter moved by a part of a tenth of a millimetre, or of 10 deg; or with a
/// dimension or wanted angle another by that part.
fn nudged(text: &str, changes: &str, id: ParamId, part: f64) -> Option<Build> {
    let mut statement = movement::read("nudged", text).statement;
    statement.set_all(&changes.split_whitespace().collect::<Vec<_>>()).unwrap();
    let is = parts::build_tersely(&statement.values).ok()?.movement.get(id)?.0;
    let step = if id.param().unit == Unit::Millimetre { 1e-4 } else { 10_f64.to_radians() };
    let to = if id.param().role == Role::Bench || is == 0.0 { is + part * step } else { is * (1.0 + part) };
    statement.values.set(id, to);
    parts::build_tersely(&statement.values).ok()
}

/// What is listed as moving a figure does: on the demo, or where that leaves no room for it on a plain movement.
#[test]
fn what_is_listed_moves_the_figure() {
    for limit in LIMITS {
        for pallet in Pallet::BOTH {
            let figure = FigureId::from_path(&limit.figure.replace('*', pallet.name())).unwrap();
            for path in limit.moved_by {
                let named = path.replace('*', pallet.name()).replace('^', pallet.other().name());
                let id = ParamId::from_path(&named).unwrap()[0];
                let value = |build: Build| figure.value(&solve(&build.parts, &mut Scratch::default()));
                let moves = |text: &str| {
                    let [is, then] = [0.0, 0.02].map(|part| nudged(text, "", id, part).and_then(value));
                    is.zip(then).is_some_and(|(is, then)| (then - is).abs() > 1e-7)
                };
                assert!([DEMO, PLAIN].into_iter().any(moves), "{figure} is not moved by {id}");
            }
        }
    }
}

/// A move that is listed with a code moves it in one of its cases at least: a step of it, one way or the other, makes the
/// finding another, or mends it.
#[test]
fn what_is_listed_moves_the_finding() {
    let (mut listed, mut moving) = (BTreeSet::new(), BTreeSet::new());
    for change in CASES.iter().map(|c| c.2) {
        for f in found(change) {
            for id in f.moved_by.iter().filter(|id| id.param().role == Role::Bench) {
                let row = (f.code, id.param().path);
                listed.insert(row);
                let same = |g: &&Finding| (g.code, g.pallet, g.figure) == (f.code, f.pallet, f.figure);
                let moves = |part: f64| {
                    nudged(DEMO, change, *id, part).is_some_and(|build| {
                        let all = findings(&build.parts, &solve(&build.parts, &mut Scratch::default()));
                        all.iter().find(same).is_none_or(|g| g.message != f.message)
                    })
                };
                let steps = [0.02, 0.1, 0.5, 2.0, 4.0];
                if !moving.contains(&row) && steps.into_iter().flat_map(|part| [part, -part]).any(moves) {
                    moving.insert(row);
                }
            }
        }
    }
    assert_eq!(listed, moving);
    assert!(listed.len() > 30, "{listed:?}");
}
