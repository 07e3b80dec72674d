//! Wheel, lever and balance as three angles, every contact a stiff spring with a damper, in steps of one length.

use super::law::{damping_ratio, press_n, rubbing};
use super::scene::{BALANCE, Kind, LEVER, Overlap, PLATE, Scene, WHEEL};
use motion::{Dynamics, State, Surface};
use parts::Parts;
use plane::{cross, quarter};

/// Wheel and lever rest below this speed, rad/s, and this acceleration, rad/s2: in a beat they have 10 and 10,000 and more.
const REST_RAD_PER_S: f64 = 1e-5;
const REST_RAD_PER_S2: f64 = 1.0;
/// While they rest the balance goes alone, until jewel or guard comes so near, m.
const WAKE_M: f64 = 0.5e-6;
/// Longest step of the balance alone, s: at order four its error is below rounding.
const FREE_STEP_S: f64 = 2e-5;
/// Arm at which friction of pivots is taken to slip, m: that of the stones.
const PIVOT_ARM_M: f64 = 2e-3;
/// Where friction all but locks, a contact is taken to feel no more than so many times its own mass, as a ratio.
const LEAST_EASE_RATIO: f64 = 1e-3;
/// A wheel that has turned back by less trembles only, rad: 2e-9 m at a tooth.
const TURNED_RAD: f64 = 1e-6;

/// How fine the computation is.
#[derive(Clone, Copy, Debug)]
pub struct Fineness {
    /// Stiffness of the jewel's contacts, and of all others.
    pub jewel_n_per_m: f64,
    pub others_n_per_m: f64,
    /// So much stiffer a contact becomes once it bears; 1 for what it was at first.
    pub bears_ratio: f64,
    /// It bears after so long.
    pub bears_s: f64,
    /// Slip at which friction is whole.
    pub slip_m_per_s: f64,
    /// Step while parts touch or may.
    pub step_s: f64,
}

impl Fineness {
    fn stiffness_n_per_m(&self, kind: usize) -> f64 {
        if Kind::ALL[kind] == Kind::Jewel { self.jewel_n_per_m } else { self.others_n_per_m }
    }
}

/// Something that happened.
#[derive(Clone, Copy, Debug)]
pub enum Happening {
    /// The balance turned.
    Extreme { balance_rad: f64 },
    /// The wheel, turned back until now, begins to advance.
    Advances { t_s: f64 },
    /// A kind of contact begins where there was none.
    Meets { t_s: f64, kind: Kind },
    /// The last contact of a kind ends.
    Leaves { t_s: f64, kind: Kind },
}

/// Energy by its ways since the start, J; friction and damping by kind of contact.
#[derive(Clone, Copy, Debug, Default)]
pub struct Ledger {
    pub drive_j: f64,
    pub air_j: f64,
    pub pivots_j: f64,
    pub friction_j: [f64; 6],
    pub damping_j: [f64; 6],
}

/// A contact that lasts: its pair of sides, since when, from which depth its spring is counted once it bears, and
/// whether it parts: its force has come to nothing, and stays so until it closes again.
#[derive(Clone, Copy)]
struct Lasting {
    id: usize,
    since_s: f64,
    bears_from_m: Option<f64>,
    parts: bool,
}

/// What a contact is to the three angles: the arms of its normal and of its slip, its push with friction in it.
#[derive(Clone, Copy)]
struct Pressed {
    w: [f64; 3],
    t: [f64; 3],
    rub: f64,
    push: [f64; 3],
    bears: bool,
}

/// A movement on its way.
pub struct Oracle {
    dynamics: Dynamics,
    fineness: Fineness,
    damping: [f64; 6],
    scene: Scene,
    found: Vec<Overlap>,
    pressed: Vec<Pressed>,
    lasting: Vec<Lasting>,
    t_s: f64,
    q: [f64; 3],
    /// Half a step behind the angles while all go together; and a step before.
    v: [f64; 3],
    before: [f64; 3],
    resting: bool,
    touching: [bool; 6],
    turned_from_rad: f64,
    pub happenings: Vec<Happening>,
    pub ledger: Ledger,
}

fn surface(dynamics: &Dynamics, kind: usize) -> Surface {
    match Kind::ALL[kind] {
        Kind::Tooth(_) => dynamics.stone,
        Kind::Jewel => dynamics.fork,
        Kind::Guard => dynamics.guard,
        Kind::Banking(_) => dynamics.banking,
    }
}

impl Oracle {
    /// # Panics
    /// For dynamics that it does not know.
    pub fn new(parts: &Parts, dynamics: Dynamics, fineness: Fineness, from: &State) -> Oracle {
        let b = &dynamics.balance;
        assert!(b.cubic_n_m_per_rad3 == 0.0 && b.heavy_spot_n_m == 0.0 && b.index.is_none());
        assert!(dynamics.wheel.swing_ratio == 0.0 && dynamics.lever.unbalance_n_m == 0.0);
        Oracle {
            dynamics,
            fineness,
            damping: [0, 1, 2, 3, 4, 5].map(|kind| damping_ratio(surface(&dynamics, kind).rebound_ratio)),
            scene: Scene::new(parts),
            found: Vec::new(),
            pressed: Vec::new(),
            lasting: Vec::new(),
            t_s: from.t_s,
            q: [from.wheel_rad, from.lever_rad, from.balance_rad],
            v: [from.wheel_rad_per_s, from.lever_rad_per_s, from.balance_rad_per_s],
            before: [from.wheel_rad_per_s, from.lever_rad_per_s, from.balance_rad_per_s],
            resting: false,
            touching: [false; 6],
            turned_from_rad: from.wheel_rad,
            happenings: Vec::new(),
            ledger: Ledger::default(),
        }
    }

    /// Goes on until the balance has turned `extremes` times.
    pub fn play(&mut self, extremes: usize) {
        let (mut seen, mut turned) = (self.happenings.len(), 0);
        while turned < extremes {
            self.advance();
            turned += self.happenings[seen..].iter().filter(|h| matches!(h, Happening::Extreme { .. })).count();
            seen = self.happenings.len();
        }
    }

    /// Goes on by one step.
    pub fn advance(&mut self) {
        if self.resting {
            self.free_step();
        } else {
            self.step();
        }
    }

    /// Where it is.
    pub fn state(&self) -> State {
        State {
            t_s: self.t_s,
            wheel_rad: self.q[WHEEL],
            lever_rad: self.q[LEVER],
            balance_rad: self.q[BALANCE],
            wheel_rad_per_s: self.v[WHEEL],
            lever_rad_per_s: self.v[LEVER],
            balance_rad_per_s: self.v[BALANCE],
        }
    }

    /// Kinetic and potential energy, that of the contacts' springs included.
    pub fn energy_j(&mut self) -> f64 {
        let inertias = self.inertias();
        let kinetic: f64 = (0..3).map(|k| 0.5 * inertias[k] * self.v[k] * self.v[k]).sum();
        let mut found = std::mem::take(&mut self.found);
        self.scene.overlaps(&self.q, &mut found);
        let contacts: f64 =
            found.iter().map(|o| 0.5 * self.fineness.stiffness_n_per_m(o.kind) * o.depth_m * o.depth_m).sum();
        self.found = found;
        kinetic + contacts + 0.5 * self.dynamics.balance.stiffness_n_m_per_rad * self.q[BALANCE] * self.q[BALANCE]
    }

    fn inertias(&self) -> [f64; 3] {
        let d = &self.dynamics;
        [d.wheel.inertia_kg_m2, d.lever.inertia_kg_m2, d.balance.inertia_kg_m2]
    }

    /// One step: angles at its whole, speeds at its middle.
    fn step(&mut self) {
        let h = self.fineness.step_s;
        let light = self.inertias().map(|i| 1.0 / i);
        let v = [0, 1, 2].map(|k| 1.5 * self.v[k] - 0.5 * self.before[k]);
        let [drive, pivots, air, dry] = self.plain_torques_n_m(&v);
        let spring = -self.dynamics.balance.stiffness_n_m_per_rad * self.q[BALANCE];
        let mut torques = [drive, pivots, air + dry + spring];
        let (mut rubs, mut dampers) = ([[0.0; 3]; 6], [[0.0; 3]; 6]);
        let mut touching = [false; 6];
        let mut found = std::mem::take(&mut self.found);
        let mut pressed = std::mem::take(&mut self.pressed);
        self.scene.overlaps(&self.q, &mut found);
        self.lasting.retain(|c| found.iter().any(|o| o.id == c.id));
        pressed.clear();
        for o in &found {
            let place = self.lasts(o);
            pressed.push(self.pressed(o, &self.lasting[place], &v, &light));
        }
        for (at, (o, c)) in found.iter().zip(&pressed).enumerate() {
            let place = self.lasts(o);
            let lasting = &mut self.lasting[place];
            let (ratio, from_m) = lasting.bears_from_m.map_or((1.0, 0.0), |m| (self.fineness.bears_ratio, m));
            let stiffness = ratio * self.fineness.stiffness_n_per_m(o.kind);
            let (depth_m, opening) = ((o.depth_m - from_m).max(0.0), dot(&c.w, &v));
            let gone = depth_m == 0.0 || (lasting.parts && opening > 0.0);
            let damping = self.damping[o.kind];
            let force = if gone { 0.0 } else { press_n(stiffness, damping, felt_kg(&pressed, at), depth_m, opening) };
            lasting.parts = force == 0.0 && opening > 0.0;
            touching[o.kind] |= force > 0.0;
            for k in 0..3 {
                torques[k] += force * (c.w[k] - c.rub * c.t[k]);
                rubs[o.kind][k] -= force * c.rub * c.t[k];
                dampers[o.kind][k] += (force - stiffness * depth_m) * c.w[k];
            }
        }
        (self.pressed, self.found) = (pressed, found);
        self.before = self.v;
        for k in 0..3 {
            self.v[k] += h * light[k] * torques[k];
            self.q[k] += h * self.v[k];
        }
        self.t_s += h;
        // As the speeds are at the middle of a step, their mean is that at the instant of the torques.
        let turned = [0, 1, 2].map(|k| 0.5 * h * (self.before[k] + self.v[k]));
        let ledger = &mut self.ledger;
        ledger.drive_j += drive * turned[WHEEL];
        ledger.air_j -= air * turned[BALANCE];
        ledger.pivots_j -= pivots * turned[LEVER] + dry * turned[BALANCE];
        for kind in 0..6 {
            ledger.friction_j[kind] -= dot(&rubs[kind], &turned);
            ledger.damping_j[kind] -= dot(&dampers[kind], &turned);
        }
        self.note(&touching);
        let still = |k: usize| self.v[k].abs() < REST_RAD_PER_S && (light[k] * torques[k]).abs() < REST_RAD_PER_S2;
        if still(WHEEL) && still(LEVER) && self.scene.balance_clear_m(&self.q) > 2.0 * WAKE_M {
            self.resting = true;
            self.v = [0.0, 0.0, self.v[BALANCE] + 0.5 * h * light[BALANCE] * torques[BALANCE]];
        }
    }

    /// Torques of the train, of the lever's pivots, of the air, of the balance pivots.
    fn plain_torques_n_m(&self, v: &[f64; 3]) -> [f64; 4] {
        let d = &self.dynamics;
        let slow_rad_per_s = self.fineness.slip_m_per_s / PIVOT_ARM_M;
        let turned_back = 0.5 * (1.0 + rubbing(v[WHEEL], slow_rad_per_s));
        [
            -d.wheel.torque_n_m - turned_back * (d.wheel.recoil_torque_n_m - d.wheel.torque_n_m),
            -d.lever.pivot_n_m * rubbing(v[LEVER], slow_rad_per_s),
            -d.balance.viscous_n_m_s * v[BALANCE],
            -d.balance.dry_n_m * rubbing(v[BALANCE], slow_rad_per_s),
        ]
    }

    fn pressed(&self, o: &Overlap, lasting: &Lasting, v: &[f64; 3], light: &[f64; 3]) -> Pressed {
        let slide = quarter(o.normal);
        let (mut w, mut t) = ([0.0; 3], [0.0; 3]);
        for (body, sign) in o.bodies.into_iter().zip([1.0, -1.0]).filter(|(body, _)| *body != PLATE) {
            let arm = o.point - self.scene.axes[body];
            (w[body], t[body]) = (sign * cross(arm, o.normal), sign * cross(arm, slide));
        }
        let friction_ratio = surface(&self.dynamics, o.kind).friction_ratio;
        let rub = friction_ratio * rubbing(dot(&t, v), self.fineness.slip_m_per_s);
        let push = [0, 1, 2].map(|k| light[k] * (w[k] - rub * t[k]));
        Pressed { w, t, rub, push, bears: lasting.bears_from_m.is_some() && !lasting.parts }
    }

    /// Place among those that last of a contact that is or begins.
    fn lasts(&mut self, o: &Overlap) -> usize {
        let place = self.lasting.iter().position(|c| c.id == o.id).unwrap_or_else(|| {
            self.lasting.push(Lasting { id: o.id, since_s: self.t_s, bears_from_m: None, parts: false });
            self.lasting.len() - 1
        });
        let ratio = self.fineness.bears_ratio;
        let contact = &mut self.lasting[place];
        if ratio > 1.0 && contact.bears_from_m.is_none() && self.t_s - contact.since_s > self.fineness.bears_s {
            contact.bears_from_m = Some(o.depth_m * (1.0 - 1.0 / ratio));
        }
        place
    }

    /// Writes down what happened in a step, from the speeds before it and what touches.
    fn note(&mut self, touching: &[bool; 6]) {
        let (t_s, before) = (self.t_s, self.before);
        if before[WHEEL] <= 0.0 && self.v[WHEEL] > 0.0 {
            self.turned_from_rad = self.q[WHEEL];
        }
        if before[WHEEL] > 0.0 && self.v[WHEEL] <= 0.0 && self.q[WHEEL] - self.turned_from_rad > TURNED_RAD {
            self.happenings.push(Happening::Advances { t_s });
        }
        if before[BALANCE] != 0.0 && before[BALANCE] * self.v[BALANCE] <= 0.0 {
            self.happenings.push(Happening::Extreme { balance_rad: self.q[BALANCE] });
        }
        for (at, kind) in Kind::ALL.into_iter().enumerate() {
            match (self.touching[at], touching[at]) {
                (false, true) => self.happenings.push(Happening::Meets { t_s, kind }),
                (true, false) => self.happenings.push(Happening::Leaves { t_s, kind }),
                _ => {}
            }
        }
        self.touching = *touching;
    }

    /// The balance alone, as far as nothing can come near it.
    fn free_step(&mut self) {
        let clear_m = self.scene.balance_clear_m(&self.q);
        if clear_m < WAKE_M {
            self.resting = false;
            let (_, ahead) = self.leap(0.5 * self.fineness.step_s, self.v[BALANCE].signum());
            self.v[BALANCE] -= ahead - self.v[BALANCE];
            self.before = self.v;
            return;
        }
        let (q, v) = (self.q[BALANCE], self.v[BALANCE]);
        let k = &self.dynamics.balance;
        // In a step it gains so much speed at most.
        let most = v.abs() + FREE_STEP_S * (k.stiffness_n_m_per_rad * q.abs() + k.dry_n_m) / k.inertia_kg_m2;
        let h = FREE_STEP_S.min((clear_m - 0.5 * WAKE_M) / (self.scene.reach_m[BALANCE] * most));
        let sense = if v == 0.0 { -q.signum() } else { v.signum() };
        let mut to = self.leap(h, sense);
        let mut took = h;
        if v != 0.0 && to.1 * v < 0.0 {
            let (mut low, mut high) = (0.0, h);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if self.leap(middle, sense).1 * v < 0.0 { high = middle } else { low = middle }
            }
            took = high;
            to = (self.leap(took, sense).0, 0.0);
            self.happenings.push(Happening::Extreme { balance_rad: to.0 });
        }
        self.ledger.air_j += took * k.viscous_n_m_s * self.mean_square(v, took, sense);
        self.ledger.pivots_j += k.dry_n_m * (to.0 - q).abs();
        self.t_s += took;
        (self.q[BALANCE], self.v[BALANCE]) = to;
    }

    /// Mean of the squared speed over a free step, by three ordinates.
    fn mean_square(&self, v: f64, h: f64, sense: f64) -> f64 {
        let (middle, end) = (self.leap(0.5 * h, sense).1, self.leap(h, sense).1);
        (v * v + 4.0 * middle * middle + end * end) / 6.0
    }

    /// Where the balance alone is after a time: the classical method of order four.
    fn leap(&self, h: f64, sense: f64) -> (f64, f64) {
        let b = &self.dynamics.balance;
        let pull =
            |q: f64, v: f64| (-b.stiffness_n_m_per_rad * q - b.viscous_n_m_s * v - b.dry_n_m * sense) / b.inertia_kg_m2;
        let (q, v) = (self.q[BALANCE], self.v[BALANCE]);
        let one = (v, pull(q, v));
        let two = (v + 0.5 * h * one.1, pull(q + 0.5 * h * one.0, v + 0.5 * h * one.1));
        let three = (v + 0.5 * h * two.1, pull(q + 0.5 * h * two.0, v + 0.5 * h * two.1));
        let four = (v + h * three.1, pull(q + h * three.0, v + h * three.1));
        let sum = |a: f64, b: f64, c: f64, d: f64| h * (a + 2.0 * b + 2.0 * c + d) / 6.0;
        (q + sum(one.0, two.0, three.0, four.0), v + sum(one.1, two.1, three.1, four.1))
    }
}

fn dot(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The mass that a contact feels along its normal, friction acting. To one that does not bear yet, those that do and are
/// pressed by it give no way: they are taken one after another, since two are seldom pressed at once.
fn felt_kg(pressed: &[Pressed], at: usize) -> f64 {
    let own = &pressed[at];
    let mut push = own.push;
    for c in pressed.iter().filter(|c| c.bears && !own.bears) {
        let part = dot(&c.w, &push) / dot(&c.w, &c.push);
        if part < 0.0 {
            push = [0, 1, 2].map(|k| push[k] - part * c.push[k]);
        }
    }
    1.0 / dot(&own.w, &push).max(LEAST_EASE_RATIO * dot(&own.w, &own.push).abs())
}
