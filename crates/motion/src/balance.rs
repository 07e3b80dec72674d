//! The balance on its hairspring: what turns, what turns it back, and what it loses.

use crate::error::Error;
use std::f64::consts::PI;

/// Balance with hairspring, alone. Every angle is counted from the spring's own rest, anticlockwise positive.
///
/// Terms as in docs/theory/oscillator.md.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// Moment of inertia of everything on the staff; more than 0.
    pub inertia_kg_m2: f64,
    /// Stiffness of the spring; with index pins, of the part that works beyond their freedom. More than 0.
    pub stiffness_n_m_per_rad: f64,
    /// How the spring departs from a straight line: a torque `-cubic angle^3`. Unit N m/rad^3.
    pub cubic_n_m_per_rad3: f64,
    /// Viscous resistance, of air and oil: a torque of so much against each rad/s; not negative.
    pub viscous_n_m_s: f64,
    /// Dry friction at the pivots, in the position the piece is in; not negative.
    pub dry_n_m: f64,
    /// Moment of the want of poise, mass times radius times gravity; not negative. In a horizontal position, 0.
    pub heavy_spot_n_m: f64,
    /// Where the heavy point lies with the balance at rest, counted from straight down.
    pub heavy_spot_rad: f64,
    /// Index pins between which the spring has play; `None` where it has none.
    pub index: Option<IndexPins>,
}

/// The spring's play between the pins of the index, alike on both sides of rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IndexPins {
    /// Angle of the balance to one side at which the spring comes to lie on a pin; not negative.
    pub free_rad: f64,
    /// Stiffness while it touches no pin, over the stiffness beyond; more than 0. The part of the spring behind the pins
    /// makes it less than 1.
    pub free_stiffness_ratio: f64,
}

/// Angle and speed of the balance.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BalanceState {
    /// From the spring's rest.
    pub angle_rad: f64,
    /// Anticlockwise positive.
    pub speed_rad_per_s: f64,
}

/// Where the spring lies: on the pin that it meets at negative angles, between the pins, on the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    Below,
    Between,
    Above,
}

impl Balance {
    /// A balance that swings at `beats_per_hour` with nothing else acting on it: no losses, in poise, no play at the index.
    ///
    /// # Arguments
    /// `beats_per_hour`: nominal count of half oscillations in an hour; its unit is 1/h.
    pub fn tuned(inertia_kg_m2: f64, beats_per_hour: f64) -> Self {
        Balance {
            inertia_kg_m2,
            stiffness_n_m_per_rad: stiffness_n_m_per_rad(inertia_kg_m2, beats_per_hour),
            cubic_n_m_per_rad3: 0.0,
            viscous_n_m_s: 0.0,
            dry_n_m: 0.0,
            heavy_spot_n_m: 0.0,
            heavy_spot_rad: 0.0,
            index: None,
        }
    }

    /// The same balance with the losses that give it a quality factor at an amplitude.
    ///
    /// # Arguments
    /// `viscous_share_ratio`: part of the losses that is viscous, 0 to 1; the rest is dry friction.
    ///
    /// # Properties
    /// Over an oscillation about `amplitude_rad` it loses 2 pi / quality of what it has at the extreme, to first order.
    ///
    /// # Source
    /// E2 of docs/theory/oscillator.md.
    pub fn with_losses(self, quality_ratio: f64, amplitude_rad: f64, viscous_share_ratio: f64) -> Self {
        let viscous_n_m_s =
            viscous_share_ratio * self.stiffness_n_m_per_rad / (self.natural_rad_per_s() * quality_ratio);
        let dry_n_m =
            (1.0 - viscous_share_ratio) * PI * self.stiffness_n_m_per_rad * amplitude_rad / (4.0 * quality_ratio);
        Balance { viscous_n_m_s, dry_n_m, ..self }
    }

    /// Quality factor at an amplitude: 2 pi times what is stored at the extreme over what an oscillation loses, to first
    /// order; infinite without losses.
    pub fn quality_ratio(&self, amplitude_rad: f64) -> f64 {
        let viscous_n_m = PI * self.viscous_n_m_s * self.natural_rad_per_s() * amplitude_rad;
        PI * self.stiffness_n_m_per_rad * amplitude_rad / (4.0 * self.dry_n_m + viscous_n_m)
    }

    /// Angular frequency of stiffness and inertia alone.
    pub fn natural_rad_per_s(&self) -> f64 {
        (self.stiffness_n_m_per_rad / self.inertia_kg_m2).sqrt()
    }

    /// Whether the torque is a straight line in the angle, or several that meet at the index pins. Then the motion has a
    /// closed form.
    pub fn is_piecewise_linear(&self) -> bool {
        self.cubic_n_m_per_rad3 == 0.0 && self.heavy_spot_n_m == 0.0
    }

    /// Torque of spring, heavy point and viscous resistance. Dry friction is not in it: see [`Balance::dry_torque_n_m`].
    pub fn torque_n_m(&self, angle_rad: f64, speed_rad_per_s: f64) -> f64 {
        self.torque_on_n_m(self.side(angle_rad, angle_rad), angle_rad, speed_rad_per_s)
    }

    /// Torque of dry friction on a balance that turns; 0 at rest, where it is whatever holds it, up to `dry_n_m`.
    pub fn dry_torque_n_m(&self, speed_rad_per_s: f64) -> f64 {
        if speed_rad_per_s > 0.0 {
            -self.dry_n_m
        } else if speed_rad_per_s < 0.0 {
            self.dry_n_m
        } else {
            0.0
        }
    }

    /// Energy in the spring, 0 at its rest.
    pub fn spring_energy_j(&self, angle_rad: f64) -> f64 {
        let a2 = angle_rad * angle_rad;
        let pins = self.index.map_or(0.0, |pins| {
            // The part within the play works with the lesser stiffness.
            let within_rad = angle_rad.abs().min(pins.free_rad);
            let softer_n_m_per_rad = self.stiffness_n_m_per_rad * (pins.free_stiffness_ratio - 1.0);
            softer_n_m_per_rad * within_rad * (angle_rad.abs() - 0.5 * within_rad)
        });
        0.5 * self.stiffness_n_m_per_rad * a2 + 0.25 * self.cubic_n_m_per_rad3 * a2 * a2 + pins
    }

    /// Energy of the heavy point's height, 0 where it is lowest.
    pub fn heavy_spot_energy_j(&self, angle_rad: f64) -> f64 {
        let half = (0.5 * (angle_rad + self.heavy_spot_rad)).sin();
        2.0 * self.heavy_spot_n_m * half * half
    }

    /// Energy of motion.
    pub fn kinetic_energy_j(&self, speed_rad_per_s: f64) -> f64 {
        0.5 * self.inertia_kg_m2 * speed_rad_per_s * speed_rad_per_s
    }

    /// Energy of spring, heavy point and motion together.
    pub fn energy_j(&self, state: BalanceState) -> f64 {
        self.spring_energy_j(state.angle_rad)
            + self.heavy_spot_energy_j(state.angle_rad)
            + self.kinetic_energy_j(state.speed_rad_per_s)
    }

    /// Looks at the values.
    ///
    /// # Errors
    /// [`Error::Value`] for the first that no balance can have.
    pub fn check(&self) -> Result<(), Error> {
        let pins = self.index.unwrap_or(IndexPins { free_rad: 0.0, free_stiffness_ratio: 1.0 });
        let more_than_0 = [
            ("inertia of the balance", self.inertia_kg_m2, "kg m2"),
            ("stiffness of the hairspring", self.stiffness_n_m_per_rad, "N m/rad"),
            ("stiffness between the index pins over that beyond", pins.free_stiffness_ratio, "(ratio)"),
        ];
        let not_negative = [
            ("viscous resistance of the balance", self.viscous_n_m_s, "N m s"),
            ("dry friction of the balance", self.dry_n_m, "N m"),
            ("moment of the heavy point", self.heavy_spot_n_m, "N m"),
            ("freedom between the index pins", pins.free_rad, "rad"),
        ];
        let any = [
            ("cubic term of the hairspring", self.cubic_n_m_per_rad3, "N m/rad3"),
            ("direction of the heavy point", self.heavy_spot_rad, "rad"),
        ];
        for (what, value_si, unit) in more_than_0 {
            Error::unless(value_si > 0.0 && value_si.is_finite(), what, value_si, unit, "more than 0")?;
        }
        for (what, value_si, unit) in not_negative {
            Error::unless(value_si >= 0.0 && value_si.is_finite(), what, value_si, unit, "0 or more")?;
        }
        for (what, value_si, unit) in any {
            Error::unless(value_si.is_finite(), what, value_si, unit, "a finite number")?;
        }
        Ok(())
    }

    /// Where the spring lies at `angle_rad`; at the edge of its play, on the side toward which `sense_sign` points.
    pub(crate) fn side(&self, angle_rad: f64, sense_sign: f64) -> Side {
        let Some(IndexPins { free_rad, .. }) = self.index else { return Side::Between };
        if angle_rad > free_rad || (angle_rad >= free_rad && sense_sign > 0.0) {
            Side::Above
        } else if angle_rad < -free_rad || (angle_rad <= -free_rad && sense_sign < 0.0) {
            Side::Below
        } else {
            Side::Between
        }
    }

    /// The straight line of the spring on one side: its stiffness, and the torque by which it misses rest.
    pub(crate) fn line(&self, side: Side) -> (f64, f64) {
        let pins = self.index.unwrap_or(IndexPins { free_rad: 0.0, free_stiffness_ratio: 1.0 });
        let held_n_m = self.stiffness_n_m_per_rad * (1.0 - pins.free_stiffness_ratio) * pins.free_rad;
        match side {
            Side::Below => (self.stiffness_n_m_per_rad, -held_n_m),
            Side::Between => (self.stiffness_n_m_per_rad * pins.free_stiffness_ratio, 0.0),
            Side::Above => (self.stiffness_n_m_per_rad, held_n_m),
        }
    }

    /// Angle at which the spring leaves one side, for a balance that turns toward `sense_sign`; `None` if it does not.
    pub(crate) fn side_ends_rad(&self, side: Side, sense_sign: f64) -> Option<f64> {
        let IndexPins { free_rad, .. } = self.index?;
        match (side, sense_sign > 0.0) {
            (Side::Below, true) | (Side::Between, false) => Some(-free_rad),
            (Side::Between, true) | (Side::Above, false) => Some(free_rad),
            (Side::Below, false) | (Side::Above, true) => None,
        }
    }

    /// [`Balance::torque_n_m`] with the spring on a given side, carried on smoothly beyond its ends.
    pub(crate) fn torque_on_n_m(&self, side: Side, angle_rad: f64, speed_rad_per_s: f64) -> f64 {
        let (stiffness_n_m_per_rad, held_n_m) = self.line(side);
        held_n_m
            - (stiffness_n_m_per_rad + self.cubic_n_m_per_rad3 * angle_rad * angle_rad) * angle_rad
            - self.heavy_spot_torque_n_m(angle_rad)
            - self.viscous_n_m_s * speed_rad_per_s
    }

    /// Torque that takes the heavy point down, clockwise positive.
    #[inline]
    fn heavy_spot_torque_n_m(&self, angle_rad: f64) -> f64 {
        // Most balances are poised, and a sine takes as long as all the rest.
        if self.heavy_spot_n_m == 0.0 { 0.0 } else { self.heavy_spot_n_m * (angle_rad + self.heavy_spot_rad).sin() }
    }
}

/// Stiffness of the hairspring that lets a balance swing at a nominal count of beats.
///
/// # Arguments
/// `beats_per_hour`: half oscillations in an hour; its unit is 1/h.
///
/// # Source
/// E1 of docs/theory/oscillator.md.
///
/// # Examples
/// ```
/// let stiffness_n_m_per_rad = motion::stiffness_n_m_per_rad(1.0e-9, 28_800.0);
/// assert!((stiffness_n_m_per_rad - 6.3165e-7).abs() < 5e-12);
/// ```
pub fn stiffness_n_m_per_rad(inertia_kg_m2: f64, beats_per_hour: f64) -> f64 {
    let natural_rad_per_s = PI * beats_per_hour / 3600.0;
    inertia_kg_m2 * natural_rad_per_s * natural_rad_per_s
}
