//! Instants of an oscillation at which parts that a finding is about stand in one another's ground.

use movement::Pallet;
use parts::Parts;
use plane::{Pose, Profile, direction_rad, wrap_rad};
use std::ops::Range;

use crate::clearance::rim;
use crate::curve::Scratch;
use crate::finding::{Finding, Gravity, floor_m};
use crate::oscillation::{Instant, Phase};
use crate::rear::{closed, gap_behind};

/// Overlaps smaller than this are the rounding of parts that touch, metres.
const TOUCHING_M: f64 = 1e-12;
/// The same of an angle of the jewel, radians.
const TOUCHING_RAD: f64 = 1e-9;
/// Teeth nearer than this to a part, in pitches, can meet it.
const NEAR_RATIO: f64 = 1.3;
/// Points of each edge of the jewel at which its depth in the notch is taken.
const DEPTHS: usize = 9;

/// Instants at which the fault `found` holds, where it is about parts that overlap in turning: as stretches, in order.
pub fn struck(parts: &Parts, found: &Finding, instants: &[Instant]) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = Vec::new();
    let Some(overlap) = overlap(parts, found) else { return out };
    for (i, at) in instants.iter().enumerate() {
        if overlap(at) {
            match out.last_mut() {
                Some(last) if last.end == i => last.end = i + 1,
                _ => out.push(i..i + 1),
            }
        }
    }
    out
}

/// The pallet whose stone holds the wheel, or held it last.
fn holding(at: &Instant) -> Pallet {
    if matches!(at.phase, Phase::Run | Phase::FreeOut) { at.pallet.other() } else { at.pallet }
}

/// Whether the jewel is in the notch.
fn in_notch(at: &Instant) -> bool {
    !matches!(at.phase, Phase::FreeIn | Phase::FreeOut)
}

type Overlap<'a> = Box<dyn Fn(&Instant) -> bool + 'a>;

/// What tells of an instant whether the parts concerned overlap; `None` where a finding is not about such.
fn overlap<'a>(parts: &'a Parts, found: &'a Finding) -> Option<Overlap<'a>> {
    if found.gravity != Gravity::Fault {
        return None;
    }
    let of = found.pallet;
    let own_side = move |at: &Instant| of.is_none_or(|p| p == holding(at));
    let guard = move |at: &Instant| parts.lever.guard.profile.posed(&parts.lever_pose(at.lever_rad));
    let jewel = move |at: &Instant| parts.roller.jewel.profile.posed(&parts.roller_pose(at.jewel_rad));
    let safety = move |at: &Instant| parts.roller.safety.profile.posed(&parts.roller_pose(at.jewel_rad));
    let stone =
        move |p: Pallet, at: &Instant| parts.lever.stones[p].body.profile.posed(&parts.lever_pose(at.lever_rad));
    let on_guard = found.figure.is_some_and(|id| id.to_string().contains("guard"));
    Some(match found.code {
        "guard-strikes-crescent" => Box::new(move |at| own_side(at) && in_notch(at) && guard(at).overlaps(&safety(at))),
        "guard-strikes-jewel" => Box::new(move |at| own_side(at) && in_notch(at) && guard(at).overlaps(&jewel(at))),
        "no-freedom" if on_guard => {
            Box::new(move |at| own_side(at) && !in_notch(at) && guard(at).overlaps(&safety(at)))
        }
        "no-freedom" => Box::new(move |at| {
            let fork = || parts.lever.fork.profile.posed(&parts.lever_pose(at.lever_rad));
            // The jewel a hair farther out: where it comes to the notch, or leaves it, it touches.
            let out = Instant { jewel_rad: at.jewel_rad + holding(at).outward() * TOUCHING_RAD, ..*at };
            own_side(at) && !in_notch(at) && fork().overlaps(&jewel(&out))
        }),
        "stone-strikes-banking" => {
            let banking = &parts.bankings[of?].profile;
            Box::new(move |at| Pallet::BOTH.into_iter().any(|p| stone(p, at).overlaps(banking)))
        }
        "banking-in-jewels-way" => {
            let banking = &parts.bankings[of?].profile;
            Box::new(move |at| jewel(at).overlaps(banking))
        }
        "banking-in-teeth" => {
            let banking = &parts.bankings[of?].profile;
            Box::new(move |at| {
                teeth_near(parts, at.wheel_rad, banking).any(|(tooth, pose)| tooth.posed(&pose).overlaps(banking))
            })
        }
        "stone-strikes-rim" => {
            let (own, rim) = (of?, rim(parts).profile);
            Box::new(move |at| stone(own, at).overlaps(&rim))
        }
        "stone-strikes-tooth" => {
            let own = of?;
            Box::new(move |at| {
                let mut scratch = Scratch::default();
                let outline = stone(own, at);
                numbers_near(parts, at.wheel_rad, &outline).any(|tooth| {
                    gap_behind(parts, own, tooth, at.lever_rad, at.wheel_rad, &mut scratch)
                        .is_some_and(|gap| gap.distance < -TOUCHING_M)
                })
            })
        }
        "notch-too-shallow" => {
            let floor_m = floor_m(parts)?;
            Box::new(move |at| {
                let fork = parts.lever_pose(at.lever_rad).direction(parts.lever.fork_axis);
                let parts_of_edge = |i: usize| i as f64 / (DEPTHS - 1) as f64;
                let points = jewel(at).edges;
                let mut depths = points.iter().flat_map(|e| (0..DEPTHS).map(move |i| e.at(parts_of_edge(i))));
                depths.any(|p| (p - parts.centres.pallet_m).dot(&fork) < floor_m - TOUCHING_M)
            })
        }
        _ => return None,
    })
}

/// Numbers of the teeth that stand near an outline.
fn numbers_near<'a>(parts: &'a Parts, wheel_rad: f64, outline: &Profile) -> impl Iterator<Item = u16> + use<'a> {
    let wheel = &parts.wheel;
    let there_rad = outline.edges.first().map_or(0.0, |e| direction_rad(e.at(0.5) - parts.centres.wheel_m));
    (0..wheel.tooth_count).filter(move |&j| {
        let (body, turn_rad) = wheel.tooth(j);
        let foot_rad = body.profile.edges.first().map_or(0.0, |e| direction_rad(e.start()));
        wrap_rad(foot_rad + turn_rad + wheel_rad - there_rad).abs() < NEAR_RATIO * wheel.pitch_rad()
    })
}

/// Those teeth, closed, and where they stand.
fn teeth_near<'a>(
    parts: &'a Parts,
    wheel_rad: f64,
    outline: &Profile,
) -> impl Iterator<Item = (Profile, Pose)> + use<'a> {
    numbers_near(parts, wheel_rad, outline).map(move |j| {
        let (body, turn_rad) = parts.wheel.tooth(j);
        (closed(body), Pose::new(wheel_rad + turn_rad, parts.centres.wheel_m))
    })
}
