//! The first touch of a turned body, against dense polygons on both sides of the true outlines; mirror and scale.
#![allow(clippy::unwrap_used)]

#[path = "support/cases.rs"]
mod cases;
#[path = "support/outline.rs"]
mod outline;
#[path = "support/polygon.rs"]
mod polygon;

use cases::cases;
use outline::{Sketch, sketch};
use plane::{Feature, Pose, Profile, Shape, Touch, Vector, features, touches, wrap_rad};
use polygon::{Bound, Chain, distance, overlap, polygon as polygon_of, turned};
use proptest::prelude::*;
use std::f64::consts::{PI, TAU};

/// Step of the polygons, in radians of arc.
const STEP_RAD: f64 = 0.02;

/// Where a body is first stopped, by the kernel.
fn first(moving: &[Feature], axis: Vector, standing: &[Feature], sense: f64) -> Option<(f64, Touch)> {
    let mut best: Option<(f64, Touch)> = None;
    touches(moving, axis, standing, |t| {
        let way = (sense * t.angle_rad).rem_euclid(TAU);
        if t.opening * sense < 0.0 && best.is_none_or(|(w, _)| way < w) {
            best = Some((way, t));
        }
    });
    best
}

struct Pair {
    moving: Profile,
    standing: Profile,
    axis: Vector,
}

/// Two bodies apart, `moving` to be turned about `axis`.
fn pair(a: &Sketch, b: &Sketch, arm: (f64, f64), at: (f64, f64), start_rad: f64) -> Option<Pair> {
    let (moving, standing) = (a.outline()?, b.outline()?);
    let axis = Vector::new(arm.0, arm.1);
    let far = axis + Vector::new(at.0, at.1);
    Some(Pair {
        moving: moving.posed(&Pose::about(axis, start_rad)),
        standing: standing.posed(&Pose::shift(far)),
        axis,
    })
}

proptest! {
    #![proptest_config(cases(1200))]

    #[test]
    fn first_touch_lies_between_the_polygons(
        a in sketch(), b in sketch(), arm in (-2.5..2.5f64, -2.5..2.5f64), at in (-3.5..3.5f64, -3.5..3.5f64),
        start_rad in -PI..PI, sense in prop_oneof![Just(1.0), Just(-1.0)],
    ) {
        let Some(p) = pair(&a, &b, arm, at, start_rad) else { return Err(TestCaseError::reject("no outline")) };
        let chain = |q: &Profile, bound| Chain::new(polygon_of(q, bound, STEP_RAD), true);
        let (outer, other) = (chain(&p.moving, Bound::Outer), chain(&p.standing, Bound::Outer));
        prop_assume!(!overlap(outer.points(), other.points()));
        let soonest = outer.turn_to(p.axis, &other, sense);
        let (inner, inner_other) = (chain(&p.moving, Bound::Inner), chain(&p.standing, Bound::Inner));
        let latest = inner.turn_to(p.axis, &inner_other, sense);
        let found = first(&features(&p.moving), p.axis, &features(&p.standing), sense);
        // Both polygons share every sharp corner, so at such a touch the three agree to rounding: that of the largest
        // circle, amplified where the touch grazes.
        let ulps = 1e-15 * (largest_circle(&p.moving) + largest_circle(&p.standing) + 100.0);
        let slack = |t: &Touch| ulps / t.opening.abs().max(1e-6) + 1e-12;
        match (soonest, latest, found) {
            (None, _, found) => prop_assert!(found.is_none(), "{found:?} where nothing is in the way"),
            (Some(_), Some(l), None) => prop_assert!(false, "the touch at {l} is missed"),
            (Some(_), None, None) => {}
            (Some(s), l, Some((way, t))) => {
                prop_assert!(way >= s - slack(&t), "stopped at {way} before {s}: {t:?}");
                prop_assert!(l.is_none_or(|l| way <= l + slack(&t)), "passes {l:?}, stopped at {way}: {t:?}");
            }
        }
    }

    #[test]
    fn the_gap_opens_at_the_rate_given(
        a in sketch(), b in sketch(), arm in (-2.5..2.5f64, -2.5..2.5f64), at in (-2.5..2.5f64, -2.5..2.5f64),
        sense in prop_oneof![Just(1.0), Just(-1.0)],
    ) {
        // Straight outlines: their polygons are exact, so the gap just before a touch can be measured.
        let straight = |mut s: Sketch| {
            s.corners.iter_mut().for_each(|c| *c = (c.0, c.1, 0.0, c.3, 0));
            s
        };
        let Some(p) = pair(&straight(a), &straight(b), arm, at, 0.0) else { return Err(TestCaseError::reject("no outline")) };
        let (moving, standing) = (polygon_of(&p.moving, Bound::Inner, 1.0), polygon_of(&p.standing, Bound::Inner, 1.0));
        prop_assume!(!overlap(&moving, &standing));
        let Some((way, t)) = first(&features(&p.moving), p.axis, &features(&p.standing), sense) else { return Ok(()) };
        let before_rad = 1e-5;
        // Left out: touches so near a joint that the foot is beyond it a little before.
        let joint = (t.point - p.axis).norm() * 2.0 * before_rad;
        let clear = |chain: &[Vector]| chain.iter().filter(|c| (*c - t.point).norm() < joint).count();
        let there = turned(&moving, p.axis, sense * way);
        prop_assume!(way > before_rad && clear(&there) + clear(&standing) == 1);
        let apart = distance(&turned(&moving, p.axis, sense * (way - before_rad)), true, &standing, true);
        prop_assert!((apart - t.opening.abs() * before_rad).abs() < 1e-8, "{apart} {t:?}");
    }

    #[test]
    fn a_touch_is_on_both_outlines_and_its_normal_points_out(
        a in sketch(), b in sketch(), arm in (-2.5..2.5f64, -2.5..2.5f64), at in (-3.5..3.5f64, -3.5..3.5f64), start_rad in -PI..PI,
    ) {
        let Some(p) = pair(&a, &b, arm, at, start_rad) else { return Err(TestCaseError::reject("no outline")) };
        let (moving, standing) = (polygon_of(&p.moving, Bound::Inner, STEP_RAD), polygon_of(&p.standing, Bound::Inner, STEP_RAD));
        let (outer, other) = (polygon_of(&p.moving, Bound::Outer, STEP_RAD), polygon_of(&p.standing, Bound::Outer, STEP_RAD));
        prop_assume!(!overlap(&outer, &other));
        for sense in [1.0, -1.0] {
            let Some((way, t)) = first(&features(&p.moving), p.axis, &features(&p.standing), sense) else { continue };
            let there = turned(&moving, p.axis, sense * way);
            // Sagitta of a chord of an arc of radius up to 100, which the flattest bows have.
            let near = |points: &[Vector]| {
                polygon::segments(points, true).iter().map(|s| polygon::distance_to(t.point, *s)).fold(f64::INFINITY, f64::min)
            };
            prop_assert!(near(&there) < 2e-3 && near(&standing) < 2e-3, "{t:?}");
            // Two rounds of 1e-8 of the size between centres that are rounded at 1e-16 of it.
            prop_assert!((t.normal.norm() - 1.0).abs() < 1e-7);
            // The normal points from the standing body to the turned one, and the opening is the speed along it.
            let arm = t.point - p.axis;
            let speed = Vector::new(-arm.y, arm.x).dot(&t.normal);
            prop_assert!((speed - t.opening).abs() < 1e-9 * arm.norm().max(1.0));
            let outside = t.point + t.normal * 1e-6;
            prop_assert!(!polygon::contains(&standing, outside), "normal points into the standing body: {t:?}");
            prop_assert!(!polygon::contains(&there, t.point - t.normal * 1e-6), "normal points out of the turned body: {t:?}");
        }
    }

    #[test]
    fn mirror_changes_the_sign_of_every_angle(
        a in sketch(), b in sketch(), arm in (-2.5..2.5f64, -2.5..2.5f64), at in (-2.5..2.5f64, -2.5..2.5f64),
    ) {
        let Some(p) = pair(&a, &b, arm, at, 0.0) else { return Err(TestCaseError::reject("no outline")) };
        let ours = all(&p.moving, p.axis, &p.standing);
        let flip = Vector::new(-p.axis.x, p.axis.y);
        let mut theirs = all(&p.moving.mirrored(), flip, &p.standing.mirrored());
        for t in &mut theirs {
            *t = (wrap_rad(-t.0), -t.1);
        }
        alike(ours, theirs, 1e-9)?;
    }

    #[test]
    fn scale_leaves_the_angles(
        a in sketch(), b in sketch(), arm in (-2.5..2.5f64, -2.5..2.5f64), at in (-2.5..2.5f64, -2.5..2.5f64), power in -6..6i32,
    ) {
        let Some(p) = pair(&a, &b, arm, at, 0.0) else { return Err(TestCaseError::reject("no outline")) };
        let s = 7.3_f64.powi(power);
        let ours = all(&p.moving, p.axis, &p.standing);
        let mut theirs = all(&scaled(&p.moving, s), p.axis * s, &scaled(&p.standing, s));
        for t in &mut theirs {
            t.1 /= s;
        }
        alike(ours, theirs, 1e-9)?;
    }

    #[test]
    fn turning_one_or_the_other_is_the_same(
        a in sketch(), b in sketch(), arm in (-2.5..2.5f64, -2.5..2.5f64), at in (-2.5..2.5f64, -2.5..2.5f64),
    ) {
        let Some(p) = pair(&a, &b, arm, at, 0.0) else { return Err(TestCaseError::reject("no outline")) };
        let ours = all(&p.moving, p.axis, &p.standing);
        // Turning the other back is the same relative motion; what opens for one turned one way opens for the other turned
        // the other way.
        let mut theirs = all(&p.standing, p.axis, &p.moving);
        for t in &mut theirs {
            *t = (wrap_rad(-t.0), -t.1);
        }
        alike(ours, theirs, 1e-9)?;
    }
}

fn largest_circle(profile: &Profile) -> f64 {
    let radius = |e: &plane::Edge| if let plane::Edge::Arc { radius, .. } = e { *radius } else { 0.0 };
    profile.edges.iter().map(radius).fold(0.0, f64::max)
}

fn scaled(profile: &Profile, s: f64) -> Profile {
    use plane::Edge;
    let edges = profile.edges.iter().map(|e| match *e {
        Edge::Line { start, end, label } => Edge::Line { start: start * s, end: end * s, label },
        Edge::Arc { centre, radius, from_rad, sweep_rad, label } => {
            Edge::Arc { centre: centre * s, radius: radius * s, from_rad, sweep_rad, label }
        }
    });
    Profile { edges: edges.collect(), ..profile.clone() }
}

/// Angle and opening of every touch that does not graze.
fn all(moving: &Profile, axis: Vector, standing: &Profile) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    touches(&features(moving), axis, &features(standing), |t| out.push((t.angle_rad, t.opening)));
    out
}

/// Every clear touch of one list is in the other. Touches that graze may be met or not, at a joint may be met once or
/// twice: those are left out or allowed.
fn alike(ours: Vec<(f64, f64)>, theirs: Vec<(f64, f64)>, tolerance: f64) -> Result<(), TestCaseError> {
    for (one, two) in [(&ours, &theirs), (&theirs, &ours)] {
        for a in one.iter().filter(|a| a.1.abs() > 1e-3) {
            let found = two.iter().any(|b| wrap_rad(a.0 - b.0).abs() < tolerance && (a.1 - b.1).abs() < 1e-6);
            prop_assert!(found, "{a:?} has no counterpart in {two:?}");
        }
    }
    Ok(())
}

/// The oracle of this file on a case that is known: a needle swept on to a square.
#[test]
fn the_polygons_know_a_needle_on_a_square() {
    let at = |x: f64, y: f64| Vector::new(x, y);
    let square = Chain::new(vec![at(-1.0, -1.0), at(1.0, -1.0), at(1.0, 1.0), at(-1.0, 1.0)], true);
    let needle = Chain::new(vec![at(3.0, 0.0), at(3.0, 2.5)], false);
    // The tip, 2.5 from (3, 0), comes down on the right side x = 1 at height 1.5 above 1: it meets the corner's side.
    let met = needle.turn_to(at(3.0, 0.0), &square, 1.0).unwrap();
    // Corner (1, 1) is nearer than the tip's reach: the needle lies on it at atan2(1, -2).
    assert!((PI / 2.0 + met - f64::atan2(1.0, -2.0)).abs() < 1e-12);
}

#[test]
fn a_feature_of_each_shape_is_tested() {
    // The random outlines do hold flats, corners, convex and hollow arcs: else the properties above would be idle.
    let mut seen = [0; 4];
    let mut runner = proptest::test_runner::TestRunner::new(cases(200));
    runner
        .run(&sketch(), |s| {
            if let Some(p) = s.outline() {
                for f in features(&p) {
                    match f.shape {
                        Shape::Flat(_) => seen_at(0),
                        Shape::Round(r) if r.radius == 0.0 => seen_at(1),
                        Shape::Round(r) if r.radius > 0.0 => seen_at(2),
                        Shape::Round(_) => seen_at(3),
                    }
                }
            }
            Ok(())
        })
        .unwrap();
    SEEN.with(|s| seen = *s.borrow());
    assert!(seen.iter().all(|n| *n > 50), "{seen:?}");
}

thread_local! {
    static SEEN: std::cell::RefCell<[u32; 4]> = const { std::cell::RefCell::new([0; 4]) };
}

fn seen_at(i: usize) {
    SEEN.with(|s| s.borrow_mut()[i] += 1);
}
