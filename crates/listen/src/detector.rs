//! From samples, as they come, to beats: one way for a file and for live sound.

use std::collections::VecDeque;

use beat::Side;

use crate::bands::{Bands, median};
use crate::envelope::Envelope;
use crate::fold::{fold, period_s, two_beats};
use crate::heard::{Heard, HeardBeat, Refusal};
use crate::period::{BEATS_S, Returns, returns};
use crate::portrait::{Making, Portrait};
use crate::shocks::{Shocks, shocks};

/// What is looked at to find beats, s: chosen, some fifty beats of the slowest; and the least that may be.
pub(crate) const LOOK_S: f64 = 20.0;
pub(crate) const LEAST_S: f64 = 3.0;
/// Where nothing is found, it goes on by this, s.
const GO_ON_S: f64 = 10.0;
/// What returns less clearly than this does not: chosen; noise of `LOOK_S` returns by 0.03.
const CLEAR: f32 = 0.08;
/// Slower beats than 7,200 an hour are none of a lever escapement's, s.
const SLOWEST_S: f64 = 0.52;
/// Sound below this is silence, full scale 1: chosen, less than the last of 16 bits.
const SILENT: f32 = 1e-5;
/// A portrait reaches ahead of its loudest by this part of a beat, and beyond by so much, s, but no more than that part:
/// chosen; at 100 deg and a lift of 55 deg the first noise is 0.18 of a beat before the drop.
const BEFORE_RATIO: f64 = 0.22;
const AFTER_S: f64 = 0.014;
const AFTER_RATIO: f64 = 0.2;
/// A beat is looked for so far from where it is awaited, s: at first, and once its portrait is known.
const FAR_S: [f64; 2] = [4e-3, 2e-3];
/// Rounds in which portraits and beats are made of one another.
const ROUNDS: usize = 5;
/// Portraits are made of so many parts of the beats too: how their shocks scatter says how well they are known.
const PARTS: u64 = 4;
/// What is less like its portrait than this is not heard: chosen.
const LIKE: f32 = 0.45;
/// Beats that say where the next is awaited.
const LINE_BEATS: usize = 64;
/// Parts of a portrait that are a shock's own: from so long before it, s, and for so long.
const SHOCK_BEFORE_S: f64 = 0.8e-3;
const SHOCK_LASTS_S: f64 = 3e-3;
const SHOCK_FAR_S: f64 = 1.2e-3;

/// What is known of the sound once beats were found.
struct Known {
    envelope: Envelope,
    edges_hz: [f64; 2],
    portraits: [Portrait; 2],
    /// What they were made of, and which beats: their numbers, and their instants in values.
    makings: [Making; 2],
    laid: [VecDeque<(u64, f64)>; 2],
    shocks: [Shocks; 2],
    clear: f32,
    /// Loudness from the value of this number on, as square roots.
    values: Vec<f32>,
    from: u64,
    /// The next beat: its number, and when it is awaited, in values.
    number: u64,
    awaited: f64,
    /// A beat, and what a beat of side A is later than in the middle, in values.
    beat: f64,
    later: f64,
    /// Beats heard last: number and instant.
    line: Vec<(u64, f64)>,
}

/// Finds the beats in a sound.
pub struct Detector {
    rate_hz: u32,
    /// Samples until beats are found; the first of them has this number.
    waiting: Vec<f32>,
    from: u64,
    pushed: u64,
    loudest: f32,
    known: Option<Known>,
    beats: Vec<HeardBeat>,
    best: Option<Returns>,
}

impl Detector {
    /// For a sound of so many samples a second.
    pub fn new(rate_hz: u32) -> Detector {
        Detector {
            rate_hz,
            waiting: Vec::new(),
            from: 0,
            pushed: 0,
            loudest: 0.0,
            known: None,
            beats: Vec::new(),
            best: None,
        }
    }

    /// Goes on with samples, full scale 1.
    pub fn push(&mut self, sound: &[f32]) {
        self.pushed += sound.len() as u64;
        self.loudest = sound.iter().fold(self.loudest, |a, b| a.max(b.abs()));
        match &mut self.known {
            Some(known) => {
                let before = known.values.len();
                known.envelope.push(sound, &mut known.values);
                known.values[before..].iter_mut().for_each(|v| *v = v.sqrt());
                self.follow();
            }
            None => {
                self.waiting.extend_from_slice(sound);
                let enough = (LOOK_S * f64::from(self.rate_hz)) as usize;
                while self.known.is_none() && self.waiting.len() >= enough {
                    self.look(enough);
                }
            }
        }
    }

    /// What was heard in all.
    ///
    /// # Errors
    /// [`Refusal`], where what was heard bears no figures out.
    pub fn finish(mut self) -> Result<Heard, Refusal> {
        if self.known.is_none() && self.waiting.len() as f64 >= LEAST_S * f64::from(self.rate_hz) {
            self.look(self.waiting.len());
        }
        self.heard()
    }

    /// What was heard so far; for live sound.
    ///
    /// # Errors
    /// [`Refusal`], where what was heard so far bears no figures out: so until the first beats were found.
    pub fn heard(&self) -> Result<Heard, Refusal> {
        let rate = f64::from(self.rate_hz);
        let lasts_s = self.pushed as f64 / rate;
        if self.loudest < SILENT {
            return Err(Refusal::Silent { loudest: f64::from(self.loudest) });
        }
        if lasts_s < LEAST_S {
            return Err(Refusal::TooShort { lasts_s, needs_s: LEAST_S });
        }
        let clear = self.best.as_ref().map_or(0.0, |b| f64::from(b.clear));
        let Some(known) = &self.known else {
            return Err(match &self.best {
                Some(best) if best.clear > CLEAR && best.beat_s > SLOWEST_S => {
                    Refusal::TooSlow { beats_per_hour: 3600.0 / best.beat_s }
                }
                _ => Refusal::NothingReturns { clear },
            });
        };
        Heard::new(
            self.beats.clone(),
            &known.portraits,
            &known.shocks,
            known.envelope.rate_hz,
            known.edges_hz,
            lasts_s,
            known.clear,
        )
    }

    /// Looks for beats in what is waiting.
    fn look(&mut self, count: usize) {
        let found = self.find(count);
        if let Some(known) = found {
            self.known = Some(known);
            self.waiting = Vec::new();
            self.follow();
            return;
        }
        let on = ((GO_ON_S * f64::from(self.rate_hz)) as usize).min(self.waiting.len());
        self.waiting.drain(..on);
        self.from += on as u64;
    }

    fn find(&mut self, count: usize) -> Option<Known> {
        let bands = Bands::new(&self.waiting[..count], self.rate_hz)?;
        let what = returns(&bands)?;
        if self.best.as_ref().is_none_or(|b| b.clear < what.clear) {
            self.best = Some(what.clone());
        }
        if what.clear < CLEAR || what.beat_s > SLOWEST_S {
            return None;
        }
        let edges_hz = edges(&bands, &what.weights)?;
        let mut envelope = Envelope::new(edges_hz, self.rate_hz);
        let mut loud = Vec::new();
        envelope.push(&self.waiting, &mut loud);
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
        let mut line = Line { start: folded.loudest.map(|at| at as f64), period };
        let beat = 0.5 * period;
        let (before, after) = ((BEFORE_RATIO * beat) as usize, (AFTER_S * rate_hz).min(AFTER_RATIO * beat) as usize);
        let making = |line: &Line, side: usize, matched: &[(u64, f64)]| {
            let mut making = Making::new(before, after);
            if matched.is_empty() {
                (0..line.count(values.len())).for_each(|n| making.add(&values, line.at(side, n)));
            } else {
                matched.iter().for_each(|m| making.add(&values, m.1));
            }
            making
        };
        let laid = |line: &Line, side: usize, matched: &[(u64, f64)]| making(line, side, matched).done();
        let mut portraits = [laid(&line, 0, &[])?, laid(&line, 1, &[])?];
        let mut matched = [Vec::new(), Vec::new()];
        for round in 0..ROUNDS {
            let far = (FAR_S[usize::from(round > 0)] * rate_hz) as usize;
            let mut all = [Vec::new(), Vec::new()];
            for (side, own) in all.iter_mut().enumerate() {
                let whole = portraits[side].whole();
                let found = (0..line.count(values.len())).filter_map(|n| {
                    let m = whole.find(&values, line.at(side, n), far)?;
                    (m.like > LIKE).then_some((n, m.at))
                });
                own.extend(found);
            }
            if all.iter().any(|own| own.len() < 5) {
                return None;
            }
            line = line.fitted(&all)?;
            portraits = [laid(&line, 0, &all[0])?, laid(&line, 1, &all[1])?];
            matched = all;
        }
        let shocks = [0, 1].map(|side| {
            let of = |p: &Portrait| shocks(p, rate_hz, line.period / rate_hz);
            let parts = (0..PARTS).filter_map(|part| {
                let own: Vec<(u64, f64)> = matched[side].iter().copied().filter(|m| m.0 % PARTS == part).collect();
                (!own.is_empty()).then(|| laid(&line, side, &own))?.as_ref().map(of)
            });
            of(&portraits[side]).with_sigma(parts.collect())
        });
        let each = (f64::from(self.rate_hz) / rate_hz).round();
        Some(Known {
            edges_hz,
            makings: [0, 1].map(|side| making(&line, side, &matched[side])),
            laid: [0, 1].map(|side| {
                matched[side].iter().map(|m| (2 * m.0 + side as u64, m.1 + self.from as f64 / each)).collect()
            }),
            portraits,
            shocks,
            clear: what.clear,
            values,
            from: (self.from as f64 / each) as u64,
            number: 0,
            awaited: line.start[0] + self.from as f64 / each,
            beat: 0.5 * line.period,
            later: 0.5 * (line.start[1] - line.start[0] - 0.5 * line.period),
            line: Vec::new(),
            envelope,
        })
    }

    /// Hears the beats that have come whole.
    fn follow(&mut self) {
        let Some(known) = &mut self.known else { return };
        let rate_hz = known.envelope.rate_hz;
        let far = (FAR_S[1] * rate_hz) as usize;
        loop {
            let side = (known.number % 2) as usize;
            let near = known.awaited - known.from as f64;
            let reach = known.portraits[side].mean.len() as f64 + far as f64 + 4.0;
            if near + reach > known.values.len() as f64 {
                break;
            }
            while known.laid[side].front().is_some_and(|l| l.0 < known.number) {
                known.laid[side].pop_front();
            }
            let itself = known.laid[side].front().filter(|l| l.0 == known.number);
            let others = itself.and_then(|l| known.makings[side].without(&known.values, l.1 - known.from as f64));
            let portrait = others.as_ref().unwrap_or(&known.portraits[side]);
            let found = portrait.whole().find(&known.values, near, far).filter(|m| m.like > LIKE);
            let s = |at: f64| (at + known.from as f64) / rate_hz;
            if let Some(m) = found {
                let own = &known.shocks[side];
                let part = |shock: f64| {
                    let from = (shock - SHOCK_BEFORE_S * rate_hz).round() as isize;
                    let found = portrait.part(from, (SHOCK_LASTS_S * rate_hz) as usize).find(
                        &known.values,
                        m.at,
                        (SHOCK_FAR_S * rate_hz) as usize,
                    )?;
                    (found.like > LIKE).then(|| s(found.at + shock))
                };
                self.beats.push(HeardBeat {
                    number: known.number,
                    side: Side::of(known.number),
                    at_s: s(m.at),
                    like: m.like,
                    first_s: own.first.and_then(part),
                    drop_s: part(own.drop),
                });
                known.line.push((known.number, m.at + known.from as f64));
                if known.line.len() > LINE_BEATS {
                    known.line.remove(0);
                }
            }
            known.number += 1;
            known.awaited = known.next();
        }
        // What lies before the next beat is not needed any more.
        let done = (known.awaited - known.from as f64 - 2.0 * known.beat).max(0.0) as usize;
        if done > 65_536 {
            known.values.drain(..done.min(known.values.len()));
            known.from += done as u64;
        }
    }
}

impl Known {
    /// When the next beat is awaited, in values.
    fn next(&mut self) -> f64 {
        let side = |n: u64| if n.is_multiple_of(2) { -1.0 } else { 1.0 };
        let count = self.line.len() as f64;
        if self.line.len() < 8 {
            let from = self.line.last().map_or(self.awaited + self.beat + 2.0 * self.later * side(self.number), |l| {
                let steps = (self.number - l.0) as f64;
                l.1 + steps * self.beat + self.later * (side(self.number) - side(l.0))
            });
            return from;
        }
        // A straight line through the beats heard last, the sides apart as they are known to be.
        let x = |n: u64| n as f64 - self.number as f64;
        let points: Vec<(f64, f64)> = self.line.iter().map(|&(n, at)| (x(n), at - self.later * side(n))).collect();
        let (mx, my) = points.iter().fold((0.0, 0.0), |a, p| (a.0 + p.0 / count, a.1 + p.1 / count));
        let (sxx, sxy) =
            points.iter().fold((0.0, 0.0), |a, p| (a.0 + (p.0 - mx) * (p.0 - mx), a.1 + (p.0 - mx) * (p.1 - my)));
        let slope = sxy / sxx;
        self.beat = slope;
        my - slope * mx + self.later * side(self.number)
    }
}

/// Where the beats of both sides are, in values.
#[derive(Clone, Copy, Debug)]
struct Line {
    start: [f64; 2],
    period: f64,
}

impl Line {
    fn at(&self, side: usize, n: u64) -> f64 {
        self.start[side] + n as f64 * self.period
    }

    fn count(&self, values: usize) -> u64 {
        (values as f64 / self.period) as u64
    }

    /// The line through beats, those that lie far off left out.
    fn fitted(&self, all: &[Vec<(u64, f64)>; 2]) -> Option<Line> {
        let mut line = *self;
        for _ in 0..3 {
            let off = |side: usize, p: &(u64, f64)| p.1 - line.at(side, p.0);
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
