//! Spectra by the sum that defines them.

use realfft::num_complex::Complex;
use std::f64::consts::TAU;

/// Fourier integral at a frequency of values at even steps.
pub fn spectrum(values: impl Iterator<Item = f64>, step_s: f64, hz: f64) -> Complex<f64> {
    let turn = Complex::from_polar(1.0, -TAU * hz * step_s);
    let mut at = Complex::new(1.0, 0.0);
    let mut sum = Complex::new(0.0, 0.0);
    for (i, x) in values.enumerate() {
        // Begun anew now and then, so that rounding does not add up.
        if i % 1024 == 0 {
            at = Complex::from_polar(1.0, -TAU * hz * step_s * i as f64);
        }
        sum += at * x;
        at *= turn;
    }
    sum * step_s
}

/// The same of a sound, m/s times s.
pub fn of_sound(sound: &voice::Sound, hz: f64) -> Complex<f64> {
    let values = sound.samples.iter().map(|x| f64::from(*x) * sound.full_scale_m_per_s);
    spectrum(values, 1.0 / f64::from(sound.rate_hz), hz)
}
