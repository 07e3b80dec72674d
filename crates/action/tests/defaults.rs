//! Defaults fit what is stated: with a few things stated and the rest left to follow, the escapement is sound, and the
//! guard passes the crescent. The demo movement (invented) and the examples of the 1904 handbook.
#![allow(clippy::unwrap_used)]

use action::{FigureId, Gravity, Scratch, findings, moment_at, solve};
use movement::{Diagnostic, Pallet, ParamKind as K, Statement};
use std::path::Path;

fn read(path: &str) -> Statement {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(path);
    let reading = movement::read("example", &std::fs::read_to_string(path).unwrap());
    assert!(reading.diagnostics.is_empty(), "{:#?}", reading.diagnostics);
    reading.statement
}

fn examples() -> [(&'static str, Statement); 4] {
    [
        ("demo", read("crates/beatwright/demo.toml")),
        ("circular", read("examples/handbook-1904-circular.toml")),
        ("equidistant", read("examples/handbook-1904-equidistant.toml")),
        ("perfected", read("examples/handbook-1904-perfected.toml")),
    ]
}

fn with(statement: &Statement, changes: &[&str]) -> Statement {
    let mut statement = statement.clone();
    let changes: Vec<String> = changes.iter().filter(|c| !c.is_empty()).map(|c| (*c).to_owned()).collect();
    statement.set_all(&changes).unwrap();
    statement
}

/// What an example says of fork, guard and roller in millimetres and ratios taken out, to be filled by defaults.
fn without_fork(statement: &Statement) -> Statement {
    let mut statement = statement.clone();
    for kind in [
        K::RollerForm,
        K::RollerSafetyRatio,
        K::RollerCrescent,
        K::RollerJewelDistance,
        K::BalanceLift,
        K::BalanceLiftOfRadii,
        K::ForkHornLength,
        K::JewelWidthAngle,
    ] {
        statement.values.remove(kind.once());
    }
    statement
}

/// Everything that is wrong, in words; empty when the escapement is sound.
fn wrong(statement: &Statement) -> Vec<String> {
    let build = match parts::build(&statement.values) {
        Ok(build) => build,
        Err(faults) => return faults.into_iter().map(|d| format!("{}: {}", d.code, d.message)).collect(),
    };
    let (parts, scratch) = (&build.parts, &mut Scratch::default());
    let action = solve(parts, scratch);
    let mut wrong: Vec<String> = findings(parts, &action)
        .into_iter()
        .filter(|f| f.gravity == Gravity::Fault)
        .map(|f| format!("{}: {}", f.code, f.message))
        .collect();
    for own in &action.beats {
        let overlap = FigureId::from_path(&format!("{}.hold_overlap_deg", own.pallet.name())).unwrap();
        if overlap.value(&action).is_none_or(|o| o <= 0.0) {
            wrong.push(format!("{overlap} is {:?}", overlap.value(&action)));
        }
        // From the banking to the let-off the jewel is in the notch, and the guard in or before the crescent.
        const STEPS: u32 = 24;
        for step in 0..=STEPS {
            let part = f64::from(step) / f64::from(STEPS);
            let lever_rad = own.banking_rad + part * (own.let_off.lever_rad - own.banking_rad);
            let Some(moment) = moment_at(parts, own, lever_rad, scratch) else {
                wrong.push(format!("no moment with the lever at {lever_rad}"));
                continue;
            };
            let guard = parts.lever.guard.profile.posed(&parts.lever_pose(lever_rad));
            let roller = parts.roller_pose(moment.jewel_rad);
            if guard.overlaps(&parts.roller.safety.profile.posed(&roller)) {
                wrong.push(format!("the guard strikes the crescent, lever at {:.2} deg", lever_rad.to_degrees()));
            }
            if build.movement.word(K::GuardForm) == "pin" && guard.overlaps(&parts.roller.jewel.profile.posed(&roller))
            {
                wrong.push(format!("the pin strikes the jewel, lever at {:.2} deg", lever_rad.to_degrees()));
            }
        }
    }
    wrong
}

const SHAPES: [&str; 4] = ["jewel.shape=half_moon", "jewel.shape=round", "jewel.shape=oval", "jewel.shape=triangular"];
const GUARDS: [[&str; 2]; 5] = [
    ["", ""],
    ["roller.form=single", ""],
    ["", "guard.form=pin"],
    ["roller.form=double", "guard.form=dart"],
    // A dart over a single roller passes above the notch, and is long enough: it works.
    ["roller.form=single", "guard.form=dart"],
];

/// One thing stated more, and all else as the example has it.
#[test]
fn one_choice_more() {
    let mut failures = Vec::new();
    for (name, statement) in examples() {
        for change in SHAPES.into_iter().chain(["", "pallets.lock_deg=1.0", "guard.form=dart"]) {
            let wrong = wrong(&with(&statement, &[change]));
            if !wrong.is_empty() {
                failures.push(format!("{name} {change}: {wrong:#?}"));
            }
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// Every jewel with every guard, lock, and lift or ratio of radii. Over a single roller and with a small lock the dart
/// and pin still hold, so all are sound.
#[test]
fn every_combination() {
    let locks = ["", "pallets.lock_deg=0.75", "pallets.lock_deg=1.0", "pallets.lock_deg=2.0"];
    let ratios = ["3", "3.5", "4", "4.5", "5"].map(|q| format!("fork.ratio_of_radii={q}"));
    let lifts = ["30", "36", "42", "48", "54", "60"].map(|l| format!("balance.lift_deg={l}"));
    let radii: Vec<&str> = ratios.iter().chain(&lifts).map(String::as_str).collect();
    let (mut tried, mut failures) = (0, Vec::new());
    for (name, statement) in examples() {
        let statement = without_fork(&statement);
        for shape in SHAPES {
            for guard in GUARDS {
                for lock in locks {
                    for radius in &radii {
                        let changes = [shape, guard[0], guard[1], lock, radius];
                        let wrong = wrong(&with(&statement, &changes));
                        tried += 1;
                        if !wrong.is_empty() {
                            failures.push(format!("{name} {changes:?}: {wrong:#?}"));
                        }
                    }
                }
            }
        }
    }
    assert!(failures.is_empty(), "{} of {tried} are not sound\n{}", failures.len(), failures.join("\n"));
}

fn refused(changes: &[&str]) -> Diagnostic {
    let faults = parts::build(&with(&examples()[0].1, changes).values).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:#?}");
    faults.into_iter().next().unwrap()
}

/// An upright pin cannot reach the small safety roller of a double roller from behind the notch.
#[test]
fn a_pin_with_a_double_roller_is_refused_with_the_reason() {
    let d = refused(&["roller.form=double", "guard.form=pin"]);
    assert_eq!(d.code, "no-such-guard");
    assert!(d.about.contains(&K::GuardForm.once()) && d.message.contains("notch"), "{d:#?}");
    // With a safety roller larger than it names the pin stands behind the notch and is drawn; whether it passes the
    // crescent is then found by contact.
    let least_mm: f64 = d.allowed.as_ref().unwrap().rsplit_once("at least ").unwrap().1[..6].parse().unwrap();
    let larger = format!("roller.safety_radius_mm={}", least_mm + 0.02);
    let s = with(&examples()[0].1, &["roller.form=double", "guard.form=pin", &larger]);
    let build = parts::build(&s.values).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let found = findings(&build.parts, &solve(&build.parts, &mut Scratch::default()));
    assert!(!found.iter().any(|f| f.code == "guard-strikes-jewel" || f.code == "no-freedom"), "{found:#?}");
}

#[test]
fn an_impossible_reach_is_refused_with_the_range() {
    for (reach, cause) in [("2.0", "too short"), ("4.5", "too long")] {
        let d = refused(&[&format!("guard.reach_mm={reach}")]);
        assert_eq!(d.code, "no-such-guard");
        assert!(d.message.contains(cause), "{d:#?}");
        let allowed = d.allowed.unwrap();
        let number = |text: &str| text.split_once(" mm").unwrap().0.parse::<f64>().unwrap();
        let (least, most) = allowed.split_once(" to ").map(|(a, b)| (number(a), number(b))).unwrap();
        assert!(least < most && !(least..most).contains(&reach.parse().unwrap()), "{allowed}");
        // Both ends are guards, just within them.
        for inside in [least + 1e-3, most - 1e-3] {
            let s = with(&examples()[0].1, &[&format!("guard.reach_mm={inside}")]);
            let build = parts::build(&s.values);
            assert!(build.is_ok(), "{inside}: {:#?}", build.err());
        }
    }
}

/// A lift at the balance that no fork gives is refused with those that can be had.
#[test]
fn an_impossible_lift_is_refused_with_the_range() {
    let d = refused(&["balance.lift_deg=119"]);
    assert_eq!((d.code, d.about[0]), ("no-such-fork", K::BalanceLift.once()), "{d:#?}");
    assert!(d.value.unwrap().contains("119"));
    // What it names can be had.
    let allowed = d.allowed.unwrap();
    let numbers: Vec<f64> = allowed.split_whitespace().filter_map(|word| word.parse().ok()).collect();
    let [least, most] = numbers[..] else { panic!("no two ends in {allowed}") };
    assert!(most < 119.0);
    for inside in [least + 0.1, 0.5 * (least + most)] {
        let lift = format!("balance.lift_deg={inside}");
        let build = parts::build(&with(&examples()[0].1, &[&lift]).values);
        assert!(build.is_ok(), "{inside} of {allowed}: {:#?}", build.err());
    }
}

/// A lift and a ratio of radii are one too many; the residual is that of the lift by contact.
#[test]
fn lift_and_ratio_are_one_too_many() {
    let d = refused(&["fork.ratio_of_radii=4.8"]);
    assert_eq!(d.code, "over-determined");
    let mut s = with(&examples()[0].1, &["fork.ratio_of_radii=4.8"]);
    s.values.remove(K::BalanceLift.once());
    let build = parts::build(&s.values).unwrap();
    let action = solve(&build.parts, &mut Scratch::default());
    let found = Pallet::BOTH
        .map(|p| FigureId::from_path(&format!("{}.balance_lift_deg", p.name())).unwrap().value(&action).unwrap());
    // Without the stated lift the ratio gives another one, found by contact too; stating that one agrees.
    let lift = build.movement.si(K::BalanceLift);
    assert!((0.5 * (found[0] + found[1]) - lift).abs() < 1e-9);
    s.values.set(K::BalanceLift.once(), lift);
    assert!(parts::build(&s.values).is_ok());
}

/// Bench moves act on the parts as made: a bent fork changes the lift found and not the parts.
#[test]
fn a_bent_fork_is_not_made_good() {
    let (straight, bent) = (&examples()[0].1, with(&examples()[0].1, &["fork.longer_mm=-0.01", "jewel.out_mm=0.004"]));
    let [a, b] = [straight, &bent].map(|s| parts::build(&s.values).unwrap());
    for kind in [K::ForkLength, K::RollerJewelDistance, K::BalanceLift, K::ForkHornLength, K::GuardReach] {
        assert_eq!(a.movement.si(kind).to_bits(), b.movement.si(kind).to_bits(), "{kind:?}");
    }
    let lift = FigureId::from_path("entry.balance_lift_deg").unwrap();
    let [a, b] = [a, b].map(|build| lift.value(&solve(&build.parts, &mut Scratch::default())).unwrap());
    assert!((a - b).abs() > 1e-3, "{a} {b}");
}

/// A notch too shallow is told as that, by how much; as deep as it says and a little more, the jewel is free.
#[test]
fn a_shallow_notch_is_told_with_the_depth_it_needs() {
    let solved = |depth_mm: f64| {
        let s = with(&examples()[0].1, &[&format!("fork.notch_depth_mm={depth_mm}")]);
        let build = parts::build(&s.values).unwrap();
        let action = solve(&build.parts, &mut Scratch::default());
        let of_notch = |f: &action::Finding| f.code.starts_with("notch-too");
        (findings(&build.parts, &action).into_iter().find(of_notch), action.notch)
    };
    let (found, _) = solved(0.05);
    let found = found.unwrap();
    assert_eq!((found.code, found.moved_by[0]), ("notch-too-shallow", K::ForkNotchDepth.once()));
    let short_mm: f64 =
        found.message.split_once("shallow by ").unwrap().1.split_once(" mm").unwrap().0.parse().unwrap();
    let (found, notch) = solved(0.05 + short_mm + 0.001);
    assert!(found.is_none() && notch.is_some(), "{found:?}");
    let (found, _) = solved(0.05 + short_mm - 0.001);
    assert_eq!(found.unwrap().code, "notch-too-shallow");
}
