//! A chain of edges, closed or open, and how corners are rounded or chamfered.

use crate::edge::{Edge, Label};
use crate::vector::{Pose, Vector, cross, quarter};

/// How the corner between two edges is finished.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Corner {
    /// Left as it is.
    Sharp,
    /// Rounded with this radius, tangent to both edges.
    Round(f64),
    /// Cut off, this length being taken from each edge.
    Chamfer(f64),
}

/// Why a corner could not be finished.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ProfileError {
    /// The edges are too short for the corner.
    #[error("could not finish a corner: {size} does not fit between its edges, of lengths {before} and {after}")]
    CornerTooLarge {
        /// Radius or chamfer asked for.
        size: f64,
        /// Length of the edge before the corner.
        before: f64,
        /// Length of the edge after it.
        after: f64,
        /// Name of the corner.
        label: Label,
    },
}

/// Edges end to end with the material on the left: a closed outline walked anticlockwise, or an open chain.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Profile {
    /// The edges in order.
    pub edges: Vec<Edge>,
    /// Whether the last edge ends where the first begins.
    pub closed: bool,
    /// Names of the corners: `corners[i]` stands at the start of edge `i`.
    pub corners: Vec<Label>,
}

impl Profile {
    /// A profile of these edges; every corner is named `corner`.
    pub fn new(edges: Vec<Edge>, closed: bool, corner: Label) -> Profile {
        let corners = vec![corner; edges.len()];
        Profile { edges, closed, corners }
    }

    /// A closed profile from edges each with the corner at its start: how it is finished and its name.
    /// A chamfer's flat and a rounding carry the corner's name.
    ///
    /// # Errors
    /// [`ProfileError::CornerTooLarge`] when a corner needs more of an edge than there is, counting both its ends.
    pub fn with_corners(edges: &[(Corner, Label, Edge)], closed: bool) -> Result<Profile, ProfileError> {
        let count = edges.len();
        let mut from = vec![0.0; count];
        let mut to = vec![1.0; count];
        let mut between: Vec<Option<Edge>> = vec![None; count];
        for (i, (corner, label, after)) in edges.iter().enumerate() {
            if i == 0 && !closed {
                continue;
            }
            let before_at = (i + count - 1) % count;
            let before = &edges[before_at].2;
            let finished = match *corner {
                Corner::Sharp => continue,
                Corner::Round(0.0) | Corner::Chamfer(0.0) => continue,
                Corner::Round(radius) => rounding(before, after, radius, *label).ok_or(radius),
                Corner::Chamfer(cut) => {
                    let (a, b) = (1.0 - cut / before.length(), cut / after.length());
                    let flat = Edge::Line { start: before.at(a), end: after.at(b), label: *label };
                    if a > 0.0 && b < 1.0 { Ok((a, b, flat)) } else { Err(cut) }
                }
            };
            let too_large = |size| ProfileError::CornerTooLarge {
                size,
                before: before.length(),
                after: after.length(),
                label: *label,
            };
            let (a, b, edge) = finished.map_err(too_large)?;
            to[before_at] = a;
            from[i] = b;
            between[i] = Some(edge);
            if from[before_at] >= to[before_at] || from[i] >= to[i] {
                return Err(too_large(match *corner {
                    Corner::Round(size) | Corner::Chamfer(size) => size,
                    Corner::Sharp => 0.0,
                }));
            }
        }
        let mut profile = Profile { closed, ..Profile::default() };
        for (i, (_, label, edge)) in edges.iter().enumerate() {
            if let Some(extra) = between[i] {
                profile.edges.push(extra);
                profile.corners.push(*label);
            }
            let whole = from[i] == 0.0 && to[i] == 1.0;
            profile.edges.push(if whole { *edge } else { edge.trimmed(from[i], to[i]) });
            profile.corners.push(*label);
        }
        Ok(profile)
    }

    /// The same profile in another place.
    pub fn posed(&self, pose: &Pose) -> Profile {
        let edges = self.edges.iter().map(|e| e.posed(pose)).collect();
        Profile { edges, closed: self.closed, corners: self.corners.clone() }
    }

    /// Mirror image in the y axis, walked so that the material stays on the left.
    pub fn mirrored(&self) -> Profile {
        let flip = |v: Vector| Vector::new(-v.x, v.y);
        let edges = self.edges.iter().rev().map(|e| match *e {
            Edge::Line { start, end, label } => Edge::Line { start: flip(end), end: flip(start), label },
            Edge::Arc { centre, radius, from_rad, sweep_rad, label } => Edge::Arc {
                centre: flip(centre),
                radius,
                from_rad: std::f64::consts::PI - from_rad - sweep_rad,
                sweep_rad,
                label,
            },
        });
        let count = self.corners.len();
        let corners = (0..count).map(|i| self.corners[(count - i) % count]).collect();
        Profile { edges: edges.collect(), closed: self.closed, corners }
    }

    /// Area enclosed by a closed profile; positive when it is walked anticlockwise. Exact for lines and arcs.
    pub fn area(&self) -> f64 {
        self.edges
            .iter()
            .map(|e| {
                let chord = 0.5 * cross(e.start(), e.end());
                match *e {
                    Edge::Line { .. } => chord,
                    Edge::Arc { radius, sweep_rad, .. } => {
                        chord + 0.5 * radius * radius * (sweep_rad - sweep_rad.sin())
                    }
                }
            })
            .sum()
    }

    /// Largest distance of the profile from `from`.
    pub fn reach(&self, from: Vector) -> f64 {
        let of_edge = |e: &Edge| {
            let ends = (e.start() - from).norm().max((e.end() - from).norm());
            match *e {
                Edge::Line { .. } => ends,
                Edge::Arc { centre, radius, .. } => {
                    // The farthest point of the circle counts where it lies on the arc.
                    let away = centre - from;
                    let on_arc = away.norm() == 0.0 || (0.0..=1.0).contains(&e.part_of(centre + away));
                    if on_arc { away.norm() + radius } else { ends }
                }
            }
        };
        self.edges.iter().map(of_edge).fold(0.0, f64::max)
    }

    /// Largest jump between the end of an edge and the start of the next; 0 for a well-made profile.
    pub fn largest_jump(&self) -> f64 {
        let count = self.edges.len();
        let joints = if self.closed { count } else { count.saturating_sub(1) };
        (0..joints).map(|i| (self.edges[i].end() - self.edges[(i + 1) % count].start()).norm()).fold(0.0, f64::max)
    }
}

/// Rounding of radius `radius` between two edges that meet: parts of both where it begins and ends, and the arc.
fn rounding(before: &Edge, after: &Edge, radius: f64, label: Label) -> Option<(f64, f64, Edge)> {
    let vertex = after.start();
    // Convex corner: the arc's centre lies to the left of both; reentrant: to the right.
    let side = cross(before.tangent(1.0), after.tangent(0.0)).signum();
    let centre = offset_crossing(before, after, side * radius, vertex)?;
    let (a, b) = (before.part_of(centre), after.part_of(centre));
    if !(a > 0.0 && a <= 1.0 && (0.0..1.0).contains(&b)) {
        return None;
    }
    Some((a, b, Edge::arc(centre, before.at(a), after.at(b), side > 0.0, label)))
}

/// The point at distance `left` to the left of both edges (of their lines or circles) nearest to `near`.
fn offset_crossing(first: &Edge, second: &Edge, left: f64, near: Vector) -> Option<Vector> {
    let (a, b) = (offset(first, left), offset(second, left));
    let nearest = a.crossings(&b).min_by(|p, q| (p - near).norm_squared().total_cmp(&(q - near).norm_squared()))?;
    let straight = matches!((&a, &b), (Offset::Line(..), Offset::Line(..)));
    Some(if straight { nearest } else { polished(nearest, &a, &b) })
}

/// The crossing `p` of two offsets without the error of the difference of squares, which a very flat arc makes large:
/// Newton's steps as long as they bring it nearer.
fn polished(mut p: Vector, first: &Offset, second: &Offset) -> Vector {
    let off = |q: Vector| first.distance(q).0.abs().max(second.distance(q).0.abs());
    loop {
        let ((d, n), (e, m)) = (first.distance(p), second.distance(p));
        let nearer = p + (quarter(m) * d - quarter(n) * e) / cross(n, m);
        if off(nearer) < off(p) {
            p = nearer;
        } else {
            return p;
        }
    }
}

/// A line or circle beside that of an edge, or its own.
pub(crate) enum Offset {
    Line(Vector, Vector),
    Circle(Vector, f64),
}

impl Offset {
    /// Where the two meet: at most two points.
    pub(crate) fn crossings(&self, other: &Offset) -> impl Iterator<Item = Vector> + use<> {
        let points = match (self, other) {
            (&Offset::Line(p, d), &Offset::Line(q, e)) => {
                let p = p + d * (cross(q - p, e) / cross(d, e));
                [p, p]
            }
            (&Offset::Line(p, d), &Offset::Circle(c, r)) | (&Offset::Circle(c, r), &Offset::Line(p, d)) => {
                let foot = p + d * (c - p).dot(&d);
                let half = (r * r - (c - foot).norm_squared()).sqrt();
                [foot - d * half, foot + d * half]
            }
            (&Offset::Circle(c, r), &Offset::Circle(k, s)) => {
                let distance = (k - c).norm();
                let along = (distance * distance + r * r - s * s) / (2.0 * distance);
                let half = (r * r - along * along).sqrt();
                let u = (k - c) / distance;
                [c + u * along - quarter(u) * half, c + u * along + quarter(u) * half]
            }
        };
        // Where they do not meet, a root or a quotient is not finite.
        points.into_iter().filter(|p| p.x.is_finite() && p.y.is_finite())
    }

    /// Signed distance of `p` from it, and the unit direction in which that grows.
    fn distance(&self, p: Vector) -> (f64, Vector) {
        match *self {
            Offset::Line(on, along) => (quarter(along).dot(&(p - on)), quarter(along)),
            Offset::Circle(centre, radius) => ((p - centre).norm() - radius, (p - centre).normalize()),
        }
    }
}

/// The line or circle of an edge, moved `left` to its left.
pub(crate) fn offset(edge: &Edge, left: f64) -> Offset {
    match *edge {
        Edge::Line { start, .. } => {
            let d = edge.tangent(0.0);
            Offset::Line(start + quarter(d) * left, d)
        }
        Edge::Arc { centre, radius, sweep_rad, .. } => {
            Offset::Circle(centre, (radius - left * sweep_rad.signum()).abs())
        }
    }
}
