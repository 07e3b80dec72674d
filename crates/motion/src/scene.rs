//! The drawn parts as pairs of features that can meet, each kept with how far it is from doing so.

use movement::Pallet;
use parts::{Body, Centres, Parts};
use plane::{Feature, Pose, Vector, direction_rad, touches};

use crate::pair::{BALANCE, LEVER, Meeting, Pair, Turns, WHEEL};
use crate::watch::Watched;

/// Steps of the lever over its travel at which the reach of its features is taken.
const LEVER_SAMPLES: usize = 8;
/// Lever angle kept beyond the bankings, and to either side where it meets none: chosen, the first so small that few pairs
/// more are watched, the second so large that no stone is then near a tooth.
const BEYOND_RAD: f64 = 0.03;
const WITHOUT_BANKINGS_RAD: f64 = 0.6;
/// Teeth near a stone that are watched: the one that arrives, the one that leaves, and one more.
const TEETH_WATCHED: usize = 3;

/// Everything about the parts that does not change while they move.
#[derive(Clone, Debug)]
pub(crate) struct Scene {
    /// Pairs of one tooth with the entry stone, the exit stone; of unlike teeth one list after the other.
    teeth: [Vec<Vec<Pair>>; 2],
    /// Pairs of everything else.
    others: Vec<Pair>,
    pub(crate) tooth_count: i32,
    pub(crate) pitch_rad: f64,
    /// Turn of each tooth on the wheel, cosine and sine.
    tooth_turns: Vec<(f64, f64)>,
    /// Direction of each stone from the wheel's axis, less that of tooth 0 at wheel angle 0.
    stones_rad: [f64; 2],
    line: (f64, f64),
    /// Lever angles within which pairs were looked for.
    pub(crate) travel_rad: [f64; 2],
    alike: bool,
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
        let meet = |meeting: Meeting, first: &Body, second: &Body| {
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
            out
        };
        let wheel = &parts.wheel;
        let stone = |p: Pallet| &parts.lever.stones[p].body;
        let of_teeth = |m: Meeting, p: Pallet| wheel.teeth.iter().map(|tooth| meet(m, tooth, stone(p))).collect();
        let (jewel, fork) = (&parts.roller.jewel, &parts.lever.fork);
        let mut others = meet(Meeting::JewelFork, jewel, fork);
        others.extend(meet(Meeting::GuardRoller, &parts.lever.guard, &parts.roller.safety));
        others.extend(meet(Meeting::BankingEntry, fork, &parts.bankings[Pallet::Entry]));
        others.extend(meet(Meeting::BankingExit, fork, &parts.bankings[Pallet::Exit]));
        let turns = (0..wheel.tooth_count).map(|j| wheel.tooth(j).1.sin_cos()).map(|(s, c)| (c, s));
        let stone_rad = |p: Pallet| {
            let corner = parts.lever_pose(0.0).point(parts.lever.stones[p].locking_corner_m);
            direction_rad(corner - centres.wheel_m) - std::f64::consts::FRAC_PI_2
        };
        let mut teeth: [Vec<Vec<Pair>>; 2] =
            [of_teeth(Meeting::ToothEntry, Pallet::Entry), of_teeth(Meeting::ToothExit, Pallet::Exit)];
        let all = teeth.iter_mut().flatten().flatten().chain(&mut others);
        for (id, pair) in all.enumerate() {
            pair.id = id as u32;
        }
        Scene {
            teeth,
            others,
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

    /// Cosines and sines of the bodies' angles.
    #[inline]
    pub(crate) fn turns(&self, q: &[f64; 3]) -> Turns {
        let ((sw, cw), (sl, cl), (sb, cb)) = (q[WHEEL].sin_cos(), q[LEVER].sin_cos(), q[BALANCE].sin_cos());
        let (lc, ls) = self.line;
        Turns { cos: [cw, cl, cb * lc - sb * ls, 1.0], sin: [sw, sl, sb * lc + cb * ls, 0.0] }
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

    /// Every pair to watch, for the first teeth as `near` gives them.
    pub(crate) fn watch(&self, near: [i32; 2], out: &mut Vec<Watched>) {
        for (stone, first) in near.into_iter().enumerate() {
            for tooth in first..first + TEETH_WATCHED as i32 {
                let at = tooth.rem_euclid(self.tooth_count) as usize;
                let of = if self.alike { 0 } else { at };
                let extra = self.tooth_turns[at];
                out.extend(self.teeth[stone][of].iter().map(|&pair| Watched { pair, tooth, extra }));
            }
        }
        out.extend(self.others.iter().map(|&pair| Watched { pair, tooth: 0, extra: (1.0, 0.0) }));
    }
}

fn posed(body: &Body, pose: &Pose) -> Vec<Feature> {
    body.features.iter().map(|f| f.posed(pose)).collect()
}
