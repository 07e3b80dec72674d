//! From samples, as they come, to beats: one way for a file and for live sound.

use crate::found::Found;
use crate::heard::Heard;
use crate::known::Known;
use crate::period::Returns;
use crate::refusal::Refusal;

/// What is looked at to find beats, s: chosen, some fifty beats of the slowest; and the least that may be.
pub(crate) const LOOK_S: f64 = 20.0;
pub(crate) const LEAST_S: f64 = 3.0;
/// Where nothing is found, it goes on by this, s; and so it does where live sound is asked before `LOOK_S` have come.
const GO_ON_S: f64 = 10.0;
const ASKED_S: f64 = 2.0;
/// Sound below this is silence, full scale 1: chosen, less than the last of 16 bits.
const SILENT: f32 = 1e-5;
/// Where beats are lost it is looked anew in the last of the sound, s, and again after so long.
const ANEW_S: f64 = 10.0;
const AGAIN_S: f64 = 4.0;

/// Finds the beats in a sound.
pub struct Detector {
    rate_hz: u32,
    /// The last samples, while beats are found and while they are followed; the first of them has this number.
    waiting: Vec<f32>,
    from: u64,
    pushed: u64,
    asked: u64,
    loudest: f32,
    known: Option<Known>,
    /// Beats found before there was enough to go by.
    early: Option<Known>,
    /// What was heard before something changed.
    before: Vec<Heard>,
    refused: Option<Refusal>,
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
            asked: 0,
            loudest: 0.0,
            known: None,
            early: None,
            before: Vec::new(),
            refused: None,
            best: None,
        }
    }

    /// Goes on with samples, full scale 1.
    pub fn push(&mut self, sound: &[f32]) {
        self.pushed += sound.len() as u64;
        let tops = sound.chunks(8).fold([self.loudest; 8], |mut tops, eight| {
            tops.iter_mut().zip(eight).for_each(|(top, x)| *top = if x.abs() > *top { x.abs() } else { *top });
            tops
        });
        self.loudest = tops.into_iter().fold(0.0, f32::max);
        self.waiting.extend_from_slice(sound);
        let enough = self.samples(LOOK_S);
        match &mut self.known {
            Some(known) => {
                known.push(sound);
                if known.lost() {
                    self.look_anew();
                }
                if self.waiting.len() > 2 * enough {
                    self.forget(self.waiting.len() - enough);
                }
            }
            None => {
                while self.known.is_none() && self.waiting.len() >= enough {
                    self.look(enough);
                }
            }
        }
    }

    fn samples(&self, s: f64) -> usize {
        (s * f64::from(self.rate_hz)) as usize
    }

    fn forget(&mut self, count: usize) {
        self.waiting.drain(..count);
        self.from += count as u64;
    }

    /// What was heard in all: the longest that has figures where the sound changed on the way, with the others.
    ///
    /// # Errors
    /// [`Refusal`], where what was heard bears no figures out.
    pub fn finish(mut self) -> Result<Heard, Refusal> {
        if self.known.is_none() && self.waiting.len() >= self.samples(LEAST_S) {
            self.look(self.waiting.len());
        }
        let (last, lasts_s) = (self.last(), self.lasts_s());
        let mut all = self.before;
        let why = match last {
            Ok(heard) => {
                all.push(heard);
                None
            }
            Err(why) => Some(why),
        };
        let Some(longest) = (0..all.len()).max_by_key(|&i| all[i].beats.len()) else {
            return Err(why.or(self.refused).unwrap_or(Refusal::NothingReturns { clear: 0.0 }));
        };
        all.iter_mut().for_each(|heard| heard.lasts_s = lasts_s);
        let mut heard = all.remove(longest);
        heard.others = all;
        Ok(heard)
    }

    /// What is heard now; for live sound. Before `LOOK_S` have come it is looked for what there is.
    ///
    /// # Errors
    /// [`Refusal`], where what was heard so far bears no figures out: so until the first beats were found.
    pub fn heard(&mut self) -> Result<Heard, Refusal> {
        if self.known.is_some() || self.waiting.len() < self.samples(LEAST_S) {
            self.early = None;
            return self.last();
        }
        if self.pushed >= self.asked + self.samples(ASKED_S) as u64 {
            self.asked = self.pushed;
            let mut best = self.best.take();
            let found = self.find(&self.waiting, self.from, &mut best);
            self.best = best;
            self.early = found.or(self.early.take());
        }
        self.early.as_ref().map_or_else(|| self.last(), |early| early.heard(self.lasts_s()))
    }

    fn lasts_s(&self) -> f64 {
        self.pushed as f64 / f64::from(self.rate_hz)
    }

    fn last(&self) -> Result<Heard, Refusal> {
        let lasts_s = self.lasts_s();
        if self.loudest < SILENT {
            return Err(Refusal::Silent { loudest: f64::from(self.loudest) });
        }
        if lasts_s < LEAST_S {
            return Err(Refusal::TooShort { lasts_s, needs_s: LEAST_S });
        }
        match (&self.known, &self.best) {
            (Some(known), _) => known.heard(lasts_s),
            (None, Some(best)) if best.slow() => Err(Refusal::TooSlow { beats_per_hour: 3600.0 / best.beat_s }),
            (None, best) => Err(Refusal::NothingReturns { clear: best.as_ref().map_or(0.0, |b| f64::from(b.clear)) }),
        }
    }

    /// Looks for beats in samples, of which the first has a number.
    fn find(&self, sound: &[f32], from: u64, best: &mut Option<Returns>) -> Option<Known> {
        Known::new(Found::new(sound, self.rate_hz, best)?, from, self.rate_hz, None)
    }

    /// Looks for beats in what is waiting.
    fn look(&mut self, count: usize) {
        let mut best = self.best.take();
        let found = self.find(&self.waiting[..count], self.from, &mut best);
        self.best = best;
        match found {
            Some(mut known) => {
                known.push(&self.waiting[count..]);
                self.known = Some(known);
            }
            None => self.forget(self.samples(GO_ON_S).min(self.waiting.len())),
        }
    }

    /// Looks for beats once more, where those that were followed are lost: the watch was moved, or something stands in its
    /// way. Where there are none the old ones are waited for.
    fn look_anew(&mut self) {
        if self.pushed < self.asked + self.samples(AGAIN_S) as u64 {
            return;
        }
        self.asked = self.pushed;
        let part = self.waiting.len().saturating_sub(self.samples(ANEW_S));
        let found = Found::new(&self.waiting[part..], self.rate_hz, &mut None);
        let old = self.known.as_ref();
        let Some(new) = found.and_then(|f| Known::new(f, self.from + part as u64, self.rate_hz, old)) else { return };
        match self.known.replace(new).map(|old| old.heard(self.lasts_s())) {
            Some(Ok(heard)) => self.before.push(heard),
            Some(Err(why)) => self.refused = Some(why),
            None => {}
        }
    }
}
