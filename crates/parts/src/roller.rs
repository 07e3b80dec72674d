//! Impulse jewel and safety roller, in the roller's frame (jewel toward −y; turned with the line by the roller's pose).

use movement::{Diagnostic, Movement, ParamKind as K};
use plane::{Corner, Edge, Label, Pose, Profile, ProfileError, Vector, polar};
use std::f64::consts::{FRAC_PI_2, TAU};

use crate::build::shown;
use crate::face::Face;
use crate::parts::{Body, corner_fault};

/// Height of the flat of a triangular jewel outward of its centre, and radius of its corners, over its width. Assumed.
const TRIANGLE_FLAT_RATIO: f64 = 0.1;
const TRIANGLE_CORNER_RATIO: f64 = 0.08;
/// Radius of an oval jewel's ends over its thickness. Assumed.
const OVAL_END_RATIO: f64 = 0.3;

/// The jewel of a closed movement about its own centre, outward being −y.
fn jewel_section(movement: &Movement) -> Result<Profile, Vec<Diagnostic>> {
    section(movement.word(K::JewelShape), movement.si(K::JewelCutRatio), movement.si(K::JewelWidth))
        .map_err(|e| vec![corner_fault(e, K::JewelWidth.once(), movement)])
}

/// A jewel of the shape `shape` about its own centre, outward being −y.
pub(crate) fn section(shape: &str, cut_ratio: f64, width_m: f64) -> Result<Profile, ProfileError> {
    let half_m = 0.5 * width_m;
    let round = Label::from(Face::JewelRound);
    let flat = Label::from(Face::JewelFlat);
    let corner = Label::from(Face::JewelCorner);
    Ok(match shape {
        // Half-moon with nothing cut away: a round pin.
        _ if shape == "round" || (shape == "half_moon" && cut_ratio == 0.0) => Profile::new(
            vec![Edge::Arc { centre: Vector::zeros(), radius: half_m, from_rad: 0.0, sweep_rad: TAU, label: round }],
            true,
            round,
        ),
        "oval" => {
            let thick_m = width_m * (1.0 - cut_ratio);
            let end_m = OVAL_END_RATIO * thick_m;
            let end = half_m - end_m;
            // Large arcs tangent to the end arcs.
            let side_m = (end * end + 0.25 * thick_m * thick_m - end_m * end_m) / (thick_m - 2.0 * end_m);
            let centre = Vector::new(0.0, side_m - 0.5 * thick_m);
            let join = |x: f64, below: bool| {
                let large = if below { centre } else { -centre };
                let small = Vector::new(x, 0.0);
                large + (small - large).normalize() * side_m
            };
            let (a, b, c, d) = (join(-end, true), join(end, true), join(end, false), join(-end, false));
            let edges = vec![
                Edge::arc(centre, a, b, true, round),
                Edge::arc(Vector::new(end, 0.0), b, c, true, round),
                Edge::arc(-centre, c, d, true, round),
                Edge::arc(Vector::new(-end, 0.0), d, a, true, round),
            ];
            Profile::new(edges, true, round)
        }
        "triangular" => {
            let y = -TRIANGLE_FLAT_RATIO * width_m;
            let points =
                [Vector::new(-half_m, y), Vector::new(half_m, y), Vector::new(0.0, y + half_m * 3.0_f64.sqrt())];
            // Rounded corners reach the stated width: the sharp triangle is wider by what the rounding takes.
            let radius = TRIANGLE_CORNER_RATIO * width_m;
            let grow = radius * (1.0 / FRAC_PI_2.sin() - 1.0) + radius * (3.0_f64.sqrt() - 1.0);
            let at = |i: usize| {
                let p = points[i % 3];
                Vector::new(
                    p.x + p.x.signum() * if p.x == 0.0 { 0.0 } else { grow },
                    p.y + if i % 3 == 2 { grow * 3.0_f64.sqrt() } else { 0.0 },
                )
            };
            let edges: Vec<_> = (0..3)
                .map(|i| (Corner::Round(radius), corner, Edge::Line { start: at(i), end: at(i + 1), label: flat }))
                .collect();
            Profile::with_corners(&edges, true)?
        }
        _ => {
            // Half-moon: a round pin with part of its diameter cut away on the side of the fork.
            let y = -(0.5 - cut_ratio) * width_m;
            let x = (half_m * half_m - y * y).sqrt();
            let (a, b) = (Vector::new(-x, y), Vector::new(x, y));
            let edges =
                vec![Edge::Line { start: a, end: b, label: flat }, Edge::arc(Vector::zeros(), b, a, true, round)];
            Profile::new(edges, true, corner)
        }
    })
}

/// The jewel where it stands: out by its bench move, displaced by its lean at the height of the lever's plane.
/// The section's own stretch by 1/cos of the lean (0.4 % at 5 deg) is left out.
pub(crate) fn jewel(movement: &Movement) -> Result<Body, Vec<Diagnostic>> {
    let lean_m = movement.si(K::JewelHeight) * movement.si(K::JewelLean).tan();
    let centre = Vector::new(0.0, -(movement.si(K::RollerJewelDistance) + movement.si(K::JewelOut)))
        + polar(lean_m, movement.si(K::JewelLeanDirection) - FRAC_PI_2);
    Ok(Body::new(jewel_section(movement)?.posed(&Pose::shift(centre))))
}

/// Distance of the outermost point of the jewel from the balance axis, as drawn (no bench move).
pub(crate) fn nominal_jewel_reach_m(movement: &Movement) -> Result<f64, Vec<Diagnostic>> {
    let at = Pose::shift(Vector::new(0.0, -movement.si(K::RollerJewelDistance)));
    Ok(jewel_section(movement)?.posed(&at).reach(Vector::zeros()))
}

/// The guarded edge with its crescent.
pub(crate) fn safety(movement: &Movement) -> Result<Body, Vec<Diagnostic>> {
    let radius_m = movement.si(K::RollerSafetyRadius);
    let half_rad = movement.si(K::RollerCrescent);
    let depth_m = movement.si(K::RollerCrescentDepth);
    let sagitta_m = radius_m * (1.0 - half_rad.cos());
    if depth_m <= sagitta_m || depth_m >= radius_m {
        let id = K::RollerCrescentDepth.once();
        return Err(vec![
            Diagnostic::error("no-such-roller", "the crescent is no hollow in the roller's edge")
                .about(id)
                .about(K::RollerCrescent.once())
                .value(shown(id, depth_m))
                .allowed(format!(
                    "{} to {} with this roller and crescent_half_angle_deg",
                    shown(id, sagitta_m),
                    shown(id, radius_m)
                ))
                .hint("make the crescent deeper or narrower"),
        ]);
    }
    let middle_rad = -FRAC_PI_2 + movement.si(K::RollerCrescentTurn);
    let (right, left) = (polar(radius_m, middle_rad + half_rad), polar(radius_m, middle_rad - half_rad));
    let edges = vec![
        Edge::arc(Vector::zeros(), right, left, true, Face::RollerEdge.into()),
        Edge::bow(left, right, sagitta_m - depth_m, Face::Crescent.into()),
    ];
    Ok(Body::new(Profile::new(edges, true, Face::CrescentCorner.into())))
}
