//! The lever with both stones, fork and guard, in the middle of its travel.

use movement::{Pallet, ParamKind as K};
use parts::Build;
use plane::{Pose, Vector, polar, quarter};
use std::f64::consts::FRAC_PI_2;

use super::Scene;
use super::lever::{Notch, shapes};
use crate::dimension::Measure;

pub(super) fn scene(build: &Build) -> Scene {
    let movement = &build.movement;
    let lever = &build.parts.lever;
    let si = |kind: K| movement.si(kind);
    let origin = Vector::zeros();
    let mut scene = Scene { names_pallets: true, ..Scene::default() };
    shapes(build, &Pose::IDENTITY, &mut scene);
    let hub_m = si(K::LeverArmWidth);
    scene.axes.push((origin, hub_m));
    let line = polar(1.0, FRAC_PI_2 + si(K::LeverLineAngle));
    let fork_end = line * (si(K::ForkLength) * 1.12);
    scene.centre_lines.push((origin, fork_end));
    // The line to the wheel centre, from which the corners' angles are counted.
    let down = Vector::new(0.0, -1.0);
    let reach_m = 0.45 * si(K::CentresWheelPallet);
    scene.centre_lines.push((origin, down * reach_m));

    for p in Pallet::BOTH {
        let at = |kind: K| kind.at(p);
        let stone = &lever.stones[p];
        let (locking, let_off) = (stone.locking_corner_m, stone.let_off_corner_m);
        let name = p.name();
        for (distance, angle, corner, what) in [
            (K::PalletLockingDistance, K::PalletLockingAngle, locking, "locking"),
            (K::PalletLetOffDistance, K::PalletLetOffAngle, let_off, "let-off"),
        ] {
            scene.centre_lines.push((origin, corner));
            let ray = Measure::Ray { centre: origin, tip: corner };
            scene.measure(movement, at(distance), &format!("{name} {what} corner to centre"), ray);
            let from_line = Measure::Angle { vertex: origin, a: down * reach_m, b: corner };
            let meaning = format!("{name} {what} corner from the line of centres");
            scene.measure(movement, at(angle), &meaning, from_line);
        }
    }
    let side = quarter(line) * (0.5 * si(K::LeverBarWidth));
    let middle = line * (0.3 * si(K::ForkLength));
    scene.measure(
        movement,
        K::LeverBarWidth.once(),
        "bar, width",
        Measure::Across { a: middle - side, b: middle + side },
    );
    scene.measure(
        movement,
        K::ForkLength.once(),
        "pallet centre to jewel as it enters",
        Measure::Length { a: origin, b: line * si(K::ForkLength), along: None },
    );
    scene.axes.push((line * si(K::ForkLength), 0.0));
    let tip = line * si(K::GuardReach);
    scene.measure(
        movement,
        K::GuardReach.once(),
        "pallet centre to guard",
        Measure::Length { a: origin, b: tip, along: None },
    );
    if let Some(notch) = Notch::of(&lever.fork.profile) {
        notch.measure(build, &Pose::IDENTITY, &mut scene);
    }
    scene.row(movement, K::LeverArmWidth.once(), "arms, width");
    if si(K::LeverLineAngle) != 0.0 {
        scene.measure(
            movement,
            K::LeverLineAngle.once(),
            "line of the lever from the line of centres",
            Measure::Angle {
                vertex: origin,
                a: Vector::new(0.0, 0.4 * si(K::ForkLength)),
                b: line * (0.4 * si(K::ForkLength)),
            },
        );
    }
    scene
}
