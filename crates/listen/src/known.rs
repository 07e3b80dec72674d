//! Beats that are followed, once they were found.

use std::collections::VecDeque;

use beat::Side;

use crate::bands::median;
use crate::detector::LOOK_S;
use crate::envelope::Envelope;
use crate::found::{FAR_S, Found, LIKE, Match};
use crate::heard::{Heard, HeardBeat};
use crate::portrait::Portrait;
use crate::refusal::Refusal;
use crate::shocks::{Shocks, has_first};
use crate::sides::Sides;

/// Beats are lost where of those of so many seconds less than this part are heard.
const LOST_S: f64 = 8.0;
const LOST_RATIO: f64 = 0.3;
/// Portraits are made anew where at least this part of the beats was heard.
const RENEWED_RATIO: f64 = 0.6;
/// Beats that say where the next is awaited.
const LINE_BEATS: usize = 64;
/// Parts of a portrait that are a shock's own: from so long before it, s, and for so long; and how far off it may be.
const SHOCK_BEFORE_S: f64 = 0.8e-3;
const SHOCK_LASTS_S: f64 = 3e-3;
const SHOCK_FAR_S: f64 = 1.2e-3;

pub(crate) struct Known {
    pub(crate) envelope: Envelope,
    pub(crate) edges_hz: [f64; 2],
    reach: [usize; 2],
    pub(crate) sides: Sides,
    /// The shocks of all portraits there were: beats say which were theirs.
    pub(crate) made: Vec<[Shocks; 2]>,
    pub(crate) clear: f32,
    /// Square roots of the loudness from the value of this number on.
    values: Vec<f32>,
    from: u64,
    /// The next beat: its number, and when it is awaited, in values from `from`.
    number: u64,
    awaited: f64,
    /// A beat, and what a beat of side A is later than in the middle, in values.
    beat: f64,
    later: f64,
    /// Beats heard last, their instants in values from `from`; portraits are made of those from `fresh` on.
    last: VecDeque<Match>,
    first: u64,
    fresh: u64,
    pub(crate) beats: Vec<HeardBeat>,
}

/// -1 for side A, 1 for side B.
fn sign(number: u64) -> f64 {
    if number.is_multiple_of(2) { -1.0 } else { 1.0 }
}

impl Known {
    /// # Arguments
    /// `from`: the number of the first sample in which `found` was found, of `rate_hz` a second.
    /// `old`: what was followed before; the numbers of its beats, and so the sides, go on, as long as the watch does.
    pub(crate) fn new(found: Found, from: u64, rate_hz: u32, old: Option<&Known>) -> Option<Known> {
        let each = (f64::from(rate_hz) / found.envelope.rate_hz).round();
        let from_values = (from as f64 / each).round() as u64;
        let beat = 0.5 * found.line.period;
        let (mut first, mut found) = (0, found);
        if let Some((old, last)) = old.and_then(|old| Some((old, old.last.back()?))) {
            let until = found.line.start[0] + from_values as f64 - (last.1 + old.from as f64);
            let mut number = last.0 as i64 + (until / beat).round() as i64;
            if number % 2 != 0 {
                found = found.turned();
                number += 1;
            }
            // Beats have no numbers below 0.
            let before = u64::try_from(-number).unwrap_or(0).div_ceil(2);
            found = found.after(before);
            first = u64::try_from(number).unwrap_or(number.rem_euclid(2) as u64);
        }
        let number = |side: u64| move |m: &Match| (first + 2 * m.0 + side, m.1);
        let matched = [0, 1].map(|side| found.matched[side].iter().map(number(side as u64)).collect());
        let sides = Sides::new(&found.values, found.envelope.rate_hz, 2.0 * beat, found.reach, &matched)?;
        let mut known = Known {
            edges_hz: found.edges_hz,
            reach: found.reach,
            made: vec![sides.shocks],
            sides,
            clear: found.clear,
            values: found.values,
            from: from_values,
            number: first,
            awaited: found.line.start[0],
            beat,
            later: 0.5 * (found.line.start[1] - found.line.start[0] - beat),
            last: VecDeque::new(),
            first,
            fresh: first,
            beats: Vec::new(),
            envelope: found.envelope,
        };
        // What was heard already is not heard again.
        while old.and_then(|old| old.last.back()).is_some_and(|last| known.number <= last.0) {
            known.number += 1;
            known.awaited = known.next();
        }
        known.follow();
        known.forget();
        Some(known)
    }

    pub(crate) fn push(&mut self, sound: &[f32]) {
        let before = self.values.len();
        self.envelope.push(sound, &mut self.values);
        self.values[before..].iter_mut().for_each(|v| *v = v.sqrt());
        self.follow();
    }

    pub(crate) fn heard(&self, lasts_s: f64) -> Result<Heard, Refusal> {
        Heard::new(self, lasts_s)
    }

    /// Whether hardly any of the last beats were heard.
    pub(crate) fn lost(&self) -> bool {
        let of = (LOST_S * self.envelope.rate_hz / self.beat) as u64;
        let heard = self.last.iter().rev().take_while(|l| l.0 + of > self.number).count();
        self.number > self.first + of && (heard as f64) < LOST_RATIO * of as f64
    }

    /// Hears the beats that have come whole.
    fn follow(&mut self) {
        let rate_hz = self.envelope.rate_hz;
        let far = (FAR_S[1] * rate_hz) as usize;
        while self.awaited + (self.reach[0] + self.reach[1] + far) as f64 + 4.0 <= self.values.len() as f64 {
            let side = (self.number % 2) as usize;
            let others = self.sides.without(self.number, &self.values);
            let portrait = others.as_ref().unwrap_or(&self.sides.portraits[side]);
            let found = portrait.whole().find(&self.values, self.awaited, far).filter(|m| m.like > LIKE);
            if let Some(m) = found {
                let beat = self.hear(portrait, m.at, m.like);
                self.beats.push(beat);
                self.last.push_back((self.number, m.at));
            }
            self.number += 1;
            self.awaited = self.next();
            if (self.number - self.fresh) as f64 * self.beat > LOOK_S * rate_hz {
                self.renew();
            }
        }
    }

    /// A beat that is where it is, with its shocks.
    fn hear(&self, portrait: &Portrait, at: f64, like: f32) -> HeardBeat {
        let rate_hz = self.envelope.rate_hz;
        let s = |at: f64| (at + self.from as f64) / rate_hz;
        let part = |shock: f64| {
            let from = (shock - SHOCK_BEFORE_S * rate_hz).round() as isize;
            let part = portrait.part(from, (SHOCK_LASTS_S * rate_hz) as usize);
            let found = part.find(&self.values, at, (SHOCK_FAR_S * rate_hz) as usize)?;
            (found.like > LIKE).then(|| s(found.at + shock))
        };
        let own = &self.sides.shocks[(self.number % 2) as usize];
        HeardBeat {
            number: self.number,
            side: Side::of(self.number),
            at_s: s(at),
            like,
            first_s: own.first.and_then(part),
            drop_s: part(own.drop),
            made: self.made.len() - 1,
        }
    }

    /// Portraits of the last beats, where enough of them were heard and nothing is missing that was there: amplitudes
    /// change. What lies before them is not needed any more.
    fn renew(&mut self) {
        let mut own = [Vec::new(), Vec::new()];
        for m in self.last.iter().filter(|m| m.0 >= self.fresh) {
            own[(m.0 % 2) as usize].push(*m);
        }
        let enough = own.iter().all(|o| o.len() as f64 > 0.5 * RENEWED_RATIO * (self.number - self.fresh) as f64);
        let made = enough.then(|| Sides::new(&self.values, self.envelope.rate_hz, 2.0 * self.beat, self.reach, &own));
        if let Some(sides) = made.flatten().filter(|s| has_first(&s.shocks) || !has_first(&self.sides.shocks)) {
            self.made.push(sides.shocks);
            self.sides = sides;
        }
        let longer: Vec<f32> =
            own[0].iter().filter_map(|a| Some((own[1].iter().find(|b| b.0 == a.0 + 1)?.1 - a.1) as f32)).collect();
        if longer.len() > 4 {
            self.later = 0.5 * (f64::from(median(&longer)) - self.beat);
        }
        self.forget();
    }

    /// Goes on from here: what lies before is not needed any more.
    fn forget(&mut self) {
        self.fresh = self.number;
        let done = ((self.awaited - 2.0 * self.beat).max(0.0) as usize).min(self.values.len());
        self.values.drain(..done);
        self.from += done as u64;
        self.awaited -= done as f64;
        self.sides.forget(done);
        while self.last.len() > LINE_BEATS {
            self.last.pop_front();
        }
        self.last.iter_mut().for_each(|l| l.1 -= done as f64);
    }

    /// When the next beat is awaited, in values.
    fn next(&mut self) -> f64 {
        let line = self.last.iter().skip(self.last.len().saturating_sub(LINE_BEATS));
        let count = line.len() as f64;
        if line.len() < 8 {
            let on = |l: &Match| {
                let steps = (self.number - l.0) as f64;
                l.1 + steps * self.beat + self.later * (sign(self.number) - sign(l.0))
            };
            let after = self.awaited + self.beat + 2.0 * self.later * sign(self.number);
            return self.last.back().map_or(after, on);
        }
        // A straight line through the beats heard last, the sides apart as they are known to be.
        let points: Vec<(f64, f64)> =
            line.map(|&(n, at)| (n as f64 - self.number as f64, at - self.later * sign(n))).collect();
        let (mx, my) = points.iter().fold((0.0, 0.0), |a, p| (a.0 + p.0 / count, a.1 + p.1 / count));
        let (sxx, sxy) =
            points.iter().fold((0.0, 0.0), |a, p| (a.0 + (p.0 - mx) * (p.0 - mx), a.1 + (p.0 - mx) * (p.1 - my)));
        let slope = sxy / sxx;
        self.beat = slope;
        my - slope * mx + self.later * sign(self.number)
    }
}
