//! The drawn parts as pairs of features that can meet, each kept with how far it is from doing so.

use movement::Pallet;
use parts::{Body, Centres, Parts};
use plane::{Feature, Pose, Shape, Vector, direction_rad, touches};
use std::f64::consts::TAU;

use crate::cells::{Cells, MOST_PAIRS, Span, Way};
use crate::pair::{BALANCE, LEVER, Meeting, PLATE, Pair, Turns, WHEEL};

/// Steps of the lever over its travel at which the reach of its features is taken.
const LEVER_SAMPLES: usize = 8;
/// Lever angle kept beyond the bankings, and to either side where it meets none: chosen, the first so small that few pairs
/// more are watched, the second so large that no stone is then near a tooth.
const BEYOND_RAD: f64 = 0.03;
const WITHOUT_BANKINGS_RAD: f64 = 0.6;
/// Teeth near a stone that are watched: the one that arrives, the one that leaves, and one more.
pub(crate) const TEETH_WATCHED: i32 = 3;

/// Courses: of both stones against the wheel, of the jewel and of the guard against lever and roller, of the lever against
/// both bankings.
pub(crate) const COURSES: usize = 6;

/// Size of a cell by the body's coordinate, rad; the plate's is one for all. Chosen: with smaller ones more are looked up,
/// with larger ones more pairs in them.
const CELL_RAD: [f64; 4] = [0.006, 0.006, 0.018, 1.0];
/// Teeth watched lie within these of a stone, in pitches and to be safe a little more.
const TEETH_BEHIND: f64 = 2.25;
const TEETH_AHEAD: f64 = 1.25;
/// Pairs are taken to touch so far apart, m: a hundred times what a contact at the end of a face moves while it is asked
/// whether it goes in.
const NEAR_M: f64 = 1e-9;

/// A small body and the one that it meets.
#[derive(Clone, Copy, Debug)]
struct Course {
    /// The body that carries it, and the other.
    of: usize,
    to: usize,
    /// Its middle, in the body that carries it, and the axis of this less that of the other.
    middle_m: Vector,
    between_m: Vector,
    /// A turn against the other moves no point of it farther than this, m/rad.
    arm_m: f64,
    /// A turn of the body that carries it moves no point of it farther than this, m/rad.
    out_m: f64,
}

/// Everything about the parts that does not change while they move.
#[derive(Clone, Debug)]
pub(crate) struct Scene {
    /// Pairs by course; those of the stones by tooth, where teeth are unlike.
    pairs: [Vec<Vec<Pair>>; COURSES],
    courses: [Course; COURSES],
    /// Of each list of pairs a circle, in the other body, outside of which the middle of the small one has nothing to meet.
    around: [Vec<(Vector, f64)>; COURSES],
    /// Of each list of pairs, by `MOST_PAIRS` of them, where they can touch.
    cells: [Vec<Vec<Cells>>; COURSES],
    pub(crate) tooth_count: i32,
    pub(crate) pitch_rad: f64,
    /// Turn of each tooth on the wheel, cosine and sine.
    tooth_turns: Vec<(f64, f64)>,
    /// Direction of each stone from the wheel's axis, less that of tooth 0 at wheel angle 0.
    stones_rad: [f64; 2],
    line: (f64, f64),
    /// Lever angles within which pairs were looked for.
    pub(crate) travel_rad: [f64; 2],
    pub(crate) alike: bool,
    /// Features of jewel and safety roller at jewel angle 0, of fork and guard at lever angle 0, in the drawing's frame.
    balance: [Vec<Feature>; 2],
    lever: [Vec<Feature>; 2],
    centres: Centres,
}

impl Scene {
    pub(crate) fn new(parts: &Parts, bankings_rad: [Option<f64>; 2]) -> Scene {
        let centres = &parts.centres;
        let axes = [centres.wheel_m, centres.pallet_m, centres.balance_m, Vector::zeros()];
        let travel_rad = match bankings_rad {
            [Some(a), Some(b)] => [a.min(b) - BEYOND_RAD, a.max(b) + BEYOND_RAD],
            _ => [-WITHOUT_BANKINGS_RAD, WITHOUT_BANKINGS_RAD],
        };
        let lever_at = |i: usize| {
            let part = i as f64 / (LEVER_SAMPLES - 1) as f64;
            parts.lever_pose(travel_rad[0] + part * (travel_rad[1] - travel_rad[0]))
        };
        // Features of the lever by the distances from an axis that they come to.
        let reach = |f: &Feature, axis: Vector| {
            let step = (travel_rad[1] - travel_rad[0]) / (LEVER_SAMPLES - 1) as f64;
            let slack = 0.5 * step * f.reach(Vector::zeros()).1;
            let all = (0..LEVER_SAMPLES).map(|i| f.posed(&lever_at(i)).reach(axis));
            let (low, high) = all.fold((f64::MAX, 0.0_f64), |(l, h), (a, b)| (l.min(a), h.max(b)));
            (low - slack, high + slack)
        };
        let meet = |meeting: Meeting, course: &Course, first: &Body, second: &Body| {
            let (a, b) = meeting.bodies();
            let mut out = Vec::new();
            for f in &first.features {
                for g in &second.features {
                    // Seen from the axis of the body that is not the lever, both come to a common distance.
                    let (lever, other) = if a == LEVER { (f, g) } else { (g, f) };
                    let place = match meeting {
                        Meeting::BankingEntry | Meeting::BankingExit => axes[LEVER],
                        _ => axes[if a == LEVER { b } else { a }],
                    };
                    let (own, its) = match meeting {
                        Meeting::BankingEntry | Meeting::BankingExit => {
                            (lever.reach(Vector::zeros()), other.reach(axes[LEVER]))
                        }
                        _ => (reach(lever, place), other.reach(Vector::zeros())),
                    };
                    if own.0 <= its.1 && its.0 <= own.1 {
                        out.extend(Pair::new(meeting, [axes[a], axes[b]], f, g));
                    }
                }
            }
            for pair in &mut out {
                pair.carried(course.of, course.middle_m, course.arm_m);
            }
            out
        };
        let (wheel, lever) = (&parts.wheel, &parts.lever);
        let (jewel, fork) = (&parts.roller.jewel, &lever.fork);
        let (safety, bankings) = (&parts.roller.safety, &parts.bankings);
        let course = |of: usize, to: usize, body: &Body| {
            let (middle_m, radius_m) = if to == PLATE { (Vector::zeros(), extent(body).1) } else { extent(body) };
            let far_m = if to == PLATE { reach_of(body) } else { radius_m };
            let arm_m = ARM_RATIO * far_m;
            Course { of, to, middle_m, between_m: axes[of] - axes[to], arm_m, out_m: middle_m.norm() + arm_m }
        };
        let courses = [
            course(LEVER, WHEEL, &lever.stones[Pallet::Entry].body),
            course(LEVER, WHEEL, &lever.stones[Pallet::Exit].body),
            course(BALANCE, LEVER, jewel),
            course(LEVER, BALANCE, &lever.guard),
            course(LEVER, PLATE, fork),
            course(LEVER, PLATE, fork),
        ];
        let of_teeth = |m: Meeting, p: Pallet, at: usize| {
            let c = &courses[at];
            wheel.teeth.iter().map(|tooth| meet(m, c, tooth, &lever.stones[p].body)).collect::<Vec<_>>()
        };
        let pairs = [
            of_teeth(Meeting::ToothEntry, Pallet::Entry, 0),
            of_teeth(Meeting::ToothExit, Pallet::Exit, 1),
            vec![meet(Meeting::JewelFork, &courses[2], jewel, fork)],
            vec![meet(Meeting::GuardRoller, &courses[3], &lever.guard, safety)],
            vec![meet(Meeting::BankingEntry, &courses[4], fork, &bankings[Pallet::Entry])],
            vec![meet(Meeting::BankingExit, &courses[5], fork, &bankings[Pallet::Exit])],
        ];
        let around = std::array::from_fn(|at| {
            let own_m = courses[at].arm_m / ARM_RATIO;
            let circle = |body: &Body| {
                let (middle_m, radius_m) = extent(body);
                (middle_m, radius_m + own_m)
            };
            match at {
                0 | 1 => wheel.teeth.iter().map(circle).collect(),
                2 => vec![circle(fork)],
                3 => vec![circle(safety)],
                // The lever is always within its bankings.
                _ => vec![(Vector::zeros(), f64::INFINITY)],
            }
        });
        let stone_rad = |p: Pallet| {
            let corner = parts.lever_pose(0.0).point(parts.lever.stones[p].locking_corner_m);
            direction_rad(corner - centres.wheel_m) - std::f64::consts::FRAC_PI_2
        };
        let cells = std::array::from_fn(|at| {
            let other = courses[at].other();
            let x_rad = match other {
                WHEEL => {
                    let [pitch_rad, stone_rad] = [wheel.pitch_rad(), stone_rad(Pallet::BOTH[at])];
                    [stone_rad - TEETH_BEHIND * pitch_rad, stone_rad + TEETH_AHEAD * pitch_rad]
                }
                BALANCE => [0.0, TAU],
                _ => [0.0, 1.0],
            };
            let about_rad = [CELL_RAD[other], CELL_RAD[LEVER]];
            let some = |_: &[Pair]| Cells::new([x_rad, travel_rad], about_rad, other == BALANCE);
            pairs[at].iter().map(|list: &Vec<Pair>| list.chunks(MOST_PAIRS).map(some).collect()).collect()
        });
        let turns = (0..wheel.tooth_count).map(|j| wheel.tooth(j).1.sin_cos()).map(|(s, c)| (c, s));
        Scene {
            pairs,
            courses,
            around,
            cells,
            tooth_count: i32::from(wheel.tooth_count),
            pitch_rad: wheel.pitch_rad(),
            tooth_turns: turns.collect(),
            stones_rad: Pallet::BOTH.map(stone_rad),
            line: (parts.line_rad.cos(), parts.line_rad.sin()),
            travel_rad,
            alike: wheel.alike(),
            balance: [&parts.roller.jewel, &parts.roller.safety].map(|b| posed(b, &parts.roller_pose(0.0))),
            lever: [fork, &parts.lever.guard].map(|b| posed(b, &parts.lever_pose(0.0))),
            centres: *centres,
        }
    }

    /// The axis of a body; the plate's is the drawing's origin.
    pub(crate) fn axis_m(&self, body: usize) -> Vector {
        let c = &self.centres;
        [c.wheel_m, c.pallet_m, c.balance_m, Vector::zeros()][body]
    }

    /// Cosines and sines of the bodies' angles. Not inlined: it would be worked out where `turns_from` does not need it.
    #[inline(never)]
    pub(crate) fn turns(&self, q: &[f64; 3]) -> Turns {
        let ((sw, cw), (sl, cl), (sb, cb)) = (q[WHEEL].sin_cos(), q[LEVER].sin_cos(), q[BALANCE].sin_cos());
        let (lc, ls) = self.line;
        Turns {
            at_rad: [q[0], q[1], q[2], 0.0],
            cos: [cw, cl, cb * lc - sb * ls, 1.0],
            sin: [sw, sl, sb * lc + cb * ls, 0.0],
        }
    }

    /// Cosines and sines of the bodies' angles, from those of angles that may be near.
    #[inline]
    pub(crate) fn turns_from(&self, turns: &Turns, q: &[f64; 3]) -> Turns {
        turns.near(q).unwrap_or_else(|| self.turns(q))
    }

    /// Number of the last tooth, counted on past every turn, that stands before a stone at a wheel angle.
    fn tooth_before(&self, stone: usize, wheel_rad: f64) -> i32 {
        ((self.stones_rad[stone] - wheel_rad) / self.pitch_rad).floor() as i32
    }

    /// The first teeth to watch at a wheel angle; a change means that the list is to be made anew.
    pub(crate) fn near(&self, wheel_rad: f64) -> [i32; 2] {
        [0, 1].map(|stone| self.tooth_before(stone, wheel_rad) - 1)
    }

    /// Jewel angles at which jewel or safety roller, turned with the balance, touch the lever standing at an angle; with
    /// each the rate at which the gap opens, m/rad.
    pub(crate) fn stops(&self, lever_rad: f64) -> Vec<(f64, f64)> {
        let pose = Pose::about(self.centres.pallet_m, lever_rad);
        let mut out = Vec::new();
        for (turned, held) in self.balance.iter().zip(&self.lever) {
            let held: Vec<Feature> = held.iter().map(|f| f.posed(&pose)).collect();
            touches(turned, self.centres.balance_m, &held, |t| out.push((t.angle_rad, t.opening)));
        }
        out
    }

    /// Which list of a course is of a tooth, counted on past every turn.
    pub(crate) fn list(&self, course: usize, tooth: i32) -> usize {
        if course < 2 && !self.alike { tooth.rem_euclid(self.tooth_count) as usize } else { 0 }
    }

    /// The pairs of a course, with a tooth where it is of teeth.
    pub(crate) fn pairs(&self, course: usize, tooth: i32) -> &[Pair] {
        &self.pairs[course][self.list(course, tooth)]
    }

    /// The longest list of a course's pairs.
    pub(crate) fn longest(&self, course: usize) -> &[Pair] {
        self.pairs[course].iter().max_by_key(|list| list.len()).map_or(&[], Vec::as_slice)
    }

    /// Turn of a tooth on the wheel, cosine and sine.
    pub(crate) fn turn_of_tooth(&self, tooth: i32) -> (f64, f64) {
        self.tooth_turns[tooth.rem_euclid(self.tooth_count) as usize]
    }

    /// The pairs of a course that can touch on a way, by bits of `MOST_PAIRS` pairs from a multiple of that on, and a box in
    /// which no others can. The way is that of the angles of the body that is not the lever, and of the lever.
    pub(crate) fn near_pairs(&self, course: usize, list: usize, part: usize, way: &Way) -> (u64, Span) {
        let Some(cells) = self.cells[course][list].get(part) else { return (0, way.span()) };
        cells.pairs(way, &|middle, half, of| self.near_within(course, list, part, middle, half, of))
    }

    /// The body of a course that is not the lever.
    pub(crate) fn other(&self, course: usize) -> usize {
        self.courses[course].other()
    }

    /// By how much the wheel would have to be turned if a tooth, counted on past every turn, stood where the first one does.
    pub(crate) fn ahead_rad(&self, course: usize, tooth: i32) -> f64 {
        if course < 2 { f64::from(tooth) * self.pitch_rad } else { 0.0 }
    }

    /// Those of some pairs that can touch within halves about a middle, by their distances there.
    fn near_within(
        &self,
        course: usize,
        list: usize,
        part: usize,
        [x_rad, lever_rad]: [f64; 2],
        half: [f64; 2],
        of: u64,
    ) -> u64 {
        let c = &self.courses[course];
        let (mut q, mut half_rad) = ([0.0; 4], [0.0; 4]);
        (q[c.other()], q[LEVER]) = (x_rad, lever_rad);
        [half_rad[c.other()], half_rad[LEVER]] = half;
        half_rad[PLATE] = 0.0;
        let turns = if course < 2 && !self.alike {
            // The features of an unlike tooth lie at its place on the wheel.
            self.turns(&[q[0] - self.pitch_rad * list as f64, q[1], q[2]])
        } else {
            self.turns(&[q[0], q[1], q[2]])
        };
        let middle_m = self.middle_m(course, &turns);
        let spread_m = c.out_m * half_rad[c.of] + (middle_m.norm() + c.arm_m) * half_rad[c.to] + NEAR_M;
        let (around_m, radius_m) = self.around[course][list];
        if (middle_m - around_m).norm() - radius_m > spread_m {
            return 0;
        }
        let pairs = self.pairs[course][list][part * MOST_PAIRS..].iter().take(MOST_PAIRS).enumerate();
        let near = pairs.filter(|(i, pair)| of & (1 << i) != 0 && pair.clear_m(&turns) <= spread_m);
        near.fold(0, |out, (i, _)| out | 1 << i)
    }

    /// The middle of the small body of a course as the other sees it.
    fn middle_m(&self, at: usize, turns: &Turns) -> Vector {
        let course = &self.courses[at];
        if course.to == PLATE {
            return Vector::zeros();
        }
        let (c, s) = (turns.cos[course.of], turns.sin[course.of]);
        let m = course.middle_m;
        let place = course.between_m + Vector::new(c * m.x - s * m.y, s * m.x + c * m.y);
        let (c, s) = (turns.cos[course.to], turns.sin[course.to]);
        Vector::new(c * place.x + s * place.y, c * place.y - s * place.x)
    }

    /// No point of the small body of a course moves farther, as the other sees it, when both turn by angles.
    pub(crate) fn moved_m(&self, course: usize, by_rad: &[f64; 4]) -> f64 {
        let c = &self.courses[course];
        c.out_m * by_rad[c.of] + (c.between_m.norm() + c.out_m) * by_rad[c.to]
    }
}

impl Course {
    /// The body that is not the lever.
    fn other(&self) -> usize {
        if self.of == LEVER { self.to } else { self.of }
    }
}

/// What is looked for lies within this times the extent of the small body of its middle: chosen, since what it may meet is
/// no farther off than it is large; see `Pair::carried`.
const ARM_RATIO: f64 = 2.0;

/// Middle and radius of a circle around a body's features.
fn extent(body: &Body) -> (Vector, f64) {
    let points: Vec<Vector> = body.features.iter().flat_map(ends).collect();
    let (mut low, mut high) = (Vector::repeat(f64::INFINITY), Vector::repeat(f64::NEG_INFINITY));
    for p in &points {
        (low, high) = (low.inf(p), high.sup(p));
    }
    let middle = if points.is_empty() { Vector::zeros() } else { (low + high) * 0.5 };
    // An arc bulges out of its ends by no more than its radius and half of what lies between them.
    let far = |f: &Feature| {
        let [a, b] = ends(f);
        let to_ends = (a - middle).norm().max((b - middle).norm());
        match f.shape {
            Shape::Round(r) if r.wide => to_ends + 2.0 * r.radius.abs(),
            Shape::Round(r) => to_ends + (0.5 * (b - a).norm()).min(r.radius.abs()),
            Shape::Flat(_) => to_ends,
        }
    };
    (middle, body.features.iter().map(far).fold(0.0, f64::max))
}

/// Largest distance of a body's features from its axis.
fn reach_of(body: &Body) -> f64 {
    body.features.iter().map(|f| f.reach(Vector::zeros()).1).fold(0.0, f64::max)
}

/// Where a feature begins and ends.
fn ends(feature: &Feature) -> [Vector; 2] {
    match feature.shape {
        Shape::Flat(f) => [f.start, f.start + f.along * f.length],
        Shape::Round(r) => [r.centre + r.from * r.radius.abs(), r.centre + r.to * r.radius.abs()],
    }
}

fn posed(body: &Body, pose: &Pose) -> Vec<Feature> {
    body.features.iter().map(|f| f.posed(pose)).collect()
}
