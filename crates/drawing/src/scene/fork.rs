//! Fork, guard, jewel, rollers and bankings at a moment, the bar broken off.

use movement::{Pallet, ParamKind as K};
use parts::Build;
use plane::Vector;

use super::lever::{Notch, guard_is_pin};
use super::measured::{BankedFork, Bar, circle, tip};
use super::{Cut, Finish, Scene, Shape, bankings, roller};
use crate::dimension::{Measure, Sense};
use crate::guard::guard;
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
    let along = lever_pose.direction(parts.lever.fork_axis);
    let at = pallet + along * (BREAK_RATIO * movement.si(K::BankingsDistance));
    let half_width_m = Bar::of(&parts.lever.fork.profile, 0.5).map_or(0.0, |bar| 0.5 * bar.width_m());
    scene.cut = Some(Cut::Across { at, along, half_width_m });
    let guard = vec![guard(build).posed(&lever_pose)];
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
    let reach_m = parts.roller.radius_m.max(parts.roller.safety.profile.reach(Vector::zeros()));
    scene.axes.push((balance, reach_m));
    let line = (balance - pallet).normalize();
    scene.centre_lines.push((pallet + line * (at - pallet).dot(&line), balance));

    let length = |a, b| Measure::Length { a, b, along: None };
    let notch = Notch::of(&parts.lever.fork.profile);
    if let Some(notch) = &notch {
        notch.measure(&lever_pose, &mut scene);
    }
    roller::dimensions(build, &roller_pose, false, &mut scene);
    if let Some(notch) = &notch {
        notch.read_from_centre(&mut scene);
    }
    if let Some(tip) = tip(&parts.lever.guard.profile) {
        scene.read(K::GuardReach.once(), "pallet centre to guard", &length(Vector::zeros(), tip), Sense::Positive);
    }
    scene.read(
        K::CentresPalletBalance.once(),
        "pallet centre to balance centre",
        &length(pallet, balance),
        Sense::Positive,
    );
    if let Some(crescent) = roller::Crescent::of(&parts.roller.safety.profile) {
        let half = Measure::Angle { vertex: Vector::zeros(), a: crescent.edge_middle, b: crescent.corner };
        scene.read(K::RollerCrescent.once(), "crescent, half its angle", &half, Sense::Positive);
    }
    for p in Pallet::BOTH {
        let Some(fork) = BankedFork::of(parts, p, reach_m) else { continue };
        let (id, meaning) = (K::BankingLeverAngle.at(p), format!("{} banking, lever angle", p.name()));
        scene.read(id, &meaning, &fork.angle, fork.sense);
    }
    if let Some(horn_m) = notch.and_then(|n| n.horn_m) {
        scene.read_length(K::ForkHornLength.once(), "horn, along its curve", horn_m);
    }
    let banking = parts.bankings[Pallet::Exit].profile.edges.first().and_then(circle);
    if let Some((centre, radius_m)) = banking {
        let radius = Measure::Radius { centre, radius_m, toward: Vector::new(1.0, -0.5) };
        scene.measure(K::BankingsPinRadius.once(), "banking pin", radius);
    }
    scene
}
