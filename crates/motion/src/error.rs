//! What can keep a function of this crate from doing its job.

use std::fmt;

/// A function could not do its job.
#[non_exhaustive]
#[derive(Clone, Debug, PartialEq)]
pub enum Error {
    /// A value that nothing can have.
    Value {
        /// What has the value.
        what: &'static str,
        /// The value, in SI.
        value_si: f64,
        /// Its unit.
        unit: &'static str,
        /// What it has to be.
        needs: &'static str,
    },
    /// The equations of motion cannot be followed to the tolerance asked for.
    Step {
        /// Instant at which it stands.
        time_s: f64,
        /// Step that would have been needed.
        step_s: f64,
        /// Steps made until then, those given up among them.
        step_count: u32,
    },
    /// No steady motion was found.
    Unsettled {
        /// Amplitude reached.
        amplitude_rad: f64,
        /// By how much one oscillation still changes it.
        residual_rad: f64,
        /// By how much it may.
        tolerance_rad: f64,
        /// Oscillations flown.
        oscillation_count: u32,
    },
}

impl Error {
    /// [`Error::Value`] unless `holds`.
    pub(crate) fn unless(
        holds: bool,
        what: &'static str,
        value_si: f64,
        unit: &'static str,
        needs: &'static str,
    ) -> Result<(), Error> {
        if holds { Ok(()) } else { Err(Error::Value { what, value_si, unit, needs }) }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Error::Value { what, value_si, unit, needs } => {
                write!(f, "could not simulate: {what} = {value_si:e} {unit}, needs {needs}")
            }
            Error::Step { time_s, step_s, step_count } => write!(
                f,
                "could not integrate: step = {step_s:e} s at {time_s:e} s after {step_count} steps, \
                 needs a coarser tolerance or a smoother torque"
            ),
            Error::Unsettled { amplitude_rad, residual_rad, tolerance_rad, oscillation_count } => write!(
                f,
                "could not settle: change of amplitude = {residual_rad:e} rad in an oscillation about \
                 {amplitude_rad} rad after {oscillation_count} oscillations, needs at most {tolerance_rad:e} rad"
            ),
        }
    }
}

impl std::error::Error for Error {}
