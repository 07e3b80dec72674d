//! The pairs that can meet soon, each with how far the bodies may still move against one another before it can.
//!
//! Of two bodies one is small where they meet: a stone, the jewel, the guard. No point of it moves farther, as seen from
//! the other, than its middle does and the turn of one against the other carries a point at its arm. These ways are added
//! up, and a pair that was found so far from touching is left alone until they have become as long.

use std::borrow::Cow;

use plane::Vector;

use crate::pair::{Gap, Pair, Slope, Turns};
use crate::runner::TOUCH_M;
use crate::scene::{COURSES, Scene, TEETH_WATCHED};

/// Features farther apart than this do not touch, m: twice what is called touching.
const NEAR_M: f64 = 2.0 * TOUCH_M;

/// Pairs are looked through for those that may touch soon after ways of this part of the arm: chosen.
const HOT_RATIO: f64 = 0.06;
/// More than this many that may touch soon are not kept as a list: chosen.
const MANY_HOT: usize = 16;

/// The small body of a group as it is seen from the other.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Seen {
    /// Its middle.
    pub(crate) middle_m: Vector,
    /// Its turn against the other.
    pub(crate) turn_rad: f64,
}

/// Pairs of the same two bodies, of one tooth where one of them is the wheel.
#[derive(Clone, Debug)]
struct Group<'a> {
    /// As they are on the wheel.
    pairs: Cow<'a, [Pair]>,
    tooth: i32,
    course: usize,
    /// Middle of a circle, in the other body, outside of which the small one meets nothing.
    middle_m: Vector,
    radius_m: f64,
    /// Place of the first.
    from: usize,
    /// Those that may touch before the way is `cold_m` long.
    hot: Vec<usize>,
    cold_m: f64,
    /// The least of what the pairs have in `Watch::until_m`.
    until_m: f64,
}

impl Group<'_> {
    /// Counts a pair among those that may touch soon, if it may.
    #[inline]
    fn warm(&mut self, at: usize, until_m: f64) {
        if until_m < self.cold_m && !self.hot.contains(&at) {
            self.hot.push(at);
        }
        self.until_m = self.until_m.min(until_m);
    }
}

/// All pairs watched. A place is that of the same pair until the list is renewed.
#[derive(Clone, Debug)]
pub(crate) struct Watch<'a> {
    scene: &'a Scene,
    groups: Vec<Group<'a>>,
    /// By place, as the lists that follow: the group it is in.
    group: Vec<u8>,
    /// How what keeps a pair apart changes, and from where.
    slopes: Vec<Option<(Slope, Seen)>>,
    /// A pair does not touch until the way along its course is so long.
    until_m: Vec<f64>,
    near: [i32; 2],
    /// Where the bodies were when the ways were last added up, and the ways until then.
    seen: [Seen; COURSES],
    way_m: [f64; COURSES],
    /// Of the way looked at last: by how much it is bowed, and how long it is.
    bow_m: [f64; COURSES],
    ahead_m: [f64; COURSES],
}

impl<'a> Watch<'a> {
    pub(crate) fn new(scene: &'a Scene, turns: &Turns) -> Watch<'a> {
        let near = scene.near(turns.at_rad[0]);
        let mut watch = Watch {
            scene,
            groups: Vec::new(),
            group: Vec::new(),
            slopes: Vec::new(),
            until_m: Vec::new(),
            near,
            seen: scene.seen(turns),
            way_m: [0.0; COURSES],
            bow_m: [0.0; COURSES],
            ahead_m: [0.0; COURSES],
        };
        for (stone, first) in near.into_iter().enumerate() {
            for slot in 0..TEETH_WATCHED {
                let tooth = first + (slot - first).rem_euclid(TEETH_WATCHED);
                watch.add(stone, tooth, scene.most_pairs(stone));
            }
        }
        for course in 2..COURSES {
            watch.add(course, 0, scene.pairs(course, 0).len());
        }
        watch
    }

    /// Adds the group of a course, of a tooth where it is of teeth, with room for so many pairs.
    fn add(&mut self, course: usize, tooth: i32, room: usize) {
        let from = self.until_m.len();
        self.group.resize(from + room, self.groups.len() as u8);
        self.until_m.resize(from + room, f64::NEG_INFINITY);
        self.slopes.resize(from + room, None);
        self.groups.push(grouped(self.scene, course, tooth, from));
    }

    /// The pair at a place.
    #[inline]
    pub(crate) fn pair(&self, at: usize) -> &Pair {
        let group = &self.groups[usize::from(self.group[at])];
        &group.pairs[at - group.from]
    }

    /// Watches the teeth near the stones at a wheel angle; what is known of the others is kept. `true` where there are
    /// new ones.
    pub(crate) fn renew(&mut self, wheel_rad: f64) -> bool {
        let near = self.scene.near(wheel_rad);
        if near == self.near {
            return false;
        }
        self.near = near;
        for (stone, first) in near.into_iter().enumerate() {
            for tooth in first..first + TEETH_WATCHED {
                let slot = stone as i32 * TEETH_WATCHED + tooth.rem_euclid(TEETH_WATCHED);
                let group = &mut self.groups[slot as usize];
                if group.tooth != tooth {
                    *group = grouped(self.scene, stone, tooth, group.from);
                    let places = group.from..group.from + group.pairs.len();
                    self.until_m[places.clone()].fill(f64::NEG_INFINITY);
                    self.slopes[places].fill(None);
                }
            }
        }
        true
    }

    /// Adds up the ways, now that the bodies are there.
    pub(crate) fn moved_to(&mut self, turns: &Turns) {
        let seen = self.scene.seen(turns);
        for (course, seen) in seen.iter().enumerate() {
            self.way_m[course] += self.way_from_m(course, seen);
        }
        self.seen = seen;
    }

    /// The way along a course from where the bodies were to where they are seen.
    #[inline]
    fn way_from_m(&self, course: usize, seen: &Seen) -> f64 {
        way_between_m(&self.seen[course], seen, self.scene.arm_m(course))
    }

    /// Places of the pairs that may touch on the way to where the bodies may come to be, a way that departs from the
    /// straight one by no more than angles. Of each the caller has to say what it found: `learn`, or `keep`.
    pub(crate) fn close(&mut self, turns: &Turns, bow_rad: &[f64; 4], out: &mut Vec<usize>) {
        out.clear();
        let seen = self.scene.seen(turns);
        for (course, seen) in seen.iter().enumerate() {
            let bow_m = self.scene.bow_m(course, seen, bow_rad);
            self.bow_m[course] = bow_m;
            self.ahead_m[course] = self.way_from_m(course, seen) + 2.0 * bow_m;
        }
        for group in &mut self.groups {
            let course = group.course;
            let ahead_m = self.ahead_m[course];
            let way_m = self.way_m[course] + ahead_m;
            if way_m < group.until_m {
                continue;
            }
            let off_m = (seen[course].middle_m - group.middle_m).norm() - group.radius_m - NEAR_M;
            if off_m > ahead_m {
                // To come back to where the bodies are it may move as far as it went.
                group.until_m = self.way_m[course] + off_m - ahead_m;
                continue;
            }
            if way_m >= group.cold_m {
                let soon_m = way_m + HOT_RATIO * self.scene.arm_m(course);
                group.hot.clear();
                let places = group.from..group.from + group.pairs.len();
                group.hot.extend(places.filter(|&at| self.until_m[at] < soon_m));
                // As long as little is known they are looked through again at once.
                group.cold_m = if group.hot.len() > MANY_HOT { way_m } else { soon_m };
            }
            let mut least_m = group.cold_m;
            for &at in &group.hot {
                let mut until_m = self.until_m[at];
                if until_m <= way_m {
                    let Some((slope, from)) = &self.slopes[at] else {
                        out.push(at);
                        continue;
                    };
                    let pair = &group.pairs[at - group.from];
                    let arm_m = self.scene.arm_m(course);
                    let off_m = |to: &Seen| {
                        let by = to.middle_m - from.middle_m;
                        slope.least_m(by, to.turn_rad - from.turn_rad, way_between_m(from, to, arm_m))
                    };
                    // What is off at both ends by more than the way is bowed is off all the way.
                    let (end_m, near_m) = (off_m(&seen[course]), NEAR_M + self.bow_m[course]);
                    if end_m <= near_m || (near_m > NEAR_M && off_m(&self.seen[course]) <= near_m) {
                        out.push(at);
                        continue;
                    }
                    let off_m = end_m;
                    until_m = self.way_m[course] + pair.way_m(off_m) - NEAR_M - ahead_m;
                    self.until_m[at] = until_m;
                }
                if until_m < least_m {
                    least_m = until_m;
                }
            }
            group.until_m = least_m;
        }
    }

    /// Keeps a pair as one that may touch.
    pub(crate) fn keep(&mut self, at: usize) {
        self.until_m[at] = f64::NEG_INFINITY;
        self.groups[usize::from(self.group[at])].warm(at, f64::NEG_INFINITY);
    }

    /// Keeps what was found of a pair where the bodies may come to be.
    #[inline]
    pub(crate) fn learn(&mut self, at: usize, seen: &[Seen; COURSES], gap: &Gap) {
        let group = usize::from(self.group[at]);
        let course = self.groups[group].course;
        let until_m = self.way_m[course] + gap.clear_m - NEAR_M - self.way_from_m(course, &seen[course]);
        self.until_m[at] = until_m;
        self.slopes[at] = gap.slope.map(|slope| (slope, seen[course]));
        self.groups[group].warm(at, until_m);
    }

    /// The way of a pair's bodies from one place to another.
    pub(crate) fn way_of_m(&self, at: usize, from: &[Seen; COURSES], to: &[Seen; COURSES]) -> f64 {
        let course = self.groups[usize::from(self.group[at])].course;
        way_between_m(&from[course], &to[course], self.scene.arm_m(course))
    }
}

fn grouped<'a>(scene: &'a Scene, course: usize, tooth: i32, from: usize) -> Group<'a> {
    let (middle_m, radius_m) = scene.around(course, tooth);
    let pairs = scene.pairs(course, tooth);
    let turn = if course < 2 { scene.turn_of_tooth(tooth) } else { (1.0, 0.0) };
    let (c, s) = turn;
    Group {
        pairs: if course < 2 { pairs.iter().map(|p| p.turned(turn)).collect() } else { Cow::Borrowed(pairs) },
        tooth,
        course,
        middle_m: Vector::new(c * middle_m.x - s * middle_m.y, s * middle_m.x + c * middle_m.y),
        radius_m,
        from,
        hot: Vec::new(),
        cold_m: f64::NEG_INFINITY,
        until_m: f64::NEG_INFINITY,
    }
}

/// No point of a body at an arm moves farther, as seen from the other. (The sum of both coordinates is no less than the
/// distance, and quicker to find.)
#[inline]
fn way_between_m(from: &Seen, to: &Seen, arm_m: f64) -> f64 {
    let by = to.middle_m - from.middle_m;
    by.x.abs() + by.y.abs() + arm_m * (to.turn_rad - from.turn_rad).abs()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::apart_m;
    use plane::Vector;

    /// What a slope promises is no more than what is found, for turns of all sizes.
    #[test]
    fn no_length_becomes_less_than_its_slope_says() {
        let text = include_str!("../../../examples/handbook-1904-equidistant.toml");
        let values = movement::read("handbook-1904-equidistant.toml", text).statement.values;
        let parts = parts::build(&values).expect("sound").parts;
        let scene = Scene::new(&parts, [Some(-0.09), Some(0.09)]);
        let mut state = 1_u64;
        let mut any = |most: f64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            most * ((state >> 11) as f64 / (1_u64 << 52) as f64 - 1.0)
        };
        let mut looked = 0;
        for _ in 0..3000 {
            let q = [any(0.2), any(0.1), any(0.6)];
            let from = scene.turns(&q);
            for size in [1e-4, 1e-2, 0.1] {
                let to = scene.turns(&[q[0] + any(size), q[1] + any(size), q[2] + any(size)]);
                let (seen_from, seen_to) = (scene.seen(&from), scene.seen(&to));
                for course in 0..COURSES {
                    for pair in scene.pairs(course, 0) {
                        let (then, now) = (pair.clearance(&from), pair.clearance(&to));
                        let (a, b) = (&seen_from[course], &seen_to[course]);
                        let by: Vector = b.middle_m - a.middle_m;
                        let way_m = way_between_m(a, b, scene.arm_m(course));
                        let touches = now.gap_m < TOUCH_M && apart_m(now.gap_m) == 0.0 && now.inside_m >= 0.0;
                        let least_m = then.slope.expect("known").least_m(by, b.turn_rad - a.turn_rad, way_m);
                        assert!(!touches || least_m <= NEAR_M, "{:?} {:?} {least_m:e}", pair.meeting, pair.faces);
                        assert!(
                            !touches || then.clear_m <= way_m + NEAR_M,
                            "{:?} {:?} {then:?}",
                            pair.meeting,
                            pair.faces
                        );
                        // Where it is the gap that keeps them apart, on the same side.
                        if then.gap_m > then.clear_m.max(1e-6) * 0.999 && now.gap_m > 0.0 && then.inside_m > 0.0 {
                            looked += 1;
                            assert!(
                                least_m <= now.gap_m + 1e-15,
                                "{:?} {:?} size {size}: {least_m:e} {:e} {then:?}",
                                pair.meeting,
                                pair.faces,
                                now.gap_m
                            );
                        }
                    }
                }
            }
        }
        assert!(looked > 10_000, "{looked}");
    }
}
