//! Two features of two bodies, and how far they are from one another: the gap with its first and second derivatives.
//!
//! The lower letters are those of docs/theory/motion.md: the gap g is a function of the angles of both bodies, `w` its
//! derivatives, `t` the arms of the slip, `n` the normal out of the second body, `u` the normal turned a quarter.

use parts::Face;
use plane::{Feature, Flat, Round, Shape, Vector, cross, quarter};

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
    pub(crate) cos: [f64; 4],
    pub(crate) sin: [f64; 4],
}

/// A pair of features that can touch. `a` is the body of the round, `b` that of the flat or of the other round.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pair {
    pub(crate) meeting: Meeting,
    /// Number by which it is known among all pairs of a scene.
    pub(crate) id: u32,
    pub(crate) a: usize,
    pub(crate) b: usize,
    /// Axis of `a` less axis of `b`.
    between: Vector,
    shape: Facing,
    /// Largest distance from its axis of what the pair is of, of either body.
    pub(crate) reach_m: [f64; 2],
    /// A turn of the bodies against one another moves the two features by so much at least, m/rad.
    turn_m: f64,
    /// Face of the first body of the meeting, and of the second.
    pub(crate) faces: [Face; 2],
}

#[derive(Clone, Copy, Debug)]
enum Facing {
    RoundFlat(Round, Flat),
    /// The second may be hollow.
    RoundRound(Round, Round),
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
    /// So far the features have to move, at least, before they can touch: out of one another too.
    pub(crate) clear_m: f64,
}

impl Pair {
    /// The pair of a feature of the meeting's first body with one of its second; `None` where the two never touch.
    pub(crate) fn new(meeting: Meeting, axes: [Vector; 2], first: &Feature, second: &Feature) -> Option<Pair> {
        let (one, two) = meeting.bodies();
        let faces = [Face::from(first.label), Face::from(second.label)];
        let reach = [first.reach(Vector::zeros()).1, second.reach(Vector::zeros()).1];
        let pair = |swapped: bool, shape: Facing| Pair {
            meeting,
            id: 0,
            a: if swapped { two } else { one },
            b: if swapped { one } else { two },
            between: if swapped { axes[1] - axes[0] } else { axes[0] - axes[1] },
            shape,
            reach_m: if swapped { [reach[1], reach[0]] } else { reach },
            turn_m: if two == PLATE { reach[0] } else { reach[0].min(reach[1]) },
            faces,
        };
        match (&first.shape, &second.shape) {
            (Shape::Round(r), Shape::Flat(f)) if r.radius >= 0.0 => Some(pair(false, Facing::RoundFlat(*r, *f))),
            (Shape::Flat(f), Shape::Round(r)) if r.radius >= 0.0 => Some(pair(true, Facing::RoundFlat(*r, *f))),
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

    /// Whether one of its features is hollow.
    pub(crate) fn hollow(&self) -> bool {
        matches!(&self.shape, Facing::RoundRound(_, other) if other.radius < 0.0)
    }

    /// Whether both of its features are rounds.
    pub(crate) fn of_rounds(&self) -> bool {
        matches!(&self.shape, Facing::RoundRound(..))
    }

    /// Where it stands when `a` is turned by (`cos`, `sin`) of `turns`, an additional turn `extra` given to the wheel.
    #[inline]
    pub(crate) fn gap(&self, turns: &Turns, extra: (f64, f64)) -> Gap {
        let (mut ca, mut sa) = (turns.cos[self.a], turns.sin[self.a]);
        let (mut cb, mut sb) = (turns.cos[self.b], turns.sin[self.b]);
        let (ce, se) = extra;
        if self.a == WHEEL {
            (ca, sa) = (ca * ce - sa * se, sa * ce + ca * se);
        } else if self.b == WHEEL {
            (cb, sb) = (cb * ce - sb * se, sb * ce + cb * se);
        }
        // All as seen from b: its own turn taken back.
        let (c, s) = (ca * cb + sa * sb, sa * cb - ca * sb);
        let turned = |v: Vector| Vector::new(c * v.x - s * v.y, s * v.x + c * v.y);
        let back = |v: Vector| Vector::new(c * v.x + s * v.y, c * v.y - s * v.x);
        let apart = Vector::new(cb * self.between.x + sb * self.between.y, cb * self.between.y - sb * self.between.x);
        match &self.shape {
            Facing::RoundFlat(round, flat) => {
                let arm = turned(round.centre);
                let place = apart + arm;
                let (u, n) = (flat.along, flat.normal());
                let from = place - flat.start;
                let gap_m = n.dot(&from) - round.radius;
                let foot = u.dot(&from);
                let from_a = arm - n * round.radius;
                let beyond = (-foot).max(foot - flat.length);
                let cone = inside_cone(round, back(-n));
                Gap {
                    gap_m,
                    w: [n.dot(&quarter(arm)), -n.dot(&quarter(place))],
                    t: [u.dot(&quarter(from_a)), -u.dot(&quarter(place - n * round.radius))],
                    second: [-n.dot(&arm), n.dot(&arm), -n.dot(&place)],
                    inside_m: (-beyond).min(cone * round.radius.max(flat.length)),
                    // Normals that face away have to be turned round first.
                    clear_m: gap_m.abs().max(beyond).max(-cone * self.turn_m),
                }
            }
            Facing::RoundRound(round, other) => {
                let (arm, arm_b) = (turned(round.centre), other.centre);
                let place = apart + arm;
                let d = place - arm_b;
                let rho = d.norm().max(f64::MIN_POSITIVE);
                let sense = if other.radius < 0.0 { -1.0 } else { 1.0 };
                let n = d * (sense / rho);
                let u = quarter(n);
                let from_a = arm - n * round.radius;
                let (ka, kb) = (quarter(arm), quarter(arm_b));
                let curve = sense / rho;
                let (pa, pb) = (n.dot(&ka), n.dot(&kb));
                let gap_m = sense * rho - (round.radius + other.radius);
                let size = round.radius.max(other.radius.abs());
                let seen = back(-n);
                let (cone_a, cone_b) = (inside_cone(round, seen), inside_cone(other, n));
                // The centre of each has to come to an arc about the other's.
                let reach = (round.radius + other.radius).abs();
                let mut clear_m = gap_m.abs();
                if cone_a < 0.0 {
                    clear_m = clear_m.max(to_ends(round, seen, rho, reach));
                }
                if cone_b < 0.0 {
                    clear_m = clear_m.max(to_ends(other, n, rho, reach));
                }
                Gap {
                    gap_m,
                    w: [pa, -pb],
                    t: [u.dot(&quarter(from_a)), -u.dot(&quarter(from_a + apart))],
                    second: [
                        curve * (arm.norm_squared() - pa * pa) - n.dot(&arm),
                        -curve * (ka.dot(&kb) - pa * pb),
                        curve * (arm_b.norm_squared() - pb * pb) + n.dot(&arm_b),
                    ],
                    inside_m: cone_a.min(cone_b) * size,
                    clear_m,
                }
            }
        }
    }
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
