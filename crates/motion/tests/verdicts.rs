//! What becomes of a movement, by the event-driven motion and by the independent integration in tiny steps: whether it
//! goes, stands or runs through, and how many teeth pass. Movements good and bad, but none of which the lever is held by
//! friction alone against a tooth that pushes it off: the oracle's friction gives way slowly, and lets it creep.
#![allow(clippy::unwrap_used, dead_code)]

mod oracle {
    pub mod law;
    pub mod penalty;
    pub mod scene;
    pub mod touch;
}
#[path = "support/machine.rs"]
mod machine;

use machine::{dynamics, values};
use motion::{Balance, Dynamics, Ending, Event, Machine, Options, State};
use movement::{Pallet, ParamKind as K, Values};
use oracle::penalty::{Fineness, Happening, Oracle};
use parts::Parts;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngSeed, TestRunner};
use std::collections::BTreeMap;
use std::io::Write;

/// Balance turns that are played.
const BEATS: usize = 4;
/// A verdict that changes with this, of the amplitude, torque and frictions, is on the edge of another: a ratio, chosen.
const EDGE_RATIO: f64 = 0.01;
/// So much longer than the event-driven run the oracle is watched where that came to stand, s: two beats.
const WATCHED_S: f64 = 0.25;
/// A balance that turns back by less than this where the oracle's friction gives way is taken to stand, rad: chosen.
const TREMBLES_RAD: f64 = 0.01;
/// Softer than in `tests/oracle.rs`, since a verdict needs no tenth of a degree. A verdict that is another with soft springs
/// is looked at again with stiffer ones: what is locked by a few thousandths of a millimetre gives way to soft ones.
const FINENESS: [Fineness; 2] = [springs(2e5, 4e-8), springs(5e6, 8e-9)];

const fn springs(n_per_m: f64, step_s: f64) -> Fineness {
    Fineness {
        jewel_n_per_m: n_per_m,
        others_n_per_m: n_per_m,
        bears_ratio: 1.0,
        bears_s: 1.0,
        slip_m_per_s: 3e-4,
        step_s,
    }
}

/// What becomes of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Verdict {
    /// The balance turns as often as was asked.
    Goes { teeth: i64 },
    /// All comes to rest before.
    Stands { teeth: i64 },
    /// The wheel turns round without the balance.
    RunsThrough,
    /// The event-driven run says something else.
    Other(&'static str),
}

/// A movement, and how it is started.
#[derive(Clone, Debug)]
struct Tried {
    values: Values,
    dynamics: Dynamics,
    amplitude_rad: f64,
}

fn tried() -> impl Strategy<Value = Tried> {
    let out = prop_oneof![2 => Just([0.0; 2]), 1 => [-1.5e-4..6e-5_f64, -1.5e-4..6e-5_f64]];
    let geometry = ([0.1..0.8_f64, 0.1..0.8_f64], -0.3..3.0_f64, 1.0..18.0_f64, out);
    let quality = prop_oneof![4 => 60.0..400.0_f64, 1 => 0.3..6.0_f64];
    let power = (0.02..4.0_f64, [0.5..3.0_f64, 0.5..3.0_f64], quality, [0.0..0.35_f64, 0.0..0.35_f64]);
    (geometry, power, 5.0..330.0_f64).prop_map(
        |((run, lock, draw, out), (torque, [wheel, lever], quality, friction), amplitude_deg)| {
            let mut v = values();
            for (i, p) in Pallet::BOTH.into_iter().enumerate() {
                v.set(K::BankingRun.at(p), run[i].to_radians());
                v.set(K::PalletLock.at(p), lock.to_radians());
                v.set(K::PalletDraw.at(p), draw.to_radians());
                v.set(K::StoneOut.at(p), out[i]);
            }
            let mut d = dynamics();
            d.wheel.torque_n_m *= torque;
            d.wheel.recoil_torque_n_m = 1.05 * d.wheel.torque_n_m;
            d.wheel.inertia_kg_m2 *= wheel;
            d.lever.inertia_kg_m2 *= lever;
            d.balance = Balance::tuned(1e-9, 28_800.0).with_losses(quality, 5.0, 0.7);
            (d.stone.friction_ratio, d.fork.friction_ratio) = (friction[0], friction[1]);
            Tried { values: v, dynamics: d, amplitude_rad: amplitude_deg.to_radians() }
        },
    )
}

/// The drawn movement, with the bankings that it has.
struct Drawn {
    parts: Parts,
    machine: Machine,
    pitch_rad: f64,
}

impl Drawn {
    fn new(tried: &Tried) -> Option<Drawn> {
        let parts = parts::build(&tried.values).ok()?.parts;
        let action = action::solve(&parts, &mut action::Scratch::default());
        let machine = Machine::new(&parts, &action, tried.dynamics).expect("dynamics that something can have");
        Some(Drawn { pitch_rad: parts.wheel.pitch_rad(), parts, machine })
    }

    /// Teeth by which the wheel went on, in whole ones.
    fn teeth(&self, from: &State, to: &State) -> i64 {
        // Half a tooth at each beat; what the run to the banking and the recoil take of it is less than a quarter.
        (2.0 * (from.wheel_rad - to.wheel_rad) / self.pitch_rad).round() as i64
    }

    /// Where it starts; nowhere where no tooth locks.
    fn start(&self, amplitude_rad: f64) -> Option<State> {
        self.machine.locked(Pallet::Entry, amplitude_rad)
    }

    /// By the event-driven run: the verdict, and when it was reached.
    fn event_driven(&self, machine: &Machine, from: &State) -> (Verdict, f64) {
        let motion = machine.play(from, BEATS, Options::default());
        let to = &motion.state;
        let verdict = match motion.ending {
            Ending::Played => Verdict::Goes { teeth: self.teeth(from, to) },
            Ending::Stands => Verdict::Stands { teeth: self.teeth(from, to) },
            Ending::RunsThrough => Verdict::RunsThrough,
            Ending::Jams => Verdict::Other("jams"),
            Ending::BeyondBankings => Verdict::Other("beyond bankings"),
            Ending::GivenUp => Verdict::Other("given up"),
        };
        let turns = motion.events.iter().filter(|e| matches!(e, Event::Extreme { .. })).count();
        assert!(motion.ending != Ending::Played || turns == BEATS, "{turns}");
        (verdict, to.t_s)
    }

    /// By the oracle, watched until an instant.
    fn penalised(&self, dynamics: Dynamics, fineness: Fineness, from: &State, until_s: f64) -> Verdict {
        let mut oracle = Oracle::new(&self.parts, dynamics, fineness, from);
        let (mut turned_at_rad, mut turned_rad) = (from.wheel_rad, from.balance_rad);
        let mut turns = 0;
        while turns < BEATS && oracle.state().t_s < until_s {
            oracle.advance();
            let wheel_rad = oracle.state().wheel_rad;
            for happening in oracle.happenings.drain(..) {
                let Happening::Extreme { balance_rad } = happening else { continue };
                if (balance_rad - turned_rad).abs() > TREMBLES_RAD {
                    turned_rad = balance_rad;
                    turned_at_rad = wheel_rad;
                    turns += 1;
                }
            }
            if (wheel_rad - turned_at_rad).abs() > std::f64::consts::TAU {
                return Verdict::RunsThrough;
            }
        }
        let to = oracle.state();
        if turns < BEATS {
            return Verdict::Stands { teeth: self.teeth(from, &to) };
        }
        Verdict::Goes { teeth: self.teeth(from, &to) }
    }
}

/// The same a little changed, each way of changing it by itself.
fn neighbours(tried: &Tried) -> impl Iterator<Item = Tried> + '_ {
    let ways: [fn(&mut Tried, f64); 4] = [
        |t, by| t.amplitude_rad *= by,
        |t, by| {
            t.dynamics.wheel.torque_n_m *= by;
            t.dynamics.wheel.recoil_torque_n_m *= by;
        },
        |t, by| t.dynamics.stone.friction_ratio *= by,
        |t, by| t.dynamics.fork.friction_ratio *= by,
    ];
    ways.into_iter().flat_map(move |way| {
        [1.0 - EDGE_RATIO, 1.0 + EDGE_RATIO].map(|by| {
            let mut other = tried.clone();
            way(&mut other, by);
            other
        })
    })
}

/// Ten movements, or with `PROPTEST_CASES` of 10,000 and more two hundred.
#[test]
fn verdicts_are_those_of_the_oracle() {
    let many = std::env::var("PROPTEST_CASES").ok().and_then(|c| c.parse::<u64>().ok()).is_some_and(|c| c >= 10_000);
    let wanted = if many { 200 } else { 10 };
    let mut runner =
        TestRunner::new(Config { rng_seed: RngSeed::Fixed(0xbea7), failure_persistence: None, ..Config::default() });
    let (mut compared, mut undrawn, mut edges, mut again) = (0, 0, 0, 0);
    let mut seen: BTreeMap<Verdict, usize> = BTreeMap::new();
    let mut wrong = Vec::new();
    while compared < wanted {
        let tried = tried().new_tree(&mut runner).expect("nothing is rejected").current();
        let drawn = Drawn::new(&tried);
        let Some((drawn, from)) = drawn.and_then(|d| d.start(tried.amplitude_rad).map(|s| (d, s))) else {
            undrawn += 1;
            assert!(undrawn < 20 * wanted, "hardly any of them can be drawn and locks");
            continue;
        };
        let (verdict, at_s) = drawn.event_driven(&drawn.machine, &from);
        let same = |other: Tried| {
            let other = (Drawn::new(&other).unwrap(), other.amplitude_rad);
            other.0.start(other.1).is_some_and(|s| other.0.event_driven(&other.0.machine, &s).0 == verdict)
        };
        if !neighbours(&tried).all(same) {
            edges += 1;
            continue;
        }
        compared += 1;
        *seen.entry(verdict).or_default() += 1;
        let until_s = if matches!(verdict, Verdict::Goes { .. }) { 2.0 * at_s } else { at_s + WATCHED_S };
        let theirs = |fineness| drawn.penalised(tried.dynamics, fineness, &from, until_s);
        if theirs(FINENESS[0]) != verdict {
            again += 1;
            let finer = theirs(FINENESS[1]);
            if finer != verdict {
                let amplitude_deg = tried.amplitude_rad.to_degrees();
                wrong.push(format!("{compared}: {verdict:?} and {finer:?}, from {amplitude_deg:.1} deg: {tried:?}"));
            }
        }
    }
    let said = format!("{seen:?}; {undrawn} not drawn or not locking, {edges} on an edge, {again} looked at again");
    let _ = writeln!(std::io::stderr(), "{said}");
    assert!(wrong.is_empty(), "{} of {compared}: {wrong:#?}; {said}", wrong.len());
}
