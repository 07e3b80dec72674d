//! What one tooth does on one pallet: landing, lock, unlocking, lift in its phases, let-off, drop, recoil, draw.

use movement::Pallet;
use parts::{Face, Parts};
use plane::wrap_to;
use std::f64::consts::TAU;

use crate::curve::{Contact, CurveEnd, Scratch, Segment, Track};

/// Lever angle by which the search for the locking face steps inward where a tooth does not land on it, and how often:
/// 12 deg in all, chosen to reach beyond any usual lock.
const DEEPER_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;
const DEEPER_STEPS: usize = 24;

/// A lock, run, drop or freedom of 0 comes out, by rounding, as a few ulp of the angles it is the difference of; below
/// this (a ten-millionth of a degree) it is nothing.
pub(crate) const NOTHING_RAD: f64 = 2e-9;

/// One tooth's whole action on one pallet, found by contact. Angles in radians, lengths in metres; lever angles count
/// from the fork in the middle, anticlockwise positive; lock, lift and run are positive magnitudes in lever angle.
#[derive(Clone, Debug)]
pub struct PalletAction {
    /// The pallet.
    pub pallet: Pallet,
    /// The tooth, numbered in the order of arrival.
    pub tooth: u16,
    /// Where the tooth lands when the other pallet has let go, lever still at that let-off.
    pub landing: Contact,
    /// Where the locking face ends.
    pub face_end: Contact,
    /// Unlocking: where the wheel's turning back has ended.
    pub unlocking: Contact,
    /// The last contact before the tooth gets free.
    pub let_off: Contact,
    /// Contact with the lever on this pallet's banking; `None` when it never gets there (banking before let-off).
    pub banked: Option<Contact>,
    /// The contact curve from deep lock to let-off.
    pub segments: Vec<Segment>,
    /// How the curve ends.
    pub end: CurveEnd,
    /// Lock when the drop ends; negative when the tooth lands beyond the locking corner.
    pub lock_rad: f64,
    /// Lock with the lever on its banking.
    pub total_lock_rad: f64,
    /// Lever angle of this pallet's banking.
    pub banking_rad: f64,
    /// From the drop to the banking.
    pub run_rad: f64,
    /// From unlocking to let-off.
    pub lift_rad: f64,
    /// Lift while the tooth's locking corner works on the stone.
    pub lift_on_stone_rad: f64,
    /// Lift while the tooth's impulse face or heel works on the let-off corner.
    pub lift_on_tooth_rad: f64,
    /// Free angle of the wheel after this pallet lets go.
    pub drop_rad: f64,
    /// The same, as the way of the tooth that lands.
    pub drop_m: f64,
    /// Wheel angle from unlocking to let-off.
    pub travel_rad: f64,
    /// The wheel's turning back from the landing to unlocking.
    pub recoil_from_drop_rad: f64,
    /// The wheel's turning back from the banking to unlocking; `None` where the lever does not get to its banking.
    pub recoil_rad: Option<f64>,
    /// Depth of the contact on the locking face at the landing, from the corner.
    pub lock_depth_m: f64,
    /// Depth with the lever banked; `None` as above.
    pub total_lock_depth_m: Option<f64>,
    /// That depth as a part of the length of the impulse face.
    pub total_lock_of_face_ratio: Option<f64>,
}

impl PalletAction {
    /// Whether the lever gets to where it stands when the tooth lands; not where it meets its banking before.
    pub fn lands(&self) -> bool {
        self.run_rad >= -NOTHING_RAD
    }
}

/// Why a pallet has no action at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoAction {
    /// The stone never reaches a tooth: nothing stops the wheel.
    StoneOutOfReach,
    /// A tooth meets the stone, but never on its locking face.
    NoLockingFace,
    /// The contact does not end: the stone cannot leave the wheel.
    NoLetOff,
}

/// Curve of a tooth on a pallet from deep lock to let-off, before it is known where in it a tooth lands.
pub(crate) struct ToothCurve {
    pub segments: Vec<Segment>,
    pub end: CurveEnd,
    pub face_end: Contact,
    pub unlocking: Contact,
    pub let_off: Contact,
}

/// Finds the curve of `tooth` on `pallet`, beginning at `start_rad` or, where the tooth is not on the locking face
/// there, farther inward. Wheel angles are given near `near_rad`.
pub(crate) fn tooth_curve(
    parts: &Parts,
    pallet: Pallet,
    tooth: u16,
    start_rad: f64,
    near_rad: f64,
    scratch: &mut Scratch,
) -> Result<ToothCurve, NoAction> {
    let track = Track::new(parts, pallet, tooth);
    let inward = -pallet.outward();
    let mut seen = false;
    for step in 0..DEEPER_STEPS {
        let from_rad = start_rad + inward * DEEPER_RAD * step as f64;
        let Some((segments, end)) = track.curve(scratch, from_rad, near_rad) else { continue };
        seen = true;
        let Some(first) = segments.first() else { continue };
        if first.from.stone_face != Face::StoneLocking {
            continue;
        }
        if end == CurveEnd::Endless {
            return Err(NoAction::NoLetOff);
        }
        let on_face = segments.iter().take_while(|s| s.from.stone_face == Face::StoneLocking);
        let face_end = on_face.last().map_or(first.to, |s| s.to);
        let let_off = segments.last().map_or(first.to, |s| s.to);
        // Where the wheel never advances before it is free, its turning back ends with the let-off: a lift of nothing.
        let unlocking = track.turn_back_end(&segments).unwrap_or(let_off);
        return Ok(ToothCurve { segments, end, face_end, unlocking, let_off });
    }
    Err(if seen { NoAction::NoLockingFace } else { NoAction::StoneOutOfReach })
}

/// A tooth that lands.
pub(crate) struct Landing {
    pub tooth: u16,
    pub contact: Contact,
}

/// The tooth that lands on `pallet` when the wheel, free at `from_rad`, turns on with the lever at `lever_rad`.
pub(crate) fn landing(
    parts: &Parts,
    pallet: Pallet,
    lever_rad: f64,
    from_rad: f64,
    scratch: &mut Scratch,
) -> Option<Landing> {
    let count = parts.wheel.tooth_count;
    let pitch_rad = parts.wheel.pitch_rad();
    let look = |tooth: u16, scratch: &mut Scratch| {
        let track = Track::new(parts, pallet, tooth);
        let (wheel_rad, pair) = track.first(scratch, lever_rad, from_rad)?;
        let contact = track.follow(pair, lever_rad, wheel_rad)?;
        // Of the wheel angles a turn apart, the first at or after `from_rad`.
        let ahead_rad = wrap_to(from_rad - contact.wheel_rad + 1e-12, TAU);
        Some((ahead_rad, Landing { tooth, contact: Contact { wheel_rad: from_rad - ahead_rad, ..contact } }))
    };
    let like_any = if parts.wheel.alike() { 1 } else { count };
    let (known, ahead_rad, mut best) = (0..like_any).find_map(|j| look(j, scratch).map(|(ahead, l)| (j, ahead, l)))?;
    // Tooth j arrives j pitches later than tooth 0: the next to arrive is found by whole pitches. A tooth that is more
    // than half a pitch off is the one after: the one that should be stopped has no room left and drops by less than 0.
    let sooner = (ahead_rad / pitch_rad + 0.5).floor() as i64;
    let number = |offset: i64| (i64::from(known) + offset - sooner).rem_euclid(i64::from(count)) as u16;
    if parts.wheel.alike() {
        best.contact.wheel_rad += sooner as f64 * pitch_rad;
        best.tooth = number(0);
        return Some(best);
    }
    let mut least: Option<(f64, Landing)> = None;
    for offset in -1..i64::from(count) - 1 {
        // Beyond the next three a tooth is only looked at while none of those before it stops the wheel.
        if offset > 1 && least.as_ref().is_some_and(|(ahead, _)| *ahead < (offset as f64 - 0.5) * pitch_rad) {
            break;
        }
        let Some((mut ahead, mut l)) = look(number(offset), scratch) else { continue };
        if ahead > TAU - 0.5 * pitch_rad {
            ahead -= TAU;
            l.contact.wheel_rad += TAU;
        }
        if least.as_ref().is_none_or(|(a, _)| ahead < *a) {
            least = Some((ahead, l));
        }
    }
    least.map(|(_, l)| l)
}

/// The figures of a tooth that landed.
pub(crate) fn pallet_action(
    parts: &Parts,
    pallet: Pallet,
    curve: ToothCurve,
    landed: &Landing,
    banking_rad: f64,
) -> PalletAction {
    let outward = pallet.outward();
    let lock_of = |lever_rad: f64| outward * (curve.unlocking.lever_rad - lever_rad);
    let track = Track::new(parts, pallet, landed.tooth);
    let at_landing = track.on_curve(&curve.segments, landed.contact.lever_rad).unwrap_or(landed.contact);
    let run_rad = outward * (landed.contact.lever_rad - banking_rad);
    let banked = if run_rad >= -NOTHING_RAD { track.on_curve(&curve.segments, banking_rad) } else { None };
    let stone = &parts.lever.stones[pallet];
    let depth_m = |c: &Contact| {
        let at = parts.lever_pose(c.lever_rad);
        (c.point_m - at.point(stone.locking_corner_m)).dot(&at.direction(stone.face))
    };
    let (mut on_stone_rad, mut on_tooth_rad) = (0.0, 0.0);
    for s in &curve.segments {
        let from_rad = if outward * (s.from.lever_rad - curve.unlocking.lever_rad) < 0.0 {
            curve.unlocking.lever_rad
        } else {
            s.from.lever_rad
        };
        let share = (outward * (s.to.lever_rad - from_rad)).max(0.0);
        if matches!(s.from.tooth_face, Face::Toe | Face::ToothFront) {
            on_stone_rad += share;
        } else {
            on_tooth_rad += share;
        }
    }
    let total_lock_depth_m = banked.as_ref().map(depth_m);
    PalletAction {
        pallet,
        tooth: landed.tooth,
        landing: landed.contact,
        face_end: curve.face_end,
        unlocking: curve.unlocking,
        let_off: curve.let_off,
        lock_rad: lock_of(landed.contact.lever_rad),
        total_lock_rad: lock_of(banking_rad),
        banking_rad,
        run_rad,
        lift_rad: outward * (curve.let_off.lever_rad - curve.unlocking.lever_rad),
        lift_on_stone_rad: on_stone_rad,
        lift_on_tooth_rad: on_tooth_rad,
        // Known when the next tooth has landed; the cycle writes them.
        drop_rad: 0.0,
        drop_m: 0.0,
        travel_rad: curve.unlocking.wheel_rad - curve.let_off.wheel_rad,
        recoil_from_drop_rad: curve.unlocking.wheel_rad - at_landing.wheel_rad,
        recoil_rad: banked.map(|b| curve.unlocking.wheel_rad - b.wheel_rad),
        lock_depth_m: depth_m(&landed.contact),
        total_lock_depth_m,
        total_lock_of_face_ratio: total_lock_depth_m
            .map(|d| d / (stone.let_off_corner_m - stone.locking_corner_m).norm()),
        banked,
        segments: curve.segments,
        end: curve.end,
    }
}

/// Points of the contact curve, `each` per segment with both its ends, in the order of unlocking.
pub fn sample_curve(parts: &Parts, action: &PalletAction, each: usize) -> Vec<Contact> {
    sample_between(parts, action, each, (f64::NEG_INFINITY, f64::INFINITY))
}

/// The same of what of the curve lies between two lever angles.
pub(crate) fn sample_between(
    parts: &Parts,
    action: &PalletAction,
    each: usize,
    (low_rad, high_rad): (f64, f64),
) -> Vec<Contact> {
    let track = Track::new(parts, action.pallet, action.tooth);
    let mut out = Vec::with_capacity(each * action.segments.len());
    for s in &action.segments {
        let [from_rad, to_rad] = [s.from, s.to].map(|c| c.lever_rad.clamp(low_rad, high_rad));
        if from_rad == to_rad && s.from.lever_rad != s.to.lever_rad {
            continue;
        }
        for i in 0..each {
            let part = i as f64 / (each - 1) as f64;
            let lever_rad = from_rad + part * (to_rad - from_rad);
            out.extend(track.follow(s.pair, lever_rad, s.from.wheel_rad));
        }
    }
    out
}
