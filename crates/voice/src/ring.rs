//! The sound of one impact, band-limited, from its true instant.

use std::f64::consts::{PI, TAU};
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{ComplexToReal, RealFftPlanner};

use crate::blow::Blow;
use crate::impact::{Impact, Meeting};
use crate::microphone::Microphone;
use crate::mode::{MODES, Mode};

/// Modes up to this part of the sampling rate are heard; from there to half the rate the band ends as half a cosine. Ratio,
/// chosen: what lies above could not be told from a tone below.
pub(crate) const HEARD_RATIO: f64 = 0.45;
/// A ring is worked out over at least this long, s: chosen, some twenty times as long as what dies away most slowly.
const BLOCK_S: f64 = 0.1;
/// This part of it lies before the impact, for what the band's end makes of it there. Ratio, chosen.
const BEFORE_RATIO: usize = 8;

impl Mode {
    /// Speed per impulse at a frequency, 1/kg.
    fn rings(&self, hz: f64) -> Complex<f64> {
        let below = self.natural_hz * self.natural_hz - hz * hz;
        Complex::new(0.0, hz / TAU) / (Complex::new(below, hz * self.natural_hz / self.quality_ratio) * self.mass_kg)
    }
}

/// Whether a mode is heard at a sampling rate.
pub(crate) fn is_heard(mode: &Mode, rate_hz: u32) -> bool {
    mode.natural_hz <= HEARD_RATIO * f64::from(rate_hz)
}

/// What makes rings.
pub(crate) struct Ringing {
    rate_hz: f64,
    /// Of each meeting, from 0 Hz on, what a blow of impulse 1 at the instant 0 comes to, times the steps of frequency.
    responses: [Vec<Complex<f64>>; Meeting::ALL.len()],
    inverse: Arc<dyn ComplexToReal<f64>>,
    spectrum: Vec<Complex<f64>>,
    block: Vec<f64>,
}

impl Ringing {
    pub(crate) fn new(rate_hz: u32, microphone: Microphone) -> Ringing {
        let rate = f64::from(rate_hz);
        let length = ((BLOCK_S * rate).ceil() as usize).next_power_of_two();
        let inverse = RealFftPlanner::new().plan_fft_inverse(length);
        let step_hz = rate / length as f64;
        let ends = |hz: f64| {
            let beyond = (hz / rate - HEARD_RATIO) / (0.5 - HEARD_RATIO);
            if beyond <= 0.0 { 1.0 } else { 0.5 + 0.5 * (PI * beyond.min(1.0)).cos() }
        };
        let response = |meeting: Meeting| {
            let own = MODES.iter().filter(|m| meeting.excites(m.part) && is_heard(m, rate_hz));
            let modes: Vec<&Mode> = own.collect();
            let at = |bin: usize| {
                let hz = bin as f64 * step_hz;
                let sign = |m: &Mode| if m.is_odd && meeting.is_other_side() { -1.0 } else { 1.0 };
                let all: Complex<f64> = modes.iter().map(|m| m.rings(hz) * sign(m)).sum();
                all * microphone.takes(hz) * (ends(hz) * step_hz)
            };
            (0..=length / 2).map(at).collect()
        };
        Ringing {
            rate_hz: rate,
            responses: Meeting::ALL.map(response),
            spectrum: inverse.make_input_vec(),
            block: inverse.make_output_vec(),
            inverse,
        }
    }

    /// Adds the sound of an impact, m/s, to what is heard from sample 0 on.
    pub(crate) fn add(&mut self, impact: &Impact, sound: &mut [f64]) {
        if impact.energy_j == 0.0 {
            return;
        }
        let length = self.block.len();
        let before = length / BEFORE_RATIO;
        let at = impact.t_s * self.rate_hz;
        let blow = Blow::of(impact);
        // From the block's first sample to the middle of the blow.
        let later_s = (before as f64 + at.fract()) / self.rate_hz + 0.5 * blow.lasts_s;
        let response = &self.responses[impact.meeting as usize];
        for (bin, (value, own)) in self.spectrum.iter_mut().zip(response).enumerate() {
            let hz = bin as f64 * self.rate_hz / length as f64;
            *value = own * Complex::from_polar(blow.impulse_kg_m_per_s * blow.left_ratio(hz), -TAU * hz * later_s);
        }
        // A real signal has real values at 0 and at half the rate; the modes leave nothing at the one, the band's end at
        // the other.
        self.spectrum[0] = Complex::new(0.0, 0.0);
        self.spectrum[length / 2] = Complex::new(0.0, 0.0);
        self.inverse.process(&mut self.spectrum, &mut self.block).expect("the lengths are those of the plan");
        let first = at.floor() as i64 - before as i64;
        for (i, value) in (first..).zip(&self.block) {
            if let Some(own) = usize::try_from(i).ok().and_then(|i| sound.get_mut(i)) {
                *own += value;
            }
        }
    }
}
