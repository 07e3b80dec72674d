//! An edge of a profile: a straight line or an arc of a circle.

use crate::vector::{Pose, Vector, cross, direction_rad, polar, quarter, wrap_to};

/// What an edge or corner is, in the words of whoever draws the profile. The plane gives it no meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Label(pub u8);

/// A straight line or an arc. Walking along it, the material is on the left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Edge {
    /// From `start` to `end`.
    Line {
        /// First point.
        start: Vector,
        /// Last point.
        end: Vector,
        /// Its name.
        label: Label,
    },
    /// About `centre`, from direction `from_rad`, through `sweep_rad` (anticlockwise positive: a convex edge).
    Arc {
        /// Centre of the circle.
        centre: Vector,
        /// Radius, positive.
        radius: f64,
        /// Direction from the centre to the first point.
        from_rad: f64,
        /// Angle walked; positive is anticlockwise.
        sweep_rad: f64,
        /// Its name.
        label: Label,
    },
}

impl Edge {
    /// The arc from `start` to `end` that passes `rise` beyond the middle of its chord, on the right hand
    /// (out of the material) when positive; a line when `rise` is 0.
    pub fn bow(start: Vector, end: Vector, rise: f64, label: Label) -> Edge {
        if rise == 0.0 {
            return Edge::Line { start, end, label };
        }
        let half = 0.5 * (end - start).norm();
        let left = quarter(end - start) / (2.0 * half);
        // Signed distance of the centre from the chord, to the left: r − rise for a convex arc.
        let radius = (half * half + rise * rise) / (2.0 * rise.abs());
        let centre = 0.5 * (start + end) + left * ((radius - rise.abs()) * rise.signum());
        let (a, b) = (start - centre, end - centre);
        let turn = wrap_to(cross(a, b).atan2(a.dot(&b)), std::f64::consts::TAU);
        let sweep_rad = if rise > 0.0 { turn } else { turn - std::f64::consts::TAU };
        Edge::Arc { centre, radius, from_rad: direction_rad(a), sweep_rad, label }
    }

    /// The arc about `centre` from `start` toward the direction of `end`, anticlockwise or clockwise.
    pub fn arc(centre: Vector, start: Vector, end: Vector, anticlockwise: bool, label: Label) -> Edge {
        let (a, b) = (start - centre, end - centre);
        let turn = wrap_to(cross(a, b).atan2(a.dot(&b)), std::f64::consts::TAU);
        let sweep_rad = if anticlockwise { turn } else { turn - std::f64::consts::TAU };
        Edge::Arc { centre, radius: a.norm(), from_rad: direction_rad(a), sweep_rad, label }
    }

    /// Its name.
    pub fn label(&self) -> Label {
        match self {
            Edge::Line { label, .. } | Edge::Arc { label, .. } => *label,
        }
    }

    /// First point.
    pub fn start(&self) -> Vector {
        self.at(0.0)
    }

    /// Last point.
    pub fn end(&self) -> Vector {
        self.at(1.0)
    }

    /// Point at the part `part_ratio` of the way along it.
    pub fn at(&self, part_ratio: f64) -> Vector {
        match *self {
            Edge::Line { start, end, .. } => {
                if part_ratio == 1.0 {
                    end
                } else {
                    start + (end - start) * part_ratio
                }
            }
            Edge::Arc { centre, radius, from_rad, sweep_rad, .. } => {
                centre + polar(radius, from_rad + sweep_rad * part_ratio)
            }
        }
    }

    /// Direction of walking at the part `part_ratio` of the way, a unit vector.
    pub fn tangent(&self, part_ratio: f64) -> Vector {
        match *self {
            Edge::Line { start, end, .. } => (end - start).normalize(),
            Edge::Arc { from_rad, sweep_rad, .. } => {
                quarter(polar(sweep_rad.signum(), from_rad + sweep_rad * part_ratio))
            }
        }
    }

    /// Length.
    pub fn length(&self) -> f64 {
        match *self {
            Edge::Line { start, end, .. } => (end - start).norm(),
            Edge::Arc { radius, sweep_rad, .. } => radius * sweep_rad.abs(),
        }
    }

    /// The same edge in another place.
    pub fn posed(&self, pose: &Pose) -> Edge {
        match *self {
            Edge::Line { start, end, label } => Edge::Line { start: pose.point(start), end: pose.point(end), label },
            Edge::Arc { centre, radius, from_rad, sweep_rad, label } => Edge::Arc {
                centre: pose.point(centre),
                radius,
                from_rad: from_rad + pose.angle_rad(),
                sweep_rad,
                label,
            },
        }
    }

    /// The part of it between two parts of its length, `0 <= from_ratio < to_ratio <= 1`.
    pub fn trimmed(&self, from_ratio: f64, to_ratio: f64) -> Edge {
        match *self {
            Edge::Line { label, .. } => Edge::Line { start: self.at(from_ratio), end: self.at(to_ratio), label },
            Edge::Arc { centre, radius, from_rad, sweep_rad, label } => Edge::Arc {
                centre,
                radius,
                from_rad: from_rad + sweep_rad * from_ratio,
                sweep_rad: sweep_rad * (to_ratio - from_ratio),
                label,
            },
        }
    }

    /// The part of the way along it of the point nearest to `p`'s foot on its line or circle; may lie outside 0..1.
    pub(crate) fn part_of(&self, p: Vector) -> f64 {
        match *self {
            Edge::Line { start, end, .. } => (p - start).dot(&(end - start)) / (end - start).norm_squared(),
            Edge::Arc { centre, from_rad, sweep_rad, .. } => {
                let middle = from_rad + 0.5 * sweep_rad;
                0.5 + crate::vector::wrap_rad(direction_rad(p - centre) - middle) / sweep_rad
            }
        }
    }
}
