//! Flights of which the motion is a series: nothing touches, and only the balance feels more than steady torques.

use crate::laws::{Instant, Laws, POWERS, Phase, Rates};
use crate::pair::{BALANCE, LEVER, Turns, WHEEL};
use crate::step::{Path, SCALES, Step};
use crate::watch::Watch;

impl Laws<'_> {
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
            path: Path::Flight(series),
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
        if spot != 0.0 {
            (sin[0], cos[0]) = (angle_rad + b.heavy_spot_rad).sin_cos();
        }
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

    /// Ends a flight after `lasts_s`, no longer than it was made for.
    pub(crate) fn end_flight(&self, watch: &Watch, step: &mut Step, lasts_s: f64, phase: &Phase) {
        let Path::Flight(series) = step.path else { return };
        step.to = step.at(lasts_s);
        let d = self.dynamics;
        let [drive, ..] = self.torques(&step.from.q, &step.from.v, &phase.senses);
        let by_rad = |k: usize| step.to.q[k] - step.from.q[k];
        let squares: f64 = GAUSS
            .iter()
            .map(|(place, weight)| {
                let speed = series.at(0.5 * lasts_s / step.h_s * (1.0 + place)).1 / step.h_s;
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
pub(crate) struct Series([f64; TERMS]);

impl Series {
    /// Value and slope.
    #[inline]
    pub(crate) fn at(&self, x: f64) -> (f64, f64) {
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
