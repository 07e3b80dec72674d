//! Dynamics that a movement file can state are dynamics that a machine takes, and what is unstated is in its range.

use motion::Dynamics;
use movement::{ParamId, ParamKind as K, Role, TABLE, Values};

/// The movement of the handbook, larger or smaller; lengths other than the radius are left to the defaults.
fn values(locking_radius_m: f64) -> Values {
    let mut values = Values::default();
    values.set(K::WheelToothCount.once(), 15.0);
    values.set(K::WheelLockingRadius.once(), locking_radius_m);
    values
}

fn motion_rows() -> Vec<ParamId> {
    TABLE.iter().filter(|row| row.role == Role::Motion).map(|row| row.kind.once()).collect()
}

#[test]
fn every_end_of_every_range_is_taken() {
    assert!(motion_rows().len() > 15, "{}", motion_rows().len());
    for id in motion_rows() {
        for edge in [id.param().min, id.param().max] {
            let mut values = values(2.5e-3);
            values.set(id, id.param().unit.to_si(edge));
            let build = parts::build(&values).expect("masses and torques change no part");
            let taken = Dynamics::of(&build.movement).check();
            assert!(taken.is_ok(), "{id} = {edge}: {taken:?}");
        }
    }
}

/// At any usual count of beats, that is; of the largest wheel with the most beats the torque would be beyond its range, and
/// is asked for.
#[test]
fn defaults_are_in_their_ranges_on_the_smallest_wheel_and_the_largest() {
    let (radius, beats) = (K::WheelLockingRadius.param(), K::BalanceBeats.param());
    let built = |radius_mm: f64, per_hour: f64| {
        let mut values = values(radius.unit.to_si(radius_mm));
        values.set(K::BalanceBeats.once(), beats.unit.to_si(per_hour));
        parts::build(&values)
    };
    for radius_mm in [radius.min, 2.5, radius.max] {
        for per_hour in [beats.min, if radius_mm == radius.max { 18_000.0 } else { beats.max }] {
            let movement = built(radius_mm, per_hour).expect("a wheel of any size").movement;
            for id in motion_rows() {
                let row = id.param();
                let edge = row.unit.from_si(movement.si(id.kind));
                let slack = 1e-9 * edge.abs();
                assert!(
                    row.min - slack <= edge && edge <= row.max + slack,
                    "{id} = {edge} at {radius_mm} mm, {per_hour}/h"
                );
            }
        }
    }
    let refused = built(radius.max, beats.max).expect_err("1.6 of a stiffness of 395 N m");
    let [fault] = refused.as_slice() else { panic!("{refused:?}") };
    assert!(fault.code == "derived-out-of-range" && fault.about.contains(&K::WheelTorque.once()), "{fault:?}");
}

/// A hairspring that is stated as no straight line still turns the balance back as far out as it can be wound: a whole
/// turn less the lift is what the largest quality amplitude leaves.
#[test]
fn a_stated_hairspring_turns_the_balance_back_at_any_amplitude() {
    let row = K::SpringCubic.param();
    let most_rad = K::BalanceQualityAmplitude.param().max.to_radians();
    for cubic in [row.min, row.max] {
        assert!(1.0 + cubic * most_rad * most_rad > 0.0, "{cubic}");
    }
}
