//! The instants of a beat, read alike from an event-driven run and from the oracle.

use super::cases::Case;
use super::penalty::{Happening, Oracle};
use super::scene::{Kind, Scene};
use motion::{Ending, Event, Meeting, Options, State};
use movement::Pallet;

/// Jewel and fork nearer than this touch, m: a thousandth of the depth to which the oracle's springs give way, a thousand
/// times the distance at which the event-driven run closes its gaps.
const TOUCH_M: f64 = 1e-9;

/// One beat, from one extreme of the balance to the next.
#[derive(Clone, Copy, Debug)]
pub struct Beat {
    /// The wheel, turned back, advances for the first time.
    pub unlocking_s: f64,
    /// The jewel touches the fork for the last time.
    pub release_s: f64,
    /// A tooth meets the other stone.
    pub drop_s: f64,
    /// The lever meets the other banking.
    pub banking_s: f64,
    /// The balance turns.
    pub extreme_s: f64,
    pub extreme_rad: f64,
}

impl Beat {
    /// The instants that have names.
    pub fn instants(&self) -> [(&'static str, f64); 4] {
        [
            ("unlocking", self.unlocking_s),
            ("release", self.release_s),
            ("drop", self.drop_s),
            ("banking", self.banking_s),
        ]
    }
}

/// The pallet on which the beat that begins at a balance angle is locked, and the other.
fn pallets(begin_rad: f64) -> (Pallet, Pallet) {
    if begin_rad * Pallet::Entry.outward() > 0.0 {
        (Pallet::Entry, Pallet::Exit)
    } else {
        (Pallet::Exit, Pallet::Entry)
    }
}

/// Plays one beat of the event-driven run: the beat, and the state at its end.
///
/// # Panics
/// When the beat is none: one of its instants is missing.
pub fn event_driven(case: &Case, from: &State) -> (Beat, State) {
    let motion = case.machine.play(from, 1, Options::default());
    assert_eq!(motion.ending, Ending::Played, "{}", case.name);
    let (_, to) = pallets(from.balance_rad);
    let (tooth, banking) = match to {
        Pallet::Entry => (Meeting::ToothEntry, Meeting::BankingEntry),
        Pallet::Exit => (Meeting::ToothExit, Meeting::BankingExit),
    };
    let first = |meeting: Meeting| {
        let mut shocks = motion.events.iter().filter_map(|e| if let Event::Shock(s) = e { Some(s) } else { None });
        shocks.find(|s| s.meeting == meeting).map(|s| s.t_s)
    };
    let drop_s = first(tooth).unwrap_or_else(|| panic!("{}: no drop", case.name));
    let mut advances =
        motion.events.iter().filter_map(|e| if let Event::Advances { t_s } = e { Some(*t_s) } else { None });
    let beat = Beat {
        unlocking_s: advances.next().unwrap_or_else(|| panic!("{}: no unlocking", case.name)),
        release_s: release_s(case, from),
        drop_s,
        banking_s: first(banking).unwrap_or_else(|| panic!("{}: no banking", case.name)),
        extreme_s: motion.state.t_s,
        extreme_rad: motion.state.balance_rad,
    };
    (beat, motion.state)
}

/// When jewel and fork touched last in a beat: the run is stopped after each of its steps in turn, and the gap measured
/// with the oracle's own geometry. A contact that ends is the end of a step.
fn release_s(case: &Case, from: &State) -> f64 {
    let scene = Scene::new(&case.parts);
    let mut last_s = f64::NAN;
    for most_steps in 1.. {
        let motion = case.machine.play(from, 1, Options { most_steps, ..Options::default() });
        let s = motion.state;
        if scene.jewel_clear_m(&[s.wheel_rad, s.lever_rad, s.balance_rad]) < TOUCH_M {
            last_s = s.t_s;
        }
        if motion.ending != Ending::GivenUp {
            break;
        }
    }
    last_s
}

/// Plays one beat of the oracle. An instant that does not come, as where the springs are too soft, is no number.
pub fn penalised(oracle: &mut Oracle) -> Beat {
    let (_, to) = pallets(oracle.state().balance_rad);
    oracle.happenings.clear();
    oracle.play(1);
    let all = &oracle.happenings;
    let first = |kind: Kind| {
        let met = |h: &Happening| {
            if let Happening::Meets { t_s, kind: of } = *h { (of == kind).then_some(t_s) } else { None }
        };
        all.iter().find_map(met).unwrap_or(f64::NAN)
    };
    let struck_s = first(Kind::Jewel);
    let advances =
        |h: &Happening| if let Happening::Advances { t_s } = *h { (t_s > struck_s).then_some(t_s) } else { None };
    let leaves = |h: &Happening| match *h {
        Happening::Leaves { t_s, kind: Kind::Jewel } => Some(t_s),
        _ => None,
    };
    let state = oracle.state();
    Beat {
        unlocking_s: all.iter().find_map(advances).unwrap_or(f64::NAN),
        release_s: all.iter().rev().find_map(leaves).unwrap_or(f64::NAN),
        drop_s: first(Kind::Tooth(to)),
        banking_s: first(Kind::Banking(to)),
        extreme_s: state.t_s,
        extreme_rad: state.balance_rad,
    }
}
