//! A motion in time, as the page plays it.

use serde::Serialize;
use ts_rs::TS;

/// A motion, sample by sample: at everything that happens, close together while wheel or lever move, farther apart while
/// the balance swings alone.
#[derive(Serialize, TS, Debug)]
pub struct Played {
    /// Whether it begins with everything at rest.
    pub from_rest: bool,
    /// What became of it: a stable name.
    pub outcome: String,
    /// The same in words.
    pub sentence: String,
    /// Whether the movement does what was asked of it.
    pub runs: bool,
    /// Whether its end is its beginning, one tooth on.
    pub repeats: bool,
    /// Beats that went by before the first instant: of a motion that fails its last beats are shown.
    pub beats_before: u32,
    /// Balance angle from the spring's rest at the end of each beat; of one that has not ended, at the last instant.
    pub extreme_deg: Vec<f64>,
    /// Instants, from the beginning of the motion; each larger than the one before.
    pub t_s: Vec<f64>,
    /// Wheel angle of each.
    pub wheel_deg: Vec<f64>,
    /// Lever angle of each.
    pub lever_deg: Vec<f64>,
    /// Jewel angle of each.
    pub jewel_deg: Vec<f64>,
    /// What holds from each instant to the next: its place among `stretches`.
    pub stretch: Vec<u32>,
    /// Forces from each instant to the next, as they are halfway: place among `touching`, x and y of the contact in mm, x
    /// and y of the force in mN.
    pub forces: Vec<Vec<[f64; 5]>>,
    /// What touches what; the force is that of the first on the second.
    pub touching: Vec<String>,
    /// Phases, in order.
    pub stretches: Vec<Stretch>,
    /// Shocks, in order.
    pub shocks: Vec<PlayedShock>,
}

/// A phase of a motion.
#[derive(Serialize, TS, Debug, PartialEq)]
pub struct Stretch {
    /// The pallet whose beat it is.
    pub pallet: String,
    /// Number of the beat, from 0 at the beginning of the motion.
    pub beat: u32,
    /// Its name.
    pub phase: String,
    /// First instant.
    pub first: u32,
    /// Last instant, the first of the next.
    pub last: u32,
}

/// Parts that struck.
#[derive(Serialize, TS, Debug)]
pub struct PlayedShock {
    /// Place of its instant.
    pub instant: u32,
    /// Its name: one of the five of a beat, or what met.
    pub name: String,
    /// Whether it is one of the five of its beat.
    pub of_five: bool,
    /// Speed at which the parts closed.
    pub mm_per_s: f64,
    /// Energy lost there.
    pub lost_nj: f64,
}
