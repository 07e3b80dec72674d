//! What holds while a parameter is not stated that the synthesis closes: in words, for templates and manuals.
//!
//! The values are those of the synthesis (crate `parts`), whose test `unstated` compares them.

use crate::table::ParamKind as K;

/// A value that is a default ("where the rest leaves it free"), or what a value follows from.
pub(crate) fn closed_text(kind: K) -> &'static str {
    match kind {
        K::WheelLockingRadius => "follows from centres.wheel_pallet_mm, by tangential planting",
        K::CentresWheelPallet => "follows from wheel.locking_radius_mm, by tangential planting",
        K::WheelHeelRadius => "follows from the tooth's share of the lift",
        K::WheelToothWidth => "52.5 deg / tooth_count where the rest leaves it free",
        K::WheelToothLift => "2.5 deg where the rest leaves it free",
        K::PalletsPlacingRatio => "0 where the rest leaves it free",
        K::PalletLock => "1.5 deg where the rest leaves it free",
        K::PalletLift => "8.5 deg where the rest leaves it free",
        K::PalletBreadth => "105 deg / tooth_count where the rest, such as a drop, leaves it free",
        K::PalletDraw => "12 deg where the rest leaves it free",
        K::PalletLockingDistance | K::PalletLockingAngle => "follows from placing and lock",
        K::PalletLetOffDistance | K::PalletLetOffAngle => "follows from breadth, or drop, and lift",
        K::StoneWidth | K::StoneFaceAngle => "follows from the stone's corners and its draw",
        K::LeverOutOfAngle => "0 deg where the rest leaves it free",
        K::BankingRun => "0.25 deg where no lever_angle_deg is stated",
        K::BankingLeverAngle => "follows from the run",
        K::BankingsDistance => "0.6 of the fork's length, nearer where the head of the fork begins before",
        K::BalanceLift => "50 deg where the rest leaves it free",
        K::BalanceLiftOfRadii => "follows from the lift at the balance",
        K::CentresPalletBalance => "1.2 of centres.wheel_pallet_mm where the rest leaves it free",
        K::ForkLength | K::RollerJewelDistance => "follows from centre distance and lift",
        K::JewelWidthAngle => "0.4 of balance.lift_of_radii_deg where no width_mm is stated",
        K::JewelWidth => "follows from width_deg",
        K::ForkNotchFreedom => "0.03 of the jewel's width where no notch width is stated",
        K::ForkNotchWidth => "follows from jewel and freedom",
        K::ForkNotchDepth => "as deep as the jewel needs",
        K::ForkHornFreedom => "0.6 of the smaller total lock",
        K::ForkHornLength => "1.5 of the jewel's width, longer where the guard asks for it",
        K::RollerForm => "the one that goes with guard.form; \"double\" where neither is stated",
        K::GuardForm => "the one that goes with roller.form",
        K::RollerSafetyRatio => "0.6 in a double roller where no radius is stated",
        K::RollerSafetyRadius => "follows from safety_ratio",
        K::RollerRadius => "1.15 of the jewel's distance, or the safety radius of a single roller",
        K::RollerCrescent | K::RollerCrescentDepth => "as large as the guard needs",
        K::GuardFreedom => "0.4 of the smaller total lock where no reach is stated",
        K::GuardReach => "follows from the freedom",
        _ => "derived",
    }
}
