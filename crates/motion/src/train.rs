//! Stage 5 — the beats of a motion as a train, such as a recording gives.

use ::beat::{BeatTrain, Shock, Side, Timed};
use movement::Pallet;

use crate::beat::Beat;
use crate::steady::Steady;

/// The train of whole beats that follow one another, their instants exact and their amplitudes known.
pub fn train(beats: &[Beat]) -> BeatTrain {
    let heard = |(number, beat): (usize, &Beat)| {
        let number = number as u64;
        let at = |t_s: Option<f64>| t_s.map(|t_s| Timed { t_s, sigma_s: 0.0 });
        ::beat::Beat {
            amplitude_rad: Some(beat.extreme_rad.abs()).filter(|rad| *rad > 0.0),
            ..::beat::Beat::new(number, Side::of(number))
                .with(Shock::Unlocking, at(beat.unlocking_s))
                .with(Shock::Impulse, at(beat.impulse_s))
                .with(Shock::Catch, at(beat.catch_s))
                .with(Shock::Drop, at(beat.drop_s))
                .with(Shock::Banking, at(beat.banking_s))
        }
    };
    let entry = beats.first().map(|b| if b.pallet == Pallet::Entry { Side::A } else { Side::B });
    BeatTrain { beats: beats.iter().enumerate().map(heard).collect(), entry }
}

impl Steady {
    /// What follows one another when it repeats itself once.
    pub fn train(&self) -> BeatTrain {
        let repeat_s = self.period_s * self.oscillations() as f64;
        let later = |b: &Beat| {
            let add = |t_s: Option<f64>| t_s.map(|t_s| t_s + repeat_s);
            Beat {
                unlocking_s: add(b.unlocking_s),
                advance_s: add(b.advance_s),
                impulse_s: add(b.impulse_s),
                catch_s: add(b.catch_s),
                drop_s: add(b.drop_s),
                banking_s: add(b.banking_s),
                extreme_s: b.extreme_s + repeat_s,
                ..*b
            }
        };
        let twice: Vec<Beat> = self.beats.iter().copied().chain(self.beats.iter().map(later)).collect();
        train(&twice)
    }
}
