//! Contacts where faces lie flush, corners meet corners, arcs are half or whole circles, and inputs are a few ulps off.
#![allow(clippy::unwrap_used)]

#[path = "support/cases.rs"]
mod cases;

use cases::cases;
use plane::{Edge, Feature, Label, Pose, Profile, Vector, features, smallest_gap, touches};
use proptest::prelude::*;
use std::f64::consts::{PI, TAU};

fn at(x: f64, y: f64) -> Vector {
    Vector::new(x, y)
}

fn outline(points: &[Vector]) -> Profile {
    let n = points.len();
    let edges =
        (0..n).map(|i| Edge::Line { start: points[i], end: points[(i + 1) % n], label: Label(i as u8) }).collect();
    Profile::new(edges, true, Label(9))
}

/// Angle at which the body is first stopped when turned from where it is, anticlockwise for `sense` 1.
fn first(moving: &[Feature], axis: Vector, standing: &[Feature], sense: f64) -> Option<f64> {
    let mut best: Option<f64> = None;
    touches(moving, axis, standing, |t| {
        let way = (sense * t.angle_rad).rem_euclid(TAU);
        if t.opening * sense < 0.0 && best.is_none_or(|b| way < b) {
            best = Some(way);
        }
    });
    best
}

fn nudge(x: f64, ulps: i64) -> f64 {
    f64::from_bits((x.to_bits() as i64 + ulps) as u64)
}

fn nudged(p: Vector, ulps: (i64, i64)) -> Vector {
    Vector::new(nudge(p.x, ulps.0), nudge(p.y, ulps.1))
}

fn ulps() -> impl Strategy<Value = (i64, i64)> {
    (-4..=4i64, -4..=4i64)
}

proptest! {
    #![proptest_config(cases(2000))]

    /// A block comes down flush on the top of another: whole, part or only the corner's width of the faces in common.
    #[test]
    fn a_face_laid_flush_on_a_face_stops_there(
        angle_rad in -3.0..3.0f64, turn_rad in 0.05..1.0f64, sense in prop_oneof![Just(1.0), Just(-1.0)],
        left in 0.3..1.5f64, width in 0.2..2.0f64, offset in prop_oneof![Just(0.0), Just(1.0), Just(-1.0), -0.9..0.9f64],
        off_a in proptest::collection::vec(ulps(), 4), off_b in proptest::collection::vec(ulps(), 4),
    ) {
        // Standing: [left, left + width] below y = 0, turned by `angle_rad` about the axis (the origin). Moving: above it.
        let place = Pose::new(angle_rad, Vector::zeros());
        let from = (left + offset * width).max(0.05);
        // Clear of one another also where the offset makes them share a corner only.
        let standing: Vec<_> = [at(left, -0.5), at(left + width, -0.5), at(left + width, 0.0), at(left, 0.0)]
            .iter().zip(&off_b).map(|(p, u)| nudged(place.point(*p), *u)).collect();
        let lifted = Pose::new(angle_rad + turn_rad, Vector::zeros());
        let moving: Vec<_> = [at(from, 0.0), at(from + width, 0.0), at(from + width, 0.3), at(from, 0.3)]
            .iter().zip(&off_a).map(|(p, u)| nudged(lifted.point(*p), *u)).collect();
        let (mut moving, mut standing) = (outline(&moving), outline(&standing));
        if sense > 0.0 {
            (moving, standing) = (moving.mirrored(), standing.mirrored());
        }
        let found = first(&features(&moving), Vector::zeros(), &features(&standing), sense);
        if from <= left + width && from + width >= left {
            let grazes = from == left + width || from + width == left;
            match found {
                Some(way) => prop_assert!((way - turn_rad).abs() < 1e-12 || grazes, "{way} for {turn_rad}"),
                // Sharing a corner's width only, a few ulps decide whether they meet.
                None => prop_assert!(grazes, "not stopped"),
            }
        }
    }

    /// Two wedges run point against point.
    #[test]
    fn a_corner_on_a_corner_stops(
        turn_rad in 0.1..2.0f64, half_a in 0.05..1.4f64, half_b in 0.05..1.4f64, lean_a in -1.0..1.0f64, lean_b in -1.0..1.0f64,
        off_a in ulps(), off_b in ulps(),
    ) {
        // Points at (1, 0); the standing wedge opens downward, the turned one upward, each leaning by less than lets it
        // reach over the path of the other's point.
        let wedge = |tip: Vector, middle: f64, half: f64| {
            let ray = |a: f64| tip + Vector::new(a.cos(), a.sin()) * 0.02;
            outline(&[tip, ray(middle - half), ray(middle + half)])
        };
        let (room_a, room_b) = ((PI / 2.0 - half_a) * 0.9, (PI / 2.0 - half_b) * 0.9);
        let standing = wedge(nudged(at(1.0, 0.0), (off_b.0, 0)), -PI / 2.0 + lean_b * room_b, half_b);
        let moving = wedge(nudged(at(1.0, 0.0), (off_a.0, 0)), PI / 2.0 + lean_a * room_a, half_a)
            .posed(&Pose::new(turn_rad, Vector::zeros()));
        let found = first(&features(&moving), Vector::zeros(), &features(&standing), -1.0);
        // A few ulps aside they pass point by flank: by as many ulps over the flank's slope.
        prop_assert!(found.is_some_and(|w| (w - turn_rad).abs() < 1e-12), "{found:?} for {turn_rad}");
    }

    /// A pill: two exact half circles and two lines, and as many ulps less or more than half.
    #[test]
    fn half_circles_are_met_all_round(
        direction_rad in -PI..PI, ulps in -8..=8i64, needle in 0.0..0.3f64,
    ) {
        let sweep_rad = nudge(PI, ulps);
        let arc = |x: f64, from_rad: f64| Edge::Arc { centre: at(x, 0.0), radius: 0.5, from_rad, sweep_rad, label: Label(0) };
        let line = |a, b| Edge::Line { start: a, end: b, label: Label(1) };
        let pill = Profile::new(
            vec![line(at(-1.0, -0.5), at(1.0, -0.5)), arc(1.0, -PI / 2.0), line(at(1.0, 0.5), at(-1.0, 0.5)), arc(-1.0, PI / 2.0)],
            true,
            Label(2),
        );
        // A disc that comes on to the pill square to its outline, from the direction given.
        let normal = Vector::new(direction_rad.cos(), direction_rad.sin());
        let centre = if normal.x >= 0.0 { at(1.0, 0.0) } else { at(-1.0, 0.0) };
        let tip = centre + normal * 0.5;
        let radius = 0.05 + needle;
        let disc = |c: Vector| Profile::new(vec![Edge::Arc { centre: c, radius, from_rad: 0.3, sweep_rad: TAU, label: Label(3) }], true, Label(3));
        // Its axis lies square to the normal, so that it moves along it.
        let axis = tip + normal * radius + Vector::new(-normal.y, normal.x) * 3.0;
        let moving = disc(tip + normal * radius).posed(&Pose::about(axis, 0.2));
        let found = first(&features(&moving), axis, &features(&pill), -1.0);
        prop_assert!(found.is_some_and(|w| (w - 0.2).abs() < 1e-9), "{found:?}");
        // And its distance before that.
        let gap = smallest_gap(&features(&disc(tip + normal * (radius + 0.1))), &features(&pill), |_| false).unwrap();
        prop_assert!((gap.distance - 0.1).abs() < 1e-12, "{gap:?}");
    }

    /// Near-tangent: a point whose circle just reaches a face, or just does not.
    #[test]
    fn a_grazing_point_is_met_or_not_and_never_out_of_place(depth in -1e-9..1e-9f64, small in -1e-14..1e-14f64, scale in 1e-4..1e2f64) {
        for depth in [depth, small] {
            // The axis at the origin, a wall whose face is x = 1, standing to the right of it; the point at radius 1 + depth.
            let wall = outline(&[at(scale, -scale), at(2.0 * scale, -scale), at(2.0 * scale, scale), at(scale, scale)]);
            let r = scale * (1.0 + depth);
            let needle = outline(&[at(0.0, -0.01 * scale), at(r, 0.0), at(0.0, 0.01 * scale)]).posed(&Pose::new(-0.7, Vector::zeros()));
            let found = first(&features(&needle), Vector::zeros(), &features(&wall), 1.0);
            // cos(way left) = 1 / (1 + depth).
            let expected = if depth > 0.0 { Some(0.7 - (1.0 / (1.0 + depth)).acos()) } else { None };
            match (found, expected) {
                (Some(f), Some(e)) => prop_assert!((f - e).abs() < 1e-15 / depth.max(1e-16).sqrt() + 1e-13, "{f} {e}"),
                (None, None) => {}
                // Within rounding of the wall both are right, but only near the tangent point.
                (Some(f), None) => prop_assert!(depth > -1e-15 && (f - 0.7).abs() < 1e-7, "{f} at {depth}"),
                (None, Some(_)) => prop_assert!(depth < 1e-15, "passes at {depth}"),
            }
        }
    }
}

/// A disc inside a hollow, also when both have the same centre.
#[test]
fn a_disc_in_a_hollow_of_the_same_centre_has_the_gap_between_the_radii() {
    let hollow = Profile::new(
        vec![Edge::Arc { centre: at(0.0, 0.0), radius: 1.0, from_rad: 1.0, sweep_rad: -4.0, label: Label(0) }],
        false,
        Label(0),
    );
    for off in [0.0, 1e-300, 1e-17, 1e-12, 1e-3, 0.2] {
        // Toward the middle of the hollow, that is its direction 1 − 2 rad.
        let centre = Vector::new((-1.0_f64).cos(), (-1.0_f64).sin()) * off;
        let disc = Profile::new(
            vec![Edge::Arc { centre, radius: 0.6, from_rad: 0.0, sweep_rad: TAU, label: Label(1) }],
            true,
            Label(1),
        );
        let gap = smallest_gap(&features(&disc), &features(&hollow), |_| false);
        assert!(gap.is_some_and(|g| (g.distance - (0.4 - off)).abs() < 1e-12), "{off}: {gap:?}");
    }
}

/// Whole circles, met just where they begin and end, whatever direction that is.
#[test]
fn a_whole_circle_has_no_seam() {
    for i in 0..720 {
        let from_rad = f64::from(i) * 0.1 - 30.0;
        let disc = Profile::new(
            vec![Edge::Arc { centre: at(0.0, 0.0), radius: 1.0, from_rad, sweep_rad: TAU, label: Label(0) }],
            true,
            Label(0),
        );
        // A point that comes on to the seam square to the circle: its axis lies on the tangent there.
        let tip = Vector::new(from_rad.cos(), from_rad.sin());
        let along = Vector::new(-tip.y, tip.x);
        let axis = tip + along * 3.0;
        let needle = outline(&[tip, tip * 1.5 - along * 0.1, tip * 1.5 + along * 0.1]);
        let found = first(&features(&needle.posed(&Pose::about(axis, 0.2))), axis, &features(&disc), -1.0);
        assert!(found.is_some_and(|w| (w - 0.2).abs() < 1e-12), "{from_rad}: {found:?}");
    }
}
