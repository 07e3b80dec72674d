//! The lever at a pose, and the places of its fork that are measured.

use movement::{Pallet, ParamKind as K};
use parts::{Build, Face};
use plane::{Edge, Pose, Profile, Vector, quarter};

use super::{Finish, Scene, stone_part};
use crate::dimension::Measure;
use crate::frame::{disc, frame};

/// Lever, stones and guard at a pose, the guard below the fork or, as a pin, standing on it.
pub(crate) fn shapes(build: &Build, pose: &Pose, scene: &mut Scene) {
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
        stone(build, p, pose, scene);
    }
    if upright {
        scene.shape("guard", Finish::Arbor, guard);
    } else {
        scene.shape("guard-hidden", Finish::Hidden, guard);
    }
}

/// One stone at a pose of the lever.
pub(crate) fn stone(build: &Build, p: Pallet, pose: &Pose, scene: &mut Scene) {
    scene.shape(stone_part(p), Finish::Ruby, vec![build.parts.lever.stones[p].body.profile.posed(pose)]);
}

pub(crate) fn guard_is_pin(build: &Build) -> bool {
    build.movement.word(K::GuardForm) == "pin"
}

/// The places of the fork that are measured, in the lever's frame.
pub(crate) struct Notch {
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
