//! What beats deviate from an even train by: how it returns with a wheel, and how it grows with time. Formulas and their
//! sources: docs/theory/beats.md, B5 to B7.

use std::f64::consts::TAU;

use crate::error::Error;
use crate::figures::Estimate;
use crate::line::{Line, Point};
use crate::train::{BeatTrain, Shock, Side};

/// A beat's deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Deviation {
    /// Its beat.
    pub number: u64,
    /// Its side.
    pub side: Side,
    /// When it came.
    pub t_s: f64,
    /// By how much later than a straight line through all, sides apart.
    pub late_s: f64,
}

/// The deviations of a train, of the first shocks of its beats.
#[derive(Clone, Debug, PartialEq)]
pub struct Deviations {
    /// Of each beat that has one, in order.
    pub all: Vec<Deviation>,
    /// Mean beat.
    pub beat_s: f64,
}

/// What returns with a period: a wave that deviations have beside the straight line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wave {
    /// The period that was looked at.
    pub period_s: f64,
    /// Periods in the train.
    pub turn_count: f64,
    /// Half of the wave's height: how much early and late it makes beats. Where nothing returns that is noise.
    pub size_s: Estimate,
    /// How much it makes the rate swing, a part of the time: 2 pi size / period; times 86,400 s per day.
    pub swing_ratio: Estimate,
    /// Where in the period beats are latest, a part of it, from the first beat on.
    pub latest_ratio: f64,
    /// How likely chance alone makes a wave as high or higher.
    pub chance_ratio: f64,
}

/// How the rate changes from one stretch of time to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stability {
    /// The stretch.
    pub tau_s: f64,
    /// Allan deviation, a part of the time; times 86,400 s per day.
    pub deviation: Estimate,
}

/// Of a wave at least so many periods have to be there: fewer are a slope as well.
const LEAST_TURN_COUNT: f64 = 2.0;
/// A period of two beats is beat error, and what is shorter is not seen: chosen, five beats.
const LEAST_BEAT_COUNT: f64 = 5.0;
/// Waves beside the one looked at, in cycles over the train off it: what these have chance has.
const BESIDE_COUNT: [f64; 8] = [-4.5, -3.5, -2.5, -1.5, 1.5, 2.5, 3.5, 4.5];

/// By how much later than an even train the beats came.
///
/// # Errors
/// [`Error::TooFew`] where beats and sides do not tell a line.
pub fn deviations(train: &BeatTrain) -> Result<Deviations, Error> {
    let kept: Vec<_> = train.beats.iter().filter_map(|b| Some((b, b.at(Shock::Unlocking)?.t_s))).collect();
    let counts = Side::BOTH.map(|side| kept.iter().filter(|(b, _)| b.side == side).count());
    let from = kept.first().map_or((0, 0.0), |(b, t_s)| (b.number, *t_s));
    let points: Vec<Point> = kept
        .iter()
        .map(|(b, t_s)| Point {
            number: (b.number - from.0) as f64,
            side: if b.side == Side::A { 1.0 } else { -1.0 },
            t_s: t_s - from.1,
            weight: 1.0,
        })
        .collect();
    let line = Line::fit(&points).ok_or(Error::TooFew { counts })?;
    let raw: Vec<f64> = points.iter().map(|p| p.t_s - line.step_s * p.number - line.apart_s * p.side).collect();
    let mean = raw.iter().sum::<f64>() / raw.len() as f64;
    let all = kept.iter().zip(&raw).map(|((b, t_s), late)| Deviation {
        number: b.number,
        side: b.side,
        t_s: *t_s,
        late_s: late - mean,
    });
    Ok(Deviations { all: all.collect(), beat_s: line.step_s })
}

/// A column of numbers, one a beat.
type Column = Vec<f64>;

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The column less what it has of the others, which are at right angles to one another.
fn without(mut own: Column, others: &[Column]) -> Column {
    for other in others {
        let part = dot(&own, other) / dot(other, other);
        own.iter_mut().zip(other).for_each(|(x, o)| *x -= part * o);
    }
    own
}

/// A wave fitted beside line and sides: its cosine and sine, what it takes from the sum of squares, and what a unit of
/// either does; and what is left.
struct Fitted {
    parts: [f64; 2],
    taken: f64,
    size2: f64,
    rest: Column,
}

impl Deviations {
    /// Columns of line and sides.
    fn plain(&self) -> Vec<Column> {
        let first = self.all.first().map_or(0, |d| d.number);
        let one = vec![1.0; self.all.len()];
        let number = self.all.iter().map(|d| (d.number - first) as f64).collect();
        let side = self.all.iter().map(|d| if d.side == Side::A { 1.0 } else { -1.0 }).collect();
        let mut plain: Vec<Column> = vec![one];
        for own in [number, side] {
            let own = without(own, &plain);
            plain.push(own);
        }
        plain
    }

    fn fitted(&self, late: &[f64], plain: &[Column], per_s: f64) -> Fitted {
        let first_s = self.all.first().map_or(0.0, |d| d.t_s);
        let phase = |d: &Deviation| TAU * per_s * (d.t_s - first_s);
        let cos = without(self.all.iter().map(|d| phase(d).cos()).collect(), plain);
        let raw: Column = self.all.iter().map(|d| phase(d).sin()).collect();
        let sin = without(without(raw.clone(), plain), std::slice::from_ref(&cos));
        let (cc, ss) = (dot(&cos, &cos), dot(&sin, &sin));
        let (c, s) = (dot(late, &cos), dot(late, &sin));
        let b = s / ss;
        let a = (c - b * dot(&cos, &raw)) / cc;
        let (pc, ps) = (c / cc, s / ss);
        let rest = late.iter().zip(cos.iter().zip(&sin)).map(|(late, (cos, sin))| late - pc * cos - ps * sin).collect();
        Fitted { parts: [a, b], taken: c * pc + s * ps, size2: 0.5 * (1.0 / cc + 1.0 / ss), rest }
    }

    /// The wave with a period; `None` where the train is too short or the beats too few for one.
    ///
    /// # Properties
    /// Chance is by Fisher's law of variances: against all the rest, and against the waves next to it, whichever says less.
    /// So what wanders slowly is not taken for a wheel.
    pub fn wave(&self, period_s: f64) -> Option<Wave> {
        let lasts_s = self.all.last()?.t_s - self.all.first()?.t_s;
        let (turns, count) = (lasts_s / period_s, self.all.len() as f64);
        if !(turns >= LEAST_TURN_COUNT && period_s >= LEAST_BEAT_COUNT * self.beat_s && count >= 16.0) {
            return None;
        }
        let plain = self.plain();
        let late: Column = self.all.iter().map(|d| d.late_s).collect();
        let own = self.fitted(&late, &plain, 1.0 / period_s);
        let size_s = own.parts[0].hypot(own.parts[1]);
        let free = count - 5.0;
        let left = dot(&own.rest, &own.rest) / free;
        // Of two degrees of freedom over n: (1 + 2 F / n)^(-n/2).
        let law = |over: f64, n: f64| (1.0 + 2.0 * over / n).powf(-0.5 * n);
        let beside: Vec<f64> = BESIDE_COUNT
            .iter()
            .map(|off| (turns + off) / lasts_s)
            .filter(|per_s| *per_s * lasts_s >= 1.0 && 1.0 / per_s >= 2.5 * self.beat_s)
            .map(|per_s| self.fitted(&own.rest, &plain, per_s).taken)
            .collect();
        let near = beside.iter().sum::<f64>() / (2.0 * beside.len() as f64);
        let chance = [(left, free), (near, 2.0 * beside.len() as f64)]
            .iter()
            .map(|&(variance, n)| if variance > 0.0 { law(0.5 * own.taken / variance, n) } else { 0.0 })
            .fold(0.0, f64::max);
        let sigma_s = (left.max(near) * own.size2).sqrt();
        let to_ratio = TAU / period_s;
        Some(Wave {
            period_s,
            turn_count: turns,
            size_s: Estimate { value_si: size_s, sigma_si: sigma_s },
            swing_ratio: Estimate { value_si: to_ratio * size_s, sigma_si: to_ratio * sigma_s },
            latest_ratio: (own.parts[1].atan2(own.parts[0]) / TAU).rem_euclid(1.0),
            chance_ratio: chance,
        })
    }

    /// Mean deviation by place in a turn of so many beats, such as twice the teeth of the escape wheel, from the first
    /// beat's on; `None` where no beat was heard there.
    pub fn by_place(&self, beats: u64) -> Vec<Option<Estimate>> {
        let first = self.all.first().map_or(0, |d| d.number);
        let mut sums = vec![(0.0, 0.0, 0.0); beats as usize];
        for d in &self.all {
            let own = &mut sums[((d.number - first) % beats.max(1)) as usize];
            *own = (own.0 + 1.0, own.1 + d.late_s, own.2 + d.late_s * d.late_s);
        }
        let means = sums.iter().map(|&(n, sum, square)| (n, sum / n, square - sum * sum / n));
        let free: f64 = sums.iter().map(|s| (s.0 - 1.0).max(0.0)).sum();
        // What all places scatter by, each about its own mean.
        let scatter = (means.clone().filter(|m| m.0 > 0.0).map(|m| m.2.max(0.0)).sum::<f64>() / free).sqrt();
        means.map(|(n, mean, _)| (n > 0.0).then(|| Estimate { value_si: mean, sigma_si: scatter / n.sqrt() })).collect()
    }

    /// Allan deviation of stretches of one beat, two, four and so on up to a third of the train, overlapping.
    ///
    /// # Properties
    /// Beats that are missing leave out what they would be in. The standard error is the deviation over the root of how
    /// many stretches there are.
    pub fn stability(&self) -> Vec<Stability> {
        let (Some(first), Some(last)) = (self.all.first(), self.all.last()) else { return Vec::new() };
        let length = (last.number - first.number + 1) as usize;
        let mut late = vec![None; length];
        self.all.iter().for_each(|d| late[(d.number - first.number) as usize] = Some(d.late_s));
        let mut out = Vec::new();
        let mut m = 1;
        while 3 * m < length {
            let tau_s = m as f64 * self.beat_s;
            let all: Vec<f64> = (0..length - 2 * m)
                .filter_map(|i| Some(late[i + 2 * m]? - 2.0 * late[i + m]? + late[i]?))
                .map(|second| second * second)
                .collect();
            if !all.is_empty() {
                let value_si = (all.iter().sum::<f64>() / all.len() as f64 / 2.0).sqrt() / tau_s;
                let stretches = (length as f64 / m as f64 - 1.0).max(1.0);
                out.push(Stability { tau_s, deviation: Estimate { value_si, sigma_si: value_si / stretches.sqrt() } });
            }
            m *= 2;
        }
        out
    }
}
