//! Whether two closed outlines share ground.

use std::f64::consts::{PI, TAU};

use crate::edge::Edge;
use crate::profile::{Offset, Profile, offset};
use crate::vector::{Vector, cross};

impl Profile {
    /// Whether the closed outlines share any ground: their edges cross, or one lies within the other. Outlines that only
    /// touch, or share whole edges, may count as either.
    pub fn overlaps(&self, other: &Profile) -> bool {
        let on = |e: &Edge, p: Vector| (0.0..=1.0).contains(&e.part_of(p));
        // The line or circle of each edge, found once.
        let whole: Vec<(&Edge, Room, Offset)> = other.edges.iter().map(|e| (e, Room::of(e), offset(e, 0.0))).collect();
        let cut = |a: &Edge| {
            let (room, own) = (Room::of(a), offset(a, 0.0));
            let near = whole.iter().filter(|(_, theirs, _)| room.meets(theirs));
            near.into_iter().any(|(b, _, theirs)| own.crossings(theirs).any(|p| on(a, p) && on(b, p)))
        };
        let within = |inner: &Profile, outer: &Profile| inner.edges.first().is_some_and(|e| outer.contains(e.start()));
        self.edges.iter().any(cut) || within(self, other) || within(other, self)
    }

    /// Whether `point` lies inside the closed outline.
    pub fn contains(&self, point: Vector) -> bool {
        let here = Room { low: point, high: point };
        if !self.edges.iter().map(Room::of).reduce(Room::with).is_some_and(|room| room.meets(&here)) {
            return false;
        }
        let turned_rad: f64 = self.edges.iter().map(|e| seen_rad(e, point)).sum();
        turned_rad.abs() > PI
    }
}

/// A box along the axes about an edge; about the whole circle of an arc.
#[derive(Clone, Copy)]
struct Room {
    low: Vector,
    high: Vector,
}

/// Part of their sizes by which boxes are taken to be larger than they are, so that nothing is lost to rounding.
const ROOM_SLACK_RATIO: f64 = 1e-9;

impl Room {
    fn of(edge: &Edge) -> Room {
        match *edge {
            Edge::Line { start, end, .. } => Room { low: start.inf(&end), high: start.sup(&end) },
            Edge::Arc { centre, radius, .. } => {
                let half = Vector::repeat(radius);
                Room { low: centre - half, high: centre + half }
            }
        }
    }

    fn with(self, other: Room) -> Room {
        Room { low: self.low.inf(&other.low), high: self.high.sup(&other.high) }
    }

    fn meets(&self, other: &Room) -> bool {
        let slack = ROOM_SLACK_RATIO * ((self.high - self.low) + (other.high - other.low)).sum();
        let apart = (self.low - other.high).sup(&(other.low - self.high));
        apart.max() <= slack
    }
}

/// Angle by which the view from `point` turns in walking the edge.
fn seen_rad(edge: &Edge, point: Vector) -> f64 {
    let sweep_rad = match *edge {
        Edge::Line { .. } => 0.0,
        Edge::Arc { sweep_rad, .. } => sweep_rad,
    };
    if sweep_rad.abs() > PI {
        return seen_rad(&edge.trimmed(0.0, 0.5), point) + seen_rad(&edge.trimmed(0.5, 1.0), point);
    }
    let (start, end) = (edge.start(), edge.end());
    let (a, b) = (start - point, end - point);
    let chord_rad = cross(a, b).atan2(a.dot(&b));
    // Between chord and arc the view turns the other way round.
    let bulged = match *edge {
        Edge::Line { .. } => false,
        Edge::Arc { centre, radius, .. } => {
            (point - centre).norm() < radius && cross(end - start, -a) * sweep_rad < 0.0
        }
    };
    if bulged { chord_rad + TAU.copysign(sweep_rad) } else { chord_rad }
}
