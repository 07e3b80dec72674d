//! Fork, guard, jewel, rollers and bankings at a moment, the bar broken off.

use movement::{Pallet, ParamKind as K};
use parts::Build;
use plane::Vector;

use super::lever::{Notch, guard_is_pin};
use super::{Cut, Finish, Scene, Shape, bankings, roller};
use crate::dimension::Measure;
use crate::options::Moment;

/// Where the bar is broken off, as a part of the distance at which it meets the bankings. Chosen.
const BREAK_RATIO: f64 = 0.72;

pub(super) fn scene(build: &Build, moment: &Moment) -> Scene {
    let movement = &build.movement;
    let parts = &build.parts;
    let lever_pose = parts.lever_pose(moment.lever_rad);
    let roller_pose = parts.roller_pose(moment.jewel_rad);
    let (pallet, balance) = (parts.centres.pallet_m, parts.centres.balance_m);
    let mut scene = Scene { names_pallets: true, ..Scene::default() };
    bankings(build, &mut scene);
    let notch = Notch::of(&parts.lever.fork.profile);
    let along = lever_pose.direction(notch.as_ref().map_or(Vector::new(0.0, 1.0), |n| n.along));
    let at = pallet + along * (BREAK_RATIO * movement.si(K::BankingsDistance));
    scene.cut = Some(Cut::Across { at, along, half_width_m: 0.5 * movement.si(K::LeverBarWidth) });
    let guard = vec![parts.lever.guard.profile.posed(&lever_pose)];
    let pin = guard_is_pin(build);
    if !pin {
        scene.shape("guard", Finish::Steel, guard.clone());
    }
    scene.shapes.push(Shape {
        part: "fork",
        finish: Finish::Steel,
        outlines: vec![parts.lever.fork.profile.posed(&lever_pose)],
        cut: true,
    });
    if pin {
        scene.shape("guard", Finish::Arbor, guard);
    } else {
        scene.shape("guard-hidden", Finish::Hidden, guard);
    }
    roller::shapes(build, &roller_pose, &mut scene);
    let reach_m = parts.roller.radius_m.max(movement.si(K::RollerSafetyRadius));
    scene.axes.push((balance, reach_m));
    let line = (balance - pallet).normalize();
    scene.centre_lines.push((pallet + line * (at - pallet).dot(&line), balance));

    if let Some(notch) = notch {
        notch.measure(build, &lever_pose, &mut scene);
    }
    roller::dimensions(build, &roller_pose, false, &mut scene);
    for (kind, meaning) in [
        (K::ForkLength, "pallet centre to jewel as it enters"),
        (K::GuardReach, "pallet centre to guard"),
        (K::CentresPalletBalance, "pallet centre to balance centre"),
        (K::ForkHornFreedom, "horn, freedom of the lever"),
        (K::GuardFreedom, "guard, freedom of the lever"),
        (K::RollerCrescent, "crescent, half its angle"),
        (K::BalanceLift, "lift at the balance"),
    ] {
        scene.row(movement, kind.once(), meaning);
    }
    for p in Pallet::BOTH {
        scene.row(movement, K::BankingLeverAngle.at(p), &format!("{} banking, lever angle", p.name()));
    }
    let horn = movement.si(K::ForkHornLength);
    if horn > 0.0 {
        scene.row(movement, K::ForkHornLength.once(), "horn, along its curve");
    }
    if movement.word(K::BankingsForm) == "pins" {
        let p = Pallet::Exit;
        let radius_m = movement.si(K::BankingsPinRadius);
        if let Some(edge) = parts.bankings[p].profile.edges.first() {
            let centre = 0.5 * (edge.at(0.0) + edge.at(0.5));
            scene.measure(
                movement,
                K::BankingsPinRadius.once(),
                "banking pin",
                Measure::Radius { centre, radius_m, toward: Vector::new(1.0, -0.5) },
            );
        }
    }
    scene
}
