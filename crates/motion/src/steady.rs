//! The limit cycle: the motion that repeats itself after two beats.

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
/// Maps of two beats after which the search is given up.
const MOST_MAPS: usize = 60;
/// Nearer than this to an amplitude from which it does not go on it is taken not to either, rad: 0.06 deg, chosen.
const STOPS_RAD: f64 = 1e-3;
/// Amplitudes are found to this, rad: a ten-thousandth of a degree, chosen a thousand times finer than is measured.
const FOUND_RAD: f64 = 1.7e-6;

/// Parts of a pitch, and rad of the lever, beyond which it is another tooth or another banking: chosen, far above what a
/// beat errs and far below a tooth and a travel.
const OTHER_TOOTH_RATIO: f64 = 0.25;
const OTHER_BANKING_RAD: f64 = 0.01;

/// A motion that repeats itself after two beats.
#[derive(Clone, Debug)]
pub struct Steady {
    /// Where it begins: entry pallet locked, the balance at its extreme.
    pub state: State,
    /// Duration of both beats.
    pub period_s: f64,
    /// The beats of both pallets.
    pub beats: [Beat; 2],
    /// Work of the drive and losses over both beats, by `Place`.
    pub work_j: Works,
    /// Change of energy over both beats; it would vanish were the motion exactly its own repeat.
    pub energy_change_j: f64,
    /// What is left of a small departure after two beats, a part of it.
    pub slope_ratio: f64,
    /// Maps of two beats played to find it.
    pub maps: usize,
}

impl Steady {
    /// Mean of the amplitudes on both sides of the spring's rest.
    pub fn amplitude_rad(&self) -> f64 {
        0.5 * (self.beats[0].extreme_rad - self.beats[1].extreme_rad).abs()
    }
}

/// Why there is no steady motion.
#[derive(Clone, Debug)]
pub enum NotSteady {
    /// No tooth locks: there is no state to begin with.
    DoesNotLock,
    /// A motion of two beats came to an end of its own.
    Ended(Box<Motion>),
    /// After two beats the wheel has not advanced by one tooth, or the lever is not where it was.
    OutOfStep(Box<Motion>),
    /// The search was given up with amplitudes still changing by so much.
    Unsettled {
        /// Last amplitude.
        amplitude_rad: f64,
        /// Its change over two beats.
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
    /// Finds the steady motion near an amplitude of 270 deg, teeth alike.
    ///
    /// The map of two beats is one of amplitudes: at the balance's extreme wheel and lever rest. Its fixed point is
    /// sought in the square of the amplitude, in which it is nearly straight, first by twice the slope that the balance's
    /// losses alone would give, then by secants.
    ///
    /// # Errors
    /// [`NotSteady`], with what was played.
    ///
    /// # Accuracy
    /// The amplitude repeats to 1e-4 deg after two beats; what the integration adds, see `Options`.
    pub fn steady(&self, options: Options) -> Result<Steady, NotSteady> {
        let balance = &self.dynamics.balance;
        let mut at = BEGIN_RAD * BEGIN_RAD;
        let mut before: Option<(f64, f64)> = None;
        // An amplitude from which it does not go on.
        let mut stops: Option<(f64, NotSteady)> = None;
        let mut slope = BEGIN_SLOPE_RATIO * (-TAU / balance.quality_ratio(BEGIN_RAD)).exp_m1();
        for maps in 1..=MOST_MAPS {
            let amplitude_rad = at.sqrt();
            let from = self.locked(Pallet::Entry, amplitude_rad).ok_or(NotSteady::DoesNotLock)?;
            let motion = self.play(&from, 2, options);
            let played = motion.ending == Ending::Played;
            if !played || !self.in_step(&from, &motion.state) {
                let motion = Box::new(motion);
                let why = if played { NotSteady::OutOfStep(motion) } else { NotSteady::Ended(motion) };
                // Perhaps it was a step too far down: half the way back to where two beats were played.
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
                let played = beats(&motion.events, Pallet::Entry);
                let &[first, second] = played.as_slice() else { return Err(NotSteady::OutOfStep(Box::new(motion))) };
                return Ok(Steady {
                    state: from,
                    period_s: motion.state.t_s,
                    beats: [first, second],
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

    /// Whether a state is that of before, one tooth on.
    fn in_step(&self, from: &State, to: &State) -> bool {
        let by_rad = to.wheel_rad - from.wheel_rad + self.scene.pitch_rad;
        by_rad.abs() < OTHER_TOOTH_RATIO * self.scene.pitch_rad
            && (to.lever_rad - from.lever_rad).abs() < OTHER_BANKING_RAD
    }
}
