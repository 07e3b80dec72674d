//! When parts meet within a step.

use crate::laws::{Instant, Rates};
use crate::pair::Gap;
use crate::root::root;
use crate::row::Row;
use crate::runner::{Cause, LEAST_STEP_S, Runner, TOUCH_M};
use crate::settle::DEEP_M;
use crate::step::{Quintic, Step};

/// Motions are taken to be longer by this than their ends show.
const MARGIN_RATIO: f64 = 1.1;
/// A gap that is less deep than this at one of them may have been closed in between, m.
const SHALLOW_M: f64 = 1e-7;
/// Places within a step at which a gap is looked at.
const LOOKS: usize = 8;
/// Gaps larger than this times what speed and pull make of them in a step have not been closed in it.
const SURELY_RATIO: f64 = 3.0;

/// Time in which a gap closes that opens at a speed and is pulled so, the pull staying as it is; infinite where it does not.
fn closes_s(gap_m: f64, opening_m_per_s: f64, pull_m_per_s2: f64) -> f64 {
    let square = opening_m_per_s * opening_m_per_s - 2.0 * pull_m_per_s2 * gap_m;
    if square < 0.0 {
        f64::INFINITY
    } else if opening_m_per_s < 0.0 {
        2.0 * gap_m / (square.sqrt() - opening_m_per_s)
    } else if pull_m_per_s2 < 0.0 {
        (opening_m_per_s + square.sqrt()) / -pull_m_per_s2
    } else {
        f64::INFINITY
    }
}

impl Runner<'_> {
    /// Time until the first of the pairs looked at closes, were the accelerations to stay as they are.
    pub(crate) fn soon_s(&self) -> f64 {
        let mut soon_s = f64::INFINITY;
        for (at, gap) in &self.looked {
            if gap.inside_m < 0.0 || gap.gap_m < -TOUCH_M || self.phase.bearing().iter().any(|b| b.at == *at) {
                continue;
            }
            let row = Row::new(self.watch.pair(*at), gap, &self.now.v);
            let a = &self.rates.a;
            let pull = row.w[0] * a[0] + row.w[1] * a[1] + row.w[2] * a[2] + row.curve_m_per_s2;
            soon_s = soon_s.min(closes_s(gap.gap_m.max(0.0), row.opening_m_per_s, pull));
        }
        soon_s
    }

    /// The first meeting within a step, if it comes before what was found.
    pub(crate) fn first_meeting(&mut self, step: &Step, first: &mut (f64, Option<Cause>)) {
        let scene = self.laws.scene;
        let mut close = std::mem::take(&mut self.close);
        let turns = scene.turns_from(&step.turns, &step.to.q);
        // Between its ends a step departs from a straight one as the speeds change.
        let bow_rad = [0, 1, 2, 3].map(|k| 0.125 * step.h_s * (step.to.v[k] - step.from.v[k]).abs());
        self.watch.close(&step.turns.at_rad, &turns.at_rad, &bow_rad, &mut close);
        let by_rad = [0, 1, 2, 3].map(|k| 2.0 * bow_rad[k] + (turns.at_rad[k] - step.turns.at_rad[k]).abs());
        self.looked.clear();
        for &at in &close {
            if self.phase.bearing().iter().any(|b| b.at == at) {
                continue;
            }
            let watched = self.watch.pair(at);
            let to = watched.gap(&turns);
            self.looked.push((at, to));
            let row = Row::new(watched, &to, &step.to.v);
            let a = &step.last.a;
            let pull = row.w[0] * a[0] + row.w[1] * a[1] + row.w[2] * a[2] + row.curve_m_per_s2;
            // What was open or closed all the time, as far as speed and pull at the end of the step reach.
            let changed_m = step.h_s * (row.opening_m_per_s.abs() + step.h_s * pull.abs());
            if to.gap_m.abs() < SURELY_RATIO * changed_m && (to.gap_m < 0.0 || row.opening_m_per_s > 0.0) {
                let from = watched.gap(&step.turns);
                if let Some(found) = self.meeting(at, step, first.0, [&from, &to], &by_rad) {
                    *first = (found, Some(Cause::Meets(at)));
                }
            }
        }
        self.close = close;
    }

    /// When within `lasts` of a step the gap of a pair closes, from where it stands at both ends of the step.
    fn meeting(&self, place: usize, step: &Step, lasts: f64, [from, to]: [&Gap; 2], by_rad: &[f64; 4]) -> Option<f64> {
        let (scene, watched, h_s) = (self.laws.scene, self.watch.pair(place), step.h_s);
        let of = |gap: &Gap, at: &Instant, rates: &Rates| {
            let row = Row::new(watched, gap, &at.v);
            let pull: f64 = (0..3).map(|k| row.w[k] * rates.a[k]).sum::<f64>() + row.curve_m_per_s2;
            [gap.gap_m, row.opening_m_per_s * h_s, pull * h_s * h_s]
        };
        let ends = [of(from, &step.from, &step.first), of(to, &step.to, &step.last)];
        if ends.iter().all(|[gap_m, slope_m, _]| -gap_m > slope_m.abs().max(SHALLOW_M)) {
            return None; // deep at both ends, and not on its way out in between
        }
        let curve = Quintic::through(ends);
        let part = lasts / h_s;
        // From a place where it is open to the next where it is not; what touches at the start has to open first.
        let mut open = (from.gap_m > TOUCH_M).then_some(0.0);
        let shallow = |gap_m: f64| gap_m < TOUCH_M && gap_m > -SHALLOW_M;
        let mut passes_by = shallow(from.gap_m);
        for look in 1..=LOOKS {
            let x = part * look as f64 / LOOKS as f64;
            let gap_m = curve.at(x).0;
            passes_by |= shallow(gap_m);
            if gap_m > TOUCH_M {
                open = Some(x);
            } else if let (Some(low), true) = (open, gap_m < 0.0) {
                let found = h_s * (low + root(x - low, 1e-14, |by| curve.at(low + by).0));
                // As when it is settled: a contact at the end of a face counts when it is going in.
                if self.goes_in(place, &step.at(found)) {
                    return Some(found);
                }
                open = None;
            }
        }
        // In one another somewhere and not at the start: come back at once after it had let go, or come round the end of
        // a face. Deeper than it can have moved, the two look at one another across a thin body.
        let inside = |gap: &Gap| gap.gap_m < -TOUCH_M && gap.inside_m >= 0.0;
        let parts = ends[0][1] > 0.0;
        if !passes_by || (inside(from) && (parts || from.gap_m < -DEEP_M)) {
            return None;
        }
        let moved_m = MARGIN_RATIO * scene.moved_m(self.watch.course(place), by_rad);
        let at = |s: f64| watched.gap(&scene.turns_from(&step.turns, &step.at(s).q));
        let entered = |x: &f64| {
            curve.at(*x).0 < TOUCH_M && {
                let gap = at(x * h_s);
                inside(&gap) && gap.gap_m > -moved_m
            }
        };
        let mut high = h_s * (1..=LOOKS).map(|look| part * look as f64 / LOOKS as f64).find(entered)?;
        let mut low = 0.0;
        while high - low > LEAST_STEP_S {
            let middle = 0.5 * (low + high);
            if inside(&at(middle)) { high = middle } else { low = middle }
        }
        (at(high).gap_m > -DEEP_M).then_some(high)
    }
}
