//! The oscillation turned through by hand: it runs on without a jump, shows what the action says, and where it stops, parts
//! meet: by their outlines, which the action does not use.
#![allow(clippy::unwrap_used)]

#[path = "../../plane/tests/support/cases.rs"]
mod cases;
#[path = "support/random.rs"]
mod random;

use action::{
    Action, Finding, Halt, Instant, Phase, Scratch, Shock, Turned, findings, moment_at, oscillation, solve, struck,
};
use cases::cases;
use movement::{Pallet, Values};
use parts::{Build, Parts};
use plane::{Pose, Profile};
use proptest::prelude::*;
use random::{bench, move_at_bench, wanted};

const DEMO: &str = include_str!("../../beatwright/demo.toml");
const EXTREME_RAD: f64 = 2.5;
/// A hair of an angle, radians: parts that touch overlap when turned so much farther, and are clear when turned back.
const HAIR_RAD: f64 = 1e-6;

fn checked(v: &Values) -> Result<bool, TestCaseError> {
    let Ok(build) = parts::build(v) else { return Ok(false) };
    let mut scratch = Scratch::default();
    let action = solve(&build.parts, &mut scratch);
    let turned = oscillation(&build.parts, &action, 0, EXTREME_RAD, &mut scratch);
    if turned.stop.is_some() {
        return Ok(false);
    }
    let all = &turned.instants;
    // Each angle moves by no more than its steps: the largest of lever and wheel are those of lift and drop.
    for w in all.windows(2) {
        prop_assert!((w[1].lever_rad - w[0].lever_rad).abs() < 0.02, "{w:?}");
        // Near a contact without an arm the wheel runs far for little of the lever.
        prop_assert!((w[1].wheel_rad - w[0].wheel_rad).abs() < 0.1, "{w:?}");
        prop_assert!((w[1].jewel_rad - w[0].jewel_rad).abs() < 0.15, "{w:?}");
    }
    // After one oscillation the wheel has gone on by one pitch and all else stands as before.
    let (a, z) = (all.first().unwrap(), all.last().unwrap());
    prop_assert!((a.wheel_rad - z.wheel_rad - build.parts.wheel.pitch_rad()).abs() < 1e-9);
    prop_assert!((a.lever_rad - z.lever_rad).abs() < 1e-9 && (a.jewel_rad - z.jewel_rad).abs() < 1e-9);
    // Its phases begin and end at the angles of the action.
    for (i, beat) in action.beats.iter().enumerate() {
        let of = |phase: Phase| all.iter().filter(move |x| x.pallet == beat.pallet && x.phase == phase);
        prop_assert_eq!(of(Phase::Unlocking).next_back().unwrap().lever_rad, beat.unlocking.lever_rad);
        let lifts = of(Phase::ImpulseOnStone).chain(of(Phase::ImpulseOnTooth));
        let last = lifts.last().unwrap();
        prop_assert!((last.lever_rad - beat.let_off.lever_rad).abs() < 1e-12);
        prop_assert!((last.jewel_rad - action.fork[i].releasing_rad.unwrap()).abs() < 1e-9);
        let drop: Vec<_> = of(Phase::Drop).collect();
        prop_assert!((drop[0].wheel_rad - drop[drop.len() - 1].wheel_rad - beat.drop_rad).abs() < 1e-9);
    }
    // Five shocks a beat, each where one phase goes over into another.
    prop_assert_eq!(turned.shocks.len(), 2 * Shock::ALL.len());
    let starts = [Phase::Unlocking, Phase::Catch, Phase::ImpulseOnStone, Phase::Run, Phase::FreeOut];
    for (k, (at, shock)) in turned.shocks.iter().enumerate() {
        prop_assert_eq!(*shock, Shock::ALL[k % 5]);
        let (before, after) = (&all[*at], &all[at + 1]);
        let lifted = after.phase == Phase::ImpulseOnTooth && *shock == Shock::NotchCatchesJewel;
        prop_assert!(before.phase != after.phase && (after.phase == starts[k % 5] || lifted), "{shock:?}: {after:?}");
    }
    Ok(true)
}

/// Faults that stop the hand.
const STOPPING: [&str; 9] = [
    "no-drop",
    "does-not-lock",
    "banking-before-let-off",
    "jewel-does-not-enter",
    "jewel-slips",
    "jewel-cannot-leave",
    "not-stopped",
    "stone-out-of-reach",
    "no-locking-face",
];

fn turned(v: &Values) -> Option<(Build, Action, Turned, Vec<Finding>)> {
    let build = parts::build(v).ok()?;
    let mut scratch = Scratch::default();
    let action = solve(&build.parts, &mut scratch);
    let turned = oscillation(&build.parts, &action, 0, EXTREME_RAD, &mut scratch);
    let found = findings(&build.parts, &action);
    Some((build, action, turned, found))
}

/// A movement moved far at the bench: it is turned to where a fault stops it, and to the end where none does.
fn stopped(v: &Values) -> Result<(), TestCaseError> {
    let Some((_, action, turned, found)) = turned(v) else {
        return Err(TestCaseError::reject("not built"));
    };
    let faults: Vec<&str> = found.iter().map(|f| f.code).filter(|code| STOPPING.contains(code)).collect();
    match &turned.stop {
        None => prop_assert!(faults.is_empty(), "turned to the end past {faults:?}"),
        Some(stop) => {
            // Its cause is one of the findings, in the same words, and one that stops the hand.
            let cause = stop.cause.as_ref().filter(|c| found.iter().any(|f| f.message == c.message));
            prop_assert!(cause.is_some_and(|c| STOPPING.contains(&c.code)), "{stop:?} without a cause in {faults:?}");
            prop_assert_eq!(stop.to_string(), cause.unwrap().message.clone());
        }
    }
    for w in turned.instants.windows(2) {
        prop_assert!((w[1].lever_rad - w[0].lever_rad).abs() < 0.05, "{w:?}");
    }
    let [entry, exit] = [action.bankings_rad.entry, action.bankings_rad.exit].map(|b| b.unwrap_or(0.0));
    for rear in action.rear.iter().flatten() {
        prop_assert!(
            (entry.min(exit) - 1e-8..=entry.max(exit) + 1e-8).contains(&rear.lever_rad),
            "{rear:?}, bankings {entry} {exit}"
        );
    }
    let at = turned.stop.as_ref().map(|stop| stop.at);
    if let (Some(Halt::OnBanking { banking }), Some(last)) = (at, turned.instants.last()) {
        prop_assert!((last.lever_rad - action.bankings_rad[banking].unwrap()).abs() < 1e-12);
    }
    Ok(())
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn it_runs_on_and_agrees_with_the_action(w in wanted()) {
        if !checked(&w.values())? {
            return Err(TestCaseError::reject("not turned through"));
        }
    }

    #[test]
    fn it_stops_at_a_fault_and_nowhere_else(w in wanted(), moves in bench(), far in 1.0..6.0f64) {
        let mut v = w.values();
        let moves = moves.iter().map(|m| m * far).collect();
        move_at_bench(&mut v, &moves, w.radius_mm * 1e-3);
        stopped(&v)?;
    }
}

fn demo(changes: &str) -> (Build, Action, Turned, Vec<Finding>) {
    let mut statement = movement::read("demo", DEMO).statement;
    let changes: Vec<String> = changes.split_whitespace().map(str::to_owned).collect();
    statement.set_all(&changes).unwrap();
    turned(&statement.values).unwrap()
}

fn fork(parts: &Parts, lever_rad: f64) -> Profile {
    parts.lever.fork.profile.posed(&parts.lever_pose(lever_rad))
}

fn jewel(parts: &Parts, jewel_rad: f64) -> Profile {
    parts.roller.jewel.profile.posed(&parts.roller_pose(jewel_rad))
}

/// Whether a stone and any tooth overlap.
fn in_wheel(parts: &Parts, pallet: Pallet, lever_rad: f64, wheel_rad: f64) -> bool {
    let stone = parts.lever.stones[pallet].body.profile.posed(&parts.lever_pose(lever_rad));
    parts.wheel.outline().posed(&Pose::new(wheel_rad, parts.centres.wheel_m)).overlaps(&stone)
}

/// Whether, a hair from the last instant, what stopped it overlaps; farther on for a positive hair.
fn met(parts: &Parts, action: &Action, last: &Instant, stop: Halt, hair_rad: f64) -> bool {
    let outward = last.pallet.outward();
    match stop {
        Halt::OnBanking { banking } => {
            fork(parts, last.lever_rad + outward * hair_rad).overlaps(&parts.bankings[banking].profile)
        }
        Halt::WheelJams { pallet } => {
            let own = action.of(pallet).next().unwrap();
            let at = moment_at(parts, own, last.lever_rad + outward * hair_rad, &mut Scratch::default()).unwrap();
            // The angle runs on from beat to beat by whole pitches, which leave the wheel as it is.
            in_wheel(parts, pallet.other(), at.lever_rad, at.wheel_rad)
        }
        Halt::NotLocked { pallet, .. } => in_wheel(parts, pallet, last.lever_rad, last.wheel_rad - hair_rad),
        Halt::JewelMeets { .. } | Halt::JewelHeld { .. } => {
            fork(parts, last.lever_rad).overlaps(&jewel(parts, last.jewel_rad - outward * hair_rad))
        }
        other => panic!("{other:?} is no touch"),
    }
}

/// Changes of the demo movement, what stops it, and the phase that is stopped. Invented.
const STOPS: &[(&str, &str, Pallet, Phase)] = &[
    ("bankings.exit.open_mm=-0.02", "lever on banking", Pallet::Entry, Phase::ImpulseOnTooth),
    ("bankings.entry.open_mm=-0.02", "lever on banking", Pallet::Exit, Phase::ImpulseOnTooth),
    ("pallets.entry.stone_thicker_mm=0.08 bankings.open_mm=0.08", "wheel jams", Pallet::Entry, Phase::ImpulseOnTooth),
    ("pallets.exit.stone_thicker_mm=0.08 bankings.open_mm=0.08", "wheel jams", Pallet::Exit, Phase::ImpulseOnTooth),
    ("pallets.exit.stone_out_mm=-0.06", "not locked", Pallet::Entry, Phase::Drop),
    ("pallets.entry.stone_out_mm=-0.06", "not locked", Pallet::Exit, Phase::Drop),
    ("fork.longer_mm=0.05", "jewel does not enter", Pallet::Entry, Phase::FreeIn),
    ("bankings.open_mm=0.3", "jewel does not enter", Pallet::Entry, Phase::FreeIn),
    ("jewel.out_mm=0.04 bankings.entry.open_mm=0.06", "jewel cannot leave", Pallet::Entry, Phase::FreeOut),
];

#[test]
fn where_it_stops_parts_meet_by_their_outlines() {
    let mut wrong = Vec::new();
    for (change, name, pallet, phase) in STOPS {
        let (build, action, turned, _) = demo(change);
        let (Some(stop), Some(last)) = (&turned.stop, turned.instants.last()) else {
            wrong.push(format!("{change}: {:?}, {} instants", turned.stop, turned.instants.len()));
            continue;
        };
        let told = format!("{change}: {stop:?} in {:?} of {:?}", last.phase, last.pallet);
        if (stop.name(), last.pallet, last.phase) != (*name, *pallet, *phase) {
            wrong.push(told);
        } else if !met(&build.parts, &action, last, stop.at, HAIR_RAD) {
            wrong.push(format!("{told}: a hair farther nothing overlaps"));
        } else if met(&build.parts, &action, last, stop.at, -HAIR_RAD) {
            wrong.push(format!("{told}: a hair before it overlaps already"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What it stops at, the list of findings and the figures say one thing.
#[test]
fn the_cause_of_a_stop_is_one_of_the_findings() {
    for (change, code) in [
        ("bankings.open_mm=-0.2", "banking-before-let-off"),
        ("pallets.stone_out_mm=0.3", "jewel-slips"),
        ("pallets.entry.stone_out_mm=0.206", "jewel-slips"),
        ("pallets.entry.stone_out_mm=0.117", "banking-before-let-off"),
        ("pallets.exit.stone_spread_mm=0.5", "not-stopped"),
        ("bankings.distance_mm=3.2", "no-banking"),
    ] {
        let (_, action, turned, found) = demo(change);
        let stop = turned.stop.unwrap();
        let cause = stop.cause.as_ref().unwrap();
        assert_eq!(cause.code, code, "{change}: {stop}");
        // It is the first of the list.
        assert_eq!((&cause.message, stop.to_string()), (&found[0].message, found[0].message.clone()), "{change}");
        if let (Halt::JewelSlips { .. }, Some(last)) = (stop.at, turned.instants.last()) {
            let said = format!("lever at {:.2} deg", last.lever_rad.to_degrees());
            assert!(cause.message.contains(&said), "{change}: {said}: {}", cause.message);
        }
        assert!(action.broken.is_some() || !turned.instants.is_empty() || code == "banking-before-let-off");
    }
}

#[test]
fn a_jewel_that_passes_touches_nothing_and_a_wheel_that_runs_is_let_go() {
    let (build, _, turned, _) = demo("bankings.entry.open_mm=0.4");
    assert_eq!(turned.stop.unwrap().at, Halt::JewelPasses { pallet: Pallet::Entry });
    let clear = |at: &Instant| !fork(&build.parts, at.lever_rad).overlaps(&jewel(&build.parts, at.jewel_rad));
    assert!(turned.instants.iter().all(clear));
    let swept = turned.instants.last().unwrap().jewel_rad - turned.instants[0].jewel_rad;
    assert!((swept.abs() - 2.0 * EXTREME_RAD).abs() < 1e-12);

    let (build, _, turned, _) = demo("pallets.entry.stone_out_mm=-0.5");
    assert_eq!(turned.stop.unwrap().name(), "stone out of reach");
    let last = turned.instants.last().unwrap();
    assert_eq!((last.pallet, last.phase), (Pallet::Exit, Phase::ImpulseOnTooth));
    let on = last.lever_rad + Pallet::Exit.outward() * HAIR_RAD;
    let passing = |i: i32| in_wheel(&build.parts, Pallet::Exit, on, last.wheel_rad - f64::from(i) * 1e-3);
    assert!(!(0..20).any(passing), "the stone lets the tooth go by");
}

/// Overlaps found instant by instant lie where the fault says that it begins.
#[test]
fn a_fault_of_overlapping_parts_holds_over_a_stretch() {
    let (build, _, turned, found) = demo("guard.bend_mm=0.06");
    let guard = found.iter().find(|f| f.code == "guard-strikes-crescent").unwrap();
    let held = struck(&build.parts, guard, &turned.instants);
    assert_eq!(held.len(), 1);
    let begins_deg = turned.instants[held[0].start].lever_rad.to_degrees();
    let said: f64 = guard.message.split("lever at ").nth(1).unwrap().trim_end_matches(" deg").parse().unwrap();
    // The fault is looked for at lever angles a quarter of a degree apart.
    assert!((begins_deg - said).abs() < 0.3, "{begins_deg} {said}");
    for fault in &found {
        assert!(struck(&build.parts, fault, &[]).is_empty());
    }
    let (build, _, turned, found) = demo("wheel.root_radius_mm=2.15");
    let rim = found.iter().find(|f| f.code == "stone-strikes-rim").unwrap();
    assert!(!struck(&build.parts, rim, &turned.instants).is_empty());
}
