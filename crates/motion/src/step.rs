//! Equations of motion within one phase, and one step of them.

use crate::dynamics::Dynamics;
use crate::pair::{BALANCE, LEVER, WHEEL};
use crate::row::{Row, dot, over, solve};
use crate::scene::Scene;
use crate::watch::{Watch, Watched};

/// Angles and speeds of wheel, lever and balance; the fourth speed is the plate's.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Instant {
    pub(crate) t_s: f64,
    pub(crate) q: [f64; 3],
    pub(crate) v: [f64; 4],
}

/// Contacts that can bear at once: as many as there are coordinates.
pub(crate) const BEARINGS: usize = 3;

/// A contact that bears.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Bearing {
    /// Its place among the pairs watched.
    pub(crate) at: usize,
    pub(crate) friction_ratio: f64,
    /// Sense of its slip, 1 or -1; 0 where it does not slip.
    pub(crate) sense: f64,
    /// Not the contact itself but the friction that keeps the one before it from slipping.
    pub(crate) sticks: bool,
}

/// What holds as long as no event comes.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Phase {
    bearing: [Bearing; BEARINGS],
    count: usize,
    /// Sense in which each coordinate moves, for what depends on it.
    pub(crate) senses: [f64; 3],
    /// Coordinates that stand, held by the friction of their own pivots or train.
    pub(crate) held: [bool; 3],
    /// Reciprocal inertias; 0 of what is held.
    pub(crate) lightness: [f64; 4],
}

impl Phase {
    pub(crate) fn new(senses: [f64; 3], lightness: [f64; 4]) -> Phase {
        Phase { senses, lightness, ..Phase::default() }
    }

    /// Adds a contact; `false` where there are as many as can bear.
    pub(crate) fn bear(&mut self, bearing: Bearing) -> bool {
        let room = self.count < BEARINGS;
        if room {
            self.bearing[self.count] = bearing;
            self.count += 1;
        }
        room
    }

    pub(crate) fn bearing(&self) -> &[Bearing] {
        &self.bearing[..self.count]
    }
}

/// Powers counted in every stage: drive, lever's pivots, air, balance pivots, then the friction of each contact.
pub(crate) const POWERS: usize = 4 + BEARINGS;

/// What the equations of motion say of one instant.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Rates {
    pub(crate) a: [f64; 3],
    pub(crate) power_w: [f64; POWERS],
    /// Of each contact that bears: force, N, of one that sticks by how much friction could be larger; speed of slip; gap and its rate; how far it is inside its faces.
    pub(crate) force_n: [f64; BEARINGS],
    pub(crate) slip_m_per_s: [f64; BEARINGS],
    pub(crate) gap_m: [f64; BEARINGS],
    pub(crate) inside_m: [f64; BEARINGS],
    /// What friction could still take of each coordinate that it holds, N m.
    pub(crate) spare_n_m: [f64; 3],
    /// Along each normal, by coordinate.
    pub(crate) w: [[f64; 4]; BEARINGS],
    /// The contacts do not determine their forces, or friction would have to push: the parts jam.
    pub(crate) jams: bool,
}

/// Instants on both sides from which a rate is taken, s: chosen so that a body turns by some 1e-5 rad.
const APART_S: f64 = 1e-7;

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

    /// Loads, anticlockwise, under which a coordinate that stands is held by friction of its own.
    pub(crate) fn holding_n_m(&self, coordinate: usize, wheel_rad: f64) -> [f64; 2] {
        let d = self.dynamics;
        match coordinate {
            WHEEL => [0.0, self.drive_n_m(wheel_rad, 1.0) - self.drive_n_m(wheel_rad, 0.0)],
            LEVER => [-d.lever.pivot_n_m, d.lever.pivot_n_m],
            _ => [-d.balance.dry_n_m, d.balance.dry_n_m],
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
    #[inline]
    pub(crate) fn rates(&self, watch: &Watch, q: &[f64; 3], v: &[f64; 4], phase: &Phase) -> Rates {
        match phase.count {
            0 => self.rates_of::<0>(watch, q, v, phase),
            1 => self.rates_of::<1>(watch, q, v, phase),
            2 => self.rates_of::<2>(watch, q, v, phase),
            _ => self.rates_of::<3>(watch, q, v, phase),
        }
    }

    #[inline]
    fn rates_of<const N: usize>(&self, watch: &Watch, q: &[f64; 3], v: &[f64; 4], phase: &Phase) -> Rates {
        let mut out = Rates::default();
        let torques = self.torques(q, v, &phase.senses);
        let light = &phase.lightness;
        let mut a = over(&torques, light);
        let mut loads = torques;
        if N > 0 {
            let turns = self.scene.turns(q);
            let mut rows = [Row::default(); N];
            let mut pushes = [[0.0; 4]; N];
            for i in 0..N {
                let bearing = &phase.bearing[i];
                let watched = &watch.pairs[bearing.at];
                let gap = watched.gap(&turns);
                rows[i] = watched.row(&gap, v);
                if bearing.sticks {
                    rows[i].curve_m_per_s2 = self.slip_curve_m_per_s2(watched, q, v);
                    (rows[i].w, rows[i].opening_m_per_s) = (rows[i].t, rows[i].slip_m_per_s);
                    rows[i].t = [0.0; 4];
                    rows[i].slip_m_per_s = 0.0;
                }
                let rub = bearing.sense * bearing.friction_ratio;
                for k in 0..3 {
                    pushes[i][k] = light[k] * (rows[i].w[k] - rub * rows[i].t[k]);
                }
                (out.gap_m[i], out.inside_m[i]) = if bearing.sticks { (0.0, 0.0) } else { (gap.gap_m, gap.inside_m) };
                (out.slip_m_per_s[i], out.w[i]) = (rows[i].slip_m_per_s, rows[i].w);
            }
            let mut matrix = [[0.0; N]; N];
            let mut right = [0.0; N];
            for i in 0..N {
                for j in 0..N {
                    matrix[i][j] = dot(&rows[i].w, &pushes[j]);
                }
                right[i] = -(dot(&rows[i].w, &a) + rows[i].curve_m_per_s2);
            }
            let Some(force_n) = solve(&matrix, &right).filter(|_| N > 1 || matrix[0][0] > 0.0) else {
                out.jams = true;
                return out;
            };
            for j in 0..N {
                let rub = phase.bearing[j].sense * phase.bearing[j].friction_ratio;
                for k in 0..3 {
                    a[k] += force_n[j] * pushes[j][k];
                    loads[k] += force_n[j] * (rows[j].w[k] - rub * rows[j].t[k]);
                }
                out.force_n[j] = force_n[j];
                if phase.bearing[j].sticks {
                    let most_n = phase.bearing[j].friction_ratio * force_n[j - 1];
                    out.force_n[j] = most_n - force_n[j].abs();
                }
                out.power_w[4 + j] =
                    force_n[j] * phase.bearing[j].sense * phase.bearing[j].friction_ratio * rows[j].slip_m_per_s;
            }
        }
        out.a = [a[0], a[1], a[2]];
        for k in (0..3).filter(|&k| phase.held[k]) {
            let [least, most] = self.holding_n_m(k, q[WHEEL]);
            out.spare_n_m[k] = (loads[k] - least).min(most - loads[k]);
        }
        out.power_w[0] = torques[WHEEL] * v[WHEEL];
        out.power_w[1] = self.dynamics.lever.pivot_n_m * phase.senses[LEVER] * v[LEVER];
        out.power_w[2] = self.dynamics.balance.viscous_n_m_s * v[BALANCE] * v[BALANCE];
        out.power_w[3] = self.dynamics.balance.dry_n_m * phase.senses[BALANCE] * v[BALANCE];
        out
    }

    /// What of the change of a slip does not come from accelerations: its arms change as the parts turn.
    pub(crate) fn slip_curve_m_per_s2(&self, watched: &Watched, q: &[f64; 3], v: &[f64; 4]) -> f64 {
        let slip = |by_s: f64| {
            let there = [0, 1, 2].map(|k| q[k] + by_s * v[k]);
            watched.row(&watched.gap(&self.scene.turns(&there)), v).slip_m_per_s
        };
        (slip(APART_S) - slip(-APART_S)) / (2.0 * APART_S)
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
    pub(crate) h_s: f64,
    pub(crate) first: Rates,
    pub(crate) last: Rates,
    /// Largest error estimated, in the measures of `SCALES`.
    pub(crate) error: f64,
    powers: [[f64; POWERS]; 7],
    /// Whether a contact force was negative on the way, or the parts jammed.
    pub(crate) doubtful: bool,
}

/// What angles (rad) and speeds (rad/s) are compared with to judge an error, chosen: a lever's half travel and its speed,
/// with the wheel's and the balance's in proportion.
const SCALES: [f64; 3] = [0.1, 0.1, 1.0];
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
    /// One step of length `h_s` from an instant whose rates are known.
    pub(crate) fn step(&self, watch: &Watch, from: &Instant, first: &Rates, h_s: f64, phase: &Phase) -> Step {
        let mut speeds = [[0.0; 3]; 7];
        let mut pulls = [[0.0; 3]; 7];
        let mut powers = [[0.0; POWERS]; 7];
        let mut doubtful = false;
        (speeds[0], pulls[0], powers[0]) = ([from.v[0], from.v[1], from.v[2]], first.a, first.power_w);
        let mut to = *from;
        let mut last = *first;
        for (stage, row) in A.iter().enumerate() {
            for k in 0..3 {
                let (mut dq, mut dv) = (0.0, 0.0);
                for j in 0..=stage {
                    dq += row[j] * speeds[j][k];
                    dv += row[j] * pulls[j][k];
                }
                to.q[k] = from.q[k] + h_s * dq;
                to.v[k] = from.v[k] + h_s * dv;
            }
            last = self.rates(watch, &to.q, &to.v, phase);
            doubtful |= last.jams | last.force_n.iter().any(|&f| f < 0.0);
            (speeds[stage + 1], pulls[stage + 1], powers[stage + 1]) =
                ([to.v[0], to.v[1], to.v[2]], last.a, last.power_w);
        }
        to.t_s = from.t_s + h_s;
        let mut error = 0.0_f64;
        for k in 0..3 {
            let (mut eq, mut ev) = (0.0, 0.0);
            for j in 0..7 {
                eq += E[j] * speeds[j][k];
                ev += E[j] * pulls[j][k];
            }
            error = error.max((h_s * eq / SCALES[k]).abs()).max((h_s * ev / SPEED_SCALES[k]).abs());
        }
        Step { from: *from, to, h_s, first: *first, last, error, powers, doubtful }
    }
}

impl Step {
    /// Angles and speeds at a time within the step, by the polynomial of degree five through both ends.
    pub(crate) fn at(&self, s: f64) -> Instant {
        let h = self.h_s;
        if s >= h {
            return self.to;
        }
        let x = s / h;
        let mut out = Instant { t_s: self.from.t_s + s, ..self.from };
        for k in 0..3 {
            let ends = [
                [self.from.q[k], self.from.v[k] * h, self.first.a[k] * h * h],
                [self.to.q[k], self.to.v[k] * h, self.last.a[k] * h * h],
            ];
            let (q, v) = Quintic::through(ends).at(x);
            (out.q[k], out.v[k]) = (q, v / h);
        }
        out
    }

    /// Work done, in the order of `Rates::power_w`.
    pub(crate) fn work_j(&self) -> [f64; POWERS] {
        std::array::from_fn(|i| {
            self.h_s * A[5].iter().zip(&self.powers).map(|(part, power)| part * power[i]).sum::<f64>()
        })
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
