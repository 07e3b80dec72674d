//! What an impact does to the parts: a half-sine of force.

use std::f64::consts::PI;

use crate::impact::Impact;

/// Mass that comes to rest in a blow, kg: chosen, of the size of what wheel, lever and balance set against a blow; one for all
/// of them, so that of two blows the one with more energy is the louder.
const MASS_KG: f64 = 3e-6;
/// Radius of what touches, m: chosen, between the corner of a stone and the side of a jewel.
const RADIUS_M: f64 = 1e-4;
/// Modulus of the contact, (1 - n1^2)/E1 + (1 - n2^2)/E2 to the power -1, Pa: of steel (210 GPa, 0.3) and corundum (400 GPa,
/// 0.25), usual values from memory; chosen for every meeting, brass included.
const MODULUS_PA: f64 = 1.5e11;
/// Duration of an elastic contact: the factor of Hertz's law, dimensionless. K. L. Johnson, Contact Mechanics, 1985, section
/// 11.4 (from memory).
const HERTZ_RATIO: f64 = 2.87;

/// A force that rises and falls as half a sine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Blow {
    /// Its integral over time, N s.
    pub impulse_kg_m_per_s: f64,
    /// How long it lasts.
    pub lasts_s: f64,
}

impl Blow {
    /// That of an impact: a mass with this energy comes to rest, in the time of an elastic contact.
    ///
    /// # Properties
    /// The impulse goes as the root of the energy, the duration as its power -1/10.
    ///
    /// # Source
    /// docs/theory/voice.md, V1.
    pub fn of(impact: &Impact) -> Blow {
        let speed_m_per_s = (2.0 * impact.energy_j / MASS_KG).sqrt();
        let fifth_power = MASS_KG * MASS_KG / (RADIUS_M * MODULUS_PA * MODULUS_PA * speed_m_per_s);
        Blow { impulse_kg_m_per_s: MASS_KG * speed_m_per_s, lasts_s: HERTZ_RATIO * fifth_power.powf(0.2) }
    }

    /// Part of the impulse that is left at a frequency, a ratio: 1 at 0, the Fourier transform of the half-sine about its
    /// middle. Negative beyond its first zero at 1.5 / `lasts_s`.
    pub(crate) fn left_ratio(&self, hz: f64) -> f64 {
        let x = 2.0 * hz * self.lasts_s;
        let from_one = 1.0 - x * x;
        // At x = 1 both vanish: cos(pi x / 2) is pi/4 (1 - x^2) there, to second order.
        if from_one.abs() < 1e-6 { 0.25 * PI } else { (0.5 * PI * x).cos() / from_one }
    }
}
