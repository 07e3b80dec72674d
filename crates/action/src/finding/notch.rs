//! Whether the jewel has room in the notch.

use parts::{Face, Parts};
use plane::Shape;

use super::{Finding, fault};
use crate::action::Action;
use crate::limit::GEOMETRY;

/// A notch that is too shallow or too narrow for the jewel.
pub(super) fn of_notch(parts: &Parts, action: &Action, out: &mut Vec<Finding>) {
    if let Some(short_m) = short_m(parts).filter(|short| *short > 0.0) {
        let message = format!(
            "the jewel strikes the floor of the notch: the notch is too shallow by {:.3} mm, and needs some room beyond that",
            short_m * 1e3
        );
        let moves = ["fork.notch_depth_mm", "fork.longer_mm", "jewel.out_mm"];
        out.push(fault("notch-too-shallow", message, GEOMETRY, &moves, None));
    } else if action.notch.is_none() {
        let moves = ["fork.notch_width_mm", "jewel.width_mm"];
        let message = "the jewel has no freedom in the notch: it cannot enter".to_owned();
        out.push(fault("notch-too-narrow", message, GEOMETRY, &moves, None));
    }
}

/// By how much the jewel, where it reaches deepest, stands beyond the floor of the notch; negative where it has room.
/// It reaches deepest on the line of centres.
fn short_m(parts: &Parts) -> Option<f64> {
    let line_m = (parts.centres.balance_m - parts.centres.pallet_m).norm();
    Some(floor_m(parts)? - (line_m - parts.roller.jewel_reach_m))
}

/// Distance of the notch's floor from the pallet axis, along the fork.
pub(crate) fn floor_m(parts: &Parts) -> Option<f64> {
    let floor = parts.lever.fork.features.iter().filter(|f| Face::from(f.label) == Face::NotchFloor);
    floor
        .filter_map(|f| match f.shape {
            Shape::Flat(flat) => Some(flat.start.dot(&parts.lever.fork_axis)),
            Shape::Round(_) => None,
        })
        .reduce(f64::max)
}
