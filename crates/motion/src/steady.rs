//! The limit cycle: the motion that repeats itself, after two beats or after a turn of the wheel.

use movement::Pallet;
use std::f64::consts::{PI, TAU};

use crate::beat::{Beat, beats};
use crate::dynamics::Works;
use crate::machine::{Ending, Machine, Motion, State};
use crate::runner::Options;

/// Amplitude at which the search begins, rad: 270 deg, common practice, no source.
const BEGIN_RAD: f64 = 1.5 * PI;
/// The search begins with the slope that the balance's losses alone would give times this, a ratio: chosen, since an escapement
/// gives the less the larger the amplitude, in `tests/oracle.rs` by about as much again.
const BEGIN_SLOPE_RATIO: f64 = 2.0;
/// It is not taken to be below this, a ratio: chosen, a balance of a quality of 9 would give it.
const LEAST_SLOPE_RATIO: f64 = -0.999;
/// Maps after which the search is given up.
const MOST_MAPS: usize = 60;
/// Nearer than this to an amplitude from which it does not go on it is taken not to either, rad: 0.06 deg, chosen.
const STOPS_RAD: f64 = 1e-3;
/// Amplitudes are found to this, rad: a ten-thousandth of a degree, chosen a thousand times finer than is measured.
const FOUND_RAD: f64 = 1.7e-6;

/// Parts of a pitch, and rad of the lever, beyond which it is another tooth or another banking: chosen, far above what a
/// beat errs and far below a tooth and a travel.
const OTHER_TOOTH_RATIO: f64 = 0.25;
const OTHER_BANKING_RAD: f64 = 0.01;

/// A motion that repeats itself: after two beats, or after a turn of the wheel where its teeth or the torque on it differ
/// with its angle.
#[derive(Clone, Debug)]
pub struct Steady {
    /// Where it begins: entry pallet locked, the balance at its extreme.
    pub state: State,
    /// Mean duration of two beats.
    pub period_s: f64,
    /// The beats until it repeats itself, entry and exit in turn.
    pub beats: Vec<Beat>,
    /// Work of the drive and losses over these beats, by `Place`.
    pub work_j: Works,
    /// Change of energy over these beats; it would vanish were the motion exactly its own repeat.
    pub energy_change_j: f64,
    /// What is left of a small departure after these beats, a part of it.
    pub slope_ratio: f64,
    /// Maps played to find it.
    pub maps: usize,
}

impl Steady {
    /// Oscillations after which it repeats itself.
    pub fn oscillations(&self) -> usize {
        self.beats.len() / 2
    }

    /// Mean of the amplitudes on both sides of the spring's rest.
    pub fn amplitude_rad(&self) -> f64 {
        self.amplitudes_rad().sum::<f64>() / self.oscillations() as f64
    }

    /// Amplitude of each oscillation, mean of both sides.
    pub fn amplitudes_rad(&self) -> impl Iterator<Item = f64> {
        self.beats.chunks_exact(2).map(|both| 0.5 * (both[0].extreme_rad - both[1].extreme_rad).abs())
    }

    /// Duration of each oscillation, from the balance's extreme to its next one on that side.
    pub fn periods_s(&self) -> impl Iterator<Item = f64> {
        let ends = self.beats.chunks_exact(2).map(|both| both[1].extreme_s);
        let begins = [self.state.t_s].into_iter().chain(ends.clone());
        begins.zip(ends).map(|(begins_s, ends_s)| ends_s - begins_s)
    }
}

/// Why there is no steady motion.
#[derive(Clone, Debug)]
pub enum NotSteady {
    /// No tooth locks: there is no state to begin with.
    DoesNotLock,
    /// The motion came to an end of its own before it could repeat itself.
    Ended(Box<Motion>),
    /// After the beats of [`Machine::repeats`] the wheel has not advanced by as many teeth as oscillations, or the lever is
    /// not where it was.
    OutOfStep(Box<Motion>),
    /// The search was given up with amplitudes still changing by so much.
    Unsettled {
        /// Last amplitude.
        amplitude_rad: f64,
        /// Its change until the motion should repeat itself.
        change_rad: f64,
    },
}

impl NotSteady {
    /// What was played last, where it was kept.
    pub fn motion(&self) -> Option<&Motion> {
        match self {
            NotSteady::Ended(motion) | NotSteady::OutOfStep(motion) => Some(motion),
            NotSteady::DoesNotLock | NotSteady::Unsettled { .. } => None,
        }
    }
}

impl Machine {
    /// Oscillations after which a motion can repeat itself: one, or as many as the wheel has teeth where these differ or
    /// the torque changes with the wheel's angle.
    pub fn repeats(&self) -> usize {
        let true_wheel = self.scene.alike && self.dynamics.wheel.swing_ratio == 0.0;
        if true_wheel { 1 } else { self.scene.tooth_count.unsigned_abs() as usize }
    }

    /// Finds the steady motion near an amplitude of 270 deg.
    ///
    /// The map of the beats of [`Machine::repeats`] is one of amplitudes: at the balance's extreme wheel and lever rest.
    /// Its fixed point is sought in the square of the amplitude, in which it is nearly straight, first by twice the slope
    /// that the balance's losses alone would give, then by secants.
    ///
    /// # Errors
    /// [`NotSteady`], with what was played.
    ///
    /// # Accuracy
    /// The amplitude repeats to 1e-4 deg; what the integration adds, see `Options`.
    pub fn steady(&self, options: Options) -> Result<Steady, NotSteady> {
        let repeats = self.repeats();
        let balance = &self.dynamics.balance;
        let mut at = BEGIN_RAD * BEGIN_RAD;
        let mut before: Option<(f64, f64)> = None;
        // An amplitude from which it does not go on.
        let mut stops: Option<(f64, NotSteady)> = None;
        let once = BEGIN_SLOPE_RATIO * (-TAU / balance.quality_ratio(BEGIN_RAD)).exp_m1();
        let mut slope = (repeats as f64 * once.max(LEAST_SLOPE_RATIO).ln_1p()).exp_m1();
        for maps in 1..=MOST_MAPS {
            let amplitude_rad = at.sqrt();
            let from = self.locked(Pallet::Entry, amplitude_rad).ok_or(NotSteady::DoesNotLock)?;
            let motion = self.play(&from, 2 * repeats, options);
            let played = motion.ending == Ending::Played;
            if !played || !self.in_step(&from, &motion.state) {
                let motion = Box::new(motion);
                let why = if played { NotSteady::OutOfStep(motion) } else { NotSteady::Ended(motion) };
                // Perhaps it was a step too far down: half the way back to where it went on.
                match before.map(|(old, _)| old.sqrt()).filter(|old_rad| old_rad - amplitude_rad > STOPS_RAD) {
                    Some(old_rad) => at = (0.5 * (amplitude_rad + old_rad)).powi(2),
                    None => return Err(why),
                }
                stops = Some((amplitude_rad, why));
                continue;
            }
            let change = motion.state.balance_rad * motion.state.balance_rad - at;
            let change_rad = motion.state.balance_rad.abs() - amplitude_rad;
            if let Some((old, old_change)) = before
                && old != at
            {
                let secant = (change - old_change) / (at - old);
                // A jump of the map must not turn the search round.
                if secant < 0.1 * slope && secant > 10.0 * slope {
                    slope = secant;
                }
            }
            // No further at once than to half the amplitude: the slope is that of where it is.
            let mut next = (at - change / slope).max(0.25 * at);
            if let Some((stops_rad, why)) = stops.take() {
                if amplitude_rad - stops_rad < STOPS_RAD && change < 0.0 {
                    return Err(why);
                }
                next = next.max((0.5 * (stops_rad + amplitude_rad)).powi(2));
                stops = Some((stops_rad, why));
            }
            if (next.sqrt() - amplitude_rad).abs() < FOUND_RAD {
                let beats = beats(&motion.events, Pallet::Entry);
                if beats.len() != 2 * repeats {
                    return Err(NotSteady::OutOfStep(Box::new(motion)));
                }
                return Ok(Steady {
                    state: from,
                    period_s: motion.state.t_s / repeats as f64,
                    beats,
                    work_j: motion.work_j,
                    energy_change_j: motion.energy_change_j,
                    slope_ratio: 1.0 + slope,
                    maps,
                });
            }
            if maps == MOST_MAPS {
                return Err(NotSteady::Unsettled { amplitude_rad, change_rad });
            }
            before = Some((at, change));
            at = next;
        }
        Err(NotSteady::Unsettled { amplitude_rad: at.sqrt(), change_rad: f64::NAN })
    }

    /// Whether a state is that of before, as many teeth on as there were oscillations.
    fn in_step(&self, from: &State, to: &State) -> bool {
        let pitch_rad = self.scene.pitch_rad;
        let by_rad = to.wheel_rad - from.wheel_rad + self.repeats() as f64 * pitch_rad;
        by_rad.abs() < OTHER_TOOTH_RATIO * pitch_rad && (to.lever_rad - from.lever_rad).abs() < OTHER_BANKING_RAD
    }
}
