//! Equations of motion within one phase.

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
    pub(crate) count: usize,
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
pub(crate) struct Contacts<const N: usize> {
    pub(crate) a: [f64; 4],
    rows: [Row; N],
    pub(crate) force_n: [f64; N],
    gap_m: [f64; N],
    inside_m: [f64; N],
    pub(crate) jams: bool,
}

/// Force of a contact, of one that sticks by how much its friction could be larger.
#[inline]
pub(crate) fn spare_force_n<const N: usize>(phase: &Phase, force_n: &[f64; N], j: usize) -> f64 {
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
    pub(crate) fn contacts<const N: usize, const ENDS: bool>(
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

    /// Force of each contact that bears, of one that sticks its friction; `None` where the parts jam.
    pub(crate) fn forces_n(
        &self,
        watch: &Watch,
        turns: &Turns,
        q: &[f64; 3],
        v: &[f64; 4],
        phase: &Phase,
    ) -> Option<[f64; BEARINGS]> {
        fn of<const N: usize>(contacts: &Contacts<N>) -> Option<[f64; BEARINGS]> {
            let mut out = [0.0; BEARINGS];
            out[..N].copy_from_slice(&contacts.force_n);
            (!contacts.jams).then_some(out)
        }
        let torques = self.torques(q, v, &phase.senses);
        match phase.count {
            0 => Some([0.0; BEARINGS]),
            1 => of(&self.contacts::<1, false>(watch, turns, q, v, phase, &torques)),
            2 => of(&self.contacts::<2, false>(watch, turns, q, v, phase, &torques)),
            _ => of(&self.contacts::<3, false>(watch, turns, q, v, phase, &torques)),
        }
    }

    /// Powers, in the order of `Rates::power_w`.
    #[inline]
    pub(crate) fn powers_w<const N: usize>(
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
    pub(crate) fn rates_of<const N: usize>(
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
