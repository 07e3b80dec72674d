//! The pairs that can meet: of the teeth near both stones, of the jewel, of the guard, of the bankings.

use crate::cells::{MOST_PAIRS, Span, Way};
use crate::pair::{LEVER, Pair};
use crate::scene::{COURSES, Scene, TEETH_WATCHED};

/// Pairs of the same two bodies, of one tooth where one of them is the wheel; no more than `MOST_PAIRS`.
#[derive(Clone, Debug)]
struct Group {
    course: usize,
    tooth: i32,
    /// Which of the parts of its list.
    part: usize,
    /// Place of the first.
    from: usize,
    /// Pairs that are as they are on the wheel, by bits.
    made: u64,
    /// The body that is not the lever, and what is added to its angle.
    other: usize,
    ahead_rad: f64,
    /// A box of the angles, and the only pairs that can touch there.
    known: Span,
    near: u64,
}

/// All pairs watched. A place is that of the same pair until the list is renewed.
#[derive(Clone, Debug)]
pub(crate) struct Watch<'a> {
    scene: &'a Scene,
    groups: Vec<Group>,
    pairs: Vec<Pair>,
    near: [i32; 2],
}

impl<'a> Watch<'a> {
    pub(crate) fn new(scene: &'a Scene, wheel_rad: f64) -> Watch<'a> {
        let near = scene.near(wheel_rad);
        let mut watch = Watch { scene, groups: Vec::new(), pairs: Vec::new(), near };
        for (stone, first) in near.into_iter().enumerate() {
            for slot in 0..TEETH_WATCHED {
                let tooth = first + (slot - first).rem_euclid(TEETH_WATCHED);
                watch.add(stone, tooth);
            }
        }
        for course in 2..COURSES {
            watch.add(course, 0);
        }
        watch
    }

    /// Adds the groups of a course, of a tooth where it is of teeth, with room for any.
    fn add(&mut self, course: usize, tooth: i32) {
        for (part, pairs) in self.scene.longest(course).chunks(MOST_PAIRS).enumerate() {
            let made = if course < 2 { 0 } else { u64::MAX };
            self.groups.push(Group {
                course,
                tooth,
                part,
                from: self.pairs.len(),
                made,
                other: self.scene.other(course),
                ahead_rad: self.scene.ahead_rad(course, tooth),
                known: Span::NONE,
                near: 0,
            });
            self.pairs.extend(pairs);
        }
    }

    /// The pair at a place.
    #[inline]
    pub(crate) fn pair(&self, at: usize) -> &Pair {
        &self.pairs[at]
    }

    /// The course of the pair at a place.
    pub(crate) fn course(&self, at: usize) -> usize {
        self.groups.iter().rfind(|group| group.from <= at).map_or(0, |group| group.course)
    }

    /// Watches the teeth near the stones at a wheel angle.
    pub(crate) fn renew(&mut self, wheel_rad: f64) {
        let near = self.scene.near(wheel_rad);
        if near == self.near {
            return;
        }
        self.near = near;
        for group in self.groups.iter_mut().filter(|group| group.course < 2) {
            let first = near[group.course];
            let tooth = first + (group.tooth - first).rem_euclid(TEETH_WATCHED);
            if group.tooth != tooth {
                (group.tooth, group.made, group.known) = (tooth, 0, Span::NONE);
                group.ahead_rad = self.scene.ahead_rad(group.course, tooth);
            }
        }
    }

    /// Places of the pairs that may touch while the bodies turn between angles, those of wheel, lever, balance and plate, on
    /// a way that departs from the straight one by no more than others.
    #[inline]
    pub(crate) fn close(&mut self, from: &[f64; 4], to: &[f64; 4], bow_rad: &[f64; 4], out: &mut Vec<usize>) {
        out.clear();
        for group in &mut self.groups {
            let (x, y, ahead_rad) = (group.other, LEVER, group.ahead_rad);
            let way = Way {
                from_rad: [from[x] + ahead_rad, from[y]],
                to_rad: [to[x] + ahead_rad, to[y]],
                bow_rad: [bow_rad[x], bow_rad[y]],
            };
            if !group.known.holds(&way.span()) {
                let list = self.scene.list(group.course, group.tooth);
                (group.near, group.known) = self.scene.near_pairs(group.course, list, group.part, &way);
            }
            let near = group.near;
            let mut new = near & !group.made;
            if new != 0 {
                let list = &self.scene.pairs(group.course, group.tooth)[group.part * MOST_PAIRS..];
                let turn = self.scene.turn_of_tooth(group.tooth);
                group.made |= new;
                while new != 0 {
                    let own = new.trailing_zeros() as usize;
                    self.pairs[group.from + own] = list[own].turned(turn);
                    new &= new - 1;
                }
            }
            let mut left = near;
            while left != 0 {
                out.push(group.from + left.trailing_zeros() as usize);
                left &= left - 1;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where a gap is seen to close, the pair is among those that are close.
    #[test]
    fn what_touches_is_close() {
        let text = include_str!("../../../examples/handbook-1904-equidistant.toml");
        let values = movement::read("handbook-1904-equidistant.toml", text).statement.values;
        let parts = parts::build(&values).expect("sound").parts;
        let scene = Scene::new(&parts, [Some(-0.09), Some(0.09)]);
        let mut state = 1_u64;
        let mut any = |most: f64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            most * ((state >> 11) as f64 / (1_u64 << 52) as f64 - 1.0)
        };
        let mut looked = [0; COURSES];
        for _ in 0..3000 {
            let (from, to) = ([any(3.0), any(0.1), any(3.0)], [any(0.3), any(0.1), any(0.6)]);
            let to = [from[0] + to[0], to[1], from[2] + to[2]];
            let at = |x: f64| [0, 1, 2].map(|k| from[k] + x * (to[k] - from[k]));
            let mut watch = Watch::new(&scene, from[0]);
            let mut close = Vec::new();
            for group in watch.groups.clone() {
                for own in 0..scene.pairs(group.course, group.tooth).len() {
                    let turned = scene.pairs(group.course, group.tooth)[own];
                    let pair = if group.course < 2 { turned.turned(scene.turn_of_tooth(group.tooth)) } else { turned };
                    let gap = |x: f64| pair.gap(&scene.turns(&at(x)));
                    let steps = [0.0, 0.25, 0.5, 0.75, 1.0];
                    for pass in steps.windows(2).filter(|pass| gap(pass[0]).gap_m * gap(pass[1]).gap_m < 0.0) {
                        let (mut low, mut high) = (pass[0], pass[1]);
                        while high - low > 1e-15 {
                            let middle = 0.5 * (low + high);
                            if gap(middle).gap_m * gap(low).gap_m > 0.0 {
                                low = middle
                            } else {
                                high = middle
                            }
                            if middle == 0.5 * (low + high) {
                                break;
                            }
                        }
                        let q = at(low);
                        if gap(low).inside_m < 0.0 || q[LEVER].abs() > 0.12 {
                            continue;
                        }
                        looked[group.course] += 1;
                        let here = [q[0], q[1], q[2], 0.0];
                        watch.close(&here, &here, &[0.0; 4], &mut close);
                        assert!(close.contains(&(group.from + own)), "{:?} {:?} at {q:?}", pair.meeting, pair.faces);
                    }
                }
            }
        }
        assert!(looked.iter().all(|&n| n > 100), "{looked:?}");
    }
}
