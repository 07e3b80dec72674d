//! A motion that repeats itself only after a turn of the wheel: teeth that differ, a torque that rises and falls with it.

#[path = "support/machine.rs"]
mod machine;

use machine::{dynamics, machine, machine_of, values, with};
use motion::{Dynamics, Ending, Event, Figure, Machine, NotSteady, Options, Setting, Steady};
use movement::ParamKind as K;
use std::f64::consts::TAU;

/// The wheel has so many teeth.
const TEETH: usize = 15;

/// A balance that settles within a few turns of the wheel, near 260 deg.
fn lossy() -> Dynamics {
    let mut d = dynamics();
    d.balance = d.balance.with_losses(100.0, 5.0, 0.8);
    d.wheel.torque_n_m *= 2.0;
    d.wheel.recoil_torque_n_m *= 2.0;
    d
}

fn swinging(d: Dynamics, swing_ratio: f64) -> Dynamics {
    Dynamics { wheel: motion::Drive { swing_ratio, swing_rad: 0.7, ..d.wheel }, ..d }
}

fn steady(machine: &Machine) -> Steady {
    machine.steady(Options::default()).expect("it goes")
}

fn figure(path: &str, steady: &Steady) -> f64 {
    let setting = Setting { nominal_period_s: 0.25, balance: lossy().balance, lift_rad: 0.5, heard_lift_rad: 0.5 };
    Figure::from_path(path).and_then(|f| f.value(steady, &setting)).expect(path)
}

/// A torque that swings by nothing that matters is sought over a whole turn, and is the motion of two beats fifteen times.
#[test]
fn a_turn_of_like_teeth_is_two_beats_again_and_again() {
    let two = steady(&machine(lossy()));
    let turn = steady(&machine(swinging(lossy(), 1e-13)));
    assert_eq!((two.beats.len(), turn.beats.len()), (2, 2 * TEETH));
    let n = TEETH as f64;
    // Both searches leave 1e-4 deg.
    assert!((two.amplitude_rad() - turn.amplitude_rad()).abs() < 5e-6, "{two:?} {turn:?}");
    assert!((two.period_s - turn.period_s).abs() < 1e-9);
    for (one, all) in two.work_j.iter().zip(&turn.work_j) {
        assert!((n * one - all).abs() < 1e-5 * turn.work_j[0], "{one} {all} J");
    }
    // What is left after a turn is what is left after fifteen oscillations.
    let by_two = two.slope_ratio.powi(TEETH as i32);
    println!("slopes {} and {}", by_two, turn.slope_ratio);
    assert!((by_two - turn.slope_ratio).abs() < 0.02 * by_two, "{by_two} {}", turn.slope_ratio);
    assert_eq!((figure("repeat_oscillations", &two), figure("repeat_oscillations", &turn)), (1.0, n));
    for path in ["rate_s_per_day", "beat_error_ms", "efficiency_percent", "period_ms", "effective_lift_to_drop_deg"] {
        let (one, all) = (figure(path, &two), figure(path, &turn));
        assert!((one - all).abs() < 1e-5 * one.abs() + 1e-8, "{path}: {one} {all}");
    }
    let (one, all) = (figure("settling_oscillations", &two), figure("settling_oscillations", &turn));
    assert!((one - all).abs() < 0.02 * one, "{one} {all} oscillations");
    assert_eq!(figure("amplitude_spread_deg", &two), 0.0);
    assert!(figure("amplitude_spread_deg", &turn) < 1e-5 && figure("period_spread_ms", &turn) < 1e-9);
}

/// Small swings of the torque against the closed form of a linear recurrence.
///
/// About its fixed point the square of the amplitude goes by x' = s x + (1 - s) X' m cos(k d), X' = d(A^2)/d(ln M) of the
/// steady motion, m the swing, d the turn of one oscillation: it settles to a cosine of (1 - s) X' m / |e^(i d) - s|
/// (derived here). The mean stays to first order, and the drive is a mean over half a turn of a tooth: 1 % of the cosine.
#[test]
fn a_swing_of_the_torque_is_answered_as_by_a_linear_recurrence() {
    let swing = 0.01;
    let by = |part: f64| {
        let mut d = lossy();
        d.wheel.torque_n_m *= 1.0 + part;
        d.wheel.recoil_torque_n_m *= 1.0 + part;
        steady(&machine(d))
    };
    let (mean, less, more) = (by(0.0), by(-swing), by(swing));
    let per_part = (more.amplitude_rad().powi(2) - less.amplitude_rad().powi(2)) / (2.0 * swing);
    let (s, d) = (mean.slope_ratio, TAU / TEETH as f64);
    let far = ((d.cos() - s).powi(2) + d.sin().powi(2)).sqrt();
    let square = (1.0 - s) * per_part * swing / far;
    let swung = steady(&machine(swinging(lossy(), swing)));
    assert_eq!(swung.beats.len(), 2 * TEETH);
    // To second order only: a part of 1e-4.
    let change = swung.amplitude_rad() / mean.amplitude_rad() - 1.0;
    assert!(change.abs() < 3e-4, "{change}");
    // Fifteen points of a cosine come within 1 - cos(d/4), 0.5 %, of its ends.
    let expect = square / mean.amplitude_rad();
    let found = figure("amplitude_spread_deg", &swung);
    println!("spread found {found} rad, expected {expect} rad, slope {s}");
    assert!((found - expect).abs() < 0.03 * expect, "{found} {expect} rad");
}

/// A long tooth: what is sought is what comes by itself from another amplitude, beat by beat of the turn, and what is left
/// of the departure after a turn is the slope.
#[test]
fn a_long_tooth_is_followed_over_the_turn() {
    let values = with(values(), K::ToothLonger.tooth(3), 4e-6);
    let machine = machine_of(&values, lossy()).expect("a long tooth");
    let found = steady(&machine);
    assert_eq!((machine.repeats(), found.beats.len()), (TEETH, 2 * TEETH));
    let spread = figure("amplitude_spread_deg", &found);
    let swings: Vec<f64> = found.amplitudes_rad().map(f64::to_degrees).collect();
    println!("amplitudes {swings:?} deg, slope {}", found.slope_ratio);
    assert!(spread > 1e-4, "{spread} rad");
    // The mean period is what the turn takes.
    let turn_s: f64 = found.periods_s().sum();
    assert!((turn_s - TEETH as f64 * found.period_s).abs() < 1e-12);
    let departs = 0.02;
    let from = machine.locked(movement::Pallet::Entry, found.state.balance_rad.abs() + departs).expect("it locks");
    let once = machine.play(&from, 2 * TEETH, Options::default());
    let left = (once.state.balance_rad.abs() - found.state.balance_rad.abs()) / departs;
    println!("left {left} after a turn");
    // The slope changes over the departure, to first order by as much as amplitude does, 0.4 %, and as much again.
    assert!((left - found.slope_ratio).abs() < 0.03, "{left} {}", found.slope_ratio);
    let turns = 16;
    let motion = machine.play(&from, 2 * TEETH * turns, Options::default());
    assert_eq!(motion.ending, Ending::Played);
    let extremes: Vec<f64> = motion
        .events
        .iter()
        .filter_map(|e| if let Event::Extreme { balance_rad, .. } = e { Some(*balance_rad) } else { None })
        .collect();
    let last = &extremes[extremes.len() - 2 * TEETH..];
    for (k, (played, beat)) in last.iter().zip(&found.beats).enumerate() {
        // Of 0.02 rad a part slope^16 is left, below 1e-5.
        assert!((played - beat.extreme_rad).abs() < 2e-5, "beat {k}: {played} rad, {} rad", beat.extreme_rad);
    }
}

/// A tooth 0.08 mm short, by more than the lock is deep, lands on an impulse face: no turn is like the one before, and that is
/// said. One so short that it goes by has no state to begin with.
#[test]
fn a_tooth_that_does_not_lock_is_out_of_step() {
    let why = |longer_m: f64| {
        let values = with(values(), K::ToothLonger.tooth(3), longer_m);
        let machine = machine_of(&values, lossy()).expect("a short tooth");
        machine.steady(Options::default()).expect_err("a tooth does not lock")
    };
    let short = why(-3e-4);
    assert!(matches!(short, NotSteady::DoesNotLock), "{short:?}");
    let NotSteady::OutOfStep(motion) = why(-8e-5) else { panic!("{:?}", why(-8e-5)) };
    assert_eq!(motion.ending, Ending::Played);
}
