//! What sources print and the table of figures does not hold, measured on the drawn parts and on the contact curves.

use action::{Contact, PalletAction, Scratch};
use movement::{Pallet, ParamKind as K};
use parts::Face;
use plane::{Pose, Touch, Vector, cross, touches, touches_of_pair};
use std::f64::consts::{FRAC_PI_2, PI};

use crate::entry::Solved;

/// Value of the measure `name` in degrees or as a ratio; `Ok(None)` where the parts have none.
pub fn measure(name: &str, solved: &Solved) -> Result<Option<f64>, String> {
    if let Some(angle) = name.strip_prefix("fork_middle_at_").and_then(|n| n.strip_suffix("_deg")) {
        let jewel_deg: f64 = angle.parse().map_err(|e| format!("{name}: {e}"))?;
        return Ok(fork_middle_rad(solved, jewel_deg.to_radians()).map(f64::to_degrees));
    }
    if let Some(angle) = name.strip_prefix("guard_touch_beyond_").and_then(|n| n.strip_suffix("_deg")) {
        let beyond_deg: f64 = angle.parse().map_err(|e| format!("{name}: {e}"))?;
        return Ok(guard_touch(solved, Pallet::Entry).map(|g| g.to_degrees() - beyond_deg));
    }
    if let Some(angle) = name.strip_prefix("horn_to_cover_from_").and_then(|n| n.strip_suffix("_ratio")) {
        let half_action_deg: f64 = angle.parse().map_err(|e| format!("{name}: {e}"))?;
        let jewel = solved.build.movement.si(K::RollerJewelDistance);
        let half_jewel_rad = (0.5 * jewel_width_m(solved) / jewel).asin();
        return Ok(
            guard_enters_below(solved).map(|enters| enters - 2.0 * half_jewel_rad - half_action_deg.to_radians())
        );
    }
    if let Some((pallet, of)) = name.split_once('.') {
        let pallet = if pallet == "entry" { Pallet::Entry } else { Pallet::Exit };
        let own = solved.action.of(pallet).next().ok_or("no beat")?;
        let ratio = |c: &Contact| -pallet.outward() * c.wheel_arm_m / c.lever_arm_m;
        let lifting = || lifting(own);
        let on_tooth = |f: Face| matches!(f, Face::ToothImpulse);
        return match of {
            "speed_ratio_first_ratio" => Ok(lifting().next().map(|(from, _)| ratio(&from))),
            "speed_ratio_stone_last_ratio" => {
                Ok(lifting().take_while(|(c, _)| !on_tooth(c.tooth_face)).last().map(|(_, to)| ratio(&to)))
            }
            "speed_ratio_tooth_first_ratio" => {
                Ok(lifting().find(|(c, _)| on_tooth(c.tooth_face)).map(|(from, _)| ratio(&from)))
            }
            "speed_ratio_tooth_last_ratio" => {
                Ok(lifting().filter(|(c, _)| on_tooth(c.tooth_face)).last().map(|(_, to)| ratio(&to)))
            }
            "speed_ratio_last_ratio" => Ok(lifting().last().map(|(_, to)| ratio(&to))),
            "heel_on_stone_deg" => Ok(Some(
                lifting()
                    .filter(|(c, _)| c.tooth_face == Face::Heel && c.stone_face == Face::StoneImpulse)
                    .map(|(from, to)| (to.lever_rad - from.lever_rad).abs().to_degrees())
                    .sum(),
            )),
            "locking_corner_from_centres_deg" => Ok(Some(from_centres_rad(solved, pallet).to_degrees())),
            "locking_corner_inside_tangent_deg" => {
                let m = &solved.build.movement;
                let tangent_rad = FRAC_PI_2 - PI * m.si(K::PalletsSpacesSpanned) / m.si(K::WheelToothCount);
                Ok(Some((tangent_rad - from_centres_rad(solved, pallet)).to_degrees()))
            }
            "knocking_less_widths_deg" => {
                let fork = &solved.action.fork[usize::from(pallet == Pallet::Exit)];
                Ok(fork.knocking_rad.map(|k| (k - knocking_from_widths_rad(solved, own)).to_degrees()))
            }
            "draw_from_radius_deg" => Ok(Some(draw_from_radius_rad(solved, own).to_degrees())),
            "drawn_face_angle_deg" => {
                let stone = &solved.build.parts.lever.stones[pallet];
                let chord = stone.let_off_corner_m - stone.locking_corner_m;
                Ok(Some((-chord.dot(&stone.face)).atan2(cross(chord, stone.face)).to_degrees()))
            }
            _ => Err(format!("there is no figure, parameter or measure {name}")),
        };
    }
    match name {
        "guard_touch_at_balance_deg" => Ok(guard_touch(solved, Pallet::Entry).map(f64::to_degrees)),
        "guard_touches_apart_deg" => Ok(guard_touch(solved, Pallet::Entry)
            .zip(guard_touch(solved, Pallet::Exit))
            .map(|(a, b)| (a + b).to_degrees())),
        "guard_crossing_deg" => Ok(guard_crossing_rad(solved).map(f64::to_degrees)),
        "guard_enters_below_deg" => Ok(guard_enters_below(solved).map(f64::to_degrees)),
        "heel_of_toe_ratio" => {
            let m = &solved.build.movement;
            Ok(Some(m.si(K::WheelHeelRadius) / m.si(K::WheelLockingRadius)))
        }
        "jewel_width_of_distance_ratio" => {
            let m = &solved.build.movement;
            Ok(Some(jewel_width_m(solved) / m.si(K::RollerJewelDistance)))
        }
        _ => Err(format!("there is no figure, parameter or measure {name}")),
    }
}

/// Both ends of each stretch of contact from unlocking to let-off that the lever moves through.
fn lifting(own: &PalletAction) -> impl Iterator<Item = (Contact, Contact)> + '_ {
    let outward = own.pallet.outward();
    own.segments
        .iter()
        .filter(move |s| {
            outward * (s.from.lever_rad - own.unlocking.lever_rad) >= -1e-12 && s.from.lever_rad != s.to.lever_rad
        })
        .map(|s| (s.from, s.to))
}

/// Angle at the pallet centre from the line to the wheel centre to the locking corner at the instant it unlocks.
fn from_centres_rad(solved: &Solved, pallet: Pallet) -> f64 {
    let parts = &solved.build.parts;
    let own = solved.action.of(pallet).next().unwrap();
    let arm = own.unlocking.point_m - parts.centres.pallet_m;
    let line = parts.centres.wheel_m - parts.centres.pallet_m;
    cross(line, arm).abs().atan2(line.dot(&arm))
}

/// Angle between the locking face and the wheel's radius to its corner, at the instant of unlocking.
fn draw_from_radius_rad(solved: &Solved, own: &PalletAction) -> f64 {
    let parts = &solved.build.parts;
    let pose = parts.lever_pose(own.face_end.lever_rad);
    let radius = own.face_end.point_m - parts.centres.wheel_m;
    let face = pose.direction(parts.lever.stones[own.pallet].face);
    cross(face, radius).atan2(face.dot(&radius))
}

/// Lever angle in the middle between the notch walls, produced, with the jewel held at `jewel_rad`.
fn fork_middle_rad(solved: &Solved, jewel_rad: f64) -> Option<f64> {
    let parts = &solved.build.parts;
    let (mut first, mut second) = (Vec::new(), Vec::new());
    parts.lever.fork.pose_into(&parts.lever_pose(0.0), &mut first);
    parts.roller.jewel.pose_into(&parts.roller_pose(jewel_rad), &mut second);
    let mut walls = Vec::new();
    for wall in
        first.iter().filter(|f| Face::from(f.label) == Face::NotchWall && matches!(f.shape, plane::Shape::Flat(_)))
    {
        // The wall is first met by the part of the jewel that reaches farthest to it.
        let mut nearest: Option<f64> = None;
        for edge in &second {
            touches_of_pair::<false>(wall, parts.centres.pallet_m, edge, |t: Touch| {
                if nearest.is_none_or(|n| t.angle_rad.abs() < n.abs()) {
                    nearest = Some(t.angle_rad);
                }
            });
        }
        walls.push(nearest?);
    }
    let [left, right] = walls[..] else { return None };
    Some(0.5 * (left + right))
}

/// Angle at the balance centre from the line to the pallet centre to where the guard first touches the full edge of
/// the safety roller, the lever turned from its banking toward the middle.
fn guard_touch(solved: &Solved, pallet: Pallet) -> Option<f64> {
    let centres = &solved.build.parts.centres;
    let line = centres.pallet_m - centres.balance_m;
    let arm = guard_touch_m(solved, pallet)? - centres.balance_m;
    Some(cross(line, arm).abs().atan2(line.dot(&arm)))
}

/// Angle between the guard's path and the roller's edge where they first touch: between the radii from their centres.
fn guard_crossing_rad(solved: &Solved) -> Option<f64> {
    let centres = &solved.build.parts.centres;
    let touch_m = guard_touch_m(solved, Pallet::Entry)?;
    let (of_lever, of_roller) = (touch_m - centres.pallet_m, centres.balance_m - touch_m);
    Some(cross(of_lever, of_roller).abs().atan2(of_lever.dot(&of_roller)))
}

/// Jewel angle below which the guard, lever on the entry banking, may enter the crescent: there it gets a freedom.
fn guard_enters_below(solved: &Solved) -> Option<f64> {
    let parts = &solved.build.parts;
    let banked_rad = solved.action.bankings_rad.entry?;
    let mut scratch = Scratch::default();
    let mut held = |jewel_rad: f64| {
        // On the entry side the jewel stands at negative angles.
        action::guard_freedom_rad(parts, Pallet::Entry, banked_rad, -jewel_rad, &mut scratch)
            .is_some_and(|freedom_rad| freedom_rad < 1e-9)
    };
    let (mut free_rad, mut held_rad) = (guard_touch(solved, Pallet::Entry)?, FRAC_PI_2);
    if held(free_rad) || !held(held_rad) {
        return None;
    }
    for _ in 0..60 {
        let middle_rad = 0.5 * (free_rad + held_rad);
        if held(middle_rad) { held_rad = middle_rad } else { free_rad = middle_rad }
    }
    Some(held_rad)
}

/// Where the guard first touches the full edge of the safety roller, the lever turned from its banking to the middle.
fn guard_touch_m(solved: &Solved, pallet: Pallet) -> Option<Vector> {
    let parts = &solved.build.parts;
    let (mut first, mut second) = (Vec::new(), Vec::new());
    parts.lever.guard.pose_into(&parts.lever_pose(0.0), &mut first);
    parts.roller.safety.pose_into(&parts.roller_pose(PI), &mut second);
    let banked_rad = solved.action.bankings_rad[pallet]?;
    let mut best: Option<(f64, Vector)> = None;
    touches(&first, parts.centres.pallet_m, &second, |t: Touch| {
        // On this side of the middle, closing as the lever turns to it.
        let way = (t.angle_rad - banked_rad) * pallet.outward();
        if t.angle_rad * banked_rad > 0.0 && t.opening * pallet.outward() < 0.0 && best.is_none_or(|(b, _)| way < b) {
            best = Some((way, t.point));
        }
    });
    best.map(|(_, point_m)| point_m)
}

/// Width of the drawn jewel across the fork: twice the largest distance of a turned jewel's touch from its axis.
fn jewel_width_m(solved: &Solved) -> f64 {
    let parts = &solved.build.parts;
    let mut posed = Vec::new();
    // Laid with its width along y; its corners and round edges reach farthest there.
    parts.roller.jewel.pose_into(&Pose::new(FRAC_PI_2, Vector::zeros()), &mut posed);
    let mut most = 0.0_f64;
    for feature in &posed {
        if let plane::Shape::Round(round) = feature.shape {
            for sign in [1.0, -1.0] {
                let up = Vector::new(0.0, sign);
                if round.radius == 0.0 || round.has_normal(up) {
                    most = most.max((round.centre + up * round.radius).y * sign);
                }
            }
        }
    }
    2.0 * most
}

/// `360 + lift/2 - w - p`, lever on the banking of `own`: where the leading edge of a round jewel, half as wide as `p`
/// at a distance from the balance, meets the point of the fork head that is first at that distance. `lift/2 - w` is the
/// direction of that point from the line of centres, seen from the balance, counted as the jewel goes.
fn knocking_from_widths_rad(solved: &Solved, own: &PalletAction) -> f64 {
    const POINTS: u32 = 4000;
    let parts = &solved.build.parts;
    let out_m = solved.build.movement.si(K::RollerJewelDistance);
    let half_m = 0.5 * jewel_width_m(solved);
    let mut fork = Vec::new();
    parts.lever.fork.pose_into(&parts.lever_pose(own.banking_rad), &mut fork);
    let line = parts.centres.pallet_m - parts.centres.balance_m;
    let mut first_rad = f64::INFINITY;
    let mut meet = |point_m: Vector| {
        let arm = point_m - parts.centres.balance_m;
        let distance_m = arm.norm();
        if (distance_m - out_m).abs() <= half_m {
            let head_rad = own.pallet.outward() * cross(line, arm).atan2(line.dot(&arm));
            let cosine = (distance_m.powi(2) + out_m.powi(2) - half_m.powi(2)) / (2.0 * distance_m * out_m);
            first_rad = first_rad.min(2.0 * PI + head_rad - cosine.min(1.0).acos());
        }
    };
    for feature in &fork {
        match feature.shape {
            plane::Shape::Round(corner) => meet(corner.centre),
            plane::Shape::Flat(face) => (0..=POINTS)
                .for_each(|i| meet(face.start + face.along * (face.length * f64::from(i) / f64::from(POINTS)))),
        }
    }
    first_rad
}
