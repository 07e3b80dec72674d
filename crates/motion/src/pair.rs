//! Two features of two bodies, and how far they are from one another: the gap with its first and second derivatives.
//!
//! The lower letters are those of docs/theory/motion.md: the gap g is a function of the angles of both bodies, `w` its
//! derivatives, `t` the arms of the slip, `n` the normal out of the second body, `u` the normal turned a quarter.

use parts::Face;
use plane::{Feature, Flat, Round, Shape, Vector, cross, quarter};

use crate::settle::DEEP_M;

/// Place of a body's coordinate in every vector of three.
pub(crate) const WHEEL: usize = 0;
pub(crate) const LEVER: usize = 1;
pub(crate) const BALANCE: usize = 2;
/// The plate has no coordinate.
pub(crate) const PLATE: usize = 3;

/// What touches what.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Meeting {
    /// A tooth and the entry stone.
    ToothEntry,
    /// A tooth and the exit stone.
    ToothExit,
    /// The impulse jewel and the fork.
    JewelFork,
    /// The guard and the safety roller.
    GuardRoller,
    /// The lever and the banking on which it rests while the entry pallet is locked.
    BankingEntry,
    /// The lever and the other banking.
    BankingExit,
}

impl Meeting {
    /// Every meeting, in the order in which ties are broken.
    pub const ALL: [Meeting; 6] = [
        Meeting::ToothEntry,
        Meeting::ToothExit,
        Meeting::JewelFork,
        Meeting::GuardRoller,
        Meeting::BankingEntry,
        Meeting::BankingExit,
    ];

    /// Coordinates of the two bodies; the plate's is 3.
    pub(crate) fn bodies(self) -> (usize, usize) {
        match self {
            Meeting::ToothEntry | Meeting::ToothExit => (WHEEL, LEVER),
            Meeting::JewelFork => (BALANCE, LEVER),
            Meeting::GuardRoller => (LEVER, BALANCE),
            Meeting::BankingEntry | Meeting::BankingExit => (LEVER, PLATE),
        }
    }

    /// Whether it is of a tooth and a stone.
    pub fn of_tooth(self) -> bool {
        matches!(self, Meeting::ToothEntry | Meeting::ToothExit)
    }

    /// Whether it is of the lever and a banking.
    pub fn of_banking(self) -> bool {
        matches!(self, Meeting::BankingEntry | Meeting::BankingExit)
    }
}

/// Cosine and sine of every body's angle.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Turns {
    /// Angles of wheel, lever and balance; the plate's is 0.
    pub(crate) at_rad: [f64; 4],
    pub(crate) cos: [f64; 4],
    pub(crate) sin: [f64; 4],
}

/// Turns up to this are made of others by a series, rad: chosen, the first term left out of it is then below 1e-17.
const LITTLE_RAD: f64 = 0.1;
/// Terms of sine and cosine from the second on.
const SIN: [f64; 4] = [-1.0 / 6.0, 1.0 / 120.0, -1.0 / 5040.0, 1.0 / 362_880.0];
const COS: [f64; 4] = [-0.5, 1.0 / 24.0, -1.0 / 720.0, 1.0 / 40_320.0];

impl Turns {
    /// The turns at angles near these; `None` where they are not near.
    #[inline]
    pub(crate) fn near(&self, q: &[f64; 3]) -> Option<Turns> {
        let at_rad = [q[0], q[1], q[2], 0.0];
        let (mut cos, mut sin) = ([1.0; 4], [0.0; 4]);
        let mut near = true;
        for k in [0, 1, 2] {
            let x = q[k] - self.at_rad[k];
            let y = x * x;
            // What is not a number is not near.
            near &= y < LITTLE_RAD * LITTLE_RAD;
            let s = x + x * y * (SIN[0] + y * (SIN[1] + y * (SIN[2] + y * SIN[3])));
            let c = 1.0 + y * (COS[0] + y * (COS[1] + y * (COS[2] + y * COS[3])));
            cos[k] = self.cos[k] * c - self.sin[k] * s;
            sin[k] = self.sin[k] * c + self.cos[k] * s;
        }
        near.then_some(Turns { at_rad, cos, sin })
    }
}

/// A pair of features that can touch. `a` is the body of the round, `b` that of the flat or of the other round.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pair {
    pub(crate) meeting: Meeting,
    pub(crate) a: usize,
    pub(crate) b: usize,
    /// Axis of `a` less axis of `b`.
    between: Vector,
    shape: Facing,
    /// A turn of one body against the other counts as a way of this arm, m/rad, and what is farther off than half of it
    /// is known otherwise: see `carried`.
    arm_m: f64,
    /// Ways of the round's centre and of what the flat or the other round carries, as parts of the way of `arm_m`.
    round_ratio: f64,
    other_ratio: f64,
    /// Whether `a` carries the small body.
    small_is_a: bool,
    /// Face of the first body of the meeting, and of the second.
    pub(crate) faces: [Face; 2],
}

#[derive(Clone, Copy, Debug)]
enum Facing {
    RoundFlat(Round, Level),
    /// The second may be hollow.
    RoundRound(Round, Round),
}

/// A flat by its normal and by how far along and across it lies from its body's axis.
#[derive(Clone, Copy, Debug)]
struct Level {
    normal: Vector,
    /// Along the normal, and of its start across it.
    out_m: f64,
    start_m: f64,
    length_m: f64,
}

impl Level {
    fn of(flat: &Flat) -> Level {
        let normal = flat.normal();
        Level { normal, out_m: normal.dot(&flat.start), start_m: flat.along.dot(&flat.start), length_m: flat.length }
    }
}

/// Where a pair stands.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Gap {
    /// Distance; negative where the features overlap.
    pub(crate) gap_m: f64,
    /// Derivatives by the angles of `a` and `b`.
    pub(crate) w: [f64; 2],
    /// Speed of `a`'s surface along `u` less that of `b`, per angular speed of each.
    pub(crate) t: [f64; 2],
    /// Second derivatives: aa, ab, bb.
    pub(crate) second: [f64; 3],
    /// Smallest of what has to be positive, in metres: how far inside its faces the contact lies.
    pub(crate) inside_m: f64,
}

impl Pair {
    /// The pair of a feature of the meeting's first body with one of its second; `None` where the two never touch.
    pub(crate) fn new(meeting: Meeting, axes: [Vector; 2], first: &Feature, second: &Feature) -> Option<Pair> {
        let (one, two) = meeting.bodies();
        let faces = [Face::from(first.label), Face::from(second.label)];
        let pair = |swapped: bool, shape: Facing| Pair {
            meeting,
            a: if swapped { two } else { one },
            b: if swapped { one } else { two },
            between: if swapped { axes[1] - axes[0] } else { axes[0] - axes[1] },
            shape,
            arm_m: 0.0,
            round_ratio: 0.0,
            other_ratio: 0.0,
            small_is_a: false,
            faces,
        };
        match (&first.shape, &second.shape) {
            (Shape::Round(r), Shape::Flat(f)) if r.radius >= 0.0 => {
                Some(pair(false, Facing::RoundFlat(*r, Level::of(f))))
            }
            (Shape::Flat(f), Shape::Round(r)) if r.radius >= 0.0 => {
                Some(pair(true, Facing::RoundFlat(*r, Level::of(f))))
            }
            (Shape::Round(r), Shape::Round(s)) => {
                let reach = r.radius + s.radius;
                let hollow = r.radius < 0.0 || s.radius < 0.0;
                // As in `plane`: two corners never touch, a hollow takes only what is smaller than itself.
                if reach == 0.0 || (hollow && reach > 0.0) || (r.radius < 0.0 && s.radius < 0.0) {
                    return None;
                }
                Some(if r.radius < 0.0 {
                    pair(true, Facing::RoundRound(*s, *r))
                } else {
                    pair(false, Facing::RoundRound(*r, *s))
                })
            }
            _ => None,
        }
    }

    /// Says how ways measure what keeps its features apart: which body carries the small one, where
    /// its middle is, and the arm of its turns.
    ///
    /// A point of the small body moves no farther than the way if it is within the arm of the middle. A point of the
    /// other, as seen from the small one, moves with the arm that is its own distance: that of a round's centre is its
    /// radius more than that of where the two meet.
    pub(crate) fn carried(&mut self, of: usize, middle_m: Vector, arm_m: f64) {
        self.arm_m = arm_m;
        self.small_is_a = self.a == of;
        let part = |own_m: f64| if own_m > arm_m { arm_m / own_m } else { 1.0 };
        let own = |round: &Round| (round.centre - middle_m).norm();
        match &self.shape {
            Facing::RoundFlat(round, _) => {
                self.round_ratio = part(if self.a == of { own(round) } else { arm_m + round.radius.abs() });
            }
            Facing::RoundRound(round, other) => {
                let (small, large) = if self.a == of { (round, other) } else { (other, round) };
                let (near, far) = (part(own(small)), part(arm_m + large.radius.abs()));
                (self.round_ratio, self.other_ratio) = if self.a == of { (near, far) } else { (far, near) };
            }
        }
    }

    /// The pair with the features of the wheel turned by a cosine and sine.
    pub(crate) fn turned(&self, (c, s): (f64, f64)) -> Pair {
        let turn = |v: Vector| Vector::new(c * v.x - s * v.y, s * v.x + c * v.y);
        let round = |r: &Round| Round { centre: turn(r.centre), from: turn(r.from), to: turn(r.to), ..*r };
        let flat = |f: &Level| Level { normal: turn(f.normal), ..*f };
        let (a, b) = (self.a == WHEEL, self.b == WHEEL);
        let shape = match &self.shape {
            Facing::RoundFlat(r, f) => Facing::RoundFlat(if a { round(r) } else { *r }, if b { flat(f) } else { *f }),
            Facing::RoundRound(r, o) => {
                Facing::RoundRound(if a { round(r) } else { *r }, if b { round(o) } else { *o })
            }
        };
        Pair { shape, ..*self }
    }

    /// The way, of its arm, in which a length between its features can be used up.
    #[inline]
    pub(crate) fn way_m(&self, length_m: f64) -> f64 {
        if self.small_is_a {
            self.round_ratio * length_m
        } else if matches!(self.shape, Facing::RoundRound(..)) {
            self.other_ratio * length_m
        } else {
            (self.round_ratio * length_m).min(0.5 * self.arm_m)
        }
    }

    /// Where it stands when the bodies are turned.
    #[inline]
    pub(crate) fn gap(&self, turns: &Turns) -> Gap {
        self.stand::<true, false>(turns).0
    }

    /// The same without `inside_m`.
    #[inline]
    pub(crate) fn touch(&self, turns: &Turns) -> Gap {
        self.stand::<false, false>(turns).0
    }

    /// So far the features have to move, at least, before they can touch, as the way of `carried`: out of one another too.
    pub(crate) fn clear_m(&self, turns: &Turns) -> f64 {
        self.stand::<true, true>(turns).1
    }

    /// Where the features touch, from the axis of `a`, and the normal out of `b`: both as drawn.
    pub(crate) fn contact(&self, turns: &Turns) -> (Vector, Vector) {
        let turned = |body: usize, v: Vector| {
            let (c, s) = (turns.cos[body], turns.sin[body]);
            Vector::new(c * v.x - s * v.y, s * v.x + c * v.y)
        };
        let (round, normal) = match &self.shape {
            Facing::RoundFlat(round, flat) => (round, turned(self.b, flat.normal)),
            Facing::RoundRound(round, other) => {
                let d = self.between + turned(self.a, round.centre) - turned(self.b, other.centre);
                let sense = if other.radius < 0.0 { -1.0 } else { 1.0 };
                (round, d * (sense / d.norm().max(f64::MIN_POSITIVE)))
            }
        };
        (turned(self.a, round.centre) - normal * round.radius, normal)
    }

    /// All in the drawing's frame: of a vector x only its parts along the normal n and across it, u, are needed, since
    /// n.x' is -u.x and u.x' is n.x.
    #[inline]
    fn stand<const INSIDE: bool, const CLEAR: bool>(&self, turns: &Turns) -> (Gap, f64) {
        let (ca, sa, cb, sb) =
            (turns.cos[self.a & 3], turns.sin[self.a & 3], turns.cos[self.b & 3], turns.sin[self.b & 3]);
        let turned = |v: Vector, c: f64, s: f64| Vector::new(c * v.x - s * v.y, s * v.x + c * v.y);
        let back = |v: Vector, c: f64, s: f64| Vector::new(c * v.x + s * v.y, c * v.y - s * v.x);
        match &self.shape {
            Facing::RoundFlat(round, flat) => {
                let arm = turned(round.centre, ca, sa);
                let n = turned(flat.normal, cb, sb);
                let u = quarter(n);
                let (arm_n, arm_u) = (n.dot(&arm), u.dot(&arm));
                let (place_n, place_u) = (arm_n + n.dot(&self.between), arm_u + u.dot(&self.between));
                let gap_m = place_n - flat.out_m - round.radius;
                let mut gap = Gap {
                    gap_m,
                    w: [-arm_u, place_u],
                    t: [arm_n - round.radius, round.radius - place_n],
                    second: [-arm_n, arm_n, -place_n],
                    inside_m: 0.0,
                };
                let mut clear_m = 0.0;
                if INSIDE {
                    let foot = place_u - flat.start_m;
                    let beyond = (-foot).max(foot - flat.length_m);
                    let cone = inside_cone(round, back(-n, ca, sa));
                    gap.inside_m = (-beyond).min(cone * round.radius.max(flat.length_m));
                    if CLEAR {
                        // Normals that face away have to be turned round first.
                        clear_m = self.way_m(apart_m(gap_m).max(beyond)).max(-cone * self.arm_m);
                    }
                }
                (gap, clear_m)
            }
            Facing::RoundRound(round, other) => {
                let (arm, arm_b) = (turned(round.centre, ca, sa), turned(other.centre, cb, sb));
                let d = self.between + arm - arm_b;
                let rho = d.norm().max(f64::MIN_POSITIVE);
                let sense = if other.radius < 0.0 { -1.0 } else { 1.0 };
                let curve = sense / rho;
                let n = d * curve;
                let u = quarter(n);
                let (arm_n, arm_u) = (n.dot(&arm), u.dot(&arm));
                let (other_n, other_u) = (n.dot(&arm_b), u.dot(&arm_b));
                let gap_m = sense * rho - (round.radius + other.radius);
                let mut gap = Gap {
                    gap_m,
                    w: [-arm_u, other_u],
                    t: [arm_n - round.radius, round.radius - sense * rho - other_n],
                    second: [
                        curve * arm_n * arm_n - arm_n,
                        -curve * arm_n * other_n,
                        curve * other_n * other_n + other_n,
                    ],
                    inside_m: 0.0,
                };
                let mut clear_m = 0.0;
                if INSIDE {
                    let (seen_a, seen_b) = (back(-n, ca, sa), back(n, cb, sb));
                    let (cone_a, cone_b) = (inside_cone(round, seen_a), inside_cone(other, seen_b));
                    gap.inside_m = cone_a.min(cone_b) * round.radius.max(other.radius.abs());
                    if CLEAR {
                        // The centre of each has to come to an arc about the other's.
                        let reach = (round.radius + other.radius).abs();
                        let far = |ratio: f64, way_m: f64| (ratio * way_m).min(0.5 * self.arm_m);
                        clear_m = self.way_m(apart_m(gap_m));
                        if cone_a < 0.0 {
                            let to_m = to_ends(round, seen_a, rho, reach);
                            clear_m = clear_m.max(if self.small_is_a {
                                far(self.other_ratio, to_m)
                            } else {
                                self.other_ratio * to_m
                            });
                        }
                        if cone_b < 0.0 {
                            let to_m = to_ends(other, seen_b, rho, reach);
                            clear_m = clear_m.max(if self.small_is_a {
                                self.round_ratio * to_m
                            } else {
                                far(self.round_ratio, to_m)
                            });
                        }
                    }
                }
                (gap, clear_m)
            }
        }
    }
}

/// How far a gap is from what counts as touching.
#[inline]
pub(crate) fn apart_m(gap_m: f64) -> f64 {
    if gap_m > 0.0 { gap_m } else { (-gap_m - DEEP_M).max(0.0) }
}

/// How far, in radians or nearly, a direction lies inside the normals of a round; negative outside.
#[inline]
fn inside_cone(round: &Round, normal: Vector) -> f64 {
    let after_from = cross(round.from, normal);
    let before_to = cross(normal, round.to);
    if round.wide {
        after_from.max(before_to)
    } else {
        let inside = after_from.min(before_to);
        // Opposite to all of them both are positive too.
        if inside > 0.0 && round.from.dot(&normal) + round.to.dot(&normal) <= 0.0 { -0.5 } else { inside }
    }
}

/// Distance from a place, `rho` off in the direction of a round's outward normal `normal`, to the nearer end of the arc
/// of radius `reach` about its centre.
#[inline]
fn to_ends(round: &Round, normal: Vector, rho: f64, reach: f64) -> f64 {
    let square = |end: Vector| (normal * rho - end * reach).norm_squared();
    square(round.from).min(square(round.to)).sqrt()
}
