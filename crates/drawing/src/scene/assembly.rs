//! The escapement at a moment: wheel, lever, rollers, bankings, their centres and the angles between them.

use movement::{Pallet, ParamKind as K};
use parts::Build;
use plane::{Vector, cross, direction_rad, polar};

use super::measured::{BankedFork, Tooth, jewel_place, plain_tooth};
use super::{SAME_RAD, Scene, bankings, lever, roller, wheel};
use crate::dimension::{Measure, Sense};
use crate::options::Moment;
use crate::text::Words;

pub(super) fn scene(build: &Build, moment: &Moment) -> Scene {
    let movement = &build.movement;
    let parts = &build.parts;
    let mut scene = Scene { names_pallets: true, ..Scene::default() };
    let wheel_pose = parts.wheel_pose(moment.wheel_rad);
    let (axis, pallet, balance) = (parts.centres.wheel_m, parts.centres.pallet_m, parts.centres.balance_m);

    bankings(build, &mut scene);
    wheel::shapes(build, &wheel_pose, &mut scene);
    lever::shapes(build, &parts.lever_pose(moment.lever_rad), &mut scene);
    roller::shapes(build, &parts.roller_pose(moment.jewel_rad), &mut scene);

    let safety_m = parts.roller.safety.profile.reach(Vector::zeros());
    scene.axes.push((axis, parts.wheel.reach_m));
    scene.axes.push((pallet, movement.si(K::LeverArmWidth)));
    scene.axes.push((balance, parts.roller.radius_m.max(safety_m)));
    scene.centre_lines.push((axis, pallet));
    scene.centre_lines.push((pallet, balance));

    let length = |a, b| Measure::Length { a, b, along: None };
    scene.measure(K::CentresWheelPallet.once(), "wheel centre to pallet centre", length(axis, pallet));
    scene.measure(K::CentresPalletBalance.once(), "pallet centre to balance centre", length(pallet, balance));
    let up = (pallet - axis).normalize();
    if let Some(tooth) = Tooth::of(&parts.wheel, plain_tooth(build)) {
        let (centre, toe_m) = (wheel_pose.point(tooth.centre), tooth.toe_m());
        scene.centre_circles.push((centre, toe_m));
        let toe = Measure::Radius { centre, radius_m: toe_m, toward: polar(1.0, -0.8) };
        scene.measure(K::WheelLockingRadius.once(), "toe", toe);
        // Equidistant lockings lie on these two radii.
        let half_rad = 0.5 * parts.wheel.pitch_rad() * movement.si(K::PalletsSpacesSpanned);
        let radius = |side: f64| centre + polar(toe_m, direction_rad(up) + side * half_rad);
        scene.centre_lines.push((centre, radius(1.0)));
        scene.centre_lines.push((centre, radius(-1.0)));
        let span = Measure::Angle { vertex: centre, a: radius(1.0), b: radius(-1.0) };
        scene.measure_as(Words::plain(""), "span of the pallets", span, Sense::Positive);
    }
    scene.state(movement, K::WheelToothCount.once(), "number of teeth");
    scene.state(movement, K::PalletsSpacesSpanned.once(), "spaces spanned");
    banked_fork(build, &mut scene);
    let line = balance - pallet;
    let turn_rad = cross(up, line).atan2(up.dot(&line));
    if turn_rad.abs() > SAME_RAD {
        let arm_m = 0.4 * line.norm();
        let straight = pallet + up * arm_m;
        scene.centre_lines.push((pallet, straight));
        let measure = Measure::Angle { vertex: pallet, a: straight, b: pallet + line.normalize() * arm_m };
        let meaning = "line of the lever from the line of centres";
        scene.measure_signed(K::LeverLineAngle.once(), meaning, measure, Sense::negative_if(turn_rad < 0.0));
    }
    if let Some(jewel) = jewel_place(&parts.roller.jewel.profile).filter(|j| j.is_centre) {
        let distance = length(Vector::zeros(), jewel.at);
        scene.read(K::RollerJewelDistance.once(), "jewel's centre to balance centre", &distance, Sense::Positive);
    }
    scene
}

/// Where the middle of the fork lies when the lever is on either banking.
fn banked_fork(build: &Build, scene: &mut Scene) {
    let pallet = build.parts.centres.pallet_m;
    let reach_m = 0.82 * (build.parts.centres.balance_m - pallet).norm();
    for p in Pallet::BOTH {
        let Some(fork) = BankedFork::of(&build.parts, p, reach_m) else { continue };
        scene.centre_lines.push((pallet, pallet + fork.direction * reach_m));
        let meaning = format!("{} banking, lever angle", p.name());
        scene.measure_toward(K::BankingLeverAngle.at(p), &meaning, fork.angle, fork.sense, Some(fork.outward));
    }
}
