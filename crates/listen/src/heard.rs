//! What was heard: beats, and the figures that they bear out; or why there are none.

use std::f64::consts::PI;

use beat::{Beat, BeatTrain, Figures, Listening, Shock, Side, Timed, figures};

use crate::known::Known;
use crate::refusal::Refusal;
use crate::scatter::{Between, LEAST_SIGMA_S, Scatter};
use crate::shocks::{Shocks, has_first};

/// Beats an hour that are usual: common practice, no source.
const USUAL_PER_HOUR: [f64; 9] =
    [12_000.0, 14_400.0, 16_200.0, 18_000.0, 19_800.0, 21_600.0, 25_200.0, 28_800.0, 36_000.0];
/// A beat is taken for a usual one that is off by so little, a part: 300 s/d, chosen.
const USUAL_RATIO: f64 = 300.0 / 86_400.0;
/// So many beats have to be heard, and this part of those there were.
const LEAST_BEATS: usize = 12;
const LEAST_HEARD_RATIO: f64 = 0.6;
/// What is longer than this without a beat is a gap, s: chosen.
const GAP_S: f64 = 8.0;
/// Portraits whose shocks are known worse than the best one's by this much time no beats: chosen.
const WORSE_RATIO: f64 = 6.0;
/// Beats are no more irregular than this, as a part of a beat: chosen, ten times what an escapement's are.
const IRREGULAR_RATIO: f64 = 0.01;
/// Slower than 15,000 an hour a beat has several noises and its two sides sound unlike: a click that is always the same is
/// none of an escapement's.
const SLOW_S: f64 = 0.24;
/// Amplitudes that are given, rad: 70 to 370 deg, chosen; beyond, noises were taken for others.
const AMPLITUDES_RAD: [f64; 2] = [1.2, 6.46];
/// Where two shocks begin is uncertain by so much in common, however often they are heard: each grows in its own way from
/// its beginning. Chosen, by sounds of which everything is known.
const BEGINS_SIGMA_S: f64 = 20e-6;

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
    /// Which portraits it was heard with.
    pub(crate) made: usize,
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
    /// What else was heard in it, where the sound changed on the way, as when the watch is moved. The numbers of beats go
    /// on, and so do the sides, as long as it does.
    pub others: Vec<Heard>,
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
    pub(crate) fn new(known: &Known, lasts_s: f64) -> Result<Heard, Refusal> {
        let (beats, made, rate_hz) = (&known.beats, &known.made, known.envelope.rate_hz);
        let of = beats.first().zip(beats.last()).map_or(0, |(a, b)| (b.number - a.number + 1) as usize);
        let beat_s = beats.first().zip(beats.last()).map_or(0.0, |(a, b)| (b.at_s - a.at_s) / (of.max(2) - 1) as f64);
        // Where there is nothing for long, as when it was laid aside, nothing was missed.
        let gap = |pair: &[HeardBeat]| (pair[1].number - pair[0].number - 1) as usize;
        let gaps: usize = beats.windows(2).map(gap).filter(|&n| n as f64 * beat_s > GAP_S).sum();
        if beats.len() < LEAST_BEATS || (beats.len() as f64) < LEAST_HEARD_RATIO * (of - gaps) as f64 {
            return Err(Refusal::TooFewHeard { heard: beats.len(), of });
        }
        // Beats are timed by their first noise where those of most have one; the others are left out then.
        let with_first = beats.iter().filter(|b| has_first(&made[b.made])).count();
        let by_first = 2 * with_first > beats.len();
        let sigma_of = |[a, b]: &[Shocks; 2]| {
            if by_first { a.first_sigma.hypot(b.first_sigma) } else { a.drop_sigma.hypot(b.drop_sigma) }
        };
        let able = |m: &&[Shocks; 2]| !by_first || has_first(m);
        let best = made.iter().filter(able).map(sigma_of).fold(f64::INFINITY, f64::min);
        let times = |m: &[Shocks; 2]| able(&m) && (sigma_of(m) <= WORSE_RATIO * best || best.is_infinite());
        let named = |b: &HeardBeat| {
            let own = &made[b.made][usize::from(b.side == Side::B)];
            let at = if by_first { own.first_half } else { Some(own.drop_half) };
            at.filter(|_| times(&made[b.made]))
        };
        if beat_s > SLOW_S && !by_first && known.sides.same {
            return Err(Refusal::Clicks { per_hour: 3600.0 / beat_s });
        }
        let own = Scatter::of(beats, |b| Some(b.at_s + named(b)? / rate_hz));
        let (scatter_s, together_ratio) = (own.sigma_s, own.together_ratio);
        if scatter_s > IRREGULAR_RATIO * beat_s {
            return Err(Refusal::Irregular { scatter_s });
        }
        let betweens = [Side::A, Side::B].map(|side| Between::of(beats.iter().filter(|b| b.side == side)));
        // A beat is timed by all of its portrait; its first noise, or else its drop, is where it is in that.
        let timed = beats.iter().map(|b| {
            let side = usize::from(b.side == Side::B);
            let t_s = named(b).map(|at| b.at_s + at / rate_hz);
            let at = t_s.filter(|t| own.keeps(b, *t)).map(|t_s| Timed { t_s, sigma_s: scatter_s.max(LEAST_SIGMA_S) });
            let until = b.first_s.zip(b.drop_s).map(|(first_s, drop_s)| drop_s - first_s);
            let drop = until.filter(|t| betweens[side].keeps(*t)).zip(t_s).map(|(between_s, t_s)| Timed {
                t_s: t_s + between_s,
                sigma_s: betweens[side].sigma_s.max(LEAST_SIGMA_S),
            });
            Beat::new(b.number, b.side).with(Shock::Unlocking, at).with(Shock::Drop, drop)
        });
        let train = BeatTrain { beats: timed.collect(), entry: None };
        let sides = [0, 1].map(|side| {
            let (portrait, shocks) = (&known.sides.portraits[side], &known.sides.shocks[side]);
            SideHeard {
                loudness: portrait.mean.clone(),
                first_at_s: -(portrait.before as f64 + shocks.drop) / rate_hz,
                each_s: 1.0 / rate_hz,
                first_s: shocks.first.map(|first| (first - shocks.drop) / rate_hz),
            }
        });
        // What portraits are uncertain by, of one another independent.
        let of_both = |read: fn(&Shocks) -> f64| {
            let own = made.iter().filter(|m| times(m));
            let (sum, count) =
                own.fold((0.0, 0.0), |(sum, count), [a, b]| (sum + read(a) * read(a) + read(b) * read(b), count + 1.0));
            sum.sqrt() / count / rate_hz
        };
        // Where both have a first noise at unlike times before the drop, either may be another one on the other side.
        let unlike = |[a, b]: &[Shocks; 2]| Some(((a.drop - a.first?) - (b.drop - b.first?)).abs() / rate_hz);
        let unlike_s = made.iter().filter_map(unlike).fold(0.0, f64::max);
        Ok(Heard {
            sides,
            edges_hz: known.edges_hz,
            lasts_s,
            clear: f64::from(known.clear),
            has_first: by_first,
            scatter_s,
            together_ratio,
            named_sigma_s: of_both(if by_first { |s| s.first_sigma } else { |s| s.drop_sigma }).hypot(if by_first {
                0.0
            } else {
                unlike_s
            }),
            between_sigma_s: 0.5 * of_both(|s| s.between_sigma),
            train,
            others: Vec::new(),
            beats: beats.clone(),
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
            own.sigma_si =
                (own.sigma_si * self.together_ratio).hypot(slope * self.between_sigma_s.hypot(BEGINS_SIGMA_S));
        }
        made.amplitude_rad =
            made.amplitude_rad.filter(|a| (AMPLITUDES_RAD[0]..AMPLITUDES_RAD[1]).contains(&a.value_si));
        Some(made)
    }
}
