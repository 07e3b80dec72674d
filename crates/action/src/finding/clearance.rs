//! Findings about parts that are in one another's way in plan.

use parts::Parts;

use super::{Finding, fault};
use crate::action::Action;
use crate::clearance::{InTheWay, in_the_way};
use crate::limit::GEOMETRY;

/// Everything in the way between the bankings.
pub(super) fn of_parts(parts: &Parts, action: &Action, out: &mut Vec<Finding>) {
    let at = |lever_rad: f64| format!("lever at {:.2} deg", lever_rad.to_degrees());
    let bankings = ["bankings.distance_mm", "bankings.pin_radius_mm"];
    out.extend(in_the_way(parts, action).into_iter().map(|what| {
        match what {
            InTheWay::BankingAndStone { banking, stone, lever_rad } => fault(
                "stone-strikes-banking",
                format!("the {} stone strikes the {} banking, {}", stone.name(), banking.name(), at(lever_rad)),
                GEOMETRY,
                &bankings,
                Some(banking),
            ),
            InTheWay::BankingAndTeeth { banking } => fault(
                "banking-in-teeth",
                format!("the {} banking stands in the circle of the teeth", banking.name()),
                GEOMETRY,
                &bankings,
                Some(banking),
            ),
            InTheWay::BankingAndJewel { banking } => fault(
                "banking-in-jewels-way",
                format!("the {} banking stands in the circle of the jewel", banking.name()),
                GEOMETRY,
                &bankings,
                Some(banking),
            ),
            InTheWay::StoneAndRim { stone, lever_rad } => fault(
                "stone-strikes-rim",
                format!("the {} stone strikes the rim between the teeth, {}", stone.name(), at(lever_rad)),
                GEOMETRY,
                &["wheel.root_radius_mm", "pallets.*.stone_out_mm", "bankings.*.open_mm"],
                Some(stone),
            ),
            InTheWay::GuardAndCrescent { pallet, lever_rad } => fault(
                "guard-strikes-crescent",
                format!("on the {} side the guard strikes the crescent in passing, {}", pallet.name(), at(lever_rad)),
                GEOMETRY,
                &["roller.crescent_half_angle_deg", "roller.crescent_depth_mm", "guard.width_mm", "guard.bend_mm"],
                Some(pallet),
            ),
            InTheWay::GuardAndJewel { pallet, lever_rad } => fault(
                "guard-strikes-jewel",
                format!("on the {} side the guard strikes the jewel in passing, {}", pallet.name(), at(lever_rad)),
                GEOMETRY,
                &["guard.reach_mm", "roller.safety_ratio", "guard.width_mm"],
                Some(pallet),
            ),
            InTheWay::LeverAndTeeth { lever_rad } => fault(
                "lever-over-teeth",
                format!(
                    "in plan the lever lies over the teeth, {}: it must run at another height than the wheel",
                    at(lever_rad)
                ),
                GEOMETRY,
                &["lever.line_angle_deg", "lever.bar_width_mm"],
                None,
            )
            .caution(),
        }
    }));
}
