//! What holds after an event: impacts first, then which contacts bear, or whether all rests.

use crate::dynamics::Place;
use crate::impact::{SPEED_M_PER_S, Struck, strike};
use crate::laws::{Bearing, Phase, Rates};
use crate::pair::{BALANCE, LEVER, Meeting, WHEEL};
use crate::press::Rest;
use crate::row::{MOST, Row, dot, over, solve};
use crate::runner::{Event, Halt, Runner, Shock, TOUCH_M};

/// Rounds of impacts at one instant after which they are given up.
const MOST_ROUNDS: usize = 50;
/// Contacts that are kept from hopping at one instant.
const MOST_HOPS: usize = 4;
/// So far ahead a contact at the end of a face is looked at, to see whether it is going in or out, s.
pub(crate) const LOOK_S: f64 = 1e-9;
/// A face is taken to reach so far beyond its ends, m: a ten-thousandth of what a contact moves in `LOOK_S`.
pub(crate) const SLACK_M: f64 = 1e-15;
/// Features found to overlap by more than this at the start of a phase do not touch but are in one another, m.
pub(crate) const DEEP_M: f64 = 1e-8;
/// Angular speeds smaller than this are rest, rad/s: nine orders below those of a beat, and twice what is left where parts
/// at a lever's arm close no more (`SPEED_M_PER_S`).
pub(crate) const REST_RAD_PER_S: f64 = 1e-7;

/// Accelerations smaller than this are rounding, m/s²: eleven orders below those of a beat, chosen.
const STILL_M_PER_S2: f64 = 1e-9;
/// Angular accelerations smaller than this are rounding, rad/s²: eight orders below those of a beat, chosen.
pub(crate) const STILL_RAD_PER_S2: f64 = 1e-3;
/// A contact that slips no faster than this may stick, m/s: six orders below the slips of a beat, chosen; twice what is
/// left where the sense of a slip was seen to change.
pub(crate) const STICK_M_PER_S: f64 = 2e-7;

/// Three coordinates, each going on one of three ways.
const SENSES: usize = 27;

/// Which of its three ways the contact or coordinate at a place goes, by a number that says so for all.
fn way(number: usize, place: usize) -> usize {
    number / 3_usize.pow(place as u32) % 3
}

/// Two features that touch.
#[derive(Clone, Copy, Debug)]
struct Touching {
    at: usize,
    row: Row,
}

impl Runner<'_> {
    /// Finds what happens next from the state as it is: impacts until nothing closes, then the contacts that bear.
    pub(crate) fn settle(&mut self) -> Result<(), Halt> {
        let mut rounds = 0;
        self.look();
        let mut touching = Vec::with_capacity(MOST);
        loop {
            self.touching(&mut touching);
            if touching.iter().all(|t| t.row.opening_m_per_s >= -SPEED_M_PER_S) {
                break;
            }
            self.blow(&touching)?;
            rounds += 1;
            if rounds > MOST_ROUNDS {
                return Err(Halt::Jams);
            }
        }
        for _ in 0..MOST_HOPS {
            let stays = |t: &&Touching| t.row.opening_m_per_s <= SPEED_M_PER_S;
            let lasting: Vec<Touching> = touching.iter().filter(stays).take(MOST).copied().collect();
            self.choose(&lasting)?;
            let a = self.rates.a;
            let hops = |t: &&Touching| {
                let (row, opening) = (&t.row, t.row.opening_m_per_s);
                let pull = row.w[0] * a[0] + row.w[1] * a[1] + row.w[2] * a[2] + row.curve_m_per_s2;
                opening > SPEED_M_PER_S && opening * opening < -2.0 * pull * TOUCH_M
            };
            let Some(hop) = touching.iter().find(hops).copied() else { return Ok(()) };
            self.keep_from_hopping(hop, &lasting);
            self.touching(&mut touching);
        }
        let lasting: Vec<Touching> =
            touching.into_iter().filter(|t| t.row.opening_m_per_s <= SPEED_M_PER_S).take(MOST).collect();
        self.choose(&lasting)
    }

    /// Takes the speed of opening from a contact that would rise by less than what is called touching: it does not part.
    fn keep_from_hopping(&mut self, hop: Touching, lasting: &[Touching]) {
        let lightness = self.laws.lightness();
        let kinetic = |v: &[f64; 4]| (0..3).map(|k| 0.5 * v[k] * v[k] / lightness[k]).sum::<f64>();
        let before_j = kinetic(&self.now.v);
        match lasting.first().filter(|_| lasting.len() == 1) {
            Some(other) => {
                let rows = [hop.row, other.row];
                let changes = rows.map(|r| over(&r.w, &lightness));
                let matrix = [0, 1].map(|i| [0, 1].map(|j| dot(&rows[i].w, &changes[j])));
                let Some(by) = solve(&matrix, &[-hop.row.opening_m_per_s, 0.0]) else { return };
                for (v, k) in self.now.v.iter_mut().zip(0..3) {
                    *v += by[0] * changes[0][k] + by[1] * changes[1][k];
                }
            }
            None => {
                let change = over(&hop.row.w, &lightness);
                let by = -hop.row.opening_m_per_s / dot(&hop.row.w, &change);
                for (v, c) in self.now.v.iter_mut().zip(change) {
                    *v += by * c;
                }
            }
        }
        let pair = self.watch.pair(hop.at);
        let place = Place::of_shock(pair.meeting, pair.faces[1]);
        self.works[place as usize] += before_j - kinetic(&self.now.v);
    }

    /// What touches, each meeting once.
    pub(crate) fn touching_meetings(&mut self) -> Vec<Meeting> {
        self.look();
        let mut touching = Vec::new();
        self.touching(&mut touching);
        let mut out: Vec<Meeting> = touching.iter().map(|t| self.watch.pair(t.at).meeting).collect();
        out.sort();
        out.dedup();
        out
    }

    /// Looks at the pairs that may touch where the machine is.
    fn look(&mut self) {
        let here = &self.turns.at_rad;
        self.watch.close(here, here, &[0.0; 4], &mut self.close);
        self.looked.clear();
        for &at in &self.close {
            self.looked.push((at, self.watch.pair(at).gap(&self.turns)));
        }
    }

    /// Every pair looked at that touches and is not about to pass the end of a face.
    fn touching(&self, out: &mut Vec<Touching>) {
        let v = &self.now.v;
        let mut soon = None;
        out.clear();
        for (at, gap) in &self.looked {
            if gap.gap_m > TOUCH_M || gap.gap_m < -DEEP_M {
                continue;
            }
            let watched = self.watch.pair(*at);
            let there = || self.laws.scene.turns_from(&self.turns, &[0, 1, 2].map(|k| self.now.q[k] + LOOK_S * v[k]));
            if watched.gap(soon.get_or_insert_with(there)).inside_m >= -SLACK_M {
                out.push(Touching { at: *at, row: Row::new(watched, gap, v) });
            }
        }
    }

    /// An impact of everything that touches.
    fn blow(&mut self, touching: &[Touching]) -> Result<(), Halt> {
        let dynamics = self.laws.dynamics;
        let mut first: Vec<Touching> = touching.to_vec();
        first.sort_by(|a, b| a.row.opening_m_per_s.total_cmp(&b.row.opening_m_per_s));
        first.truncate(MOST);
        let struck: Vec<Struck> = first
            .iter()
            .map(|t| {
                let surface = dynamics.surface(self.watch.pair(t.at).meeting);
                let keeps = -t.row.opening_m_per_s < dynamics.keep_m_per_s;
                Struck {
                    row: t.row,
                    friction_ratio: surface.friction_ratio,
                    rebound_ratio: if keeps { 0.0 } else { surface.rebound_ratio },
                }
            })
            .collect();
        let lightness = self.laws.lightness();
        let before = self.now.v;
        let (after, blows) = strike(&self.now.v, &lightness, &struck).ok_or(Halt::Jams)?;
        self.now.v = after;
        for (t, blow) in first.iter().zip(&blows) {
            if blow.impulse_n_s == 0.0 {
                continue;
            }
            let pair = self.watch.pair(t.at);
            self.works[Place::of_shock(pair.meeting, pair.faces[1]) as usize] += blow.lost_j;
            if t.row.opening_m_per_s < -SPEED_M_PER_S {
                self.events.push(Event::Shock(Shock {
                    t_s: self.now.t_s,
                    meeting: pair.meeting,
                    faces: pair.faces,
                    speed_m_per_s: -t.row.opening_m_per_s,
                    lost_j: blow.lost_j,
                    drives_balance: t.row.w[BALANCE] * before[BALANCE] > 0.0,
                }));
            }
        }
        Ok(())
    }

    /// Decides which of the contacts that last bear.
    fn choose(&mut self, lasting: &[Touching]) -> Result<(), Halt> {
        self.resting = None;
        for v in &mut self.now.v {
            if v.abs() <= REST_RAD_PER_S {
                *v = 0.0;
            }
        }
        let v = self.now.v;
        let moving = |k: usize| v[k].abs() > REST_RAD_PER_S;
        if !moving(WHEEL) && !moving(LEVER) && self.rests(lasting) {
            return if self.stands() { Err(Halt::Stands) } else { Ok(()) };
        }
        let count = lasting.len();
        for number in 0..SENSES {
            let Some(senses) = self.senses(number) else { continue };
            for mask in (0..1_usize << count).rev() {
                for slips in 0..3_usize.pow(count as u32) {
                    if (0..count).any(|i| mask & (1 << i) == 0 && way(slips, i) != 0) {
                        continue;
                    }
                    if let Some((phase, rates)) = self.fits(lasting, mask, slips, senses) {
                        (self.phase, self.rates) = (phase, rates);
                        return if self.stands() { Err(Halt::Stands) } else { Ok(()) };
                    }
                }
            }
        }
        if v[..3] == [0.0; 3] { Err(Halt::Stands) } else { Err(Halt::Jams) }
    }

    /// Whether nothing moves and nothing is about to.
    pub(crate) fn stands(&self) -> bool {
        let slow = |x: f64| x.abs() <= REST_RAD_PER_S;
        let about = |k: usize| {
            let begins = self.rates.a[k] * self.phase.senses[k] > 0.0;
            begins && self.rates.a[k].abs() > STILL_RAD_PER_S2
        };
        self.now.v.iter().all(|&v| slow(v)) && !(0..3).any(about)
    }

    /// Senses in which the coordinates can move on, as a number says: as they do; one that stands either way, or not at
    /// all, sense 0, where friction of its own can hold it. `None` for a number that says the same as another.
    fn senses(&self, number: usize) -> Option<[f64; 3]> {
        let mut out = [0.0; 3];
        for (k, sense) in out.iter_mut().enumerate() {
            let v = self.now.v[k];
            *sense = match way(number, k) {
                0 if v != 0.0 => v.signum(),
                _ if v != 0.0 => return None,
                0 => -1.0,
                1 => 1.0,
                _ => {
                    let [least, most] = self.laws.holding_n_m(k, self.now.q[WHEEL]);
                    if most <= least {
                        return None;
                    }
                    0.0
                }
            };
        }
        Some(out)
    }

    /// The phase in which the contacts of `mask` bear, and those that do not slip yet begin to, one way or the other, or
    /// stick, as `slips` says; `None` where it breaks a law.
    fn fits(&self, lasting: &[Touching], mask: usize, slips: usize, senses: [f64; 3]) -> Option<(Phase, Rates)> {
        let dynamics = self.laws.dynamics;
        let mut phase = Phase::new(senses, self.laws.lightness());
        for k in (0..3).filter(|&k| senses[k] == 0.0) {
            (phase.held[k], phase.lightness[k]) = (true, 0.0);
        }
        for (i, t) in lasting.iter().enumerate().filter(|(i, _)| mask & (1 << i) != 0) {
            let slip = t.row.slip_m_per_s;
            let sense = match way(slips, i) {
                0 if slip.abs() > STICK_M_PER_S => slip.signum(),
                _ if slip.abs() > STICK_M_PER_S => return None,
                0 => 1.0,
                1 => -1.0,
                _ => 0.0,
            };
            let friction_ratio = dynamics.surface(self.watch.pair(t.at).meeting).friction_ratio;
            let sticks = sense == 0.0;
            if sticks && friction_ratio == 0.0 {
                return None;
            }
            let bears = phase.bear(Bearing { at: t.at, friction_ratio, sense, sticks: false })
                && (!sticks || phase.bear(Bearing { at: t.at, friction_ratio, sense, sticks }));
            if !bears {
                return None;
            }
        }
        let rates = self.laws.rates(&self.watch, &self.turns, &self.now.q, &self.now.v, &phase);
        if rates.jams {
            return None;
        }
        let along = |arms: &[f64; 4]| arms[0] * rates.a[0] + arms[1] * rates.a[1] + arms[2] * rates.a[2];
        let mut bears = phase.bearing().iter().zip(&rates.force_n);
        for (i, t) in lasting.iter().enumerate() {
            if mask & (1 << i) == 0 {
                if along(&t.row.w) + t.row.curve_m_per_s2 < -STILL_M_PER_S2 {
                    return None;
                }
                continue;
            }
            let (bearing, &force_n) = bears.next()?;
            if force_n <= 0.0 {
                return None;
            }
            if bearing.sense == 0.0 {
                // The friction that it takes comes next.
                let (_, &spare_n) = bears.next()?;
                if spare_n < 0.0 {
                    return None;
                }
                continue;
            }
            // A slip that is only about to begin has to begin in the sense assumed.
            let begins = t.row.slip_m_per_s.abs() > STICK_M_PER_S || {
                let curve = self.laws.slip_curve_m_per_s2(self.watch.pair(t.at), &self.now.q, &self.now.v);
                (along(&t.row.t) + curve) * bearing.sense >= -STILL_M_PER_S2
            };
            if !begins {
                return None;
            }
        }
        let begins = |k: usize| match senses[k] {
            0.0 => rates.spare_n_m[k] >= 0.0,
            sense => self.now.v[k] != 0.0 || rates.a[k] * sense >= -STILL_RAD_PER_S2,
        };
        (0..3).all(begins).then_some((phase, rates))
    }

    /// Whether wheel and lever are held where they stand: a tooth on a stone, and the lever on a banking or held by
    /// friction. The balance goes on by itself.
    fn rests(&mut self, lasting: &[Touching]) -> bool {
        let meets = |t: &&Touching, of: fn(Meeting) -> bool| of(self.watch.pair(t.at).meeting);
        let touches_balance = lasting.iter().any(|t| t.row.w[BALANCE] != 0.0);
        let Some(tooth) = lasting.iter().find(|t| meets(t, Meeting::of_tooth)) else { return false };
        if touches_balance {
            return false;
        }
        let banking = lasting.iter().find(|t| meets(t, Meeting::of_banking));
        let torques = self.laws.torques(&self.now.q, &[0.0; 4], &[0.0; 3]);
        let limit = self.laws.dynamics.stone.friction_ratio;
        let pivot = self.laws.dynamics.lever.pivot_n_m;
        // Torque that is left on the lever with the tooth's friction at one part of its limit.
        let left = |part: f64| {
            let rub = part * limit;
            let on_wheel = tooth.row.w[WHEEL] + rub * tooth.row.t[WHEEL];
            let force = -torques[WHEEL] / on_wheel;
            (force > 0.0).then_some(torques[LEVER] + force * (tooth.row.w[LEVER] + rub * tooth.row.t[LEVER]))
        };
        let ends = [left(-1.0), left(1.0)];
        let [Some(a), Some(b)] = ends else { return false };
        let (low, high) = (a.min(b) - pivot, a.max(b) + pivot);
        let held = match banking {
            // A banking bears where the rest of the torque presses the lever on it.
            Some(t) => {
                if t.row.w[LEVER] > 0.0 {
                    low <= 0.0
                } else {
                    high >= 0.0
                }
            }
            None => low <= 0.0 && high >= 0.0,
        };
        if !held {
            return false;
        }
        self.resting = Some(Rest { tooth: tooth.at, banking: banking.map(|t| t.at) });
        self.now.v[WHEEL] = 0.0;
        self.now.v[LEVER] = 0.0;
        let mut lightness = self.laws.lightness();
        (lightness[WHEEL], lightness[LEVER]) = (0.0, 0.0);
        let sense = if self.now.v[BALANCE].abs() <= REST_RAD_PER_S {
            torques[BALANCE].signum()
        } else {
            self.now.v[BALANCE].signum()
        };
        self.phase = Phase::new([0.0, 0.0, sense], lightness);
        self.rates = self.laws.rates(&self.watch, &self.turns, &self.now.q, &self.now.v, &self.phase);
        true
    }
}
