//! The escape wheel alone, tooth 0 upright, and a tooth enlarged.

use movement::{Movement, ParamKind as K};
use parts::Build;
use plane::{Pose, Profile, Vector, polar, quarter};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::{Cut, Finish, Scene, Shape};
use crate::dimension::Measure;
use crate::frame::disc;
use crate::rim;

/// Radius of the enlarged place over the toe radius. Chosen so that a tooth of usual height has room.
const DETAIL_RATIO: f64 = 0.16;

/// The wheel and its arbor at a pose.
pub(crate) fn shapes(build: &Build, pose: &Pose, scene: &mut Scene) {
    let outlines = outlines(build).iter().map(|o| o.posed(pose)).collect();
    scene.shape("wheel", Finish::Brass, outlines);
    let bore_m = build.movement.si(K::WheelBoreRadius);
    scene.shape("wheel-arbor", Finish::Arbor, vec![disc(bore_m).posed(pose)]);
}

fn outlines(build: &Build) -> Vec<Profile> {
    let wheel = &build.parts.wheel;
    let mut outlines = vec![rim::outline(wheel)];
    outlines.extend(wheel.openings.iter().cloned());
    outlines
}

pub(super) fn scene(build: &Build) -> Scene {
    let movement = &build.movement;
    let wheel = &build.parts.wheel;
    let si = |kind: K| movement.si(kind);
    let origin = Vector::zeros();
    let mut scene = Scene::default();
    let outlines = outlines(build);
    scene.shape("wheel", Finish::Brass, outlines.clone());
    scene.axes.push((origin, wheel.reach_m));
    let toe_m = si(K::WheelLockingRadius);
    scene.centre_circles.push((origin, toe_m));

    scene.row(movement, K::WheelToothCount.once(), "number of teeth");
    let pitch_rad = TAU / si(K::WheelToothCount);
    // Two neighbouring toes to the right of the upright one.
    let toe = |n: f64| polar(toe_m, FRAC_PI_2 - n * pitch_rad);
    let radius = |radius_m: f64, at_deg: f64| Measure::Radius {
        centre: origin,
        radius_m,
        toward: polar(1.0, at_deg.to_radians()),
    };
    scene.measure(movement, K::WheelLockingRadius.once(), "toe", radius(toe_m, 150.0));
    scene.measure(movement, K::WheelRootRadius.once(), "rim, outside", radius(si(K::WheelRootRadius), 200.0));
    scene.measure(movement, K::WheelRimRadius.once(), "rim, inside", radius(si(K::WheelRimRadius), -25.0));
    scene.measure(movement, K::WheelHubRadius.once(), "hub", radius(si(K::WheelHubRadius), 215.0));
    scene.measure(movement, K::WheelBoreRadius.once(), "bore", radius(si(K::WheelBoreRadius), -40.0));
    let spokes = si(K::WheelSpokeCount);
    if spokes >= 1.0 && wheel.openings.len() > 1 {
        scene.row(movement, K::WheelSpokeCount.once(), "number of spokes");
        // Across the first spoke, near the hub, where the window is high.
        let (along, middle_m) = (polar(1.0, 0.0), 0.1 * si(K::WheelRimRadius) + 0.9 * si(K::WheelHubRadius));
        let half = quarter(along) * (0.5 * si(K::WheelSpokeWidth));
        let middle = along * middle_m;
        scene.measure(
            movement,
            K::WheelSpokeWidth.once(),
            "spoke, width",
            Measure::Across { a: middle - half, b: middle + half },
        );
    }
    scene.measure_as(
        "",
        super::degrees(pitch_rad),
        "from toe to toe",
        Measure::AngleBeyond { vertex: origin, a: toe(1.0), b: toe(2.0) },
    );

    scene.row_if_any(movement, K::WheelEccentricity.once(), "eccentricity");
    scene.row_if_any(movement, K::WheelEccentricityAngle.once(), "its direction");
    for tooth in 0..wheel.tooth_count {
        scene.row_if_any(movement, K::ToothLonger.tooth(tooth), &format!("tooth {tooth}, longer"));
        scene.row_if_any(movement, K::ToothBent.tooth(tooth), &format!("tooth {tooth}, bent"));
    }

    let mut detail = Scene::default();
    detail.shapes.push(Shape { part: "wheel-detail", finish: Finish::Brass, outlines, cut: true });
    detail.centre_circles.push((origin, toe_m));
    let middle_m = 0.5 * (si(K::WheelHeelRadius).max(toe_m) + si(K::WheelRootRadius));
    let width_rad = si(K::WheelToothWidth);
    detail.cut =
        Some(Cut::Circle { centre: polar(middle_m, FRAC_PI_2 + 0.8 * width_rad), radius_m: DETAIL_RATIO * toe_m });
    tooth(movement, &mut detail);
    scene.detail = Some(Box::new(detail));
    scene
}

/// Dimensions of tooth 0.
fn tooth(movement: &Movement, scene: &mut Scene) {
    let si = |kind: K| movement.si(kind);
    let origin = Vector::zeros();
    let toe = polar(si(K::WheelLockingRadius), FRAC_PI_2);
    let heel = polar(si(K::WheelHeelRadius), FRAC_PI_2 + si(K::WheelToothWidth));
    scene.measure(
        movement,
        K::WheelToothWidth.once(),
        "toe to heel",
        Measure::AngleBeyond { vertex: origin, a: toe, b: heel },
    );
    scene.measure(
        movement,
        K::WheelHeelRadius.once(),
        "heel",
        Measure::Remark { at: heel, toward: Vector::new(-1.0, 0.3) },
    );
    // Rays from a corner: inward along the radius, and along the face.
    let rays = |corner: Vector, lean_rad: f64, radius_mm: f64, face_m: f64| {
        let inward = PI + plane::direction_rad(corner);
        let reach_m = radius_mm * si(K::WheelLockingRadius);
        (corner + polar(reach_m, inward), corner + polar(face_m, inward - lean_rad))
    };
    let tooth_m = si(K::WheelLockingRadius) - si(K::WheelRootRadius);
    let (radial, along) = rays(toe, si(K::WheelFrontLean), 0.1, 0.8 * tooth_m);
    scene.thin_lines.push((toe, radial));
    scene.measure(
        movement,
        K::WheelFrontLean.once(),
        "front, lean from the radius",
        Measure::Angle { vertex: toe, a: radial, b: along },
    );
    let (radial, along) = rays(heel, si(K::WheelBackLean), 0.1, si(K::WheelHeelDepth));
    scene.thin_lines.push((heel, radial));
    scene.measure(
        movement,
        K::WheelBackLean.once(),
        "heel, lean from the radius",
        Measure::Angle { vertex: heel, a: radial, b: along },
    );
    scene.measure(
        movement,
        K::WheelHeelDepth.once(),
        "heel, straight back",
        Measure::Length { a: heel, b: along, along: None },
    );
    for (kind, at, meaning) in [
        (K::WheelToeRound, toe, "toe, rounding"),
        (K::WheelToeChamfer, toe, "toe, chamfer"),
        (K::WheelHeelRound, heel, "heel, rounding"),
        (K::WheelHeelChamfer, heel, "heel, chamfer"),
    ] {
        scene.measure_if_any(
            movement,
            kind.once(),
            meaning,
            Measure::Remark { at, toward: Vector::new(if at == toe { 1.0 } else { -1.0 }, 1.0) },
        );
    }
}
