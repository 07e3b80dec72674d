//! Whatever is asked of it, a motion comes to an end that has a name.

#[path = "support/machine.rs"]
mod machine;

use machine::{dynamics, machine_of, values};
use motion::{Dynamics, Ending, Event, Machine, Motion, Options, State};
use movement::{Pallet, ParamKind as K, Values};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngSeed, TestRunner};
use std::collections::BTreeMap;

/// Steps allowed to six beats; an ordinary beat takes 50.
const MOST_STEPS: u64 = 50_000;

/// What is asked of one motion.
#[derive(Clone, Debug)]
struct Asked {
    values: Values,
    dynamics: Dynamics,
    pallet: Pallet,
    amplitude_rad: f64,
    /// Rolled turns and speeds by which the state departs from the locked one; in half the cases none.
    astray: Option<[f64; 5]>,
}

/// A factor of `10^-decades` to `10^decades`.
fn factor(decades: f64) -> impl Strategy<Value = f64> {
    (-decades..decades).prop_map(|x| 10_f64.powf(x))
}

/// Mostly ordinary, now and then absurd.
fn friction() -> impl Strategy<Value = f64> {
    prop_oneof![4 => 0.0..0.3_f64, 1 => Just(0.0), 1 => 0.3..5.0_f64]
}

fn masses() -> impl Strategy<Value = [f64; 4]> {
    prop_oneof![
        3 => [factor(0.5), factor(0.5), factor(0.5), factor(0.5)],
        1 => [factor(3.0), factor(3.0), factor(3.0), factor(2.0)],
    ]
}

prop_compose! {
    fn dynamic()(
        [wheel, lever, balance, torque] in masses(),
        still in prop_oneof![6 => Just(1.0), 1 => Just(0.0)],
        recoil in 1.0..1.5_f64,
        swing in prop_oneof![Just(0.0), 0.0..0.3_f64],
        pivot in prop_oneof![2 => Just(0.0), 1 => 0.0..1e-8_f64, 1 => 0.0..1e-6_f64],
        unbalance in prop_oneof![2 => Just(0.0), 1 => 0.0..1e-7_f64],
        turn in -3.0..3.0_f64,
        quality in prop_oneof![4 => 100.0..500.0_f64, 1 => 0.2..20.0_f64],
        heavy in prop_oneof![3 => Just(0.0), 1 => 0.0..1e-7_f64],
        frictions in [friction(), friction(), friction()],
        rebounds in [0.0..0.95_f64, 0.0..0.95_f64, 0.0..0.95_f64, 0.0..0.95_f64],
        keep in prop_oneof![3 => Just(5e-3), 1 => 1e-4..1e-2_f64],
    ) -> Dynamics {
        let mut d = dynamics();
        let beats = 28_800.0;
        d.wheel.inertia_kg_m2 *= wheel;
        d.wheel.torque_n_m *= torque * still;
        d.wheel.recoil_torque_n_m = d.wheel.torque_n_m * recoil;
        (d.wheel.swing_ratio, d.wheel.swing_rad) = (swing, turn);
        d.lever.inertia_kg_m2 *= lever;
        (d.lever.pivot_n_m, d.lever.unbalance_n_m, d.lever.unbalance_rad) = (pivot, unbalance, turn);
        d.balance = motion::Balance::tuned(1e-9 * balance, beats).with_losses(quality, 5.0, 0.7);
        (d.balance.heavy_spot_n_m, d.balance.heavy_spot_rad) = (heavy, turn);
        for (i, surface) in [&mut d.stone, &mut d.fork, &mut d.guard, &mut d.banking].into_iter().enumerate() {
            surface.rebound_ratio = rebounds[i];
            surface.friction_ratio = *frictions.get(i).unwrap_or(&0.0);
        }
        d.keep_m_per_s = keep;
        d
    }
}

prop_compose! {
    fn geometry()(
        run in [prop_oneof![-1.5..2.0_f64, 0.0..0.6_f64], prop_oneof![-1.5..2.0_f64, 0.0..0.6_f64]],
        lock in prop_oneof![3 => 1.0..2.0_f64, 1 => -0.5..4.0_f64],
        draw in prop_oneof![3 => 8.0..15.0_f64, 1 => -10.0..25.0_f64],
        round in prop_oneof![Just(0.0), 1e-6..2e-5_f64],
        out in prop_oneof![2 => Just([0.0; 2]), 1 => [-1e-4..1e-4_f64, -1e-4..1e-4_f64]],
        guard in prop_oneof![2 => Just(0.0), 1 => -1e-4..1e-4_f64],
        teeth in prop_oneof![3 => Just((15, 2.5)), 1 => (10..31_i32).prop_map(|n| (n, f64::from(n / 6) + 0.5))],
    ) -> Values {
        let mut v = values();
        for (i, p) in Pallet::BOTH.into_iter().enumerate() {
            v.set(K::BankingRun.at(p), run[i].to_radians());
            v.set(K::PalletLock.at(p), lock.to_radians());
            v.set(K::PalletDraw.at(p), draw.to_radians());
            v.set(K::StoneLockingRound.at(p), round);
            v.set(K::StoneLetOffRound.at(p), 2.0 * round);
            v.set(K::StoneOut.at(p), out[i]);
        }
        v.set(K::WheelToothCount.once(), f64::from(teeth.0));
        v.set(K::PalletsSpacesSpanned.once(), teeth.1);
        v.set(K::GuardBend.once(), guard);
        v
    }
}

fn asked() -> impl Strategy<Value = Asked> {
    let astray = [-1.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64];
    (geometry(), dynamic(), any::<bool>(), 20.0..700.0_f64, proptest::option::weighted(0.3, astray)).prop_map(
        |(values, dynamics, entry, amplitude_deg, astray)| Asked {
            values,
            dynamics,
            pallet: if entry { Pallet::Entry } else { Pallet::Exit },
            amplitude_rad: amplitude_deg.to_radians(),
            astray,
        },
    )
}

/// Where it starts: locked, or, where no tooth locks or it is to be astray, anywhere.
fn start(machine: &Machine, asked: &Asked) -> State {
    let locked = machine.locked(asked.pallet, asked.amplitude_rad);
    let from = locked.unwrap_or(State { balance_rad: asked.amplitude_rad, ..State::default() });
    let Some([wheel, lever, speed, lever_speed, balance_speed]) = asked.astray else { return from };
    State {
        wheel_rad: from.wheel_rad + 0.4 * wheel,
        lever_rad: 0.09 * lever,
        wheel_rad_per_s: 50.0 * speed,
        lever_rad_per_s: 50.0 * lever_speed,
        balance_rad_per_s: 100.0 * balance_speed,
        ..from
    }
}

fn finite(motion: &Motion) -> bool {
    let s = &motion.state;
    let state =
        [s.t_s, s.wheel_rad, s.lever_rad, s.balance_rad, s.wheel_rad_per_s, s.lever_rad_per_s, s.balance_rad_per_s];
    let events = motion.events.iter().all(|e| match *e {
        Event::Extreme { t_s, balance_rad } => t_s.is_finite() && balance_rad.is_finite(),
        Event::Advances { t_s } => t_s.is_finite(),
        Event::Shock(s) => s.t_s.is_finite() && s.speed_m_per_s.is_finite() && s.lost_j.is_finite(),
    });
    state.iter().chain(&motion.work_j).all(|x| x.is_finite()) && motion.energy_change_j.is_finite() && events
}

/// Two thousand motions, or with `PROPTEST_CASES` of 10,000 and more twenty thousand from a new seed.
#[test]
fn every_motion_ends_with_a_name() {
    let many = std::env::var("PROPTEST_CASES").ok().and_then(|c| c.parse::<u64>().ok()).is_some_and(|c| c >= 10_000);
    let wanted = if many { 20_000 } else { 2_000 };
    let seed = if many { RngSeed::Random } else { RngSeed::Fixed(0x5eed) };
    let mut runner = TestRunner::new(Config { rng_seed: seed, failure_persistence: None, ..Config::default() });
    let (mut played, mut undrawn) = (0, 0);
    let mut endings: BTreeMap<String, u32> = BTreeMap::new();
    let (mut without_numbers, mut given_up) = (Vec::new(), Vec::new());
    while played < wanted {
        let asked = asked().new_tree(&mut runner).expect("nothing is rejected").current();
        let Some(machine) = machine_of(&asked.values, asked.dynamics) else {
            undrawn += 1;
            assert!(undrawn < 10 * wanted, "hardly any of them can be drawn");
            continue;
        };
        let options = Options { most_steps: MOST_STEPS, ..Options::default() };
        let motion = machine.play(&start(&machine, &asked), 6, options);
        played += 1;
        *endings.entry(format!("{:?}", motion.ending)).or_default() += 1;
        if !finite(&motion) {
            without_numbers.push(format!("{} {:?} {:?}", played, motion.ending, motion.state));
        }
        if motion.ending == Ending::GivenUp {
            given_up.push(format!("{} at {:?} after {} events", played, motion.state, motion.events.len()));
        }
    }
    println!("{endings:?}; {undrawn} could not be drawn");
    assert!(without_numbers.is_empty(), "{} with what is no number: {without_numbers:#?}", without_numbers.len());
    // 3 of 2,000 were, of 20,000 31 and 41: contacts that come again at the same instant, under friction that no surface
    // has.
    assert!(given_up.len() * 1000 <= 3 * played, "{} given up: {given_up:#?}", given_up.len());
}
