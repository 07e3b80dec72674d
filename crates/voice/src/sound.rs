//! From impacts to samples.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use crate::chance::Chance;
use crate::error::Error;
use crate::impact::Impact;
use crate::level::energy_si;
use crate::microphone::Microphone;
use crate::mode::{MODES, Mode};
use crate::ring::{HEARD_RATIO, Ringing, is_heard};

/// Least and most samples a second.
pub const RATES_HZ: [u32; 2] = [8_000, 192_000];
/// Least and most that a sound lasts, s: chosen.
pub const LASTS_S: [f64; 2] = [0.1, 3600.0];
/// Most samples of a sound: chosen, ten minutes at 48 kHz.
pub const MOST_SAMPLES: u64 = 28_800_000;
/// Size of the loudest sample, noise and hum included, as a part of full scale: -6 dB, chosen.
pub const PEAK_RATIO: f64 = 0.5;
/// Band in which sound is compared with noise, Hz, as far as it lies below 0.45 of the sampling rate: chosen, where watches
/// are heard.
pub const BAND_HZ: [f64; 2] = [2_000.0, 20_000.0];
/// A beat sounds from its first shock to so long after its last, s: chosen, until all but the lowest has died away.
pub const RINGS_S: f64 = 3e-3;
/// Least and most level of the sound over the noise, dB: chosen.
pub const NOISE_DB: [f64; 2] = [-20.0, 120.0];
/// Least and most frequency of the hum: chosen.
pub const HUM_HZ: [f64; 2] = [10.0, 1_000.0];
/// Most energy of an impact, J: chosen, a million times that of a watch.
const MOST_J: f64 = 1.0;
/// Largest size of the hum's fundamental as a part of that of the sound, ratio: -20 dB, chosen; its second and third
/// harmonics are a half and a third of it.
const HUM_RATIO: f64 = 0.1;

/// How a sound is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Samples a second, [`RATES_HZ`].
    pub rate_hz: u32,
    /// How long it lasts, [`LASTS_S`].
    pub lasts_s: f64,
    /// By what.
    pub microphone: Microphone,
    /// Level of the sound over white noise, in units of dB, [`NOISE_DB`]: energy of the beats over that of the noise
    /// while they sound, both in [`BAND_HZ`]; without it there is none.
    pub noise_db: Option<f64>,
    /// Frequency of a hum, [`HUM_HZ`]; without it there is none.
    pub hum_hz: Option<f64>,
    /// Of the noise.
    pub seed: u64,
}

impl Default for Options {
    fn default() -> Options {
        Options {
            rate_hz: 48_000,
            lasts_s: 30.0,
            microphone: Microphone::default(),
            noise_db: None,
            hum_hz: None,
            seed: 1,
        }
    }
}

/// A sound.
#[derive(Clone, Debug, PartialEq)]
pub struct Sound {
    /// Samples a second.
    pub rate_hz: u32,
    /// Full scale is 1, the loudest is [`PEAK_RATIO`].
    pub samples: Vec<f32>,
    /// Speed of the surface under the microphone that is full scale; in air, times what the microphone makes of it.
    pub full_scale_m_per_s: f64,
    /// Root of the mean square of the noise, full scale 1, in its whole band.
    pub noise_ratio: f64,
    /// Band in which sound and noise were compared.
    pub band_hz: [f64; 2],
    /// Mean time that a beat sounds.
    pub sounds_s: f64,
    /// Impacts in it.
    pub impact_count: usize,
    /// Modes that the sampling rate leaves out.
    pub left_out: Vec<Mode>,
}

impl Options {
    fn check(&self) -> Result<u64, Error> {
        let rate = f64::from(self.rate_hz);
        let rates = RATES_HZ.map(f64::from);
        let settings = [
            ("sampling rate", Some(rate), "Hz", rates),
            ("duration", Some(self.lasts_s), "s", LASTS_S),
            ("sound over noise", self.noise_db, "dB", NOISE_DB),
            ("hum", self.hum_hz, "Hz", HUM_HZ),
        ];
        for (what, value, unit, [least_si, most_si]) in settings {
            if let Some(value_si) = value.filter(|v| !(least_si..=most_si).contains(v)) {
                return Err(Error::Setting { what, value_si, unit, least_si, most_si });
            }
        }
        let count = (self.lasts_s * rate).round() as u64;
        if count > MOST_SAMPLES {
            let (lasts_s, rate_hz) = (self.lasts_s, self.rate_hz);
            return Err(Error::TooLong { lasts_s, rate_hz, count, most_count: MOST_SAMPLES });
        }
        Ok(count)
    }
}

fn check(impacts: &[Impact]) -> Result<(), Error> {
    for (index, impact) in impacts.iter().enumerate() {
        let (energy_is_right, t_is_right) =
            ((0.0..=MOST_J).contains(&impact.energy_j), impact.t_s >= 0.0 && impact.t_s.is_finite());
        let values = [
            ("instant", impact.t_s, "s", t_is_right, "a finite number, 0 or more"),
            ("energy", impact.energy_j, "J", energy_is_right, "0 to 1 J"),
        ];
        for (what, value_si, unit, is_right, needs) in values {
            if !is_right {
                return Err(Error::Impact { index, what, value_si, unit, needs });
            }
        }
    }
    Ok(())
}

/// Makes the sound of impacts, in any order. Those after its end are not heard, and what still rings there is cut off.
///
/// # Errors
/// [`Error`], for settings and impacts out of range, and where nothing would be heard.
///
/// # Properties
/// The same impacts, options and seed make the same samples. Nothing is clipped.
///
/// # Accuracy
/// An impact that comes later by a part of a sample sounds later by just that: `tests/instants.rs`.
///
/// # Source
/// docs/theory/voice.md.
pub fn sound(impacts: &[Impact], options: &Options) -> Result<Sound, Error> {
    let count = options.check()?;
    check(impacts)?;
    let rate_hz = options.rate_hz;
    let heard = |i: &&Impact| i.t_s < options.lasts_s && i.energy_j > 0.0;
    let heard: Vec<&Impact> = impacts.iter().filter(heard).collect();
    let mut samples = vec![0.0; count as usize];
    let mut ringing = Ringing::new(rate_hz, options.microphone);
    heard.iter().for_each(|impact| ringing.add(impact, &mut samples));
    let peak = largest(&samples);
    if peak == 0.0 {
        return Err(Error::Nothing { count: impacts.len(), lasts_s: options.lasts_s });
    }
    let band_hz = [BAND_HZ[0], BAND_HZ[1].min(HEARD_RATIO * f64::from(rate_hz))];
    let (beats, all_sound_s) = sounding(&heard);
    let noise_m_per_s = options.noise_db.map_or(0.0, |db| {
        // White noise of variance v has v b / (rate / 2) in a band of width b.
        let part = (band_hz[1] - band_hz[0]) / (0.5 * f64::from(rate_hz));
        (energy_si(&samples, rate_hz, band_hz) * 10_f64.powf(-0.1 * db) / (part * all_sound_s)).sqrt()
    });
    if noise_m_per_s > 0.0 {
        let mut chance = Chance::new(options.seed);
        for pair in samples.chunks_mut(2) {
            let two = chance.two_normal();
            pair.iter_mut().zip(two).for_each(|(x, normal)| *x += noise_m_per_s * normal);
        }
    }
    if let Some(hum_hz) = options.hum_hz {
        for (i, x) in samples.iter_mut().enumerate() {
            let phase_rad = TAU * hum_hz * i as f64 / f64::from(rate_hz);
            let wave: f64 = (1..=3).map(|n| (f64::from(n) * phase_rad).sin() / f64::from(n)).sum();
            *x += HUM_RATIO * peak * wave;
        }
    }
    let full_scale_m_per_s = largest(&samples) / PEAK_RATIO;
    Ok(Sound {
        rate_hz,
        samples: samples.iter().map(|x| (x / full_scale_m_per_s) as f32).collect(),
        full_scale_m_per_s,
        noise_ratio: noise_m_per_s / full_scale_m_per_s,
        band_hz,
        sounds_s: all_sound_s / beats as f64,
        impact_count: heard.len(),
        left_out: MODES.into_iter().filter(|m| !is_heard(m, rate_hz)).collect(),
    })
}

fn largest(samples: &[f64]) -> f64 {
    samples.iter().fold(0.0, |a: f64, x| a.max(x.abs()))
}

/// How many beats sound, and how long in all.
fn sounding(impacts: &[&Impact]) -> (usize, f64) {
    let mut beats: BTreeMap<u64, [f64; 2]> = BTreeMap::new();
    for impact in impacts {
        let own = beats.entry(impact.beat).or_insert([impact.t_s; 2]);
        *own = [own[0].min(impact.t_s), own[1].max(impact.t_s)];
    }
    (beats.len(), beats.values().map(|[first_s, last_s]| last_s - first_s + RINGS_S).sum())
}
