//! Contact of tooth and stone, fork and jewel, guard and roller, lever and bankings, against dense polygons that lie
//! wholly in the material and polygons that hold all of it: what the closed forms find lies between the two.
#![allow(clippy::unwrap_used)]

#[path = "../../plane/tests/support/cases.rs"]
mod cases;
#[path = "../../plane/tests/support/polygon.rs"]
mod polygon;
#[path = "support/random.rs"]
mod random;

use action::{Action, Contact, CurveEnd, PalletAction, Scratch, moment_at, sample_curve, solve};
use cases::cases;
use movement::{Pallet, ParamKind as K, Values};
use parts::{Body, Parts};
use plane::{Pose, Vector};
use polygon::{Bound, Chain};
use proptest::prelude::*;
use random::{bench, finish, move_at_bench, wanted};
use std::f64::consts::{FRAC_PI_2, TAU};

/// Step of the polygons on an arc: a rounding of 0.01 R is then 1e-9 R off, a face domed by 0.004 R as little.
const STEP_RAD: f64 = 2e-3;
/// Rounding of an angle, before it is amplified by a small arm: a face of 0.4 R domed by 1e-6 R is an arc of 20,000 R,
/// and its end is known to an ulp of that.
const ROUNDING: f64 = 1e-10;

/// Contacts that last less than 1e-8 rad of lever are passed over by the kernel: that much, and what the wheel makes of
/// it, a change of contact can be off where a corner is rounded by less than a nanometre.
const PASSED_OVER_RAD: f64 = 1e-8;

fn chain(body: &Body, pose: &Pose, bound: Bound) -> Chain {
    let posed = body.profile.posed(pose);
    Chain::new(polygon::polygon(&posed, bound, STEP_RAD), posed.closed)
}

/// Angles at which `moving`, free where it is, is stopped by `standing` when turned about `axis`: not before the first,
/// and not after the second, each as a way from where it is.
fn between(moving: (&Body, Pose), axis: Vector, standing: (&Body, Pose), sense: f64) -> (Option<f64>, Option<f64>) {
    let [soonest, latest] = [Bound::Outer, Bound::Inner]
        .map(|bound| chain(moving.0, &moving.1, bound).turn_to(axis, &chain(standing.0, &standing.1, bound), sense));
    (soonest, latest)
}

/// Ways of the wheel, from `from_rad` clockwise, between which the stone stops the tooth with the lever at `lever_rad`.
fn tooth_stops(parts: &Parts, own: &PalletAction, lever_rad: f64, from_rad: f64) -> (Option<f64>, Option<f64>) {
    let (tooth, turn) = parts.wheel.tooth(own.tooth);
    let stone = &parts.lever.stones[own.pallet].body;
    between(
        (tooth, parts.wheel_pose(from_rad + turn)),
        parts.centres.wheel_m,
        (stone, parts.lever_pose(lever_rad)),
        -1.0,
    )
}

/// The tooth starts from the far side of the wheel.
const FAR_RAD: f64 = 3.0;

fn check_contact(parts: &Parts, own: &PalletAction, c: &Contact) -> Result<f64, TestCaseError> {
    let (soonest, latest) = tooth_stops(parts, own, c.lever_rad, c.wheel_rad + FAR_RAD);
    let slack = ROUNDING + 1e-15 * parts.wheel.reach_m / c.wheel_arm_m.abs().max(1e-9);
    let told = || {
        let at = format!("{:?} lever {} {:?} on {:?}", own.pallet, c.lever_rad, c.tooth_face, c.stone_face);
        format!("{at}: {soonest:?} {FAR_RAD} {latest:?}")
    };
    prop_assert!(soonest.is_some_and(|s| s <= FAR_RAD + slack), "held back before anything touches: {}", told());
    // A corner of a polygon that grazes may let the tooth pass where the true one holds it; not where it bears squarely.
    prop_assert!(latest.is_none_or(|l| l >= FAR_RAD - slack), "a contact is missed: {}", told());
    Ok(latest.unwrap_or(f64::INFINITY) - soonest.unwrap_or(0.0))
}

/// Just inside the ends of every segment, and evenly between. At the ends themselves a corner passes over a corner, and
/// rounding decides what the polygons make of it.
fn check_curve(parts: &Parts, own: &PalletAction, each: usize, widths: &mut Vec<f64>) -> Result<(), TestCaseError> {
    let outward = own.pallet.outward();
    for (i, c) in sample_curve(parts, own, each).iter().enumerate() {
        if i % each != 0 && i % each != each - 1 {
            widths.push(check_contact(parts, own, c)?);
        }
    }
    let scratch = &mut Scratch::default();
    for s in &own.segments {
        let length = (s.to.lever_rad - s.from.lever_rad).abs();
        for inside in [3.0 * PASSED_OVER_RAD, 1e-6, 1e-4].into_iter().filter(|i| 2.0 * i < length) {
            for lever_rad in [s.from.lever_rad + outward * inside, s.to.lever_rad - outward * inside] {
                if let Some(m) = moment_at(parts, own, lever_rad, scratch) {
                    check_contact(parts, own, &m.contact)?;
                }
            }
        }
    }
    if own.end == CurveEnd::LetOff {
        let from_rad = own.let_off.wheel_rad + FAR_RAD;
        let (soonest, _) = tooth_stops(parts, own, own.let_off.lever_rad - outward * 2.0 * PASSED_OVER_RAD, from_rad);
        prop_assert!(soonest.is_some(), "{:?} lets go before the let-off", own.pallet);
        let (_, latest) = tooth_stops(parts, own, own.let_off.lever_rad + outward * 2.0 * PASSED_OVER_RAD, from_rad);
        prop_assert!(latest.is_none(), "{:?} still holds after the let-off: {latest:?}", own.pallet);
    }
    Ok(())
}

/// The wheel stands farthest back at unlocking, of all places near by; but where the locking face ceases to draw before its
/// end (a dome, tilted out of draw), it does so deeper on that face, and unlocking is where the face ends.
fn check_unlocking(parts: &Parts, own: &PalletAction) -> Result<(), TestCaseError> {
    let top = own.unlocking;
    if own.face_end.draw_rad < 0.0 {
        prop_assert!(top.draw_rad <= 1e-9, "{:?}: unlocks where it draws, past a face that does not", own.pallet);
        return Ok(());
    }
    for step in [-1e-2, -1e-3, -1e-4, 1e-4, 1e-3, 1e-2] {
        let lever_rad = top.lever_rad + step;
        let outward = own.pallet.outward();
        if outward * (lever_rad - own.segments[0].from.lever_rad) < 0.0
            || outward * (lever_rad - own.let_off.lever_rad) > 0.0
        {
            continue;
        }
        let (_, latest) = tooth_stops(parts, own, lever_rad, top.wheel_rad + FAR_RAD);
        prop_assert!(
            latest.is_none_or(|l| l >= FAR_RAD - 1e-9),
            "{:?}: the wheel stands {:?} farther back {step} rad from unlocking",
            own.pallet,
            latest.map(|l| FAR_RAD - l)
        );
    }
    Ok(())
}

fn check_fork(parts: &Parts, action: &Action, at: usize, scratch: &mut Scratch) -> Result<(), TestCaseError> {
    let (own, fork) = (&action.beats[at], &action.fork[at]);
    let pallet = own.pallet;
    let outside = pallet.outward();
    let (balance, roller, lever) = (parts.centres.balance_m, &parts.roller, &parts.lever);
    // Ways between which the jewel, from the jewel angle `from_rad`, meets the fork held at `lever_rad`.
    let jewel = |lever_rad: f64, from_rad: f64, sense: f64| {
        between(
            (&roller.jewel, parts.roller_pose(from_rad)),
            balance,
            (&lever.fork, parts.lever_pose(lever_rad)),
            sense,
        )
    };
    let within = |(soonest, latest): (Option<f64>, Option<f64>), way: f64, what: &str| {
        prop_assert!(soonest.is_some_and(|s| s <= way + 1e-9), "{what} on {pallet:?}: {way} before {soonest:?}");
        prop_assert!(latest.is_none_or(|l| l >= way - 1e-9), "{what} on {pallet:?}: {way} after {latest:?}");
        Ok(())
    };
    // Returning: from a quarter turn outside toward the line of centres.
    let met = jewel(own.banking_rad, outside * FRAC_PI_2, -outside);
    match (fork.engaging_rad, fork.engaging_face) {
        (Some(a), _) => within(met, (a - outside * FRAC_PI_2).abs(), "engaging")?,
        // It meets another part of the fork than the notch.
        (None, Some(_)) => prop_assert!(met.0.is_some_and(|s| s <= 2.0 * FRAC_PI_2), "nothing is met before {met:?}"),
        (None, None) => {
            prop_assert!(met.1.is_none_or(|l| l > 2.0 * FRAC_PI_2), "the jewel meets the fork after {met:?}")
        }
    }
    // Driven at let-off: from just ahead of the wall, the jewel falls back on it.
    if let Some(a) = fork.releasing_rad {
        let ahead = 1e-4;
        within(jewel(own.let_off.lever_rad, a - outside * ahead, outside), ahead, "releasing")?;
    }
    // Knocking: from a quarter turn outside, round by the back.
    let round = jewel(own.banking_rad, outside * FRAC_PI_2, outside);
    match fork.knocking_rad {
        Some(k) => within(round, k - FRAC_PI_2, "knocking")?,
        None => prop_assert!(round.1.is_none(), "knocks after {round:?}"),
    }
    // Guard: from the banking toward the middle, jewel far outside.
    let guard = |lever_rad: f64, jewel_rad: f64| {
        between(
            (&lever.guard, parts.lever_pose(lever_rad)),
            parts.centres.pallet_m,
            (&roller.safety, parts.roller_pose(jewel_rad)),
            outside,
        )
    };
    if let Some(f) = fork.guard_freedom_rad.filter(|f| *f > 0.0) {
        within(guard(own.banking_rad, TAU / 2.0), f, "guard freedom")?;
    }
    for jewel_rad in [0.3, 0.6, 0.8, 1.0, 1.2, 1.5, 2.5] {
        let jewel_rad = outside * jewel_rad;
        let found = action::guard_freedom_rad(parts, pallet, own.banking_rad, jewel_rad, scratch);
        let met = guard(own.banking_rad, jewel_rad);
        match found {
            Some(f) if f > 0.0 => within(met, f, "guard freedom at a jewel angle")?,
            Some(_) => {}
            None => prop_assert!(met.1.is_none_or(|l| l > 1.0), "the guard meets the roller: {met:?}"),
        }
    }
    Ok(())
}

fn check_bankings(parts: &Parts, action: &Action) -> Result<(), TestCaseError> {
    for p in Pallet::BOTH {
        let sense = -p.outward();
        // From the middle.
        let met = between(
            (&parts.lever.fork, parts.lever_pose(0.0)),
            parts.centres.pallet_m,
            (&parts.bankings[p], Pose::IDENTITY),
            sense,
        );
        let Some(a) = action.bankings_rad[p] else { continue };
        let way = a * sense;
        prop_assert!(
            met.0.is_some_and(|s| s <= way + 1e-9) && met.1.is_none_or(|l| l >= way - 1e-9),
            "banking {p:?}: {way} {met:?}"
        );
    }
    Ok(())
}

/// Freedom of the jewel in the notch, from the lever's middle to both sides.
fn check_notch(parts: &Parts, action: &Action) -> Result<(), TestCaseError> {
    let (fork, jewel) = ((&parts.lever.fork, parts.lever_pose(0.0)), (&parts.roller.jewel, parts.roller_pose(0.0)));
    let [outer, inner] =
        [Bound::Outer, Bound::Inner].map(|bound| (chain(fork.0, &fork.1, bound), chain(jewel.0, &jewel.1, bound)));
    if polygon::overlap(outer.0.points(), outer.1.points()) {
        return Ok(());
    }
    let both = |(fork, jewel): &(Chain, Chain)| {
        Some(
            [1.0, -1.0]
                .map(|sense| fork.turn_to(parts.centres.pallet_m, jewel, sense))
                .into_iter()
                .flatten()
                .sum::<f64>(),
        )
    };
    let found = action.notch.map(|n| n.lever_rad);
    prop_assert!(
        found >= both(&outer).map(|f| f - 1e-9) && found <= both(&inner).map(|f| f + 1e-9),
        "notch: {found:?}"
    );
    Ok(())
}

fn check_all(v: &Values, each: usize, widths: &mut Vec<f64>) -> Result<bool, TestCaseError> {
    let Ok(build) = parts::build(v) else { return Ok(false) };
    let mut scratch = Scratch::default();
    let action = solve(&build.parts, &mut scratch);
    check_bankings(&build.parts, &action)?;
    check_notch(&build.parts, &action)?;
    for (i, own) in action.beats.iter().enumerate() {
        check_curve(&build.parts, own, each, widths)?;
        check_unlocking(&build.parts, own)?;
        check_fork(&build.parts, &action, i, &mut scratch)?;
    }
    Ok(!action.beats.is_empty())
}

proptest! {
    #![proptest_config(cases(60))]

    #[test]
    fn what_the_closed_forms_find_lies_between_the_polygons(w in wanted(), f in finish(), b in bench(), each in 3..8usize) {
        let mut v = w.values();
        let radius_m = w.radius_mm * 1e-3;
        f.apply(&mut v, radius_m);
        move_at_bench(&mut v, &b, radius_m);
        let mut widths = Vec::new();
        let played = check_all(&v, each, &mut widths).map_err(|e| random::with_statement(e, &v))?;
        prop_assume!(played);
        // The polygons are near enough to one another to say something.
        widths.sort_by(f64::total_cmp);
        prop_assert!(widths[widths.len() / 2] < 1e-5, "median width {}", widths[widths.len() / 2]);
    }
}
/// A movement of 15 teeth, R 2.5 mm, with these changes in the units of their rows.
fn movement(changes: &[(&str, f64)]) -> Values {
    let mut v = Values::default();
    v.set(K::WheelToothCount.once(), 15.0);
    v.set(K::WheelLockingRadius.once(), 2.5e-3);
    for (path, value) in changes {
        for id in movement::ParamId::from_path(path).unwrap() {
            v.set(id, id.param().unit.to_si(*value));
        }
    }
    v
}

fn check_curves(v: &Values, changes: &[(&str, f64)]) -> Vec<usize> {
    let build = parts::build(v).unwrap();
    let action = solve(&build.parts, &mut Scratch::default());
    assert!(action.broken.is_none(), "{changes:?}");
    for own in &action.beats {
        check_curve(&build.parts, own, 6, &mut Vec::new()).unwrap_or_else(|e| panic!("{e} with {changes:?}"));
    }
    action.beats.iter().map(|b| b.segments.len()).collect()
}

/// On the exit pallet the faces of tooth and stone come to lie along one another, and the heel takes over from the
/// let-off corner. With a larger share of the tooth they do so sooner, with a smaller one never: about the share where
/// that changes, the two contacts are told apart by less and less.
#[test]
fn faces_that_nearly_lie_along_one_another() {
    let segments = |share: f64| {
        let changes = [("wheel.tooth_lift_deg", share)];
        check_curves(&movement(&changes), &changes)
    };
    let mut changes_found = 0;
    let shares: Vec<f64> = (0..24).map(|i| 1.0 + 0.125 * f64::from(i)).collect();
    for w in shares.windows(2) {
        let (mut low, mut high) = (w[0], w[1]);
        let (at_low, at_high) = (segments(low), segments(high));
        if at_low == at_high {
            continue;
        }
        changes_found += 1;
        // 36 halvings: down to 1e-12 deg.
        for _ in 0..36 {
            let middle = 0.5 * (low + high);
            if segments(middle) == at_low { low = middle } else { high = middle }
        }
    }
    assert!(changes_found > 0, "no share at which the contacts change was met");
}

/// Figures of a movement stated by dimensions alone, so that finishing its corners does not move its faces.
fn figures(sharp: &movement::Movement, rounds: &[(K, f64)]) -> Vec<f64> {
    let mut v = Values::default();
    let mut keep = |id: movement::ParamId| v.set(id, sharp.get(id).unwrap().0);
    for kind in
        [K::WheelToothCount, K::WheelLockingRadius, K::CentresWheelPallet, K::WheelToothWidth, K::WheelHeelRadius]
    {
        keep(kind.once());
    }
    for p in Pallet::BOTH {
        for kind in [
            K::PalletLockingDistance,
            K::PalletLockingAngle,
            K::PalletLetOffDistance,
            K::PalletLetOffAngle,
            K::StoneFaceAngle,
            K::BankingLeverAngle,
        ] {
            keep(kind.at(p));
        }
    }
    for (kind, size) in rounds {
        match kind.param().indexed() {
            movement::Indexed::Once => v.set(kind.once(), *size),
            _ => Pallet::BOTH.iter().for_each(|p| v.set(kind.at(*p), *size)),
        }
    }
    let build = parts::build(&v).unwrap_or_else(|e| panic!("{e:#?}"));
    let action = solve(&build.parts, &mut Scratch::default());
    assert!(action.broken.is_none());
    for own in &action.beats {
        check_curve(&build.parts, own, 6, &mut Vec::new()).unwrap();
    }
    action
        .beats
        .iter()
        .flat_map(|b| {
            [
                b.lock_rad,
                b.lift_rad,
                b.drop_rad,
                b.travel_rad,
                b.recoil_from_drop_rad,
                b.face_end.lever_rad,
                b.landing.draw_rad,
            ]
        })
        .collect()
}

/// A corner finished by next to nothing is a sharp one: the figures go to those of sharp corners as the size does.
#[test]
fn minute_corners_are_nearly_sharp() {
    let sharp = parts::build(&movement(&[])).unwrap().movement;
    let exact = figures(&sharp, &[]);
    let rounds = [K::WheelToeRound, K::WheelHeelRound, K::StoneLockingRound, K::StoneLetOffRound];
    let chamfers = [K::WheelToeChamfer, K::WheelHeelChamfer, K::StoneLockingChamfer, K::StoneLetOffChamfer];
    for kinds in [&rounds, &chamfers] {
        for size_mm in [1e-7, 1e-6, 1e-5, 1e-4, 1e-3] {
            let all: Vec<_> = kinds.iter().map(|k| (*k, size_mm * 1e-3)).collect();
            for (found, exact) in figures(&sharp, &all).iter().zip(&exact) {
                // Sizes over the shortest arm, 1.1 mm, and the steepest face, 4 times; and what is passed over.
                let most = 10.0 * size_mm / 1.1 + 1e-7;
                assert!((found - exact).abs() < most, "{found} for {exact} with {size_mm} mm");
            }
        }
    }
}
