//! One stone, its locking face upright, the wheel below it.

use movement::{Pallet, ParamKind as K};
use parts::Build;
use plane::{Pose, Vector, cross, direction_rad, quarter};
use std::f64::consts::FRAC_PI_2;

use super::{Finish, Scene, degrees, stone_part};
use crate::dimension::Measure;

pub(super) fn scene(build: &Build, pallet: Pallet) -> Scene {
    let movement = &build.movement;
    let stone = &build.parts.lever.stones[pallet];
    let turn_rad = FRAC_PI_2 - direction_rad(stone.face);
    let turn = Pose::new(turn_rad, Vector::zeros());
    let pose = Pose::new(turn_rad, -turn.direction(stone.locking_corner_m));
    let at = |kind: K| kind.at(pallet);
    let mut scene = Scene::default();
    let outline = stone.body.profile.posed(&pose);
    scene.shape(stone_part(pallet), Finish::Ruby, vec![outline.clone()]);

    let (locking, let_off) = (Vector::zeros(), pose.point(stone.let_off_corner_m));
    let length_m = movement.si_at(K::StoneLength, pallet);
    let up = Vector::new(0.0, 1.0);
    let across = Vector::new(1.0, 0.0);
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
    let draw_rad = cross(up, neutral).atan2(up.dot(&neutral)) * draw_sense(stone.locking_corner_m, stone.face, pallet);
    let toward = to_centre * (0.45 * length_m);
    scene.centre_lines.push((locking, toward));
    scene.centre_lines.push((locking, neutral * reach_m));
    scene.measure_as(
        "draw",
        degrees(draw_rad),
        "locking face from the neutral line, at its corner",
        Measure::Angle { vertex: locking, a: neutral * reach_m, b: up * length_m },
    );
    scene.remark("to the pallet centre", toward, toward);
    scene.remark("neutral line", neutral * (0.9 * reach_m), Vector::new(neutral.x, 0.3));

    scene.measure(
        movement,
        at(K::StoneWidth),
        "width",
        Measure::Length { a: locking + up * length_m, b: let_off + up * (length_m - let_off.y), along: Some(across) },
    );
    scene.measure(
        movement,
        at(K::StoneLength),
        "length of the locking side",
        Measure::Length { a: locking, b: up * length_m, along: Some(up) },
    );
    scene.measure(
        movement,
        at(K::StoneFaceAngle),
        "impulse face from the square cut",
        Measure::Angle { vertex: locking, a: square, b: let_off },
    );

    scene.row(movement, at(K::PalletLockingDistance), "locking corner to pallet centre");
    scene.row(movement, at(K::PalletLetOffDistance), "let-off corner to pallet centre");
    scene.row(movement, at(K::PalletBreadth), "breadth at the wheel centre");
    let half = |corner: Vector, out: Vector| Measure::Remark { at: corner, toward: out };
    let (left_down, right_down) = (Vector::new(-1.0, -1.0), Vector::new(1.0, -1.0));
    scene.measure_if_any(movement, at(K::StoneLockingRound), "locking corner, rounding", half(locking, left_down));
    scene.measure_if_any(movement, at(K::StoneLockingChamfer), "locking corner, chamfer", half(locking, left_down));
    scene.measure_if_any(movement, at(K::StoneLetOffRound), "let-off corner, rounding", half(let_off, right_down));
    scene.measure_if_any(movement, at(K::StoneLetOffChamfer), "let-off corner, chamfer", half(let_off, right_down));
    scene.measure_if_any(
        movement,
        at(K::StoneImpulseDome),
        "impulse face, rise of its dome",
        half(0.5 * (locking + let_off), right_down),
    );
    scene.measure_if_any(
        movement,
        at(K::StoneLockingDome),
        "locking face, rise of its dome",
        half(up * (0.5 * length_m), -across),
    );
    scene
}

/// Sign that makes the angle from face to neutral line the draw: it draws when the face leans toward the oncoming
/// tooth, which is the same sense for both stones as seen by the wheel.
fn draw_sense(locking_m: Vector, face: Vector, pallet: Pallet) -> f64 {
    let neutral = quarter(locking_m) * pallet.outward();
    // Where the neutral line points into the stone, face to neutral line is the draw itself.
    if neutral.dot(&face) >= 0.0 { 1.0 } else { -1.0 }
}
