//! Closed forms of the free balance against the integrator, against one another, and at their edges.
#![allow(clippy::unwrap_used)]

#[path = "../../plane/tests/support/cases.rs"]
mod cases;

use cases::cases;
use motion::integrate::leap;
use motion::{Arrived, Balance, BalanceState, IndexPins, LinearPiece};
use proptest::prelude::*;
use std::f64::consts::PI;

/// Rounding of a few operations on the amplitude, as a ratio.
const ROUNDING_RATIO: f64 = 4e-15;

fn at(angle_rad: f64, speed_rad_per_s: f64) -> BalanceState {
    BalanceState { angle_rad, speed_rad_per_s }
}

/// A piece of inertia 1 and stiffness 1 with this damping ratio.
fn piece(damping_ratio: f64) -> LinearPiece {
    LinearPiece::new(1.0, 1.0, 2.0 * damping_ratio)
}

fn amplitude(from: BalanceState, torque: f64) -> f64 {
    (from.angle_rad - torque).hypot(from.speed_rad_per_s)
}

fn damping() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), 1e-4..0.02f64, 0.02..0.9f64, Just(1.0), 1.1..4.0f64]
}

/// Angle, speed, viscous loss and way after some time by the integrator, 400 steps.
fn integrated(damping_ratio: f64, from: BalanceState, torque: f64, time_s: f64) -> [f64; 4] {
    let mut slope = |_: f64, y: &[f64; 4]| {
        let viscous = 2.0 * damping_ratio * y[1];
        [y[1], torque - viscous - y[0], viscous * y[1], y[1].abs()]
    };
    let mut y = [from.angle_rad, from.speed_rad_per_s, 0.0, 0.0];
    for _ in 0..400 {
        y = leap(&mut slope, 0.0, &y, time_s / 400.0).to;
    }
    y
}

proptest! {
    #![proptest_config(cases(2000))]

    /// Two routes: state and viscous loss in closed form and by integration, to 1e-10.
    #[test]
    fn closed_form_is_what_the_integrator_finds(
        damping_ratio in damping(),
        angle in -6.0..6.0f64,
        speed in -6.0..6.0f64,
        torque in -1.0..1.0f64,
        time_s in 0.0..9.0f64,
    ) {
        let from = at(angle, speed);
        let flight = piece(damping_ratio).flight(from, torque);
        let found = flight.state_at(time_s);
        let [angle, speed, viscous, way] = integrated(damping_ratio, from, torque, time_s);
        prop_assert!((found.angle_rad - angle).abs() < 1e-10, "{found:?} {angle}");
        prop_assert!((found.speed_rad_per_s - speed).abs() < 1e-10, "{found:?} {speed}");
        prop_assert!((flight.viscous_j(time_s) - viscous).abs() < 1e-10, "{} {viscous}", flight.viscous_j(time_s));
        prop_assert!(flight.viscous_j(time_s) >= 0.0);
        if flight.turning_s().is_none_or(|turning_s| time_s < turning_s) {
            prop_assert!((flight.dry_j(0.3, time_s) - 0.3 * way).abs() < 1e-10, "{way}");
        }
    }

    /// The energy closes: motion and spring change by the work of the torque less the viscous loss, each by its own form.
    #[test]
    fn energy_closes(
        damping_ratio in damping(),
        angle in -6.0..6.0f64,
        speed in -6.0..6.0f64,
        torque in -1.0..1.0f64,
        time_s in 0.0..9.0f64,
    ) {
        let flight = piece(damping_ratio).flight(at(angle, speed), torque);
        let end = flight.state_at(time_s);
        let energy = |s: BalanceState| 0.5 * (s.speed_rad_per_s * s.speed_rad_per_s + s.angle_rad * s.angle_rad);
        let work = torque * (end.angle_rad - angle);
        let missing = energy(end) - energy(at(angle, speed)) - work + flight.viscous_j(time_s);
        let stored = energy(at(angle, speed)) + torque * torque;
        prop_assert!(missing.abs() < 1e-13 * stored * (1.0 + damping_ratio * damping_ratio), "{missing:e} of {stored}");
    }

    /// Without friction, flying back with the speed turned round leads to the start.
    #[test]
    fn without_friction_time_runs_both_ways(
        angle in -6.0..6.0f64,
        speed in -6.0..6.0f64,
        torque in -1.0..1.0f64,
        time_s in 0.0..9.0f64,
    ) {
        let end = piece(0.0).flight(at(angle, speed), torque).state_at(time_s);
        let back = piece(0.0).flight(at(end.angle_rad, -end.speed_rad_per_s), torque).state_at(time_s);
        let rounding = ROUNDING_RATIO * amplitude(at(angle, speed), torque).max(1.0);
        prop_assert!((back.angle_rad - angle).abs() < rounding, "{back:?}");
        prop_assert!((back.speed_rad_per_s + speed).abs() < rounding, "{back:?}");
    }

    /// At a turning the balance stands; on the way there it never does.
    #[test]
    fn it_stands_at_the_turning_and_not_before(
        damping_ratio in damping(),
        angle in -6.0..6.0f64,
        speed in prop_oneof![Just(0.0), -6.0..6.0f64],
        torque in -1.0..1.0f64,
    ) {
        let from = at(angle, speed);
        let flight = piece(damping_ratio).flight(from, torque);
        let sense = if speed == 0.0 { torque - angle } else { speed };
        let end_s = flight.turning_s();
        if let Some(end_s) = end_s {
            let end = flight.state_at(end_s);
            prop_assert!(end_s > 0.0);
            prop_assert!(end.speed_rad_per_s.abs() < ROUNDING_RATIO * amplitude(from, torque) * (1.0 + damping_ratio));
        } else {
            prop_assert!(damping_ratio >= 1.0);
        }
        for part in 1..50 {
            let time_s = f64::from(part) / 50.0 * end_s.unwrap_or(10.0);
            // Late in a crawl, when the speed has no digits left, to a rounding.
            let crawl = if damping_ratio < 0.9 { 0.0 } else { ROUNDING_RATIO * amplitude(from, torque) };
            prop_assert!(flight.state_at(time_s).speed_rad_per_s * sense.signum() > -crawl);
        }
    }

    /// A passage is at its angle, at a speed in the sense of the motion, after the start and before the turning; also
    /// where the angle is next to the start or next to the turning, by whatever power of ten.
    #[test]
    fn passages_are_at_their_angle(
        damping_ratio in damping(),
        angle in -6.0..6.0f64,
        speed in prop_oneof![Just(0.0), -6.0..6.0f64, -1e-6..1e-6f64],
        torque in -1.0..1.0f64,
        part in prop_oneof![0.0..1.0f64, (-16.0..0.0f64).prop_map(|e| 10f64.powf(e))],
        from_turning in any::<bool>(),
    ) {
        let from = at(angle, speed);
        let flight = piece(damping_ratio).flight(from, torque);
        let rounding = ROUNDING_RATIO * amplitude(from, torque).max(angle.abs()) * (1.0 + damping_ratio);
        let end_s = flight.turning_s();
        let end_rad = end_s.map_or(flight.rest_rad(), |end_s| flight.state_at(end_s).angle_rad);
        let part = if from_turning { 1.0 - part } else { part };
        let target_rad = angle + (end_rad - angle) * part;
        prop_assume!((target_rad - angle) * (end_rad - angle) > 0.0);
        prop_assume!((target_rad - angle).abs() < (end_rad - angle).abs());
        let Some(passage) = flight.passage(target_rad) else {
            // Only a rounding from the end can be taken for beyond it.
            prop_assert!((target_rad - end_rad).abs() < rounding, "{target_rad} {end_rad}");
            return Ok(());
        };
        prop_assert!(passage.time_s > 0.0 && end_s.is_none_or(|end_s| passage.time_s < end_s * (1.0 + ROUNDING_RATIO)), "{passage:?} {end_s:?}");
        prop_assert!(passage.speed_rad_per_s * (end_rad - angle) >= 0.0);
        let found = flight.state_at(passage.time_s);
        // A late time in a crawl toward rest has the rounding of the time itself times the speed: nothing.
        prop_assert!((found.angle_rad - target_rad).abs() < rounding, "{found:?} {target_rad} {passage:?}");
        prop_assert!((found.speed_rad_per_s - passage.speed_rad_per_s).abs() < rounding, "{found:?} {passage:?}");
    }

    /// What is behind, at the start, or beyond the turning is not passed.
    #[test]
    fn what_is_not_on_the_way_is_not_passed(
        damping_ratio in damping(),
        angle in -6.0..6.0f64,
        speed in -6.0..6.0f64,
        torque in -1.0..1.0f64,
        by in 1e-9..1.0f64,
    ) {
        prop_assume!(speed != 0.0);
        let flight = piece(damping_ratio).flight(at(angle, speed), torque);
        prop_assert_eq!(flight.passage(angle), None);
        prop_assert_eq!(flight.passage(angle - by * speed.signum()), None);
        let end_rad = flight.turning_s().map_or(flight.rest_rad(), |end_s| flight.state_at(end_s).angle_rad);
        prop_assert_eq!(flight.passage(end_rad + by * speed.signum()), None);
    }

    /// Free decay between extremes: |A1| = (|A0| - R/k) / lambda - R/k with lambda = exp(pi z / sqrt(1 - z^2)). E2 of
    /// docs/theory/oscillator.md, published in Theory of Horology, web book, section 2-4.
    #[test]
    fn free_decay(
        damping_ratio in prop_oneof![Just(0.0), 1e-4..0.3f64],
        dry_rad in prop_oneof![Just(0.0), 1e-4..0.05f64],
        start_rad in 0.5..6.0f64,
        side in prop_oneof![Just(1.0), Just(-1.0)],
    ) {
        let balance = Balance::tuned(1.4e-9, 21_600.0);
        let balance = Balance { dry_n_m: dry_rad * balance.stiffness_n_m_per_rad, ..balance };
        let balance = Balance { viscous_n_m_s: 2.0 * damping_ratio * balance.inertia_kg_m2 * balance.natural_rad_per_s(), ..balance };
        let flown = balance.pieces().unwrap().fly(at(side * start_rad, 0.0), 0.0, None);
        let lambda = (PI * damping_ratio / (1.0 - damping_ratio * damping_ratio).sqrt()).exp();
        let expect = (start_rad - dry_rad) / lambda - dry_rad;
        prop_assert_eq!(flown.arrived, Arrived::AtTurning);
        prop_assert!((flown.state.angle_rad + side * expect).abs() < 2e-14, "{flown:?} {expect}");
        prop_assert!((flown.dry_j - balance.dry_n_m * (start_rad + expect)).abs() < 1e-14 * balance.spring_energy_j(start_rad));
    }

    /// A quality factor at an amplitude, of whatever kind its losses are, comes back, and is 2 pi times the energy at the
    /// extreme over what an oscillation about that amplitude loses. E2 of docs/theory/oscillator.md.
    #[test]
    fn quality_is_what_an_oscillation_loses(
        quality_ratio in 100.0..400.0f64,
        amplitude_rad in 1.0..6.0f64,
        viscous_share_ratio in 0.0..1.0f64,
    ) {
        let balance = Balance::tuned(1.0e-9, 28_800.0).with_losses(quality_ratio, amplitude_rad, viscous_share_ratio);
        prop_assert!((balance.quality_ratio(amplitude_rad) / quality_ratio - 1.0).abs() < 1e-14);
        let pieces = balance.pieces().unwrap();
        // Half of the loss before, half after.
        let there = pieces.fly(at(amplitude_rad * (1.0 + 0.5 * PI / quality_ratio), 0.0), 0.0, None);
        let back = pieces.fly(there.state, 0.0, None);
        let oscillation_j = 2.0 * PI * balance.spring_energy_j(amplitude_rad) / quality_ratio;
        let viscous = (there.viscous_j + back.viscous_j) / oscillation_j;
        let dry = (there.dry_j + back.dry_j) / oscillation_j;
        prop_assert!((viscous - viscous_share_ratio).abs() < 4.0 / (quality_ratio * quality_ratio), "{viscous}");
        prop_assert!((dry - 1.0 + viscous_share_ratio).abs() < 4.0 / (quality_ratio * quality_ratio), "{dry}");
    }

    /// Across the play of the index the ledger closes to 1e-12, each entry on its own, and mirrored flights are mirrored
    /// to the bit.
    #[test]
    fn flights_across_the_index_close_and_mirror(
        angle in -5.0..5.0f64,
        speed in -80.0..80.0f64,
        applied_rad in -0.3..0.3f64,
        until in prop_oneof![Just(None), (-5.0..5.0f64).prop_map(Some)],
        free_rad in 0.0..1.0f64,
        free_stiffness_ratio in 0.9..1.1f64,
        quality_ratio in 20.0..400.0f64,
        viscous_share_ratio in 0.0..1.0f64,
    ) {
        let balance = Balance { index: Some(IndexPins { free_rad, free_stiffness_ratio }), ..Balance::tuned(1.0e-9, 28_800.0) }
            .with_losses(quality_ratio, 4.0, viscous_share_ratio);
        let pieces = balance.pieces().unwrap();
        let applied_n_m = applied_rad * balance.stiffness_n_m_per_rad;
        let from = at(angle, speed);
        let flown = pieces.fly(from, applied_n_m, until);
        let mirrored = pieces.fly(at(-angle, -speed), -applied_n_m, until.map(|u| -u));
        prop_assert_eq!(mirrored.state, at(-flown.state.angle_rad, -flown.state.speed_rad_per_s));
        prop_assert_eq!((mirrored.arrived, mirrored.time_s), (flown.arrived, flown.time_s));
        prop_assert_eq!((mirrored.viscous_j, mirrored.dry_j), (flown.viscous_j, flown.dry_j));

        let work_j = applied_n_m * (flown.state.angle_rad - angle);
        let missing_j = balance.energy_j(flown.state) - balance.energy_j(from) - work_j + flown.viscous_j + flown.dry_j;
        prop_assert!(missing_j.abs() < 1e-12 * balance.energy_j(from), "{missing_j:e} {flown:?}");
        prop_assert!(flown.viscous_j >= 0.0 && flown.dry_j >= 0.0);
        match flown.arrived {
            Arrived::AtAngle => prop_assert_eq!(Some(flown.state.angle_rad), until),
            Arrived::AtTurning => prop_assert_eq!(flown.state.speed_rad_per_s, 0.0),
            Arrived::Sticks | Arrived::Creeps => prop_assert!(false, "{:?}", flown),
        }
    }

    /// Torque is what the energy falls by along the way, for every term.
    #[test]
    fn torque_is_the_fall_of_the_energy(
        angle in -5.0..5.0f64,
        cubic in -0.01..0.01f64,
        spot in 0.0..0.01f64,
        heavy_spot_rad in -PI..PI,
        free_rad in 0.0..1.0f64,
    ) {
        let balance = Balance {
            cubic_n_m_per_rad3: cubic,
            heavy_spot_n_m: spot,
            heavy_spot_rad,
            index: Some(IndexPins { free_rad, free_stiffness_ratio: 0.9 }),
            stiffness_n_m_per_rad: 1.0,
            ..Balance::tuned(1.0, 3600.0)
        };
        let h = 1e-4;
        prop_assume!((angle.abs() - free_rad).abs() > h);
        let energy_j = |a: f64| balance.energy_j(at(a, 0.0));
        let fall_n_m = (energy_j(angle - h) - energy_j(angle + h)) / (2.0 * h);
        prop_assert!((fall_n_m - balance.torque_n_m(angle, 0.0)).abs() < 1e-8, "{fall_n_m}");
        let slowed_n_m = Balance { viscous_n_m_s: 0.5, ..balance }.torque_n_m(angle, 2.0);
        prop_assert!((slowed_n_m + 1.0 - balance.torque_n_m(angle, 0.0)).abs() < 1e-14);
    }
}

/// Dry friction holds a balance that stands where the torque is no larger, and lets it go where it is.
#[test]
fn dry_friction_holds() {
    let balance = Balance { dry_n_m: 3.0e-9, ..Balance::tuned(1.4e-9, 21_600.0) };
    let pieces = balance.pieces().unwrap();
    let held_rad = balance.dry_n_m / balance.stiffness_n_m_per_rad;
    for side in [1.0, -1.0] {
        let flown = pieces.fly(at(side * held_rad * 0.999_999, 0.0), 0.0, None);
        assert_eq!((flown.arrived, flown.time_s, flown.dry_j), (Arrived::Sticks, 0.0, 0.0));
        let flown = pieces.fly(at(side * held_rad * 1.000_001, 0.0), 0.0, None);
        assert_eq!(flown.arrived, Arrived::AtTurning);
        // Let go with almost nothing it stops almost there, after half an oscillation.
        assert!((flown.time_s * balance.natural_rad_per_s() - PI).abs() < 1e-6, "{flown:?}");
        // A torque from outside counts as the spring's does.
        let applied_n_m = side * 0.5 * balance.dry_n_m;
        let angle_rad = -side * held_rad * 0.500_001;
        assert_eq!(pieces.fly(at(angle_rad, 0.0), applied_n_m, None).arrived, Arrived::AtTurning);
        assert_eq!(pieces.fly(at(angle_rad * 0.999, 0.0), applied_n_m, None).arrived, Arrived::Sticks);
    }
    // A free balance comes to stand within the angle that dry friction holds, and stays.
    let mut state = at(0.2, 0.0);
    for count in 0.. {
        let flown = pieces.fly(state, 0.0, None);
        if flown.arrived == Arrived::Sticks {
            // Each half swing takes 2 R / k: 0.2 / 0.0121 of them, less the last part of one.
            assert_eq!(count, (0.5 * (0.2 / held_rad - 1.0)).ceil() as u32);
            break;
        }
        state = flown.state;
    }
    assert!(state.angle_rad.abs() <= held_rad);
}

/// Dry friction is against the motion, of one size, and nothing by itself at rest.
#[test]
fn dry_torque_is_against_the_motion() {
    let balance = Balance { dry_n_m: 3.0e-9, ..Balance::tuned(1.4e-9, 21_600.0) };
    assert_eq!([2.0, -1e-9, 0.0].map(|speed| balance.dry_torque_n_m(speed)), [-3.0e-9, 3.0e-9, 0.0]);
}

/// A balance that is damped too much to swing creeps to rest; what it had is all taken.
#[test]
fn a_balance_in_treacle_creeps() {
    for damping_ratio in [1.0, 3.0] {
        let tuned = Balance::tuned(1.0e-9, 28_800.0);
        let viscous_n_m_s = 2.0 * damping_ratio * tuned.inertia_kg_m2 * tuned.natural_rad_per_s();
        let balance = Balance { viscous_n_m_s, ..tuned };
        let flown = balance.pieces().unwrap().fly(at(1.0, 0.0), 0.0, None);
        assert_eq!((flown.arrived, flown.time_s), (Arrived::Creeps, f64::INFINITY));
        assert!(flown.state.angle_rad.abs() < 1e-16);
        assert!((flown.viscous_j / balance.spring_energy_j(1.0) - 1.0).abs() < 1e-9 * damping_ratio, "{flown:?}");
    }
}

/// An angle at the very turning is reached there, one a few roundings beyond is not.
#[test]
fn grazing() {
    let piece = piece(2e-3);
    let flight = piece.flight(at(-5.0, 0.0), 0.01);
    let end_s = flight.turning_s().unwrap();
    let end_rad = flight.state_at(end_s).angle_rad;
    for ulps in 3..40 {
        let target_rad = f64::from_bits(end_rad.to_bits() - ulps);
        let passage = flight.passage(target_rad).unwrap();
        // 1 - cos of the phase left is the distance left over the amplitude.
        let left_rad = (2.0 * (end_rad - target_rad) / (end_rad - 0.01)).sqrt();
        let miss = ((end_s - passage.time_s) / left_rad - 1.0).abs();
        // The end itself is known to about two units in its last place.
        assert!(miss < 2.0 / f64::from(u32::try_from(ulps).unwrap()), "{ulps} {miss}");
        assert_eq!(flight.passage(f64::from_bits(end_rad.to_bits() + ulps)), None);
    }
    // At the very end rounding decides whether it is passed; if so, neither late nor backward.
    let mut passed = 0;
    for i in 0..10_000 {
        let flight = piece.flight(at(-5.0 + 4e-4 * f64::from(i), 0.3), 0.01);
        let end_s = flight.turning_s().unwrap();
        let Some(passage) = flight.passage(flight.state_at(end_s).angle_rad) else { continue };
        assert!(
            passage.time_s < end_s * (1.0 + ROUNDING_RATIO) && passage.speed_rad_per_s >= 0.0,
            "{passage:?} {end_s}"
        );
        passed += 1;
    }
    assert!(passed > 1000, "{passed}");
}

/// A torque that is dry friction to a rounding either holds the balance or lets it go to a turning.
#[test]
fn barely_held() {
    for i in 1..2000 {
        let angle_rad = 1e-3 * f64::from(i);
        let free = Balance::tuned(1.4e-9, 21_600.0);
        let dry_n_m = f64::from_bits(free.torque_n_m(angle_rad, 0.0).abs().to_bits() - 1);
        let flown = Balance { dry_n_m, ..free }.pieces().unwrap().fly(at(angle_rad, 0.0), 0.0, None);
        assert!(matches!(flown.arrived, Arrived::Sticks | Arrived::AtTurning), "{flown:?}");
        assert!((flown.state.angle_rad - angle_rad).abs() < 1e-14, "{flown:?}");
    }
}

/// A balance that turns just where the spring comes to a pin has turned, and flies back.
#[test]
fn turning_at_a_pin() {
    for i in 1..2000 {
        let free = Balance::tuned(1.4e-9, 21_600.0).with_losses(200.0, 1.0, 1.0);
        let from = at(0.0, 0.05 * f64::from(i));
        let free_rad = free.pieces().unwrap().fly(from, 0.0, None).state.angle_rad;
        let index = Some(IndexPins { free_rad, free_stiffness_ratio: 1.0 });
        let pieces = Balance { index, ..free }.pieces().unwrap();
        let there = pieces.fly(from, 0.0, None);
        assert_eq!(there.arrived, Arrived::AtTurning, "{there:?}");
        assert!((there.state.angle_rad - free_rad).abs() < ROUNDING_RATIO * free_rad, "{there:?}");
        assert_eq!(pieces.fly(there.state, 0.0, None).arrived, Arrived::AtTurning);
    }
}

/// Values that no balance can have are named with their unit and what they need to be.
#[test]
fn impossible_values_are_named() {
    let sound = Balance::tuned(1.0e-9, 28_800.0);
    assert_eq!(sound.check(), Ok(()));
    let told = |balance: Balance| balance.check().unwrap_err().to_string();
    assert_eq!(
        told(Balance { inertia_kg_m2: 0.0, ..sound }),
        "could not simulate: inertia of the balance = 0e0 kg m2, needs more than 0"
    );
    assert_eq!(
        told(Balance { dry_n_m: -1e-9, ..sound }),
        "could not simulate: dry friction of the balance = -1e-9 N m, needs 0 or more"
    );
    let index = Some(IndexPins { free_rad: f64::NAN, free_stiffness_ratio: 0.9 });
    assert_eq!(
        told(Balance { index, ..sound }),
        "could not simulate: freedom between the index pins = NaN rad, needs 0 or more"
    );
    assert_eq!(
        told(Balance { cubic_n_m_per_rad3: f64::INFINITY, ..sound }),
        "could not simulate: cubic term of the hairspring = inf N m/rad3, needs a finite number"
    );
}
