//! Stage 8 — from a [`BeatTrain`] to its [`Figures`].
//!
//! A train is the same whether a model computed it or a recording was heard, and one function makes figures of it: what
//! differs between the two can only come from physics or from hearing. Knows no escapement, no sound and no file.
//!
//! ```
//! use beat::{Beat, BeatTrain, Listening, Shock, Side, Timed, figures};
//! // 28,800 beats an hour that gain a thousandth, the first shock 7.675 ms before the drop.
//! let beats = (0..40_u32).map(|number| {
//!     let at_s = |late_s: f64| Some(Timed { t_s: f64::from(number) * 0.125 / 1.001 + late_s, sigma_s: 0.0 });
//!     Beat::new(u64::from(number), Side::of(u64::from(number)))
//!         .with(Shock::Unlocking, at_s(0.0))
//!         .with(Shock::Drop, at_s(7.675e-3 / 1.001))
//! });
//! let train = BeatTrain { beats: beats.collect(), entry: None };
//! let listening = Listening::new(0.125).lift(52_f64.to_radians(), Shock::Drop);
//! let found = figures(&train, &listening).expect("forty beats");
//! assert!((found.rate_ratio.value_si - 1e-3).abs() < 1e-12);
//! assert!((found.amplitude_rad.expect("both shocks").value_si.to_degrees() - 270.0).abs() < 0.02);
//! ```

mod deviation;
mod error;
mod figures;
mod line;
mod train;

pub use deviation::{Deviation, Deviations, Stability, Wave, deviations};
pub use error::Error;
pub use figures::{Estimate, Figures, Listening, amplitude_rad, beat_angle_rad, figures, lift_rad};
pub use train::{Beat, BeatTrain, Shock, Side, Timed};
