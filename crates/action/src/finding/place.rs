//! Where on the drawing a finding is: the contact it is about, else the part.

use parts::Parts;
use plane::{Profile, Vector};

use super::Finding;
use crate::action::Action;

/// The contact that a figure of one beat is about.
pub(super) fn of_figure(action: &Action, figure: &str, beat: usize) -> Option<Vector> {
    let own = action.beats.get(beat)?;
    Some(match figure {
        "*.lock_deg" => own.landing.point_m,
        // The drop ends on the other stone.
        "*.drop_deg" => action.beats[(beat + 1) % action.beats.len()].landing.point_m,
        "*.draw_unlocking_deg" => own.face_end.point_m,
        "*.rear_freedom_um" => action.rear.get(beat).copied().flatten()?.stone_m,
        "*.knocking_deg" => action.fork.get(beat)?.knocking_m?,
        _ => return None,
    })
}

/// The part that a finding without a contact is about, the lever on the banking of the pallet concerned.
pub(super) fn of(parts: &Parts, action: &Action, found: &Finding) -> Option<Vector> {
    let banked_rad = found.pallet.and_then(|p| action.bankings_rad[p]).unwrap_or(0.0);
    let lever = parts.lever_pose(banked_rad);
    let figure = found.figure.map_or("", |id| id.figure().path);
    let jewel = middle(&parts.roller.jewel.profile)?;
    let stone = || found.pallet.map(|p| lever.point(parts.lever.stones[p].locking_corner_m));
    let banking = || middle(&parts.bankings[found.pallet?].profile);
    let guard = || foremost(&parts.lever.guard.profile, parts.lever.fork_axis).map(|p| lever.point(p));
    let at_rest = || Some(parts.roller_pose(parts.roller.rest_rad).point(jewel));
    let in_fork = || {
        let to_jewel_m = (parts.centres.balance_m - parts.centres.pallet_m).norm() - jewel.norm();
        Some(lever.point(parts.lever.fork_axis * to_jewel_m))
    };
    match found.code {
        "lever-over-teeth" => Some(parts.centres.pallet_m),
        "rests-outside-notch" => at_rest(),
        "not-stopped" | "stone-out-of-reach" | "no-locking-face" | "no-let-off" | "tooth-passes"
        | "stone-strikes-rim" => stone(),
        "no-banking"
        | "banking-before-let-off"
        | "stone-strikes-banking"
        | "banking-in-teeth"
        | "banking-in-jewels-way" => banking(),
        "guard-strikes-crescent"
        | "guard-strikes-jewel"
        | "can-overbank"
        | "crescent-not-covered"
        | "guard-after-horn" => guard(),
        _ if figure == "out_of_beat_deg" => at_rest(),
        _ if figure == "*.run_deg" => banking(),
        _ if figure.contains("guard") => guard(),
        _ => in_fork(),
    }
}

fn middle(outline: &Profile) -> Option<Vector> {
    let points = outline.edges.iter().map(|e| 0.5 * (e.at(0.0) + e.at(0.5)));
    let sum = points.reduce(|a, b| a + b)?;
    Some(sum / outline.edges.len() as f64)
}

/// The point of an outline that reaches farthest along a direction.
fn foremost(outline: &Profile, along: Vector) -> Option<Vector> {
    let points = outline.edges.iter().flat_map(|e| [e.at(0.0), e.at(0.5)]);
    points.max_by(|a, b| a.dot(&along).total_cmp(&b.dot(&along)))
}
