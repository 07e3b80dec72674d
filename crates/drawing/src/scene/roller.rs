//! Rollers and jewel, the jewel toward the pallets.

use movement::ParamKind as K;
use parts::{Build, Face};
use plane::{Pose, Vector};

use super::{Finish, Scene};
use crate::dimension::Measure;
use crate::frame::disc;

/// Radius of the balance staff over the safety roller's radius. For drawing only; chosen.
const STAFF_RATIO: f64 = 0.35;

/// Rollers, staff and jewel at a pose.
pub(crate) fn shapes(build: &Build, pose: &Pose, scene: &mut Scene) {
    let roller = &build.parts.roller;
    let safety_m = build.movement.si(K::RollerSafetyRadius);
    let staff = disc(STAFF_RATIO * safety_m.min(roller.radius_m)).posed(pose);
    if roller.single {
        scene.shape("roller", Finish::Bare, vec![roller.safety.profile.posed(pose)]);
        scene.shape("staff", Finish::Arbor, vec![staff]);
        scene.shape("jewel", Finish::Ruby, vec![roller.jewel.profile.posed(pose)]);
        return;
    }
    scene.shape("safety-roller", Finish::Steel, vec![roller.safety.profile.posed(pose)]);
    scene.shape("staff", Finish::Arbor, vec![staff]);
    scene.shape("jewel", Finish::Ruby, vec![roller.jewel.profile.posed(pose)]);
    scene.shape("impulse-roller", Finish::Phantom, vec![disc(roller.radius_m).posed(pose)]);
}

/// Dimensions of rollers and jewel at a pose.
pub(super) fn dimensions(build: &Build, pose: &Pose, whole: bool, scene: &mut Scene) {
    let movement = &build.movement;
    let si = |kind: K| movement.si(kind);
    let axis = pose.point(Vector::zeros());
    let direction = |x: f64, y: f64| pose.direction(Vector::new(x, y));
    let jewel = pose.point(Vector::new(0.0, -(si(K::RollerJewelDistance) + si(K::JewelOut))));
    let half = direction(0.5 * si(K::JewelWidth), 0.0);
    let radius = |radius_m: f64, toward: Vector| Measure::Radius { centre: axis, radius_m, toward };
    scene.measure(
        movement,
        K::RollerJewelDistance.once(),
        "jewel's centre to balance centre",
        Measure::Length { a: axis, b: jewel, along: None },
    );
    scene.measure(
        movement,
        K::JewelWidth.once(),
        "jewel, width",
        Measure::Length { a: jewel - half, b: jewel + half, along: None },
    );
    scene.measure(
        movement,
        K::RollerSafetyRadius.once(),
        "guarded edge",
        radius(si(K::RollerSafetyRadius), direction(1.0, 0.6)),
    );
    if !build.parts.roller.single {
        scene.measure(
            movement,
            K::RollerRadius.once(),
            "impulse roller",
            radius(si(K::RollerRadius), direction(-1.0, 0.6)),
        );
    }
    if !whole {
        return;
    }
    // The crescent: half its width as an angle from its middle, and its depth there.
    let edges = &build.parts.roller.safety.profile.edges;
    if let Some(crescent) = edges.iter().find(|e| Face::from(e.label()) == Face::Crescent).map(|e| e.posed(pose)) {
        let (corner, floor) = (crescent.end(), crescent.at(0.5));
        let middle = axis + (floor - axis).normalize() * si(K::RollerSafetyRadius);
        scene.centre_lines.push((axis, axis + (middle - axis) * 1.3));
        // The edge as it would be without the crescent, from which the depth is measured.
        scene.thin_arcs.extend([(axis, crescent.start(), middle), (axis, crescent.end(), middle)]);
        scene.measure(
            movement,
            K::RollerCrescent.once(),
            "crescent, half its angle",
            Measure::Angle { vertex: axis, a: middle, b: corner },
        );
        scene.measure(
            movement,
            K::RollerCrescentDepth.once(),
            "crescent, depth below the edge",
            Measure::Length { a: middle, b: floor, along: None },
        );
    }
    scene.row(movement, K::JewelShape.once(), "jewel, section");
    scene.row(movement, K::JewelCutRatio.once(), "jewel, part cut away");
    scene.row(movement, K::BalanceLift.once(), "lift at the balance");
}

pub(super) fn scene(build: &Build) -> Scene {
    let mut scene = Scene::default();
    let pose = Pose::IDENTITY;
    shapes(build, &pose, &mut scene);
    let reach_m = build.parts.roller.radius_m.max(build.movement.si(K::RollerSafetyRadius));
    scene.axes.push((Vector::zeros(), reach_m));
    dimensions(build, &pose, true, &mut scene);
    scene
}
