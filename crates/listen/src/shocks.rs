//! The shocks within a portrait: the first noise of a beat and the drop.

use crate::portrait::Portrait;

/// A noise begins where the portrait rises above what is quiet by this part of what the loudest does, in square roots of
/// loudness: chosen, 2 % of the loudness.
const BEGINS_RATIO: f32 = 0.14;
/// Or by this many times the scatter of what is quiet: chosen.
const SURE_RATIO: f32 = 6.0;
/// What is quiet: the quietest part of a portrait.
const QUIET_RATIO: f64 = 0.25;
/// The drop is no longer than this from where it begins to its loudest, s: chosen.
const RISES_S: f64 = 2.5e-3;
/// So many values and one more under a height are no dip between two waves: chosen.
const DIP: usize = 3;
/// Half of what is taken together to find a first noise, s: chosen.
const SMOOTH_S: f64 = 0.13e-3;
/// A first noise is over its top where it has fallen to this part of it. And it is quiet so long before a top, s: chosen.
const FALLEN_RATIO: f32 = 0.8;
const AWAY_S: f64 = 0.6e-3;
/// A shock begins where this part of its rise has come, or what stands out of the scatter of what is under it so many
/// times, but no more than half: chosen.
const PARTS_RISEN: [f32; 2] = [0.1, HALF];
const HALF: f32 = 0.5;
const SEEN_RATIO: f32 = 4.0;
/// A first noise is heard as one of its own if it comes so long before the drop, as a part of the period: an amplitude of
/// 400 deg with a lift of 40 deg, chosen.
const APART_RATIO: f64 = 0.0155;
/// It is quiet before it for so long, s: chosen.
const STILL_S: f64 = 2e-3;

/// Where shocks are in a portrait, from its own instant, in values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Shocks {
    /// The first noise, where it is one of its own.
    pub(crate) first: Option<f64>,
    /// The drop, or whatever is loudest.
    pub(crate) drop: f64,
    /// Where half of either has risen, the surest: beats are timed by the first noise, or else by the drop.
    pub(crate) first_half: Option<f64>,
    pub(crate) drop_half: f64,
    /// Standard errors of these and of the time between the beginnings, in values.
    pub(crate) first_sigma: f64,
    pub(crate) drop_sigma: f64,
    pub(crate) between_sigma: f64,
}

/// Errors are no smaller than this part of a value: chosen.
const LEAST_SIGMA_RATIO: f64 = 0.15;

impl Shocks {
    /// The same with what the shocks of parts of the beats say of how well they are known.
    pub(crate) fn with_sigma(self, parts: Vec<Shocks>) -> Shocks {
        let error = |read: fn(&Shocks) -> Option<f64>| {
            let all: Vec<f64> = parts.iter().filter_map(read).collect();
            let count = all.len() as f64;
            let mean = all.iter().sum::<f64>() / count;
            // Of one or none nothing is known.
            let square = all.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / (count - 1.0) / count;
            if all.len() < 2 { f64::INFINITY } else { square.sqrt().max(LEAST_SIGMA_RATIO) }
        };
        Shocks {
            first_sigma: error(|s| s.first_half),
            drop_sigma: error(|s| Some(s.drop_half)),
            between_sigma: error(|s| Some(s.drop - s.first?)),
            ..self
        }
    }
}

/// The times between first noise and drop of the two sides differ by no more than this part of their sum: chosen, four
/// times what their amplitudes do.
const UNLIKE_RATIO: f64 = 0.06;

/// Whether both sides have a first noise of their own, at like times before the drop: else they were different noises.
pub(crate) fn has_first(sides: &[Shocks; 2]) -> bool {
    let betweens = sides.map(|s| s.first.map(|first| s.drop - first));
    matches!(betweens, [Some(a), Some(b)] if (a - b).abs() < UNLIKE_RATIO * (a + b))
}

/// Looks for them.
pub(crate) fn shocks(portrait: &Portrait, rate_hz: f64, period_s: f64) -> Shocks {
    let mean = &portrait.mean;
    let from_zero = |at: f64| at - portrait.before as f64;
    let mut sorted = mean.clone();
    sorted.sort_unstable_by(f32::total_cmp);
    let part = &sorted[..((QUIET_RATIO * sorted.len() as f64) as usize).clamp(1, sorted.len())];
    let quiet = part.iter().sum::<f32>() / part.len() as f32;
    let scatter = (part.iter().map(|v| (v - quiet) * (v - quiet)).sum::<f32>() / part.len() as f32).sqrt();
    let loudest = portrait.loudest();
    let rise = mean[loudest] - quiet;
    let rises = ((RISES_S * rate_hz) as usize).max(1);
    let before = loudest.saturating_sub(rises)..loudest;
    let low = before.rev().min_by(|&a, &b| mean[a].total_cmp(&mean[b])).unwrap_or(loudest);
    let drop = Rise::new(&portrait.power, low, loudest, rate_hz);
    let heard = quiet + (BEGINS_RATIO * rise).max(SURE_RATIO * scatter);
    let still = ((STILL_S * rate_hz) as usize).max(1);
    // A mean over some values: in portraits of few beats single ones stand out by chance.
    let some = (SMOOTH_S * rate_hz) as usize;
    let mean: Vec<f32> = (0..mean.len())
        .map(|i| &mean[i.saturating_sub(some)..(i + some + 1).min(mean.len())])
        .map(|near| near.iter().sum::<f32>() / near.len() as f32)
        .collect();
    let first = mean[..low].iter().position(|&v| v > heard).filter(|&at| at >= still).map(|at| {
        // Its top is before it falls: the meeting of tooth and impulse face comes soon, and louder.
        let mut top = at;
        for i in at..(at + rises).min(low) {
            if mean[i] > mean[top] {
                top = i;
            } else if mean[i] - quiet < FALLEN_RATIO * (mean[top] - quiet) {
                break;
            }
        }
        let near = top.saturating_sub(some)..(top + some + 1).min(low);
        let top = near.max_by(|&a, &b| portrait.mean[a].total_cmp(&portrait.mean[b])).unwrap_or(top);
        Rise::new(&portrait.power, at.saturating_sub(rises), top, rate_hz)
    });
    // Both at the same part of what they rise by, the least that noise lets be seen of the weaker: how a shock grows after
    // its beginning depends on what it strikes.
    let part = first.as_ref().map_or(HALF, |first| first.seen().max(drop.seen())).clamp(PARTS_RISEN[0], PARTS_RISEN[1]);
    let drop_at = drop.at(part).unwrap_or(loudest as f64);
    let first_at = first.as_ref().and_then(|f| f.at(part)).filter(|at| drop_at - at > APART_RATIO * period_s * rate_hz);
    Shocks {
        first: first_at.map(from_zero),
        drop: from_zero(drop_at),
        first_half: first_at.and(first).and_then(|f| f.at(HALF)).map(from_zero),
        drop_half: from_zero(drop.at(HALF).unwrap_or(loudest as f64)),
        first_sigma: 0.0,
        drop_sigma: 0.0,
        between_sigma: 0.0,
    }
}

/// The rise of a shock in the power, from nothing of it to its top.
struct Rise<'a> {
    power: &'a [f32],
    foot: usize,
    top: usize,
    under: f32,
    over: f32,
    /// Scatter of what is under it.
    scatter: f32,
}

impl Rise<'_> {
    fn new(power: &[f32], foot: usize, top: usize, rate_hz: f64) -> Rise<'_> {
        let away = ((AWAY_S * rate_hz) as usize).max(1);
        let quiet = &power[foot..top.saturating_sub(away).max(foot + 1).min(power.len())];
        let mean = |values: &[f32]| values.iter().sum::<f32>() / values.len().max(1) as f32;
        let under = mean(quiet);
        let scatter = (quiet.iter().map(|v| (v - under) * (v - under)).sum::<f32>() / quiet.len() as f32).sqrt();
        let over = mean(&power[top.saturating_sub(1)..(top + 2).min(power.len())]);
        Rise { power, foot, top, under, over, scatter }
    }

    /// The least part of it that stands out of what is under it.
    fn seen(&self) -> f32 {
        SEEN_RATIO * self.scatter / (self.over - self.under).max(f32::MIN_POSITIVE)
    }

    /// When a part of it has come; `None` where it does not rise.
    fn at(&self, part: f32) -> Option<f64> {
        let height = self.under + part * (self.over - self.under);
        // From its top down to where it is passed, and not where what rings is between two of its waves.
        let low = |i: usize| self.power[i.saturating_sub(DIP).max(self.foot)..=i].iter().all(|p| *p <= height);
        let at = (self.foot..self.top).rev().find(|&i| low(i))?;
        let [a, b] = [self.power[at], self.power[at + 1]];
        (b > a).then(|| at as f64 + f64::from((height - a) / (b - a)).min(1.0))
    }
}
