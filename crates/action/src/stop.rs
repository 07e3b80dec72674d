//! What an oscillation turned by hand can come to a stop at.

use movement::Pallet;
use parts::Face;
use std::fmt;

use crate::cycle::Broken;
use crate::finding::broken_cycle;
use crate::pallet::NoAction;

/// What keeps the oscillation from being turned on from its last instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stop {
    /// The cycle ends: after a tooth has been let go, the other pallet has no action with the next.
    Broken(Broken),
    /// With the lever on the banking no tooth is locked, or the tooth that was dropped lands past the locking corner.
    NotLocked {
        /// The pallet that should lock.
        pallet: Pallet,
        /// Where on the stone the tooth lands.
        face: Face,
    },
    /// The lever meets its banking before the other pallet has let go.
    OnBanking {
        /// The banking.
        banking: Pallet,
    },
    /// The next tooth meets the other stone before this one is free.
    WheelJams {
        /// The pallet that does not let go.
        pallet: Pallet,
    },
    /// The jewel that comes in meets another part of the fork than the notch.
    JewelMeets {
        /// The pallet that is locked.
        pallet: Pallet,
        /// What it meets.
        face: Face,
    },
    /// The jewel passes without touching the fork.
    JewelPasses {
        /// The pallet that is locked.
        pallet: Pallet,
    },
    /// The notch loses the jewel.
    JewelSlips {
        /// The pallet whose beat it is.
        pallet: Pallet,
    },
    /// The jewel cannot leave the notch.
    JewelHeld {
        /// The pallet whose beat it is.
        pallet: Pallet,
        /// What it strikes.
        face: Face,
    },
}

impl Stop {
    /// A few words.
    pub fn name(self) -> &'static str {
        match self {
            Stop::Broken(Broken::NoAction { why: NoAction::StoneOutOfReach, .. }) => "stone out of reach",
            Stop::Broken(Broken::NoAction { why: NoAction::NoLockingFace, .. }) => "no locking face",
            Stop::Broken(Broken::NoAction { why: NoAction::NoLetOff, .. }) => "no let-off",
            Stop::Broken(Broken::NotStopped { .. }) => "wheel runs",
            Stop::Broken(Broken::NoBanking { .. }) => "no banking",
            Stop::NotLocked { .. } => "not locked",
            Stop::OnBanking { .. } => "lever on banking",
            Stop::WheelJams { .. } => "wheel jams",
            Stop::JewelMeets { .. } => "jewel does not enter",
            Stop::JewelPasses { .. } => "jewel passes",
            Stop::JewelSlips { .. } => "jewel slips",
            Stop::JewelHeld { .. } => "jewel cannot leave",
        }
    }
}

/// The whole sentence.
impl fmt::Display for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Stop::Broken(broken) => f.write_str(&broken_cycle(broken).message),
            Stop::NotLocked { pallet, face } => {
                write!(f, "{} does not lock: the tooth stands on the {}", pallet.name(), face.name())
            }
            Stop::OnBanking { banking } => write!(
                f,
                "the lever meets the {} banking before the {} pallet lets go",
                banking.name(),
                banking.other().name()
            ),
            Stop::WheelJams { pallet } => write!(
                f,
                "the next tooth meets the {} stone before the {} pallet lets go: the wheel jams",
                pallet.other().name(),
                pallet.name()
            ),
            Stop::JewelMeets { pallet, face } => write!(
                f,
                "coming to the {} side, the jewel meets the {} and does not get into the notch",
                pallet.name(),
                face.name()
            ),
            Stop::JewelPasses { pallet } => {
                write!(f, "coming to the {} side, the jewel passes the fork without touching it", pallet.name())
            }
            Stop::JewelSlips { pallet } => write!(f, "in the {} beat the notch loses the jewel", pallet.name()),
            Stop::JewelHeld { pallet, face } => write!(
                f,
                "after the {} impulse the jewel cannot leave the notch: it strikes the {}",
                pallet.name(),
                face.name()
            ),
        }
    }
}
