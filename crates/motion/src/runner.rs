//! The machine in motion: from event to event.

use std::f64::consts::PI;

use crate::dynamics::{Dynamics, PLACES, Place, Works};
use crate::pair::{BALANCE, Gap, LEVER, Meeting, WHEEL};
use crate::row::{MOST, Row};
use crate::scene::{Scene, Watched};
use crate::settle::{DEEP_M, LOOK_S, REST_RAD_PER_S, SLACK_M};
use crate::step::{Instant, Laws, Phase, Rates, Step};

/// Features nearer than this touch, m: a thousandth of the size of an atom, a thousand times the rounding of a place.
pub(crate) const TOUCH_M: f64 = 1e-12;
/// Step below which an event that does not move on is settled where it is, s.
const LEAST_STEP_S: f64 = 1e-11;
/// Steps are no longer than this part of the balance's period.
const LONGEST_RATIO: f64 = 0.01;

/// What a meeting of parts was, when it was a shock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shock {
    /// When.
    pub t_s: f64,
    /// What met.
    pub meeting: Meeting,
    /// Faces of the first and the second of the meeting.
    pub faces: [parts::Face; 2],
    /// Speed at which they closed.
    pub speed_m_per_s: f64,
    /// Energy lost there.
    pub lost_j: f64,
}

/// Something that happened, in the order of time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// The balance turned.
    Extreme {
        /// When.
        t_s: f64,
        /// Balance angle, from the spring's rest.
        balance_rad: f64,
    },
    /// The wheel, turned back until now, begins to advance.
    Advances {
        /// When.
        t_s: f64,
    },
    /// Parts struck.
    Shock(Shock),
}

/// Why a motion could not go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Halt {
    /// Nothing moves and nothing will.
    Stands,
    /// Contacts block one another.
    Jams,
    /// The lever is beyond where a banking should have held it.
    BeyondBankings,
    /// More events than are allowed.
    Endless,
}

/// Accuracy and bounds of a computation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Largest error of a step, as a part of a lever's half travel, of its speed, of a radian of the balance.
    pub step_error_ratio: f64,
    /// Steps after which a computation is given up.
    pub most_steps: u64,
}

impl Default for Options {
    fn default() -> Options {
        Options { step_error_ratio: 1e-7, most_steps: 2_000_000 }
    }
}

/// A machine on its way.
#[derive(Clone, Debug)]
pub(crate) struct Runner<'a> {
    pub(crate) laws: Laws<'a>,
    pub(crate) options: Options,
    pub(crate) now: Instant,
    pub(crate) phase: Phase,
    pub(crate) rates: Rates,
    pub(crate) watch: Vec<Watched>,
    pub(crate) near: [i32; 2],
    pub(crate) works: Works,
    pub(crate) events: Vec<Event>,
    /// Whether wheel and lever are held by their contacts.
    pub(crate) resting: bool,
    pub(crate) steps: u64,
    pub(crate) changes: u64,
    /// Contacts that part.
    pub(crate) parting: Vec<Row>,
    h_s: f64,
    longest_s: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Cause {
    Meets(usize),
    Turns(usize),
    Bearing,
}

impl<'a> Runner<'a> {
    pub(crate) fn new(
        scene: &'a Scene,
        dynamics: &'a Dynamics,
        rest_rad: f64,
        options: Options,
        now: Instant,
    ) -> Runner<'a> {
        let laws = Laws { scene, dynamics, rest_rad };
        let period_s = 2.0 * PI / dynamics.balance.natural_rad_per_s();
        let phase = Phase { bearing: Vec::with_capacity(MOST), senses: [0.0; 3], lightness: laws.lightness() };
        let mut out = Runner {
            laws,
            options,
            now,
            phase,
            rates: Rates::default(),
            watch: Vec::new(),
            near: scene.near(now.q[WHEEL]),
            works: [0.0; PLACES],
            events: Vec::new(),
            resting: false,
            steps: 0,
            changes: 0,
            parting: Vec::new(),
            h_s: 1e-4 * period_s,
            longest_s: LONGEST_RATIO * period_s,
        };
        scene.watch(out.near, &mut out.watch);
        out
    }

    /// Finds the first phase.
    pub(crate) fn begin(&mut self) -> Result<(), Halt> {
        self.settled()
    }

    fn settled(&mut self) -> Result<(), Halt> {
        self.changes += 1;
        let near = self.laws.scene.near(self.now.q[WHEEL]);
        if near != self.near {
            self.near = near;
            self.laws.scene.watch(near, &mut self.watch);
        }
        let [low, high] = self.laws.scene.travel_rad;
        if !(low..=high).contains(&self.now.q[LEVER]) {
            return Err(Halt::BeyondBankings);
        }
        self.settle()?;
        self.rates = self.laws.rates(&self.now.q, &self.now.v, &self.phase);
        if self.rates.jams {
            return Err(Halt::Jams);
        }
        // What has just rebounded comes back: the next step ends a little later.
        for row in &self.parting {
            let pull = crate::row::dot(&row.w, &self.rates.a) + row.curve_m_per_s2;
            if pull < 0.0 {
                self.h_s = self.h_s.min(-2.1 * row.opening_m_per_s / pull);
            }
        }
        Ok(())
    }

    /// Moves on to the next event.
    pub(crate) fn advance(&mut self) -> Result<(), Halt> {
        loop {
            self.steps += 1;
            if self.steps > self.options.most_steps {
                return Err(Halt::Endless);
            }
            let longest_s = if self.resting { 5.0 * self.longest_s } else { self.longest_s };
            let h_s = self.h_s.min(longest_s);
            let step = self.laws.step(&self.now, &self.rates, h_s, &self.phase);
            let allowed = self.options.step_error_ratio;
            if !(step.error <= allowed) && h_s > LEAST_STEP_S {
                let by = 0.9 * (allowed / step.error).powf(0.2);
                self.h_s = h_s * if by.is_finite() { by.clamp(0.1, 0.9) } else { 0.1 };
                continue;
            }
            if step.doubtful && h_s > LEAST_STEP_S && !self.ends_by_force(&step) {
                self.h_s = 0.5 * h_s;
                continue;
            }
            let (at_s, cause) = match self.first_event(&step) {
                None => {
                    self.take(&step);
                    let by = 0.9 * (allowed / step.error.max(1e-300)).powf(0.2);
                    self.h_s = h_s * by.clamp(0.2, 4.0);
                    continue;
                }
                Some(found) => found,
            };
            let at_s = at_s.max(LEAST_STEP_S);
            let step = if at_s < h_s { self.laws.step(&self.now, &self.rates, at_s, &self.phase) } else { step };
            self.take(&step);
            if let Cause::Meets(at) = cause {
                self.land(at);
            }
            if let Cause::Turns(k) = cause {
                let t_s = self.now.t_s;
                match k {
                    BALANCE => {
                        let balance_rad = self.now.q[BALANCE] - self.laws.rest_rad;
                        self.events.push(Event::Extreme { t_s, balance_rad });
                    }
                    WHEEL if step.from.v[WHEEL] > 0.0 => self.events.push(Event::Advances { t_s }),
                    _ => {}
                }
                self.now.v[k] = 0.0;
            }
            return self.settled();
        }
    }

    /// A doubtful step may be one whose end shows the contact to have let go: then the event is looked for in it.
    fn ends_by_force(&self, step: &Step) -> bool {
        !step.last.jams && step.last.force_n[..self.phase.bearing.len()].iter().any(|&f| f < 0.0)
    }

    /// Takes a step: state, works, margins.
    fn take(&mut self, step: &Step) {
        let h_s = step.to.t_s - step.from.t_s;
        for watched in &mut self.watch {
            let pair = &watched.pair;
            let far = |body: usize, reach_m: f64| h_s * reach_m * step.from.v[body].abs().max(step.to.v[body].abs());
            watched.free_m -= 1.1 * (far(pair.a, pair.reach_m[0]) + far(pair.b, pair.reach_m[1]));
        }
        self.now = step.to;
        self.rates = step.last;
        let works = &mut self.works;
        works[Place::Drive as usize] += step.work_j[0];
        works[Place::LeverPivots as usize] += step.work_j[1];
        works[Place::Air as usize] += step.work_j[2];
        works[Place::BalancePivots as usize] += step.work_j[3];
        for (j, bearing) in self.phase.bearing.iter().enumerate() {
            let place = Place::of_friction(bearing.watched.pair.meeting, bearing.watched.pair.faces[1]);
            works[place as usize] += step.work_j[4 + j];
        }
        self.project();
    }

    /// Brings contacts that bear back to no gap and no speed of opening, from what a step's error leaves.
    fn project(&mut self) {
        let n = self.phase.bearing.len();
        if n == 0 || self.resting {
            return;
        }
        let light = &self.phase.lightness;
        for shift in [true, false] {
            let mut system = [[0.0; MOST + 1]; MOST];
            let rows = &self.rates.rows;
            for i in 0..n {
                for j in 0..n {
                    system[i][j] = crate::row::dot(&rows[i].w, &crate::row::over(&rows[j].w, light));
                }
                system[i][MOST] = if shift { -self.rates.gap_m[i] } else { -crate::row::dot(&rows[i].w, &self.now.v) };
            }
            let Some(by) = crate::row::solve(&mut system, n) else { return };
            for j in 0..n {
                let change = crate::row::over(&rows[j].w, light);
                for k in 0..3 {
                    if shift {
                        self.now.q[k] += by[j] * change[k];
                    } else {
                        self.now.v[k] += by[j] * change[k];
                    }
                }
            }
        }
    }

    /// Moves to where the gap of a pair closes, from what the search for it left.
    fn land(&mut self, at: usize) {
        for _ in 0..2 {
            let turns = self.laws.scene.turns(&self.now.q);
            let watched = &mut self.watch[at];
            watched.free_m = 0.0;
            let gap = watched.gap(&turns);
            let row = Row::new(&gap, watched.pair.a, watched.pair.b, &self.now.v);
            if row.opening_m_per_s == 0.0 || gap.gap_m.abs() < 1e-3 * TOUCH_M {
                return;
            }
            let by_s = -gap.gap_m / row.opening_m_per_s;
            for k in 0..3 {
                self.now.q[k] += by_s * self.now.v[k];
            }
            self.now.t_s += by_s;
        }
    }

    /// The first event within a step: when, from its start, and what.
    fn first_event(&mut self, step: &Step) -> Option<(f64, Cause)> {
        let h_s = step.to.t_s - step.from.t_s;
        let mut first = (h_s, None);
        for k in 0..3 {
            let value = |s: f64| self.phase.senses[k] * step.at(s).1[k];
            let turned = self.phase.lightness[k] > 0.0 && self.phase.senses[k] * step.to.v[k] < -REST_RAD_PER_S;
            if turned && (first.0 == h_s || value(first.0) < 0.0) {
                first = (root(first.0, value), Some(Cause::Turns(k)));
            }
        }
        for i in 0..self.phase.bearing.len() {
            if self.resting {
                break;
            }
            let read = |r: &Rates, which: usize| match which {
                0 => r.force_n[i],
                1 => r.inside_m[i] + SLACK_M,
                _ => self.phase.bearing[i].sense * r.rows[i].slip_m_per_s,
            };
            for which in 0..3 {
                let value = |s: f64| {
                    let (q, v) = step.at(s);
                    read(&self.laws.rates(&q, &v, &self.phase), which)
                };
                let end = if first.0 < h_s { value(first.0) } else { read(&step.last, which) };
                if end < 0.0 {
                    first = (root(first.0, value), Some(Cause::Bearing));
                }
            }
        }
        self.first_meeting(step, h_s, &mut first);
        first.1.map(|cause| (first.0, cause))
    }

    fn first_meeting(&mut self, step: &Step, h_s: f64, first: &mut (f64, Option<Cause>)) {
        let scene = self.laws.scene;
        let mut ends = None;
        for at in 0..self.watch.len() {
            let watched = self.watch[at];
            let pair = &watched.pair;
            let far = |body: usize, reach_m: f64| h_s * reach_m * step.from.v[body].abs().max(step.to.v[body].abs());
            let moved_m = 1.1 * (far(pair.a, pair.reach_m[0]) + far(pair.b, pair.reach_m[1]));
            if moved_m <= watched.free_m {
                continue;
            }
            let bears = |b: &crate::step::Bearing| b.watched.pair.id == pair.id && b.watched.tooth == watched.tooth;
            if self.phase.bearing.iter().any(bears) {
                continue;
            }
            let (start, end) = *ends.get_or_insert_with(|| (scene.turns(&step.from.q), step.turns(scene)));
            let from = self.watch[at].gap(&start);
            self.watch[at].free_m = from.clear_m.max(0.0);
            let lasts = first.0;
            let to = if lasts < h_s { watched.gap(&scene.turns(&step.at(lasts).0)) } else { watched.gap(&end) };
            if let Some(found) = self.meeting(&watched, step, lasts, [&from, &to], moved_m) {
                *first = (found, Some(Cause::Meets(at)));
            }
        }
    }

    /// When within `lasts` of a step the gap of a pair closes, from where it stands at both ends.
    fn meeting(&self, watched: &Watched, step: &Step, lasts: f64, [from, to]: [&Gap; 2], moved_m: f64) -> Option<f64> {
        let scene = self.laws.scene;
        let at = |s: f64| watched.gap(&scene.turns(&step.at(s).0));
        // As when it is settled: a contact at the end of a face counts when it is going in.
        let goes_in = |s: &f64| {
            let (q, v) = step.at(*s);
            watched.gap(&scene.turns(&[0, 1, 2].map(|k| q[k] + LOOK_S * v[k]))).inside_m >= -SLACK_M
        };
        if from.gap_m > TOUCH_M {
            let until = if to.gap_m < 0.0 { Some(lasts) } else { self.graze(watched, step, lasts) };
            if let Some(found) = until.map(|until| root(until, |s| at(s).gap_m)).filter(goes_in) {
                return Some(found);
            }
        }
        // In one another at the end and not at the start: back after it had let go, or come round the end of a face. Deeper
        // than it can have moved, the two look at one another across a thin body.
        let inside = |gap: &Gap| gap.gap_m < -TOUCH_M && gap.inside_m >= 0.0;
        if inside(from) && from.gap_m < -DEEP_M {
            return None;
        }
        let entered = |gap: &Gap| inside(gap) && gap.gap_m > -moved_m;
        let until = if from.gap_m < TOUCH_M {
            let early = [0.125, 0.25, 0.5, 0.75].into_iter().map(|part| part * lasts);
            early.into_iter().find(|&s| entered(&at(s)))
        } else {
            None
        };
        let (mut low, mut high) = (0.0, until.or(entered(to).then_some(lasts))?);
        while high - low > LEAST_STEP_S {
            let middle = 0.5 * (low + high);
            if inside(&at(middle)) { high = middle } else { low = middle }
        }
        (at(high).gap_m > -DEEP_M).then_some(high)
    }

    /// A gap that closes and opens again within a step.
    fn graze(&self, watched: &Watched, step: &Step, lasts: f64) -> Option<f64> {
        let rate = |s: f64| {
            let (q, v) = step.at(s);
            let gap = watched.gap(&self.laws.scene.turns(&q));
            (gap.gap_m, Row::new(&gap, watched.pair.a, watched.pair.b, &v).opening_m_per_s)
        };
        if rate(0.0).1 >= 0.0 || rate(lasts).1 <= 0.0 {
            return None;
        }
        let least = root(lasts, |s| -rate(s).1);
        (rate(least).0 < 0.0).then_some(least)
    }
}

/// Where a function that is positive at 0 and negative at `end` first passes 0, nearly, to the rounding of the argument;
/// 0 where it is not positive at the start.
///
/// Chords, the end that stays weighed down: N. Anderson, A. Bjorck, BIT 13 (1973) 253-264 (from memory).
pub(crate) fn root(end: f64, value: impl Fn(f64) -> f64) -> f64 {
    let (mut old, mut new) = (0.0, end);
    let (mut at_old, mut at_new) = (value(old), value(new));
    if at_old <= 0.0 {
        return 0.0;
    }
    for _ in 0..100 {
        let (low, high) = (f64::min(old, new), f64::max(old, new));
        let mut next = new - at_new * (new - old) / (at_new - at_old);
        if !(next > low && next < high) {
            next = 0.5 * (low + high);
        }
        if high - low <= 1e-14 * end || next == low || next == high {
            break;
        }
        let at_next = value(next);
        if at_next == 0.0 {
            return next;
        }
        if (at_next < 0.0) == (at_new < 0.0) {
            let weight = 1.0 - at_next / at_new;
            at_old *= if weight > 0.0 { weight } else { 0.5 };
        } else {
            (old, at_old) = (new, at_new);
        }
        (new, at_new) = (next, at_next);
    }
    if at_new < 0.0 { new } else { old }
}
