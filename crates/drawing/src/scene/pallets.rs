//! The lever with both stones, fork and guard, in the middle of its travel.

use movement::{Pallet, ParamKind as K};
use parts::Build;
use plane::{Pose, Vector, cross, quarter};

use super::Scene;
use super::lever::{Notch, shapes};
use super::measured::{Bar, tip};
use crate::dimension::{Measure, Sense};

pub(super) fn scene(build: &Build) -> Scene {
    let parts = &build.parts;
    let lever = &parts.lever;
    let origin = Vector::zeros();
    let mut scene = Scene { names_pallets: true, ..Scene::default() };
    shapes(build, &Pose::IDENTITY, &mut scene);
    scene.axes.push((origin, build.movement.si(K::LeverArmWidth)));
    let line = lever.fork_axis;
    scene.centre_lines.push((origin, line * (1.05 * lever.fork.profile.reach(origin))));
    let to_wheel = parts.centres.wheel_m - parts.centres.pallet_m;
    // The line to the wheel centre, from which the corners' angles are counted.
    let (down, reach_m) = (to_wheel.normalize(), 0.45 * to_wheel.norm());
    scene.centre_lines.push((origin, down * reach_m));

    for p in Pallet::BOTH {
        let at = |kind: K| kind.at(p);
        let stone = &lever.stones[p];
        let (locking, let_off) = (stone.locking_corner_m, stone.let_off_corner_m);
        let name = p.name();
        let side = quarter(down) * p.outward();
        for (distance, angle, corner, what) in [
            (K::PalletLockingDistance, K::PalletLockingAngle, locking, "locking"),
            (K::PalletLetOffDistance, K::PalletLetOffAngle, let_off, "let-off"),
        ] {
            scene.centre_lines.push((origin, corner));
            let ray = Measure::Ray { centre: origin, tip: corner };
            scene.measure(at(distance), &format!("{name} {what} corner to centre"), ray);
            let from_line = Measure::Angle { vertex: origin, a: down * reach_m, b: corner };
            let meaning = format!("{name} {what} corner from the line of centres");
            scene.measure_beside(at(angle), &meaning, from_line, side);
        }
    }
    if let Some(bar) = Bar::of(&lever.fork.profile, 0.35) {
        let [a, b] = bar.sides;
        scene.measure(K::LeverBarWidth.once(), "bar, width", Measure::Across { a, b });
    }
    if let Some(tip) = tip(&lever.guard.profile) {
        let reach = Measure::Length { a: origin, b: tip, along: None };
        scene.measure(K::GuardReach.once(), "pallet centre to guard", reach);
    }
    if let Some(notch) = Notch::of(&lever.fork.profile) {
        notch.measure(&Pose::IDENTITY, &mut scene);
        notch.measure_from_centre(&mut scene);
    }
    // The arms' outline is drawn by this crate, from this width.
    scene.state(&build.movement, K::LeverArmWidth.once(), "arms, width");
    let turn_rad = cross(-down, line).atan2((-down).dot(&line));
    if turn_rad.abs() > super::SAME_RAD {
        let along_m = 0.4 * lever.fork.profile.reach(origin);
        let measure = Measure::Angle { vertex: origin, a: -down * along_m, b: line * along_m };
        let meaning = "middle of the fork from the line of centres";
        scene.measure_signed(K::LeverLineAngle.once(), meaning, measure, Sense::negative_if(turn_rad < 0.0));
    }
    scene
}
