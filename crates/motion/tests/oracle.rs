//! The event-driven motion against an independent integration in tiny steps, every contact a stiff spring: beat by beat,
//! and at the steady amplitude. docs/theory/oracle.md has the law, its calibration and the convergence.
#![allow(clippy::unwrap_used)]

mod oracle {
    pub mod beats;
    pub mod cases;
    pub mod law;
    pub mod penalty;
    pub mod scene;
    pub mod touch;
}

use motion::{Ending, Options, State};
use movement::Pallet;
use oracle::beats::{Beat, event_driven, penalised};
use oracle::cases::{Case, cases, irregular};
use oracle::law::{damping_ratio, press_n};
use oracle::penalty::{Fineness, Happening, Oracle};
use oracle::scene::Scene;
use plane::{Pose, smallest_gap};
use std::io::Write;

/// Largest departures from the oracle: of the steady amplitude, of the rate, of an instant of a beat.
const AMPLITUDE_DEG: f64 = 0.2;
const RATE_S_PER_DAY: f64 = 0.1;
const INSTANT_S: f64 = 0.03e-3;
/// What another law of blows may make of the steady amplitude: the bound asked for; 0.38 was found.
const OTHER_LAW_DEG: f64 = 0.5;

/// Beats after which the event-driven run has settled: a difference falls to a third in 90 at most, by the losses alone.
const SETTLING_BEATS: usize = 1000;

/// As fine as an ordinary run can afford.
const FINE: Fineness = Fineness {
    jewel_n_per_m: 1e7,
    others_n_per_m: 1e7,
    bears_ratio: 30.0,
    bears_s: 15e-6,
    slip_m_per_s: 3e-4,
    step_s: 5e-9,
};

/// Says something whether or not the test passes: what a test prints is shown only when it fails.
fn say(text: &str) {
    let _ = writeln!(std::io::stderr(), "{text}");
}

/// Whether the long checks are asked for; says so when they are not.
fn is_long(what: &str) -> bool {
    let cases = std::env::var("PROPTEST_CASES").ok().and_then(|c| c.parse::<u64>().ok());
    let long = cases.is_some_and(|c| c >= 10_000);
    if !long {
        say(&format!("not run: {what} (runs with PROPTEST_CASES=10000 or more, as in test.sh --long)"));
    }
    long
}

fn locked(case: &Case) -> State {
    case.machine.locked(Pallet::Entry, case.begin_rad).unwrap()
}

/// The event-driven run's own steady state, at an extreme, with time begun anew.
fn settled(case: &Case) -> State {
    let motion = case.machine.play(&locked(case), SETTLING_BEATS, Options::default());
    assert_eq!(motion.ending, Ending::Played, "{}", case.name);
    State { t_s: 0.0, ..motion.state }
}

/// The same beats by both ways.
fn both(case: &Case, from: &State, beats: usize, fineness: Fineness) -> Vec<(Beat, Beat)> {
    let mut oracle = Oracle::new(&case.parts, case.dynamics, fineness, from);
    let mut at = *from;
    let mut one = || {
        let (beat, next) = event_driven(case, &at);
        at = next;
        (beat, penalised(&mut oracle))
    };
    (0..beats).map(|_| one()).collect()
}

/// What the amplitude gains in an oscillation for each degree that it lies above the steady one: measured on the
/// event-driven run, a degree above and below.
fn gain_slope(case: &Case, steady: &State) -> f64 {
    let gained_rad = |by_rad: f64| {
        let balance_rad = steady.balance_rad + by_rad.copysign(by_rad * steady.balance_rad);
        let end = case.machine.play(&State { balance_rad, ..*steady }, 2, Options::default()).state;
        end.balance_rad.abs() - balance_rad.abs()
    };
    let by_rad = 1.0_f64.to_radians();
    (gained_rad(by_rad) - gained_rad(-by_rad)) / (2.0 * by_rad)
}

/// How the oracle departs from the event-driven run that begins with it in the latter's steady state.
struct Departure {
    /// Of the steady amplitude.
    amplitude_deg: f64,
    rate_s_per_day: f64,
    /// Largest of the instants; no number where one is missing.
    instant_s: f64,
}

/// An amplitude that differs by `d` after n oscillations from one start, with a slope s of the gain, belongs to a steady
/// one that differs by `d / (1 - (1 + s)^n)`: each oscillation leaves `1 + s` of a distance from it.
fn departure(case: &Case, steady: &State, slope: f64, fineness: Fineness) -> Departure {
    let oscillations = 2;
    let beats = both(case, steady, 2 * oscillations, fineness);
    let ahead_rad = |(e, o): &(Beat, Beat)| o.extreme_rad.abs() - e.extreme_rad.abs();
    let last_rad = 0.5 * (ahead_rad(&beats[2 * oscillations - 2]) + ahead_rad(&beats[2 * oscillations - 1]));
    let (e, o) = beats[2 * oscillations - 1];
    let mut late_s: Vec<f64> = beats.iter().flat_map(differences).map(|(_, by_s)| by_s.abs()).collect();
    late_s.sort_by(f64::total_cmp); // no number comes last
    Departure {
        amplitude_deg: (last_rad / (1.0 - (1.0 + slope).powi(oscillations as i32))).to_degrees(),
        rate_s_per_day: 86_400.0 * (e.extreme_s - o.extreme_s) / (e.extreme_s - steady.t_s),
        instant_s: late_s[late_s.len() - 1],
    }
}

/// By how much each instant of the oracle's beat is later.
fn differences((e, o): &(Beat, Beat)) -> [(&'static str, f64); 4] {
    let (e, o) = (e.instants(), o.instants());
    [0, 1, 2, 3].map(|k| (e[k].0, o[k].1 - e[k].1))
}

/// The damper that the law gives makes two bodies separate at the restitution stated, at any speed and mass, with friction
/// and without: a body that moves in two directions, struck along a slanting one.
#[test]
fn a_blow_gives_back_what_is_stated() {
    for rebound in [0.05, 0.2, 0.3, 0.6, 0.9] {
        for (speed, friction) in [(1e-3, 0.0), (0.2, 0.0), (0.2, 0.2)] {
            let light = [1.0 / 2e-6, 1.0 / 7e-6];
            let (w, t) = ([0.8, 0.6], [-0.6, 0.8]);
            let dot = |a: [f64; 2], b: [f64; 2]| a[0] * b[0] + a[1] * b[1];
            let push = [0, 1].map(|k| light[k] * (w[k] - friction * t[k]));
            let mass = 1.0 / dot(w, push);
            let mut v = [0, 1].map(|k| -speed * w[k] + 10.0 * speed * t[k]);
            let (stiffness, damping, h) = (1e6, damping_ratio(rebound), 1e-9);
            let (mut gap, mut before) = (0.0, v);
            loop {
                let now = [0, 1].map(|k| 1.5 * v[k] - 0.5 * before[k]);
                let force = press_n(stiffness, damping, mass, -gap, dot(w, now));
                if force == 0.0 && gap < 0.0 && dot(w, now) > 0.0 {
                    break;
                }
                before = v;
                for k in 0..2 {
                    v[k] += h * force * push[k];
                }
                gap += h * dot(w, v);
            }
            let found = dot(w, v) / speed;
            assert!((found - rebound).abs() < 2e-3, "{rebound} at {speed} m/s, friction {friction}: {found}");
        }
    }
}

/// Two routes to the gap of jewel and fork: own code, and `plane::smallest_gap`, over the notch and round the horns.
#[test]
fn gaps_are_those_of_the_plane() {
    let mut compared = 0;
    for case in cases() {
        let (parts, scene) = (&case.parts, Scene::new(&case.parts));
        let posed = |body: &parts::Body, pose: &Pose| body.features.iter().map(|f| f.posed(pose)).collect::<Vec<_>>();
        for step in 0..400 {
            let (lever, balance) = (0.09 * f64::from(step * 37 % 400 - 200) / 200.0, 0.02 * f64::from(step - 200));
            let fork = posed(&parts.lever.fork, &parts.lever_pose(lever));
            let jewel = posed(&parts.roller.jewel, &parts.roller_pose(balance + parts.roller.rest_rad));
            let found = smallest_gap(&jewel, &fork, |_| false).unwrap().distance;
            let own = scene.jewel_clear_m(&[0.0, lever, balance]);
            if own > 0.0 {
                assert!((own - found).abs() < 1e-15, "{}: {lever} {balance}: {own} {found}", case.name);
                compared += 1;
            }
        }
    }
    assert!(compared > 1000, "{compared}");
}

/// Energy is drawn from the train, rubbed away and damped away, and nowhere else: the springs push as the gaps change.
#[test]
fn the_oracle_keeps_account_of_energy() {
    for case in cases() {
        let mut oracle = Oracle::new(&case.parts, case.dynamics, FINE, &locked(&case));
        let before_j = oracle.energy_j();
        oracle.play(1);
        let l = oracle.ledger;
        let lost_j = l.air_j + l.pivots_j + l.friction_j.iter().chain(&l.damping_j).sum::<f64>();
        let left_j = oracle.energy_j() - before_j - l.drive_j + lost_j;
        assert!(left_j.abs() < 1e-4 * lost_j, "{}: {left_j:e} J of {lost_j:e}", case.name);
        assert!(l.friction_j.iter().chain(&l.damping_j).all(|&j| j > -1e-6 * lost_j), "{}: {l:?}", case.name);
    }
}

/// From locking at rest: the instants of every beat.
#[test]
fn beats_agree() {
    for case in cases() {
        for (at, pair) in both(&case, &locked(&case), 3, FINE).iter().enumerate() {
            for (instant, by_s) in differences(pair) {
                assert!(by_s.abs() < INSTANT_S, "{}, beat {at}: {instant} {:.3} us later", case.name, 1e6 * by_s);
            }
            let by_deg = (pair.1.extreme_rad.abs() - pair.0.extreme_rad.abs()).to_degrees();
            assert!(by_deg.abs() < 0.01 * (at + 1) as f64, "{}, beat {at}: {by_deg:.4} deg more", case.name);
        }
    }
}

/// From the event-driven run's steady state: the oracle's own lies as near as can be asked.
#[test]
fn steady_states_agree() {
    let mut told = String::new();
    for case in cases() {
        let steady = settled(&case);
        let slope = gain_slope(&case, &steady);
        let d = departure(&case, &steady, slope, FINE);
        let quality = case.dynamics.balance.quality_ratio(steady.balance_rad.abs());
        told += &format!(
            "{}: {:.3} deg, slope {slope:.4} (losses alone {:.4}); the oracle {:+.3} deg, {:+.4} s/d, instants {:.2} us\n",
            case.name,
            steady.balance_rad.abs().to_degrees(),
            (-std::f64::consts::TAU / quality).exp_m1(),
            d.amplitude_deg,
            d.rate_s_per_day,
            1e6 * d.instant_s,
        );
        assert!(slope < 0.0 && slope > -0.2, "{told}");
        assert!(d.amplitude_deg.abs() < AMPLITUDE_DEG, "{told}");
        assert!(d.rate_s_per_day.abs() < RATE_S_PER_DAY, "{told}");
        assert!(d.instant_s < INSTANT_S, "{told}");
    }
    println!("{told}");
}

/// The oracle comes to the event-driven run as its springs stiffen, and does not depend on its steps and on the slip at
/// which friction is whole. Writes the tables of docs/theory/oracle.md.
#[test]
fn the_oracle_converges() {
    if !is_long("convergence of the oracle over stiffness, step and slip, 3 minutes of one core") {
        return;
    }
    let at = |n_per_m: f64| {
        let bears_s = FINE.bears_s * (1e7 / n_per_m).sqrt();
        Fineness { jewel_n_per_m: n_per_m, others_n_per_m: n_per_m, bears_s, ..FINE }
    };
    for case in cases() {
        let steady = settled(&case);
        let slope = gain_slope(&case, &steady);
        let departs = |what: &str, fineness: Fineness| {
            let d = departure(&case, &steady, slope, fineness);
            say(&format!(
                "| {} | {what} | {:+.3} | {:+.4} | {:.2} |",
                case.name,
                d.amplitude_deg,
                d.rate_s_per_day,
                1e6 * d.instant_s
            ));
            d
        };
        let by_stiffness: Vec<f64> =
            [1e4, 1e5, 1e6, 1e7].iter().map(|&k| departs(&format!("{k:.0e} N/m"), at(k)).amplitude_deg).collect();
        // Errors go with the duration of a blow, the root of the stiffness.
        let root = 10.0_f64.sqrt();
        let limit_deg = (root * by_stiffness[3] - by_stiffness[2]) / (root - 1.0);
        say(&format!("| {} | extrapolated | {limit_deg:+.3} | | |", case.name));
        assert!(limit_deg.abs() < AMPLITUDE_DEG, "{}: {limit_deg}", case.name);
        let variants = [
            ("half the step", Fineness { step_s: 0.5 * FINE.step_s, ..FINE }),
            ("a third of the slip", Fineness { slip_m_per_s: FINE.slip_m_per_s / 3.0, step_s: 2e-9, ..FINE }),
            ("bearing contacts 100 times stiffer", Fineness { bears_ratio: 100.0, step_s: 3e-9, ..FINE }),
        ];
        for (what, fineness) in variants {
            let found_deg = departs(what, fineness).amplitude_deg;
            assert!((found_deg - by_stiffness[3]).abs() < AMPLITUDE_DEG, "{}: {what} {found_deg}", case.name);
        }
        // Not another fineness but another law of blows: contacts that bear give way like any other.
        let others = [
            ("bearing contacts no stiffer", Fineness { bears_ratio: 1.0, ..FINE }),
            ("and the jewel's 10 times softer", Fineness { bears_ratio: 1.0, jewel_n_per_m: 1e6, ..FINE }),
        ];
        for (what, fineness) in others {
            let found_deg = departs(what, fineness).amplitude_deg;
            assert!(found_deg.abs() < OTHER_LAW_DEG, "{}: {what} {found_deg}", case.name);
        }
    }
}

/// Where a beat hangs on nanometres the two part within a few beats; their mean amplitudes stay together.
#[test]
fn irregular_motions_have_the_same_mean() {
    if !is_long("mean amplitude of irregular motions, 3 minutes of one core") {
        return;
    }
    for (case, by_deg) in irregular() {
        let steady = settled(&case);
        let (settling, counted) = (120, 160);
        let mean =
            |turns: &mut dyn Iterator<Item = f64>| turns.map(f64::abs).sum::<f64>().to_degrees() / counted as f64;
        let motion = case.machine.play(&steady, counted, Options::default());
        let event_driven_deg = mean(&mut motion.events.iter().filter_map(|e| match e {
            motion::Event::Extreme { balance_rad, .. } => Some(*balance_rad),
            _ => None,
        }));
        let mut oracle = Oracle::new(&case.parts, case.dynamics, FINE, &steady);
        oracle.play(settling);
        oracle.happenings.clear();
        oracle.play(counted);
        let oracle_deg = mean(&mut oracle.happenings.iter().filter_map(|h| match h {
            Happening::Extreme { balance_rad, .. } => Some(*balance_rad),
            _ => None,
        }));
        say(&format!("| {} | {event_driven_deg:.2} | {oracle_deg:.2} |", case.name));
        let found_deg = oracle_deg - event_driven_deg;
        assert!(found_deg.abs() < by_deg, "{}: {found_deg:+.2} deg", case.name);
    }
}
