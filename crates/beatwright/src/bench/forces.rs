//! What presses where, and how hard: the contact forces of a motion, found from what they do.
//!
//! Between two instants without an event the change of each body's angular momentum, less what drive, hairspring and
//! pivots gave, is the work of the contacts there. Their places and directions are those of the drawn parts; so their mean
//! forces follow.

use motion::{Dynamics, Meeting, State};
use movement::Pallet;
use parts::{Body, Face, Parts};
use plane::{Feature, Gap, Pose, Shape, Vector, cross, quarter, smallest_gap};

/// Features nearer than this touch, m: chosen, a hundred times what a place between two instants is off by, and far below
/// the height of any rebound.
const TOUCH_M: f64 = 1e-9;
/// An overlap deeper than this is none: the faces look at one another across a thin body. Chosen.
const DEEP_M: f64 = 1e-7;
/// Slips slower than this are none, m/s: chosen as in the motion itself.
const STICK_M_PER_S: f64 = 2e-7;
/// Forces smaller than this are rounding, N: chosen, a millionth of what a tooth presses with.
const LEAST_N: f64 = 1e-9;
/// Times shorter than this tell no force, s: chosen, the speeds' rounding would be all of it.
const SHORTEST_S: f64 = 1e-8;

/// Wheel, lever, balance.
const BODIES: usize = 3;

/// A force, the mean of the time between two instants.
#[derive(Clone, Copy, Debug)]
pub struct Force {
    /// What touches.
    pub meeting: Meeting,
    /// Faces of the first and the second of the meeting.
    pub faces: [Face; 2],
    /// Where.
    pub at_m: Vector,
    /// Force of the first on the second.
    pub force_n: Vector,
}

/// A contact, and what a unit of its normal force does.
struct Contact {
    meeting: Meeting,
    faces: [Face; 2],
    at_m: Vector,
    /// Force on the second body for a unit of normal force.
    push: Vector,
    /// Torques on the bodies for a unit of normal force.
    torques_m: [f64; BODIES],
}

/// A movement, to look for forces in.
pub struct Forces<'a> {
    parts: &'a Parts,
    dynamics: Dynamics,
    rest_rad: f64,
    /// Of every tooth its middle in the wheel's frame, and how far it reaches from there.
    teeth: Vec<(Vector, f64)>,
    stones: [(Vector, f64); 2],
}

impl<'a> Forces<'a> {
    /// Of a movement.
    pub fn new(parts: &'a Parts, dynamics: Dynamics) -> Forces<'a> {
        let teeth = (0..parts.wheel.tooth_count).map(|j| {
            let (body, turn) = parts.wheel.tooth(j);
            let (middle, reach) = extent(body);
            (Pose::new(turn, Vector::zeros()).point(middle), reach)
        });
        let stones = Pallet::BOTH.map(|p| extent(&parts.lever.stones[p].body));
        Forces { parts, dynamics, rest_rad: parts.roller.rest_rad, teeth: teeth.collect(), stones }
    }

    /// The forces between two instants of a motion, nothing happening between them.
    pub fn between(&self, from: &State, to: &State) -> Vec<Force> {
        let lasts_s = to.t_s - from.t_s;
        if lasts_s < SHORTEST_S {
            return Vec::new();
        }
        let (q, v) = midway(from, to, lasts_s);
        let mut contacts = self.contacts(&q, &v);
        let wanted = self.asked_of_contacts(from, to, lasts_s);
        loop {
            let forces = solved(&contacts, &wanted);
            let pulls =
                (0..contacts.len()).filter(|&i| forces[i] < LEAST_N).min_by(|&a, &b| forces[a].total_cmp(&forces[b]));
            // What touches and does not press is no contact.
            let Some(pulls) = pulls else {
                let force = |(c, &n): (&Contact, &f64)| Force {
                    meeting: c.meeting,
                    faces: c.faces,
                    at_m: c.at_m,
                    force_n: c.push * n,
                };
                return contacts.iter().zip(&forces).map(force).collect();
            };
            contacts.swap_remove(pulls);
        }
    }

    /// Torques that contacts have to give so that the bodies move as they do.
    fn asked_of_contacts(&self, from: &State, to: &State, lasts_s: f64) -> [f64; BODIES] {
        let d = &self.dynamics;
        let inertias = [d.wheel.inertia_kg_m2, d.lever.inertia_kg_m2, d.balance.inertia_kg_m2];
        let (start, end) = (speeds(from), speeds(to));
        let (given, taken) = (self.given(from, &end), self.given(to, &start));
        std::array::from_fn(|k| inertias[k] * (end[k] - start[k]) / lasts_s - 0.5 * (given[k] + taken[k]))
    }

    /// Torques that come from no contact; the sense of what stands is that of `other`, an instant beside it.
    fn given(&self, at: &State, other: &[f64; BODIES]) -> [f64; BODIES] {
        let d = &self.dynamics;
        let own = speeds(at);
        let sense = |k: usize| match (own[k], other[k]) {
            (0.0, 0.0) => 0.0,
            (0.0, v) | (v, _) => v.signum(),
        };
        let torque = if sense(0) > 0.0 { d.wheel.recoil_torque_n_m } else { d.wheel.torque_n_m };
        let swing = 1.0 + d.wheel.swing_ratio * (at.wheel_rad - d.wheel.swing_rad).cos();
        let hangs = d.lever.unbalance_n_m * (at.lever_rad - d.lever.unbalance_rad).sin();
        let balance = d.balance.torque_n_m(at.balance_rad, own[2]) - d.balance.dry_n_m * sense(2);
        [-torque * swing, -d.lever.pivot_n_m * sense(1) - hangs, balance]
    }

    /// Everything that touches.
    fn contacts(&self, q: &[f64; BODIES], v: &[f64; BODIES]) -> Vec<Contact> {
        let (parts, mut out) = (self.parts, Vec::new());
        let lever = parts.lever_pose(q[1]);
        let roller = parts.roller_pose(q[2] + self.rest_rad);
        let wheel = parts.wheel_pose(q[0]);
        let mut add = |meeting, first: &Body, first_pose: &Pose, second: &Body, second_pose: &Pose| {
            let (a, b) = (posed(first, first_pose), posed(second, second_pose));
            if let Some(gap) = smallest_gap(&a, &b, |gap| gap.distance > -DEEP_M).filter(|g| g.distance.abs() < TOUCH_M)
                && let Some(normal) = normal(&a[gap.first_feature], &b[gap.second_feature], &gap)
            {
                let faces = [first.face(gap.first_feature), second.face(gap.second_feature)];
                out.push(self.contact(meeting, faces, gap.second, normal, v));
            }
        };
        for (i, meeting) in [Meeting::ToothEntry, Meeting::ToothExit].into_iter().enumerate() {
            let stone = &parts.lever.stones[Pallet::BOTH[i]].body;
            let (middle, reach) = (lever.point(self.stones[i].0), self.stones[i].1);
            for (j, (tooth, tooth_reach)) in self.teeth.iter().enumerate() {
                if (wheel.point(*tooth) - middle).norm() < reach + tooth_reach {
                    let (body, turn) = parts.wheel.tooth(j as u16);
                    add(meeting, body, &parts.wheel_pose(q[0] + turn), stone, &lever);
                }
            }
        }
        add(Meeting::JewelFork, &parts.roller.jewel, &roller, &parts.lever.fork, &lever);
        add(Meeting::GuardRoller, &parts.lever.guard, &lever, &parts.roller.safety, &roller);
        let plate = Pose::new(0.0, Vector::zeros());
        for (meeting, p) in [(Meeting::BankingEntry, Pallet::Entry), (Meeting::BankingExit, Pallet::Exit)] {
            add(meeting, &parts.lever.fork, &lever, &parts.bankings[p], &plate);
        }
        out
    }

    /// A contact with its unit normal out of the second body.
    fn contact(&self, meeting: Meeting, faces: [Face; 2], at_m: Vector, normal: Vector, v: &[f64; BODIES]) -> Contact {
        let (first, second) = bodies(meeting);
        let centres = &self.parts.centres;
        let axes = [centres.wheel_m, centres.pallet_m, centres.balance_m];
        let speed = |body: Option<usize>| body.map_or(Vector::zeros(), |k| quarter(at_m - axes[k]) * v[k]);
        let along = quarter(normal);
        let slip = (speed(Some(first)) - speed(second)).dot(&along);
        let friction_ratio = match meeting {
            Meeting::ToothEntry | Meeting::ToothExit => self.dynamics.stone.friction_ratio,
            Meeting::JewelFork => self.dynamics.fork.friction_ratio,
            Meeting::GuardRoller => self.dynamics.guard.friction_ratio,
            Meeting::BankingEntry | Meeting::BankingExit => self.dynamics.banking.friction_ratio,
        };
        // Of what does not slip friction is not known: without it.
        let rub = if slip.abs() > STICK_M_PER_S { slip.signum() * friction_ratio } else { 0.0 };
        let push = along * rub - normal;
        let mut torques_m = [0.0; BODIES];
        torques_m[first] -= cross(at_m - axes[first], push);
        if let Some(k) = second {
            torques_m[k] += cross(at_m - axes[k], push);
        }
        Contact { meeting, faces, at_m, push, torques_m }
    }
}

/// The bodies of a meeting; the plate is none.
fn bodies(meeting: Meeting) -> (usize, Option<usize>) {
    match meeting {
        Meeting::ToothEntry | Meeting::ToothExit => (0, Some(1)),
        Meeting::JewelFork => (2, Some(1)),
        Meeting::GuardRoller => (1, Some(2)),
        Meeting::BankingEntry | Meeting::BankingExit => (1, None),
    }
}

fn speeds(at: &State) -> [f64; BODIES] {
    [at.wheel_rad_per_s, at.lever_rad_per_s, at.balance_rad_per_s]
}

/// Angles and speeds halfway in time, exact to the fourth power of the time.
fn midway(from: &State, to: &State, lasts_s: f64) -> ([f64; BODIES], [f64; BODIES]) {
    let angles = |at: &State| [at.wheel_rad, at.lever_rad, at.balance_rad];
    let (a, b, u, w) = (angles(from), angles(to), speeds(from), speeds(to));
    let q = std::array::from_fn(|k| 0.5 * (a[k] + b[k]) + 0.125 * lasts_s * (u[k] - w[k]));
    let v = std::array::from_fn(|k| 1.5 * (b[k] - a[k]) / lasts_s - 0.25 * (u[k] + w[k]));
    (q, v)
}

fn posed(body: &Body, pose: &Pose) -> Vec<Feature> {
    body.features.iter().map(|f| f.posed(pose)).collect()
}

/// A circle that holds a body: its middle and radius.
fn extent(body: &Body) -> (Vector, f64) {
    let edges = &body.profile.edges;
    let middle = edges.iter().map(|e| e.at(0.0) + e.at(0.5)).sum::<Vector>() / (2 * edges.len().max(1)) as f64;
    (middle, body.profile.reach(middle))
}

/// Unit normal out of the second feature where two touch: of a flat its own, of rounds along their radius.
fn normal(first: &Feature, second: &Feature, gap: &Gap) -> Option<Vector> {
    let radial = |at: Vector, centre: Vector, radius: f64| (radius != 0.0).then(|| (at - centre) / radius);
    match (&first.shape, &second.shape) {
        (_, Shape::Flat(f)) => Some(f.normal()),
        (Shape::Flat(f), _) => Some(-f.normal()),
        (Shape::Round(a), Shape::Round(b)) => radial(gap.second, b.centre, b.radius)
            .or_else(|| radial(gap.first, a.centre, a.radius).map(|n| -n))
            .map(|n| n.normalize()),
    }
}

/// Normal forces that give the torques asked for as nearly as they can, by least squares.
fn solved(contacts: &[Contact], wanted: &[f64; BODIES]) -> Vec<f64> {
    let count = contacts.len();
    let dot = |a: &[f64; BODIES], b: &[f64; BODIES]| (0..BODIES).map(|k| a[k] * b[k]).sum::<f64>();
    let mut rows: Vec<Vec<f64>> = contacts
        .iter()
        .map(|a| {
            let own = contacts.iter().map(|b| dot(&a.torques_m, &b.torques_m));
            own.chain([dot(&a.torques_m, wanted)]).collect()
        })
        .collect();
    for i in 0..count {
        let Some(best) = (i..count).max_by(|&a, &b| rows[a][i].abs().total_cmp(&rows[b][i].abs())) else { break };
        rows.swap(i, best);
        if rows[i][i] == 0.0 {
            return vec![0.0; count];
        }
        for j in (0..count).filter(|&j| j != i) {
            let by = rows[j][i] / rows[i][i];
            let pivot = rows[i].clone();
            for (value, own) in rows[j].iter_mut().zip(&pivot) {
                *value -= by * own;
            }
        }
    }
    (0..count).map(|i| rows[i][count] / rows[i][i]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::{DEMO, Loaded, work_out};
    use crate::motion_command::{machine, options, sought};
    use motion::Place;

    /// That of the page.
    const EVERY_S: f64 = 2.5e-5;

    fn demo() -> Loaded {
        let statement = movement::read("demo", DEMO).statement;
        work_out(statement, Vec::new()).unwrap_or_else(|refused| panic!("{:?}", refused.diagnostics))
    }

    /// What the forces do along two beats, against what the motion's own ledger has: the forces come from masses and
    /// angles alone, the ledger from the forces by which the motion was integrated.
    #[test]
    fn their_friction_is_that_of_the_ledger() {
        let loaded = demo();
        let parts = &loaded.build.parts;
        let steady = sought(&loaded).ok().and_then(|report| report.steady).expect("it goes");
        let dynamics = Dynamics::of(&loaded.build.movement);
        let forces = Forces::new(parts, dynamics);
        let axes = [parts.centres.wheel_m, parts.centres.pallet_m, parts.centres.balance_m];
        let (mut rubbed, mut count, mut before) = ([0.0; 6], 0, None::<State>);
        machine(&loaded).expect("it is sound").follow(&steady.state, 2, options(2), EVERY_S, |moment| {
            let to = moment.state;
            if let Some(from) = before.replace(to) {
                let lasts_s = to.t_s - from.t_s;
                for force in forces.between(&from, &to) {
                    let (_, v) = midway(&from, &to, lasts_s);
                    let (first, second) = bodies(force.meeting);
                    let speed = |k: usize| quarter(force.at_m - axes[k]) * v[k];
                    let apart = speed(first) - second.map_or(Vector::zeros(), speed);
                    rubbed[Meeting::ALL.iter().position(|m| *m == force.meeting).expect("listed")] +=
                        lasts_s * force.force_n.dot(&apart);
                    count += 1;
                }
            }
        });
        let place = |p: Place| steady.work_j[p as usize];
        let wanted = [
            place(Place::EntryLocking) + place(Place::EntryImpulse),
            place(Place::ExitLocking) + place(Place::ExitImpulse),
            place(Place::Jewel),
        ];
        assert!(count > 1000, "{count} forces");
        for (found, wanted) in rubbed.iter().zip(wanted) {
            // 3e-6 was found.
            assert!((found / wanted - 1.0).abs() < 1e-4, "{found:e} J of {wanted:e} J");
        }
    }

    /// Of a tooth that rests on a stone: its force at its arm is the torque of the wheel, and the banking holds what the
    /// lever is turned with. Statics, from the parts alone.
    #[test]
    fn at_rest_they_hold_one_another() {
        let loaded = demo();
        let parts = &loaded.build.parts;
        let dynamics = Dynamics::of(&loaded.build.movement);
        let machine = machine(&loaded).expect("it is sound");
        for p in Pallet::BOTH {
            let from = machine.locked(p, 1.0).expect("it locks");
            let found = Forces::new(parts, dynamics).between(&from, &State { t_s: 1e-3, ..from });
            let [tooth, banking] = found.as_slice() else { panic!("{found:?}") };
            assert!(tooth.meeting.of_tooth() && banking.meeting.of_banking(), "{found:?}");
            let on_wheel = cross(tooth.at_m - parts.centres.wheel_m, -tooth.force_n);
            assert!((on_wheel / dynamics.wheel.torque_n_m - 1.0).abs() < 1e-9, "{on_wheel} N m");
            let held = cross(tooth.at_m - parts.centres.pallet_m, tooth.force_n)
                + cross(banking.at_m - parts.centres.pallet_m, -banking.force_n);
            assert!(held.abs() < 1e-9 * dynamics.wheel.torque_n_m, "{held} N m");
        }
    }
}
