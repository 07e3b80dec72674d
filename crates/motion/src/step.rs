//! Equations of motion within one phase, and one step of them.

use crate::dynamics::Dynamics;
use crate::pair::{BALANCE, LEVER, Turns, WHEEL};
use crate::row::{MOST, Row, dot, over, solve};
use crate::scene::{Scene, Watched};

/// Angles and speeds of wheel, lever and balance; the fourth speed is the plate's.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Instant {
    pub(crate) t_s: f64,
    pub(crate) q: [f64; 3],
    pub(crate) v: [f64; 4],
}

/// A contact that bears.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bearing {
    pub(crate) watched: Watched,
    pub(crate) friction_ratio: f64,
    /// Sense of its slip: 1, −1, or 0 where nothing slips and friction is not called upon.
    pub(crate) sense: f64,
}

/// What holds as long as no event comes.
#[derive(Clone, Debug)]
pub(crate) struct Phase {
    pub(crate) bearing: Vec<Bearing>,
    /// Sense in which each coordinate moves, for what depends on it.
    pub(crate) senses: [f64; 3],
    /// Reciprocal inertias; 0 of what is held.
    pub(crate) lightness: [f64; 4],
}

/// Powers counted in every stage: drive, lever's pivots, air, balance pivots, then the friction of each contact.
pub(crate) const POWERS: usize = 4 + MOST;

/// What the equations of motion say of one instant.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Rates {
    pub(crate) a: [f64; 4],
    /// Force at each contact that bears, N.
    pub(crate) force_n: [f64; MOST],
    pub(crate) power_w: [f64; POWERS],
    pub(crate) rows: [Row; MOST],
    pub(crate) gap_m: [f64; MOST],
    pub(crate) inside_m: [f64; MOST],
    /// The contacts do not determine their forces, or friction would have to push: the parts jam.
    pub(crate) jams: bool,
}

/// What the machine is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Laws<'a> {
    pub(crate) scene: &'a Scene,
    pub(crate) dynamics: &'a Dynamics,
    pub(crate) rest_rad: f64,
}

impl Laws<'_> {
    /// Torque on the wheel in the sense of its advance.
    #[inline]
    pub(crate) fn drive_n_m(&self, wheel_rad: f64, sense: f64) -> f64 {
        let drive = &self.dynamics.wheel;
        let torque = if sense > 0.0 { drive.recoil_torque_n_m } else { drive.torque_n_m };
        if drive.swing_ratio == 0.0 {
            torque
        } else {
            torque * (1.0 + drive.swing_ratio * (wheel_rad - drive.swing_rad).cos())
        }
    }

    /// Torques that do not come from contacts, anticlockwise positive.
    #[inline]
    pub(crate) fn torques(&self, q: &[f64; 3], v: &[f64; 4], senses: &[f64; 3]) -> [f64; 4] {
        let d = self.dynamics;
        let lever = &d.lever;
        let mut on_lever = -lever.pivot_n_m * senses[LEVER];
        if lever.unbalance_n_m != 0.0 {
            on_lever -= lever.unbalance_n_m * (q[LEVER] - lever.unbalance_rad).sin();
        }
        let balance =
            d.balance.torque_n_m(q[BALANCE] - self.rest_rad, v[BALANCE]) - d.balance.dry_n_m * senses[BALANCE];
        [-self.drive_n_m(q[WHEEL], senses[WHEEL]), on_lever, balance, 0.0]
    }

    /// Accelerations, contact forces and powers.
    pub(crate) fn rates(&self, q: &[f64; 3], v: &[f64; 4], phase: &Phase) -> Rates {
        let mut out = Rates::default();
        let torques = self.torques(q, v, &phase.senses);
        let light = &phase.lightness;
        out.a = over(&torques, light);
        let n = phase.bearing.len();
        if n > 0 {
            let turns = self.scene.turns(q);
            let mut pushes = [[0.0; 4]; MOST];
            for (i, bearing) in phase.bearing.iter().enumerate() {
                let (pair, gap) = (&bearing.watched.pair, bearing.watched.gap(&turns));
                let row = Row::new(&gap, pair.a, pair.b, v);
                let rub = bearing.sense * bearing.friction_ratio;
                for k in 0..3 {
                    pushes[i][k] = row.w[k] - rub * row.t[k];
                }
                (out.rows[i], out.gap_m[i], out.inside_m[i]) = (row, gap.gap_m, gap.inside_m);
            }
            let mut system = [[0.0; MOST + 1]; MOST];
            let light_pushes = pushes.map(|p| over(&p, light));
            for i in 0..n {
                for j in 0..n {
                    system[i][j] = dot(&out.rows[i].w, &light_pushes[j]);
                }
                system[i][MOST] = -(dot(&out.rows[i].w, &out.a) + out.rows[i].curve_m_per_s2);
            }
            if n == 1 && system[0][0] <= 0.0 {
                out.jams = true;
                return out;
            }
            let Some(forces) = solve(&mut system, n) else {
                out.jams = true;
                return out;
            };
            out.force_n = forces;
            for j in 0..n {
                for k in 0..3 {
                    out.a[k] += forces[j] * light_pushes[j][k];
                }
                out.power_w[4 + j] =
                    forces[j] * phase.bearing[j].sense * phase.bearing[j].friction_ratio * out.rows[j].slip_m_per_s;
            }
        }
        out.power_w[0] = torques[WHEEL] * v[WHEEL];
        out.power_w[1] = self.dynamics.lever.pivot_n_m * phase.senses[LEVER] * v[LEVER];
        out.power_w[2] = self.dynamics.balance.viscous_n_m_s * v[BALANCE] * v[BALANCE];
        out.power_w[3] = self.dynamics.balance.dry_n_m * phase.senses[BALANCE] * v[BALANCE];
        out
    }

    /// Kinetic and potential energy; the wheel's potential is counted as work of the drive.
    pub(crate) fn energy_j(&self, q: &[f64; 3], v: &[f64; 4]) -> f64 {
        let d = self.dynamics;
        let inertias = [d.wheel.inertia_kg_m2, d.lever.inertia_kg_m2, d.balance.inertia_kg_m2];
        let kinetic: f64 = (0..3).map(|k| 0.5 * inertias[k] * v[k] * v[k]).sum();
        let lever = -d.lever.unbalance_n_m * (q[LEVER] - d.lever.unbalance_rad).cos();
        kinetic + lever + self.potential_j(q[BALANCE] - self.rest_rad)
    }

    fn potential_j(&self, angle_rad: f64) -> f64 {
        let balance = &self.dynamics.balance;
        balance.spring_energy_j(angle_rad) + balance.heavy_spot_energy_j(angle_rad)
    }

    pub(crate) fn lightness(&self) -> [f64; 4] {
        let d = self.dynamics;
        [1.0 / d.wheel.inertia_kg_m2, 1.0 / d.lever.inertia_kg_m2, 1.0 / d.balance.inertia_kg_m2, 0.0]
    }
}

/// One step: where it leads, how far it is wrong, and the work done on the way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Step {
    pub(crate) from: Instant,
    pub(crate) to: Instant,
    pub(crate) first: [f64; 4],
    pub(crate) last: Rates,
    /// Largest error estimated, in the measures of `SCALES`.
    pub(crate) error: f64,
    pub(crate) work_j: [f64; POWERS],
    /// Whether a contact force was negative on the way, or the parts jammed.
    pub(crate) doubtful: bool,
}

/// What angles and speeds are compared with to judge an error: half a lever's travel and half its speed, with the wheel's
/// and the balance's in proportion.
const SCALES: [f64; 3] = [0.1, 0.1, 1.0];
const SPEED_SCALES: [f64; 3] = [20.0, 20.0, 100.0];

// E. Hairer, S. P. Nørsett, G. Wanner, Solving Ordinary Differential Equations I, 2nd ed., 1993, table II.5.2
// (J. R. Dormand, P. J. Prince, 1980): order 5 with an error estimate of order 4.
const A: [[f64; 6]; 6] = [
    [1.0 / 5.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [3.0 / 40.0, 9.0 / 40.0, 0.0, 0.0, 0.0, 0.0],
    [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0, 0.0, 0.0, 0.0],
    [19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0, 0.0, 0.0],
    [9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0, 0.0],
    [35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0],
];
const E: [f64; 7] =
    [71.0 / 57600.0, 0.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339_200.0, 22.0 / 525.0, -1.0 / 40.0];

impl Laws<'_> {
    /// One step of length `h_s` from an instant whose rates are known.
    pub(crate) fn step(&self, from: &Instant, first: &Rates, h_s: f64, phase: &Phase) -> Step {
        let mut speeds = [[0.0; 3]; 7];
        let mut pulls = [[0.0; 3]; 7];
        let mut powers = [[0.0; POWERS]; 6];
        let mut doubtful = false;
        let n = phase.bearing.len();
        let three = |a: &[f64; 4]| [a[0], a[1], a[2]];
        (speeds[0], pulls[0], powers[0]) = (three(&from.v), three(&first.a), first.power_w);
        let mut to = *from;
        let mut last = *first;
        for (stage, row) in A.iter().enumerate() {
            for k in 0..3 {
                let (mut dq, mut dv) = (0.0, 0.0);
                for (j, part) in row.iter().take(stage + 1).enumerate() {
                    dq += part * speeds[j][k];
                    dv += part * pulls[j][k];
                }
                to.q[k] = from.q[k] + h_s * dq;
                to.v[k] = from.v[k] + h_s * dv;
            }
            last = self.rates(&to.q, &to.v, phase);
            doubtful |= last.jams;
            (speeds[stage + 1], pulls[stage + 1]) = (three(&to.v), three(&last.a));
            if stage < 5 {
                powers[stage + 1] = last.power_w;
                doubtful |= last.force_n[..n].iter().any(|&f| f < 0.0);
            }
        }
        to.t_s = from.t_s + h_s;
        let mut error = 0.0_f64;
        for k in 0..3 {
            let (mut eq, mut ev) = (0.0, 0.0);
            for (j, part) in E.iter().enumerate() {
                eq += part * speeds[j][k];
                ev += part * pulls[j][k];
            }
            error = error.max((h_s * eq / SCALES[k]).abs()).max((h_s * ev / SPEED_SCALES[k]).abs());
        }
        let mut work_j = [0.0; POWERS];
        for (power, part) in powers.iter().zip(&A[5]) {
            for (w, p) in work_j.iter_mut().zip(power).take(4 + n) {
                *w += h_s * part * p;
            }
        }
        Step { from: *from, to, first: first.a, last, error, work_j, doubtful }
    }
}

impl Step {
    /// Angles and speeds at a time within the step, by the polynomial of degree five through both ends.
    pub(crate) fn at(&self, s: f64) -> ([f64; 3], [f64; 4]) {
        let h = self.to.t_s - self.from.t_s;
        let x = s / h;
        let (x2, x3) = (x * x, x * x * x);
        let (x4, x5) = (x2 * x2, x2 * x3);
        let mut q = [0.0; 3];
        let mut v = [0.0; 4];
        for k in 0..3 {
            let (q0, v0, a0) = (self.from.q[k], self.from.v[k] * h, 0.5 * self.first[k] * h * h);
            let (q1, v1, a1) = (self.to.q[k], self.to.v[k] * h, 0.5 * self.last.a[k] * h * h);
            let d = q1 - q0 - v0 - a0;
            let e = v1 - v0 - 2.0 * a0;
            let f = a1 - a0;
            let (c3, c4, c5) = (10.0 * d - 4.0 * e + f, -15.0 * d + 7.0 * e - 2.0 * f, 6.0 * d - 3.0 * e + f);
            q[k] = q0 + v0 * x + a0 * x2 + c3 * x3 + c4 * x4 + c5 * x5;
            v[k] = (v0 + 2.0 * a0 * x + 3.0 * c3 * x2 + 4.0 * c4 * x3 + 5.0 * c5 * x4) / h;
        }
        (q, v)
    }

    /// Cosines and sines at its end.
    pub(crate) fn turns(&self, scene: &Scene) -> Turns {
        scene.turns(&self.to.q)
    }
}
