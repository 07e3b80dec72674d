//! What keeps a sound from being made.

/// A sound could not be made.
#[non_exhaustive]
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum Error {
    /// A setting out of range.
    #[error("could not make the sound: {what} = {value_si} {unit}, needs {least_si} to {most_si} {unit}")]
    Setting {
        /// Which.
        what: &'static str,
        /// As given, in the unit named.
        value_si: f64,
        /// Its unit.
        unit: &'static str,
        /// Least allowed.
        least_si: f64,
        /// Most allowed.
        most_si: f64,
    },
    /// More samples than are made at once.
    #[error("could not make the sound: {lasts_s} s at {rate_hz} Hz = {count} samples, needs {most_count} at most")]
    TooLong {
        /// How long it should last.
        lasts_s: f64,
        /// Samples a second.
        rate_hz: u32,
        /// Samples.
        count: u64,
        /// Most samples.
        most_count: u64,
    },
    /// An impact that none can be.
    #[error("could not make the sound: {what} of impact {index} = {value_si} {unit}, needs {needs}")]
    Impact {
        /// Its place in the list, from 0.
        index: usize,
        /// What of it.
        what: &'static str,
        /// As given.
        value_si: f64,
        /// Its unit.
        unit: &'static str,
        /// What it needs to be.
        needs: &'static str,
    },
    /// Nothing strikes while it lasts.
    #[error("could not make the sound: none of {count} impacts has an energy and comes within its {lasts_s} s")]
    Nothing {
        /// Impacts given.
        count: usize,
        /// How long it should last.
        lasts_s: f64,
    },
}
