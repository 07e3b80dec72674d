//! What a microphone makes of the movement of the surface under it.

use std::f64::consts::TAU;

use realfft::num_complex::Complex;

/// By what the sound is taken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Microphone {
    /// A pick-up that touches the case: hears its speed, evenly, but for what is slower than a few tens of Hz.
    #[default]
    Contact,
    /// A microphone in the air: hears less of what is low, which a small case does not radiate, and of what is high, and
    /// what the table throws back.
    Air,
}

/// Edges of filters of first order, Hz: chosen.
const CONTACT_HIGH_PASS_HZ: f64 = 30.0;
const AIR_HIGH_PASS_HZ: f64 = 2_000.0;
const AIR_LOW_PASS_HZ: f64 = 12_000.0;
/// What is thrown back, as later by s and a part, ratio: chosen, ways longer by 0.12 and 0.31 m at a speed of sound of 343
/// m/s.
const THROWN_BACK: [(f64, f64); 2] = [(3.5e-4, 0.35), (9.0e-4, 0.15)];

impl Microphone {
    /// By what it multiplies a vibration of this frequency.
    pub(crate) fn takes(self, hz: f64) -> Complex<f64> {
        let high_pass = |edge_hz: f64| {
            let x = Complex::new(0.0, hz / edge_hz);
            x / (1.0 + x)
        };
        match self {
            Microphone::Contact => high_pass(CONTACT_HIGH_PASS_HZ),
            Microphone::Air => {
                let low_pass = Complex::new(1.0, hz / AIR_LOW_PASS_HZ).inv();
                let later = |(s, ratio): (f64, f64)| Complex::from_polar(ratio, -TAU * hz * s);
                let room = THROWN_BACK.map(later).iter().fold(Complex::new(1.0, 0.0), |all, one| all + one);
                high_pass(AIR_HIGH_PASS_HZ) * low_pass * room
            }
        }
    }
}
