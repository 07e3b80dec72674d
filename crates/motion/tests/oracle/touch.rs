//! Outlines as lines, arcs and corners, and the signed gap of two of them: own code, from the edges of the profiles.

use plane::{Edge, Pose, Profile, Vector, cross, polar, quarter};

/// Turn between two edges below which they join smoothly, rad: a million times the rounding of a direction.
const SMOOTH_RAD: f64 = 1e-10;

/// A line with its material on the left, or a round: an arc, convex (radius positive) or hollow (negative), or a corner
/// (radius 0), with the middle of its outward normals and the cosine of half their range.
#[derive(Clone, Copy, Debug)]
pub enum Shape {
    Line { start: Vector, along: Vector, length: f64 },
    Round { centre: Vector, radius: f64, middle: Vector, cos_half: f64 },
}

/// A part of an outline. Beyond a sharp corner at either end the body lies behind a fence: point and outward normal.
#[derive(Clone, Copy, Debug)]
pub struct Side {
    pub shape: Shape,
    pub fences: [Option<(Vector, Vector)>; 2],
}

/// Two sides that face one another: the gap, negative where they overlap, the normal out of the second, and the point.
#[derive(Clone, Copy, Debug)]
pub struct Touch {
    pub gap_m: f64,
    pub normal: Vector,
    pub point: Vector,
}

fn outward(edge: &Edge, part_ratio: f64) -> Vector {
    -quarter(edge.tangent(part_ratio))
}

/// The sides of an outline, turned by `turn_rad` about its origin.
pub fn sides(profile: &Profile, turn_rad: f64) -> Vec<Side> {
    let edges: Vec<Edge> = profile.edges.iter().map(|e| e.posed(&Pose::new(turn_rad, Vector::zeros()))).collect();
    let count = edges.len();
    // Where the outline turns to the left by so much at the start of an edge; nothing at the ends of an open one.
    let corner = |i: usize| {
        let before = &edges[(i + count - 1) % count];
        let (from, to) = (outward(before, 1.0), outward(&edges[i], 0.0));
        let turn = cross(from, to).atan2(from.dot(&to));
        ((i > 0 || profile.closed) && turn > SMOOTH_RAD).then_some((from, to, turn))
    };
    let mut out = Vec::new();
    for (i, edge) in edges.iter().enumerate() {
        if let Some((from, to, turn)) = corner(i) {
            let shape = Shape::Round {
                centre: edge.start(),
                radius: 0.0,
                middle: (from + to).normalize(),
                cos_half: (0.5 * turn).cos(),
            };
            out.push(Side { shape, fences: [None, None] });
        }
        let shape = match *edge {
            Edge::Line { start, end, .. } => {
                let length = (end - start).norm();
                Shape::Line { start, along: (end - start) / length, length }
            }
            Edge::Arc { centre, radius, from_rad, sweep_rad, .. } => Shape::Round {
                centre,
                radius: radius * sweep_rad.signum(),
                middle: polar(sweep_rad.signum(), from_rad + 0.5 * sweep_rad),
                cos_half: (0.5 * sweep_rad.abs()).cos(),
            },
        };
        let before = corner(i).map(|(from, ..)| (edge.start(), from));
        let after = corner((i + 1) % count).map(|(_, to, _)| (edge.end(), to));
        out.push(Side { shape, fences: [before, after] });
    }
    out
}

/// Cosine and sine of a turn, and the axis it is about.
#[derive(Clone, Copy, Debug)]
pub struct Place {
    pub cos: f64,
    pub sin: f64,
    pub axis: Vector,
}

impl Place {
    pub fn direction(&self, d: Vector) -> Vector {
        Vector::new(self.cos * d.x - self.sin * d.y, self.sin * d.x + self.cos * d.y)
    }

    pub fn point(&self, p: Vector) -> Vector {
        self.direction(p) + self.axis
    }
}

impl Shape {
    #[inline]
    pub fn placed(&self, place: &Place) -> Shape {
        match *self {
            Shape::Line { start, along, length } => {
                Shape::Line { start: place.point(start), along: place.direction(along), length }
            }
            Shape::Round { centre, radius, middle, cos_half } => {
                Shape::Round { centre: place.point(centre), radius, middle: place.direction(middle), cos_half }
            }
        }
    }

    /// A circle about it: centre and radius.
    fn circle_about(&self) -> (Vector, f64) {
        match *self {
            Shape::Line { start, along, length } => (start + along * (0.5 * length), 0.5 * length),
            Shape::Round { centre, radius, middle, cos_half } if cos_half > 0.0 => {
                (centre + middle * (radius * cos_half), radius.abs() * (1.0 - cos_half * cos_half).sqrt())
            }
            Shape::Round { centre, radius, .. } => (centre, radius.abs()),
        }
    }

    /// Largest distance from the origin.
    pub fn reach(&self) -> f64 {
        match *self {
            Shape::Line { start, along, length } => start.norm().max((start + along * length).norm()),
            Shape::Round { centre, radius, .. } => centre.norm() + radius.abs(),
        }
    }
}

/// How two sides stand that face one another; `None` for those that do not.
#[inline]
pub fn touch(a: &Shape, b: &Shape) -> Option<Touch> {
    match (a, b) {
        (Shape::Round { .. }, Shape::Line { .. }) => round_on_line(a, b),
        (Shape::Line { .. }, Shape::Round { .. }) => round_on_line(b, a).map(|t| Touch { normal: -t.normal, ..t }),
        (Shape::Round { .. }, Shape::Round { .. }) => round_on_round(a, b),
        _ => None,
    }
}

fn round_on_line(round: &Shape, line: &Shape) -> Option<Touch> {
    let (&Shape::Round { centre, radius, middle, cos_half }, &Shape::Line { start, along, length }) = (round, line)
    else {
        return None;
    };
    let normal = -quarter(along);
    let from = centre - start;
    let foot = along.dot(&from);
    let faces = radius >= 0.0 && foot >= 0.0 && foot <= length && -middle.dot(&normal) >= cos_half;
    faces.then(|| Touch { gap_m: normal.dot(&from) - radius, normal, point: centre - normal * radius })
}

fn round_on_round(a: &Shape, b: &Shape) -> Option<Touch> {
    let (
        &Shape::Round { centre: at, radius, middle, cos_half },
        &Shape::Round { centre: at_b, radius: radius_b, middle: middle_b, cos_half: cos_half_b },
    ) = (a, b)
    else {
        return None;
    };
    // A hollow takes what is rounder than itself. Two corners have a distance and never overlap.
    let both = radius + radius_b;
    let hollow = radius < 0.0 || radius_b < 0.0;
    if (radius < 0.0 && radius_b < 0.0) || (hollow && both >= 0.0) {
        return None;
    }
    let apart = at - at_b;
    let distance = apart.norm();
    let sense = if hollow { -1.0 } else { 1.0 };
    let normal = apart * (sense / distance);
    let faces = distance > 0.0 && -middle.dot(&normal) >= cos_half && middle_b.dot(&normal) >= cos_half_b;
    faces.then(|| Touch { gap_m: sense * distance - both, normal, point: at - normal * radius })
}

/// Two sides are at least so far apart: as whole circles and lines, and as circles about them.
fn at_least_apart_m(a: &Shape, b: &Shape) -> f64 {
    let ((at, size), (at_b, size_b)) = (a.circle_about(), b.circle_about());
    let about = (at - at_b).norm() - size - size_b;
    about.max(match (*a, *b) {
        (Shape::Round { centre, radius, .. }, Shape::Round { centre: other, radius: radius_b, .. }) => {
            let (distance, r, s) = ((centre - other).norm(), radius.abs(), radius_b.abs());
            (distance - r - s).max(r - s - distance).max(s - r - distance)
        }
        (Shape::Round { centre, radius, .. }, Shape::Line { start, along, length })
        | (Shape::Line { start, along, length }, Shape::Round { centre, radius, .. }) => {
            let from = centre - start;
            let foot = along.dot(&from).clamp(0.0, length);
            let near = (from - along * foot).norm();
            let far = from.norm().max((from - along * length).norm());
            (near - radius.abs()).max(radius.abs() - far)
        }
        // Two lines meet with a corner of one.
        _ => f64::MAX,
    })
}

/// Whether two sides may touch before they have moved by `near_m` and turned by `turn_rad` against one another.
pub fn may_touch(a: &Shape, b: &Shape, near_m: f64, turn_rad: f64) -> bool {
    at_least_apart_m(a, b) < near_m
        && match (*a, *b) {
            (Shape::Round { centre, middle, cos_half, .. }, Shape::Line { start, along, length })
            | (Shape::Line { start, along, length }, Shape::Round { centre, middle, cos_half, .. }) => {
                let foot = along.dot(&(centre - start));
                let slack_m = 2.0 * near_m + turn_rad * foot.abs();
                foot > -slack_m && foot < length + slack_m && middle.dot(&quarter(along)) > cos_half - turn_rad
            }
            _ => true,
        }
}

/// A circle about a body, from its edges: centre and radius.
pub fn circle_about(profile: &Profile, turn_rad: f64) -> (Vector, f64) {
    let turn = Pose::new(turn_rad, Vector::zeros());
    let points: Vec<Vector> =
        profile.edges.iter().flat_map(|e| [0.0, 0.25, 0.5, 0.75, 1.0].map(|part| turn.point(e.at(part)))).collect();
    let centre = points.iter().sum::<Vector>() / points.len() as f64;
    let farthest = points.iter().map(|p| (p - centre).norm()).fold(0.0, f64::max);
    // An arc rises between the points by no more than an eighth of its turn lets it.
    let bulge = profile.edges.iter().map(|e| match *e {
        Edge::Line { .. } => 0.0,
        Edge::Arc { radius, sweep_rad, .. } => radius * (1.0 - (0.125 * sweep_rad).cos()),
    });
    (centre, farthest + bulge.fold(0.0, f64::max))
}
