//! Why there are no figures.

use std::fmt;

/// Why there are no figures.
#[non_exhaustive]
#[derive(Clone, Debug, PartialEq)]
pub enum Refusal {
    /// There is nothing to hear.
    Silent {
        /// Largest sample, full scale 1.
        loudest: f64,
    },
    /// It is over too soon.
    TooShort {
        /// Its duration.
        lasts_s: f64,
        /// What is needed.
        needs_s: f64,
    },
    /// Nothing returns in it as beats do.
    NothingReturns {
        /// How clearly what returns best does, 0 to 1.
        clear: f64,
    },
    /// What returns does so more slowly than a lever escapement beats.
    TooSlow {
        /// Beats an hour.
        beats_per_hour: f64,
    },
    /// Too few of the beats that there are can be heard.
    TooFewHeard {
        /// Beats heard, and beats there were.
        heard: usize,
        /// The latter.
        of: usize,
    },
    /// The beats come too irregularly.
    Irregular {
        /// Scatter of their instants.
        scatter_s: f64,
    },
    /// Single clicks, all the same.
    Clicks {
        /// Clicks an hour.
        per_hour: f64,
    },
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::Silent { loudest } => write!(
                f,
                "silence: the loudest sample is {loudest:.1e} of full scale; check the microphone and raise its gain"
            ),
            Refusal::TooShort { lasts_s, needs_s } => {
                write!(f, "too short: {lasts_s:.1} s; at least {needs_s:.0} s are needed, 30 s are better")
            }
            Refusal::NothingReturns { clear } => write!(
                f,
                "nothing in it returns as the beats of a watch do (clearness {clear:.2}); bring the microphone nearer, lay the \
                 watch on it, and keep noise away"
            ),
            Refusal::TooSlow { beats_per_hour } => write!(
                f,
                "it ticks {beats_per_hour:.0} times an hour, more slowly than a lever escapement (7,200 and more): a quartz \
                 movement, or another clock?"
            ),
            Refusal::TooFewHeard { heard, of } => {
                write!(f, "only {heard} of {of} beats could be heard; keep noise away and the watch still")
            }
            Refusal::Irregular { scatter_s } => write!(
                f,
                "its beats scatter by {:.2} ms, too much for a watch: perhaps two watches, or music",
                scatter_s * 1e3
            ),
            Refusal::Clicks { per_hour } => write!(
                f,
                "{per_hour:.0} single clicks an hour, all the same: no escapement, or too far from the microphone to hear its \
                 noises apart"
            ),
        }
    }
}
