//! Smallest distance between two bodies, signed.

use crate::feature::{Feature, Flat, Round, SLACK_RATIO, Shape};
use crate::vector::Vector;

/// The nearest approach of two bodies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Distance; negative is the depth of an overlap.
    pub distance: f64,
    /// Nearest point of the first body.
    pub first: Vector,
    /// Nearest point of the second body.
    pub second: Vector,
    /// Index of the first body's feature.
    pub first_feature: usize,
    /// Index of the second body's feature.
    pub second_feature: usize,
}

/// The smallest distance between the features `first` and `second`, or `None` where no two of them face one another.
///
/// Only features that face one another count: opposite normals, feet within their ends. Two that do so across a thin
/// body have a negative distance without touching; `overlapping` is asked whether a negative one is an overlap.
pub fn smallest_gap(first: &[Feature], second: &[Feature], overlapping: impl Fn(&Gap) -> bool) -> Option<Gap> {
    let mut best: Option<Gap> = None;
    for (i, a) in first.iter().enumerate() {
        for (j, b) in second.iter().enumerate() {
            let gap = match (&a.shape, &b.shape) {
                (Shape::Round(r), Shape::Flat(f)) => round_to_flat(r, f),
                (Shape::Flat(f), Shape::Round(r)) => round_to_flat(r, f).map(|(d, p, q)| (d, q, p)),
                (Shape::Round(r), Shape::Round(s)) => round_to_round(r, s),
                (Shape::Flat(_), Shape::Flat(_)) => None,
            };
            let Some((distance, p, q)) = gap.filter(|(d, ..)| best.is_none_or(|g| *d < g.distance)) else { continue };
            let gap = Gap { distance, first: p, second: q, first_feature: i, second_feature: j };
            if distance >= 0.0 || overlapping(&gap) {
                best = Some(gap);
            }
        }
    }
    best
}

fn round_to_flat(round: &Round, flat: &Flat) -> Option<(f64, Vector, Vector)> {
    let normal = flat.normal();
    let from = round.centre - flat.start;
    let part = from.dot(&flat.along);
    let slack = SLACK_RATIO * flat.length;
    if round.radius < 0.0 || part < -slack || part > flat.length + slack || !round.has_normal(-normal) {
        return None;
    }
    let height = from.dot(&normal);
    Some((height - round.radius, round.centre - normal * round.radius, round.centre - normal * height))
}

fn round_to_round(a: &Round, b: &Round) -> Option<(f64, Vector, Vector)> {
    let between = b.centre - a.centre;
    let distance = between.norm();
    let facing = |toward: Vector| a.has_normal(toward) && b.has_normal(-toward);
    if a.radius < 0.0 && b.radius < 0.0 {
        return None;
    }
    // Inside a hollow, the nearest point lies away from the hollow's centre.
    let hollow = a.radius < 0.0 || b.radius < 0.0;
    let toward = if distance == 0.0 {
        // About one centre the gap is the same wherever the two face one another.
        [a.from, a.to, -b.from, -b.to].into_iter().find(|&toward| facing(toward))?
    } else if hollow {
        -between / distance
    } else {
        between / distance
    };
    if !facing(toward) {
        return None;
    }
    let (p, q) = (a.centre + toward * a.radius, b.centre - toward * b.radius);
    Some(((q - p).dot(&toward), p, q))
}
