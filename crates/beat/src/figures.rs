//! The figures of a train. Formulas and their assumptions: docs/theory/beats.md.

use std::f64::consts::PI;

use crate::error::Error;
use crate::line::{Line, Point};
use crate::train::{Beat, BeatTrain, Shock, Side};

/// A value and its standard error, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value_si: f64,
    /// What the standard errors of the instants make of it; 0 where these are 0.
    pub sigma_si: f64,
}

/// What a train is held against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Listening {
    nominal_beat_s: f64,
    free_beat_s: Option<f64>,
    lift: Option<(f64, Shock)>,
}

impl Listening {
    /// # Arguments
    /// `nominal_beat_s`: duration of a nominal beat; more than 0.
    pub fn new(nominal_beat_s: f64) -> Listening {
        Listening { nominal_beat_s, free_beat_s: None, lift: None }
    }

    /// Also against the free balance, whose beat at the same amplitude is `beat_s`; more than 0.
    pub fn free(self, beat_s: f64) -> Listening {
        Listening { free_beat_s: Some(beat_s), ..self }
    }

    /// Amplitude read from the first shock to `until`, between which the balance is taken to turn by `lift_rad`; more than
    /// 0.
    pub fn lift(self, lift_rad: f64, until: Shock) -> Listening {
        Listening { lift: Some((lift_rad, until)), ..self }
    }

    fn check(&self) -> Result<(), Error> {
        let more_than_0 = [
            ("nominal beat", Some(self.nominal_beat_s), "s"),
            ("beat of the free balance", self.free_beat_s, "s"),
            ("lift", self.lift.map(|(lift_rad, _)| lift_rad), "rad"),
        ];
        for (what, value, unit) in more_than_0 {
            if let Some(value_si) = value.filter(|v| !(*v > 0.0 && v.is_finite())) {
                return Err(Error::Value { what, value_si, unit, needs: "more than 0" });
            }
        }
        Ok(())
    }
}

/// Figures of a train.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// First shocks that they rest on.
    pub beat_count: usize,
    /// Mean beat.
    pub beat_s: Estimate,
    /// Gain over the nominal beat, a part of the time; times 86,400 s per day.
    pub rate_ratio: Estimate,
    /// Gain over the free balance, where that is known.
    pub rate_against_free_ratio: Option<Estimate>,
    /// Amplitude by the sound: [`amplitude_rad`] of each beat, their mean.
    pub amplitude_rad: Option<Estimate>,
    /// Mean of the true amplitudes, where a model knows them.
    pub true_amplitude_rad: Option<f64>,
    /// Half the difference of two successive beats, always positive.
    pub beat_error_s: Estimate,
    /// Angle by which the balance is out of beat, by the true amplitude or else the one by the sound: positive where the
    /// beat that begins with side A, or with the entry pallet where that is known, is the longer one. Then, seen from
    /// the bridge side, the jewel stands anticlockwise of the middle with the balance at rest.
    pub beat_angle_rad: Option<f64>,
}

/// Amplitude from the time between two shocks between which the balance turns by the lift, about its middle; infinite
/// where that is no time.
///
/// # Source
/// Derived in docs/theory/beats.md, B1.
pub fn amplitude_rad(lift_rad: f64, between_s: f64, period_s: f64) -> f64 {
    0.5 * lift_rad / (PI * between_s / period_s).sin()
}

/// The lift with which [`amplitude_rad`] gives this amplitude: the turn of a sine about its middle in that time.
///
/// # Source
/// Derived in docs/theory/beats.md, B4.
pub fn lift_rad(amplitude_rad: f64, between_s: f64, period_s: f64) -> f64 {
    2.0 * amplitude_rad * (PI * between_s / period_s).sin()
}

/// Angle by which the balance is out of beat, from the signed half difference of two beats, each from one first shock to
/// the next. `lift_rad` is 0 where the instants are those of the middle.
///
/// # Source
/// Derived in docs/theory/beats.md, B2.
pub fn beat_angle_rad(beat_error_s: f64, amplitude_rad: f64, lift_rad: f64, period_s: f64) -> f64 {
    let phase_rad = PI * beat_error_s / period_s;
    let off = 0.5 * lift_rad / (amplitude_rad * phase_rad.cos());
    amplitude_rad * phase_rad.sin() * (1.0 - off * off).max(0.0).sqrt()
}

/// Makes figures of a train.
///
/// # Errors
/// [`Error::Value`], [`Error::Order`] for a train or a setting that is none; [`Error::TooFew`] where beats and sides do not
/// tell rate and beat error apart.
///
/// # Properties
/// A train that is late as a whole, or begins with another even number, has the same figures. Where only some instants
/// have a standard error of 0, these count alone.
pub fn figures(train: &BeatTrain, listening: &Listening) -> Result<Figures, Error> {
    listening.check()?;
    check(&train.beats)?;
    let first: Vec<(&Beat, crate::Timed)> =
        train.beats.iter().filter_map(|b| b.at(Shock::Unlocking).map(|at| (b, at))).collect();
    let exact = first.iter().any(|(_, at)| at.sigma_s == 0.0);
    let kept: Vec<_> = first.into_iter().filter(|(_, at)| !exact || at.sigma_s == 0.0).collect();
    let counts = Side::BOTH.map(|side| kept.iter().filter(|(b, _)| b.side == side).count());
    let from = kept.first().map_or((0, 0.0), |(b, at)| (b.number, at.t_s));
    let points: Vec<Point> = kept
        .iter()
        .map(|(b, at)| Point {
            number: (b.number - from.0) as f64,
            side: if b.side == Side::A { 1.0 } else { -1.0 },
            t_s: at.t_s - from.1,
            weight: if exact { 1.0 } else { at.sigma_s.powi(-2) },
        })
        .collect();
    let line = Line::fit(&points).ok_or(Error::TooFew { counts })?;
    if line.step_s <= 0.0 {
        return Err(Error::Value { what: "mean beat", value_si: line.step_s, unit: "s", needs: "more than 0" });
    }
    let sigma = |variance: f64| if exact { 0.0 } else { variance.sqrt() };
    let beat_s = Estimate { value_si: line.step_s, sigma_si: sigma(line.step_s2) };
    let against = |nominal_s: f64| Estimate {
        value_si: (nominal_s - beat_s.value_si) / beat_s.value_si,
        sigma_si: nominal_s * beat_s.sigma_si / (beat_s.value_si * beat_s.value_si),
    };
    // From A to B it is a step less twice what they are apart, from B to A as much more.
    let signed_s = -2.0 * line.apart_s;
    let period_s = 2.0 * beat_s.value_si;
    let amplitude_rad = listening.lift.and_then(|(lift_rad, until)| heard(train, lift_rad, until, period_s));
    let truth: Vec<f64> = train.beats.iter().filter_map(|b| b.amplitude_rad).collect();
    let true_amplitude_rad = (!truth.is_empty()).then(|| truth.iter().sum::<f64>() / truth.len() as f64);
    let swing_rad = true_amplitude_rad.or(amplitude_rad.map(|a| a.value_si));
    let sense = if train.entry == Some(Side::B) { -1.0 } else { 1.0 };
    let lift_rad = listening.lift.map_or(0.0, |(lift_rad, _)| lift_rad);
    Ok(Figures {
        beat_count: kept.len(),
        beat_s,
        rate_ratio: against(listening.nominal_beat_s),
        rate_against_free_ratio: listening.free_beat_s.map(against),
        amplitude_rad,
        true_amplitude_rad,
        beat_error_s: Estimate { value_si: signed_s.abs(), sigma_si: 2.0 * sigma(line.apart_s2) },
        beat_angle_rad: swing_rad.map(|swing_rad| sense * beat_angle_rad(signed_s, swing_rad, lift_rad, period_s)),
    })
}

fn check(beats: &[Beat]) -> Result<(), Error> {
    let mut before = None;
    for beat in beats {
        if before.is_some_and(|n| n >= beat.number) || beat.side != Side::of(beat.number) {
            return Err(Error::Order { number: beat.number });
        }
        before = Some(beat.number);
        for at in beat.shocks.iter().flatten() {
            if !at.t_s.is_finite() {
                return Err(Error::Value { what: "instant", value_si: at.t_s, unit: "s", needs: "a finite number" });
            }
            if !(at.sigma_s >= 0.0 && at.sigma_s.is_finite()) {
                let needs = "0 or more";
                return Err(Error::Value {
                    what: "standard error of an instant",
                    value_si: at.sigma_s,
                    unit: "s",
                    needs,
                });
            }
        }
        if let Some(value_si) = beat.amplitude_rad.filter(|a| !(*a > 0.0 && a.is_finite())) {
            return Err(Error::Value { what: "true amplitude", value_si, unit: "rad", needs: "more than 0" });
        }
    }
    Ok(())
}

/// Mean amplitude of the beats of which both shocks are known, one after the other.
fn heard(train: &BeatTrain, lift_rad: f64, until: Shock, period_s: f64) -> Option<Estimate> {
    let each: Vec<(f64, f64)> = train
        .beats
        .iter()
        .filter_map(|b| {
            let (from, to) = (b.at(Shock::Unlocking)?, b.at(until)?);
            let between_s = to.t_s - from.t_s;
            let value = amplitude_rad(lift_rad, between_s, period_s);
            // dA/dt = -A pi/T cot(pi t/T).
            let slope = value * PI / period_s / (PI * between_s / period_s).tan();
            (between_s > 0.0 && between_s < 0.5 * period_s)
                .then_some((value, (slope * from.sigma_s.hypot(to.sigma_s)).powi(2)))
        })
        .collect();
    let count = each.len() as f64;
    (!each.is_empty()).then(|| Estimate {
        value_si: each.iter().map(|(value, _)| value).sum::<f64>() / count,
        sigma_si: each.iter().map(|(_, variance)| variance).sum::<f64>().sqrt() / count,
    })
}
