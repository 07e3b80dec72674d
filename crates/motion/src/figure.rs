//! The one table of figures of a steady motion. Text, JSON, CSV, sweeps and the manual are read from it.

use ::beat::{Figures, Listening, Shock, figures};
use movement::Pallet;

use crate::alone::{Alone, Prescribed};
use crate::balance::{Balance, BalanceState};
use crate::dynamics::Place;
use crate::error::Error;
use crate::steady::Steady;

/// Unit of a figure at the edges; inside, figures are SI.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FigureUnit {
    /// Degrees; radians inside.
    Degree,
    /// Milliseconds; seconds inside.
    Millisecond,
    /// Seconds gained in a day; inside, a part of the time.
    SecondPerDay,
    /// Per cent; a ratio inside.
    Percent,
    /// A number of oscillations.
    Oscillation,
}

/// Seconds in a day, derived: 24 hours of 3600.
const DAY_S: f64 = 86_400.0;

impl FigureUnit {
    /// Value in this unit of an SI value.
    pub fn from_si(self, si: f64) -> f64 {
        match self {
            FigureUnit::Degree => si.to_degrees(),
            FigureUnit::Millisecond => si * 1e3,
            FigureUnit::SecondPerDay => si * DAY_S,
            FigureUnit::Percent => si * 100.0,
            FigureUnit::Oscillation => si,
        }
    }

    /// The sign printed after a value.
    pub fn sign(self) -> &'static str {
        match self {
            FigureUnit::Degree => "deg",
            FigureUnit::Millisecond => "ms",
            FigureUnit::SecondPerDay => "s/d",
            FigureUnit::Percent => "%",
            FigureUnit::Oscillation => "oscillations",
        }
    }

    /// Decimals shown: a hundredth of a degree and of a second a day, a tenth of a microsecond and of a per cent.
    pub fn decimals(self) -> usize {
        match self {
            FigureUnit::Degree | FigureUnit::SecondPerDay => 2,
            FigureUnit::Millisecond => 4,
            FigureUnit::Percent => 1,
            FigureUnit::Oscillation => 0,
        }
    }
}

/// What a steady motion is counted against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Duration of two nominal beats.
    pub nominal_period_s: f64,
    /// The balance.
    pub balance: Balance,
    /// Lift at the balance, to the let-off.
    pub lift_rad: f64,
    /// Lift by which an amplitude is read from the sound.
    pub heard_lift_rad: f64,
}

impl Setting {
    /// What would be heard of a steady motion, by a lift from the first shock to `until`.
    fn hear(&self, steady: &Steady, lift_rad: f64, until: Shock) -> Option<Figures> {
        let listening = Listening::new(0.5 * self.nominal_period_s).lift(lift_rad, until);
        figures(&steady.train(), &listening).ok()
    }
}

/// Where a person is shown a figure unasked; programs and sweeps have all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Always.
    Always,
    /// Of a motion that repeats itself only after a turn of the wheel.
    OverATurn,
    /// Where it is named.
    Named,
}

/// One row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Figure {
    /// Its name, which ends in its unit.
    pub path: &'static str,
    /// Unit at the edges.
    pub unit: FigureUnit,
    /// What it is, one line.
    pub definition: &'static str,
    /// Where it is shown.
    pub shown: Shown,
    value: fn(&Steady, &Setting) -> Option<f64>,
}

impl Figure {
    /// The figure with this name.
    pub fn from_path(path: &str) -> Option<&'static Figure> {
        FIGURES.iter().find(|f| f.path == path)
    }

    /// Whether a person is shown it unasked.
    pub fn is_shown(&self, steady: &Steady) -> bool {
        match self.shown {
            Shown::Always => true,
            Shown::OverATurn => steady.oscillations() > 1,
            Shown::Named => false,
        }
    }

    /// Its value, SI; `None` where the motion does not have it.
    pub fn value(&self, steady: &Steady, setting: &Setting) -> Option<f64> {
        (self.value)(steady, setting).filter(|v| v.is_finite())
    }
}

/// Duration of an oscillation of the balance by itself, without losses and without drive.
///
/// # Errors
/// Those of [`Alone::swings`].
pub fn free_period_s(balance: &Balance, amplitude_rad: f64) -> Result<f64, Error> {
    let lossless = Balance { viscous_n_m_s: 0.0, dry_n_m: 0.0, ..*balance };
    let from = BalanceState { angle_rad: -amplitude_rad, speed_rad_per_s: 0.0 };
    let swings = Alone::new(lossless, &Prescribed::default())?.swings(from, 2)?;
    Ok(swings.half_swings.iter().map(|h| h.time_s).sum())
}

fn spread(values: impl Iterator<Item = f64>) -> f64 {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    high - low
}

/// Every figure, in the order in which they are shown.
pub const FIGURES: &[Figure] = &[
    Figure {
        path: "amplitude_deg",
        unit: FigureUnit::Degree,
        definition: "Turn of the balance from the spring's rest to one side, mean of both sides and of all oscillations until the \
                     motion repeats itself",
        shown: Shown::Always,
        value: |s, _| Some(s.amplitude_rad()),
    },
    Figure {
        path: "rate_s_per_day",
        unit: FigureUnit::SecondPerDay,
        definition: "Gain in a day against the beats stated",
        shown: Shown::Always,
        value: |s, of| Some(of.nominal_period_s / s.period_s - 1.0),
    },
    Figure {
        path: "rate_against_free_s_per_day",
        unit: FigureUnit::SecondPerDay,
        definition: "Gain in a day against the balance swinging by itself at the same amplitude, without losses: what the \
                     escapement and the losses do to the rate",
        shown: Shown::Always,
        value: |s, of| Some(free_period_s(&of.balance, s.amplitude_rad()).ok()? / s.period_s - 1.0),
    },
    Figure {
        path: "beat_error_ms",
        unit: FigureUnit::Millisecond,
        definition: "Half the difference of two successive beats, each from one first shock to the next",
        shown: Shown::Always,
        value: |s, of| Some(of.hear(s, of.lift_rad, Shock::Drop)?.beat_error_s.value_si),
    },
    Figure {
        path: "beat_angle_deg",
        unit: FigureUnit::Degree,
        definition: "Angle by which the balance is out of beat, as the beat error says: positive where the beat that begins on \
                     the entry pallet is the longer one; the jewel at rest then stands anticlockwise of the middle",
        shown: Shown::Always,
        value: |s, of| of.hear(s, of.lift_rad, Shock::Drop)?.beat_angle_rad,
    },
    Figure {
        path: "amplitude_heard_to_drop_deg",
        unit: FigureUnit::Degree,
        definition: "Amplitude as it is read from the sound by `balance.heard_lift_deg`, from the first shock to the drop",
        shown: Shown::Always,
        value: |s, of| Some(of.hear(s, of.heard_lift_rad, Shock::Drop)?.amplitude_rad?.value_si),
    },
    Figure {
        path: "amplitude_heard_to_banking_deg",
        unit: FigureUnit::Degree,
        definition: "The same from the first shock to the lever meeting its banking",
        shown: Shown::Always,
        value: |s, of| Some(of.hear(s, of.heard_lift_rad, Shock::Banking)?.amplitude_rad?.value_si),
    },
    Figure {
        path: "effective_lift_to_drop_deg",
        unit: FigureUnit::Degree,
        definition: "Lift by which the amplitude read from the first shock to the drop is the true one; it changes with the amplitude",
        shown: Shown::Always,
        value: |s, _| s.effective_lift_rad(Shock::Drop, None),
    },
    Figure {
        path: "effective_lift_to_banking_deg",
        unit: FigureUnit::Degree,
        definition: "The same to the lever meeting its banking",
        shown: Shown::Always,
        value: |s, _| s.effective_lift_rad(Shock::Banking, None),
    },
    Figure {
        path: "entry.effective_lift_to_drop_deg",
        unit: FigureUnit::Degree,
        definition: "Effective lift to the drop, of the beats that begin on the entry pallet alone",
        shown: Shown::Named,
        value: |s, _| s.effective_lift_rad(Shock::Drop, Some(Pallet::Entry)),
    },
    Figure {
        path: "exit.effective_lift_to_drop_deg",
        unit: FigureUnit::Degree,
        definition: "The same of the exit pallet",
        shown: Shown::Named,
        value: |s, _| s.effective_lift_rad(Shock::Drop, Some(Pallet::Exit)),
    },
    Figure {
        path: "entry.effective_lift_to_banking_deg",
        unit: FigureUnit::Degree,
        definition: "Effective lift to the banking, of the beats that begin on the entry pallet alone",
        shown: Shown::Named,
        value: |s, _| s.effective_lift_rad(Shock::Banking, Some(Pallet::Entry)),
    },
    Figure {
        path: "exit.effective_lift_to_banking_deg",
        unit: FigureUnit::Degree,
        definition: "The same of the exit pallet",
        shown: Shown::Named,
        value: |s, _| s.effective_lift_rad(Shock::Banking, Some(Pallet::Exit)),
    },
    Figure {
        path: "period_ms",
        unit: FigureUnit::Millisecond,
        definition: "Duration of two beats, mean of all until the motion repeats itself",
        shown: Shown::Always,
        value: |s, _| Some(s.period_s),
    },
    Figure {
        path: "efficiency_percent",
        unit: FigureUnit::Percent,
        definition: "Part of what the train gives that comes to the balance, which spends it in air, hairspring and pivots",
        shown: Shown::Always,
        value: |s, _| {
            let spent_j = s.work_j[Place::Air as usize] + s.work_j[Place::BalancePivots as usize];
            Some(spent_j / s.work_j[Place::Drive as usize])
        },
    },
    Figure {
        path: "settling_oscillations",
        unit: FigureUnit::Oscillation,
        definition: "Oscillations after which a thousandth of a small departure is left",
        shown: Shown::Always,
        value: |s, _| Some(s.oscillations() as f64 * 1000.0_f64.ln() / -s.slope_ratio.ln()),
    },
    Figure {
        path: "repeat_oscillations",
        unit: FigureUnit::Oscillation,
        definition: "Oscillations after which the motion repeats itself: one, or as many as the wheel has teeth where these differ",
        shown: Shown::OverATurn,
        value: |s, _| Some(s.oscillations() as f64),
    },
    Figure {
        path: "amplitude_spread_deg",
        unit: FigureUnit::Degree,
        definition: "Largest less smallest amplitude of an oscillation until the motion repeats itself",
        shown: Shown::OverATurn,
        value: |s, _| Some(spread(s.amplitudes_rad())),
    },
    Figure {
        path: "period_spread_ms",
        unit: FigureUnit::Millisecond,
        definition: "Longest less shortest oscillation until the motion repeats itself, each from the balance's extreme to the next \
                     on that side",
        shown: Shown::OverATurn,
        value: |s, _| Some(spread(s.periods_s())),
    },
];
