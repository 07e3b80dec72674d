//! Escapements on which the two ways are compared.
//!
//! Drawings: the handbook of 1904 (`examples/`) and the demo movement, brought to the wheel radius of the set. Sets:
//! plausible values of a larger and a smaller watch, each as it is said there; none is published as a whole.

use action::Scratch;
use motion::{Balance, Drive, Dynamics, LeverMass, Machine, Surface};
use movement::{ParamId, ParamKind, Unit};
use parts::Parts;

/// An escapement with what it needs to move.
pub struct Case {
    pub name: &'static str,
    pub parts: Parts,
    pub machine: Machine,
    pub dynamics: Dynamics,
    /// Where the run begins, rad.
    pub begin_rad: f64,
}

/// What a case is made of; the rest is alike.
struct Made {
    name: &'static str,
    file: &'static str,
    changes: &'static [&'static str],
    set: Set,
    /// Inertia of the wheel over that of the set.
    wheel_ratio: f64,
    torque_ratio: f64,
    /// Where it is not that of the set.
    quality_ratio: Option<f64>,
    /// Friction of tooth on stone, of jewel on fork.
    friction: [f64; 2],
    begin_deg: f64,
}

/// Masses and forces of a size of watch. All assumed, but for the share of dry friction of the larger one.
#[derive(Clone, Copy)]
struct Set {
    beats_per_hour: f64,
    balance_kg_m2: f64,
    lever_kg_m2: f64,
    /// Wheel with pinion and the train reflected.
    wheel_kg_m2: f64,
    torque_n_m: f64,
    /// Part of the losses that is viscous. Of the larger: derived from the constants printed in "Theory of Horology", a
    /// book on the web whose author is not named, section 4-2-3.
    viscous_share_ratio: f64,
    /// At the amplitude at which a run begins.
    quality_ratio: f64,
    wheel_radius_m: f64,
}

const LARGER: Set = Set {
    beats_per_hour: 18_000.0,
    balance_kg_m2: 2.0e-9,
    lever_kg_m2: 3.0e-11,
    wheel_kg_m2: 3.0e-11,
    torque_n_m: 0.95e-6,
    viscous_share_ratio: 0.73,
    quality_ratio: 200.0,
    wheel_radius_m: 2.9e-3,
};
const SMALLER: Set = Set {
    beats_per_hour: 28_800.0,
    balance_kg_m2: 1.0e-9,
    lever_kg_m2: 1.6e-11,
    wheel_kg_m2: 1.8e-11,
    torque_n_m: 1.0e-6,
    viscous_share_ratio: 0.8,
    quality_ratio: 280.0,
    wheel_radius_m: 2.25e-3,
};

const EQUIDISTANT: &str = include_str!("../../../../examples/handbook-1904-equidistant.toml");
const CIRCULAR: &str = include_str!("../../../../examples/handbook-1904-circular.toml");
const DEMO: &str = include_str!("../../../beatwright/demo.toml");

const MADE: [Made; 7] = [
    Made { name: "equidistant", ..PLAIN },
    Made { name: "circular", file: CIRCULAR, set: LARGER, begin_deg: 237.0, ..PLAIN },
    Made { name: "low friction", friction: [0.05, 0.05], begin_deg: 249.0, ..PLAIN },
    Made { name: "high friction", set: LARGER, friction: [0.2, 0.2], begin_deg: 268.0, ..ROUNDED },
    Made { name: "heavy wheel", set: LARGER, wheel_ratio: 3.0, begin_deg: 277.0, ..ROUNDED },
    Made { name: "near knocking", torque_ratio: 1.9, quality_ratio: Some(400.0), begin_deg: 335.0, ..PLAIN },
    Made { name: "rounded corners", begin_deg: 304.0, ..ROUNDED },
];

const IRREGULAR: [(Made, f64); 3] = [
    (Made { name: "heavy wheel, sharp corners", wheel_ratio: 3.0, begin_deg: 200.0, ..PLAIN }, 2.0),
    (Made { name: "high friction, sharp corners", set: LARGER, friction: [0.2, 0.2], ..PLAIN }, 0.5),
    (Made { name: "high friction, circular", file: CIRCULAR, set: LARGER, friction: [0.2, 0.2], ..PLAIN }, 0.5),
];

/// The handbook's equidistant pallets, every corner sharp.
const PLAIN: Made = Made {
    name: "",
    file: EQUIDISTANT,
    // The handbook's lever is banked as soon as the tooth has dropped: the two would come at once.
    changes: &["bankings.run_deg=0.5"],
    set: SMALLER,
    wheel_ratio: 1.0,
    torque_ratio: 1.0,
    quality_ratio: None,
    friction: [0.12, 0.1],
    begin_deg: 227.0,
};

/// The demo movement: corners of teeth and stones rounded, solid bankings.
const ROUNDED: Made = Made { file: DEMO, changes: &[], ..PLAIN };

/// Restitution of everything: assumed, between the 0.2 and 0.3 of the sets.
pub const REBOUND_RATIO: f64 = 0.3;

/// Torque against which the wheel is turned back, over that with which it drives: a train that loses 2.5 %, assumed.
const RECOIL_RATIO: f64 = 1.05;

/// All that move alike beat after beat.
pub fn cases() -> impl Iterator<Item = Case> {
    MADE.iter().map(Made::ready)
}

/// Some whose beats differ, and by how many degrees their mean amplitudes may: with much friction the jewel's corner
/// strikes the horn's very end on some beats and misses it on others; a heavy wheel strikes the let-off corner when the
/// jewel is some nanometres off the notch, and blows that last cannot tell that from none: 1.6 deg were found.
pub fn irregular() -> impl Iterator<Item = (Case, f64)> {
    IRREGULAR.iter().map(|(made, by_deg)| (made.ready(), *by_deg))
}

impl Made {
    fn ready(&self) -> Case {
        let set = &self.set;
        let mut statement = movement::read(self.name, self.file).statement;
        statement.set_all(self.changes).unwrap();
        let mut values = statement.values;
        let drawn_m = parts::build(&values).unwrap().movement.si(ParamKind::WheelLockingRadius);
        // Every stated length with the wheel's radius: the handbook's are proportions.
        for id in ParamId::dense().filter(|id| id.param().unit == Unit::Millimetre) {
            if let Some(length_m) = values.get(id) {
                values.set(id, length_m * set.wheel_radius_m / drawn_m);
            }
        }
        let parts = parts::build(&values).unwrap().parts;
        let surface = |friction_ratio: f64| Surface { friction_ratio, rebound_ratio: REBOUND_RATIO };
        let torque_n_m = self.torque_ratio * set.torque_n_m;
        let dynamics = Dynamics {
            wheel: Drive {
                inertia_kg_m2: self.wheel_ratio * set.wheel_kg_m2,
                torque_n_m,
                recoil_torque_n_m: RECOIL_RATIO * torque_n_m,
                swing_ratio: 0.0,
                swing_rad: 0.0,
            },
            lever: LeverMass { inertia_kg_m2: set.lever_kg_m2, pivot_n_m: 0.0, unbalance_n_m: 0.0, unbalance_rad: 0.0 },
            balance: Balance::tuned(set.balance_kg_m2, set.beats_per_hour).with_losses(
                self.quality_ratio.unwrap_or(set.quality_ratio),
                self.begin_deg.to_radians(),
                set.viscous_share_ratio,
            ),
            stone: surface(self.friction[0]),
            fork: surface(self.friction[1]),
            guard: surface(self.friction[1]),
            banking: surface(0.0),
            keep_m_per_s: 5e-4,
        };
        let action = action::solve(&parts, &mut Scratch::default());
        let machine = Machine::new(&parts, &action, dynamics).expect("dynamics that something can have");
        Case { name: self.name, parts, machine, dynamics, begin_rad: self.begin_deg.to_radians() }
    }
}
