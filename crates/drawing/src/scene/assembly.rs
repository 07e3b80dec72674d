//! The escapement at a moment: wheel, lever, rollers, bankings, their centres and the angles between them.

use movement::{Pallet, ParamKind as K};
use parts::Build;
use plane::{Vector, polar};
use std::f64::consts::{FRAC_PI_2, PI};

use super::{Scene, bankings, degrees, lever, roller, wheel};
use crate::dimension::Measure;
use crate::options::Moment;

pub(super) fn scene(build: &Build, moment: &Moment) -> Scene {
    let movement = &build.movement;
    let parts = &build.parts;
    let si = |kind: K| movement.si(kind);
    let mut scene = Scene { names_pallets: true, ..Scene::default() };
    let wheel_pose = parts.wheel_pose(moment.wheel_rad);
    let (axis, pallet, balance) = (parts.centres.wheel_m, parts.centres.pallet_m, parts.centres.balance_m);

    bankings(build, &mut scene);
    wheel::shapes(build, &wheel_pose, &mut scene);
    lever::shapes(build, &parts.lever_pose(moment.lever_rad), &mut scene);
    roller::shapes(build, &parts.roller_pose(moment.jewel_rad), &mut scene);

    let toe_m = si(K::WheelLockingRadius);
    let roller_m = parts.roller.radius_m.max(si(K::RollerSafetyRadius));
    scene.centre_circles.push((axis, toe_m));
    scene.axes.push((axis, parts.wheel.reach_m));
    scene.axes.push((pallet, si(K::LeverArmWidth)));
    scene.axes.push((balance, roller_m));
    scene.centre_lines.push((axis, pallet));
    scene.centre_lines.push((pallet, balance));

    let length = |a, b| Measure::Length { a, b, along: None };
    scene.measure(movement, K::CentresWheelPallet.once(), "wheel centre to pallet centre", length(axis, pallet));
    scene.measure(movement, K::CentresPalletBalance.once(), "pallet centre to balance centre", length(pallet, balance));
    scene.measure(
        movement,
        K::WheelLockingRadius.once(),
        "toe",
        Measure::Radius { centre: axis, radius_m: toe_m, toward: polar(1.0, -0.8) },
    );
    scene.row(movement, K::WheelToothCount.once(), "number of teeth");
    // Equidistant lockings lie on these two radii.
    let half_rad = PI * si(K::PalletsSpacesSpanned) / si(K::WheelToothCount);
    let radius = |side: f64| axis + polar(toe_m, FRAC_PI_2 + side * half_rad);
    scene.centre_lines.push((axis, radius(1.0)));
    scene.centre_lines.push((axis, radius(-1.0)));
    scene.measure_as(
        "",
        degrees(2.0 * half_rad),
        "span of the pallets",
        Measure::Angle { vertex: axis, a: radius(1.0), b: radius(-1.0) },
    );
    scene.row(movement, K::PalletsSpacesSpanned.once(), "spaces spanned");
    // Where the lever rests on either banking.
    let reach_m = 0.85 * si(K::ForkLength);
    let line_rad = FRAC_PI_2 + parts.line_rad;
    for p in Pallet::BOTH {
        let banked_rad = -p.outward() * movement.si_at(K::BankingLeverAngle, p);
        let end = pallet + polar(reach_m, line_rad + banked_rad);
        scene.centre_lines.push((pallet, end));
        let measure = Measure::Angle { vertex: pallet, a: pallet + polar(reach_m, line_rad), b: end };
        scene.measure(movement, K::BankingLeverAngle.at(p), &format!("{} banking, lever angle", p.name()), measure);
    }
    if parts.line_rad != 0.0 {
        let arm_m = 0.5 * si(K::ForkLength);
        let straight = pallet + Vector::new(0.0, arm_m);
        scene.centre_lines.push((pallet, straight));
        let measure = Measure::Angle { vertex: pallet, a: straight, b: pallet + polar(arm_m, line_rad) };
        scene.measure(movement, K::LeverLineAngle.once(), "line of the lever from the line of centres", measure);
    }
    scene.row(movement, K::ForkLength.once(), "pallet centre to jewel as it enters");
    scene.row(movement, K::RollerJewelDistance.once(), "jewel's centre to balance centre");
    scene.row(movement, K::BalanceLift.once(), "lift at the balance");
    scene
}
