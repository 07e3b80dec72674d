//! The lever with both stones, fork and guard, in the middle of its travel.

use movement::{Pallet, ParamKind as K};
use parts::{Build, Face};
use plane::{Edge, Pose, Profile, Vector, polar, quarter};
use std::f64::consts::FRAC_PI_2;

use super::{Finish, Scene};
use crate::dimension::Measure;
use crate::frame::{disc, frame};

/// Lever, stones and guard at a pose, the guard below the fork or, as a pin, standing on it.
pub(super) fn shapes(build: &Build, pose: &Pose, scene: &mut Scene) {
    let lever = &build.parts.lever;
    let frame = frame(build);
    let guard = vec![lever.guard.profile.posed(pose)];
    let upright = guard_is_pin(build);
    if !upright {
        scene.shape("guard", Finish::Steel, guard.clone());
    }
    scene.shape("lever", Finish::Steel, frame.outlines.iter().map(|o| o.posed(pose)).collect());
    scene.shape("pallet-arbor", Finish::Arbor, vec![disc(frame.arbor_m).posed(pose)]);
    for p in Pallet::BOTH {
        let part = if p == Pallet::Entry { "stone-entry" } else { "stone-exit" };
        scene.shape(part, Finish::Ruby, vec![lever.stones[p].body.profile.posed(pose)]);
    }
    if upright {
        scene.shape("guard", Finish::Arbor, guard);
    } else {
        scene.shape("guard-hidden", Finish::Hidden, guard);
    }
}

pub(super) fn guard_is_pin(build: &Build) -> bool {
    build.movement.word(K::GuardForm) == "pin"
}

/// The places of the fork that are measured, in the lever's frame.
pub(super) struct Notch {
    /// Ends of the notch's floor.
    pub floor: [Vector; 2],
    /// A corner of its mouth.
    pub mouth: Vector,
    /// Direction of the fork.
    pub along: Vector,
}

impl Notch {
    pub fn of(fork: &Profile) -> Option<Notch> {
        let is = |e: &&Edge, face: Face| Face::from(e.label()) == face;
        let floor = fork.edges.iter().find(|e| is(e, Face::NotchFloor))?;
        let wall = fork.edges.iter().find(|e| is(e, Face::NotchWall))?;
        Some(Notch { floor: [floor.start(), floor.end()], mouth: wall.start(), along: -wall.tangent(0.0) })
    }

    pub fn measure(&self, build: &Build, pose: &Pose, scene: &mut Scene) {
        let movement = &build.movement;
        let [a, b] = self.floor.map(|p| pose.point(p));
        let across = pose.direction(quarter(self.along));
        let mouth = pose.point(self.mouth);
        scene.measure(
            movement,
            K::ForkNotchWidth.once(),
            "notch, width",
            Measure::Length { a, b, along: Some(across) },
        );
        scene.measure(
            movement,
            K::ForkNotchDepth.once(),
            "notch, depth",
            Measure::Length { a, b: mouth, along: Some(pose.direction(self.along)) },
        );
    }
}

pub(super) fn scene(build: &Build) -> Scene {
    let movement = &build.movement;
    let lever = &build.parts.lever;
    let si = |kind: K| movement.si(kind);
    let origin = Vector::zeros();
    let mut scene = Scene::default();
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
        let length = |b| Measure::Length { a: origin, b, along: None };
        scene.measure(
            movement,
            at(K::PalletLockingDistance),
            &format!("{name} locking corner to centre"),
            length(locking),
        );
        scene.measure(
            movement,
            at(K::PalletLetOffDistance),
            &format!("{name} let-off corner to centre"),
            length(let_off),
        );
        let angle = |b| Measure::Angle { vertex: origin, a: down * reach_m, b };
        scene.centre_lines.push((origin, locking));
        scene.measure(
            movement,
            at(K::PalletLockingAngle),
            &format!("{name} locking corner from the line of centres"),
            angle(locking),
        );
        scene.row(movement, at(K::PalletLetOffAngle), &format!("{name} let-off corner, the same"));
    }
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
    let side = quarter(line) * (0.5 * si(K::LeverBarWidth));
    let middle = line * (0.45 * si(K::ForkLength));
    scene.measure(
        movement,
        K::LeverBarWidth.once(),
        "bar, width",
        Measure::Length { a: middle - side, b: middle + side, along: None },
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
