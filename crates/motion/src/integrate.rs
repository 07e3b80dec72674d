//! Ordinary differential equations `y' = f(t, y)` followed by an explicit Runge-Kutta pair of order 8 with steps that
//! keep a tolerance and a continuous extension of order 7. Knows nothing of what moves.

mod tableau;

use crate::error::Error;
use tableau::{AT, DENSE, END, ERROR_3, ERROR_5, EXTRA, STAGES, Weighted};

/// Chooses steps.
#[derive(Clone, Debug, PartialEq)]
pub struct Integrator<const N: usize> {
    tolerance_ratio: f64,
    scale_si: [f64; N],
    step_max_s: f64,
    /// Next to be tried.
    step_s: f64,
    /// Work done until now.
    pub work: Work,
}

/// Work of an integrator.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Work {
    /// Steps taken.
    pub step_count: u32,
    /// Steps given up because their error was too large.
    pub given_up_count: u32,
}

/// One step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step<const N: usize> {
    /// Instant at its start.
    pub from_s: f64,
    /// Duration; negative backward in time.
    pub duration_s: f64,
    /// State at its start, in the units of the problem.
    pub from: [f64; N],
    /// State at its end, in the units of the problem.
    pub to: [f64; N],
    slopes: [[f64; N]; 12],
}

/// The state anywhere within a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dense<const N: usize> {
    from_s: f64,
    duration_s: f64,
    from: [f64; N],
    to: [f64; N],
    terms: [[f64; N]; 7],
}

/// Safety on the next step, dimensionless, and how far it may shrink or grow: as proposed with the method in the book
/// of 1993, II.5.
const SAFETY_RATIO: f64 = 0.9;
const SHRINK_RATIO: f64 = 1.0 / 3.0;
const GROW_RATIO: f64 = 6.0;

/// A step this small against the first is no step: a tolerance below rounding, or a torque that jumps. Ratio, chosen well
/// above the rounding of the time.
const STEP_LEAST_RATIO: f64 = 1e-10;

/// `y + h sum w_i k_i`.
fn weighted<const N: usize>(from: &[f64; N], duration_s: f64, weights: &[Weighted], slopes: &[[f64; N]]) -> [f64; N] {
    let sum = sum(weights, slopes);
    std::array::from_fn(|i| from[i] + duration_s * sum[i])
}

fn sum<const N: usize>(weights: &[Weighted], slopes: &[[f64; N]]) -> [f64; N] {
    let mut sum = [0.0; N];
    for (stage, weight) in weights {
        for (s, k) in sum.iter_mut().zip(&slopes[*stage]) {
            *s += weight * k;
        }
    }
    sum
}

/// One step of a given duration, whatever its error.
///
/// # Arguments
/// `slope`: of the state, a function of time and state. `from`: the state, in the units of the problem.
///
/// # Properties
/// Exact for polynomials in time up to degree 7; the error of one step falls with the ninth power of its duration:
/// `tests/integrate.rs`.
pub fn leap<const N: usize>(
    slope: &mut impl FnMut(f64, &[f64; N]) -> [f64; N],
    from_s: f64,
    from: &[f64; N],
    duration_s: f64,
) -> Step<N> {
    let mut slopes = [[0.0; N]; 12];
    for (stage, weights) in STAGES.iter().enumerate() {
        let state = weighted(from, duration_s, weights, &slopes);
        slopes[stage] = slope(from_s + AT[stage] * duration_s, &state);
    }
    Step { from_s, duration_s, from: *from, to: weighted(from, duration_s, END, &slopes), slopes }
}

impl<const N: usize> Integrator<N> {
    /// # Arguments
    /// `tolerance_ratio`: error allowed in a step, as a part of `scale_si`, which has one value in its own unit for each
    /// value of the state; some 1e-14 is the least that rounding lets be kept. `first_step_s` is tried first; no step is
    /// longer than `step_max_s`. Both positive.
    pub fn new(tolerance_ratio: f64, scale_si: [f64; N], first_step_s: f64, step_max_s: f64) -> Self {
        Integrator {
            tolerance_ratio,
            scale_si,
            step_max_s,
            step_s: first_step_s.min(step_max_s),
            work: Work::default(),
        }
    }

    /// Takes one step forward in time that keeps the tolerance.
    ///
    /// # Arguments
    /// As of [`leap`]: the state in the units of the problem.
    ///
    /// # Errors
    /// [`Error::Step`] when no step does.
    pub fn step(
        &mut self,
        slope: &mut impl FnMut(f64, &[f64; N]) -> [f64; N],
        from_s: f64,
        from: &[f64; N],
    ) -> Result<Step<N>, Error> {
        let least_s = STEP_LEAST_RATIO * self.step_s;
        let mut may_grow = true;
        loop {
            let step = leap(slope, from_s, from, self.step_s);
            let error_ratio = self.error_ratio(&step);
            // The estimate is of order 7. What is not a number counts as an error without bounds.
            let factor = SAFETY_RATIO * error_ratio.powf(-1.0 / 8.0);
            if error_ratio <= 1.0 {
                self.work.step_count += 1;
                let grown_s = self.step_s * factor.clamp(SHRINK_RATIO, if may_grow { GROW_RATIO } else { 1.0 });
                self.step_s = grown_s.min(self.step_max_s);
                return Ok(step);
            }
            self.work.given_up_count += 1;
            may_grow = false;
            self.step_s *= if factor.is_finite() { factor.clamp(SHRINK_RATIO, 1.0) } else { SHRINK_RATIO };
            if self.step_s < least_s {
                let step_count = self.work.step_count + self.work.given_up_count;
                return Err(Error::Step { time_s: from_s, step_s: self.step_s, step_count });
            }
        }
    }

    /// Error of a step over the error allowed, from the estimates of order 5 and 3.
    fn error_ratio(&self, step: &Step<N>) -> f64 {
        let square = |weights| {
            let sum = sum(weights, &step.slopes);
            let parts = sum.iter().zip(&self.scale_si).map(|(s, scale)| s / (self.tolerance_ratio * scale));
            parts.map(|part| part * part).sum::<f64>()
        };
        let (fifth, third) = (square(ERROR_5), square(ERROR_3));
        if fifth == 0.0 {
            return 0.0;
        }
        step.duration_s.abs() * fifth / ((fifth + 0.01 * third) * N as f64).sqrt()
    }
}

impl<const N: usize> Step<N> {
    /// The state within the step, for four more slopes.
    ///
    /// # Properties
    /// Joins the steps on either side in state and slope. Its error falls with the eighth power of the duration:
    /// `tests/integrate.rs`.
    pub fn dense(&self, slope: &mut impl FnMut(f64, &[f64; N]) -> [f64; N]) -> Dense<N> {
        let Step { from_s, duration_s, from, to, .. } = *self;
        let mut slopes = [[0.0; N]; 16];
        slopes[..12].copy_from_slice(&self.slopes);
        slopes[12] = slope(from_s + duration_s, &to);
        for (extra, weights) in EXTRA.iter().enumerate() {
            let stage = 13 + extra;
            slopes[stage] = slope(from_s + AT[stage] * duration_s, &weighted(&from, duration_s, weights, &slopes));
        }
        let mut terms = [[0.0; N]; 7];
        for i in 0..N {
            let moved = to[i] - from[i];
            terms[0][i] = moved;
            terms[1][i] = duration_s * slopes[0][i] - moved;
            terms[2][i] = 2.0 * moved - duration_s * (slopes[0][i] + slopes[12][i]);
        }
        for (term, weights) in terms[3..].iter_mut().zip(DENSE) {
            *term = sum(weights, &slopes).map(|s| duration_s * s);
        }
        Dense { from_s, duration_s, from, to, terms }
    }
}

impl<const N: usize> Dense<N> {
    /// The state at an instant of the step, in the units of the problem.
    pub fn at(&self, time_s: f64) -> [f64; N] {
        self.at_ratio((time_s - self.from_s) / self.duration_s)
    }

    fn at_ratio(&self, part: f64) -> [f64; N] {
        std::array::from_fn(|i| {
            let nested = (0..7)
                .rev()
                .fold(0.0, |sum, term| (sum + self.terms[term][i]) * if term % 2 == 0 { part } else { 1.0 - part });
            self.from[i] + nested
        })
    }

    /// The instant at which a function of the state vanishes, or `None` where it has the same sign at both ends.
    ///
    /// # Arguments
    /// `event`: in any unit. With several roots in the step, one of them is found.
    pub fn root_s(&self, event: impl Fn(&[f64; N]) -> f64) -> Option<f64> {
        let (mut low, mut high) = (0.0, 1.0);
        let (mut at_low, mut at_high) = (event(&self.from), event(&self.to));
        if at_low == 0.0 {
            return Some(self.from_s);
        } else if at_high == 0.0 {
            return Some(self.from_s + self.duration_s);
        } else if (at_low > 0.0) == (at_high > 0.0) {
            return None;
        }
        // False position; an end that stays twice counts half (the Illinois way), so that both come in.
        let (mut root, mut last_low) = (f64::INFINITY, None);
        loop {
            let part = (low * at_high - high * at_low) / (at_high - at_low);
            let stands = (part - root).abs() <= f64::EPSILON || part <= low || part >= high;
            let at_part = event(&self.at_ratio(part));
            root = part;
            if stands || at_part == 0.0 {
                return Some(self.from_s + root * self.duration_s);
            }
            let is_low = (at_part > 0.0) == (at_low > 0.0);
            let again_ratio = if last_low == Some(is_low) { 0.5 } else { 1.0 };
            if is_low {
                (low, at_low, at_high) = (part, at_part, at_high * again_ratio);
            } else {
                (high, at_high, at_low) = (part, at_part, at_low * again_ratio);
            }
            last_low = Some(is_low);
        }
    }
}
