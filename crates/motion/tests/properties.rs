//! What holds of every motion, and what a watch is known to do.
//!
//! A movement cannot be stated mirrored, since the wheel turns one way only: that is done behind the statement in
//! `src/machine/tests.rs`. Entry and exit cannot be exchanged: the stones of one movement are of different shape.

#[path = "support/machine.rs"]
mod machine;

use machine::{dynamics, machine, machine_of, values, within};
use motion::{Dynamics, Ending, Event, Options, Surface};
use movement::{Pallet, Unit};

fn steady_deg(dynamics: Dynamics) -> f64 {
    let steady = machine(dynamics).steady(Options::default()).expect("it goes");
    steady.amplitude_rad().to_degrees()
}

#[test]
fn the_same_motion_twice_has_the_same_bits() {
    let played = || {
        let machine = machine(dynamics());
        let from = machine.locked(Pallet::Entry, 4.8).expect("it locks");
        machine.play(&from, 8, Options::default())
    };
    let (one, two) = (played(), played());
    assert_eq!(one.state, two.state);
    assert_eq!(one.events, two.events);
    assert_eq!(one.work_j, two.work_j);
}

/// Without losses the balance rises to the extreme from which a harmonic motion would have come, in the same time: to 1e-12.
#[test]
fn a_free_arc_without_losses_is_harmonic() {
    let mut d = dynamics();
    (d.balance.viscous_n_m_s, d.balance.dry_n_m) = (0.0, 0.0);
    let machine = machine(d);
    let from = machine.locked(Pallet::Entry, 4.8).expect("it locks");
    let half_s = 0.5 * 3600.0 / 28_800.0 * 2.0;
    // Outward through 3 rad, away from the lever, to the extreme.
    let sense = from.balance_rad.signum();
    let speed = d.balance.natural_rad_per_s() * (4.8_f64 * 4.8 - 9.0).sqrt();
    let out = motion::State { balance_rad: sense * 3.0, balance_rad_per_s: sense * speed, ..from };
    let there = machine.play(&out, 1, Options::default());
    assert_eq!(there.ending, Ending::Played);
    assert!((there.state.balance_rad.abs() - 4.8).abs() < 1e-12, "{}", there.state.balance_rad);
    let quarter_s = (3.0_f64 / 4.8).acos() / d.balance.natural_rad_per_s();
    assert!((there.state.t_s - quarter_s).abs() < 1e-12 * half_s, "{} {quarter_s}", there.state.t_s);
}

/// Lengths s times as large, inertias s^2, torques s^2, `keep` s: forces then are s times, times the same, angles the same.
#[test]
fn a_movement_of_another_size_moves_alike() {
    let by = 1.7;
    let mut larger = values();
    for (id, si) in values().iter() {
        if id.param().unit == Unit::Millimetre {
            larger.set(id, by * si);
        }
    }
    let mut d = dynamics();
    let square = by * by;
    d.wheel.inertia_kg_m2 *= square;
    d.wheel.torque_n_m *= square;
    d.wheel.recoil_torque_n_m *= square;
    d.lever.inertia_kg_m2 *= square;
    d.balance.inertia_kg_m2 *= square;
    d.balance.stiffness_n_m_per_rad *= square;
    d.balance.viscous_n_m_s *= square;
    d.balance.dry_n_m *= square;
    d.keep_m_per_s *= by;
    let of = |machine: &motion::Machine| {
        let from = machine.locked(Pallet::Entry, 4.8).expect("it locks");
        let motion = machine.play(&from, 4, within(1e-10));
        assert_eq!(motion.ending, Ending::Played);
        (motion.state.t_s, motion.state.balance_rad, motion.state.wheel_rad - from.wheel_rad)
    };
    let (one, two) = (of(&machine(dynamics())), of(&machine_of(&larger, d).expect("it can be drawn")));
    println!("{one:?} {two:?}");
    assert!((one.0 - two.0).abs() < 1e-10 && (one.1 - two.1).abs() < 1e-8 && (one.2 - two.2).abs() < 1e-8);
}

/// Waiting from far below and far above comes to the amplitude that is found as a fixed point.
#[test]
fn every_start_comes_to_the_same_amplitude() {
    let mut d = dynamics();
    d.balance = d.balance.with_losses(100.0, 5.0, 0.8);
    d.wheel.torque_n_m *= 2.0;
    d.wheel.recoil_torque_n_m *= 2.0;
    let machine = machine(d);
    let found_deg = machine.steady(Options::default()).expect("it goes").amplitude_rad().to_degrees();
    for start_deg in [150.0_f64, 250.0, 310.0] {
        let from = machine.locked(Pallet::Entry, start_deg.to_radians()).expect("it locks");
        let motion = machine.play(&from, 1200, Options::default());
        let last: Vec<f64> = motion
            .events
            .iter()
            .rev()
            .filter_map(|e| if let Event::Extreme { balance_rad, .. } = e { Some(balance_rad.abs()) } else { None })
            .take(2)
            .collect();
        let reached_deg = (0.5 * (last[0] + last[1])).to_degrees();
        println!("from {start_deg} to {reached_deg} deg, fixed point {found_deg} deg");
        assert!((reached_deg - found_deg).abs() < 0.01, "from {start_deg}: {reached_deg}, {found_deg} deg");
    }
}

/// Near 280 deg, with a change.
fn changed_deg(change: impl Fn(&mut Dynamics)) -> f64 {
    let mut d = dynamics();
    (d.wheel.torque_n_m, d.wheel.recoil_torque_n_m) = (1.55e-6, 1.55e-6);
    change(&mut d);
    steady_deg(d)
}

/// Trends of practice, no source: friction at the stones and a heavier wheel cost amplitude.
#[test]
fn amplitude_falls_with_friction_and_with_the_wheels_inertia() {
    let own = changed_deg(|_| {});
    let rougher = changed_deg(|d| d.stone.friction_ratio += 0.05);
    let heavier = changed_deg(|d| d.wheel.inertia_kg_m2 *= 1.3);
    println!("own {own} rougher {rougher} heavier {heavier} deg");
    assert!((275.0..290.0).contains(&own), "{own} deg");
    assert!((10.0..25.0).contains(&(own - rougher)), "{own} {rougher} deg");
    assert!(heavier < own - 3.0, "{own} {heavier} deg");
}

/// Common practice, no source: restitution hardly matters. So it is at stones and bankings; why not at the jewel says
/// docs/theory/motion.md.
#[test]
fn restitution_matters_at_the_jewel_alone() {
    let of = |surface: fn(&mut Dynamics) -> &mut Surface| {
        let [dead, live] = [0.0, 0.6].map(|e| changed_deg(|d| surface(d).rebound_ratio = e));
        dead - live
    };
    let (stones, bankings, jewel) = (of(|d| &mut d.stone), of(|d| &mut d.banking), of(|d| &mut d.fork));
    println!("restitution 0 rather than 0.6 at the stones {stones}, bankings {bankings}, jewel {jewel} deg more");
    assert!(stones.abs() < 1.0 && bankings.abs() < 0.1, "{stones} {bankings} deg");
    assert!(jewel > 20.0, "{jewel} deg");
}

/// From 1e-4 to 1e-2 m/s the amplitude changed by 4e-5 deg.
#[test]
fn the_speed_below_which_parts_stay_together_hardly_matters() {
    let mut near = dynamics();
    (near.wheel.torque_n_m, near.wheel.recoil_torque_n_m) = (1.55e-6, 1.55e-6);
    let keeps = [1e-4, 1e-3, 5e-3, 1e-2].map(|keep_m_per_s| steady_deg(Dynamics { keep_m_per_s, ..near }));
    println!("{keeps:?} deg");
    assert!(keeps.iter().all(|deg| (deg - keeps[2]).abs() < 2e-4), "{keeps:?}");
}

/// What nothing can have is refused with its name, its value and what it has to be.
#[test]
fn absurd_dynamics_are_refused() {
    type Change = fn(&mut Dynamics);
    let changes: [(&str, Change); 6] = [
        ("could not simulate: inertia of the wheel = 0e0 kg m2, needs more than 0", |d| d.wheel.inertia_kg_m2 = 0.0),
        ("could not simulate: torque on the wheel = NaN N m, needs 0 or more", |d| d.wheel.torque_n_m = f64::NAN),
        (
            "could not simulate: torque on the wheel turned back = 0e0 N m, needs the torque on the advancing wheel or more",
            |d| d.wheel.recoil_torque_n_m = 0.0,
        ),
        ("could not simulate: coefficient of restitution = 1e0 (ratio), needs 0 to below 1", |d| {
            d.fork.rebound_ratio = 1.0
        }),
        ("could not simulate: dry friction of the balance = -1e-9 N m, needs 0 or more", |d| d.balance.dry_n_m = -1e-9),
        (
            "could not simulate: speed below which parts stay together = 1e-5 m/s, needs 1e-4 m/s or more: slower \
             rebounds are lower than what is taken for touching",
            |d| d.keep_m_per_s = 1e-5,
        ),
    ];
    assert!(dynamics().check().is_ok());
    for (message, change) in changes {
        let mut d = dynamics();
        change(&mut d);
        assert_eq!(d.check().expect_err(message).to_string(), message);
    }
}
