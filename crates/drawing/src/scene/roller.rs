//! Rollers and jewel, the jewel toward the pallets.

use movement::ParamKind as K;
use parts::{Build, Face};
use plane::{Pose, Profile, Vector};

use super::measured::{circle, edge, extreme, jewel_place};
use super::{Finish, Scene};
use crate::dimension::{Measure, Sense};
use crate::frame::disc;
use crate::text::Words;

/// Radius of the balance staff over the smaller roller's radius. For drawing only; chosen.
const STAFF_RATIO: f64 = 0.35;

/// The balance staff in the roller's frame.
pub fn staff(build: &Build) -> Profile {
    let roller = &build.parts.roller;
    disc(STAFF_RATIO * roller.safety.profile.reach(Vector::zeros()).min(roller.radius_m))
}

/// Rollers, staff and jewel at a pose.
pub(crate) fn shapes(build: &Build, pose: &Pose, scene: &mut Scene) {
    let roller = &build.parts.roller;
    let staff = staff(build).posed(pose);
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

/// The crescent of the guarded edge, in the roller's frame.
pub(super) struct Crescent {
    /// A corner.
    pub corner: Vector,
    /// The other corner.
    pub other: Vector,
    /// The deepest point.
    pub floor: Vector,
    /// Where the edge would be there without the crescent.
    pub edge_middle: Vector,
}

impl Crescent {
    pub fn of(safety: &Profile) -> Option<Crescent> {
        let crescent = edge(safety, Face::Crescent)?;
        let (centre, radius_m) = circle(edge(safety, Face::RollerEdge)?)?;
        let floor = crescent.at(0.5);
        let out = (0.5 * (crescent.start() + crescent.end()) - centre).normalize();
        Some(Crescent { corner: crescent.end(), other: crescent.start(), floor, edge_middle: centre + out * radius_m })
    }
}

/// Dimensions of rollers and jewel at a pose.
pub(super) fn dimensions(build: &Build, pose: &Pose, whole: bool, scene: &mut Scene) {
    let roller = &build.parts.roller;
    let axis = pose.point(Vector::zeros());
    let direction = |x: f64, y: f64| pose.direction(Vector::new(x, y));
    let radius = |radius_m: f64, toward: Vector| Measure::Radius { centre: axis, radius_m, toward };
    let jewel = &roller.jewel.profile;
    if let Some(place) = jewel_place(jewel) {
        let distance = Measure::Length { a: axis, b: pose.point(place.at), along: None };
        if place.is_centre {
            scene.measure(K::RollerJewelDistance.once(), "jewel's centre to balance centre", distance);
        } else {
            scene.measure_as(Words::symbol("rf"), "jewel's flat to balance centre", distance, Sense::Positive);
        }
    }
    let across = Vector::new(1.0, 0.0);
    if let (Some(left), Some(right)) = (extreme(jewel, -across), extreme(jewel, across)) {
        let (a, b) = (pose.point(left), pose.point(right));
        let width = Measure::Length { a, b, along: Some(pose.direction(across)) };
        scene.measure(K::JewelWidth.once(), "jewel, width", width);
    }
    if let Some((_, radius_m)) = edge(&roller.safety.profile, Face::RollerEdge).and_then(circle) {
        let edge = radius(radius_m, direction(1.0, 0.6));
        scene.measure(K::RollerSafetyRadius.once(), "guarded edge", edge);
    }
    if !roller.single {
        let edge = radius(roller.radius_m, direction(-1.0, 0.6));
        scene.measure(K::RollerRadius.once(), "impulse roller", edge);
    }
    if !whole {
        return;
    }
    // The crescent: half its width as an angle from its middle, and its depth there.
    if let Some(crescent) = Crescent::of(&roller.safety.profile) {
        let [corner, other, floor, middle] =
            [crescent.corner, crescent.other, crescent.floor, crescent.edge_middle].map(|p| pose.point(p));
        scene.centre_lines.push((axis, axis + (middle - axis) * 1.3));
        // The edge as it would be without the crescent, from which the depth is measured.
        scene.thin_arcs.extend([(axis, other, middle), (axis, corner, middle)]);
        let half = Measure::Angle { vertex: axis, a: middle, b: corner };
        scene.measure(K::RollerCrescent.once(), "crescent, half its angle", half);
        let depth = Measure::Length { a: middle, b: floor, along: None };
        scene.measure(K::RollerCrescentDepth.once(), "crescent, depth below the edge", depth);
    }
    scene.state(&build.movement, K::JewelShape.once(), "jewel, section");
    scene.state(&build.movement, K::JewelCutRatio.once(), "jewel, part cut away");
}

pub(super) fn scene(build: &Build) -> Scene {
    let mut scene = Scene::default();
    let pose = Pose::IDENTITY;
    shapes(build, &pose, &mut scene);
    let roller = &build.parts.roller;
    scene.axes.push((Vector::zeros(), roller.radius_m.max(roller.safety.profile.reach(Vector::zeros()))));
    dimensions(build, &pose, true, &mut scene);
    scene
}
