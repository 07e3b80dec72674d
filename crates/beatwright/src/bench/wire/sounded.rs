//! What page and bench say to each other of a sound.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

use crate::report::Report;

/// What a person states of a sound, as it was written; an empty text states nothing.
#[derive(Deserialize, TS, Clone, Debug, Default)]
#[serde(deny_unknown_fields)]
pub struct Stated {
    /// Lift at the balance.
    pub lift_deg: String,
    /// Nominal beats an hour.
    pub beats_per_hour: String,
    /// Error of the recorder's clock, `12.5` or `12.5+-0.4`.
    pub clock_ppm: String,
}

/// What the page says on the line of a live sound. Blocks of sound follow as binary messages: samples of 32 bits,
/// floating point, the lowest byte first, full scale 1.
#[derive(Deserialize, TS, Debug)]
#[serde(tag = "hear", rename_all = "snake_case", deny_unknown_fields)]
pub enum Hear {
    /// The first message.
    Begin {
        /// Samples a second.
        rate_hz: u32,
        /// What is stated.
        stated: Stated,
    },
    /// Something else is stated now.
    State {
        /// What is stated.
        stated: Stated,
    },
    /// There is no more sound.
    End {},
}

/// What the bench says there.
#[derive(Serialize, TS, Debug)]
#[serde(tag = "told", rename_all = "snake_case")]
pub enum Told {
    /// What was heard so far.
    Sounded {
        /// All of it.
        sounded: Box<Sounded>,
    },
    /// Something is wrong with what was said or sent.
    Problem {
        /// Stable name.
        code: String,
        /// What is wrong and what to do.
        message: String,
    },
}

/// What was heard in a sound.
#[derive(Serialize, TS, Clone, Debug)]
pub struct Sounded {
    /// Figures, as the command `listen` gives them.
    pub report: Report,
    /// How much was heard.
    pub lasts_s: f64,
    /// Whether that is all of it.
    pub ended: bool,
    /// Mean beat of each side, A and B; empty where there are none.
    pub sides: Vec<MeanBeat>,
    /// How beats depart from even ones; nothing where there are none.
    pub deviation: Option<Deviation>,
}

/// Mean beat of one side.
#[derive(Serialize, TS, Clone, Debug)]
pub struct MeanBeat {
    /// Root of the loudness, the loudest about 1, at even times.
    pub loudness: Vec<f64>,
    /// Time of the first, from the drop.
    pub from_ms: f64,
    /// From one to the next.
    pub each_ms: f64,
    /// When the first noise begins, from the drop; nothing where it is not heard on both sides.
    pub first_ms: Option<f64>,
}

/// How beats depart from the straight line through all of them, either side about its own.
#[derive(Serialize, TS, Clone, Debug)]
pub struct Deviation {
    /// Every point is the mean of so many beats.
    pub beats_each: u32,
    /// Middle of each, from the beginning of the sound.
    pub at_s: Vec<f64>,
    /// Departure, positive where they are late.
    pub late_ms: Vec<f64>,
    /// Standard error, from the scatter of all beats.
    pub se_ms: Vec<f64>,
    /// Beats farther off than five times the scatter: they are in no figure, and not in here.
    pub left_out: u32,
}
