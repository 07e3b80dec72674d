//! Dynamics as a movement states them.

use movement::{Movement, ParamKind as K};

use crate::balance::Balance;
use crate::dynamics::{Drive, Dynamics, LeverMass, Surface};

impl Dynamics {
    /// Masses, torques and surfaces of a closed movement.
    ///
    /// The hairspring is the one with which the free balance keeps the stated beats; the losses are those of the stated
    /// quality factor. Nothing states unbalance, a heavy spot or play at the index yet: they are none.
    pub fn of(movement: &Movement) -> Dynamics {
        let surface = |friction: K, rebound: K| Surface {
            friction_ratio: movement.si(friction),
            rebound_ratio: movement.si(rebound),
        };
        let torque_n_m = movement.si(K::WheelTorque);
        let beats_per_hour = 3600.0 * movement.si(K::BalanceBeats);
        let mut balance = Balance::tuned(movement.si(K::BalanceInertia), beats_per_hour).with_losses(
            movement.si(K::BalanceQuality),
            movement.si(K::BalanceQualityAmplitude),
            1.0 - movement.si(K::BalanceDryLoss),
        );
        balance.cubic_n_m_per_rad3 = balance.stiffness_n_m_per_rad * movement.si(K::SpringCubic);
        Dynamics {
            wheel: Drive {
                inertia_kg_m2: movement.si(K::WheelInertia),
                torque_n_m,
                recoil_torque_n_m: torque_n_m * (1.0 + 2.0 * movement.si(K::TrainFriction)),
                swing_ratio: 0.0,
                swing_rad: 0.0,
            },
            lever: LeverMass {
                inertia_kg_m2: movement.si(K::LeverInertia),
                pivot_n_m: movement.si(K::LeverPivotFriction),
                unbalance_n_m: 0.0,
                unbalance_rad: 0.0,
            },
            balance,
            stone: surface(K::StoneFriction, K::StoneRebound),
            fork: surface(K::JewelFriction, K::JewelRebound),
            guard: surface(K::GuardFriction, K::GuardRebound),
            banking: Surface { friction_ratio: 0.0, rebound_ratio: movement.si(K::BankingRebound) },
            keep_m_per_s: movement.si(K::KeepSpeed),
        }
    }
}
