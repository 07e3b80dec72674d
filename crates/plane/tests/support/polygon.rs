//! Contact by dense polygons: an independent definition of what the closed forms of the kernel compute.
//!
//! Every arc is replaced by a polygon that lies wholly in the material, and by one that holds all of it. What two bodies
//! do lies between what their inner and their outer polygons do, so a check needs no assumed discretisation error.
//! Uses edges as data only: no feature, no normal, no contact of the library.
#![allow(dead_code)] // each test file uses a part of it

use plane::{Edge, Profile, Vector};
use std::f64::consts::TAU;

/// Which polygon stands for the material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bound {
    /// Contained in the material.
    Inner,
    /// Contains the material.
    Outer,
}

/// Points of the outline of `profile`, arcs in steps of at most `step_rad`.
pub fn polygon(profile: &Profile, bound: Bound, step_rad: f64) -> Vec<Vector> {
    let mut out = Vec::new();
    let push = |out: &mut Vec<Vector>, p: Vector| {
        if out.last() != Some(&p) {
            out.push(p);
        }
    };
    for edge in &profile.edges {
        match *edge {
            Edge::Line { start, end, .. } => {
                push(&mut out, start);
                push(&mut out, end);
            }
            Edge::Arc { centre, radius, from_rad, sweep_rad, .. } => {
                let at = |r: f64, a: f64| centre + Vector::new(r * a.cos(), r * a.sin());
                let steps = (sweep_rad.abs() / step_rad).ceil().max(2.0);
                let step = sweep_rad / steps;
                // Chords lie inside a convex arc and outside the material of a hollow one; tangents the other way.
                let chords = (bound == Bound::Inner) == (sweep_rad > 0.0);
                push(&mut out, at(radius, from_rad));
                for i in 0..steps as usize {
                    let i = i as f64;
                    if chords {
                        push(&mut out, at(radius, from_rad + step * (i + 1.0)));
                    } else {
                        push(&mut out, at(radius / (0.5 * step).cos(), from_rad + step * (i + 0.5)));
                    }
                }
                push(&mut out, at(radius, from_rad + sweep_rad));
            }
        }
    }
    if profile.closed && out.len() > 1 && out[0] == out[out.len() - 1] {
        out.pop();
    }
    out
}

/// Segments of a chain of points.
pub fn segments(points: &[Vector], closed: bool) -> Vec<(Vector, Vector)> {
    let mut out: Vec<_> = points.windows(2).map(|w| (w[0], w[1])).collect();
    if closed && points.len() > 2 {
        out.push((points[points.len() - 1], points[0]));
    }
    out
}

/// Points turned about `axis`.
pub fn turned(points: &[Vector], axis: Vector, angle_rad: f64) -> Vec<Vector> {
    let (s, c) = angle_rad.sin_cos();
    points
        .iter()
        .map(|p| {
            let d = p - axis;
            axis + Vector::new(c * d.x - s * d.y, s * d.x + c * d.y)
        })
        .collect()
}

fn side(a: Vector, b: Vector, p: Vector) -> f64 {
    (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)
}

/// Whether two segments cross properly.
pub fn crosses(a: (Vector, Vector), b: (Vector, Vector)) -> bool {
    let box_of = |s: (Vector, Vector)| (s.0.inf(&s.1), s.0.sup(&s.1));
    let ((l, h), (m, k)) = (box_of(a), box_of(b));
    if l.x > k.x || m.x > h.x || l.y > k.y || m.y > h.y {
        return false;
    }
    side(a.0, a.1, b.0) * side(a.0, a.1, b.1) < 0.0 && side(b.0, b.1, a.0) * side(b.0, b.1, a.1) < 0.0
}

/// Whether `p` lies inside a closed polygon (even-odd rule).
pub fn contains(polygon: &[Vector], p: Vector) -> bool {
    let mut inside = false;
    for (a, b) in segments(polygon, true) {
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y) {
            inside = !inside;
        }
    }
    inside
}

/// Whether two closed polygons overlap.
pub fn overlap(a: &[Vector], b: &[Vector]) -> bool {
    let sb = segments(b, true);
    segments(a, true).iter().any(|s| sb.iter().any(|t| crosses(*s, *t))) || contains(a, b[0]) || contains(b, a[0])
}

/// Whether a closed polygon crosses itself.
pub fn crosses_itself(points: &[Vector]) -> bool {
    let s = segments(points, true);
    (0..s.len()).any(|i| (i + 2..s.len()).any(|j| !(i == 0 && j == s.len() - 1) && crosses(s[i], s[j])))
}

/// Distance of `p` from a segment.
pub fn distance_to(p: Vector, s: (Vector, Vector)) -> f64 {
    let d = s.1 - s.0;
    let t = ((p - s.0).dot(&d) / d.norm_squared()).clamp(0.0, 1.0);
    (p - s.0 - d * t).norm()
}

/// Distance of two chains that do not cross.
pub fn distance(a: &[Vector], a_closed: bool, b: &[Vector], b_closed: bool) -> f64 {
    let (sa, sb) = (segments(a, a_closed), segments(b, b_closed));
    let of = |points: &[Vector], s: &[(Vector, Vector)]| {
        points.iter().flat_map(|p| s.iter().map(|s| distance_to(*p, *s))).fold(f64::INFINITY, f64::min)
    };
    of(a, &sb).min(of(b, &sa))
}

/// Area by the trapezium rule of surveyors.
pub fn area(points: &[Vector]) -> f64 {
    segments(points, true).iter().map(|(a, b)| 0.5 * (a.x * b.y - a.y * b.x)).sum()
}

/// A chain of points prepared for turning.
pub struct Chain {
    points: Vec<Vector>,
    segments: Vec<(Vector, Vector)>,
}

impl Chain {
    /// Closed or open.
    pub fn new(points: Vec<Vector>, closed: bool) -> Chain {
        Chain { segments: segments(&points, closed), points }
    }

    /// Its points.
    pub fn points(&self) -> &[Vector] {
        &self.points
    }

    /// The smallest turn, anticlockwise for `sense` 1 and clockwise for −1, that brings `self` from where it is (free of
    /// `other`) to where an edge of one meets a corner of the other; in [0, 2π).
    pub fn turn_to(&self, axis: Vector, other: &Chain, sense: f64) -> Option<f64> {
        let forth = least_turn(&self.points, &other.segments, axis, sense);
        let back = least_turn(&other.points, &self.segments, axis, -sense);
        [forth, back].into_iter().flatten().min_by(f64::total_cmp)
    }
}

/// Least turn of any of `points` about `axis` to any of `segments`.
fn least_turn(points: &[Vector], segments: &[(Vector, Vector)], axis: Vector, sense: f64) -> Option<f64> {
    // Distance from the axis and direction of every point, nearest first.
    let mut polar: Vec<(f64, f64)> =
        points.iter().map(|p| ((p - axis).norm(), (p.y - axis.y).atan2(p.x - axis.x))).collect();
    polar.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut best: Option<f64> = None;
    for s in segments {
        // Only points at the distances that the segment covers run on to it.
        let (near, far) = (distance_to(axis, *s), (s.0 - axis).norm().max((s.1 - axis).norm()));
        let from = polar.partition_point(|p| p.0 < near);
        for (radius, own) in polar[from..].iter().take_while(|p| p.0 <= far) {
            // |s.0 + t d − axis| = radius
            let (from, d) = (s.0 - axis, s.1 - s.0);
            let (a, b, c) = (d.norm_squared(), from.dot(&d), from.norm_squared() - radius * radius);
            let root = (b * b - a * c).max(0.0).sqrt();
            for t in [(-b - root) / a, (-b + root) / a] {
                if (0.0..=1.0).contains(&t) {
                    let at = from + d * t;
                    let way = (sense * (at.y.atan2(at.x) - own)).rem_euclid(TAU);
                    if best.is_none_or(|w| way < w) {
                        best = Some(way);
                    }
                }
            }
        }
    }
    best
}
