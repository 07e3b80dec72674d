//! The lever's fork and guard. Drawn with the fork along +y and turned into the line of the lever at the end.

use movement::{Diagnostic, Movement, Pallet, ParamKind as K};
use plane::{Corner, Edge, Label, Pose, Profile, ProfileError, Vector, polar};
use std::f64::consts::FRAC_PI_2;

use crate::build::shown;
use crate::face::Face;
use crate::parts::{Body, corner_fault};
use crate::roller;

/// Thickness of a horn over the jewel's width. For drawing and the knocking angle; assumed.
const HORN_THICKNESS_RATIO: f64 = 0.45;
/// Distances below the notch's floor at which the head begins to widen and is as wide as it gets, in horn thicknesses.
/// For drawing and for where bankings can bear.
const HEAD_FROM_RATIO: f64 = 2.5;
const HEAD_TO_RATIO: f64 = 0.3;
/// Half the angle of a dart's point. Assumed.
const DART_HALF_POINT_RAD: f64 = std::f64::consts::FRAC_PI_6;
/// Length of the drawn dart over its width. For drawing.
const DART_LENGTH_RATIO: f64 = 3.0;

/// Bar, notch and horns as one closed outline, in the lever's frame.
pub(crate) fn fork(movement: &Movement) -> Result<Body, Vec<Diagnostic>> {
    let centres_m = movement.si(K::CentresPalletBalance);
    let half_notch_m = 0.5 * movement.si(K::ForkNotchWidth);
    let half_bar_m = 0.5 * movement.si(K::LeverBarWidth);
    let thick_m = HORN_THICKNESS_RATIO * movement.si(K::JewelWidth);
    let reach_m = roller::nominal_jewel_reach_m(movement)?;
    let longer = Vector::new(0.0, movement.si(K::ForkLonger));
    let freedom_rad = movement.si(K::ForkHornFreedom);
    // Each horn's curve lies on the jewel's circle when the lever is `horn freedom` off the banking it guards.
    let horn = |guards: Pallet| {
        let at_rad = movement.si_at(K::BankingLeverAngle, guards) - freedom_rad;
        let (mouth, centre) = horn_mouth(guards, centres_m, half_notch_m, reach_m, at_rad);
        let side = guards.outward(); // entry: left horn
        let tip = Pose::about(centre, side * movement.si(K::ForkHornLength) / reach_m).point(mouth);
        let outer = centre + (tip - centre) * (1.0 + thick_m / reach_m);
        (mouth, tip, outer, centre)
    };
    let (left_mouth, left_tip, left_outer, left_centre) = horn(Pallet::Entry);
    let (right_mouth, right_tip, right_outer, right_centre) = horn(Pallet::Exit);
    let mouths = [(Pallet::Entry, left_mouth), (Pallet::Exit, right_mouth)];
    let farthest_rad = ((reach_m - half_notch_m) / centres_m).asin() + freedom_rad;
    let beyond = mouths.into_iter().filter(|(_, mouth)| mouth.y.is_nan() && farthest_rad.is_finite());
    let beyond: Vec<_> = beyond.map(|(guards, _)| beyond_jewel(movement, guards, farthest_rad)).collect();
    if !beyond.is_empty() {
        return Err(beyond);
    }
    let floor_m = left_mouth.y.min(right_mouth.y) - movement.si(K::ForkNotchDepth);
    if !floor_m.is_finite() || floor_m <= HEAD_FROM_RATIO * thick_m {
        let id = K::ForkNotchDepth.once();
        return Err(vec![
            Diagnostic::error(
                "no-such-fork",
                "the fork cannot be drawn: the notch reaches down to the pallets, or is wider than the jewel's circle",
            )
            .about(id)
            .about(K::ForkNotchWidth.once())
            .value(shown(id, movement.si(K::ForkNotchDepth)))
            .hint("state a smaller notch_depth_mm or notch_width_mm, or a longer fork"),
        ]);
    }
    let line = |start, end, face: Face| Edge::Line { start, end, label: face.into() };
    let point = Vector::new;
    let shoulder_x = half_notch_m + thick_m;
    let mut head: Vec<Edge> = Vec::with_capacity(14);
    let from_y = floor_m - HEAD_FROM_RATIO * thick_m;
    let (bar_right, bar_left) = (point(half_bar_m, from_y), point(-half_bar_m, from_y));
    let to_y = floor_m - HEAD_TO_RATIO * thick_m;
    let (right, left) = (point(shoulder_x, to_y), point(-shoulder_x, to_y));
    let (floor_right, floor_left) = (point(half_notch_m, floor_m), point(-half_notch_m, floor_m));
    let up = |p: Vector| p + longer;
    head.push(line(point(half_bar_m, 0.0), up(bar_right), Face::BarSide));
    head.push(line(up(bar_right), up(right), Face::HornOutside));
    head.push(line(up(right), up(right_outer), Face::HornOutside));
    head.push(line(up(right_outer), up(right_tip), Face::HornTip));
    head.push(Edge::arc(up(right_centre), up(right_tip), up(right_mouth), false, Face::Horn.into()));
    head.push(line(up(right_mouth), up(floor_right), Face::NotchWall));
    head.push(line(up(floor_right), up(floor_left), Face::NotchFloor));
    head.push(line(up(floor_left), up(left_mouth), Face::NotchWall));
    head.push(Edge::arc(up(left_centre), up(left_mouth), up(left_tip), false, Face::Horn.into()));
    head.push(line(up(left_tip), up(left_outer), Face::HornTip));
    head.push(line(up(left_outer), up(left), Face::HornOutside));
    head.push(line(up(left), up(bar_left), Face::HornOutside));
    head.push(line(up(bar_left), point(-half_bar_m, 0.0), Face::BarSide));
    head.push(line(point(-half_bar_m, 0.0), point(half_bar_m, 0.0), Face::BarEnd));
    let mut profile = Profile::new(head, true, Face::HornTip.into());
    for (edge, corner) in profile.edges.iter().zip(profile.corners.iter_mut()) {
        *corner = match Face::from(edge.label()) {
            Face::NotchWall | Face::Horn => Face::NotchCorner.into(),
            face => face.into(),
        };
    }
    // The tip of the right horn is where its curve begins, the tip of the left one where its end face begins.
    profile.corners[4] = Face::HornTip.into();
    Ok(Body::new(profile.posed(&Pose::new(fork_turn_rad(movement), Vector::zeros()))))
}

/// Where the bar's straight sides end, from the pallet centre, and the angle by which they then turn outward (negative:
/// inward), for a notch whose floor lies `floor_m` from the pallet centre.
pub(crate) fn head_from_m_rad(movement: &Movement, floor_m: f64) -> (f64, f64) {
    let thick_m = HORN_THICKNESS_RATIO * movement.si(K::JewelWidth);
    let wider_m = 0.5 * movement.si(K::ForkNotchWidth) + thick_m - 0.5 * movement.si(K::LeverBarWidth);
    (floor_m - HEAD_FROM_RATIO * thick_m, wider_m.atan2((HEAD_FROM_RATIO - HEAD_TO_RATIO) * thick_m))
}

/// Corner of the notch's mouth on the side of the horn that guards the banking of `guards`, and the centre of the horn's
/// curve: the balance centre seen from the lever when that is turned `horn_rad` to the banking's side. Fork on +y.
pub(crate) fn horn_mouth(
    guards: Pallet,
    centres_m: f64,
    half_notch_m: f64,
    jewel_reach_m: f64,
    horn_rad: f64,
) -> (Vector, Vector) {
    let side = guards.outward(); // entry: left horn
    let centre = Vector::new(-side * centres_m * horn_rad.sin(), centres_m * horn_rad.cos());
    let across = side * half_notch_m - centre.x;
    let down = (jewel_reach_m * jewel_reach_m - across * across).sqrt();
    (Vector::new(side * half_notch_m, centre.y - down), centre)
}

/// A banking at which the fork stands off the jewel's circle, so that no horn can lie on it.
fn beyond_jewel(movement: &Movement, guards: Pallet, farthest_rad: f64) -> Diagnostic {
    let id = K::BankingLeverAngle.at(guards);
    Diagnostic::error(
        "no-such-fork",
        format!(
            "the {} horn cannot be drawn: at its banking the fork stands clear of the jewel's circle",
            guards.name()
        ),
    )
    .about(id)
    .about(K::ForkHornFreedom.once())
    .about(K::LeverOutOfAngle.once())
    .value(shown(id, movement.si_at(K::BankingLeverAngle, guards)))
    .allowed(format!("up to {} with this jewel, notch and horn freedom", shown(id, farthest_rad)))
    .hint("bring the lever into angle, close the banking, or set the jewel farther from the balance centre")
}

/// Turn from +y to the fork: the line of the lever, and the bend (at the pallets, measured at the notch).
fn fork_turn_rad(movement: &Movement) -> f64 {
    movement.si(K::LeverLineAngle) + movement.si(K::ForkBend) / movement.si(K::ForkLength)
}

/// Unit direction of the fork's middle, in the lever's frame.
pub(crate) fn fork_axis(movement: &Movement) -> Vector {
    polar(1.0, FRAC_PI_2 + fork_turn_rad(movement))
}

/// Dart or guard pin, in the lever's frame.
pub(crate) fn guard(movement: &Movement) -> Result<Body, Vec<Diagnostic>> {
    let reach_m = movement.si(K::GuardReach);
    let profile = guard_outline(movement, reach_m + movement.si(K::GuardLonger) + movement.si(K::ForkLonger))
        .map_err(|e| vec![corner_fault(e, K::GuardTipRound.once(), movement)])?;
    let turn_rad = fork_turn_rad(movement) + movement.si(K::GuardBend) / reach_m;
    Ok(Body::new(profile.posed(&Pose::new(turn_rad, Vector::zeros()))))
}

/// Dart or guard pin that reaches to `tip_m` from the pallet centre, along +y.
pub(crate) fn guard_outline(movement: &Movement, tip_m: f64) -> Result<Profile, ProfileError> {
    let half_m = 0.5 * movement.si(K::GuardWidth);
    if movement.word(K::GuardForm) == "pin" {
        let label = Label::from(Face::GuardTip);
        let edge = Edge::Arc {
            centre: Vector::new(0.0, tip_m - half_m),
            radius: half_m,
            from_rad: 0.0,
            sweep_rad: std::f64::consts::TAU,
            label,
        };
        return Ok(Profile::new(vec![edge], true, label));
    }
    let round_m = movement.si(K::GuardTipRound);
    let apex = Vector::new(0.0, tip_m - round_m + round_m / DART_HALF_POINT_RAD.sin());
    let shoulder_y = apex.y - half_m / DART_HALF_POINT_RAD.tan();
    let root_y = tip_m - DART_LENGTH_RATIO * 2.0 * half_m;
    let points = [
        Vector::new(-half_m, root_y),
        Vector::new(half_m, root_y),
        Vector::new(half_m, shoulder_y),
        apex,
        Vector::new(-half_m, shoulder_y),
    ];
    let side = Label::from(Face::GuardSide);
    let edges: Vec<_> = (0..5)
        .map(|i| {
            let corner = if i == 3 { Corner::Round(round_m) } else { Corner::Sharp };
            let label = if i == 3 { Face::GuardTip.into() } else { side };
            (corner, label, Edge::Line { start: points[i], end: points[(i + 1) % 5], label: side })
        })
        .collect();
    Profile::with_corners(&edges, true)
}

#[cfg(test)]
mod tests {
    use super::*;
    use movement::Values;

    #[test]
    fn a_banking_beyond_the_jewel_is_refused() {
        let mut v = Values::default();
        v.set(K::WheelToothCount.once(), 15.0);
        v.set(K::WheelLockingRadius.once(), 2.5e-3);
        v.set(K::LeverOutOfAngle.once(), (-5.0_f64).to_radians());
        let faults = crate::build(&v).expect_err("the exit banking stands at 10.25 deg, the jewel reaches less far");
        assert_eq!(faults.iter().map(|f| f.code).collect::<Vec<_>>(), ["no-such-fork"]);
        assert_eq!(faults[0].about[0], K::BankingLeverAngle.at(Pallet::Exit));
    }
}
