//! The frame of the lever: hub, arms with a slot for each stone, and bar with fork, as one outline of lines and arcs.
//!
//! The action does not touch the frame, so the movement says no more of it than its widths; what is drawn here is a
//! sensible piece of work: arms along an arc through the pallet axis and both stones, slots that hold the stones on
//! three sides, hollow toward the wheel so that no tooth can reach it at any lever angle. It is the lever as it was made:
//! for the wheel and the centres that were stated, whatever was moved since. The fork is taken as drawn by `parts`, to the
//! last line.

use cavalier_contours::polyline::{BooleanOp, PlineCreation, PlineSource, PlineSourceMut, Polyline};
use movement::{Movement, Pallet, ParamKind as K};
use parts::{Build, Face, Stone};
use plane::{Edge, Label, Pose, Profile, Vector, polar, quarter};
use std::f64::consts::{FRAC_PI_2, TAU};

/// Lengths are worked in this part of the toe radius, so that the tolerances of the booleans (1e-5, absolute) are
/// 1e-8 of it: a ratio, chosen.
const UNIT_RATIO: f64 = 1e-3;
/// Gap between the wheel and the frame at either banking, over the toe radius. Chosen.
const WHEEL_GAP_RATIO: f64 = 0.03;
/// The same where wheel and pallet axis are close: a part of the room between them. Chosen.
const WHEEL_GAP_OF_ROOM_RATIO: f64 = 0.3;
/// Wall beside a stone over the stone's width, at least. Chosen.
const WALL_RATIO: f64 = 0.35;
/// Where the middle of an arm meets a stone, over the stone's length from its locking corner. Chosen.
const ARM_AT_RATIO: f64 = 0.55;
/// Radius of the hub over the width of an arm, at most. Chosen.
const HUB_RATIO: f64 = 0.7;
/// Radius of the arbor over that of the hub. Chosen.
const ARBOR_RATIO: f64 = 0.45;
/// Rounding of the inner and of the outer corners over the width of an arm. Chosen.
const FILLET_RATIO: f64 = 0.3;
const ROUND_RATIO: f64 = 0.12;
/// Lever angles from banking to banking at which the wheel's room is cut out, less one. Enough for cusps below a line's
/// width.
const CLEARED_STEPS: u32 = 4;
/// Sagitta of the arms' arc over its chord below which they are drawn straight. A ratio, chosen.
const STRAIGHT_RATIO: f64 = 0.01;

/// Frame and arbor in the lever's frame.
#[derive(Clone, Debug)]
pub struct Frame {
    /// The outline first, walked with the material on the left; any inner outlines after it.
    pub outlines: Vec<Profile>,
    /// Radius of the arbor.
    pub arbor_m: f64,
    /// Whether it is one piece that holds both stones and keeps clear of the wheel. What is stated may leave no room for
    /// such a one; then it is drawn as it comes.
    pub is_whole: bool,
}

/// The frame of the lever of `build`, in the lever's frame.
pub fn frame(build: &Build) -> Frame {
    let movement = &build.movement;
    let lever = &build.parts.lever;
    let unit_m = UNIT_RATIO * movement.si(K::WheelLockingRadius);
    let centres_m = movement.si(K::CentresWheelPallet);
    let reach_m = movement.si(K::WheelLockingRadius).max(movement.si(K::WheelHeelRadius));
    let room_m = centres_m - reach_m;
    let gap_m = (WHEEL_GAP_RATIO * movement.si(K::WheelLockingRadius)).min(WHEEL_GAP_OF_ROOM_RATIO * room_m.max(0.0));
    let arm_m = movement.si(K::LeverArmWidth);
    // The hub is as large as the room above the wheel lets it be, since the wheel is as near to it at any lever angle.
    let hub_m = (HUB_RATIO * arm_m).min((room_m - gap_m).max(0.25 * arm_m));
    let arbor_m = ARBOR_RATIO * hub_m;
    let fork = polyline(&lever.fork.profile, unit_m);

    let seats = Pallet::BOTH.map(|p| Seat::of(movement, &lever.stones[p], p));
    let mut body = circle(Vector::zeros(), hub_m, unit_m);
    body = with(&body, &arms(&seats, arm_m, unit_m), BooleanOp::Or);
    for seat in &seats {
        body = with(&body, &seat.block(arm_m, unit_m), BooleanOp::Or);
    }
    let bar = stub(movement, fork_direction_rad(movement), arm_m, unit_m);
    body = with(&body, &bar, BooleanOp::Or);
    let mut cleared = body.clone();
    if room_m > 0.0 {
        let wheel = circle(Vector::zeros(), reach_m + gap_m, unit_m);
        let [entry_rad, exit_rad] = Pallet::BOTH.map(|p| -p.outward() * movement.si_at(K::BankingLeverAngle, p));
        for i in 0..=CLEARED_STEPS {
            let lever_rad = entry_rad + (exit_rad - entry_rad) * f64::from(i) / f64::from(CLEARED_STEPS);
            // The wheel's centre as the lever sees it.
            let centre = Pose::new(-lever_rad, Vector::zeros()).point(Vector::new(0.0, -centres_m)) / unit_m;
            cleared = with(&cleared, &moved(&wheel, centre), BooleanOp::Not);
        }
    }
    let holds_both = |shape: &Polyline| {
        seats.iter().all(|seat| {
            let p = seat.at(0.5 * seat.width_m, seat.length_m + 0.1 * seat.wall_m(arm_m)) / unit_m;
            shape.winding_number(cavalier_contours::core::math::Vector2::new(p.x, p.y)) != 0
        })
    };
    let clears_wheel = holds_both(&cleared);
    if clears_wheel {
        body = cleared;
    }
    // After the wheel's path is cut away, so that no step is left where the cut begins.
    let smooth = rounded(&body, FILLET_RATIO * arm_m / unit_m, ROUND_RATIO * arm_m / unit_m);
    if holds_both(&smooth) {
        body = smooth;
    }
    for seat in &seats {
        body = with(&body, &seat.slot(arm_m, unit_m), BooleanOp::Not);
    }
    let whole = body.boolean(&fork, BooleanOp::Or);
    let mut outlines: Vec<_> = whole.pos_plines.iter().map(|p| &p.pline).collect();
    outlines.sort_by(|a, b| b.area().abs().total_cmp(&a.area().abs()));
    let is_whole = clears_wheel && outlines.len() == 1 && holds_both(outlines[0]);
    // Where the bar of a side lever bridges a slot, the stone fills what is left open: no outline of the frame.
    let in_slot = |hole: &Polyline| {
        let count = hole.vertex_count().max(1) as f64;
        let middle = hole.iter_vertexes().map(|v| Vector::new(v.x, v.y)).sum::<Vector>() * (unit_m / count);
        seats.iter().any(|seat| {
            let (x, y) = ((middle - seat.corner).dot(&seat.across), (middle - seat.corner).dot(&seat.face));
            (0.0..=seat.width_m).contains(&x) && (0.0..=seat.length_m).contains(&y)
        })
    };
    let holes = whole.neg_plines.iter().map(|p| &p.pline).filter(|hole| !in_slot(hole));
    let outlines = outlines.into_iter().chain(holes);
    Frame { outlines: outlines.map(|p| profile(p, unit_m)).collect(), arbor_m, is_whole }
}

/// Direction of the fork in the lever's frame, as `parts` draws it (line of the lever and bend).
fn fork_direction_rad(movement: &Movement) -> f64 {
    FRAC_PI_2 + movement.si(K::LeverLineAngle) + movement.si(K::ForkBend) / movement.si(K::ForkLength)
}

/// Where a stone sits in the frame before it is moved on the bench: the slot stays when the stone is tilted, or set out
/// or in.
struct Seat {
    /// The stone's locking corner.
    corner: Vector,
    /// Unit direction across, to the let-off side.
    across: Vector,
    /// Unit direction up the locking face.
    face: Vector,
    width_m: f64,
    length_m: f64,
}

impl Seat {
    fn of(movement: &Movement, stone: &Stone, pallet: Pallet) -> Seat {
        let si = |kind: K| movement.si_at(kind, pallet);
        let across = -quarter(stone.face);
        let width_m = (stone.let_off_corner_m - stone.locking_corner_m).dot(&across);
        let along = stone.body.profile.edges.iter().map(|e| (e.start() - stone.locking_corner_m).dot(&stone.face));
        let length_m = along.fold(0.0, f64::max);
        // Back as `parts` moved it: in, then upright about its pivot.
        let back_in = stone.locking_corner_m + stone.face * si(K::StoneOut);
        let upright = Pose::about(back_in + stone.face * si(K::StoneTiltPivot), si(K::StoneTilt));
        let direction = |v: Vector| upright.direction(v);
        Seat {
            corner: upright.point(back_in),
            across: direction(across),
            face: direction(stone.face),
            width_m,
            length_m,
        }
    }

    /// A point of the slot, across and up from the corner.
    fn at(&self, x_m: f64, y_m: f64) -> Vector {
        self.corner + self.across * x_m + self.face * y_m
    }

    /// Thickness of the walls beside the stone.
    fn wall_m(&self, arm_m: f64) -> f64 {
        (0.5 * (arm_m - self.width_m)).max(WALL_RATIO * self.width_m)
    }

    /// The piece that holds the stone on three sides; on the side of the hub it ends within the arm.
    fn block(&self, arm_m: f64, unit_m: f64) -> Polyline {
        let wall_m = self.wall_m(arm_m);
        let (left, right, top) = (-wall_m, self.width_m + wall_m, self.length_m + 0.8 * wall_m);
        let (outer, inner) = (0.15 * self.length_m, ARM_AT_RATIO * self.length_m - 0.3 * arm_m);
        let hub_right = self.across.dot(&-self.corner) > 0.5 * self.width_m;
        let (low_left, low_right) = if hub_right { (outer, inner) } else { (inner, outer) };
        let corners = [(left, low_left), (right, low_right), (right, top), (left, top)];
        oriented(polygon(&corners.map(|(x, y)| self.at(x, y) / unit_m)))
    }

    /// What the slot takes away, from the stone's end to beyond the frame.
    fn slot(&self, arm_m: f64, unit_m: f64) -> Polyline {
        let (width_m, length_m) = (self.width_m, self.length_m);
        let corners = [(0.0, -arm_m), (width_m, -arm_m), (width_m, length_m), (0.0, length_m)];
        oriented(polygon(&corners.map(|(x, y)| self.at(x, y) / unit_m)))
    }
}

/// Hub to both stones: a band along the arc through the pallet axis and the middles of both stones' slots.
fn arms(seats: &[Seat; 2], arm_m: f64, unit_m: f64) -> Polyline {
    let [entry, exit] = seats.each_ref().map(|seat| seat.at(0.5 * seat.width_m, ARM_AT_RATIO * seat.length_m) / unit_m);
    let half = 0.5 * arm_m / unit_m;
    let chord = exit - entry;
    let rise = quarter(chord.normalize()).dot(&(-entry));
    if rise.abs() < STRAIGHT_RATIO * chord.norm() {
        // One straight limb to each side.
        let side = quarter(chord.normalize()) * half;
        return polygon(&[entry - side, exit - side, exit + side, Vector::zeros() + side, entry + side]);
    }
    // Centre of the circle through the pallet axis (the origin) and both middles.
    let d = 2.0 * plane::cross(entry, exit);
    let centre = (quarter(entry) * exit.norm_squared() - quarter(exit) * entry.norm_squared()) / d;
    let radius = centre.norm();
    let above = centre.y < 0.0; // the arc is convex upward
    let outer = radius + half;
    let inner = (radius - half).max(0.2 * half);
    let on = |r: f64, p: Vector| centre + (p - centre).normalize() * r;
    let line = |start, end| Edge::Line { start, end, label: Label(0) };
    let arc = |a, b, anticlockwise| Edge::arc(centre, a, b, anticlockwise, Label(0));
    let edges = vec![
        arc(on(outer, exit), on(outer, entry), above),
        line(on(outer, entry), on(inner, entry)),
        arc(on(inner, entry), on(inner, exit), !above),
        line(on(inner, exit), on(outer, exit)),
    ];
    oriented(polyline(&Profile::new(edges, true, Label(0)), 1.0))
}

/// The root of the bar, to be rounded into the arms.
fn stub(movement: &Movement, direction_rad: f64, arm_m: f64, unit_m: f64) -> Polyline {
    let along = polar(1.0, direction_rad);
    let half = quarter(along) * (0.5 * movement.si(K::LeverBarWidth));
    let end = along * (1.6 * arm_m).min(0.5 * movement.si(K::ForkLength));
    let points = [-half, end - half, end + half, half];
    oriented(polygon(&points.map(|p| p / unit_m)))
}

/// Inner corners filled with one radius, outer ones rounded with another.
fn rounded(body: &Polyline, fillet: f64, round: f64) -> Polyline {
    // Positive offsets go inward.
    let offset = |shape: &Polyline, by: f64| {
        let found = shape.parallel_offset(by);
        found.into_iter().max_by(|a, b| a.area().abs().total_cmp(&b.area().abs()))
    };
    let steps = [-fillet, fillet + round, -round];
    steps.iter().try_fold(body.clone(), |shape, by| offset(&shape, *by)).unwrap_or_else(|| body.clone())
}

/// The largest outline of a boolean of two; the first shape where nothing would be left.
fn with(body: &Polyline, other: &Polyline, operation: BooleanOp) -> Polyline {
    let found = body.boolean(other, operation);
    let largest = found.pos_plines.into_iter().max_by(|a, b| a.pline.area().total_cmp(&b.pline.area()));
    largest.map_or_else(|| body.clone(), |p| p.pline)
}

fn moved(shape: &Polyline, by: Vector) -> Polyline {
    let mut shape = shape.clone();
    shape.translate_mut(by.x, by.y);
    shape
}

fn oriented(mut shape: Polyline) -> Polyline {
    if shape.area() < 0.0 {
        shape.invert_direction_mut();
    }
    shape
}

fn polygon(points: &[Vector]) -> Polyline {
    let mut shape = Polyline::with_capacity(points.len(), true);
    for p in points {
        shape.add(p.x, p.y, 0.0);
    }
    shape
}

fn circle(centre: Vector, radius_m: f64, unit_m: f64) -> Polyline {
    let (c, r) = (centre / unit_m, radius_m / unit_m);
    let mut shape = Polyline::with_capacity(2, true);
    shape.add(c.x + r, c.y, 1.0);
    shape.add(c.x - r, c.y, 1.0);
    shape
}

/// A profile as vertices with bulges (the tangent of a quarter of the sweep); arcs beyond a half turn in two.
fn polyline(profile: &Profile, unit_m: f64) -> Polyline {
    let mut shape = Polyline::with_capacity(profile.edges.len(), profile.closed);
    for edge in &profile.edges {
        let (start, middle) = (edge.start() / unit_m, edge.at(0.5) / unit_m);
        match edge {
            Edge::Line { .. } => shape.add(start.x, start.y, 0.0),
            Edge::Arc { sweep_rad, .. } => {
                let bulge = (0.125 * sweep_rad).tan();
                shape.add(start.x, start.y, bulge);
                shape.add(middle.x, middle.y, bulge);
            }
        }
    }
    shape
}

/// Vertices with bulges as a profile in metres.
fn profile(shape: &Polyline, unit_m: f64) -> Profile {
    let label = Label::from(Face::BarSide);
    let count = shape.vertex_count();
    let at = |i: usize| shape.at(i % count);
    let edges = (0..count).map(|i| {
        let (a, b) = (at(i), at(i + 1));
        let (start, end) = (Vector::new(a.x, a.y) * unit_m, Vector::new(b.x, b.y) * unit_m);
        // A bulge is the rise over half the chord; positive is convex when walked anticlockwise.
        Edge::bow(start, end, a.bulge * 0.5 * (end - start).norm(), label)
    });
    Profile::new(edges.filter(|e| e.length() > 1e-6 * unit_m).collect(), true, label)
}

/// Full circle of this radius about the origin.
pub fn disc(radius_m: f64) -> Profile {
    let label = Label(0);
    Profile::new(
        vec![Edge::Arc { centre: Vector::zeros(), radius: radius_m, from_rad: 0.0, sweep_rad: TAU, label }],
        true,
        label,
    )
}
