//! Stage 5b — the sound of an escapement, from when its parts strike and with which energy.
//!
//! In: [`Impact`]s. Out: [`Sound`], samples as a recorder would take them. An impact is a short blow; it makes the parts
//! that meet, and the plate that carries them, ring in resonances of their own ([`MODES`]); a microphone hears them, noise
//! and hum come on top. How, and which figures are published and which chosen: docs/theory/voice.md.
//!
//! It knows no escapement and nothing of how a sound is listened to: it never uses the crate that does, nor a figure of it.
//!
//! # Examples
//! ```
//! use voice::{Impact, Meeting, Options, sound};
//! let drop = Impact { t_s: 0.1, energy_j: 1e-8, meeting: Meeting::ToothEntry, beat: 0 };
//! let sound = sound(&[drop], &Options { lasts_s: 1.0, ..Options::default() }).expect("it is heard");
//! assert_eq!(sound.samples.len(), 48_000);
//! let loudest = (0..sound.samples.len()).max_by(|&a, &b| sound.samples[a].abs().total_cmp(&sound.samples[b].abs()));
//! assert!(loudest.is_some_and(|at| (4_799..4_850).contains(&at)));
//! ```

mod blow;
mod chance;
mod error;
mod impact;
mod level;
mod microphone;
mod mode;
mod ring;
mod sound;

pub use blow::Blow;
pub use error::Error;
pub use impact::{Impact, Meeting};
pub use microphone::Microphone;
pub use mode::{MODES, Mode, Part};
pub use sound::{
    BAND_HZ, HUM_HZ, LASTS_S, MOST_SAMPLES, NOISE_DB, Options, PEAK_RATIO, RATES_HZ, RINGS_S, Sound, sound,
};
