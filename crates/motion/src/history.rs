//! The states that a motion goes through: at everything that happens, and at even times in between.

use crate::laws::{Instant, Phase};
use crate::machine::{Machine, Motion, State};
use crate::press::{Press, Rest};
use crate::runner::{Event, Options, Runner};
use crate::watch::Watch;

/// A state of a motion, what has just happened there, and what pressed on the way to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// Angles and speeds.
    pub state: State,
    /// What happened; a shock has changed the speeds already, and the moment before shows them as they were.
    pub event: Option<Event>,
    /// What pressed since the moment before, as it did halfway; nothing where no time went by.
    pub presses: Vec<Press>,
}

/// Steps below this are not halved any more, s: chosen as that of the motion itself.
const LEAST_STEP_S: f64 = 1e-11;

/// What holds from one event to the next.
struct Leg<'a> {
    now: Instant,
    phase: Phase,
    resting: Option<Rest>,
    watch: Watch<'a>,
}

impl Leg<'_> {
    /// Moves on by itself to an instant before the next event, and says what pressed on the way.
    fn pressed(&mut self, runner: &Runner<'_>, until_s: f64) -> Vec<Press> {
        let from = self.now;
        self.go_on(runner, until_s);
        self.presses(runner, &from, &self.now)
    }

    fn presses(&self, runner: &Runner<'_>, from: &Instant, to: &Instant) -> Vec<Press> {
        runner.laws.presses(&self.watch, &self.phase, self.resting, from, to)
    }

    /// Moves on by itself to an instant before the next event.
    fn go_on(&mut self, runner: &Runner<'_>, until_s: f64) {
        let (laws, allowed) = (&runner.laws, runner.options.step_error_ratio);
        let mut longest_s = runner.longest_s;
        while self.now.t_s < until_s {
            let left_s = until_s - self.now.t_s;
            let h_s = longest_s.min(left_s);
            let turns = laws.scene.turns(&self.now.q);
            let rates = laws.rates(&self.watch, &turns, &self.now.q, &self.now.v, &self.phase);
            let step = laws.step(&self.watch, &self.now, &turns, &rates, h_s, &self.phase);
            if (step.error > allowed || step.error.is_nan()) && h_s > LEAST_STEP_S {
                longest_s = 0.5 * h_s;
                continue;
            }
            self.now = step.to;
            if h_s == left_s {
                self.now.t_s = until_s;
            }
        }
    }
}

impl Machine {
    /// Plays a motion as [`Machine::play`] does, and shows the states it goes through: the first, one at every multiple of
    /// `every_s`, one before and one after each shock, one at everything else that happens, the last.
    ///
    /// # Arguments
    /// `every_s`: more than 0.
    ///
    /// # Accuracy
    /// Between events the motion is integrated anew with steps no less exact than its own: `tests/history.rs`.
    pub fn follow(
        &self,
        from: &State,
        extremes: usize,
        options: Options,
        every_s: f64,
        mut see: impl FnMut(&Moment),
    ) -> Motion {
        let (mut leg, mut seen, mut next): (Option<Leg>, usize, u64) = (None, 0, 1);
        self.play_seen(from, extremes, options, |runner| {
            let here = self.state(&runner.now);
            let new = &runner.events[seen..];
            let mut presses = Vec::new();
            if let Some(mut leg) = leg.take() {
                let mut go_to = |leg: &mut Leg<'_>, until_s: f64| {
                    let presses = leg.pressed(runner, until_s);
                    see(&Moment { state: self.state(&leg.now), event: None, presses });
                };
                while from.t_s + next as f64 * every_s < here.t_s {
                    go_to(&mut leg, from.t_s + next as f64 * every_s);
                    next += 1;
                }
                if new.iter().any(|event| matches!(event, Event::Shock(_))) {
                    go_to(&mut leg, here.t_s);
                } else {
                    presses = leg.presses(runner, &leg.now, &runner.now);
                }
            }
            if new.is_empty() {
                see(&Moment { state: here, event: None, presses: std::mem::take(&mut presses) });
            }
            for &event in new {
                see(&Moment { state: here, event: Some(event), presses: std::mem::take(&mut presses) });
            }
            seen = runner.events.len();
            let (phase, resting) = (runner.phase, runner.resting);
            leg = Some(Leg { now: runner.now, phase, resting, watch: runner.watch.clone() });
        })
    }
}
