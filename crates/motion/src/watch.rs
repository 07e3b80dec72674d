//! The pairs that can meet soon, each with the angles within which it is known not to.

use std::ops::Range;

use crate::pair::{Gap, Pair, Turns};
use crate::row::Row;
use crate::runner::TOUCH_M;
use crate::scene::Scene;
use crate::settle::DEEP_M;

/// A pair that is watched.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Watched {
    pub(crate) pair: Pair,
    pub(crate) tooth: i32,
    /// Turn of the tooth on the wheel, cosine and sine.
    pub(crate) extra: (f64, f64),
}

impl Watched {
    #[inline]
    pub(crate) fn gap(&self, turns: &Turns) -> Gap {
        self.pair.gap(turns, self.extra)
    }

    #[inline]
    pub(crate) fn row(&self, gap: &Gap, v: &[f64; 4]) -> Row {
        Row::new(gap, self.pair.a, self.pair.b, v)
    }
}

/// How far two features are from touching, for all angles: `least_m` where it was looked at, from there on no less than
/// by `slope_m` of each angle, less `reach_m` and the square of the turns.
#[derive(Clone, Copy, Debug, Default)]
struct Known {
    at_rad: [f64; 3],
    least_m: f64,
    slope_m: [f64; 3],
    reach_m: [f64; 3],
    bend_m: f64,
}

impl Known {
    /// Whatever the angles, two features may touch of which nothing is known.
    const NOTHING: Known =
        Known { at_rad: [0.0; 3], least_m: f64::NEG_INFINITY, slope_m: [0.0; 3], reach_m: [0.0; 3], bend_m: 0.0 };

    #[inline]
    fn apart_m(&self, q: &[f64; 3]) -> f64 {
        let d = [q[0] - self.at_rad[0], q[1] - self.at_rad[1], q[2] - self.at_rad[2]];
        let size = [d[0].abs(), d[1].abs(), d[2].abs()];
        let all = size[0] + size[1] + size[2];
        self.least_m + self.slope_m[0] * d[0] + self.slope_m[1] * d[1] + self.slope_m[2] * d[2]
            - (self.reach_m[0] * size[0] + self.reach_m[1] * size[1] + self.reach_m[2] * size[2])
            - self.bend_m * all * all
    }
}

/// Features farther apart than this do not touch, m: twice what is called touching.
const NEAR_M: f64 = 2.0 * TOUCH_M;

/// Pairs of the same two bodies.
#[derive(Clone, Debug)]
struct Group {
    range: Range<usize>,
    reach_m: [f64; 3],
    known: Known,
}

/// All pairs watched. A pair is known by its place until the list is renewed.
#[derive(Clone, Debug, Default)]
pub(crate) struct Watch {
    pub(crate) pairs: Vec<Watched>,
    known: Vec<Known>,
    groups: Vec<Group>,
    near: [i32; 2],
}

impl Watch {
    pub(crate) fn new(scene: &Scene, wheel_rad: f64) -> Watch {
        let mut watch = Watch { near: scene.near(wheel_rad), ..Watch::default() };
        watch.fill(scene);
        watch
    }

    fn fill(&mut self, scene: &Scene) {
        self.pairs.clear();
        scene.watch(self.near, &mut self.pairs);
        self.known.clear();
        self.known.resize(self.pairs.len(), Known::NOTHING);
        self.groups.clear();
        let mut from = 0;
        for of_one in self.pairs.chunk_by(|a, b| a.pair.meeting == b.pair.meeting && a.tooth == b.tooth) {
            let mut reach_m = [0.0_f64; 3];
            for watched in of_one {
                for (most, reach) in reach_m.iter_mut().zip(reaches(&watched.pair)) {
                    *most = most.max(reach);
                }
            }
            self.groups.push(Group { range: from..from + of_one.len(), reach_m, known: Known::NOTHING });
            from += of_one.len();
        }
    }

    /// Watches the teeth near the stones at a wheel angle; what is known of the others is kept.
    pub(crate) fn renew(&mut self, scene: &Scene, wheel_rad: f64) {
        let near = scene.near(wheel_rad);
        if near == self.near {
            return;
        }
        let old = std::mem::take(self);
        self.near = near;
        self.fill(scene);
        for group in &mut self.groups {
            let first = &self.pairs[group.range.start];
            let is = |g: &&Group| {
                let it = &old.pairs[g.range.start];
                it.pair.id == first.pair.id && it.tooth == first.tooth
            };
            if let Some(kept) = old.groups.iter().find(is) {
                self.known[group.range.clone()].copy_from_slice(&old.known[kept.range.clone()]);
                group.known = kept.known;
            }
        }
    }

    /// Places of the pairs that may touch at angles.
    pub(crate) fn close(&mut self, q: &[f64; 3], out: &mut Vec<usize>) {
        out.clear();
        for group in &mut self.groups {
            if group.known.apart_m(q) > NEAR_M {
                continue;
            }
            let mut least_m = f64::INFINITY;
            for at in group.range.clone() {
                let apart_m = self.known[at].apart_m(q);
                least_m = least_m.min(apart_m);
                if apart_m <= NEAR_M {
                    out.push(at);
                }
            }
            group.known = Known { at_rad: *q, least_m, reach_m: group.reach_m, ..Known::NOTHING };
        }
    }

    /// Keeps what was found of a pair at angles.
    #[inline]
    pub(crate) fn learn(&mut self, at: usize, q: &[f64; 3], gap: &Gap) {
        let pair = &self.pairs[at].pair;
        let known = &mut self.known[at];
        *known = Known { at_rad: *q, least_m: gap.clear_m, reach_m: reaches(pair), ..Known::NOTHING };
        // What touches, its gap below nought by rounding, may be deep in one another after the next step: that is no distance.
        // How deep two rounds are shrinks by more than its slope says, and by the more the smaller they are.
        let apart = gap.gap_m > 0.0 || (gap.gap_m < -DEEP_M && !pair.of_rounds());
        if apart && gap.clear_m <= gap.gap_m.abs() && !pair.hollow() {
            // It is the gap that keeps them apart: of a round and a flat a plane and the bend of two turns, of two
            // rounds no less, since a distance from a point grows the faster the farther it is.
            let mut slope = [0.0; 4];
            (slope[pair.a], slope[pair.b]) = (gap.w[0], gap.w[1]);
            let sense = gap.gap_m.signum();
            known.slope_m = [sense * slope[0], sense * slope[1], sense * slope[2]];
            known.bend_m = pair.reach_m[0].max(pair.reach_m[1]);
            known.reach_m = [0.0; 3];
        }
    }
}

/// How far a turn of each coordinate can move a pair's features toward one another, m/rad.
pub(crate) fn reaches(pair: &Pair) -> [f64; 3] {
    let mut reach = [0.0; 4];
    (reach[pair.a], reach[pair.b]) = (pair.reach_m[0], pair.reach_m[1]);
    [reach[0], reach[1], reach[2]]
}
