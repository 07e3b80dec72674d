//! The escape wheel alone, tooth 0 upright, and a tooth enlarged.

use movement::ParamKind as K;
use parts::{Build, Face};
use plane::{Edge, Pose, Profile, Vector, cross, direction_rad, polar, quarter};

use super::measured::{Finished, Tooth, circle, finish, plain_tooth};
use super::{Cut, Finish, Scene, Shape};
use crate::dimension::{Measure, Sense};
use crate::frame::disc;
use crate::rim;
use crate::text::Words;

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
    let mut scene = Scene::default();
    let outlines = outlines(build);
    scene.shape("wheel", Finish::Brass, outlines.clone());
    scene.axes.push((Vector::zeros(), wheel.reach_m));
    let plain = plain_tooth(build);
    let (Some(tooth), Some(first)) = (Tooth::of(wheel, plain), Tooth::of(wheel, 0)) else { return scene };
    let (centre, toe_m) = (tooth.centre, tooth.toe_m());
    scene.centre_circles.push((centre, toe_m));

    scene.state(movement, K::WheelToothCount.once(), "number of teeth");
    let radius =
        |radius_m: f64, at_deg: f64| Measure::Radius { centre, radius_m, toward: polar(1.0, at_deg.to_radians()) };
    scene.measure(K::WheelLockingRadius.once(), "toe", radius(toe_m, 150.0));
    scene.measure(K::WheelRootRadius.once(), "rim, outside", radius(tooth.root_m, 200.0));
    let [bore, windows @ ..] = &wheel.openings[..] else { return scene };
    // Of a window, the arcs and the line at the spoke before it.
    if let Some(window) = windows.first() {
        let radii: Vec<f64> = window.edges.iter().filter_map(circle).map(|(_, radius_m)| radius_m).collect();
        let (least, most) =
            (radii.iter().fold(f64::INFINITY, |a, b| a.min(*b)), radii.iter().fold(0.0_f64, |a, b| a.max(*b)));
        scene.measure(K::WheelRimRadius.once(), "rim, inside", radius(most, -25.0));
        scene.measure(K::WheelHubRadius.once(), "hub", radius(least, 215.0));
    }
    if let Some((_, bore_m)) = bore.edges.first().and_then(circle) {
        scene.measure(K::WheelBoreRadius.once(), "bore", radius(bore_m, -40.0));
    }
    if let (Some(after), Some(before)) = (windows.first(), windows.last()) {
        scene.state(movement, K::WheelSpokeCount.once(), "number of spokes");
        // Across the first spoke, near the hub, where the window is high.
        let lines =
            |w: &Profile| w.edges.iter().filter(|e| matches!(e, Edge::Line { .. })).copied().collect::<Vec<_>>();
        if let (Some(one), Some(other)) = (lines(after).first(), lines(before).last()) {
            let from = one.at(0.8);
            let across = quarter(one.tangent(0.0));
            let to = from + across * (other.start() - from).dot(&across);
            scene.measure(K::WheelSpokeWidth.once(), "spoke, width", Measure::Across { a: from, b: to });
        }
    }
    // Two neighbouring toes to the right of the upright one.
    let count = wheel.tooth_count;
    let toe = |n: u16| Tooth::of(wheel, (plain + count - n) % count).map(|t| t.toe);
    if let (Some(a), Some(b)) = (toe(1), toe(2)) {
        scene.measure_as(
            Words::plain(""),
            "from toe to toe",
            Measure::AngleBeyond { vertex: centre, a, b },
            Sense::Positive,
        );
    }

    let mut detail = Scene::default();
    detail.shapes.push(Shape { part: "wheel-detail", finish: Finish::Brass, outlines, cut: true });
    detail.centre_circles.push((first.centre, first.toe_m()));
    let from_centre = |p: Vector| p - first.centre;
    let heel_m = from_centre(first.heel).norm();
    let middle_m = 0.5 * (heel_m.max(first.toe_m()) + first.root_m);
    let (toe_rad, heel_rad) = (direction_rad(from_centre(first.toe)), direction_rad(from_centre(first.heel)));
    detail.cut = Some(Cut::Circle {
        centre: first.centre + polar(middle_m, toe_rad + 0.8 * (heel_rad - toe_rad)),
        radius_m: DETAIL_RATIO * first.toe_m(),
    });
    // Where single teeth were altered, the one shown says its number.
    let of = if movement.values().teeth().is_empty() { "" } else { " of tooth 0" };
    dimensions(&first, of, &mut detail);
    scene.detail = Some(Box::new(detail));
    scene
}

/// Dimensions of a tooth.
fn dimensions(tooth: &Tooth, of: &str, scene: &mut Scene) {
    let Tooth { toe, heel, centre, .. } = *tooth;
    let named = |what: &str| match what.split_once(',') {
        Some((part, rest)) => format!("{part}{of},{rest}"),
        None => format!("{what}{of}"),
    };
    let width = Measure::AngleBeyond { vertex: centre, a: toe, b: heel };
    scene.measure(K::WheelToothWidth.once(), &named("toe to heel"), width);
    let heel_m = (heel - centre).norm();
    scene.point_out(K::WheelHeelRadius.once(), &named("heel"), heel_m, heel, Vector::new(-1.0, 0.3));
    let reach_m = 0.1 * tooth.toe_m();
    let tooth_m = tooth.toe_m() - tooth.root_m;
    for (kind, meaning, corner, along, face_m) in [
        (K::WheelFrontLean, "front, lean from the radius", toe, tooth.front, 0.8 * tooth_m),
        (K::WheelBackLean, "heel, lean from the radius", heel, tooth.back, (tooth.back_end - heel).norm()),
    ] {
        let inward = (centre - corner).normalize();
        let radial = corner + inward * reach_m;
        scene.thin_lines.push((corner, radial));
        // Positive where the face leans back, clockwise from the radius inward.
        let sense = Sense::negative_if(cross(inward, along) > 0.0);
        let lean = Measure::Angle { vertex: corner, a: radial, b: corner + along * face_m };
        scene.measure_signed(kind.once(), &named(meaning), lean, sense);
    }
    let straight = Measure::Length { a: heel, b: tooth.back_end, along: None };
    scene.measure(K::WheelHeelDepth.once(), &named("heel, straight back"), straight);
    for (face, corner, kinds, name, side) in [
        (Face::Toe, toe, [K::WheelToeRound, K::WheelToeChamfer], "toe", 1.0),
        (Face::Heel, heel, [K::WheelHeelRound, K::WheelHeelChamfer], "heel", -1.0),
    ] {
        let (kind, what, size_m) = match finish(&tooth.outline, face, corner) {
            Some(Finished::Round(radius_m)) => (kinds[0], "rounding", radius_m),
            Some(Finished::Chamfer(length_m)) => (kinds[1], "chamfer", length_m),
            None => continue,
        };
        scene.point_out(kind.once(), &named(&format!("{name}, {what}")), size_m, corner, Vector::new(side, 1.0));
    }
}
