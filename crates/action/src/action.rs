//! Stage 3: the whole action of drawn parts.

use movement::{ByPallet, Pallet};
use parts::Parts;
use plane::{direction_rad, wrap_rad};

use crate::curve::Scratch;
use crate::cycle::{Broken, banking_angles, play};
use crate::fork::{ForkAction, NotchFreedom, fork_action, notch_freedom};
use crate::pallet::{NOTHING_RAD, PalletAction};
use crate::rear::{RearFreedom, rear_freedom};

/// Everything the parts do to one another, found by contact; or as far as it goes, with what breaks it.
#[derive(Clone, Debug)]
pub struct Action {
    /// Lever angle at each banking, by contact.
    pub bankings_rad: ByPallet<Option<f64>>,
    /// One action per pallet when the teeth are alike; else one per pallet and tooth, entry and exit alternating.
    /// Empty when the cycle cannot be played.
    pub beats: Vec<PalletAction>,
    /// Rear freedom, in step with `beats`.
    pub rear: Vec<Option<RearFreedom>>,
    /// Fork, jewel and guard, in step with `beats`.
    pub fork: Vec<ForkAction>,
    /// Freedom of the jewel in the notch.
    pub notch: Option<NotchFreedom>,
    /// Lever angle at which the fork's middle points at the balance centre; 0 but for a bent fork or a displaced pivot.
    pub fork_middle_rad: f64,
    /// Jewel angle when the balance is at rest.
    pub rest_rad: f64,
    /// What keeps the cycle from being played.
    pub broken: Option<Broken>,
}

impl Action {
    /// The actions of one pallet, one per tooth or a single one.
    pub fn of(&self, pallet: Pallet) -> impl Iterator<Item = &PalletAction> {
        self.beats.iter().filter(move |b| b.pallet == pallet)
    }

    /// Whether the lever gets to a lever angle: to one between its bankings.
    pub(crate) fn reaches(&self, lever_rad: f64) -> bool {
        let ByPallet { entry: Some(entry), exit: Some(exit) } = self.bankings_rad else { return false };
        (entry.min(exit) - NOTHING_RAD..=entry.max(exit) + NOTHING_RAD).contains(&lever_rad)
    }

    /// Whether the tooth of a beat is let go before the lever meets its banking.
    pub(crate) fn lets_go(&self, beat: usize) -> bool {
        self.beats[(beat + 1) % self.beats.len()].lands()
    }

    /// Indices of one pallet's beats.
    pub(crate) fn indices(&self, pallet: Pallet) -> impl Iterator<Item = usize> + '_ {
        (0..self.beats.len()).filter(move |&i| self.beats[i].pallet == pallet)
    }
}

/// Finds the action of `parts`.
///
/// Knows profiles and centres only: no wanted angle, no parameter. A movement that does not lock, strikes or cannot
/// leave its notch is a correct answer and comes back as data.
///
/// # Accuracy
/// Angles by closed forms of the contact: 1e-9 rad, as `tests/properties.rs` shows of the wanted angles and of a whole
/// turn; between inner and outer polygons in `tests/brute_force.rs`.
///
/// # Limits
/// A contact that lasts less than 1e-9 rad of lever is passed over; corners rounded by less than a nanometre have such.
pub fn solve(parts: &Parts, scratch: &mut Scratch) -> Action {
    let bankings_rad = banking_angles(parts, scratch);
    let mut action = Action {
        bankings_rad,
        beats: Vec::new(),
        rear: Vec::new(),
        fork: Vec::new(),
        notch: notch_freedom(parts, scratch),
        fork_middle_rad: wrap_rad(
            direction_rad(parts.centres.balance_m - parts.centres.pallet_m) - direction_rad(parts.lever.fork_axis),
        ),
        rest_rad: parts.roller.rest_rad,
        broken: None,
    };
    let (entry, exit) = match (bankings_rad.entry, bankings_rad.exit) {
        (Some(entry), Some(exit)) => (entry, exit),
        (entry, _) => {
            let pallet = if entry.is_none() { Pallet::Entry } else { Pallet::Exit };
            action.broken = Some(Broken::NoBanking { pallet });
            return action;
        }
    };
    let bankings = ByPallet { entry, exit };
    match play(parts, bankings, scratch) {
        Ok(beats) => action.beats = beats,
        Err(broken) => {
            action.broken = Some(broken);
            return action;
        }
    }
    let count = action.beats.len();
    for i in 0..count {
        let (own, other) = (&action.beats[i], &action.beats[(i + 1) % count]);
        action.rear.push(rear_freedom(parts, own, other, scratch));
        action.fork.push(fork_action(parts, own, bankings[own.pallet.other()], scratch));
    }
    action
}
