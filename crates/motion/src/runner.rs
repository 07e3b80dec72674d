//! The machine in motion: from event to event.

use std::f64::consts::TAU;

use crate::balance::BalanceState;
use crate::dynamics::{Dynamics, PLACES, Place, Works};
use crate::laws::{BEARINGS, Instant, Laws, POWERS, Phase, Rates};
use crate::pair::{BALANCE, Gap, LEVER, Meeting, Turns, WHEEL};
use crate::pieces::{Arrived, Pieces};
use crate::press::Rest;
use crate::root::{root, root_between};
use crate::row::{Row, dot, over, solve};
use crate::scene::Scene;
use crate::settle::{LOOK_S, REST_RAD_PER_S, SLACK_M, STICK_M_PER_S, STILL_RAD_PER_S2};
use crate::step::Step;
use crate::watch::Watch;

/// Features nearer than this touch, m: a thousandth of the size of an atom, a thousand times the rounding of a place.
pub(crate) const TOUCH_M: f64 = 1e-12;
/// Step below which an event that does not move on is settled where it is, s.
pub(crate) const LEAST_STEP_S: f64 = 1e-11;
/// An angle nearer than this is where the balance stands, rad: a hundred times the rounding of an angle.
const HERE_RAD: f64 = 1e-13;
/// Steps are no longer than this part of the balance's period: farther ahead more pairs are looked at in vain, and a tooth
/// could come through what is thin.
const LONGEST_RATIO: f64 = 0.002;
/// So long they may be while wheel and lever are held, in the same measure.
const ALONE_RATIO: f64 = 0.01;

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
    /// Whether the blow drives the balance on, and does not hold it back.
    pub drives_balance: bool,
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
    /// The wheel has turned round without the balance turning.
    RunsThrough,
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
    /// The bodies' turns now.
    pub(crate) turns: Turns,
    pub(crate) phase: Phase,
    pub(crate) rates: Rates,
    pub(crate) watch: Watch<'a>,
    pub(crate) works: Works,
    pub(crate) events: Vec<Event>,
    /// What holds wheel and lever by their contacts, where these do.
    pub(crate) resting: Option<Rest>,
    /// Whether the wheel has yet to advance in this beat.
    locked: bool,
    /// Wheel angle when the balance turned last.
    turned_at_rad: f64,
    /// Sense in which the balance swings, 0 until it does.
    swings: f64,
    /// Pairs that were looked at where the machine is now, and how they stand.
    pub(crate) looked: Vec<(usize, Gap)>,
    pub(crate) steps: u64,
    /// Length of the next step, and of the next flight, as far as their errors go.
    h_s: f64,
    flight_s: f64,
    pub(crate) longest_s: f64,
    /// The balance's free flight in closed form, where it has one.
    pieces: Option<Pieces>,
    /// What stops the balance while the lever rests at an angle, on either banking.
    stops: [(f64, Vec<(f64, f64)>); 2],
    /// Room for the places of pairs that are close.
    pub(crate) close: Vec<usize>,
}

/// What ends a phase.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Cause {
    /// A pair meets.
    Meets(usize),
    /// A coordinate turns.
    Turns(usize),
    /// A contact lets go, comes to its end or changes the sense of its slip.
    Bearing,
}

/// Steps that are shortened for what meets go on beyond it by this: chosen, since what is foreseen is wrong by less.
const BEYOND_RATIO: f64 = 1.02;
/// They are not made shorter than this part of what they could be: chosen, so that they move on whatever is foreseen.
const SOONEST_RATIO: f64 = 0.02;
/// Corrections smaller than this part of a step are left to `land`.
const LITTLE_RATIO: f64 = 1e-5;
/// Turn of the wheel in one step where nothing else moves, rad: chosen smaller than a tooth is wide.
const LITTLE_RAD: f64 = 0.01;
/// Corrections of the instant at which parts meet: one, or more where they graze.
const MOST_CORRECTIONS: usize = 3;
/// Events other than meetings are located to this part of a step.
const LOCATED_RATIO: f64 = 1e-9;

impl<'a> Runner<'a> {
    pub(crate) fn new(
        scene: &'a Scene,
        dynamics: &'a Dynamics,
        rest_rad: f64,
        options: Options,
        now: Instant,
    ) -> Runner<'a> {
        let laws = Laws { scene, dynamics, rest_rad };
        let period_s = TAU / dynamics.balance.natural_rad_per_s();
        Runner {
            laws,
            options,
            now,
            turns: scene.turns(&now.q),
            phase: Phase::default(),
            rates: Rates::default(),
            watch: Watch::new(scene, now.q[WHEEL]),
            works: [0.0; PLACES],
            events: Vec::new(),
            resting: None,
            locked: true,
            turned_at_rad: now.q[WHEEL],
            swings: 0.0,
            looked: Vec::new(),
            steps: 0,
            h_s: 1e-4 * period_s,
            flight_s: ALONE_RATIO * period_s,
            longest_s: LONGEST_RATIO * period_s,
            pieces: dynamics.balance.pieces(),
            stops: [(f64::NAN, Vec::new()), (f64::NAN, Vec::new())],
            close: Vec::new(),
        }
    }

    /// Finds what holds now.
    pub(crate) fn begin(&mut self) -> Result<(), Halt> {
        self.turns = self.laws.scene.turns(&self.now.q);
        self.watch.renew(self.now.q[WHEEL]);
        let [low, high] = self.laws.scene.travel_rad;
        if !(low..=high).contains(&self.now.q[LEVER]) {
            return Err(Halt::BeyondBankings);
        }
        self.settle()?;
        let (speed, pull) = (self.now.v[BALANCE], self.rates.a[BALANCE]);
        let moves = speed != 0.0 || pull.abs() > STILL_RAD_PER_S2;
        let sense = if speed != 0.0 { speed.signum() } else { pull.signum() };
        if moves && sense != self.swings {
            // Thrown back by a shock, or stopped by it and drawn back, as when it knocks.
            if self.swings != 0.0 {
                self.turns();
            }
            self.swings = sense;
        }
        if (self.now.q[WHEEL] - self.turned_at_rad).abs() > TAU {
            return Err(Halt::RunsThrough);
        }
        Ok(())
    }

    /// Moves on to the next event.
    pub(crate) fn advance(&mut self) -> Result<(), Halt> {
        if self.resting.is_some()
            && let Some(pieces) = self.pieces
        {
            self.steps += 1;
            return self.fly(&pieces);
        }
        loop {
            self.steps += 1;
            if self.steps > self.options.most_steps {
                return Err(Halt::Endless);
            }
            let flies = self.laws.flies(&self.phase);
            let longest_s = if flies { self.flight_s } else { self.h_s }.min(self.longest_step_s());
            let h_s = longest_s.min((BEYOND_RATIO * self.soon_s()).max(SOONEST_RATIO * longest_s));
            let step = if flies {
                self.laws.flight(&self.watch, &self.now, &self.turns, &self.rates, h_s, &self.phase)
            } else {
                self.laws.step(&self.watch, &self.now, &self.turns, &self.rates, h_s, &self.phase)
            };
            let next_s = if flies { &mut self.flight_s } else { &mut self.h_s };
            let allowed = self.options.step_error_ratio;
            // What is not a number counts as an error without bounds.
            if (step.error > allowed || step.error.is_nan()) && h_s > LEAST_STEP_S {
                let by = 0.9 * (allowed / step.error).powf(0.2);
                *next_s = h_s * if by.is_finite() { by.clamp(0.1, 0.9) } else { 0.1 };
                continue;
            }
            let lets_go = step.last.force_n.iter().any(|&f| f < 0.0) && !step.last.jams;
            if step.doubtful && h_s > LEAST_STEP_S && !lets_go {
                *next_s = 0.5 * h_s;
                continue;
            }
            let by = 0.9 * (allowed / step.error.max(1e-300)).powf(0.2);
            *next_s = (by * h_s).clamp(0.2 * h_s, 4.0 * next_s.max(h_s));
            let Some((at_s, cause)) = self.first_event(&step) else {
                self.take(&step);
                if self.stands() {
                    return Err(Halt::Stands);
                }
                continue;
            };
            let before = step.from.v;
            let step = self.step_to(&step, at_s.max(LEAST_STEP_S), cause);
            self.take(&step);
            match cause {
                Cause::Meets(at) => self.land(at, step.from.t_s + 0.1 * at_s),
                Cause::Turns(k) => self.turned(k, before[k]),
                Cause::Bearing => {}
            }
            return self.begin();
        }
    }

    /// The part of a step up to an event, its instant corrected where parts meet by what is left of their gap.
    ///
    /// A flight is known at every instant. Another step is made anew, since between its ends it is less exact than at its
    /// end; but shortly before its end it is exact enough.
    fn step_to(&self, whole: &Step, at_s: f64, cause: Cause) -> Step {
        let (laws, watch, phase) = (&self.laws, &self.watch, &self.phase);
        let flies = laws.flies(phase);
        let made = |lasts_s: f64| {
            if flies {
                let mut step = *whole;
                laws.end_flight(watch, &mut step, lasts_s, phase);
                step
            } else {
                laws.step(watch, &self.now, &self.turns, &self.rates, lasts_s, phase)
            }
        };
        let mut step = if !flies && whole.nearly_ends(at_s) { laws.cut(watch, whole, at_s, phase) } else { made(at_s) };
        let Cause::Meets(at) = cause else { return step };
        let mut lasts_s = at_s;
        for _ in 0..MOST_CORRECTIONS {
            let by_s = self.until_closed_s(at, &step.to);
            let little = by_s.is_nan() || by_s.abs() < LITTLE_RATIO * at_s;
            if little || by_s.abs() < LEAST_STEP_S || lasts_s + by_s < 0.1 * at_s || lasts_s + by_s > 2.0 * at_s {
                break;
            }
            lasts_s += by_s;
            let corrected = made(lasts_s);
            if !self.goes_in(at, &corrected.to) {
                break;
            }
            step = corrected;
        }
        step
    }

    /// A small part of a period; where the wheel alone moves, and steadily, until it has turned a little.
    fn longest_step_s(&self) -> f64 {
        let held = |k: usize| self.phase.lightness[k] == 0.0;
        if held(WHEEL) && held(LEVER) {
            return ALONE_RATIO / LONGEST_RATIO * self.longest_s;
        }
        let stands = |k: usize| self.now.v[k].abs() <= REST_RAD_PER_S && self.rates.a[k].abs() <= STILL_RAD_PER_S2;
        if stands(LEVER) && stands(BALANCE) && self.rates.a[WHEEL].abs() <= STILL_RAD_PER_S2 {
            self.longest_s.max(LITTLE_RAD / self.now.v[WHEEL].abs().max(REST_RAD_PER_S))
        } else {
            self.longest_s
        }
    }

    /// Whether a pair is, or is coming, within the range of its contact.
    pub(crate) fn goes_in(&self, at: usize, now: &Instant) -> bool {
        let ahead = [0, 1, 2].map(|k| now.q[k] + LOOK_S * now.v[k]);
        self.watch.pair(at).gap(&self.laws.scene.turns_from(&self.turns, &ahead)).inside_m >= -SLACK_M
    }

    /// Time in which the gap of a pair closes at the rate at which it closes now.
    fn until_closed_s(&self, at: usize, now: &Instant) -> f64 {
        let watched = self.watch.pair(at);
        let gap = watched.gap(&self.laws.scene.turns_from(&self.turns, &now.q));
        -gap.gap_m / Row::new(watched, &gap, &now.v).opening_m_per_s
    }

    /// Notes that a coordinate stands, having moved at `before`.
    fn turned(&mut self, k: usize, before: f64) {
        let t_s = self.now.t_s;
        match k {
            BALANCE => {
                self.turns();
                self.swings = -before.signum();
            }
            WHEEL if before > 0.0 && self.locked => {
                self.events.push(Event::Advances { t_s });
                self.locked = false;
            }
            _ => {}
        }
        self.now.v[k] = 0.0;
    }

    /// Notes that the balance turns.
    fn turns(&mut self) {
        self.events.push(Event::Extreme { t_s: self.now.t_s, balance_rad: self.now.q[BALANCE] - self.laws.rest_rad });
        self.locked = true;
        self.turned_at_rad = self.now.q[WHEEL];
    }

    /// Takes a step: state and works.
    fn take(&mut self, step: &Step) {
        self.now = step.to;
        self.turns = self.laws.scene.turns_from(&self.turns, &self.now.q);
        self.rates = step.last;
        self.count(step.work_j);
        match self.phase.bearing().len() {
            0 => {}
            1 => self.project::<1>(),
            2 => self.project::<2>(),
            _ => self.project::<BEARINGS>(),
        }
    }

    /// Adds work, in the order of `Rates::power_w`, to its places.
    fn count(&mut self, work_j: [f64; POWERS]) {
        self.works[Place::Drive as usize] += work_j[0];
        self.works[Place::LeverPivots as usize] += work_j[1];
        self.works[Place::Air as usize] += work_j[2];
        self.works[Place::BalancePivots as usize] += work_j[3];
        for (bearing, work) in self.phase.bearing().iter().zip(&work_j[4..]) {
            let pair = self.watch.pair(bearing.at);
            self.works[Place::of_friction(pair.meeting, pair.faces[1]) as usize] += work;
        }
    }

    /// Brings contacts that bear back to no gap and no speed of opening, from what a step's error leaves.
    fn project<const N: usize>(&mut self) {
        let (w, light) = (&self.rates.w, &self.phase.lightness);
        let changes: [[f64; 4]; N] = std::array::from_fn(|j| over(&w[j], light));
        let matrix: [[f64; N]; N] = std::array::from_fn(|i| std::array::from_fn(|j| dot(&w[i], &changes[j])));
        let gaps: [f64; N] = std::array::from_fn(|i| -self.rates.gap_m[i]);
        let speeds: [f64; N] = std::array::from_fn(|i| -dot(&w[i], &self.now.v));
        let (Some(shift), Some(slow)) = (solve(&matrix, &gaps), solve(&matrix, &speeds)) else { return };
        for (change, (shift, slow)) in changes.iter().zip(shift.iter().zip(&slow)) {
            for ((q, v), c) in self.now.q.iter_mut().zip(&mut self.now.v).zip(change) {
                *q += shift * c;
                *v += slow * c;
            }
        }
    }

    /// Moves to where the gap of a pair closes, from what the search for it left, but not back before an instant.
    fn land(&mut self, at: usize, not_before_s: f64) {
        for _ in 0..2 {
            let watched = self.watch.pair(at);
            let turns = self.laws.scene.turns_from(&self.turns, &self.now.q);
            let gap = watched.gap(&turns);
            let row = Row::new(watched, &gap, &self.now.v);
            let by_s = -gap.gap_m / row.opening_m_per_s;
            // A gap that closes no further is taken as it is.
            if gap.gap_m.abs() < 1e-3 * TOUCH_M || by_s.is_nan() || by_s.abs() >= self.longest_s {
                break;
            }
            let rates = self.laws.rates(&self.watch, &turns, &self.now.q, &self.now.v, &self.phase);
            let mut there = self.now;
            there.t_s += by_s;
            for k in 0..3 {
                there.q[k] += by_s * (there.v[k] + 0.5 * by_s * rates.a[k]);
                there.v[k] += by_s * rates.a[k];
            }
            // Come round the end of a face it stays where it came in.
            if there.t_s < not_before_s || !self.goes_in(at, &there) {
                break;
            }
            self.now = there;
            self.count(rates.power_w.map(|w| by_s * w));
        }
    }

    /// The balance in free flight, wheel and lever at rest: to its extreme, or to where jewel or roller meet the lever.
    fn fly(&mut self, pieces: &Pieces) -> Result<(), Halt> {
        let rest_rad = self.laws.rest_rad;
        let from = BalanceState { angle_rad: self.now.q[BALANCE] - rest_rad, speed_rad_per_s: self.now.v[BALANCE] };
        let sense = self.phase.senses[BALANCE];
        let until = self.next_stop(sense).map(|jewel_rad| jewel_rad - rest_rad);
        let arrival = pieces.fly(from, 0.0, until);
        self.works[Place::Air as usize] += arrival.viscous_j;
        self.works[Place::BalancePivots as usize] += arrival.dry_j;
        // What creeps to where it stands is taken to be there at once: it would come there in infinite time.
        if arrival.arrived != Arrived::Creeps {
            self.now.t_s += arrival.time_s;
        }
        self.now.q[BALANCE] = arrival.state.angle_rad + rest_rad;
        self.now.v[BALANCE] = arrival.state.speed_rad_per_s;
        match arrival.arrived {
            Arrived::Sticks | Arrived::Creeps => return Err(Halt::Stands),
            Arrived::AtTurning => {
                self.turned(BALANCE, from.speed_rad_per_s);
                self.phase.senses[BALANCE] = -sense;
                return Ok(());
            }
            Arrived::AtAngle => {}
        }
        self.begin()
    }

    /// The jewel angle at which the balance, moving in a sense with the lever at rest, meets something.
    fn next_stop(&mut self, sense: f64) -> Option<f64> {
        let (lever_rad, jewel_rad) = (self.now.q[LEVER], self.now.q[BALANCE]);
        let known = &mut self.stops[usize::from(lever_rad < 0.0)];
        if known.0 != lever_rad {
            *known = (lever_rad, self.laws.scene.stops(lever_rad));
        }
        let ahead = |&&(_, opening): &&(f64, f64)| sense * opening < 0.0;
        let way = |&(at_rad, _): &(f64, f64)| {
            let way = (sense * (at_rad - jewel_rad)).rem_euclid(TAU);
            // Where it stands it has just been.
            if way < HERE_RAD { way + TAU } else { way }
        };
        let least = known.1.iter().filter(ahead).map(way).fold(f64::INFINITY, f64::min);
        least.is_finite().then_some(jewel_rad + sense * least)
    }

    /// The first event within a step: when, from its start, and what.
    fn first_event(&mut self, step: &Step) -> Option<(f64, Cause)> {
        let h_s = step.h_s;
        let mut first = (h_s, None);
        for k in 0..3 {
            if !self.turning_matters(k) || self.phase.senses[k] * step.to.v[k] >= -REST_RAD_PER_S {
                continue;
            }
            let value = |s: f64| self.phase.senses[k] * step.at(s).v[k];
            if first.0 == h_s || value(first.0) < 0.0 {
                first = (root(first.0, 1e-14, value), Some(Cause::Turns(k)));
            }
        }
        for i in 0..self.phase.bearing().len() {
            let sense = self.phase.bearing()[i].sense;
            for read in [
                |r: &Rates, i: usize, _: f64| r.force_n[i],
                |r: &Rates, i: usize, _: f64| r.inside_m[i] + SLACK_M,
                |r: &Rates, i: usize, sense: f64| sense * r.slip_m_per_s[i] + 0.5 * STICK_M_PER_S,
            ] {
                let value = |s: f64| read(&self.rates_at(step, s), i, sense);
                let end = if first.0 < h_s { value(first.0) } else { read(&step.last, i, sense) };
                if end < 0.0 {
                    let ends = [read(&step.first, i, sense), end];
                    first = (root_between(first.0, ends, LOCATED_RATIO, value), Some(Cause::Bearing));
                }
            }
        }
        for k in (0..3).filter(|&k| self.phase.held[k]) {
            let value = |s: f64| self.rates_at(step, s).spare_n_m[k];
            let end = if first.0 < h_s { value(first.0) } else { step.last.spare_n_m[k] };
            if end < 0.0 {
                let ends = [step.first.spare_n_m[k], end];
                first = (root_between(first.0, ends, LOCATED_RATIO, value), Some(Cause::Bearing));
            }
        }
        self.first_meeting(step, &mut first);
        first.1.map(|cause| (first.0, cause))
    }

    fn rates_at(&self, step: &Step, s: f64) -> Rates {
        let at = step.at(s);
        let turns = self.laws.scene.turns_from(&step.turns, &at.q);
        self.laws.rates(&self.watch, &turns, &at.q, &at.v, &self.phase)
    }

    /// Whether anything depends on the sense in which a coordinate moves.
    fn turning_matters(&self, k: usize) -> bool {
        let d = self.laws.dynamics;
        self.phase.lightness[k] > 0.0
            && match k {
                WHEEL => {
                    d.wheel.recoil_torque_n_m != d.wheel.torque_n_m || (self.locked && self.phase.senses[WHEEL] > 0.0)
                }
                LEVER => d.lever.pivot_n_m > 0.0,
                _ => true,
            }
    }
}
