//! One oscillation played through by hand: two beats, as a row of instants at which all parts stand together.

use movement::Pallet;
use parts::{Face, Parts};

use crate::action::Action;
use crate::curve::{Contact, Scratch, Segment, Track};
use crate::fork::{catching_rad, jewel_rad};
use crate::pallet::PalletAction;

/// Phase of a beat, in the order in which they follow one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Phase {
    /// The balance comes in from its extreme; the lever rests on its banking.
    FreeIn,
    /// The jewel turns the lever off its banking against the draw.
    Unlocking,
    /// The wheel drives the lever through the freedom of the notch until it meets the jewel.
    Catch,
    /// The toe works on the stone.
    ImpulseOnStone,
    /// The tooth's impulse face or heel works.
    ImpulseOnTooth,
    /// The wheel is free.
    Drop,
    /// Draw takes the lever to its banking.
    Run,
    /// The balance goes out to its extreme.
    FreeOut,
}

impl Phase {
    /// Every phase, in order.
    pub const ALL: [Phase; 8] = [
        Phase::FreeIn,
        Phase::Unlocking,
        Phase::Catch,
        Phase::ImpulseOnStone,
        Phase::ImpulseOnTooth,
        Phase::Drop,
        Phase::Run,
        Phase::FreeOut,
    ];

    /// The words shown.
    pub fn name(self) -> &'static str {
        match self {
            Phase::FreeIn => "free arc, coming",
            Phase::Unlocking => "unlocking",
            Phase::Catch => "notch catches jewel",
            Phase::ImpulseOnStone => "impulse on stone",
            Phase::ImpulseOnTooth => "impulse on tooth",
            Phase::Drop => "drop",
            Phase::Run => "run",
            Phase::FreeOut => "free arc, going",
        }
    }
}

/// How all parts stand at one instant, quasi-static.
#[derive(Clone, Copy, Debug)]
pub struct Instant {
    /// The pallet whose beat it is.
    pub pallet: Pallet,
    /// The phase.
    pub phase: Phase,
    /// Lever angle.
    pub lever_rad: f64,
    /// Wheel angle, running on from beat to beat.
    pub wheel_rad: f64,
    /// Jewel angle.
    pub jewel_rad: f64,
    /// Tooth that is in contact, or was last.
    pub tooth: u16,
    /// Contact of tooth and stone; `None` while the wheel is free.
    pub contact: Option<Contact>,
}

/// Instants in each phase, on each stretch of a contact curve; chosen so that steps are a few hundredths of a degree of
/// the lever.
const EACH: usize = 24;

/// Two beats from the beat number `first` on, the balance turned by hand from `extreme_rad` on one side to the other
/// and back.
///
/// # Returns
/// Instants in order, both ends of every stretch among them; `None` where the escapement cannot be turned through: a
/// beat does not lock, is let go only beyond the banking, or the jewel does not get into the notch.
///
/// # Properties
/// Lever, wheel and jewel angle each run on without a jump. Every contact is that of the contact curve at its lever angle.
pub fn oscillation(
    parts: &Parts,
    action: &Action,
    first: usize,
    extreme_rad: f64,
    scratch: &mut Scratch,
) -> Option<Vec<Instant>> {
    let count = action.beats.len();
    let mut out = Vec::with_capacity(24 * EACH);
    let mut shift_rad = 0.0;
    for at in [first, first + 1] {
        let (own, next) = (action.beats.get(at % count.max(1))?, &action.beats[(at + 1) % count]);
        let engaging_rad = action.fork[at % count].engaging_rad?;
        let mut beat = Beat { parts, own, next, shift_rad, extreme_rad, engaging_rad, out: &mut out };
        shift_rad = beat.play(scratch)?;
    }
    Some(out)
}

struct Beat<'a> {
    parts: &'a Parts,
    own: &'a PalletAction,
    next: &'a PalletAction,
    /// Added to the wheel angles of `own`.
    shift_rad: f64,
    extreme_rad: f64,
    engaging_rad: f64,
    out: &'a mut Vec<Instant>,
}

impl Beat<'_> {
    /// Plays the beat; gives the shift of the next one.
    fn play(&mut self, scratch: &mut Scratch) -> Option<f64> {
        let (parts, own, next) = (self.parts, self.own, self.next);
        let pallet = own.pallet;
        let outward = pallet.outward();
        let (banked, next_banked) = (own.banked?, next.banked?);
        if own.lock_rad <= 0.0 || own.drop_rad <= 0.0 {
            return None;
        }
        let unlocking = own.unlocking;
        let jewel = |lever_rad: f64, lifting: bool, scratch: &mut Scratch| {
            jewel_rad(parts, pallet, lever_rad, lifting, scratch)
        };

        for jewel_rad in spread(outward * self.extreme_rad, self.engaging_rad) {
            self.push(Phase::FreeIn, banked, jewel_rad);
        }
        for c in self.stretch(own, own.banking_rad, unlocking.lever_rad) {
            let jewel_rad = jewel(c.lever_rad, false, scratch)?;
            self.push(Phase::Unlocking, c, jewel_rad);
        }
        let held_rad = jewel(unlocking.lever_rad, false, scratch)?;
        let caught_rad = catching_rad(parts, pallet, unlocking.lever_rad, held_rad, scratch)?;
        let caught_rad =
            if outward * (caught_rad - own.let_off.lever_rad) > 0.0 { own.let_off.lever_rad } else { caught_rad };
        for c in self.stretch(own, unlocking.lever_rad, caught_rad) {
            self.push(Phase::Catch, c, held_rad);
        }
        let mut last_rad = held_rad;
        for c in self.stretch(own, caught_rad, own.let_off.lever_rad) {
            let on_stone = matches!(c.tooth_face, Face::Toe | Face::ToothFront);
            let phase = if on_stone { Phase::ImpulseOnStone } else { Phase::ImpulseOnTooth };
            last_rad = jewel(c.lever_rad, true, scratch)?;
            self.push(phase, c, last_rad);
        }
        let let_off_rad = own.let_off.wheel_rad + self.shift_rad;
        for wheel_rad in spread(let_off_rad, let_off_rad - own.drop_rad) {
            self.out.push(Instant {
                pallet,
                phase: Phase::Drop,
                lever_rad: own.let_off.lever_rad,
                wheel_rad,
                jewel_rad: last_rad,
                tooth: own.tooth,
                contact: None,
            });
        }
        // From here on the next tooth leads.
        let next_shift_rad = let_off_rad - own.drop_rad - next.landing.wheel_rad;
        self.shift_rad = next_shift_rad;
        for c in self.stretch(next, next.landing.lever_rad, next.banking_rad) {
            self.push_of(next, Phase::Run, c, last_rad);
        }
        for jewel_rad in spread(last_rad, -outward * self.extreme_rad) {
            self.push_of(next, Phase::FreeOut, next_banked, jewel_rad);
        }
        Some(next_shift_rad)
    }

    fn push(&mut self, phase: Phase, contact: Contact, jewel_rad: f64) {
        self.push_of(self.own, phase, contact, jewel_rad);
    }

    fn push_of(&mut self, on: &PalletAction, phase: Phase, contact: Contact, jewel_rad: f64) {
        self.out.push(Instant {
            pallet: self.own.pallet,
            phase,
            lever_rad: contact.lever_rad,
            wheel_rad: contact.wheel_rad + self.shift_rad,
            jewel_rad,
            tooth: on.tooth,
            contact: Some(contact),
        });
    }

    /// Contacts of a curve between two lever angles, both and every change of contact between them among them.
    fn stretch(&self, on: &PalletAction, from_rad: f64, to_rad: f64) -> Vec<Contact> {
        let track = Track::new(self.parts, on.pallet, on.tooth);
        let sense = (to_rad - from_rad).signum();
        let part = |s: &Segment| {
            // Both ends in the sense of the walk, cut to what is asked for.
            let forth = sense * (s.to.lever_rad - s.from.lever_rad) >= 0.0;
            let (a, b) = if forth { (s.from.lever_rad, s.to.lever_rad) } else { (s.to.lever_rad, s.from.lever_rad) };
            let start = if sense * (a - from_rad) < 0.0 { from_rad } else { a };
            let end = if sense * (b - to_rad) > 0.0 { to_rad } else { b };
            (sense * (end - start) > 0.0).then_some((start, end, s.pair, s.from.wheel_rad))
        };
        let mut parts: Vec<_> = on.segments.iter().filter_map(part).collect();
        parts.sort_by(|a, b| (sense * a.0).total_cmp(&(sense * b.0)));
        let mut out = Vec::with_capacity(parts.len() * EACH);
        for (start, end, pair, near_rad) in parts {
            out.extend(spread(start, end).filter_map(|lever_rad| track.follow(pair, lever_rad, near_rad)));
        }
        if out.is_empty() {
            out.extend(track.on_curve(&on.segments, from_rad));
        }
        out
    }
}

/// Values from one to another, both among them.
fn spread(from: f64, to: f64) -> impl Iterator<Item = f64> {
    (0..EACH).map(move |i| if i + 1 == EACH { to } else { from + (to - from) * (i as f64 / (EACH - 1) as f64) })
}
