//! The same three bodies by steps of one length: rigid contacts, their speeds settled together in each step. What the
//! event-driven motion's speed is compared with.
//!
//! J. J. Moreau, Unilateral contact and dry friction in finite freedom dynamics, 1988: places at the middle of a step,
//! blows after Newton, friction after Coulomb, by sweeps in which no contact pulls (formulas from memory).

use crate::scene::{Kind, Overlap, Scene};
use motion::{Dynamics, State, Surface};
use parts::Parts;
use plane::{cross, quarter};

const WHEEL: usize = 0;
const LEVER: usize = 1;
const BALANCE: usize = 2;
/// The plate.
const NO_COORDINATE: usize = 3;
/// Sweeps over the contacts of a step, and change of a speed, rad/s, at which they end.
const SWEEPS: usize = 50;
const SETTLED_RAD_PER_S: f64 = 1e-9;
/// Way of the bodies after which pairs of sides are sought anew, m: chosen, some tens of steps.
const NEAR_M: f64 = 30e-6;

/// A contact of one step.
struct Contact {
    surface: Surface,
    /// Arms of normal and slip.
    w: [f64; 3],
    t: [f64; 3],
    /// Speed of opening before the step, m/s.
    before_m_per_s: f64,
    press_n_s: f64,
    rub_n_s: f64,
}

/// A movement on its way.
pub struct Stepping {
    scene: Scene,
    dynamics: Dynamics,
    light: [f64; 3],
    q: [f64; 3],
    v: [f64; 3],
    t_s: f64,
    found: Vec<Overlap>,
    contacts: Vec<Contact>,
}

fn dot(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

impl Stepping {
    pub fn new(parts: &Parts, dynamics: Dynamics, from: &State) -> Stepping {
        let d = &dynamics;
        Stepping {
            scene: Scene::near(parts, NEAR_M),
            light: [d.wheel.inertia_kg_m2, d.lever.inertia_kg_m2, d.balance.inertia_kg_m2].map(|i| 1.0 / i),
            dynamics,
            q: [from.wheel_rad, from.lever_rad, from.balance_rad],
            v: [from.wheel_rad_per_s, from.lever_rad_per_s, from.balance_rad_per_s],
            t_s: from.t_s,
            found: Vec::new(),
            contacts: Vec::new(),
        }
    }

    /// Steps of `step_s` until the balance has turned so often; amplitudes at which it did, rad.
    pub fn play(&mut self, turns: usize, step_s: f64) -> Vec<f64> {
        let mut out = Vec::with_capacity(turns);
        while out.len() < turns && self.t_s.is_finite() {
            let before = self.v[BALANCE];
            self.step(step_s);
            if before * self.v[BALANCE] < 0.0 {
                out.push(self.q[BALANCE]);
            }
        }
        out
    }

    pub fn t_s(&self) -> f64 {
        self.t_s
    }

    fn step(&mut self, h: f64) {
        let d = &self.dynamics;
        for k in 0..3 {
            self.q[k] += 0.5 * h * self.v[k];
        }
        let drive = if self.v[WHEEL] > 0.0 { d.wheel.recoil_torque_n_m } else { d.wheel.torque_n_m };
        let b = &d.balance;
        let free = [-drive, 0.0, -b.stiffness_n_m_per_rad * self.q[BALANCE] - b.viscous_n_m_s * self.v[BALANCE]];
        let mut v: [f64; 3] = std::array::from_fn(|k| self.v[k] + h * self.light[k] * free[k]);
        for (k, torque) in [(LEVER, d.lever.pivot_n_m), (BALANCE, b.dry_n_m)] {
            v[k] -= v[k].signum() * (h * self.light[k] * torque).min(v[k].abs());
        }
        let mut found = std::mem::take(&mut self.found);
        self.scene.overlaps(&self.q, &mut found);
        self.contacts.clear();
        self.contacts.extend(found.iter().map(|o| {
            let surface = match Kind::ALL[o.kind] {
                Kind::Tooth(_) => d.stone,
                Kind::Jewel => d.fork,
                Kind::Guard => d.guard,
                Kind::Banking(_) => d.banking,
            };
            let slide = quarter(o.normal);
            let (mut w, mut t) = ([0.0; 3], [0.0; 3]);
            for (body, sign) in o.bodies.into_iter().zip([1.0, -1.0]).filter(|(body, _)| *body != NO_COORDINATE) {
                let arm = o.point - self.scene.axes[body];
                (w[body], t[body]) = (sign * cross(arm, o.normal), sign * cross(arm, slide));
            }
            Contact { surface, w, t, before_m_per_s: dot(&w, &self.v), press_n_s: 0.0, rub_n_s: 0.0 }
        }));
        self.found = found;
        for _ in 0..SWEEPS {
            let mut changed = 0.0_f64;
            for c in &mut self.contacts {
                let ease = |arms: &[f64; 3]| (0..3).map(|k| arms[k] * arms[k] * self.light[k]).sum::<f64>();
                let back_m_per_s = c.surface.rebound_ratio * c.before_m_per_s.min(0.0);
                let press = (c.press_n_s - (dot(&c.w, &v) + back_m_per_s) / ease(&c.w)).max(0.0);
                let most = c.surface.friction_ratio * press;
                let mut push = |v: &mut [f64; 3], arms: &[f64; 3], by: f64| {
                    for (v, (arm, light)) in v.iter_mut().zip(arms.iter().zip(&self.light)) {
                        let more = by * arm * light;
                        *v += more;
                        changed = changed.max(more.abs());
                    }
                };
                push(&mut v, &c.w, press - c.press_n_s);
                let rub = (c.rub_n_s - dot(&c.t, &v) / ease(&c.t)).clamp(-most, most);
                push(&mut v, &c.t, rub - c.rub_n_s);
                (c.press_n_s, c.rub_n_s) = (press, rub);
            }
            if changed < SETTLED_RAD_PER_S {
                break;
            }
        }
        self.v = v;
        for (q, v) in self.q.iter_mut().zip(&v) {
            *q += 0.5 * h * v;
        }
        self.t_s += h;
    }
}
