//! Where everything stands when nothing has been set going: a watch that has run down and is wound again.

use action::{Action, Scratch, moment_at};
use movement::Pallet;
use parts::Parts;
use plane::{Vector, direction_rad, wrap_rad};

use crate::machine::{Machine, State};

impl Machine {
    /// The balance at the spring's rest, the lever where the jewel then holds it in the middle of the notch, and a tooth
    /// that the drive has brought onto the stone of `pallet`; nothing moves. Where the jewel at rest stands outside the
    /// lever's travel, the lever is on the banking of that side.
    ///
    /// `None` where no tooth comes to that stone.
    ///
    /// # Arguments
    /// Those from which the machine was made.
    pub fn at_rest(&self, parts: &Parts, action: &Action, pallet: Pallet) -> Option<State> {
        let edges = &parts.roller.jewel.profile.edges;
        let middle = edges.iter().map(|e| e.at(0.0) + e.at(0.5)).sum::<Vector>() / (2 * edges.len().max(1)) as f64;
        let to_jewel = parts.roller_pose(parts.roller.rest_rad).point(middle) - parts.centres.pallet_m;
        let lever_rad = wrap_rad(direction_rad(to_jewel) - direction_rad(parts.lever.fork_axis));
        let own = action.of(pallet).next()?;
        for side in Pallet::BOTH {
            let banking_rad = action.bankings_rad[side]?;
            // The entry pallet is locked with the lever on the banking of positive angles.
            if side.outward() * (lever_rad - banking_rad) < 0.0 {
                return if side == pallet { self.locked(pallet, 0.0) } else { None };
            }
        }
        let wheel_rad = moment_at(parts, own, lever_rad, &mut Scratch::default())?.wheel_rad;
        Some(State { wheel_rad, lever_rad, ..State::default() })
    }
}
