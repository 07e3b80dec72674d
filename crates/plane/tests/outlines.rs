//! Bows, trimmed edges, finished corners, mirror images, areas and reaches; the smallest gap against dense polygons.
#![allow(clippy::unwrap_used)]

#[path = "support/cases.rs"]
mod cases;
#[path = "support/outline.rs"]
mod outline;
#[path = "support/polygon.rs"]
mod polygon;

use cases::cases;
use outline::sketch;
use plane::{Corner, Edge, Label, Pose, Profile, ProfileError, Vector, features, smallest_gap};
use polygon::{Bound, area, distance, overlap, polygon as polygon_of};
use proptest::prelude::*;
use std::f64::consts::PI;

fn at(x: f64, y: f64) -> Vector {
    Vector::new(x, y)
}

fn edge() -> impl Strategy<Value = Edge> {
    let bow = prop_oneof![Just(0.0), -2.0..2.0f64, -1e-3..1e-3f64];
    (-2.0..2.0f64, -2.0..2.0f64, -2.0..2.0f64, -2.0..2.0f64, bow)
        .prop_filter("two points", |(a, b, c, d, _)| (a - c).hypot(b - d) > 0.05)
        .prop_map(|(a, b, c, d, bow)| Edge::bow(at(a, b), at(c, d), bow, Label(0)))
}

proptest! {
    #![proptest_config(cases(1000))]

    #[test]
    fn a_bow_ends_at_its_points_and_rises_as_asked(
        a in (-2.0..2.0f64, -2.0..2.0f64), b in (-2.0..2.0f64, -2.0..2.0f64), rise in -3.0..3.0f64, power in 0..8i32,
    ) {
        let (a, b) = (at(a.0, a.1), at(b.0, b.1));
        let chord = (b - a).norm();
        prop_assume!(chord > 0.05 && rise != 0.0);
        let rise = rise * 0.1_f64.powi(power);
        let e = Edge::bow(a, b, rise, Label(0));
        let Edge::Arc { radius, sweep_rad, .. } = e else { return Err(TestCaseError::fail("no arc")) };
        let ulps = 1e-14 * (1.0 + radius);
        prop_assert!((e.start() - a).norm() < ulps && (e.end() - b).norm() < ulps);
        // Out of the material is to the right of the way along.
        let right = at(b.y - a.y, a.x - b.x) / chord;
        prop_assert!((e.at(0.5) - 0.5 * (a + b) - right * rise).norm() < ulps);
        prop_assert!((sweep_rad > 0.0) == (rise > 0.0));
        prop_assert!(2.0 * rise.abs() <= chord || sweep_rad.abs() >= PI - 1e-6);
        // Length, by summing chords.
        let steps = 500;
        let way: f64 = (0..steps).map(|i| (e.at(f64::from(i + 1) / f64::from(steps)) - e.at(f64::from(i) / f64::from(steps))).norm()).sum();
        prop_assert!((way / e.length() - 1.0).abs() < 1e-4);
    }

    #[test]
    fn a_trimmed_edge_runs_over_the_same_points(e in edge(), from in 0.0..0.9f64, part in 0.05..1.0f64, turn_rad in -4.0..4.0f64) {
        let to = from + (1.0 - from) * part;
        let t = e.trimmed(from, to);
        let ulps = if let Edge::Arc { radius, .. } = e { 1e-14 * (1.0 + radius) } else { 1e-14 };
        for i in 0..=10 {
            let p = f64::from(i) / 10.0;
            let whole = from + p * (to - from);
            prop_assert!((t.at(p) - e.at(whole)).norm() < ulps);
            prop_assert!((t.tangent(p) - e.tangent(whole)).norm() < 1e-10);
            // The direction of walking: that of a chord is the tangent in its middle.
            let h = 1e-3;
            let step = e.at(whole + h) - e.at(whole - h);
            prop_assert!((step.normalize() - e.tangent(whole)).norm() < 1e-12 + ulps / step.norm());
        }
        prop_assert!((t.length() - e.length() * (to - from)).abs() < 1e-9);
        let pose = Pose::about(at(0.3, -0.7), turn_rad);
        prop_assert!((e.posed(&pose).at(0.3) - pose.point(e.at(0.3))).norm() < ulps);
        // A turn taken back, and two turns one after the other.
        prop_assert!((Pose::about(at(0.3, -0.7), -turn_rad).point(pose.point(e.at(0.3))) - e.at(0.3)).norm() < 1e-12);
        let twice = pose.then(&Pose::new(1.0, at(2.0, 3.0)));
        prop_assert!((twice.point(e.at(0.7)) - Pose::new(1.0, at(2.0, 3.0)).point(pose.point(e.at(0.7)))).norm() < 1e-12);
    }

    #[test]
    fn finished_corners_are_closed_tangent_and_of_the_size_asked(s in sketch()) {
        let edges = s.edges();
        let Ok(p) = Profile::with_corners(&edges, true) else { return Err(TestCaseError::reject("too large")) };
        let largest = p.edges.iter().map(|e| if let Edge::Arc { radius, .. } = e { *radius } else { 0.0 }).fold(1.0, f64::max);
        let ulps = 1e-14 * (1.0 + largest);
        prop_assert!(p.largest_jump() < ulps, "jump {}", p.largest_jump());
        prop_assert_eq!(p.edges.len(), p.corners.len());
        let n = p.edges.len();
        let mut finished = 0;
        for (i, e) in p.edges.iter().enumerate() {
            let label = e.label();
            if label.0 >= 100 {
                continue;
            }
            // An edge that finishes corner `label`.
            finished += 1;
            let (before, after) = (&p.edges[(i + n - 1) % n], &p.edges[(i + 1) % n]);
            let (corner, _, original) = edges[label.0 as usize];
            let vertex = original.start();
            match (corner, e) {
                (Corner::Round(size), Edge::Arc { radius, sweep_rad, .. }) => {
                    prop_assert!((radius / size - 1.0).abs() < 1e-6 * (1.0 + 1e-9 * largest / size), "{radius} {size}");
                    let fine = 1e-7 + 10.0 * ulps / size;
                    prop_assert!((before.tangent(1.0) - e.tangent(0.0)).norm() < fine, "not tangent before");
                    prop_assert!((after.tangent(0.0) - e.tangent(1.0)).norm() < fine, "not tangent after");
                    prop_assert!(sweep_rad.abs() < PI + 0.5);
                }
                (Corner::Chamfer(size), Edge::Line { start, end, .. }) => {
                    let last = &edges[(label.0 as usize + edges.len() - 1) % edges.len()].2;
                    // The cut is measured along each edge, from the corner.
                    let along = |e: &Edge, from_end: bool, p: Vector| {
                        let part = size / e.length();
                        (e.at(if from_end { 1.0 - part } else { part }) - p).norm()
                    };
                    prop_assert!(along(last, true, *start) < ulps && along(&original, false, *end) < ulps);
                }
                (c, e) => prop_assert!(false, "{c:?} finished by {e:?} at {vertex}"),
            }
        }
        let asked = edges.iter().filter(|(c, ..)| *c != Corner::Sharp).count();
        prop_assert_eq!(finished, asked);
    }

    #[test]
    fn area_reach_and_mirror_agree_with_polygons(s in sketch(), from in (-3.0..3.0f64, -3.0..3.0f64)) {
        let Some(p) = s.outline() else { return Err(TestCaseError::reject("no outline")) };
        let (inner, outer) = (polygon_of(&p, Bound::Inner, 0.01), polygon_of(&p, Bound::Outer, 0.01));
        let (low, high) = (area(&inner), area(&outer));
        prop_assert!(p.area() >= low - 1e-9 && p.area() <= high + 1e-9, "{low} {} {high}", p.area());
        prop_assert!(low > 0.0 && high - low < 1e-3);
        let from = at(from.0, from.1);
        let reach = |points: &[Vector]| points.iter().map(|q| (q - from).norm()).fold(0.0, f64::max);
        prop_assert!(p.reach(from) >= reach(&inner) - 1e-9 && p.reach(from) <= reach(&outer) + 1e-9);
        // To the rounding of a circle of 10⁶ times the size, which the flattest bows have. Mirror image: same area, same features in mirrored places, and twice gives it back.
        let m = p.mirrored();
        prop_assert!((m.area() - p.area()).abs() < 1e-9 && m.largest_jump() < 1e-8);
        let flip = |v: Vector| at(-v.x, v.y);
        let count = p.edges.len();
        for (i, e) in p.edges.iter().enumerate() {
            let image = &m.edges[count - 1 - i];
            prop_assert_eq!(e.label(), image.label());
            for part in [0.0, 0.2, 1.0] {
                prop_assert!((flip(e.at(part)) - image.at(1.0 - part)).norm() < 1e-8);
            }
            // The corner at the start of an edge is at the end of its image.
            let corner = p.corners[i];
            let there = m.edges.iter().zip(&m.corners).find(|(f, _)| (f.start() - flip(e.start())).norm() < 1e-8);
            prop_assert_eq!(there.map(|(_, c)| *c), Some(corner));
        }
        let back = m.mirrored();
        for (a, b) in p.edges.iter().zip(&back.edges) {
            prop_assert!((a.at(0.4) - b.at(0.4)).norm() < 1e-8);
        }
    }

    #[test]
    fn outlines_overlap_where_their_polygons_do(
        a in sketch(), b in sketch(), way in (-3.0..3.0f64, -3.0..3.0f64), size in 0.05..1.0f64, turn_rad in -PI..PI,
    ) {
        let (Some(p), Some(q)) = (a.outline(), b.outline()) else { return Err(TestCaseError::reject("no outline")) };
        let scaled = |e: &Edge| match *e {
            Edge::Line { start, end, label } => Edge::Line { start: start * size, end: end * size, label },
            Edge::Arc { centre, radius, from_rad, sweep_rad, label } =>
                Edge::Arc { centre: centre * size, radius: radius * size, from_rad, sweep_rad, label },
        };
        let q = Profile { edges: q.edges.iter().map(scaled).collect(), ..q }.posed(&Pose::new(turn_rad, at(way.0, way.1)));
        let both = |bound| overlap(&polygon_of(&p, bound, 0.02), &polygon_of(&q, bound, 0.02));
        // Between the inner and the outer polygons either answer may be right.
        let (inner, outer) = (both(Bound::Inner), both(Bound::Outer));
        if inner == outer {
            prop_assert_eq!((p.overlaps(&q), q.overlaps(&p)), (inner, inner));
        }
    }

    /// Bows from a hair to nearly a whole circle: inside is what lies nearer to the centre than the radius, on the arc's
    /// side of its chord.
    #[test]
    fn a_bow_contains_what_its_circle_and_chord_say(
        sweep_rad in prop_oneof![0.01..6.28f64, Just(PI), Just(2.0 * PI)], from_rad in -PI..PI, spot in (-1.5..1.5f64, -1.5..1.5f64),
        clockwise in any::<bool>(),
    ) {
        let sweep_rad = if clockwise { -sweep_rad } else { sweep_rad };
        let arc = Edge::Arc { centre: at(0.0, 0.0), radius: 1.0, from_rad, sweep_rad, label: Label(0) };
        let whole = sweep_rad.abs() > 2.0 * PI - 1e-9;
        let chord = Edge::Line { start: arc.end(), end: arc.start(), label: Label(1) };
        let bow = Profile::new(if whole { vec![arc] } else { vec![arc, chord] }, true, Label(0));
        let p = at(spot.0, spot.1);
        let (a, b) = (arc.start(), arc.end());
        // Seen along the way from start to end the arc bulges to the right when it turns anticlockwise.
        let side = (b - a).x * (p - a).y - (b - a).y * (p - a).x;
        let near = (p.norm() - 1.0).abs() < 1e-6 || (!whole && side.abs() < 1e-6);
        prop_assume!(!near);
        let right_side = whole || side * sweep_rad < 0.0;
        prop_assert_eq!(bow.contains(p), p.norm() < 1.0 && right_side);
    }

    #[test]
    fn the_smallest_gap_lies_between_those_of_the_polygons(
        a in sketch(), b in sketch(), way in (-3.0..3.0f64, -3.0..3.0f64), turn_rad in -PI..PI,
    ) {
        let (Some(p), Some(q)) = (a.outline(), b.outline()) else { return Err(TestCaseError::reject("no outline")) };
        let q = q.posed(&Pose::new(turn_rad, at(way.0, way.1)));
        let outer = (polygon_of(&p, Bound::Outer, 0.02), polygon_of(&q, Bound::Outer, 0.02));
        prop_assume!(!overlap(&outer.0, &outer.1));
        let inner = (polygon_of(&p, Bound::Inner, 0.02), polygon_of(&q, Bound::Inner, 0.02));
        let least = distance(&outer.0, true, &outer.1, true);
        let most = distance(&inner.0, true, &inner.1, true);
        let gap = smallest_gap(&features(&p), &features(&q), |_| false);
        // An arc of radius r is r × 1e-16 off.
        let ulps = 1e-9;
        prop_assert!(gap.is_some_and(|g| g.distance >= least - ulps && g.distance <= most + ulps), "{least} {gap:?} {most}");
        let g = gap.unwrap();
        prop_assert!(((g.first - g.second).norm() - g.distance).abs() < 1e-9);
    }

    /// A corner fits exactly as long as its tangent length fits: closed form for two straight edges.
    #[test]
    fn a_corner_is_too_large_exactly_when_it_does_not_fit(
        angle_rad in 0.2..2.9f64, first in 0.3..2.0f64, second in 0.3..2.0f64, part in prop_oneof![0.5..1.5f64, Just(0.999_999), Just(1.000_001)],
        round in any::<bool>(),
    ) {
        // A triangle's corner of interior angle `angle_rad` between edges of the given lengths.
        let (b, a) = (at(0.0, 0.0), at(first, 0.0));
        let c = Vector::new(angle_rad.cos(), angle_rad.sin()) * second;
        // Walking c → b → a keeps the material on the left.
        let line = |s, e| Edge::Line { start: s, end: e, label: Label(100) };
        let shorter = first.min(second);
        let cut = part * shorter;
        let corner = if round { Corner::Round(cut * (0.5 * angle_rad).tan()) } else { Corner::Chamfer(cut) };
        let edges = [(Corner::Sharp, Label(0), line(c, b)), (corner, Label(1), line(b, a)), (Corner::Sharp, Label(2), line(a, c))];
        match Profile::with_corners(&edges, true) {
            Ok(p) => prop_assert!(part < 1.0 && p.largest_jump() < 1e-12),
            Err(ProfileError::CornerTooLarge { size, before, after, label }) => {
                prop_assert!(part > 1.0, "refused at {part}");
                let asked = if let Corner::Round(r) | Corner::Chamfer(r) = corner { r } else { 0.0 };
                prop_assert!(size == asked && label == Label(1));
                prop_assert!((before - second).abs() < 1e-12 && (after - first).abs() < 1e-12);
            }
            Err(e) => prop_assert!(false, "{e}"),
        }
    }

    /// Two corners share one edge: together they must fit it.
    #[test]
    fn two_corners_share_the_edge_between_them(one in 0.05..0.95f64, two in 0.05..0.95f64, round in any::<[bool; 2]>()) {
        prop_assume!((one + two - 1.0).abs() > 1e-9);
        // In a square the tangent length of a rounding is its radius.
        let points = [at(0.0, 0.0), at(1.0, 0.0), at(1.0, 1.0), at(0.0, 1.0)];
        let corner = |i: usize| match (i, round) {
            (0, [true, _]) => Corner::Round(one),
            (0, _) => Corner::Chamfer(one),
            (1, [_, true]) => Corner::Round(two),
            (1, _) => Corner::Chamfer(two),
            _ => Corner::Sharp,
        };
        let edges: Vec<_> = (0..4)
            .map(|i| (corner(i), Label(i as u8), Edge::Line { start: points[i], end: points[(i + 1) % 4], label: Label(100) }))
            .collect();
        for turned in 0..4 {
            let mut edges = edges.clone();
            edges.rotate_left(turned);
            let made = Profile::with_corners(&edges, true);
            prop_assert_eq!(made.is_ok(), one + two < 1.0);
            if let Ok(p) = made {
                let taken = |size: f64, round: bool| if round { size * size * (1.0 - PI / 4.0) } else { 0.5 * size * size };
                prop_assert!((p.area() - (1.0 - taken(one, round[0]) - taken(two, round[1]))).abs() < 1e-12);
            }
        }
    }
}

/// Rounding by hand: a right angle between a line and an arc whose circle passes through the corner.
#[test]
fn a_rounding_between_a_line_and_an_arc_is_where_geometry_says() {
    // Lower line from (−3, 0) to the corner (0, 0), then up along a circle of radius 2 about (−2, 0), anticlockwise.
    let line = Edge::Line { start: at(-3.0, 0.0), end: at(0.0, 0.0), label: Label(100) };
    let arc = Edge::Arc { centre: at(-2.0, 0.0), radius: 2.0, from_rad: 0.0, sweep_rad: PI / 2.0, label: Label(101) };
    let close = Edge::Line { start: at(-2.0, 2.0), end: at(-3.0, 0.0), label: Label(102) };
    let r = 0.3;
    let p = Profile::with_corners(
        &[(Corner::Sharp, Label(0), line), (Corner::Round(r), Label(1), arc), (Corner::Sharp, Label(2), close)],
        true,
    )
    .unwrap();
    let rounding = p.edges.iter().find(|e| e.label() == Label(1)).unwrap();
    // Its centre is r above the line and 2 − r from the circle's centre.
    let x = -2.0 + ((2.0 - r) * (2.0 - r) - r * r).sqrt();
    let Edge::Arc { centre, radius, sweep_rad, .. } = *rounding else { panic!("{rounding:?}") };
    assert!((centre - at(x, r)).norm() < 1e-14 && (radius - r).abs() < 1e-14);
    assert!((sweep_rad - (PI / 2.0 + (r / (2.0 - r)).asin())).abs() < 1e-13);
    assert!((p.reach(at(-2.0, 0.0)) - 2.0).abs() < 1e-14);
}
