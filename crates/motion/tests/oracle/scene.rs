//! Which sides of which bodies can meet, and where they overlap.

use super::touch::{Place, Side, circle_about, may_touch, sides, touch};
use movement::Pallet;
use parts::Parts;
use plane::{Profile, Vector};

pub const WHEEL: usize = 0;
pub const LEVER: usize = 1;
pub const BALANCE: usize = 2;
pub const PLATE: usize = 3;

/// Contacts are sought among the pairs that were nearer than this when the bodies were last looked at, m: a thousand
/// steps of 1e-8 s at the speed of a drop.
const NEAR_M: f64 = 2e-6;
/// Two bodies turn by no more than this against one another before they are looked at again, rad/m: the distance at the
/// shortest reach there is, 1e-3 m, of both.
const TURN_RAD_PER_M: f64 = 2e3;
/// Sides deeper in one another than this stand on two sides of a thin body, m. A fast blow on the softest spring goes
/// 3e-6 deep; the thinnest body is a horn of 9e-5.
const DEEP_M: f64 = 20e-6;
/// A corner's fence counts no farther from it than this, m: chosen, twice as far as sides may be deep.
const FENCED_M: f64 = 2.0 * DEEP_M;
/// Contacts of two bodies nearer to one another than this are one, m: of two corners' sides, the one that is least deep.
const ONE_PLACE_M: f64 = 5e-6;

/// What touches what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Tooth(Pallet),
    Jewel,
    Guard,
    Banking(Pallet),
}

impl Kind {
    pub const ALL: [Kind; 6] = [
        Kind::Tooth(Pallet::Entry),
        Kind::Tooth(Pallet::Exit),
        Kind::Jewel,
        Kind::Guard,
        Kind::Banking(Pallet::Entry),
        Kind::Banking(Pallet::Exit),
    ];

    fn bodies(self) -> [usize; 2] {
        match self {
            Kind::Tooth(_) => [WHEEL, LEVER],
            Kind::Jewel => [BALANCE, LEVER],
            Kind::Guard => [LEVER, BALANCE],
            Kind::Banking(_) => [LEVER, PLATE],
        }
    }
}

/// Two bodies that can meet, each with its sides and a circle about it.
struct Couple {
    kind: usize,
    bodies: [usize; 2],
    sides: [Vec<Side>; 2],
    circles: [(Vector, f64); 2],
}

struct Near {
    id: usize,
    kind: usize,
    bodies: [usize; 2],
    sides: [Side; 2],
}

/// Where two bodies overlap: the depth, the normal out of the second, the point. `kind` counts in `Kind::ALL`.
#[derive(Clone, Copy, Debug)]
pub struct Overlap {
    /// Number of the pair of sides.
    pub id: usize,
    pub kind: usize,
    pub bodies: [usize; 2],
    pub depth_m: f64,
    pub normal: Vector,
    pub point: Vector,
}

/// Everything that can touch.
pub struct Scene {
    pub axes: [Vector; 4],
    offsets_rad: [f64; 3],
    couples: Vec<Couple>,
    /// Largest distance of any side from its body's axis.
    pub reach_m: [f64; 3],
    near_m: f64,
    near: Vec<Near>,
    sought_at: [f64; 3],
}

impl Scene {
    pub fn new(parts: &Parts) -> Scene {
        Scene::near(parts, NEAR_M)
    }

    /// Looks anew when the bodies have moved by `near_m`.
    pub fn near(parts: &Parts, near_m: f64) -> Scene {
        let mut couples = Vec::new();
        let mut couple = |kind: Kind, first: (&Profile, f64), second: &Profile| {
            couples.push(Couple {
                kind: Kind::ALL.iter().position(|k| *k == kind).unwrap(),
                bodies: kind.bodies(),
                sides: [sides(first.0, first.1), sides(second, 0.0)],
                circles: [circle_about(first.0, first.1), circle_about(second, 0.0)],
            });
        };
        let lever = &parts.lever;
        for j in 0..parts.wheel.tooth_count {
            let (tooth, turn) = parts.wheel.tooth(j);
            for p in Pallet::BOTH {
                couple(Kind::Tooth(p), (&tooth.profile, turn), &lever.stones[p].body.profile);
            }
        }
        let fork = &lever.fork.profile;
        couple(Kind::Jewel, (&parts.roller.jewel.profile, 0.0), fork);
        couple(Kind::Guard, (&lever.guard.profile, 0.0), &parts.roller.safety.profile);
        for p in Pallet::BOTH {
            couple(Kind::Banking(p), (fork, 0.0), &parts.bankings[p].profile);
        }
        let mut reach_m = [0.0_f64; 4];
        for couple in &couples {
            for (body, sides) in couple.bodies.iter().zip(&couple.sides) {
                reach_m[*body] = sides.iter().map(|s| s.shape.reach()).fold(reach_m[*body], f64::max);
            }
        }
        let c = &parts.centres;
        Scene {
            axes: [c.wheel_m, c.pallet_m, c.balance_m, Vector::zeros()],
            offsets_rad: [0.0, 0.0, parts.roller.rest_rad + parts.line_rad],
            couples,
            reach_m: [reach_m[0], reach_m[1], reach_m[2]],
            near_m,
            near: Vec::new(),
            sought_at: [f64::MAX; 3],
        }
    }

    fn places(&self, q: &[f64; 3]) -> [Place; 4] {
        let place = |k: usize| {
            let (sin, cos) = (q[k] + self.offsets_rad[k]).sin_cos();
            Place { cos, sin, axis: self.axes[k] }
        };
        [place(0), place(1), place(2), Place { cos: 1.0, sin: 0.0, axis: self.axes[3] }]
    }

    /// Gathers the pairs of sides that are near.
    fn seek(&mut self, q: &[f64; 3]) {
        self.sought_at = *q;
        let places = self.places(q);
        self.near.clear();
        let mut ids = 0;
        for couple in &self.couples {
            let [a, b] = couple.bodies.map(|body| &places[body]);
            let [one, two] = couple.circles;
            let first_id = ids;
            ids += couple.sides[0].len() * couple.sides[1].len();
            if (a.point(one.0) - b.point(two.0)).norm() > one.1 + two.1 + self.near_m {
                continue;
            }
            let pairs = couple.sides[0].iter().flat_map(|f| couple.sides[1].iter().map(move |s| (f, s)));
            for (id, (first, second)) in (first_id..).zip(pairs) {
                if may_touch(&first.shape.placed(a), &second.shape.placed(b), self.near_m, TURN_RAD_PER_M * self.near_m)
                {
                    let sides = [*first, *second];
                    self.near.push(Near { id, kind: couple.kind, bodies: couple.bodies, sides });
                }
            }
        }
    }

    /// Every place where bodies overlap.
    #[inline]
    pub fn overlaps(&mut self, q: &[f64; 3], found: &mut Vec<Overlap>) {
        let moved: f64 = (0..3).map(|k| self.reach_m[k] * (q[k] - self.sought_at[k]).abs()).sum();
        if moved >= self.near_m {
            self.seek(q);
        }
        found.clear();
        let places = self.places(q);
        for near in &self.near {
            let [a, b] = near.bodies.map(|body| &places[body]);
            let [first, second] = &near.sides;
            let met = touch(&first.shape.placed(a), &second.shape.placed(b));
            let Some(t) = met.filter(|t| t.gap_m < 0.0 && t.gap_m > -DEEP_M) else { continue };
            // Of a round that goes far about its body, only what is near the corner.
            let outside = |side: &Side, place: &Place| {
                let beyond = |(at, n): &(Vector, Vector)| {
                    let from = t.point - place.point(*at);
                    place.direction(*n).dot(&from) > 0.0 && from.norm() < FENCED_M
                };
                side.fences.iter().flatten().any(beyond)
            };
            if outside(first, a) || outside(second, b) {
                continue;
            }
            let new = Overlap {
                id: near.id,
                kind: near.kind,
                bodies: near.bodies,
                depth_m: -t.gap_m,
                normal: t.normal,
                point: t.point,
            };
            let same = |o: &&mut Overlap| o.kind == new.kind && (o.point - new.point).norm() < ONE_PLACE_M;
            match found.iter_mut().find(same) {
                Some(old) if old.depth_m > new.depth_m => *old = new,
                Some(_) => {}
                None => found.push(new),
            }
        }
    }

    /// How far jewel and fork, guard and roller are from one another.
    pub fn balance_clear_m(&self, q: &[f64; 3]) -> f64 {
        self.clear_m(q, |c| c.bodies.contains(&BALANCE))
    }

    /// How far jewel and fork are from one another.
    pub fn jewel_clear_m(&self, q: &[f64; 3]) -> f64 {
        self.clear_m(q, |c| Kind::ALL[c.kind] == Kind::Jewel)
    }

    fn clear_m(&self, q: &[f64; 3], of: impl Fn(&Couple) -> bool) -> f64 {
        let places = self.places(q);
        let mut least = f64::MAX;
        for couple in self.couples.iter().filter(|c| of(c)) {
            let [a, b] = couple.bodies.map(|body| &places[body]);
            for first in &couple.sides[0] {
                let placed = first.shape.placed(a);
                for second in &couple.sides[1] {
                    // Deeper than it can be, they face one another across a thin body.
                    let met = touch(&placed, &second.shape.placed(b)).filter(|t| t.gap_m > -DEEP_M);
                    least = met.map_or(least, |t| least.min(t.gap_m));
                }
            }
        }
        least
    }
}
