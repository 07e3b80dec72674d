//! Where one body, turned about a fixed centre, touches another that stands still.
//!
//! Both are features with outward normals. A touch is where the surfaces meet with opposite normals and, just there,
//! without overlap: a round on a flat, a flat on a round, or a round on a round. All three are closed forms: the
//! centre of the moving round runs on a circle about the axis, and has to reach a line or another circle.
//! The first touch met when turning from a free position is therefore found exactly, with no search and no step.

use crate::feature::{Feature, Flat, Round, SLACK_RATIO, Shape};
use crate::vector::{Vector, cross, quarter};

/// One touch of a turned body with a standing one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Touch {
    /// Angle by which the moving body is turned, anticlockwise, in (−π, π].
    pub angle_rad: f64,
    /// Where they touch.
    pub point: Vector,
    /// Unit normal there, out of the standing body.
    pub normal: Vector,
    /// Rate at which the gap opens per radian of anticlockwise turning: `(axis → point)` turned a quarter, along the
    /// normal. Negative: turning anticlockwise drives them together. Its size is the moving body's arm.
    pub opening: f64,
    /// Index of the moving body's feature.
    pub moving: usize,
    /// Index of the standing body's feature.
    pub standing: usize,
}

/// Every touch of the features `moving`, turned about `axis`, with the features `standing`, in no order.
///
/// # Properties
/// Scale: lengths times s leave the angles alone. Mirror: angles change sign. Both are asserted in `tests/`.
///
/// # Accuracy
/// Angles to a few ulp of the larger body's reach over the arm; against dense polygons in `tests/touches.rs`.
pub fn touches(moving: &[Feature], axis: Vector, standing: &[Feature], mut found: impl FnMut(Touch)) {
    // Distances of the moving features from the axis do not change: taken once, on the stack.
    let mut reaches = [(0.0, f64::INFINITY); MOST_KEPT];
    for (reach, feature) in reaches.iter_mut().zip(moving) {
        *reach = feature.reach(axis);
    }
    for (standing_at, fixed) in standing.iter().enumerate() {
        let (fixed_near, fixed_far) = fixed.reach(axis);
        for (moving_at, turned) in moving.iter().enumerate() {
            let (near, far) = reaches.get(moving_at).copied().unwrap_or((0.0, f64::INFINITY));
            // Only circles about the axis that both bodies reach can hold a touch; one part in 10⁹ more than enough.
            if near > fixed_far * (1.0 + 1e-9) || fixed_near > far * (1.0 + 1e-9) {
                continue;
            }
            touches_of_pair::<true>(turned, axis, fixed, |mut touch| {
                touch.moving = moving_at;
                touch.standing = standing_at;
                found(touch);
            });
        }
    }
}

/// Features whose reach is kept; further ones are always tried. Twice what the largest part has.
const MOST_KEPT: usize = 64;

/// Every touch of one feature turned about `axis` with one standing feature; at most two. The indices are left 0.
/// With `BOUNDED` false the features are taken as whole lines and circles, to follow a contact up to and over its end.
#[inline]
pub fn touches_of_pair<const BOUNDED: bool>(
    moving: &Feature,
    axis: Vector,
    standing: &Feature,
    found: impl FnMut(Touch),
) {
    match (&moving.shape, &standing.shape) {
        (Shape::Round(round), Shape::Flat(flat)) => round_on_flat::<BOUNDED>(round, axis, flat, found),
        (Shape::Flat(flat), Shape::Round(round)) => flat_on_round::<BOUNDED>(flat, axis, round, found),
        (Shape::Round(a), Shape::Round(b)) => round_on_round::<BOUNDED>(a, axis, b, found),
        // Two flats touch along a line only where a corner of one does.
        (Shape::Flat(_), Shape::Flat(_)) => {}
    }
}

/// A turn given by where it takes one vector; angles are only computed for touches that hold.
struct Turn {
    cos: f64,
    sin: f64,
}

impl Turn {
    #[inline]
    fn taking(from: Vector, to: Vector) -> Turn {
        let square = from.norm_squared();
        Turn { cos: from.dot(&to) / square, sin: cross(from, to) / square }
    }
    #[inline]
    fn forth(&self, v: Vector) -> Vector {
        Vector::new(self.cos * v.x - self.sin * v.y, self.sin * v.x + self.cos * v.y)
    }
    #[inline]
    fn back(&self, v: Vector) -> Vector {
        Vector::new(self.cos * v.x + self.sin * v.y, self.cos * v.y - self.sin * v.x)
    }
    fn angle_rad(&self) -> f64 {
        self.sin.atan2(self.cos)
    }
}

#[inline]
fn touch(turn: &Turn, axis: Vector, point: Vector, normal: Vector) -> Touch {
    Touch {
        angle_rad: turn.angle_rad(),
        point,
        normal,
        opening: quarter(point - axis).dot(&normal),
        moving: 0,
        standing: 0,
    }
}

#[inline]
fn on_flat(flat: &Flat, point: Vector) -> bool {
    let part = (point - flat.start).dot(&flat.along);
    let slack = SLACK_RATIO * flat.length;
    part >= -slack && part <= flat.length + slack
}

/// A contact that is followed may be asked for where it turns, at the very tangent. Rounding, a few ulp of the squared
/// arm, then puts it just beyond, or just short, where its root would make a hundred million times as much of it:
/// within this ratio of the squared arm it is the tangent. Beyond it, a thousandfold more is still taken for rounding.
const TANGENT_RATIO: f64 = 4e-15;

/// The two places on the circle of radius |`arm`| about the axis at height `height` along `normal`.
#[inline]
fn at_height<const BOUNDED: bool>(arm: Vector, normal: Vector, height: f64) -> Option<[Vector; 2]> {
    let arm_square = arm.norm_squared();
    let mut square = arm_square - height * height;
    let near = TANGENT_RATIO * arm_square;
    if !BOUNDED && square < near && square > -1000.0 * near {
        square = 0.0;
    }
    if square < 0.0 || square.is_nan() {
        return None;
    }
    let side = quarter(normal) * square.sqrt();
    let up = normal * height;
    Some([up + side, up - side])
}

#[inline]
fn round_on_flat<const BOUNDED: bool>(round: &Round, axis: Vector, flat: &Flat, mut found: impl FnMut(Touch)) {
    if round.radius < 0.0 {
        return; // a hollow touches a straight face only with its corners
    }
    let normal = flat.normal();
    let arm = round.centre - axis;
    let height = round.radius + normal.dot(&(flat.start - axis));
    let Some(places) = at_height::<BOUNDED>(arm, normal, height) else { return };
    for place in places {
        let point = axis + place - normal * round.radius;
        if BOUNDED && !on_flat(flat, point) {
            continue;
        }
        let turn = Turn::taking(arm, place);
        if !BOUNDED || round.has_normal(turn.back(-normal)) {
            found(touch(&turn, axis, point, normal));
        }
    }
}

#[inline]
fn flat_on_round<const BOUNDED: bool>(flat: &Flat, axis: Vector, round: &Round, mut found: impl FnMut(Touch)) {
    if round.radius < 0.0 {
        return;
    }
    // Seen from the moving body, the standing round turns the other way about the axis.
    let normal = flat.normal();
    let arm = round.centre - axis;
    let height = round.radius + normal.dot(&(flat.start - axis));
    let Some(places) = at_height::<BOUNDED>(arm, normal, height) else { return };
    for place in places {
        let point = axis + place - normal * round.radius;
        if BOUNDED && !on_flat(flat, point) {
            continue;
        }
        let turn = Turn::taking(place, arm);
        let outward = -turn.forth(normal);
        if !BOUNDED || round.has_normal(outward) {
            found(touch(&turn, axis, round.centre + outward * round.radius, outward));
        }
    }
}

#[inline]
fn round_on_round<const BOUNDED: bool>(moving: &Round, axis: Vector, standing: &Round, mut found: impl FnMut(Touch)) {
    let reach = moving.radius + standing.radius;
    let hollow = moving.radius < 0.0 || standing.radius < 0.0;
    // Two corners touch only where two other touches meet; a hollow takes only what is smaller than itself.
    if reach == 0.0 || (hollow && reach > 0.0) || (moving.radius < 0.0 && standing.radius < 0.0) {
        return;
    }
    let (from, to) = (moving.centre - axis, standing.centre - axis);
    let (from_length, to_length) = (from.norm(), to.norm());
    if to_length == 0.0 || from_length == 0.0 {
        return; // concentric with the axis: the gap does not change with the turn
    }
    // |place − to| = |reach| with |place| = |from|. By factors, so that small rounds lose nothing in a difference of squares.
    let (size, farther, sum) = (reach.abs(), to_length - from_length, to_length + from_length);
    let mut short = size - farther;
    if !BOUNDED && short.abs() < TANGENT_RATIO * sum {
        short = 0.0; // the very tangent, as in `at_height`
    }
    let below = short * (size + farther) / (2.0 * to_length);
    let above = (sum - size) * (sum + size) / (2.0 * to_length);
    let mut square = below * above;
    if !BOUNDED && square < 0.0 && square > -TANGENT_RATIO * from_length * size {
        square = 0.0;
    }
    if square < 0.0 || square.is_nan() {
        return;
    }
    let out = to / to_length;
    let (up, side) = (out * (from_length - below), quarter(out) * square.sqrt());
    let places = [up + side, up - side];
    for place in places {
        let turn = Turn::taking(from, place);
        // Out of the standing body, at the touch.
        let normal = (place - to) / reach;
        if !BOUNDED || (standing.has_normal(normal) && moving.has_normal(turn.back(-normal))) {
            found(touch(&turn, axis, standing.centre + normal * standing.radius, normal));
        }
    }
}
