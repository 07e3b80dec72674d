//! The states shown along a motion are those of the motion.

#[path = "support/machine.rs"]
mod machine;

use machine::{dynamics, machine};
use motion::{Event, Moment, Options, State};
use movement::Pallet;

const EVERY_S: f64 = 1e-4;

fn angles(state: &State) -> [f64; 3] {
    [state.wheel_rad, state.lever_rad, state.balance_rad]
}

fn speeds(state: &State) -> [f64; 3] {
    [state.wheel_rad_per_s, state.lever_rad_per_s, state.balance_rad_per_s]
}

fn along(from: &State, extremes: usize) -> (motion::Motion, Vec<Moment>) {
    let mut moments = Vec::new();
    let motion = machine(dynamics()).follow(from, extremes, Options::default(), EVERY_S, |m| moments.push(*m));
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
