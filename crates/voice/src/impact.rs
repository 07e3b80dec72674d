//! What is to be heard: parts that strike.

use crate::mode::Part;

/// Which parts strike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Meeting {
    /// A tooth and the entry stone.
    ToothEntry,
    /// A tooth and the exit stone.
    ToothExit,
    /// The impulse jewel and the fork.
    JewelFork,
    /// The guard and the safety roller.
    GuardRoller,
    /// The lever and its banking on the entry side.
    BankingEntry,
    /// The lever and its banking on the exit side.
    BankingExit,
}

impl Meeting {
    /// Every meeting.
    pub const ALL: [Meeting; 6] = [
        Meeting::ToothEntry,
        Meeting::ToothExit,
        Meeting::JewelFork,
        Meeting::GuardRoller,
        Meeting::BankingEntry,
        Meeting::BankingExit,
    ];

    /// Whether a part rings when they strike: those that meet, and always the plate on which all of them have their pivots.
    pub fn excites(self, part: Part) -> bool {
        use Part::{Balance, Lever, Plate, Wheel};
        match self {
            Meeting::ToothEntry | Meeting::ToothExit => matches!(part, Wheel | Lever | Plate),
            Meeting::JewelFork | Meeting::GuardRoller => matches!(part, Balance | Lever | Plate),
            Meeting::BankingEntry | Meeting::BankingExit => matches!(part, Lever | Plate),
        }
    }

    /// Whether they strike on the other side of the parts' middle: odd modes then ring the other way round.
    pub(crate) fn is_other_side(self) -> bool {
        matches!(self, Meeting::ToothExit | Meeting::BankingExit)
    }
}

/// Parts that strike once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Impact {
    /// When, since the beginning of the sound.
    pub t_s: f64,
    /// Energy lost in it; 0 to 1 J.
    pub energy_j: f64,
    /// Which parts.
    pub meeting: Meeting,
    /// Number of the beat to which it belongs.
    pub beat: u64,
}
