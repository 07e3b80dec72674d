//! Where an oscillation turned by hand comes to a stop, and the finding that says why.

use movement::Pallet;
use std::fmt;

use crate::cycle::Broken;
use crate::finding::Finding;

/// What is met where the oscillation stops.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Halt {
    /// The cycle ends: after a tooth has been let go, the other pallet has no action with the next.
    Broken(Broken),
    /// With the lever on the banking no tooth is locked, or the tooth that was dropped lands past the locking corner.
    NotLocked {
        /// The pallet that should lock.
        pallet: Pallet,
    },
    /// The lever is on its banking and the other pallet has not let go.
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
    },
}

impl Halt {
    /// Code and pallet of the finding that is the cause; `None` where it is what keeps the cycle from being played.
    fn cause(self) -> Option<(&'static str, Pallet)> {
        match self {
            Halt::Broken(_) => None,
            Halt::NotLocked { pallet } => Some(("does-not-lock", pallet)),
            Halt::OnBanking { banking } => Some(("banking-before-let-off", banking)),
            Halt::WheelJams { pallet } => Some(("no-drop", pallet)),
            Halt::JewelMeets { pallet } | Halt::JewelPasses { pallet } => Some(("jewel-does-not-enter", pallet)),
            Halt::JewelSlips { pallet } => Some(("jewel-slips", pallet)),
            Halt::JewelHeld { pallet } => Some(("jewel-cannot-leave", pallet)),
        }
    }
}

/// A stop and its cause.
#[derive(Clone, Debug)]
pub struct Stop {
    /// What is met.
    pub at: Halt,
    /// The one of the findings that says why.
    pub cause: Option<Finding>,
}

impl Stop {
    /// A stop at `at` of a movement of which all that is wrong is `found`, worst first.
    pub(crate) fn new(at: Halt, found: &[Finding], broken: bool) -> Stop {
        let of = |(code, pallet)| found.iter().find(|f| f.code == code && f.pallet == Some(pallet));
        // What keeps the cycle from being played stands first.
        let first = if broken { found.first() } else { None };
        Stop { at, cause: at.cause().and_then(of).or(first).cloned() }
    }

    /// A few words.
    pub fn name(&self) -> &'static str {
        match self.cause.as_ref().map_or("", |f| f.code) {
            "no-banking" => "no banking",
            "not-stopped" => "wheel runs",
            "stone-out-of-reach" => "stone out of reach",
            "no-locking-face" => "no locking face",
            "no-let-off" => "no let-off",
            "does-not-lock" => "not locked",
            "banking-before-let-off" => "lever on banking",
            "no-drop" => "wheel jams",
            "jewel-does-not-enter" => "jewel does not enter",
            "jewel-slips" => "jewel slips",
            "jewel-cannot-leave" => "jewel cannot leave",
            _ => "cannot be turned on",
        }
    }
}

/// The finding's sentence.
impl fmt::Display for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.cause.as_ref().map_or(self.name(), |cause| &cause.message))
    }
}
