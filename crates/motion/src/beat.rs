//! What happens in one beat, from one extreme of the balance to the next.

use movement::Pallet;
use parts::Face;

use crate::pair::Meeting;
use crate::runner::{Event, Shock};

/// Instants of a beat, s from the start of the motion; each is `None` where it did not come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beat {
    /// The pallet whose tooth is unlocked.
    pub pallet: Pallet,
    /// The jewel meets the notch: the first of the five shocks.
    pub unlocking_s: Option<f64>,
    /// The wheel, turned back until then, begins to advance.
    pub advance_s: Option<f64>,
    /// The tooth meets the stone's impulse face.
    pub impulse_s: Option<f64>,
    /// The notch catches the jewel.
    pub catch_s: Option<f64>,
    /// A tooth drops on the other stone.
    pub drop_s: Option<f64>,
    /// The lever meets its banking.
    pub banking_s: Option<f64>,
    /// The balance turns: the end of the beat.
    pub extreme_s: f64,
    /// Balance angle there, from the spring's rest.
    pub extreme_rad: f64,
}

impl Beat {
    fn begun(pallet: Pallet) -> Beat {
        Beat {
            pallet,
            unlocking_s: None,
            advance_s: None,
            impulse_s: None,
            catch_s: None,
            drop_s: None,
            banking_s: None,
            extreme_s: f64::NAN,
            extreme_rad: f64::NAN,
        }
    }

    fn note(&mut self, event: &Event) {
        let first = |at: &mut Option<f64>, t_s: f64| {
            at.get_or_insert(t_s);
        };
        match *event {
            Event::Extreme { t_s, balance_rad } => (self.extreme_s, self.extreme_rad) = (t_s, balance_rad),
            Event::Advances { t_s } => first(&mut self.advance_s, t_s),
            Event::Shock(Shock { t_s, meeting, faces, drives_balance, .. }) => match meeting {
                Meeting::JewelFork if self.unlocking_s.is_none() => self.unlocking_s = Some(t_s),
                // Blows that hold the balance back are of the same unlocking, and so are those of a lever that was thrown
                // ahead: the wheel does not drive it yet.
                Meeting::JewelFork if drives_balance && self.advance_s.is_some() => first(&mut self.catch_s, t_s),
                Meeting::ToothEntry | Meeting::ToothExit => {
                    let own = (meeting == Meeting::ToothEntry) == (self.pallet == Pallet::Entry);
                    if !own {
                        first(&mut self.drop_s, t_s);
                    } else if !matches!(faces[1], Face::StoneLocking | Face::LockingCorner) && self.advance_s.is_some()
                    {
                        first(&mut self.impulse_s, t_s);
                    }
                }
                Meeting::BankingEntry | Meeting::BankingExit => first(&mut self.banking_s, t_s),
                Meeting::JewelFork | Meeting::GuardRoller => {}
            },
        }
    }
}

/// The whole beats of a motion that begins at an extreme before the beat of `first`; a beat that has not ended is left out.
pub fn beats(events: &[Event], first: Pallet) -> Vec<Beat> {
    let mut out = Vec::new();
    let mut now = Beat::begun(first);
    for event in events {
        now.note(event);
        if matches!(event, Event::Extreme { .. }) {
            out.push(now);
            now = Beat::begun(now.pallet.other());
        }
    }
    out
}
