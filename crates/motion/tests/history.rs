//! The states shown along a motion are those of the motion.

#[path = "support/machine.rs"]
mod machine;

use machine::{dynamics, machine, values};
use motion::{Dynamics, Event, Meeting, Moment, Options, Place, Press, State};
use movement::Pallet;
use parts::Parts;
use plane::{Vector, cross, quarter};

const EVERY_S: f64 = 1e-4;

fn angles(state: &State) -> [f64; 3] {
    [state.wheel_rad, state.lever_rad, state.balance_rad]
}

fn speeds(state: &State) -> [f64; 3] {
    [state.wheel_rad_per_s, state.lever_rad_per_s, state.balance_rad_per_s]
}

fn along(from: &State, extremes: usize) -> (motion::Motion, Vec<Moment>) {
    along_every(from, extremes, EVERY_S, dynamics())
}

fn along_every(from: &State, extremes: usize, every_s: f64, dynamics: Dynamics) -> (motion::Motion, Vec<Moment>) {
    let mut moments = Vec::new();
    let motion = machine(dynamics).follow(from, extremes, Options::default(), every_s, |m| moments.push(m.clone()));
    (motion, moments)
}

fn from() -> State {
    machine(dynamics()).locked(Pallet::Entry, 280_f64.to_radians()).expect("it locks")
}

#[test]
fn following_changes_nothing_and_shows_every_event_once() {
    let from = from();
    let (motion, moments) = along(&from, 4);
    let played = machine(dynamics()).play(&from, 4, Options::default());
    assert_eq!((motion.state, &motion.events), (played.state, &played.events));
    let shown: Vec<Event> = moments.iter().filter_map(|m| m.event).collect();
    assert_eq!(shown, motion.events);
    assert_eq!((moments[0].state, moments.last().map(|m| m.state)), (from, Some(motion.state)));
}

#[test]
fn even_times_are_all_there_in_order() {
    let (motion, moments) = along(&from(), 4);
    assert!(moments.windows(2).all(|m| m[0].state.t_s <= m[1].state.t_s));
    let count = (motion.state.t_s / EVERY_S) as usize;
    for k in 1..=count {
        let t_s = k as f64 * EVERY_S;
        assert!(moments.iter().any(|m| m.state.t_s == t_s), "{t_s} s is not there");
    }
}

/// Before an event the leg was integrated by itself: it ends where the motion went, of which the balance's free arc is in
/// closed form. 1.8e-11 rad was found.
#[test]
fn it_comes_to_where_the_motion_went() {
    let (_, moments) = along(&from(), 4);
    let mut shocks = 0;
    for pair in moments.windows(2) {
        let [before, after] = [pair[0].state, pair[1].state];
        if matches!(pair[1].event, Some(Event::Shock(_))) && before.t_s == after.t_s {
            shocks += 1;
            for (a, b) in angles(&before).iter().zip(angles(&after)) {
                assert!((a - b).abs() < 1e-9, "at {} s: {a} rad, {b} rad", after.t_s);
            }
        }
    }
    assert!(shocks > 20, "{shocks}");
}

/// From one moment to the next an angle changes by no more and no less than speeds on the way allow: the mean of both ends
/// gives it to the square of the time between.
#[test]
fn angles_are_what_the_speeds_make_of_them() {
    let (_, moments) = along(&from(), 2);
    for pair in moments.windows(2) {
        let [a, b] = [pair[0].state, pair[1].state];
        let dt_s = b.t_s - a.t_s;
        for k in 0..3 {
            let by = 0.5 * dt_s * (speeds(&a)[k] + speeds(&b)[k]);
            let moved = angles(&b)[k] - angles(&a)[k];
            // 8.5e-7 rad was found, of a beat that turns the lever by 0.2 rad.
            assert!((moved - by).abs() < 1e-5, "body {k} at {} s: {moved} rad, {by} rad", a.t_s);
        }
    }
}

/// A blow from behind the fork, too slow for a rebound, stops the balance: it has turned there, and the spring draws it back.
#[test]
fn a_balance_that_a_blow_stops_has_turned() {
    let machine = machine(dynamics());
    let outward = |angle_rad: f64, speed_rad_per_s: f64| State {
        balance_rad: -angle_rad,
        balance_rad_per_s: -speed_rad_per_s,
        ..machine.locked(Pallet::Entry, 0.0).expect("it locks")
    };
    let mut hits_rad = f64::NAN;
    machine.follow(&outward(300_f64.to_radians(), 100.0), 1, Options::default(), 1.0, |m| {
        if matches!(m.event, Some(Event::Shock(_))) && hits_rad.is_nan() {
            hits_rad = -m.state.balance_rad;
        }
    });
    assert!(hits_rad > 300_f64.to_radians(), "{hits_rad} rad");
    // 1 rad/s of a jewel half a millimetre from the axis is 5e-4 m/s, a tenth of what rebounds.
    let motion = machine.play(&outward(hits_rad - 1e-5, 1.0), 2, Options::default());
    let extremes: Vec<f64> = motion
        .events
        .iter()
        .filter_map(|e| match *e {
            Event::Extreme { balance_rad, .. } => Some(balance_rad),
            _ => None,
        })
        .collect();
    assert!(
        (extremes[0] + hits_rad).abs() < 1e-9 && extremes[1] > 250_f64.to_radians(),
        "{extremes:?} rad, {hits_rad} rad"
    );
}

/// Close enough together that a force halfway is the mean.
const CLOSE_S: f64 = 2e-6;
/// Times shorter than this tell no force, s: the speeds' rounding would be all of it.
const SHORTEST_S: f64 = 1e-8;

fn parts() -> Parts {
    parts::build(&values()).expect("it can be drawn").parts
}

fn axes(parts: &Parts) -> [Vector; 3] {
    [parts.centres.wheel_m, parts.centres.pallet_m, parts.centres.balance_m]
}

/// Wheel 0, lever 1, balance 2; the plate is none.
fn bodies(meeting: Meeting) -> (usize, Option<usize>) {
    match meeting {
        Meeting::ToothEntry | Meeting::ToothExit => (0, Some(1)),
        Meeting::JewelFork => (2, Some(1)),
        Meeting::GuardRoller => (1, Some(2)),
        Meeting::BankingEntry | Meeting::BankingExit => (1, None),
    }
}

/// Torques of contact forces about the axes.
fn torques_n_m(presses: &[Press], axes: &[Vector; 3]) -> [f64; 3] {
    let mut out = [0.0; 3];
    for p in presses {
        let (first, second) = bodies(p.meeting);
        out[first] -= cross(p.at_m - axes[first], p.force_n);
        if let Some(k) = second {
            out[k] += cross(p.at_m - axes[k], p.force_n);
        }
    }
    out
}

/// Newton's law, body by body: what the forces do about each axis, with drive and hairspring, is the change of that body's
/// speed, which is in none of the equations by which they were found.
#[test]
fn forces_are_what_changes_the_speeds() {
    let mut d = dynamics();
    d.wheel.recoil_torque_n_m = 1.2 * d.wheel.torque_n_m;
    d.lever.pivot_n_m = 0.05 * d.wheel.torque_n_m;
    let (_, moments) = along_every(&from(), 4, CLOSE_S, d);
    let axes = axes(&parts());
    let inertias = [d.wheel.inertia_kg_m2, d.lever.inertia_kg_m2, d.balance.inertia_kg_m2];
    let (mut count, mut worst) = (0, 0.0_f64);
    for pair in moments.windows(2) {
        let [a, b] = [pair[0].state, pair[1].state];
        let (lasts_s, [u, w]) = (b.t_s - a.t_s, [speeds(&a), speeds(&b)]);
        if lasts_s < SHORTEST_S || pair[1].presses.is_empty() {
            continue;
        }
        let sense = |k: usize| (u[k] + w[k]).signum() * f64::from(u[k] + w[k] != 0.0);
        let spring = |s: &State| d.balance.torque_n_m(s.balance_rad, s.balance_rad_per_s);
        let drive_n_m = if sense(0) > 0.0 { d.wheel.recoil_torque_n_m } else { d.wheel.torque_n_m };
        let given =
            [-drive_n_m, -d.lever.pivot_n_m * sense(1), 0.5 * (spring(&a) + spring(&b)) - d.balance.dry_n_m * sense(2)];
        let pressed = torques_n_m(&pair[1].presses, &axes);
        // What stands is held by friction as large as it has to be.
        for k in (0..3).filter(|&k| u[k] != 0.0 || w[k] != 0.0) {
            let off_n_m = inertias[k] * (w[k] - u[k]) / lasts_s - given[k] - pressed[k];
            worst = worst.max(off_n_m.abs() / d.wheel.torque_n_m);
        }
        count += pair[1].presses.len();
    }
    println!("{count} forces, off by {worst:e} of the drive");
    assert!(count > 1000, "{count} forces");
    // 1.3e-6 was found.
    assert!(worst < 1e-5, "{worst:e} of the drive");
}

/// What the forces do along two beats, by their places and directions and the speeds of the bodies there, against the
/// ledger, which has it from the slips of the features.
#[test]
fn friction_of_the_forces_is_that_of_the_ledger() {
    let (motion, moments) = along_every(&from(), 2, CLOSE_S, dynamics());
    let axes = axes(&parts());
    let mut rubbed_j = [0.0; Meeting::ALL.len()];
    for pair in moments.windows(2) {
        let [a, b] = [pair[0].state, pair[1].state];
        let lasts_s = b.t_s - a.t_s;
        let by_rad: [f64; 3] = std::array::from_fn(|k| angles(&b)[k] - angles(&a)[k]);
        for p in &pair[1].presses {
            assert!(lasts_s > 0.0);
            let (first, second) = bodies(p.meeting);
            let moved = |k: usize| quarter(p.at_m - axes[k]) * by_rad[k];
            let apart = moved(first) - second.map_or(Vector::zeros(), moved);
            rubbed_j[p.meeting as usize] += p.force_n.dot(&apart);
        }
    }
    let place = |p: Place| motion.work_j[p as usize];
    let wanted_j = [
        place(Place::EntryLocking) + place(Place::EntryImpulse),
        place(Place::ExitLocking) + place(Place::ExitImpulse),
        place(Place::Jewel),
    ];
    println!("{rubbed_j:?} {wanted_j:?} J");
    for (found, wanted) in rubbed_j.iter().zip(wanted_j) {
        // 4.3e-7 was found.
        assert!(wanted > 0.0 && (found / wanted - 1.0).abs() < 1e-5, "{found:e} J of {wanted:e} J");
    }
}

/// Of a tooth that rests on a stone: its force at its arm is the torque of the wheel, and the banking holds what the lever
/// is turned with. Statics, from the parts alone.
#[test]
fn at_rest_forces_hold_one_another() {
    let axes = axes(&parts());
    for p in Pallet::BOTH {
        let from = machine(dynamics()).locked(p, 4.0).expect("it locks");
        let (_, moments) = along(&from, 1);
        let [tooth, banking] = moments[1].presses.as_slice() else { panic!("{:?}", moments[1]) };
        assert!(tooth.meeting.of_tooth() && banking.meeting.of_banking(), "{:?}", moments[1]);
        let torque_n_m = dynamics().wheel.torque_n_m;
        let [wheel_n_m, lever_n_m, _] = torques_n_m(&moments[1].presses, &axes);
        assert!((wheel_n_m / torque_n_m - 1.0).abs() < 1e-9, "{wheel_n_m} N m");
        assert!(lever_n_m.abs() < 1e-9 * torque_n_m, "{lever_n_m} N m");
    }
}
