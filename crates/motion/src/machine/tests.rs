//! A movement seen in a mirror: the wheel turns the other way, and everything else is the same.
//!
//! No movement file states such a movement, in which the wheel advances anticlockwise: its parts are reflected here, and the
//! drive is reversed behind the back of [`Dynamics::check`].

use action::{Action, Scratch};
use movement::{Pallet, ParamKind as K};
use parts::{Body, Face, Parts};
use plane::{Feature, Flat, Round, Shape, Vector};
use std::f64::consts::PI;

use crate::balance::Balance;
use crate::beat::beats;
use crate::dynamics::{Drive, Dynamics, LeverMass, Surface};
use crate::machine::{Ending, Machine, Motion, State};
use crate::runner::{Event, Options};

/// A point or a direction in the mirror, from the side.
type Mirror = fn(Vector) -> Vector;

/// Of the drawing, and of all that stands upright in it at angle 0.
fn across(v: Vector) -> Vector {
    Vector::new(-v.x, v.y)
}

/// Of the roller, whose jewel points along its first axis at angle 0.
fn along(v: Vector) -> Vector {
    Vector::new(v.x, -v.y)
}

/// Walking the other way keeps the material on the left, and normals that turn anticlockwise.
fn reflected(feature: &Feature, mirror: Mirror) -> Feature {
    let shape = match feature.shape {
        Shape::Flat(f) => {
            Shape::Flat(Flat { start: mirror(f.start + f.along * f.length), along: -mirror(f.along), length: f.length })
        }
        Shape::Round(r) => {
            Shape::Round(Round { centre: mirror(r.centre), from: mirror(r.to), to: mirror(r.from), ..r })
        }
    };
    Feature { shape, ..*feature }
}

fn reflect(body: &mut Body, mirror: Mirror) {
    for feature in &mut body.features {
        *feature = reflected(feature, mirror);
    }
}

fn mirrored(parts: &Parts, action: &Action) -> (Parts, Action) {
    let (mut parts, mut action) = (parts.clone(), action.clone());
    let c = &mut parts.centres;
    for centre in [&mut c.wheel_m, &mut c.pallet_m, &mut c.balance_m] {
        *centre = across(*centre);
    }
    parts.wheel.teeth.iter_mut().for_each(|tooth| reflect(tooth, across));
    for p in Pallet::BOTH {
        let stone = &mut parts.lever.stones[p];
        stone.locking_corner_m = across(stone.locking_corner_m);
        reflect(&mut stone.body, across);
        reflect(&mut parts.bankings[p], across);
        action.bankings_rad[p] = action.bankings_rad[p].map(|rad| -rad);
    }
    reflect(&mut parts.lever.fork, across);
    reflect(&mut parts.lever.guard, across);
    reflect(&mut parts.roller.jewel, along);
    reflect(&mut parts.roller.safety, along);
    parts.roller.rest_rad = -parts.roller.rest_rad;
    parts.line_rad = PI - parts.line_rad;
    (parts, action)
}

fn other_way(state: &State) -> State {
    State {
        t_s: state.t_s,
        wheel_rad: -state.wheel_rad,
        lever_rad: -state.lever_rad,
        balance_rad: -state.balance_rad,
        wheel_rad_per_s: -state.wheel_rad_per_s,
        lever_rad_per_s: -state.lever_rad_per_s,
        balance_rad_per_s: -state.balance_rad_per_s,
    }
}

/// Assumed, as in `tests/support/machine.rs`; the heavy point and the lever's unbalance are mirrored by hand.
fn dynamics() -> Dynamics {
    let surface = |friction_ratio, rebound_ratio| Surface { friction_ratio, rebound_ratio };
    let mut balance = Balance::tuned(1.0e-9, 28_800.0).with_losses(280.0, 300_f64.to_radians(), 0.8);
    (balance.heavy_spot_n_m, balance.heavy_spot_rad) = (2e-9, 0.4);
    Dynamics {
        wheel: Drive {
            inertia_kg_m2: 1.8e-11,
            torque_n_m: 1.2e-6,
            recoil_torque_n_m: 1.2e-6,
            swing_ratio: 0.0,
            swing_rad: 0.0,
        },
        lever: LeverMass { inertia_kg_m2: 1.6e-11, pivot_n_m: 1e-9, unbalance_n_m: 3e-9, unbalance_rad: 0.2 },
        balance,
        stone: surface(0.12, 0.3),
        fork: surface(0.1, 0.3),
        guard: surface(0.1, 0.3),
        banking: surface(0.0, 0.3),
        keep_m_per_s: 5e-3,
    }
}

/// The movement out of beat by the turn of its roller, itself and in the mirror, from the same state.
fn both(turn_rad: f64, extremes: usize) -> [Motion; 2] {
    let text = include_str!("../../../../examples/handbook-1904-equidistant.toml");
    let mut values = movement::read("handbook-1904-equidistant.toml", text).statement.values;
    for p in Pallet::BOTH {
        values.set(K::BankingRun.at(p), 0.3_f64.to_radians());
    }
    values.set(K::RollerTurn.once(), turn_rad);
    let build = parts::build(&values).expect("the handbook's movement can be drawn");
    let action = action::solve(&build.parts, &mut Scratch::default());
    let options = Options { step_error_ratio: 1e-10, ..Options::default() };
    let own = Machine::new(&build.parts, &action, dynamics()).expect("dynamics that something can have");
    let from = own.locked(Pallet::Entry, 4.6).expect("it locks");
    let (parts, action) = mirrored(&build.parts, &action);
    let mut other = Machine::new(&parts, &action, dynamics()).expect("dynamics that something can have");
    let d = &mut other.dynamics;
    for torque in [&mut d.wheel.torque_n_m, &mut d.wheel.recoil_torque_n_m] {
        *torque = -*torque;
    }
    d.balance.heavy_spot_rad = -d.balance.heavy_spot_rad;
    d.lever.unbalance_rad = -d.lever.unbalance_rad;
    [own.play(&from, extremes, options), other.play(&other_way(&from), extremes, options)]
}

/// Every shock at the same instant between the same faces with the same loss, every extreme on the other side, the works by
/// place the same, the beats of each pallet the same. The angle out of beat is the same too, since it is counted from the
/// entry pallet's beat; the jewel at rest stands on the other side.
#[test]
fn in_the_mirror_everything_is_the_same_the_other_way_round() {
    for turn_rad in [0.0, 0.06] {
        let [own, other] = both(turn_rad, 6);
        assert_eq!((own.ending, other.ending), (Ending::Played, Ending::Played));
        // The instant at which the wheel begins to advance is told of wheels that turn clockwise alone.
        let told = |motion: &Motion| -> Vec<Event> {
            motion.events.iter().copied().filter(|e| !matches!(e, Event::Advances { .. })).collect()
        };
        let (a, b) = (told(&own), told(&other));
        assert_eq!(a.len(), b.len());
        let (mut shocks, mut worst_s) = (0, 0.0_f64);
        for (a, b) in a.iter().zip(&b) {
            match (a, b) {
                (Event::Shock(a), Event::Shock(b)) => {
                    shocks += 1;
                    worst_s = worst_s.max((a.t_s - b.t_s).abs());
                    assert_eq!((a.meeting, a.faces), (b.meeting, b.faces));
                    // A horn round the balance's axis drives the balance neither on nor back: rounding says which.
                    assert!(a.drives_balance == b.drives_balance || a.faces[1] == Face::Horn, "{a:?} {b:?}");
                    assert!((a.speed_m_per_s - b.speed_m_per_s).abs() < 1e-6 * a.speed_m_per_s + 1e-9, "{a:?} {b:?}");
                    assert!((a.lost_j - b.lost_j).abs() < 1e-6 * own.work_j[0], "{a:?} {b:?}");
                }
                (Event::Extreme { t_s, balance_rad }, Event::Extreme { t_s: t2_s, balance_rad: other_rad }) => {
                    worst_s = worst_s.max((t_s - t2_s).abs());
                    assert!((balance_rad + other_rad).abs() < 1e-8, "{balance_rad} {other_rad} rad");
                }
                _ => panic!("{a:?} {b:?}"),
            }
        }
        println!("roller turned {turn_rad} rad: {shocks} shocks, instants differ by {worst_s:e} s");
        assert!(shocks > 30 && worst_s < 1e-12, "{shocks} shocks, {worst_s:e} s");
        for (a, b) in own.work_j.iter().zip(&other.work_j) {
            assert!((a - b).abs() < 1e-6 * own.work_j[0], "{a:e} {b:e} J");
        }
        let back = other_way(&other.state);
        assert!((own.state.wheel_rad - back.wheel_rad).abs() < 1e-8);
        assert!((own.state.lever_rad - back.lever_rad).abs() < 1e-8);
        // What an instrument would say of both.
        let heard = [&own, &other].map(|motion| {
            let listening = ::beat::Listening::new(0.125).lift(0.55, ::beat::Shock::Drop);
            ::beat::figures(&crate::train(&beats(&motion.events, Pallet::Entry)), &listening).expect("six beats")
        });
        let angle = heard.map(|figures| figures.beat_angle_rad.expect("a model knows the amplitude"));
        assert!((angle[0] - angle[1]).abs() < 1e-7, "{angle:?} rad");
        let rates = heard.map(|figures| figures.rate_ratio.value_si);
        assert!((rates[0] - rates[1]).abs() < 1e-9, "{rates:?}");
        let firsts = [&own, &other].map(|motion| beats(&motion.events, Pallet::Entry));
        for (a, b) in firsts[0].iter().zip(&firsts[1]) {
            assert_eq!(a.pallet, b.pallet);
            let instants =
                |beat: &crate::Beat| [beat.unlocking_s, beat.drop_s, beat.banking_s].map(|t| t.expect("it came"));
            for (a, b) in instants(a).iter().zip(instants(b)) {
                assert!((a - b).abs() < 1e-9, "{a} {b} s");
            }
        }
    }
}
