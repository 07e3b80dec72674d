//! A movement of the handbook of 1904 with masses and torques of a wrist watch of 28,800 beats an hour (assumed), which
//! the tests then change.
#![allow(dead_code)] // each test file uses a part of it

use motion::{Balance, Drive, Dynamics, LeverMass, Machine, Options, Surface};
use movement::{ParamId, ParamKind as K, Values};

/// Example B of the handbook, equidistant, with a run to the bankings of 0.3 deg on both sides.
pub fn values() -> Values {
    let text = include_str!("../../../../examples/handbook-1904-equidistant.toml");
    let mut values = movement::read("handbook-1904-equidistant.toml", text).statement.values;
    for p in movement::Pallet::BOTH {
        values.set(K::BankingRun.at(p), 0.3_f64.to_radians());
    }
    values
}

/// Masses, torques and surfaces, assumed.
pub fn dynamics() -> Dynamics {
    let surface = |friction_ratio, rebound_ratio| Surface { friction_ratio, rebound_ratio };
    Dynamics {
        wheel: Drive {
            inertia_kg_m2: 1.8e-11,
            torque_n_m: 1.0e-6,
            recoil_torque_n_m: 1.0e-6,
            swing_ratio: 0.0,
            swing_rad: 0.0,
        },
        lever: LeverMass { inertia_kg_m2: 1.6e-11, pivot_n_m: 0.0, unbalance_n_m: 0.0, unbalance_rad: 0.0 },
        balance: Balance::tuned(1.0e-9, 28_800.0).with_losses(280.0, 300_f64.to_radians(), 0.8),
        stone: surface(0.12, 0.3),
        fork: surface(0.1, 0.3),
        guard: surface(0.1, 0.3),
        banking: surface(0.0, 0.3),
        keep_m_per_s: 5e-3,
    }
}

/// The machine of a statement; `None` where it cannot be drawn.
pub fn machine_of(values: &Values, dynamics: Dynamics) -> Option<Machine> {
    let build = parts::build(values).ok()?;
    let action = action::solve(&build.parts, &mut action::Scratch::default());
    Some(Machine::new(&build.parts, &action, dynamics).expect("dynamics that something can have"))
}

/// The machine of the handbook's movement.
pub fn machine(dynamics: Dynamics) -> Machine {
    machine_of(&values(), dynamics).expect("the handbook's movement can be drawn")
}

/// Options with a tolerance.
pub fn within(step_error_ratio: f64) -> Options {
    Options { step_error_ratio, ..Options::default() }
}

/// A statement with one value more.
pub fn with(mut values: Values, id: ParamId, si: f64) -> Values {
    values.set(id, si);
    values
}
