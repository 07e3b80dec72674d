//! One step of the equations of motion.

use crate::laws::{Instant, Laws, POWERS, Phase, Rates, spare_force_n};
use crate::pair::{BALANCE, LEVER, Turns, WHEEL};
use crate::series::Series;
use crate::watch::Watch;

/// One step: where it leads, how far it is wrong, and the work done on the way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Step {
    pub(crate) from: Instant,
    /// The bodies' turns there.
    pub(crate) turns: Turns,
    pub(crate) to: Instant,
    pub(crate) h_s: f64,
    pub(crate) first: Rates,
    pub(crate) last: Rates,
    /// Largest error estimated, in the measures of `SCALES`.
    pub(crate) error: f64,
    /// In the order of `Rates::power_w`.
    pub(crate) work_j: [f64; POWERS],
    /// Whether a contact force was negative on the way, or the parts jammed.
    pub(crate) doubtful: bool,
    pub(crate) path: Path,
}

/// The angles within a step, by powers of the part of it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Path {
    /// Of the balance in a flight; wheel and lever move under steady torques.
    Flight(Series),
    /// Through both ends of any other step, by coordinate.
    Through([Quintic; 3]),
}

/// What angles (rad) and speeds (rad/s) are compared with to judge an error, chosen: a lever's half travel and its speed,
/// with the wheel's and the balance's in proportion.
pub(crate) const SCALES: [f64; 3] = [0.1, 0.1, 1.0];
const SPEED_SCALES: [f64; 3] = [20.0, 20.0, 100.0];

// E. Hairer, S. P. Norsett, G. Wanner, Solving Ordinary Differential Equations I, 2nd ed., 1993, table II.5.2
// (J. R. Dormand, P. J. Prince, 1980), dimensionless: order 5 with an error estimate of order 4.
const A: [[f64; 6]; 6] = [
    [1.0 / 5.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [3.0 / 40.0, 9.0 / 40.0, 0.0, 0.0, 0.0, 0.0],
    [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0, 0.0, 0.0, 0.0],
    [19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0, 0.0, 0.0],
    [9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0, 0.0],
    [35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0],
];
// The same table of 1993, dimensionless.
const E: [f64; 7] =
    [71.0 / 57600.0, 0.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339_200.0, 22.0 / 525.0, -1.0 / 40.0];
impl Laws<'_> {
    /// One step of length `h_s` from an instant whose turns and rates are known.
    pub(crate) fn step(
        &self,
        watch: &Watch,
        from: &Instant,
        turns: &Turns,
        first: &Rates,
        h_s: f64,
        phase: &Phase,
    ) -> Step {
        match phase.count {
            0 => self.step_of::<0>(watch, from, turns, first, h_s, phase),
            1 => self.step_of::<1>(watch, from, turns, first, h_s, phase),
            2 => self.step_of::<2>(watch, from, turns, first, h_s, phase),
            _ => self.step_of::<3>(watch, from, turns, first, h_s, phase),
        }
    }

    fn step_of<const N: usize>(
        &self,
        watch: &Watch,
        from: &Instant,
        turns: &Turns,
        first: &Rates,
        h_s: f64,
        phase: &Phase,
    ) -> Step {
        let (mut speeds, mut pulls, mut powers) = ([[0.0; 3]; 7], [[0.0; 3]; 7], [[0.0; POWERS]; 7]);
        let mut doubtful = false;
        (speeds[0], pulls[0], powers[0]) = ([from.v[0], from.v[1], from.v[2]], first.a, first.power_w);
        let mut to = *from;
        macro_rules! stage {
            ($stage:literal) => {
                lead::<$stage>(from, h_s, &speeds, &pulls, &mut to);
                let torques = self.torques(&to.q, &to.v, &phase.senses);
                let there = self.scene.turns_from(turns, &to.q);
                let contacts = self.contacts::<N, false>(watch, &there, &to.q, &to.v, phase, &torques);
                doubtful |= contacts.jams | (0..N).any(|j| spare_force_n(phase, &contacts.force_n, j) < 0.0);
                speeds[$stage] = [to.v[0], to.v[1], to.v[2]];
                pulls[$stage] = [contacts.a[0], contacts.a[1], contacts.a[2]];
                powers[$stage] = self.powers_w(&to.v, phase, &torques, &contacts);
            };
        }
        stage!(1);
        stage!(2);
        stage!(3);
        stage!(4);
        stage!(5);
        lead::<6>(from, h_s, &speeds, &pulls, &mut to);
        let last = self.rates_of::<N>(watch, &self.scene.turns_from(turns, &to.q), &to.q, &to.v, phase);
        doubtful |= last.jams | last.force_n.iter().any(|&f| f < 0.0);
        (speeds[6], pulls[6], powers[6]) = ([to.v[0], to.v[1], to.v[2]], last.a, last.power_w);
        to.t_s = from.t_s + h_s;
        let mut error = 0.0_f64;
        for k in 0..3 {
            let of = |of: &[[f64; 3]; 7]| {
                E[0] * of[0][k]
                    + E[2] * of[2][k]
                    + E[3] * of[3][k]
                    + E[4] * of[4][k]
                    + E[5] * of[5][k]
                    + E[6] * of[6][k]
            };
            error = error.max((h_s * of(&speeds) / SCALES[k]).abs()).max((h_s * of(&pulls) / SPEED_SCALES[k]).abs());
        }
        let mut work_j = [0.0; POWERS];
        for i in 0..4 + N {
            let (b, p) = (&A[5], &powers);
            work_j[i] = h_s * (b[0] * p[0][i] + b[2] * p[2][i] + b[3] * p[3][i] + b[4] * p[4][i] + b[5] * p[5][i]);
        }
        let path = Path::Through([0, 1, 2].map(|k| {
            Quintic::through([
                [from.q[k], from.v[k] * h_s, first.a[k] * h_s * h_s],
                [to.q[k], to.v[k] * h_s, last.a[k] * h_s * h_s],
            ])
        }));
        Step { from: *from, turns: *turns, to, h_s, first: *first, last, error, work_j, doubtful, path }
    }

    /// What a step is when it ends shortly before its end, by the polynomial between its ends.
    pub(crate) fn cut(&self, watch: &Watch, whole: &Step, lasts_s: f64, phase: &Phase) -> Step {
        let rates = |s: f64| {
            let at = whole.at(s);
            (at, self.rates(watch, &self.scene.turns_from(&whole.turns, &at.q), &at.q, &at.v, phase))
        };
        let rest_s = whole.h_s - lasts_s;
        let ((to, last), (_, middle)) = (rates(lasts_s), rates(lasts_s + 0.5 * rest_s));
        let mut step = Step { to, last, ..*whole };
        for (i, work_j) in step.work_j.iter_mut().enumerate() {
            // Less what the rest of the step does, by Simpson's rule.
            *work_j -= rest_s / 6.0 * (last.power_w[i] + 4.0 * middle.power_w[i] + whole.last.power_w[i]);
        }
        step
    }
}

/// Where a stage of a step is, by the stages before it.
#[inline(always)]
fn lead<const STAGE: usize>(from: &Instant, h_s: f64, speeds: &[[f64; 3]; 7], pulls: &[[f64; 3]; 7], to: &mut Instant) {
    let row = A[STAGE - 1].map(|part| h_s * part);
    for k in 0..3 {
        let of = |of: &[[f64; 3]; 7]| match STAGE {
            1 => row[0] * of[0][k],
            2 => row[0] * of[0][k] + row[1] * of[1][k],
            3 => row[0] * of[0][k] + row[1] * of[1][k] + row[2] * of[2][k],
            4 => row[0] * of[0][k] + row[1] * of[1][k] + row[2] * of[2][k] + row[3] * of[3][k],
            5 => row[0] * of[0][k] + row[1] * of[1][k] + row[2] * of[2][k] + row[3] * of[3][k] + row[4] * of[4][k],
            _ => row[0] * of[0][k] + row[2] * of[2][k] + row[3] * of[3][k] + row[4] * of[4][k] + row[5] * of[5][k],
        };
        (to.q[k], to.v[k]) = (from.q[k] + of(speeds), from.v[k] + of(pulls));
    }
}

/// A step may be cut short within this part of its end: chosen, so that it saves more than it costs.
const CUT_RATIO: f64 = 0.05;
/// It may where its error, as a part of `SCALES`, times the square of that part is no more: chosen, so that the ledger closes.
const CUT_ERROR_RATIO: f64 = 1e-11;

impl Step {
    /// Whether a time is so near its end that it is exact enough to be cut short there.
    pub(crate) fn nearly_ends(&self, at_s: f64) -> bool {
        let rest = 1.0 - at_s / self.h_s;
        rest < CUT_RATIO && self.error * rest * rest < CUT_ERROR_RATIO
    }

    /// Angles and speeds at a time within the step: of a flight by its series, else by the polynomial of degree five
    /// through both ends.
    pub(crate) fn at(&self, s: f64) -> Instant {
        let h = self.h_s;
        let x = s / h;
        let mut out = Instant { t_s: self.from.t_s + s, ..self.from };
        match &self.path {
            Path::Flight(series) => {
                for k in [WHEEL, LEVER] {
                    let (v, a) = (self.from.v[k], self.first.a[k]);
                    (out.q[k], out.v[k]) = (self.from.q[k] + s * (v + 0.5 * s * a), v + s * a);
                }
                let (q, v) = series.at(x);
                (out.q[BALANCE], out.v[BALANCE]) = (q, v / h);
            }
            Path::Through(_) if s >= h => return self.to,
            Path::Through(path) => {
                for (k, curve) in path.iter().enumerate() {
                    let (q, v) = curve.at(x);
                    (out.q[k], out.v[k]) = (q, v / h);
                }
            }
        }
        out
    }
}

/// A polynomial of degree five in 0 to 1 by value, slope and curvature at both ends.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Quintic([f64; 6]);

impl Quintic {
    #[inline]
    pub(crate) fn through([from, to]: [[f64; 3]; 2]) -> Quintic {
        let [q0, v0, a0] = [from[0], from[1], 0.5 * from[2]];
        let d = to[0] - q0 - v0 - a0;
        let e = to[1] - v0 - 2.0 * a0;
        let f = 0.5 * to[2] - a0;
        Quintic([q0, v0, a0, 10.0 * d - 4.0 * e + f, -15.0 * d + 7.0 * e - 2.0 * f, 6.0 * d - 3.0 * e + f])
    }

    /// Value and slope.
    #[inline]
    pub(crate) fn at(&self, x: f64) -> (f64, f64) {
        let c = &self.0;
        let value = c[0] + x * (c[1] + x * (c[2] + x * (c[3] + x * (c[4] + x * c[5]))));
        let slope = c[1] + x * (2.0 * c[2] + x * (3.0 * c[3] + x * (4.0 * c[4] + x * 5.0 * c[5])));
        (value, slope)
    }
}
