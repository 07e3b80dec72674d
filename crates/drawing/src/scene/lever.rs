//! The lever at a pose, and the places of its fork that are measured.

use movement::{Pallet, ParamKind as K};
use parts::{Build, Face};
use plane::{Edge, Pose, Profile, Vector, quarter};

use super::{Finish, Scene, stone_part};
use crate::dimension::{Measure, Sense};
use crate::frame::{disc, frame};
use crate::guard::guard;
use crate::options::Subject;
use crate::text::Words;

/// Lever, stones and guard at a pose, the guard below the fork or, as a pin, standing on it.
pub(crate) fn shapes(build: &Build, pose: &Pose, scene: &mut Scene) {
    let frame = frame(build);
    let guard = vec![guard(build).posed(pose)];
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

/// What is wrong with the lever as it is drawn, as a note.
pub(crate) fn note(build: &Build, subject: Subject) -> Option<String> {
    let shown = matches!(subject, Subject::Assembly | Subject::Pallets | Subject::Plate(_));
    let text = "The arms of the lever are not as they could be made: with the widths stated there is no room for them between \
                wheel, stones and one another.";
    (shown && !frame(build).is_whole).then(|| text.to_owned())
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
    /// The lower corner of its mouth.
    pub mouth: Vector,
    /// Direction of the fork.
    pub along: Vector,
    /// Length of a horn along its inner curve.
    pub horn_m: Option<f64>,
}

impl Notch {
    pub fn of(fork: &Profile) -> Option<Notch> {
        let is = |e: &&Edge, face: Face| Face::from(e.label()) == face;
        let floor = fork.edges.iter().find(|e| is(e, Face::NotchFloor))?;
        let walls: Vec<&Edge> = fork.edges.iter().filter(|e| is(e, Face::NotchWall)).collect();
        let along = -walls.first()?.tangent(0.0);
        let ends = walls.iter().flat_map(|w| [w.start(), w.end()]).filter(|p| (p - floor.start()).dot(&along) > 0.0);
        let corners = ends.filter(|p| (p - floor.start()).norm() > 0.0 && (p - floor.end()).norm() > 0.0);
        let mouth = corners.min_by(|a, b| a.dot(&along).total_cmp(&b.dot(&along)))?;
        let horn_m = fork.edges.iter().find(|e| is(e, Face::Horn)).map(Edge::length).filter(|m| *m > 0.0);
        Some(Notch { floor: [floor.start(), floor.end()], mouth, along, horn_m })
    }

    /// Its width and depth.
    pub fn measure(&self, pose: &Pose, scene: &mut Scene) {
        let [a, b] = self.floor.map(|p| pose.point(p));
        let across = pose.direction(quarter(self.along));
        let mouth = pose.point(self.mouth);
        scene.measure(K::ForkNotchWidth.once(), "notch, width", Measure::Length { a, b, along: Some(across) });
        let depth = Measure::Length { a, b: mouth, along: Some(pose.direction(self.along)) };
        scene.measure(K::ForkNotchDepth.once(), "notch, depth", depth);
    }

    /// Distance of its floor from the pallet centre, the lever's origin.
    fn floor_distance(&self) -> Measure {
        let middle = 0.5 * (self.floor[0] + self.floor[1]);
        Measure::Length { a: Vector::zeros(), b: middle, along: Some(self.along) }
    }

    pub fn measure_from_centre(&self, scene: &mut Scene) {
        scene.measure_as(Words::symbol(FLOOR), FLOOR_MEANING, self.floor_distance(), Sense::Positive);
    }

    pub fn read_from_centre(&self, scene: &mut Scene) {
        scene.read_as(Words::symbol(FLOOR), FLOOR_MEANING, &self.floor_distance(), Sense::Positive);
    }
}

/// Symbol and meaning of the place of the notch's floor, which is no parameter.
const FLOOR: &str = "lf";
const FLOOR_MEANING: &str = "pallet centre to the notch's floor";
