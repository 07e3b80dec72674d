//! What holds for every escapement, on random ones.
#![allow(clippy::unwrap_used)]

#[path = "../../plane/tests/support/cases.rs"]
mod cases;
#[path = "support/random.rs"]
mod random;

use action::{Action, FigureId, Scratch, solve};
use cases::cases;
use movement::{Pallet, ParamId, ParamKind as K, Values};
use proptest::prelude::*;
use random::wanted;
use std::f64::consts::TAU;

/// Rounding of a whole turn added up from sixty contact solves, in radians.
const TURN_RAD: f64 = 1e-9;

fn solved(v: &Values) -> Option<(parts::Build, Action)> {
    let build = parts::build(v).ok()?;
    let action = solve(&build.parts, &mut Scratch::default());
    action.broken.is_none().then_some((build, action))
}

fn round_corners(v: &mut Values, radius_m: f64, round: [f64; 4]) {
    v.set(K::WheelToeRound.once(), round[0] * radius_m);
    v.set(K::WheelHeelRound.once(), round[1] * radius_m);
    for p in Pallet::BOTH {
        v.set(K::StoneLockingRound.at(p), round[2] * radius_m);
        v.set(K::StoneLetOffRound.at(p), round[3] * radius_m);
    }
}

fn roundings() -> impl Strategy<Value = [f64; 4]> {
    prop_oneof![Just([0.0; 4]), [0.0..0.003f64, 0.0..0.003f64, 0.0..0.003f64, 0.0..0.003f64]]
}

proptest! {
    #![proptest_config(cases(2000))]

    /// Theory of geometry, 3.1, first invariant: lift and lock of each pallet add up to the travel between the let-offs.
    /// Second: travel and drop less recoil come to one pitch a pallet pair; here over a whole turn, every tooth solved on
    /// its own (a stated tooth, even one that is longer by nothing, makes them so), all terms measured.
    #[test]
    fn the_two_invariants(w in wanted(), round in roundings()) {
        let mut v = w.values();
        round_corners(&mut v, w.radius_mm * 1e-3, round);
        v.set(K::ToothLonger.tooth(0), 0.0);
        let Some((build, action)) = solved(&v) else { return Err(TestCaseError::reject("no cycle")) };
        prop_assert!(!build.parts.wheel.alike());
        prop_assert_eq!(action.beats.len(), 2 * usize::from(build.parts.wheel.tooth_count));
        prop_assume!(action.beats.iter().all(|b| b.lock_rad > 0.0));
        let mut turned = 0.0;
        for (i, beat) in action.beats.iter().enumerate() {
            turned += beat.travel_rad + beat.drop_rad - beat.recoil_from_drop_rad;
            let next = &action.beats[(i + 1) % action.beats.len()];
            let travel = beat.lift_rad + beat.lock_rad;
            prop_assert!((travel - next.lift_rad - next.lock_rad).abs() < 1e-9, "{travel} {next:?}");
            prop_assert_ne!(beat.pallet, next.pallet);
        }
        prop_assert!((turned - TAU).abs() < TURN_RAD, "{turned}");
        // Every tooth has been on each pallet once.
        let mut teeth: Vec<u16> = action.of(Pallet::Entry).map(|b| b.tooth).collect();
        teeth.sort_unstable();
        prop_assert!(teeth.iter().enumerate().all(|(i, t)| usize::from(*t) == i), "{teeth:?}");
    }

    /// Synthesis, then analysis by contact, returns the wanted angles.
    #[test]
    fn wanted_angles_come_back(w in wanted(), round in roundings()) {
        let mut v = w.values();
        round_corners(&mut v, w.radius_mm * 1e-3, round);
        let Some((build, action)) = solved(&v) else { return Err(TestCaseError::reject("no cycle")) };
        // Where the impulse face of a wide, flat tooth bears on the locking corner, or the stone's face is so steep that the
        // toe on it still turns the wheel back, no stone of these angles unlocks at its corner as it is wanted to.
        let at_corner = |b: &action::PalletAction| {
            b.unlocking.tooth_face == parts::Face::Toe
                && (b.unlocking.stone_face == parts::Face::LockingCorner || b.unlocking.lever_rad == b.face_end.lever_rad)
        };
        // Likewise where the stone's impulse face, and not its let-off corner, is what leaves the wheel last.
        let corner_last = |b: &action::PalletAction| {
            let pose = build.parts.lever_pose(b.let_off.lever_rad);
            let corner = pose.point(build.parts.lever.stones[b.pallet].let_off_corner_m);
            let at_it = (b.let_off.point_m - corner).norm() < 1e-12 * w.radius_mm;
            if round[3] > 0.0 { b.let_off.stone_face == parts::Face::LetOffCorner } else { at_it }
        };
        let on_face = |b: &action::PalletAction| b.landing.stone_face == parts::Face::StoneLocking && b.landing.tooth_face == parts::Face::Toe;
        prop_assume!(action.beats.iter().all(|b| at_corner(b) && corner_last(b) && on_face(b)));
        let found = |path: &str| FigureId::from_path(path).unwrap().value(&action).unwrap();
        for p in Pallet::BOTH {
            for (figure, kind) in [
                ("lock_deg", K::PalletLock),
                ("lift_deg", K::PalletLift),
                ("drop_deg", K::PalletDrop),
                ("run_deg", K::BankingRun),
            ] {
                let wanted = build.movement.si_at(kind, p);
                let got = found(&format!("{}.{figure}", p.name()));
                prop_assert!((got - wanted).abs() < 1e-9, "{} {figure}: {got}, wanted {wanted}", p.name());
            }
        }
        prop_assert!((found("out_of_angle_deg") - build.movement.si(K::LeverOutOfAngle)).abs() < 1e-9);
    }

    /// Lengths times a factor leave every angle alone.
    #[test]
    fn scale(w in wanted(), factor in 0.3..3.0f64) {
        let v = w.values();
        let mut scaled = v.clone();
        for (id, si) in v.iter() {
            if id.param().unit == movement::Unit::Millimetre {
                scaled.set(id, si * factor);
            }
        }
        let (Some((_, a)), Some((_, b))) = (solved(&v), solved(&scaled)) else { return Err(TestCaseError::reject("no cycle")) };
        for id in FigureId::all() {
            let (x, y) = (id.value(&a), id.value(&b));
            let length = matches!(id.figure().unit, action::FigureUnit::Millimetre | action::FigureUnit::Micrometre);
            let by = if length { factor } else { 1.0 };
            prop_assert!(
                x.zip(y).is_none_or(|(x, y)| (x * by - y).abs() < 1e-8 * (1.0 + x.abs())) && x.is_some() == y.is_some(),
                "{id}: {x:?} {y:?}"
            );
        }
    }

    /// Nothing that the table allows makes a panic: a movement, or a diagnostic that names a parameter.
    #[test]
    fn any_values_give_an_answer(picks in prop::collection::vec((0..200usize, 0.0..1.0f64), 0..12), teeth in 6..60u16) {
        let ids: Vec<ParamId> = ParamId::dense().collect();
        let mut v = Values::default();
        v.set(K::WheelToothCount.once(), f64::from(teeth));
        v.set(K::WheelLockingRadius.once(), 2.5e-3);
        for (pick, part) in picks {
            let id = ids[pick % ids.len()];
            let row = id.param();
            let edge = row.min + part * (row.max - row.min);
            let whole = matches!(row.unit, movement::Unit::Count | movement::Unit::Choice(_));
            v.set(id, row.unit.to_si(if whole { edge.round() } else { edge }));
        }
        match parts::build(&v) {
            Ok(build) => {
                let action = solve(&build.parts, &mut Scratch::default());
                for id in FigureId::all() {
                    prop_assert!(id.value(&action).is_none_or(f64::is_finite), "{id}");
                }
                action::findings(&build.parts, &action);
            }
            Err(faults) => prop_assert!(!faults.is_empty() && faults.iter().all(|d| !d.about.is_empty()), "{faults:?}"),
        }
    }
}

/// 21 teeth and 3.5 spaces plant like 15 and 2.5 (the reference's table 1.1), and give the same locks and lifts.
#[test]
fn tooth_count() {
    let of = |teeth: f64, spaces: f64| {
        let mut v = Values::default();
        v.set(K::WheelToothCount.once(), teeth);
        v.set(K::PalletsSpacesSpanned.once(), spaces);
        v.set(K::WheelLockingRadius.once(), 2.5e-3);
        solved(&v).unwrap()
    };
    let (few, many) = (of(15.0, 2.5), of(21.0, 3.5));
    assert!((few.0.movement.si(K::CentresWheelPallet) - many.0.movement.si(K::CentresWheelPallet)).abs() < 1e-15);
    for path in ["entry.lock_deg", "exit.lock_deg", "entry.lift_deg", "exit.lift_deg"] {
        let id = FigureId::from_path(path).unwrap();
        assert!((id.value(&few.1).unwrap() - id.value(&many.1).unwrap()).abs() < 1e-12, "{path}");
    }
}
