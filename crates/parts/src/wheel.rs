//! The escape wheel: club teeth, rim, spokes, hub and bore; true, or with an eccentricity and single bad teeth.

use movement::{Diagnostic, Movement, ParamId, ParamKind as K};
use plane::{Corner, Edge, Label, Pose, Profile, ProfileError, Vector, cross, direction_rad, polar, quarter};
use std::f64::consts::{FRAC_PI_2, TAU};

use crate::build::shown;
use crate::face::Face;
use crate::parts::{Body, Wheel, corner_fault, must_exceed};

/// Ratio of the pitch left as plain rim between the back of a tooth and the foot of the next front. Chosen, for drawing only.
const RIM_OF_PITCH: f64 = 0.12;

pub(crate) fn wheel(movement: &Movement) -> Result<Wheel, Vec<Diagnostic>> {
    let mut faults = Vec::new();
    for (larger, smaller) in [
        (K::WheelLockingRadius, K::WheelRootRadius),
        (K::WheelRootRadius, K::WheelRimRadius),
        (K::WheelRimRadius, K::WheelHubRadius),
        (K::WheelHubRadius, K::WheelBoreRadius),
    ] {
        must_exceed(larger.once(), smaller.once(), movement, &mut faults);
    }
    let tooth_count = movement.si(K::WheelToothCount) as u16;
    let bad = movement.values().teeth();
    for (id, _) in bad {
        if let movement::At::Tooth(n) = id.at
            && n >= tooth_count
        {
            faults.push(
                Diagnostic::error("no-such-tooth-number", format!("{id}: the wheel has no tooth {n}"))
                    .about(*id)
                    .allowed(format!("0 to {}", tooth_count - 1))
                    .hint("teeth are numbered from 0 in the order of their arrival"),
            );
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let e_m = movement.si(K::WheelEccentricity);
    let alike = e_m == 0.0 && bad.is_empty();
    let off = polar(e_m, FRAC_PI_2 + movement.si(K::WheelEccentricityAngle));
    let teeth = if alike {
        vec![tooth(movement, 0.0)?]
    } else {
        let as_drawn = tooth(movement, 0.0)?;
        let mut teeth = Vec::with_capacity(tooth_count as usize);
        for n in 0..tooth_count {
            let longer_m = movement.si_tooth(K::ToothLonger, n);
            let base = if longer_m == 0.0 { Ok(as_drawn.clone()) } else { tooth(movement, longer_m) };
            let turn = f64::from(n) * TAU / f64::from(tooth_count) + movement.si_tooth(K::ToothBent, n);
            match base {
                Ok(base) => teeth.push(Body::new(base.profile.posed(&Pose::new(turn, off)))),
                Err(found) => faults.extend(found.into_iter().map(|fault| of_tooth(movement, n, longer_m, fault))),
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        teeth
    };
    let reach_m = teeth.iter().map(|t| t.profile.reach(Vector::zeros())).fold(0.0, f64::max);
    Ok(Wheel { tooth_count, teeth, reach_m, openings: openings(movement, off) })
}

/// The fault of one tooth that is longer or shorter than those drawn, which make a wheel.
fn of_tooth(movement: &Movement, n: u16, longer_m: f64, fault: Diagnostic) -> Diagnostic {
    // Halvings of the way to what can be cut: to a ten-thousandth of it.
    const HALVINGS: usize = 14;
    let (mut good_m, mut bad_m) = (0.0, longer_m);
    for _ in 0..HALVINGS {
        let middle_m = 0.5 * (good_m + bad_m);
        if tooth(movement, middle_m).is_ok() { good_m = middle_m } else { bad_m = middle_m }
    }
    let id = K::ToothLonger.tooth(n);
    let (way, how) = if longer_m < 0.0 { ("at least", "less short") } else { ("at most", "less long") };
    let message = fault.message.replace("the tooth", &format!("tooth {n}"));
    let mut about = vec![id];
    about.extend(fault.about.iter().copied());
    Diagnostic { message, about, ..fault }
        .value(shown(id, longer_m))
        .allowed(format!("{way} {}", shown(id, good_m)))
        .hint(format!("make this tooth {how}"))
}

/// One tooth with its toe at +y, from the foot of its front to the foot of the next front.
fn tooth(movement: &Movement, longer_m: f64) -> Result<Body, Vec<Diagnostic>> {
    let change_m = movement.si(K::WheelRadiusChange) + longer_m;
    let pitch_rad = TAU / movement.si(K::WheelToothCount);
    let root_m = movement.si(K::WheelRootRadius);
    let toe = polar(movement.si(K::WheelLockingRadius) + change_m, FRAC_PI_2);
    let heel = polar(movement.si(K::WheelHeelRadius) + change_m, FRAC_PI_2 + movement.si(K::WheelToothWidth));
    // From a corner toward the axis, leaning back (anticlockwise) by `lean`.
    let inward = |corner: Vector, lean_rad: f64| {
        let out = corner.normalize();
        -out * lean_rad.cos() + quarter(out) * lean_rad.sin()
    };
    let front = inward(toe, movement.si(K::WheelFrontLean));
    let no_room = |id: ParamId, what: &str| {
        vec![
            Diagnostic::error("no-room-for-tooth", format!("the tooth cannot be drawn: {what}"))
                .about(id)
                .value(movement.get(id).map_or(String::new(), |(v, _)| shown(id, v)))
                .hint("use a smaller lean, a larger root_radius_mm or a narrower tooth"),
        ]
    };
    let Some(foot) = to_circle(toe, front, root_m) else {
        return Err(no_room(K::WheelFrontLean.once(), "its front passes the rim without meeting it"));
    };
    let back_end = heel + inward(heel, movement.si(K::WheelBackLean)) * movement.si(K::WheelHeelDepth);
    if back_end.norm() <= root_m {
        return Err(no_room(K::WheelHeelDepth.once(), "the back of the heel reaches below the rim"));
    }
    let next_foot = Pose::new(pitch_rad, Vector::zeros()).point(foot);
    let back_foot_rad = direction_rad(next_foot) - RIM_OF_PITCH * pitch_rad;
    let back_foot = polar(root_m, back_foot_rad);
    if cross(back_end, back_foot) <= 0.0 {
        return Err(no_room(K::WheelToothWidth.once(), "its back runs into the front of the next tooth"));
    }
    // The back continues the back of the heel as an arc that ends on the rim; hollow where the rim lies behind it.
    let tangent = (back_end - heel).normalize();
    let chord = back_foot - back_end;
    let bend_rad = cross(tangent, chord).atan2(tangent.dot(&chord));
    let back = if bend_rad.abs() < 1e-6 {
        Edge::Line { start: back_end, end: back_foot, label: Face::ToothBack.into() }
    } else {
        let centre = back_end + quarter(tangent) * (chord.norm() / (2.0 * bend_rad.sin()));
        Edge::arc(centre, back_end, back_foot, bend_rad > 0.0, Face::ToothBack.into())
    };
    let line = |start, end, face: Face| Edge::Line { start, end, label: face.into() };
    let corner = |round: K, chamfer: K| match (movement.si(round), movement.si(chamfer)) {
        (r, _) if r > 0.0 => Corner::Round(r),
        (_, c) => Corner::Chamfer(c),
    };
    let root = Label::from(Face::Root);
    let edges = [
        (Corner::Sharp, root, line(foot, toe, Face::ToothFront)),
        (corner(K::WheelToeRound, K::WheelToeChamfer), Face::Toe.into(), line(toe, heel, Face::ToothImpulse)),
        (corner(K::WheelHeelRound, K::WheelHeelChamfer), Face::Heel.into(), line(heel, back_end, Face::HeelBack)),
        (Corner::Sharp, Face::ToothBack.into(), back),
        (Corner::Sharp, root, Edge::arc(Vector::zeros(), back_foot, next_foot, true, root)),
    ];
    for (round, chamfer) in [(K::WheelToeRound, K::WheelToeChamfer), (K::WheelHeelRound, K::WheelHeelChamfer)] {
        if movement.si(round) > 0.0 && movement.si(chamfer) > 0.0 {
            return Err(vec![both_corners(round.once(), chamfer.once())]);
        }
    }
    let profile = Profile::with_corners(&edges, false).map_err(|e| {
        let ProfileError::CornerTooLarge { label, .. } = e else {
            return vec![corner_fault(e, K::WheelToeRound.once(), movement)];
        };
        let (round, chamfer) = if Face::from(label) == Face::Toe {
            (K::WheelToeRound, K::WheelToeChamfer)
        } else {
            (K::WheelHeelRound, K::WheelHeelChamfer)
        };
        let id = if movement.si(round) > 0.0 { round } else { chamfer };
        vec![corner_fault(e, id.once(), movement)]
    })?;
    Ok(Body::new(profile))
}

/// A corner cannot be both rounded and chamfered.
pub(crate) fn both_corners(round: ParamId, chamfer: ParamId) -> Diagnostic {
    Diagnostic::error("corner-stated-twice", format!("{round} and {chamfer} both finish the same corner"))
        .about(round)
        .about(chamfer)
        .hint("state one of them")
}

/// Where the ray from `from` along the unit vector `along` first meets the circle of radius `radius` about the axis.
fn to_circle(from: Vector, along: Vector, radius: f64) -> Option<Vector> {
    let b = from.dot(&along);
    let square = b * b - from.norm_squared() + radius * radius;
    (square >= 0.0).then(|| from + along * (-b - square.sqrt()))
}

/// Windows between the spokes, and the bore.
fn openings(movement: &Movement, off: Vector) -> Vec<Profile> {
    let (rim_m, hub_m) = (movement.si(K::WheelRimRadius), movement.si(K::WheelHubRadius));
    let spokes = movement.si(K::WheelSpokeCount) as usize;
    let half_width_m = 0.5 * movement.si(K::WheelSpokeWidth);
    let label = Label::from(Face::Root);
    let circle = |radius: f64| {
        let edge = Edge::Arc { centre: Vector::zeros(), radius, from_rad: 0.0, sweep_rad: -TAU, label };
        Profile::new(vec![edge], true, label)
    };
    let mut out = vec![circle(movement.si(K::WheelBoreRadius))];
    let step = TAU / spokes.max(1) as f64;
    let (at_hub, at_rim) = ((half_width_m / hub_m).asin(), (half_width_m / rim_m).asin());
    if spokes > 0 && at_hub.is_finite() && 2.0 * at_hub < step {
        for i in 0..spokes {
            let (from, to) = (step * i as f64, step * (i + 1) as f64);
            let (a, b) = (polar(rim_m, to - at_rim), polar(rim_m, from + at_rim));
            let (c, d) = (polar(hub_m, from + at_hub), polar(hub_m, to - at_hub));
            let edges = vec![
                Edge::arc(Vector::zeros(), a, b, false, label),
                Edge::Line { start: b, end: c, label },
                Edge::arc(Vector::zeros(), c, d, true, label),
                Edge::Line { start: d, end: a, label },
            ];
            out.push(Profile::new(edges, true, label));
        }
    }
    out.iter().map(|p| p.posed(&Pose::shift(off))).collect()
}
