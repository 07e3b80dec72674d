//! The lift by which the sound tells the true amplitude.

use ::beat::{Shock, lift_rad};
use movement::Pallet;

use crate::beat::Beat;
use crate::steady::Steady;

impl Steady {
    /// The lift with which the amplitude that is read from the first shock to `until` is the true one, of the beats of one
    /// pallet or of both; `None` where a shock did not come.
    ///
    /// # Properties
    /// By this lift the mean of the beats' amplitudes by the sound is [`Steady::amplitude_rad`]: `tests/lift.rs`.
    ///
    /// # Source
    /// Derived in docs/theory/beats.md, B4.
    pub fn effective_lift_rad(&self, until: Shock, pallet: Option<Pallet>) -> Option<f64> {
        let own = |beat: &&Beat| pallet.is_none_or(|p| p == beat.pallet);
        let at = |beat: &Beat| match until {
            Shock::Unlocking => beat.unlocking_s,
            Shock::Impulse => beat.impulse_s,
            Shock::Catch => beat.catch_s,
            Shock::Drop => beat.drop_s,
            Shock::Banking => beat.banking_s,
        };
        let each: Option<Vec<f64>> = self
            .beats
            .iter()
            .filter(own)
            .map(|beat| Some(lift_rad(self.amplitude_rad(), at(beat)? - beat.unlocking_s?, self.period_s)))
            .collect();
        // Amplitudes by the sound are as the reciprocals of these, and it is their mean that is to be the true one.
        let each = each.filter(|each| !each.is_empty() && each.iter().all(|lift_rad| *lift_rad > 0.0))?;
        Some(each.len() as f64 / each.iter().map(|lift_rad| 1.0 / lift_rad).sum::<f64>())
    }
}
