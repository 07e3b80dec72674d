//! What a profile touches others with: flats, and rounds (arcs, and corners as rounds of radius 0).

use crate::edge::{Edge, Label};
use crate::profile::Profile;
use crate::vector::{Pose, Vector, cross, polar, quarter};

/// Part of its own length by which a face is taken to reach beyond its ends, and radians by which a corner's normals
/// are, so that a contact at a joint is never lost to rounding.
/// A thousand times the rounding error of a double; four orders below the tightest angle that is reported.
pub const SLACK_RATIO: f64 = 1e-12;

/// Least slack of a normal: twice the rounding of one. A very flat arc would lose contacts with less.
const LEAST_SLACK_RAD: f64 = 2.0 * f64::EPSILON;

/// A straight face. Outward normal `normal`, material behind it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flat {
    /// First point, walking with the material on the left.
    pub start: Vector,
    /// Unit direction of walking.
    pub along: Vector,
    /// Length.
    pub length: f64,
}

impl Flat {
    /// Unit outward normal.
    #[inline]
    pub fn normal(&self) -> Vector {
        Vector::new(self.along.y, -self.along.x)
    }
}

/// An arc or a corner. Its outward normals turn anticlockwise from `from` to `to`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Round {
    /// Centre.
    pub centre: Vector,
    /// Radius: positive for a convex arc, 0 for a sharp corner, negative for a hollow one.
    pub radius: f64,
    /// First outward normal.
    pub from: Vector,
    /// Last outward normal.
    pub to: Vector,
    /// Whether the normals turn through more than half a turn.
    pub wide: bool,
    /// Sine of the angle by which they are taken to reach beyond `from` and `to`; see [`SLACK_RATIO`].
    pub slack: f64,
}

impl Round {
    /// Whether `normal` is one of its outward normals.
    #[inline]
    pub fn has_normal(&self, normal: Vector) -> bool {
        let after_from = cross(self.from, normal);
        let before_to = cross(normal, self.to);
        if self.wide {
            after_from >= -self.slack || before_to >= -self.slack
        } else {
            // The sum leaves out the opposite of a narrow cone; over half a turn it is 0 throughout, give or take rounding.
            let toward = self.from.dot(&normal) + self.to.dot(&normal);
            after_from >= -self.slack && before_to >= -self.slack && toward > -self.slack
        }
    }
}

/// The shape of a feature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// A straight face.
    Flat(Flat),
    /// An arc or corner.
    Round(Round),
}

/// One feature of a profile with the name of its edge or corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feature {
    /// Its shape.
    pub shape: Shape,
    /// Name of the edge or corner.
    pub label: Label,
}

impl Feature {
    /// The same feature in another place.
    #[inline]
    pub fn posed(&self, pose: &Pose) -> Feature {
        let shape = match self.shape {
            Shape::Flat(f) => {
                Shape::Flat(Flat { start: pose.point(f.start), along: pose.direction(f.along), length: f.length })
            }
            Shape::Round(r) => Shape::Round(Round {
                centre: pose.point(r.centre),
                from: pose.direction(r.from),
                to: pose.direction(r.to),
                ..r
            }),
        };
        Feature { shape, label: self.label }
    }

    /// Smallest and largest distance of the feature from `centre` (a round is counted as a whole circle).
    pub fn reach(&self, centre: Vector) -> (f64, f64) {
        match self.shape {
            Shape::Flat(f) => {
                let from = centre - f.start;
                let foot = from.dot(&f.along).clamp(0.0, f.length);
                let near = (from - f.along * foot).norm();
                (near, from.norm().max((from - f.along * f.length).norm()))
            }
            Shape::Round(r) => {
                let distance = (r.centre - centre).norm();
                let radius = r.radius.abs();
                ((distance - radius).abs().min(distance), distance + radius)
            }
        }
    }
}

/// The features of `profile`, in order: each edge, and before it the sharp corner at its start if it has a convex one.
pub fn features(profile: &Profile) -> Vec<Feature> {
    let count = profile.edges.len();
    let mut out = Vec::with_capacity(2 * count);
    for (i, edge) in profile.edges.iter().enumerate() {
        if i > 0 || profile.closed {
            let before = profile.edges[(i + count - 1) % count].tangent(1.0);
            let after = edge.tangent(0.0);
            if cross(before, after) > SLACK_RATIO {
                let right = |d: Vector| -quarter(d);
                out.push(Feature {
                    shape: Shape::Round(Round {
                        centre: edge.start(),
                        radius: 0.0,
                        from: right(before),
                        to: right(after),
                        wide: false,
                        slack: SLACK_RATIO,
                    }),
                    label: profile.corners[i],
                });
            }
        }
        out.push(Feature { shape: shape_of(edge), label: edge.label() });
    }
    out
}

fn shape_of(edge: &Edge) -> Shape {
    match *edge {
        Edge::Line { start, end, .. } => {
            let length = (end - start).norm();
            Shape::Flat(Flat { start, along: (end - start) / length, length })
        }
        Edge::Arc { centre, radius, from_rad, sweep_rad, .. } => {
            let wide = sweep_rad.abs() > std::f64::consts::PI;
            let slack = (SLACK_RATIO * sweep_rad.abs().min(1.0)).max(LEAST_SLACK_RAD);
            let (first, last) = (polar(1.0, from_rad), polar(1.0, from_rad + sweep_rad));
            Shape::Round(if sweep_rad >= 0.0 {
                Round { centre, radius, from: first, to: last, wide, slack }
            } else {
                Round { centre, radius: -radius, from: -last, to: -first, wide, slack }
            })
        }
    }
}
