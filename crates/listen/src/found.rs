//! Beats found in a stretch of sound of which nothing is known.

use crate::bands::{Bands, median};
use crate::envelope::Envelope;
use crate::fold::{fold, period_s, two_beats};
use crate::period::{BEATS_S, CLEAR, Returns, returns};
use crate::portrait::{Making, Portrait};

/// A portrait reaches ahead of its loudest by this part of a beat, and beyond by so much, s, but no more than that part:
/// chosen; at 70 deg and a lift of 54 deg the first noise is 0.25 of a beat before the drop.
const BEFORE_RATIO: f64 = 0.27;
const AFTER_S: f64 = 0.014;
const AFTER_RATIO: f64 = 0.2;
/// A beat is looked for so far from where it is awaited, s: at first, and once its portrait is known.
pub(crate) const FAR_S: [f64; 2] = [4e-3, 2e-3];
/// Rounds in which portraits and beats are made of one another.
const ROUNDS: usize = 5;
/// What is less like its portrait than this is not heard: chosen.
pub(crate) const LIKE: f32 = 0.38;
/// What is between two beats may be so like a portrait, as a part of what the beats are: chosen; hum is as like everywhere.
const BETWEEN_RATIO: f32 = 0.75;
/// Where between two beats it is looked, as parts of one from the one before.
const MIDDLE: [f64; 2] = [0.4, 0.6];

/// A beat of one side: which of them, and when, in values.
pub(crate) type Match = (u64, f64);

/// What a stretch of sound has in it.
pub(crate) struct Found {
    pub(crate) envelope: Envelope,
    pub(crate) edges_hz: [f64; 2],
    /// Square roots of the loudness of the stretch.
    pub(crate) values: Vec<f32>,
    pub(crate) line: Line,
    pub(crate) matched: [Vec<Match>; 2],
    /// What a portrait has before its own instant, and from it on, in values.
    pub(crate) reach: [usize; 2],
    pub(crate) clear: f32,
}

impl Found {
    /// Looks for beats; `best` is what returned best so far, whether or not it is a watch.
    pub(crate) fn new(sound: &[f32], rate_hz: u32, best: &mut Option<Returns>) -> Option<Found> {
        let bands = Bands::new(sound, rate_hz)?;
        let what = returns(&bands)?;
        if best.as_ref().is_none_or(|b| b.clear < what.clear) {
            *best = Some(what.clone());
        }
        if what.clear < CLEAR || what.slow() {
            return None;
        }
        let edges_hz = edges(&bands, &what.weights)?;
        let mut envelope = Envelope::new(edges_hz, rate_hz);
        let mut loud = Vec::new();
        envelope.push(sound, &mut loud);
        let rate_hz = envelope.rate_hz;
        let quiet = median(&loud).max(1e-9);
        let felt: Vec<f32> = loud.iter().map(|v| (1.0 + v / quiet).ln()).collect();
        // Where sides differ much what returns best is every second beat.
        let single_s = period_s(&felt, rate_hz, what.beat_s);
        let halved = 0.5 * single_s >= BEATS_S[0] && two_beats(&felt, rate_hz, single_s);
        let near_s = if halved { single_s } else { 2.0 * single_s };
        let period = period_s(&felt, rate_hz, near_s) * rate_hz;
        let folded = fold(&felt, rate_hz, period / rate_hz);
        let values: Vec<f32> = loud.iter().map(|v| v.sqrt()).collect();
        // Beats of A and B by their loudest at first, the earlier one first.
        let line = Line { start: folded.loudest.map(|at| at as f64), period };
        let beat = 0.5 * period;
        let reach = [(BEFORE_RATIO * beat) as usize, (AFTER_S * rate_hz).min(AFTER_RATIO * beat) as usize];
        let each = |line: &Line| {
            [0, 1].map(|side| (0..line.count(values.len())).map(|n| (n, line.at(side, n))).collect::<Vec<Match>>())
        };
        let matched = each(&line);
        let mut found = Found { envelope, edges_hz, values, line, matched, reach, clear: what.clear };
        for round in 0..ROUNDS {
            found.again((FAR_S[usize::from(round > 0)] * rate_hz) as usize)?;
        }
        found.stand_out().then_some(found)
    }

    fn portraits(&self) -> Option<[Portrait; 2]> {
        let portrait = |own: &[Match]| {
            let mut making = Making::new(self.reach);
            own.iter().for_each(|m| making.add(&self.values, m.1));
            making.done()
        };
        Some([portrait(&self.matched[0])?, portrait(&self.matched[1])?])
    }

    /// One round: portraits of the beats, beats by the portraits.
    fn again(&mut self, far: usize) -> Option<()> {
        let portraits = self.portraits()?;
        for (side, own) in self.matched.iter_mut().enumerate() {
            let whole = portraits[side].whole();
            let found = (0..self.line.count(self.values.len())).filter_map(|n| {
                let m = whole.find(&self.values, self.line.at(side, n), far)?;
                (m.like > LIKE).then_some((n, m.at))
            });
            *own = found.collect();
            if own.len() < 5 {
                return None;
            }
        }
        self.line = self.line.fitted(&self.matched)?;
        Some(())
    }

    /// Whether beats are like their portraits and what is between them is not.
    fn stand_out(&self) -> bool {
        let Some(portraits) = self.portraits() else { return false };
        let beat = 0.5 * self.line.period;
        let far = (0.5 * (MIDDLE[1] - MIDDLE[0]) * beat) as usize;
        let middle = |likes: Vec<f32>| if likes.is_empty() { 0.0 } else { median(&likes) };
        let like = |after: f64, far: usize| {
            let own = self.matched.iter().zip(&portraits).flat_map(|(own, portrait)| {
                let whole = portrait.whole();
                let near = own.iter().filter_map(|m| whole.find(&self.values, m.1 + after, far)).map(|m| m.like);
                near.collect::<Vec<f32>>()
            });
            middle(own.collect())
        };
        like(0.5 * beat * (MIDDLE[0] + MIDDLE[1]), far) < BETWEEN_RATIO * like(0.0, 3)
    }

    /// The same with its sides named the other way round.
    pub(crate) fn turned(mut self) -> Found {
        let Line { start: [a, b], period } = self.line;
        self.line.start = [b, a + period];
        let [a, b] = std::mem::take(&mut self.matched);
        self.matched = [b, a];
        self.matched[1].retain(|m| m.0 > 0);
        self.matched[1].iter_mut().for_each(|m| m.0 -= 1);
        self
    }

    /// The same without its first periods.
    pub(crate) fn after(mut self, periods: u64) -> Found {
        self.line.start = self.line.start.map(|at| at + periods as f64 * self.line.period);
        for own in &mut self.matched {
            own.retain(|m| m.0 >= periods);
            own.iter_mut().for_each(|m| m.0 -= periods);
        }
        self
    }
}

/// Where the beats of both sides are, in values.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line {
    pub(crate) start: [f64; 2],
    pub(crate) period: f64,
}

impl Line {
    fn at(&self, side: usize, n: u64) -> f64 {
        self.start[side] + n as f64 * self.period
    }

    fn count(&self, values: usize) -> u64 {
        (values as f64 / self.period) as u64
    }

    /// The line through beats, those that lie far off left out.
    fn fitted(&self, all: &[Vec<Match>; 2]) -> Option<Line> {
        let mut line = *self;
        for _ in 0..3 {
            let off = |side: usize, p: &Match| p.1 - line.at(side, p.0);
            let mut sizes: Vec<f32> =
                (0..2).flat_map(|side| all[side].iter().map(move |p| off(side, p).abs() as f32)).collect();
            let most = 4.0 * f64::from(median(&sizes)).max(0.2);
            sizes.clear();
            let (mut nn, mut nt) = (0.0, 0.0);
            let mut means = [(0.0, 0.0); 2];
            for side in 0..2 {
                let kept: Vec<_> = all[side].iter().filter(|p| off(side, p).abs() <= most).collect();
                let count = kept.len() as f64;
                if kept.len() < 3 {
                    return None;
                }
                let mean = kept.iter().fold((0.0, 0.0), |a, p| (a.0 + p.0 as f64 / count, a.1 + p.1 / count));
                for p in &kept {
                    let n = p.0 as f64 - mean.0;
                    nn += n * n;
                    nt += n * (p.1 - mean.1);
                }
                means[side] = mean;
            }
            let period = nt / nn;
            line = Line { start: means.map(|(n, t)| t - n * period), period };
        }
        Some(line)
    }
}

/// The bands in which it is heard, from the lowest to the highest round the best that have no gap.
fn edges(bands: &Bands, weights: &[f32]) -> Option<[f64; 2]> {
    let best = (0..weights.len()).max_by(|&a, &b| weights[a].total_cmp(&weights[b])).filter(|&b| weights[b] > 0.0)?;
    let first = (0..=best).rev().take_while(|&i| weights[i] > 0.0).last()?;
    let last = (best..weights.len()).take_while(|&i| weights[i] > 0.0).last()?;
    Some([bands.edges_hz[first][0], bands.edges_hz[last][1]])
}
