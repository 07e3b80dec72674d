//! One stone, its locking face upright, the wheel below it.

use movement::{Pallet, ParamKind as K};
use parts::{Build, Face};
use plane::{Pose, Profile, Vector, cross, direction_rad, quarter};
use std::f64::consts::FRAC_PI_2;

use super::measured::{Finished, dome_m, edge, finish};
use super::{Finish, Scene, stone_part};
use crate::dimension::{Measure, Sense};
use crate::text::Words;

pub(super) fn scene(build: &Build, pallet: Pallet) -> Scene {
    let stone = &build.parts.lever.stones[pallet];
    let turn_rad = FRAC_PI_2 - direction_rad(stone.face);
    let turn = Pose::new(turn_rad, Vector::zeros());
    let pose = Pose::new(turn_rad, -turn.direction(stone.locking_corner_m));
    let at = |kind: K| kind.at(pallet);
    let mut scene = Scene::default();
    let outline = stone.body.profile.posed(&pose);
    scene.shape(stone_part(pallet), Finish::Ruby, vec![outline.clone()]);

    let (locking, let_off) = (Vector::zeros(), pose.point(stone.let_off_corner_m));
    let (up, across) = (Vector::new(0.0, 1.0), Vector::new(1.0, 0.0));
    // The stone's end runs from its back to its locking side.
    let Some(end) = edge(&outline, Face::StoneTop) else { return scene };
    let (top_back, top_locking) = (end.start(), end.end());
    let length_m = (top_locking - locking).norm();
    // The square cut from which the impulse face is measured.
    let square = across * (1.15 * let_off.x);
    scene.thin_lines.push((locking, square));
    // Draw: the locking face from the neutral line, square to the line to the pallet centre.
    let to_centre = pose.point(Vector::zeros()).normalize();
    let neutral = {
        let n = quarter(to_centre);
        if n.y < 0.0 { -n } else { n }
    };
    let reach_m = 0.75 * length_m;
    let draws = cross(up, neutral) * draw_sense(stone.locking_corner_m, stone.face, pallet) >= 0.0;
    let toward = to_centre * (0.45 * length_m);
    scene.centre_lines.push((locking, toward));
    scene.centre_lines.push((locking, neutral * reach_m));
    scene.measure_as(
        Words::plain("draw"),
        "locking face from the neutral line, at its corner",
        Measure::Angle { vertex: locking, a: neutral * reach_m, b: top_locking },
        Sense::negative_if(!draws),
    );
    scene.remark("to the pallet centre", toward, toward);
    scene.remark("neutral line", neutral * (0.9 * reach_m), Vector::new(neutral.x, 0.3));

    scene.measure(at(K::StoneWidth), "width", Measure::Length { a: top_locking, b: top_back, along: Some(across) });
    let length = Measure::Length { a: locking, b: top_locking, along: Some(up) };
    scene.measure(at(K::StoneLength), "length of the locking side", length);
    scene.measure_signed(
        at(K::StoneFaceAngle),
        "impulse face from the square cut",
        Measure::Angle { vertex: locking, a: square, b: let_off },
        Sense::negative_if(let_off.y > 0.0),
    );

    let from_centre = |corner| Measure::Length { a: Vector::zeros(), b: corner, along: None };
    let distances = [from_centre(stone.locking_corner_m), from_centre(stone.let_off_corner_m)];
    scene.read(at(K::PalletLockingDistance), "locking corner to pallet centre", &distances[0], Sense::Positive);
    scene.read(at(K::PalletLetOffDistance), "let-off corner to pallet centre", &distances[1], Sense::Positive);
    finishes(&outline, (locking, let_off, top_locking), pallet, &mut scene);
    scene
}

/// Roundings, chamfers and domes, where there are any.
fn finishes(
    outline: &Profile,
    (locking, let_off, top_locking): (Vector, Vector, Vector),
    pallet: Pallet,
    scene: &mut Scene,
) {
    for (face, corner, [round, chamfer], name, side) in [
        (Face::LockingCorner, locking, [K::StoneLockingRound, K::StoneLockingChamfer], "locking", -1.0),
        (Face::LetOffCorner, let_off, [K::StoneLetOffRound, K::StoneLetOffChamfer], "let-off", 1.0),
    ] {
        let toward = Vector::new(side, -1.0);
        let (kind, what, size_m) = match finish(outline, face, corner) {
            Some(Finished::Round(radius_m)) => (round, "rounding", radius_m),
            Some(Finished::Chamfer(length_m)) => (chamfer, "chamfer", length_m),
            None => continue,
        };
        scene.point_out(kind.at(pallet), &format!("{name} corner, {what}"), size_m, corner, toward);
    }
    for (face, kind, name, from, to, toward) in [
        (Face::StoneImpulse, K::StoneImpulseDome, "impulse", locking, let_off, Vector::new(1.0, -1.0)),
        (Face::StoneLocking, K::StoneLockingDome, "locking", top_locking, locking, Vector::new(-1.0, 0.0)),
    ] {
        let rise_m = dome_m(outline, face, from, to);
        if rise_m > 0.0 {
            let meaning = format!("{name} face, rise of its dome");
            scene.point_out(kind.at(pallet), &meaning, rise_m, 0.5 * (from + to), toward);
        }
    }
}

/// Sign that makes the angle from face to neutral line the draw: it draws when the face leans toward the oncoming
/// tooth, which is the same sense for both stones as seen by the wheel.
fn draw_sense(locking_m: Vector, face: Vector, pallet: Pallet) -> f64 {
    let neutral = quarter(locking_m) * pallet.outward();
    // Where the neutral line points into the stone, face to neutral line is the draw itself.
    if neutral.dot(&face) >= 0.0 { 1.0 } else { -1.0 }
}
