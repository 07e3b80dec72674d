//! What is measured on the drawn parts: corners before rounding, circles, extents. In metres, in the frame of the part.
//!
//! Every dimension of a drawing comes from here or from a point of a part, so that it holds for what is drawn, whatever
//! was done to the parts at the bench.

use movement::Pallet;
use parts::{Build, Face, Parts, Wheel};
use plane::{Edge, Pose, Profile, Vector, cross, direction_rad, quarter, touches};
use std::f64::consts::{FRAC_PI_2, TAU};

use crate::dimension::{Measure, Sense};

/// The first edge that is that face.
pub(crate) fn edge(profile: &Profile, face: Face) -> Option<&Edge> {
    profile.edges.iter().find(|e| Face::from(e.label()) == face)
}

/// Centre and radius of an arc.
pub(crate) fn circle(edge: &Edge) -> Option<(Vector, f64)> {
    match *edge {
        Edge::Arc { centre, radius, .. } => Some((centre, radius)),
        Edge::Line { .. } => None,
    }
}

/// Where two lines meet when they are lengthened.
fn meet(a: &Edge, b: &Edge) -> Option<Vector> {
    let (u, v) = (a.tangent(0.0), b.tangent(0.0));
    let turn = cross(u, v);
    (turn != 0.0).then(|| a.start() + u * (cross(b.start() - a.start(), v) / turn))
}

/// The point of an outline that lies farthest in a direction.
pub(crate) fn extreme(profile: &Profile, direction: Vector) -> Option<Vector> {
    let along = direction_rad(direction);
    farthest(profile, |centre, radius| centre + plane::polar(radius, along), |p| p.dot(&direction))
}

/// The point of an outline that lies farthest from the origin.
pub(crate) fn tip(profile: &Profile) -> Option<Vector> {
    farthest(profile, |centre, radius| centre + centre.normalize() * radius, |p| p.norm())
}

/// Of all ends of edges, and of the points of arcs that `on_circle` names, the one with the largest `size`.
fn farthest(
    profile: &Profile,
    on_circle: impl Fn(Vector, f64) -> Vector,
    size: impl Fn(Vector) -> f64,
) -> Option<Vector> {
    let mut points: Vec<Vector> = Vec::new();
    for edge in &profile.edges {
        points.extend([edge.start(), edge.end()]);
        if let Edge::Arc { centre, radius, from_rad, sweep_rad, .. } = *edge {
            let point = on_circle(centre, radius);
            let turned_rad = (direction_rad(point - centre) - from_rad) * sweep_rad.signum();
            if turned_rad.rem_euclid(TAU) <= sweep_rad.abs() {
                points.push(point);
            }
        }
    }
    points.into_iter().max_by(|a, b| size(*a).total_cmp(&size(*b)))
}

/// A tooth of the wheel, its corners as before rounding; in the wheel's frame.
pub(crate) struct Tooth {
    pub toe: Vector,
    pub heel: Vector,
    /// Unit directions from toe and heel toward the rim, along the front and the back of the heel.
    pub front: Vector,
    pub back: Vector,
    /// Where the straight back of the heel ends.
    pub back_end: Vector,
    /// Centre of the toothing and radius of the rim.
    pub centre: Vector,
    pub root_m: f64,
    /// Outline, for its corners.
    pub outline: Profile,
}

impl Tooth {
    pub fn of(wheel: &Wheel, tooth: u16) -> Option<Tooth> {
        let (body, turn_rad) = wheel.tooth(tooth);
        let outline = body.profile.posed(&Pose::new(turn_rad, Vector::zeros()));
        let face = |face| edge(&outline, face).copied();
        let (front, impulse, back) = (face(Face::ToothFront)?, face(Face::ToothImpulse)?, face(Face::HeelBack)?);
        let (centre, root_m) = circle(&face(Face::Root)?)?;
        Some(Tooth {
            toe: meet(&front, &impulse)?,
            heel: meet(&impulse, &back)?,
            front: -front.tangent(0.0),
            back: back.tangent(0.0),
            back_end: back.end(),
            centre,
            root_m,
            outline,
        })
    }

    /// Distance of the toe from the centre of the toothing.
    pub fn toe_m(&self) -> f64 {
        (self.toe - self.centre).norm()
    }
}

/// The first tooth that was not altered by itself, or tooth 0 where every one was.
pub(crate) fn plain_tooth(build: &Build) -> u16 {
    let altered =
        |n: u16| build.movement.values().teeth().iter().any(|(id, v)| id.at == movement::At::Tooth(n) && *v != 0.0);
    (0..build.parts.wheel.tooth_count).find(|n| !altered(*n)).unwrap_or(0)
}

/// How a sharp corner between two faces was finished.
pub(crate) enum Finished {
    /// Radius of its rounding.
    Round(f64),
    /// Length taken off each face.
    Chamfer(f64),
}

/// The finish of the corner at `corner` whose edge is labelled `face`; `None` where it is sharp.
pub(crate) fn finish(outline: &Profile, face: Face, corner: Vector) -> Option<Finished> {
    match edge(outline, face)? {
        Edge::Arc { radius, .. } => Some(Finished::Round(*radius)),
        Edge::Line { start, .. } => Some(Finished::Chamfer((start - corner).norm())),
    }
}

/// Rise of a domed face over its chord between two points of its circle; 0 where it is flat.
pub(crate) fn dome_m(outline: &Profile, face: Face, from: Vector, to: Vector) -> f64 {
    let Some((_, radius)) = edge(outline, face).and_then(circle) else { return 0.0 };
    radius - (radius * radius - 0.25 * (to - from).norm_squared()).max(0.0).sqrt()
}

/// Middle line and width of the lever's bar, in the lever's frame.
pub(crate) struct Bar {
    /// A point of one side, and the point of the other side across it.
    pub sides: [Vector; 2],
}

impl Bar {
    /// At the part `at_ratio` of its length from the pallets.
    pub fn of(fork: &Profile, at_ratio: f64) -> Option<Bar> {
        let mut sides = fork.edges.iter().filter(|e| Face::from(e.label()) == Face::BarSide);
        let (one, other) = (sides.next()?, sides.next()?);
        let from = one.at(at_ratio);
        let across = quarter(one.tangent(0.0));
        Some(Bar { sides: [from, from + across * (other.start() - from).dot(&across)] })
    }

    pub fn width_m(&self) -> f64 {
        (self.sides[1] - self.sides[0]).norm()
    }
}

/// Where the jewel is measured from the balance centre, in the roller's frame, and whether that is its centre.
pub(crate) struct JewelPlace {
    pub at: Vector,
    pub is_centre: bool,
}

/// The centre of a round or half-moon jewel and of an oval one; the middle of the outer flat of a triangular one.
pub(crate) fn jewel_place(jewel: &Profile) -> Option<JewelPlace> {
    let round: Vec<(Vector, f64)> =
        jewel.edges.iter().filter(|e| Face::from(e.label()) == Face::JewelRound).filter_map(circle).collect();
    if !round.is_empty() {
        // An oval's arcs lie in pairs about its centre.
        let at = round.iter().map(|(c, _)| *c).sum::<Vector>() / round.len() as f64;
        return Some(JewelPlace { at, is_centre: true });
    }
    let middles = jewel.edges.iter().filter(|e| Face::from(e.label()) == Face::JewelFlat).map(|e| e.at(0.5));
    let at = middles.max_by(|a, b| a.norm().total_cmp(&b.norm()))?;
    Some(JewelPlace { at, is_centre: false })
}

/// Where the middle of the fork lies with the lever on a banking, in the drawing's frame.
pub(crate) struct BankedFork {
    /// Unit direction from the pallet centre.
    pub direction: Vector,
    /// Square to the line to the balance centre, toward this banking.
    pub outward: Vector,
    /// The angle from that line.
    pub angle: Measure,
    /// Negative where the fork lies beyond that line.
    pub sense: Sense,
}

impl BankedFork {
    /// `None` where the lever meets no banking; the rays of the angle are `reach_m` long.
    pub fn of(parts: &Parts, pallet: Pallet, reach_m: f64) -> Option<BankedFork> {
        let centre = parts.centres.pallet_m;
        let line = (parts.centres.balance_m - centre).normalize();
        let direction = parts.lever_pose(banked_rad(parts, pallet)?).direction(parts.lever.fork_axis);
        let outward = quarter(line) * -pallet.outward();
        let angle = Measure::Angle { vertex: centre, a: centre + line * reach_m, b: centre + direction * reach_m };
        Some(BankedFork { direction, outward, angle, sense: Sense::negative_if(direction.dot(&outward) < 0.0) })
    }
}

/// Lever angle at which bar or fork meets the banking of `pallet`; `None` within a quarter turn.
fn banked_rad(parts: &Parts, pallet: Pallet) -> Option<f64> {
    let mut lever = Vec::new();
    parts.lever.fork.pose_into(&parts.lever_pose(0.0), &mut lever);
    // The lever turns toward the entry banking anticlockwise.
    let sense = -pallet.outward();
    let mut first: Option<f64> = None;
    touches(&lever, parts.centres.pallet_m, &parts.bankings[pallet].features, |t| {
        let closing = t.opening * sense < 0.0 && t.angle_rad.abs() < FRAC_PI_2;
        if closing && first.is_none_or(|a| t.angle_rad * sense < a * sense) {
            first = Some(t.angle_rad);
        }
    });
    first
}
