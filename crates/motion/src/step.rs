//! Equations of motion within one phase, and one step of them.

use crate::dynamics::Dynamics;
use crate::pair::{BALANCE, LEVER, Pair, Turns, WHEEL};
use crate::row::{Row, dot, over, solve};
use crate::scene::Scene;
use crate::watch::Watch;

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

/// What contacts that bear do at one instant.
struct Contacts<const N: usize> {
    a: [f64; 4],
    rows: [Row; N],
    force_n: [f64; N],
    gap_m: [f64; N],
    inside_m: [f64; N],
    jams: bool,
}

/// Force of a contact, of one that sticks by how much its friction could be larger.
#[inline]
fn spare_force_n<const N: usize>(phase: &Phase, force_n: &[f64; N], j: usize) -> f64 {
    if phase.bearing[j].sticks {
        phase.bearing[j].friction_ratio * force_n[j - 1] - force_n[j].abs()
    } else {
        force_n[j]
    }
}

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
    pub(crate) fn rates(&self, watch: &Watch, turns: &Turns, q: &[f64; 3], v: &[f64; 4], phase: &Phase) -> Rates {
        match phase.count {
            0 => self.rates_of::<0>(watch, turns, q, v, phase),
            1 => self.rates_of::<1>(watch, turns, q, v, phase),
            2 => self.rates_of::<2>(watch, turns, q, v, phase),
            _ => self.rates_of::<3>(watch, turns, q, v, phase),
        }
    }

    /// What the contacts that bear do: the accelerations, and of each its row, what its unit force does, its force.
    #[inline]
    fn contacts<const N: usize, const ENDS: bool>(
        &self,
        watch: &Watch,
        turns: &Turns,
        q: &[f64; 3],
        v: &[f64; 4],
        phase: &Phase,
        torques: &[f64; 4],
    ) -> Contacts<N> {
        let light = &phase.lightness;
        let mut out = Contacts {
            a: over(torques, light),
            rows: [Row::default(); N],
            force_n: [0.0; N],
            gap_m: [0.0; N],
            inside_m: [0.0; N],
            jams: false,
        };
        if N == 0 {
            return out;
        }
        let mut pushes = [[0.0; 4]; N];
        for (i, push) in pushes.iter_mut().enumerate() {
            let bearing = &phase.bearing[i];
            let watched = watch.pair(bearing.at);
            let gap = if ENDS { watched.gap(turns) } else { watched.touch(turns) };
            let row = &mut out.rows[i];
            *row = Row::new(watched, &gap, v);
            if bearing.sticks {
                row.curve_m_per_s2 = self.slip_curve_m_per_s2(watched, q, v);
                (row.w, row.opening_m_per_s) = (row.t, row.slip_m_per_s);
                (row.t, row.slip_m_per_s) = ([0.0; 4], 0.0);
            } else {
                (out.gap_m[i], out.inside_m[i]) = (gap.gap_m, gap.inside_m);
            }
            let rub = bearing.sense * bearing.friction_ratio;
            for (k, push) in push.iter_mut().enumerate() {
                *push = light[k] * (row.w[k] - rub * row.t[k]);
            }
        }
        let mut matrix = [[0.0; N]; N];
        let mut right = [0.0; N];
        for i in 0..N {
            for j in 0..N {
                matrix[i][j] = dot(&out.rows[i].w, &pushes[j]);
            }
            right[i] = -(dot(&out.rows[i].w, &out.a) + out.rows[i].curve_m_per_s2);
        }
        match solve(&matrix, &right).filter(|_| N > 1 || matrix[0][0] > 0.0) {
            None => out.jams = true,
            Some(force_n) => {
                out.force_n = force_n;
                for (force_n, push) in force_n.iter().zip(&pushes) {
                    for (a, push) in out.a.iter_mut().zip(push) {
                        *a += force_n * push;
                    }
                }
            }
        }
        out
    }

    /// Powers, in the order of `Rates::power_w`.
    #[inline]
    fn powers_w<const N: usize>(
        &self,
        v: &[f64; 4],
        phase: &Phase,
        torques: &[f64; 4],
        contacts: &Contacts<N>,
    ) -> [f64; POWERS] {
        let d = self.dynamics;
        let mut out = [0.0; POWERS];
        out[0] = torques[WHEEL] * v[WHEEL];
        out[1] = d.lever.pivot_n_m * phase.senses[LEVER] * v[LEVER];
        out[2] = d.balance.viscous_n_m_s * v[BALANCE] * v[BALANCE];
        out[3] = d.balance.dry_n_m * phase.senses[BALANCE] * v[BALANCE];
        for j in 0..N {
            let bearing = &phase.bearing[j];
            out[4 + j] = contacts.force_n[j] * bearing.sense * bearing.friction_ratio * contacts.rows[j].slip_m_per_s;
        }
        out
    }

    #[inline]
    fn rates_of<const N: usize>(
        &self,
        watch: &Watch,
        turns: &Turns,
        q: &[f64; 3],
        v: &[f64; 4],
        phase: &Phase,
    ) -> Rates {
        let torques = self.torques(q, v, &phase.senses);
        let contacts = self.contacts::<N, true>(watch, turns, q, v, phase, &torques);
        let mut out = Rates { a: [contacts.a[0], contacts.a[1], contacts.a[2]], ..Rates::default() };
        for j in 0..N {
            (out.gap_m[j], out.inside_m[j]) = (contacts.gap_m[j], contacts.inside_m[j]);
            (out.slip_m_per_s[j], out.w[j]) = (contacts.rows[j].slip_m_per_s, contacts.rows[j].w);
            out.force_n[j] = spare_force_n(phase, &contacts.force_n, j);
        }
        if contacts.jams {
            out.jams = true;
            return out;
        }
        if phase.held.contains(&true) {
            let mut loads = torques;
            for (j, row) in contacts.rows.iter().enumerate() {
                let rub = phase.bearing[j].sense * phase.bearing[j].friction_ratio;
                for (k, load) in loads.iter_mut().enumerate() {
                    *load += contacts.force_n[j] * (row.w[k] - rub * row.t[k]);
                }
            }
            for k in (0..3).filter(|&k| phase.held[k]) {
                let [least, most] = self.holding_n_m(k, q[WHEEL]);
                out.spare_n_m[k] = (loads[k] - least).min(most - loads[k]);
            }
        }
        out.power_w = self.powers_w(v, phase, &torques, &contacts);
        out
    }

    /// What of the change of a slip does not come from accelerations: its arms change as the parts turn.
    pub(crate) fn slip_curve_m_per_s2(&self, watched: &Pair, q: &[f64; 3], v: &[f64; 4]) -> f64 {
        let slip = |by_s: f64| {
            let there = [0, 1, 2].map(|k| q[k] + by_s * v[k]);
            Row::new(watched, &watched.gap(&self.scene.turns(&there)), v).slip_m_per_s
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
    /// Of a flight the balance's angle, by powers of the part of the step.
    flight: Option<Series>,
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
        let mut speeds = [[0.0; 3]; 7];
        let mut pulls = [[0.0; 3]; 7];
        let mut powers = [[0.0; POWERS]; 7];
        let mut doubtful = false;
        (speeds[0], pulls[0], powers[0]) = ([from.v[0], from.v[1], from.v[2]], first.a, first.power_w);
        let mut to = *from;
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
            if stage + 1 == A.len() {
                break;
            }
            let torques = self.torques(&to.q, &to.v, &phase.senses);
            let there = self.scene.turns_from(turns, &to.q);
            let contacts = self.contacts::<N, false>(watch, &there, &to.q, &to.v, phase, &torques);
            doubtful |= contacts.jams | (0..N).any(|j| spare_force_n(phase, &contacts.force_n, j) < 0.0);
            (speeds[stage + 1], pulls[stage + 1]) =
                ([to.v[0], to.v[1], to.v[2]], [contacts.a[0], contacts.a[1], contacts.a[2]]);
            powers[stage + 1] = self.powers_w(&to.v, phase, &torques, &contacts);
        }
        let last = self.rates_of::<N>(watch, &self.scene.turns_from(turns, &to.q), &to.q, &to.v, phase);
        doubtful |= last.jams | last.force_n.iter().any(|&f| f < 0.0);
        (speeds[6], pulls[6], powers[6]) = ([to.v[0], to.v[1], to.v[2]], last.a, last.power_w);
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
        let mut work_j = [0.0; POWERS];
        for (part, power) in A[5].iter().zip(&powers) {
            for i in 0..4 + N {
                work_j[i] += h_s * part * power[i];
            }
        }
        Step { from: *from, turns: *turns, to, h_s, first: *first, last, error, work_j, doubtful, flight: None }
    }

    /// Whether the motion without contacts has a series: steady torques on wheel and lever, no pins at the hairspring.
    pub(crate) fn flies(&self, phase: &Phase) -> bool {
        let d = self.dynamics;
        phase.count == 0
            && (d.wheel.swing_ratio == 0.0 || phase.lightness[WHEEL] == 0.0)
            && d.lever.unbalance_n_m == 0.0
            && d.balance.index.is_none()
    }

    /// One step in which nothing touches, by the series of its motion: exact to rounding where `flies` holds, and as far
    /// as the last terms are small, which is the error given.
    pub(crate) fn flight(
        &self,
        watch: &Watch,
        from: &Instant,
        turns: &Turns,
        first: &Rates,
        h_s: f64,
        phase: &Phase,
    ) -> Step {
        let series = if phase.lightness[BALANCE] == 0.0 {
            {
                let mut held = [0.0; TERMS];
                held[0] = from.q[BALANCE];
                Series(held)
            }
        } else {
            self.series(from, h_s, phase.senses[BALANCE])
        };
        let [.., before, last] = series.0;
        let mut step = Step {
            from: *from,
            turns: *turns,
            to: *from,
            h_s,
            first: *first,
            last: *first,
            error: (before.abs() + last.abs()) / SCALES[BALANCE],
            work_j: [0.0; POWERS],
            doubtful: false,
            flight: Some(series),
        };
        self.end_flight(watch, &mut step, h_s, phase);
        step
    }

    /// The balance's angle by powers of the part of a step.
    fn series(&self, from: &Instant, h_s: f64, sense: f64) -> Series {
        let b = &self.dynamics.balance;
        let mut c = [0.0; TERMS];
        let angle_rad = from.q[BALANCE] - self.rest_rad;
        (c[0], c[1]) = (angle_rad, from.v[BALANCE] * h_s);
        let unit = h_s * h_s / b.inertia_kg_m2;
        let (stiff, cubic) = (unit * b.stiffness_n_m_per_rad, unit * b.cubic_n_m_per_rad3);
        let (viscous, dry) = (unit * b.viscous_n_m_s / h_s, unit * b.dry_n_m * sense);
        let spot = unit * b.heavy_spot_n_m;
        // Squares and cubes of the angle, sine and cosine of where the heavy point stands, by the same powers.
        let (mut square, mut cube, mut sin, mut cos) = ([0.0; TERMS], [0.0; TERMS], [0.0; TERMS], [0.0; TERMS]);
        (sin[0], cos[0]) = (angle_rad + b.heavy_spot_rad).sin_cos();
        for n in 0..TERMS - 2 {
            let mut torque = -stiff * c[n] - viscous * (n + 1) as f64 * c[n + 1];
            if n == 0 {
                torque -= dry;
            }
            if cubic != 0.0 {
                square[n] = (0..=n).map(|i| c[i] * c[n - i]).sum();
                cube[n] = (0..=n).map(|i| square[i] * c[n - i]).sum();
                torque -= cubic * cube[n];
            }
            if spot != 0.0 {
                if n > 0 {
                    let with = |other: &[f64; TERMS]| (1..=n).map(|i| i as f64 * c[i] * other[n - i]).sum::<f64>();
                    (sin[n], cos[n]) = (with(&cos) / n as f64, -with(&sin) / n as f64);
                }
                torque -= spot * sin[n];
            }
            c[n + 2] = torque / ((n + 1) * (n + 2)) as f64;
        }
        c[0] = from.q[BALANCE];
        Series(c)
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

    /// Ends a flight after `lasts_s`, no longer than it was made for.
    pub(crate) fn end_flight(&self, watch: &Watch, step: &mut Step, lasts_s: f64, phase: &Phase) {
        step.to = step.at(lasts_s);
        let d = self.dynamics;
        let [drive, ..] = self.torques(&step.from.q, &step.from.v, &phase.senses);
        let by_rad = |k: usize| step.to.q[k] - step.from.q[k];
        let squares: f64 = GAUSS
            .iter()
            .map(|(place, weight)| {
                let speed = step.at(0.5 * lasts_s * (1.0 + place)).v[BALANCE];
                0.5 * weight * speed * speed
            })
            .sum();
        step.work_j[0] = drive * by_rad(WHEEL);
        step.work_j[1] = d.lever.pivot_n_m * phase.senses[LEVER] * by_rad(LEVER);
        step.work_j[2] = d.balance.viscous_n_m_s * lasts_s * squares;
        step.work_j[3] = d.balance.dry_n_m * phase.senses[BALANCE] * by_rad(BALANCE);
        step.last = self.rates_of::<0>(watch, &step.turns, &step.to.q, &step.to.v, phase);
    }
}

/// Terms of a series of a flight.
const TERMS: usize = 9;

/// A polynomial in 0 to 1 by its powers.
#[derive(Clone, Copy, Debug)]
struct Series([f64; TERMS]);

impl Series {
    /// Value and slope.
    #[inline]
    fn at(&self, x: f64) -> (f64, f64) {
        let (mut value, mut slope) = (0.0, 0.0);
        for c in self.0.iter().rev() {
            slope = slope * x + value;
            value = value * x + c;
        }
        (value, slope)
    }
}

// M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4, dimensionless: places and weights of
// the integral over -1 to 1 by four values, exact to the seventh power.
const GAUSS: [(f64, f64); 4] = [
    (-0.861_136_311_594_053, 0.347_854_845_137_454),
    (-0.339_981_043_584_856, 0.652_145_154_862_546),
    (0.339_981_043_584_856, 0.652_145_154_862_546),
    (0.861_136_311_594_053, 0.347_854_845_137_454),
];

/// A step may be cut short within this part of its end, and where what it errs between its ends, which falls with the
/// square of what is left, is this little.
const CUT_RATIO: f64 = 0.05;
const CUT_ERROR: f64 = 1e-11;

impl Step {
    /// Whether a time is so near its end that it is exact enough to be cut short there.
    pub(crate) fn nearly_ends(&self, at_s: f64) -> bool {
        let rest = 1.0 - at_s / self.h_s;
        rest < CUT_RATIO && self.error * rest * rest < CUT_ERROR
    }

    /// Angles and speeds at a time within the step: of a flight by its series, else by the polynomial of degree five
    /// through both ends.
    pub(crate) fn at(&self, s: f64) -> Instant {
        let h = self.h_s;
        let x = s / h;
        let mut out = Instant { t_s: self.from.t_s + s, ..self.from };
        if let Some(series) = &self.flight {
            for k in [WHEEL, LEVER] {
                let (v, a) = (self.from.v[k], self.first.a[k]);
                (out.q[k], out.v[k]) = (self.from.q[k] + s * (v + 0.5 * s * a), v + s * a);
            }
            let (q, v) = series.at(x);
            (out.q[BALANCE], out.v[BALANCE]) = (q, v / h);
            return out;
        }
        if s >= h {
            return self.to;
        }
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
