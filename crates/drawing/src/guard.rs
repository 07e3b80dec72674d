//! The guard as a piece of work: a dart with its shank, which ends in a boss let into the bar behind the notch.
//!
//! The action knows the dart alone; a pin stands on the fork itself and needs nothing to carry it.

use parts::{Build, Face};
use plane::{Edge, Label, Profile, Vector, quarter};

/// Radius of the boss over half the guard's width, and the most of it over half the bar's. Chosen.
const BOSS_RATIO: f64 = 1.5;
const BOSS_OF_BAR_RATIO: f64 = 0.8;
/// Least radius of the boss over half the guard's width. Chosen.
const BOSS_LEAST_RATIO: f64 = 1.1;
/// Middle of the boss behind the notch's floor, in its radii. Chosen.
const BEHIND_RATIO: f64 = 1.4;

/// The guard's outline with what carries it, in the lever's frame.
pub fn guard(build: &Build) -> Profile {
    let lever = &build.parts.lever;
    carried(build, &lever.guard.profile).unwrap_or_else(|| lever.guard.profile.clone())
}

/// A dart whose inner end runs on into its shank; nothing for a pin.
fn carried(build: &Build, dart: &Profile) -> Option<Profile> {
    let lever = &build.parts.lever;
    let along = |p: Vector| p.dot(&lever.fork_axis);
    let inner = |e: &Edge| along(e.start()).max(along(e.end()));
    let is_line = |e: &&Edge| matches!(e, Edge::Line { .. });
    let root = dart.edges.iter().filter(is_line).min_by(|a, b| inner(a).total_cmp(&inner(b)))?;
    let floor = lever.fork.profile.edges.iter().find(|e| Face::from(e.label()) == Face::NotchFloor)?;
    let (left, right) = (root.start(), root.end());
    let half_m = 0.5 * (right - left).norm();
    let outward = quarter((right - left) / (2.0 * half_m));
    let middle = 0.5 * (left + right);
    let half_bar_m = 0.5 * build.movement.si(movement::ParamKind::LeverBarWidth);
    let boss_m = (BOSS_RATIO * half_m).min(BOSS_OF_BAR_RATIO * half_bar_m).max(BOSS_LEAST_RATIO * half_m);
    let waist_m = (boss_m * boss_m - half_m * half_m).sqrt();
    // The boss lies behind the notch, and behind the dart's own end.
    let back_m = (along(middle) - along(floor.at(0.5)) + BEHIND_RATIO * boss_m).max(waist_m);
    let centre = middle - outward * back_m;
    let waist = |p: Vector| p - outward * (back_m - waist_m);
    let label = Label::from(Face::GuardSide);
    let shank = [
        Edge::Line { start: left, end: waist(left), label },
        Edge::arc(centre, waist(left), waist(right), true, label),
        Edge::Line { start: waist(right), end: right, label },
    ];
    let edges = dart.edges.iter().flat_map(|e| if std::ptr::eq(e, root) { shank.to_vec() } else { vec![*e] });
    Some(Profile::new(edges.filter(|e| e.length() > 0.0).collect(), true, label))
}
