//! What can keep figures from being made.

use std::fmt;

/// No figures could be made.
#[non_exhaustive]
#[derive(Clone, Copy, Debug, PartialEq)]
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
    /// Beats whose numbers do not rise, or are not of their sides.
    Order {
        /// Number of the beat.
        number: u64,
    },
    /// Too few first shocks, or all of one side.
    TooFew {
        /// First shocks of either side.
        counts: [usize; 2],
    },
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Error::Value { what, value_si, unit, needs } => {
                write!(f, "could not make figures: {what} = {value_si:e} {unit}, needs {needs}")
            }
            Error::Order { number } => {
                write!(
                    f,
                    "could not make figures: beat number = {number}, needs more than the one before and its own side"
                )
            }
            Error::TooFew { counts: [a, b] } => {
                write!(
                    f,
                    "could not make figures: first shocks = {a} and {b} of the two sides, needs 3 or more, and 1 of each"
                )
            }
        }
    }
}

impl std::error::Error for Error {}
