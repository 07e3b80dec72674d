//! One oscillation played through by hand: two beats, as a row of instants at which all parts stand together.

use movement::{ByPallet, Pallet};
use parts::{Face, Parts};

use crate::action::Action;
use crate::curve::{Contact, Scratch, Segment, Track};
use crate::cycle::Broken;
use crate::finding::findings;
use crate::fork::{ForkAction, catching_rad, fork_action, jewel_rad, last_where, leaving, meeting};
use crate::pallet::{Landing, NOTHING_RAD, PalletAction, pallet_action, tooth_curve};
use crate::stop::{Halt, Stop};

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

/// One of the five shocks of a beat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Shock {
    /// The returning jewel meets the notch.
    JewelMeetsNotch,
    /// The tooth, its turning back ended, meets the impulse face.
    ToothMeetsImpulseFace,
    /// The notch catches the jewel.
    NotchCatchesJewel,
    /// The next tooth falls on the other stone.
    Drop,
    /// The lever meets its banking.
    Banking,
}

impl Shock {
    /// Every shock, in order.
    pub const ALL: [Shock; 5] =
        [Shock::JewelMeetsNotch, Shock::ToothMeetsImpulseFace, Shock::NotchCatchesJewel, Shock::Drop, Shock::Banking];

    /// The words shown.
    pub fn name(self) -> &'static str {
        match self {
            Shock::JewelMeetsNotch => "jewel meets notch",
            Shock::ToothMeetsImpulseFace => "tooth meets impulse face",
            Shock::NotchCatchesJewel => "notch catches jewel",
            Shock::Drop => "drop",
            Shock::Banking => "banking",
        }
    }
}

/// An oscillation turned by hand, as far as it goes.
#[derive(Clone, Debug)]
pub struct Turned {
    /// Number of the beat it begins with.
    pub first: usize,
    /// Instants in order, both ends of every stretch among them.
    pub instants: Vec<Instant>,
    /// Each shock with the place in `instants` at which it comes.
    pub shocks: Vec<(usize, Shock)>,
    /// What keeps it from being turned on from the last instant; `None` where both beats are whole.
    pub stop: Option<Stop>,
}

/// Instants in each phase, on each stretch of a contact curve; chosen, what a hand can tell apart. Their number does not
/// change with what is moved a little, so that the same moment is there again.
const EACH: usize = 24;
/// Instants on a stretch shorter than `SHORT_RAD` beside a longer one of its phase, as rounded corners make them: chosen,
/// steps as fine as on the others.
const FEW: usize = 6;
const SHORT_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;

/// Two beats from the beat number `first` on, the balance turned by hand from `extreme_rad` on one side to the other
/// and back, as far as that goes. Where no tooth is locked at the start of the first beat, they begin with the one after.
///
/// # Properties
/// Lever, wheel and jewel angle each run on without a jump. Every contact is that of the contact curve at its lever angle.
/// Where it stops, the last instant is the one at which what stops it is met: a little farther, parts would overlap. The
/// cause is one of the findings.
///
/// # Limits
/// Quasi-static: what a moving part would still do by its inertia is left out. A stop that is left again within a step
/// between two instants is passed over.
pub fn oscillation(parts: &Parts, action: &Action, first: usize, extreme_rad: f64, scratch: &mut Scratch) -> Turned {
    let mut out = Turned { first, instants: Vec::with_capacity(24 * EACH), shocks: Vec::new(), stop: None };
    if let Some(halt) = turn(parts, action, extreme_rad, &mut out, scratch) {
        out.stop = Some(Stop::new(halt, &findings(parts, action), action.broken.is_some()));
    }
    out
}

/// Turns the beats of `out`, as far as they go, and gives what stops them.
fn turn(parts: &Parts, action: &Action, extreme_rad: f64, out: &mut Turned, scratch: &mut Scratch) -> Option<Halt> {
    if let Some(broken) = action.broken {
        if let Some((own, fork)) = last_beat(parts, action, scratch) {
            let bankings_rad = action.bankings_rad;
            let next = Err(broken);
            let enters = fork.enters;
            let mut beat = Beat { parts, own: &own, next, bankings_rad, enters, shift_rad: 0.0, extreme_rad, out };
            return beat.play(scratch).err().or(Some(Halt::Broken(broken)));
        }
        return Some(Halt::Broken(broken));
    }
    let count = action.beats.len();
    let locked = |at: usize| action.beats[at % count].total_lock_rad > NOTHING_RAD;
    if !locked(out.first) && locked(out.first + 1) {
        out.first = (out.first + 1) % count;
    }
    let mut shift_rad = 0.0;
    for at in [out.first, out.first + 1] {
        let (own, next) = (&action.beats[at % count], Ok(&action.beats[(at + 1) % count]));
        let fork = &action.fork[at % count];
        let (bankings_rad, enters) = (action.bankings_rad, fork.enters);
        let mut beat = Beat { parts, own, next, bankings_rad, enters, shift_rad, extreme_rad, out };
        match beat.play(scratch) {
            Ok(next_shift_rad) => shift_rad = next_shift_rad,
            Err(halt) => return Some(halt),
        }
    }
    None
}

/// The beat before the one with which a broken cycle ends.
pub(crate) fn last_beat(parts: &Parts, action: &Action, scratch: &mut Scratch) -> Option<(PalletAction, ForkAction)> {
    let (pallet, tooth) = match action.broken? {
        Broken::NotStopped { pallet, after_tooth } => (pallet.other(), after_tooth),
        Broken::BankedBeforeLetOff { banking, tooth, .. } => (banking.other(), tooth),
        Broken::NoAction { pallet, tooth, .. } if parts.wheel.alike() => (pallet.other(), tooth),
        Broken::NoAction { .. } | Broken::NoBanking { .. } => return None,
    };
    let (banking_rad, other_rad) = (action.bankings_rad[pallet]?, action.bankings_rad[pallet.other()]?);
    let curve = tooth_curve(parts, pallet, tooth, banking_rad, 0.0, scratch).ok()?;
    // No tooth has landed there: this one stands where it is with the lever laid on the banking.
    let contact = Track::new(parts, pallet, tooth).on_curve(&curve.segments, banking_rad)?;
    let own = pallet_action(parts, pallet, curve, &Landing { tooth, contact }, banking_rad);
    let fork = fork_action(parts, &own, other_rad, scratch);
    Some((own, fork))
}

struct Beat<'a> {
    parts: &'a Parts,
    own: &'a PalletAction,
    next: Result<&'a PalletAction, Broken>,
    bankings_rad: ByPallet<Option<f64>>,
    /// Whether the jewel gets into the notch.
    enters: bool,
    /// Added to the wheel angles of `own`.
    shift_rad: f64,
    extreme_rad: f64,
    out: &'a mut Turned,
}

impl Beat<'_> {
    /// Plays the beat; gives the shift of the next one.
    fn play(&mut self, scratch: &mut Scratch) -> Result<f64, Halt> {
        let (parts, own) = (self.parts, self.own);
        let pallet = own.pallet;
        let outward = pallet.outward();
        let banked = self.on_curve(own, own.banking_rad).unwrap_or(own.landing);
        if own.total_lock_rad <= NOTHING_RAD {
            return Err(if own.lands() { Halt::NotLocked { pallet } } else { Halt::OnBanking { banking: pallet } });
        }
        let (end_rad, stop) = self.end();
        let within = |lever_rad: f64| if outward * (lever_rad - end_rad) > 0.0 { end_rad } else { lever_rad };

        let met = meeting(parts, pallet, own.banking_rad, scratch);
        let to_rad = met.map_or(-outward * self.extreme_rad, |(at_rad, _)| at_rad);
        for jewel_rad in spread(outward * self.extreme_rad, to_rad) {
            self.push(Phase::FreeIn, banked, jewel_rad);
        }
        if met.is_none() {
            return Err(Halt::JewelPasses { pallet });
        }
        if !self.enters {
            return Err(Halt::JewelMeets { pallet });
        }
        self.shock(Shock::JewelMeetsNotch);
        let unlocking_rad = own.unlocking.lever_rad;
        let held_rad = self.driven(own.banking_rad, within(unlocking_rad), false, scratch)?;
        self.stopped(unlocking_rad, end_rad, stop)?;
        self.shock(Shock::ToothMeetsImpulseFace);
        // A notch that would catch the jewel only beyond the let-off does not catch it.
        let let_off_rad = own.let_off.lever_rad;
        let caught_rad = catching_rad(parts, pallet, unlocking_rad, held_rad, scratch)
            .filter(|caught_rad| outward * (caught_rad - let_off_rad) <= 0.0);
        for c in self.stretch(own, unlocking_rad, within(caught_rad.unwrap_or(let_off_rad))) {
            self.push(Phase::Catch, c, held_rad);
        }
        self.stopped(caught_rad.unwrap_or(let_off_rad), end_rad, stop)?;
        let mut last_rad = held_rad;
        if let Some(caught_rad) = caught_rad {
            self.shock(Shock::NotchCatchesJewel);
            last_rad = self.driven(caught_rad, within(let_off_rad), true, scratch)?;
        }
        if let Some(stop) = stop {
            return Err(stop);
        }
        let next = self.next.map_err(Halt::Broken)?;
        let from_rad = own.let_off.wheel_rad + self.shift_rad;
        for wheel_rad in spread(from_rad, from_rad - own.drop_rad) {
            self.out.instants.push(Instant {
                pallet,
                phase: Phase::Drop,
                lever_rad: let_off_rad,
                wheel_rad,
                jewel_rad: last_rad,
                tooth: own.tooth,
                contact: None,
            });
        }
        self.shock(Shock::Drop);
        if next.lock_rad <= NOTHING_RAD {
            return Err(Halt::NotLocked { pallet: next.pallet });
        }
        // From here on the next tooth leads.
        let next_shift_rad = from_rad - own.drop_rad - next.landing.wheel_rad;
        self.shift_rad = next_shift_rad;
        for c in self.stretch(next, next.landing.lever_rad, next.banking_rad) {
            self.push_of(next, Phase::Run, c, last_rad);
        }
        self.shock(Shock::Banking);
        let leaving = leaving(parts, pallet, next.banking_rad, scratch);
        let to_rad = leaving.map_or(-outward * self.extreme_rad, |(at_rad, _)| at_rad);
        if let Some(banked) = self.on_curve(next, next.banking_rad)
            && outward * (last_rad - to_rad) > 0.0
        {
            for jewel_rad in spread(last_rad, to_rad) {
                self.push_of(next, Phase::FreeOut, banked, jewel_rad);
            }
        }
        match leaving {
            Some(_) => Err(Halt::JewelHeld { pallet }),
            None => Ok(next_shift_rad),
        }
    }

    /// Lever angle at which this pallet's action ends, and what ends it before the tooth is let go.
    fn end(&self) -> (f64, Option<Halt>) {
        let own = self.own;
        let (pallet, outward) = (own.pallet, own.pallet.outward());
        let mut end = (own.let_off.lever_rad, None);
        if let Ok(next) = self.next
            && own.drop_rad <= NOTHING_RAD
        {
            end = (jam_rad(self.parts, own, next), Some(Halt::WheelJams { pallet }));
        }
        // The lever is on the banking a hair before where it stands there: that is no stop.
        let banking = pallet.other();
        match self.bankings_rad[banking] {
            Some(at_rad) if outward * (at_rad - end.0) < -NOTHING_RAD => (at_rad, Some(Halt::OnBanking { banking })),
            _ => end,
        }
    }

    /// Whether it ends, with `stop`, before the lever gets to where this phase ends.
    fn stopped(&self, phase_end_rad: f64, end_rad: f64, stop: Option<Halt>) -> Result<(), Halt> {
        let before = self.own.pallet.outward() * (phase_end_rad - end_rad) >= 0.0;
        stop.filter(|_| before).map_or(Ok(()), Err)
    }

    /// The jewel drives the lever, or is driven by it, from one lever angle to another; gives the jewel's last angle.
    fn driven(&mut self, from_rad: f64, to_rad: f64, lifting: bool, scratch: &mut Scratch) -> Result<f64, Halt> {
        let (parts, own) = (self.parts, self.own);
        let pallet = own.pallet;
        let phase = |c: &Contact| match (lifting, c.tooth_face) {
            (false, _) => Phase::Unlocking,
            (true, Face::Toe | Face::ToothFront) => Phase::ImpulseOnStone,
            (true, _) => Phase::ImpulseOnTooth,
        };
        let mut last: Option<(f64, f64)> = None;
        for c in self.stretch(own, from_rad, to_rad) {
            let Some(at_rad) = jewel_rad(parts, pallet, c.lever_rad, lifting, scratch) else {
                if let Some((lever_rad, jewel)) = last {
                    let mut jewel = jewel;
                    let held = |lever_rad: f64| {
                        let found = jewel_rad(parts, pallet, lever_rad, lifting, scratch);
                        jewel = found.unwrap_or(jewel);
                        found.is_some()
                    };
                    let end_rad = last_where(lever_rad, c.lever_rad, held);
                    if let Some(end) = self.on_curve(own, end_rad) {
                        self.push(phase(&end), end, jewel);
                    }
                }
                return Err(Halt::JewelSlips { pallet });
            };
            last = Some((c.lever_rad, at_rad));
            self.push(phase(&c), c, at_rad);
        }
        last.map(|(_, at_rad)| at_rad).ok_or(Halt::JewelSlips { pallet })
    }

    fn on_curve(&self, on: &PalletAction, lever_rad: f64) -> Option<Contact> {
        Track::new(self.parts, on.pallet, on.tooth).on_curve(&on.segments, lever_rad)
    }

    /// A shock at the last instant.
    fn shock(&mut self, shock: Shock) {
        self.out.shocks.push((self.out.instants.len().saturating_sub(1), shock));
    }

    fn push(&mut self, phase: Phase, contact: Contact, jewel_rad: f64) {
        self.push_of(self.own, phase, contact, jewel_rad);
    }

    fn push_of(&mut self, on: &PalletAction, phase: Phase, contact: Contact, jewel_rad: f64) {
        self.out.instants.push(Instant {
            pallet: self.own.pallet,
            phase,
            lever_rad: contact.lever_rad,
            wheel_rad: contact.wheel_rad + self.shift_rad,
            jewel_rad,
            tooth: on.tooth,
            contact: Some(contact),
        });
    }

    fn stretch(&self, on: &PalletAction, from_rad: f64, to_rad: f64) -> Vec<Contact> {
        stretch(self.parts, on, from_rad, to_rad)
    }
}

/// Lever angle at which the next tooth meets the other stone while the one on `own` is not free yet.
pub(crate) fn jam_rad(parts: &Parts, own: &PalletAction, next: &PalletAction) -> f64 {
    let outward = own.pallet.outward();
    let shift_rad = own.let_off.wheel_rad - own.drop_rad - next.landing.wheel_rad;
    let [own_track, next_track] = [own, next].map(|on| Track::new(parts, on.pallet, on.tooth));
    let free = |lever_rad: f64| {
        // Before the other stone dips in, nothing is in the next tooth's way.
        let out_of_the_way = outward * (lever_rad - next.let_off.lever_rad) < 0.0;
        let both = (own_track.on_curve(&own.segments, lever_rad), next_track.on_curve(&next.segments, lever_rad));
        out_of_the_way || matches!(both, (Some(a), Some(b)) if a.wheel_rad > b.wheel_rad + shift_rad)
    };
    let mut last_rad = own.banking_rad;
    for c in stretch(parts, own, own.banking_rad, own.let_off.lever_rad) {
        if !free(c.lever_rad) {
            return last_where(last_rad, c.lever_rad, free);
        }
        last_rad = c.lever_rad;
    }
    last_rad
}

/// Contacts of a curve between two lever angles, both and every change of contact between them among them.
fn stretch(parts: &Parts, on: &PalletAction, from_rad: f64, to_rad: f64) -> Vec<Contact> {
    let track = Track::new(parts, on.pallet, on.tooth);
    let sense = (to_rad - from_rad).signum();
    let part = |s: &Segment| {
        // Both ends in the sense of the walk, cut to what is asked for.
        let forth = sense * (s.to.lever_rad - s.from.lever_rad) >= 0.0;
        let (a, b) = if forth { (s.from.lever_rad, s.to.lever_rad) } else { (s.to.lever_rad, s.from.lever_rad) };
        let start = if sense * (a - from_rad) < 0.0 { from_rad } else { a };
        let end = if sense * (b - to_rad) > 0.0 { to_rad } else { b };
        (sense * (end - start) > 0.0).then_some((start, end, s.pair, s.from.wheel_rad))
    };
    let mut stretches: Vec<_> = on.segments.iter().filter_map(part).collect();
    stretches.sort_by(|a, b| (sense * a.0).total_cmp(&(sense * b.0)));
    let mut out = Vec::with_capacity(stretches.len() * EACH);
    let longest_rad = stretches.iter().map(|(start, end, ..)| (end - start).abs()).fold(0.0, f64::max);
    for (start, end, pair, near_rad) in stretches {
        let length_rad = (end - start).abs();
        let count = if length_rad < SHORT_RAD.min(longest_rad) { FEW } else { EACH };
        out.extend(spaced(start, end, count).filter_map(|lever_rad| track.follow(pair, lever_rad, near_rad)));
    }
    if out.is_empty() {
        out.extend(track.on_curve(&on.segments, from_rad));
    }
    out
}

/// Values from one to another, both among them.
fn spread(from: f64, to: f64) -> impl Iterator<Item = f64> {
    spaced(from, to, EACH)
}

fn spaced(from: f64, to: f64, count: usize) -> impl Iterator<Item = f64> {
    (0..count).map(move |i| if i + 1 == count { to } else { from + (to - from) * (i as f64 / (count - 1) as f64) })
}
