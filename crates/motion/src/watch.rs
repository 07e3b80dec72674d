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

/// The small body of a group as it is seen from the other.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Seen {
    /// Its middle.
    pub(crate) middle_m: Vector,
    /// Its turn against the other.
    pub(crate) turn_rad: f64,
}

/// What is known of a pair.
#[derive(Clone, Copy, Debug)]
struct Known {
    /// It does not touch until the way along its course is so long.
    until_m: f64,
    /// How what keeps it apart changes, and from where.
    slope: Slope,
    from: Seen,
}

/// Nothing: it may touch anywhere.
const UNKNOWN: Known = Known {
    until_m: f64::NEG_INFINITY,
    slope: Slope::NONE,
    from: Seen { middle_m: Vector::new(0.0, 0.0), turn_rad: 0.0 },
};

/// Pairs of the same two bodies, of one tooth where one of them is the wheel.
#[derive(Clone, Debug)]
struct Group<'a> {
    /// As they are on the wheel.
    pairs: Cow<'a, [Pair]>,
    known: Vec<Known>,
    tooth: i32,
    course: usize,
    /// Middle of a circle, in the other body, outside of which the small one meets nothing.
    middle_m: Vector,
    radius_m: f64,
    /// Place of the first.
    from: usize,
    /// The least of what is known of its pairs, or of all of them together.
    until_m: f64,
}

/// All pairs watched. A place is that of the same pair until the list is renewed.
#[derive(Clone, Debug)]
pub(crate) struct Watch<'a> {
    scene: &'a Scene,
    groups: Vec<Group<'a>>,
    /// The group of each place.
    group: Vec<u8>,
    near: [i32; 2],
    /// Where the bodies were when the ways were last added up, and the ways until then.
    seen: [Seen; COURSES],
    way_m: [f64; COURSES],
    /// Where they were to come to be when they were last searched.
    pub(crate) ahead: [Seen; COURSES],
}

impl<'a> Watch<'a> {
    pub(crate) fn new(scene: &'a Scene, turns: &Turns) -> Watch<'a> {
        let near = scene.near(turns.at_rad[0]);
        let seen = scene.seen(turns);
        let mut watch =
            Watch { scene, groups: Vec::new(), group: Vec::new(), near, seen, way_m: [0.0; COURSES], ahead: seen };
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
        let from = self.group.len();
        self.group.resize(from + room, self.groups.len() as u8);
        self.groups.push(grouped(self.scene, course, tooth, from));
    }

    /// The group of a place, and which of its pairs is there.
    #[inline]
    fn of(&self, at: usize) -> (usize, usize) {
        let group = usize::from(self.group[at]);
        (group, at - self.groups[group].from)
    }

    /// The pair at a place.
    #[inline]
    pub(crate) fn pair(&self, at: usize) -> &Pair {
        let (group, own) = self.of(at);
        &self.groups[group].pairs[own]
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
        self.ahead = self.scene.seen(turns);
        let (mut bows_m, mut aheads_m) = ([0.0; COURSES], [0.0; COURSES]);
        for (course, seen) in self.ahead.iter().enumerate() {
            bows_m[course] = self.scene.bow_m(course, seen, bow_rad);
            aheads_m[course] = self.way_from_m(course, seen) + 2.0 * bows_m[course];
        }
        for group in &mut self.groups {
            let course = group.course;
            let (base_m, ahead_m, bow_m) = (self.way_m[course], aheads_m[course], bows_m[course]);
            let way_m = base_m + ahead_m;
            if way_m < group.until_m {
                continue;
            }
            let ends = [&self.ahead[course], &self.seen[course]];
            let off_m = (ends[0].middle_m - group.middle_m).norm() - group.radius_m - NEAR_M;
            if off_m > ahead_m {
                // To come back to where the bodies are it may move as far as it went.
                group.until_m = base_m + off_m - ahead_m;
                continue;
            }
            let arm_m = self.scene.arm_m(course);
            let mut least_m = f64::INFINITY;
            for (own, known) in group.known.iter_mut().enumerate() {
                if known.until_m <= way_m {
                    // What is off at both ends by more than the way is bowed is off all the way.
                    let end_m = known.off_m(ends[0], arm_m);
                    if end_m > NEAR_M + bow_m && known.off_m(ends[1], arm_m) > NEAR_M + bow_m {
                        known.until_m = base_m + group.pairs[own].way_m(end_m) - NEAR_M - ahead_m;
                    } else {
                        out.push(group.from + own);
                    }
                }
                least_m = least_m.min(known.until_m);
            }
            group.until_m = least_m;
        }
    }

    /// Keeps a pair as one that may touch.
    pub(crate) fn keep(&mut self, at: usize) {
        let (group, own) = self.of(at);
        let group = &mut self.groups[group];
        (group.known[own].until_m, group.until_m) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
    }

    /// Keeps what was found of a pair where the bodies may come to be.
    #[inline]
    pub(crate) fn learn(&mut self, at: usize, seen: &[Seen; COURSES], gap: &Gap, slope: Slope) {
        let (group, own) = self.of(at);
        let course = self.groups[group].course;
        let until_m = self.way_m[course] + gap.clear_m - NEAR_M - self.way_from_m(course, &seen[course]);
        let group = &mut self.groups[group];
        group.known[own] = Known { until_m, slope, from: seen[course] };
        group.until_m = group.until_m.min(until_m);
    }

    /// The way of a pair's bodies to where they were to come to be.
    #[inline]
    pub(crate) fn way_ahead_m(&self, at: usize) -> f64 {
        let course = self.groups[self.of(at).0].course;
        self.way_from_m(course, &self.ahead[course])
    }
}

impl Known {
    /// The least by which it can be off when the small body is seen there.
    #[inline(always)]
    fn off_m(&self, to: &Seen, arm_m: f64) -> f64 {
        self.slope.least_m(to.middle_m - self.from.middle_m, to.turn_rad - self.from.turn_rad, arm_m)
    }
}

fn grouped<'a>(scene: &'a Scene, course: usize, tooth: i32, from: usize) -> Group<'a> {
    let (middle_m, radius_m) = scene.around(course, tooth);
    let pairs = scene.pairs(course, tooth);
    let turn = if course < 2 { scene.turn_of_tooth(tooth) } else { (1.0, 0.0) };
    let (c, s) = turn;
    Group {
        known: vec![UNKNOWN; pairs.len()],
        pairs: if course < 2 { pairs.iter().map(|p| p.turned(turn)).collect() } else { Cow::Borrowed(pairs) },
        tooth,
        course,
        middle_m: Vector::new(c * middle_m.x - s * middle_m.y, s * middle_m.x + c * middle_m.y),
        radius_m,
        from,
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
                        let ((then, slope), (now, _)) = (pair.clearance(&from), pair.clearance(&to));
                        let (a, b) = (&seen_from[course], &seen_to[course]);
                        let by: Vector = b.middle_m - a.middle_m;
                        let way_m = way_between_m(a, b, scene.arm_m(course));
                        let touches = now.gap_m < TOUCH_M && apart_m(now.gap_m) == 0.0 && now.inside_m >= 0.0;
                        let least_m = slope.least_m(by, b.turn_rad - a.turn_rad, scene.arm_m(course));
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
