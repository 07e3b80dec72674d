//! Figures of the steady motion, for the page.

use serde::Serialize;
use ts_rs::TS;

/// What the escapement does in time.
#[derive(Serialize, TS, Clone, Debug)]
pub struct Running {
    /// What became of the motion, by its name.
    pub outcome: String,
    /// The same as a sentence without a full stop.
    pub sentence: String,
    /// Whether it goes on.
    pub runs: bool,
    /// Figures of the steady motion; none where there is none.
    pub figures: Vec<MotionFigure>,
    /// Where the energy of a beat goes, the drive first; empty where there is no steady motion.
    pub ledger: Vec<LedgerRow>,
    /// Masses, torques and surfaces that nobody stated, by path.
    pub defaults: Vec<String>,
}

/// A figure of the steady motion.
#[derive(Serialize, TS, Clone, Debug)]
pub struct MotionFigure {
    /// Its path, which ends in its unit.
    pub path: String,
    /// The same in words.
    pub name: String,
    /// Unit of its value.
    pub unit: String,
    /// Decimals shown.
    pub decimals: u8,
    /// What it is, one line.
    pub definition: String,
    /// Its value; nothing where the motion does not have it.
    pub value: Option<f64>,
}

/// What one place takes of the energy of a beat.
#[derive(Serialize, TS, Clone, Debug)]
pub struct LedgerRow {
    /// The place.
    pub place: String,
    /// Energy of a mean beat.
    pub nj_per_beat: f64,
    /// The same as a part of what the train gives.
    pub share_ratio: f64,
}
