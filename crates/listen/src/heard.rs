//! What was heard: beats, and the figures that they bear out; or why there are none.

use std::f64::consts::PI;
use std::fmt;

use beat::{Beat, BeatTrain, Figures, Listening, Shock, Side, Timed, figures};

use crate::portrait::Portrait;
use crate::shocks::Shocks;

/// Beats an hour that are usual: common practice, no source.
const USUAL_PER_HOUR: [f64; 9] =
    [12_000.0, 14_400.0, 16_200.0, 18_000.0, 19_800.0, 21_600.0, 25_200.0, 28_800.0, 36_000.0];
/// A beat is taken for a usual one that is off by so little, a part: 300 s/d, chosen.
const USUAL_RATIO: f64 = 300.0 / 86_400.0;
/// So many beats have to be heard, and this part of those there were.
const LEAST_BEATS: usize = 12;
const LEAST_HEARD_RATIO: f64 = 0.6;
/// Beats are no more irregular than this, as a part of a beat: chosen, ten times what an escapement's are.
const IRREGULAR_RATIO: f64 = 0.01;
/// Slower than 15,000 an hour a beat has several noises, or its two sides sound unlike: a click that is always the same is
/// none of an escapement's. Portraits that are more alike than this are the same: chosen.
const SLOW_S: f64 = 0.24;
const SAME_LIKE: f32 = 0.95;
/// Amplitudes that are given, rad: 70 to 370 deg, chosen; beyond, noises were taken for others.
const AMPLITUDES_RAD: [f64; 2] = [1.2, 6.46];
/// The times between first noise and drop of the two sides differ by no more than this part of their sum: chosen, four
/// times what their amplitudes do.
const UNLIKE_RATIO: f64 = 0.06;
/// Standard errors of an instant are no smaller than this, s: a tenth of a value of the loudness, chosen.
const LEAST_SIGMA_S: f64 = 2e-6;
/// Neighbours up to so many beats apart are looked at for what they have in common.
const NEIGHBOURS: usize = 12;

/// A beat as it was heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeardBeat {
    /// Its number; beats that were not heard leave theirs out.
    pub number: u64,
    /// Its side.
    pub side: Side,
    /// When it was, by its whole portrait, from the beginning of the recording.
    pub at_s: f64,
    /// How like its portrait it is, -1 to 1.
    pub like: f32,
    /// When its first noise began, where that is one of its own.
    pub first_s: Option<f64>,
    /// When its drop began.
    pub drop_s: Option<f64>,
}

/// Mean beat of a side.
#[derive(Clone, Debug)]
pub struct SideHeard {
    /// Square root of the loudness, the loudest about 1.
    pub loudness: Vec<f32>,
    /// Instants of `loudness`, s from the drop.
    pub first_at_s: f64,
    /// From one to the next.
    pub each_s: f64,
    /// When its first noise begins, from the drop; `None` where it is not one of its own.
    pub first_s: Option<f64>,
}

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

/// What was heard.
#[derive(Clone, Debug)]
pub struct Heard {
    /// Every beat.
    pub beats: Vec<HeardBeat>,
    /// Their mean, by side.
    pub sides: [SideHeard; 2],
    /// Edges of the band in which it was heard.
    pub edges_hz: [f64; 2],
    /// Duration of the recording.
    pub lasts_s: f64,
    /// How clearly its beats return, 0 to 1.
    pub clear: f64,
    /// Whether both sides have a first noise of their own.
    pub has_first: bool,
    /// Standard error of an instant, and what neighbours have in common makes of it: as if there were so many fewer.
    pub scatter_s: f64,
    /// A ratio, 1 or more.
    pub together_ratio: f64,
    /// Standard errors that all beats have in common, from where the portraits have their shocks.
    named_sigma_s: f64,
    between_sigma_s: f64,
    train: BeatTrain,
}

impl Heard {
    #[allow(clippy::too_many_arguments)]
    pub(crate) fn new(
        beats: Vec<HeardBeat>,
        portraits: &[Portrait; 2],
        shocks: &[Shocks; 2],
        rate_hz: f64,
        edges_hz: [f64; 2],
        lasts_s: f64,
        clear: f32,
    ) -> Result<Heard, Refusal> {
        let of = beats.first().zip(beats.last()).map_or(0, |(a, b)| (b.number - a.number + 1) as usize);
        if beats.len() < LEAST_BEATS || (beats.len() as f64) < LEAST_HEARD_RATIO * of as f64 {
            return Err(Refusal::TooFewHeard { heard: beats.len(), of });
        }
        // A first noise that is at another time before the drop on the two sides was not the same one.
        let betweens = shocks.map(|s| s.first.map(|first| s.drop - first));
        let has_first = matches!(betweens, [Some(a), Some(b)] if (a - b).abs() < UNLIKE_RATIO * (a + b));
        let named = |s: &Shocks| s.first.filter(|_| has_first).unwrap_or(s.drop);
        let beat_s = (beats[beats.len() - 1].at_s - beats[0].at_s) / (of - 1) as f64;
        let alike = alike(portraits);
        if beat_s > SLOW_S && alike > SAME_LIKE && shocks.iter().all(|s| s.first.is_none()) {
            return Err(Refusal::Clicks { per_hour: 3600.0 / beat_s });
        }
        let own = Scatter::of(&beats, |b| Some(b.at_s));
        let (scatter_s, together_ratio) = (own.sigma_s, own.together_ratio);
        if scatter_s > IRREGULAR_RATIO * beat_s {
            return Err(Refusal::Irregular { scatter_s });
        }
        let betweens = [Side::A, Side::B].map(|side| Between::of(beats.iter().filter(|b| b.side == side)));
        // A beat is timed by all of its portrait; its first noise, or else its drop, is where it is in that.
        let made = beats.iter().map(|b| {
            let side = usize::from(b.side == Side::B);
            let t_s = b.at_s + named(&shocks[side]) / rate_hz;
            let at = own.keeps(b).then_some(Timed { t_s, sigma_s: scatter_s.max(LEAST_SIGMA_S) });
            let until = b.first_s.zip(b.drop_s).map(|(first_s, drop_s)| drop_s - first_s);
            let drop = until
                .filter(|t| betweens[side].keeps(*t))
                .map(|between_s| Timed { t_s: t_s + between_s, sigma_s: betweens[side].sigma_s.max(LEAST_SIGMA_S) });
            Beat::new(b.number, b.side).with(Shock::Unlocking, at).with(Shock::Drop, drop)
        });
        let train = BeatTrain { beats: made.collect(), entry: None };
        let sides = [0, 1].map(|i| SideHeard {
            loudness: portraits[i].mean.clone(),
            first_at_s: -(portraits[i].before as f64 + shocks[i].drop) / rate_hz,
            each_s: 1.0 / rate_hz,
            first_s: shocks[i].first.map(|first| (first - shocks[i].drop) / rate_hz),
        });
        Ok(Heard {
            beats,
            sides,
            edges_hz,
            lasts_s,
            clear: f64::from(clear),
            has_first,
            scatter_s,
            together_ratio,
            named_sigma_s: 1.0 / rate_hz * shocks[0].sigma.hypot(shocks[1].sigma),
            between_sigma_s: 0.5 / rate_hz * shocks[0].between_sigma.hypot(shocks[1].between_sigma),
            train,
        })
    }

    /// The usual count of beats an hour that it is near, where it is near one.
    pub fn usual_per_hour(&self) -> Option<f64> {
        let beat_s = self.figures(1.0, None)?.beat_s.value_si;
        USUAL_PER_HOUR.into_iter().find(|n| (3600.0 / n / beat_s - 1.0).abs() < USUAL_RATIO)
    }

    /// Figures against a nominal beat; the amplitude where a lift is given and the record bears one out.
    ///
    /// # Properties
    /// Standard errors come from the scatter of the instants about a straight line, larger where neighbours have it in
    /// common.
    pub fn figures(&self, nominal_beat_s: f64, lift_rad: Option<f64>) -> Option<Figures> {
        let listening = Listening::new(nominal_beat_s);
        let listening = match lift_rad {
            Some(lift_rad) if self.has_first => listening.lift(lift_rad, Shock::Drop),
            _ => listening,
        };
        let mut made = figures(&self.train, &listening).ok()?;
        for own in [&mut made.beat_s, &mut made.rate_ratio, &mut made.beat_error_s] {
            own.sigma_si *= self.together_ratio;
        }
        made.beat_error_s.sigma_si = made.beat_error_s.sigma_si.hypot(self.named_sigma_s);
        if let Some((own, lift_rad)) = made.amplitude_rad.as_mut().zip(lift_rad) {
            // dA/dt as in `beat`.
            let phase_rad = (0.5 * lift_rad / own.value_si).min(1.0).asin();
            let slope = own.value_si * PI / (2.0 * made.beat_s.value_si) / phase_rad.tan();
            own.sigma_si = (own.sigma_si * self.together_ratio).hypot(slope * self.between_sigma_s);
        }
        made.amplitude_rad =
            made.amplitude_rad.filter(|a| (AMPLITUDES_RAD[0]..AMPLITUDES_RAD[1]).contains(&a.value_si));
        Some(made)
    }
}

/// How like one another two portraits are, at best.
fn alike(portraits: &[Portrait; 2]) -> f32 {
    let [a, b] = portraits;
    let inner = a.part(-(a.before as isize) / 2, a.mean.len() / 2);
    inner.find(&b.mean, b.before as f64, a.before / 10).map_or(0.0, |m| m.like)
}

/// How instants scatter about a straight line, sides apart.
struct Scatter {
    sigma_s: f64,
    together_ratio: f64,
    step_s: f64,
    start_s: [f64; 2],
}

/// Instants farther off than this many standard errors were taken for others: chosen.
const FAR_RATIO: f64 = 5.0;

impl Scatter {
    fn of(beats: &[HeardBeat], read: impl Fn(&HeardBeat) -> Option<f64>) -> Scatter {
        let side = |b: &HeardBeat| usize::from(b.side == Side::B);
        let all: Vec<(f64, usize, f64)> =
            beats.iter().filter_map(|b| Some((b.number as f64, side(b), read(b)?))).collect();
        let mut out = Scatter { sigma_s: f64::INFINITY, together_ratio: 1.0, step_s: 0.0, start_s: [0.0; 2] };
        let mut kept = all.clone();
        for round in 0..4 {
            if kept.len() < 6 || (0..2).any(|s| kept.iter().filter(|p| p.1 == s).count() < 2) {
                return Scatter { sigma_s: f64::INFINITY, ..out };
            }
            let mut means = [(0.0, 0.0, 0.0); 2];
            for &(n, s, t) in &kept {
                let m = &mut means[s];
                (m.0, m.1, m.2) = (m.0 + 1.0, m.1 + n, m.2 + t);
            }
            let means = means.map(|(count, n, t)| (n / count, t / count));
            let (nn, nt) = kept.iter().fold((0.0, 0.0), |a, &(n, s, t)| {
                let x = n - means[s].0;
                (a.0 + x * x, a.1 + x * (t - means[s].1))
            });
            out.step_s = nt / nn;
            out.start_s = means.map(|(n, t)| t - n * out.step_s);
            let off = |p: &(f64, usize, f64)| p.2 - out.start_s[p.1] - p.0 * out.step_s;
            let mut sizes: Vec<f64> = kept.iter().map(|p| off(p).abs()).collect();
            let middle = sizes.len() / 2;
            // Of a normal law the middle size is 0.6745 of its standard error.
            let sigma_s = *sizes.select_nth_unstable_by(middle, f64::total_cmp).1 / 0.6745;
            out.sigma_s = sigma_s;
            if round < 3 {
                kept = all.iter().copied().filter(|p| off(p).abs() <= FAR_RATIO * sigma_s.max(LEAST_SIGMA_S)).collect();
            } else {
                let offs: Vec<f64> = kept.iter().map(off).collect();
                let square = offs.iter().map(|o| o * o).sum::<f64>();
                out.sigma_s = (square / (offs.len() as f64 - 3.0).max(1.0)).sqrt();
                let with = |lag: usize| offs.iter().zip(&offs[lag.min(offs.len())..]).map(|(a, b)| a * b).sum::<f64>();
                let most = NEIGHBOURS.min(offs.len() / 4);
                // Bartlett's weights: neighbours count the less the farther apart.
                let sum: f64 = (1..=most).map(|lag| (1.0 - lag as f64 / (most + 1) as f64) * with(lag) / square).sum();
                out.together_ratio = (1.0 + 2.0 * sum).max(1.0).sqrt();
            }
        }
        out
    }

    fn keeps(&self, b: &HeardBeat) -> bool {
        let s = usize::from(b.side == Side::B);
        (b.at_s - self.start_s[s] - b.number as f64 * self.step_s).abs() <= FAR_RATIO * self.sigma_s.max(LEAST_SIGMA_S)
    }
}

/// How the time from the first noise to the drop scatters on one side.
struct Between {
    middle_s: f64,
    sigma_s: f64,
}

impl Between {
    fn of<'a>(beats: impl Iterator<Item = &'a HeardBeat>) -> Between {
        let mut all: Vec<f64> = beats.filter_map(|b| Some(b.drop_s? - b.first_s?)).collect();
        let middle = all.len() / 2;
        let Some((middle_s, mut sizes)) = (all.len() > 2).then(|| {
            let middle_s = *all.select_nth_unstable_by(middle, f64::total_cmp).1;
            (middle_s, all.iter().map(|t| (t - middle_s).abs()).collect::<Vec<f64>>())
        }) else {
            return Between { middle_s: 0.0, sigma_s: 0.0 };
        };
        let sigma_s = *sizes.select_nth_unstable_by(middle, f64::total_cmp).1 / 0.6745;
        Between { middle_s, sigma_s }
    }

    fn keeps(&self, between_s: f64) -> bool {
        (between_s - self.middle_s).abs() <= FAR_RATIO * self.sigma_s.max(LEAST_SIGMA_S)
    }
}
