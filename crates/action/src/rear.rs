//! Rear freedom: the smallest gap between a stone's back and the tooth it has let go, through the whole cycle.

use movement::Pallet;
use parts::{Body, Face, Parts};
use plane::{Edge, Gap, Pose, Profile, Vector, smallest_gap};

use crate::curve::Scratch;
use crate::pallet::{NOTHING_RAD, PalletAction, sample_between};

/// The nearest approach of a stone's back to the teeth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RearFreedom {
    /// Gap; negative when they overlap.
    pub gap_m: f64,
    /// Lever angle at which it is smallest.
    pub lever_rad: f64,
    /// Wheel angle at which it is smallest.
    pub wheel_rad: f64,
    /// Nearest point of the stone, drawing's frame.
    pub stone_m: Vector,
    /// Nearest point of the tooth.
    pub tooth_m: Vector,
}

/// Points taken on each stretch of a contact curve, both ends included.
const SAMPLES: usize = 3;

/// Smallest gap from the end of the drop that follows this pallet's let-off, through run, unlocking and lift of the
/// `other` pallet, landing, run, unlocking and lift on this one, as far as the lever gets between its bankings. The tooth is the one that was let go, ahead of the one
/// that is worked on next. `None` when the two never face one another.
pub(crate) fn rear_freedom(
    parts: &Parts,
    own: &PalletAction,
    other: &PalletAction,
    scratch: &mut Scratch,
) -> Option<RearFreedom> {
    let pallet = own.pallet;
    let pitch_rad = parts.wheel.pitch_rad();
    let reached_rad = (own.banking_rad.min(other.banking_rad), own.banking_rad.max(other.banking_rad));
    // A tooth may land at a lever angle beyond the banking of the other pallet, where the lever does not come to let go.
    let lands = |on: &PalletAction| {
        let (low_rad, high_rad) = reached_rad;
        on.lands() && (low_rad - NOTHING_RAD..=high_rad + NOTHING_RAD).contains(&on.landing.lever_rad)
    };
    let mut best: Option<RearFreedom> = None;
    let mut look = |lever_rad: f64, wheel_rad: f64, scratch: &mut Scratch| {
        if let Some(g) = gap_behind(parts, pallet, own.tooth, lever_rad, wheel_rad, scratch)
            && best.is_none_or(|b| g.distance < b.gap_m)
        {
            best = Some(RearFreedom { gap_m: g.distance, lever_rad, wheel_rad, stone_m: g.first, tooth_m: g.second });
        }
    };
    // While the other pallet works: the wheel stands where it landed there, this pallet's tooth having moved on by the drop.
    let fallen_rad = own.let_off.wheel_rad - own.drop_rad;
    let outside = other.landing.wheel_rad;
    let from_other = |wheel_rad: f64| fallen_rad + (wheel_rad - outside);
    for c in sample_between(parts, other, SAMPLES, reached_rad) {
        look(c.lever_rad, from_other(c.wheel_rad), scratch);
    }
    if lands(other) {
        look(other.landing.lever_rad, fallen_rad, scratch);
    }
    // On this pallet: the tooth that was let go is one pitch ahead of the one that has landed.
    for c in sample_between(parts, own, SAMPLES, reached_rad) {
        look(c.lever_rad, c.wheel_rad - pitch_rad, scratch);
    }
    if lands(own) {
        look(own.landing.lever_rad, own.landing.wheel_rad - pitch_rad, scratch);
    }
    best
}

/// Smallest gap between the back of a stone and a tooth, both where they stand; negative when they overlap.
pub(crate) fn gap_behind(
    parts: &Parts,
    pallet: Pallet,
    tooth: u16,
    lever_rad: f64,
    wheel_rad: f64,
    scratch: &mut Scratch,
) -> Option<Gap> {
    let stone = &parts.lever.stones[pallet];
    let (body, turn_rad) = parts.wheel.tooth(tooth);
    // The stone's back, its let-off corner and end; the working faces have their own figures.
    let at = parts.lever_pose(lever_rad);
    scratch.first.clear();
    let back =
        stone.body.features.iter().filter(|f| matches!(Face::from(f.label), Face::StoneBack | Face::LetOffCorner));
    scratch.first.extend(back.map(|f| f.posed(&at)));
    let there = Pose::new(wheel_rad + turn_rad, parts.centres.wheel_m);
    body.pose_into(&there, &mut scratch.second);
    // Faces that look at one another across the tooth's neck are no overlap: the nearest point of one body must lie
    // in the other.
    let overlapping =
        |g: &Gap| closed(body).contains(there.back(g.first)) || stone.body.profile.contains(at.back(g.second));
    smallest_gap(&scratch.first, &scratch.second, overlapping)
}

/// The outline of a tooth, closed at its foot.
pub(crate) fn closed(tooth: &Body) -> Profile {
    let mut profile = tooth.profile.clone();
    if let (Some(first), Some(last)) = (profile.edges.first().copied(), profile.edges.last().copied()) {
        profile.edges.push(Edge::Line { start: last.end(), end: first.start(), label: last.label() });
        profile.closed = true;
    }
    profile
}
