//! Findings about tooth and stone.

use std::f64::consts::TAU;

use super::{Beat, Finding, fault};
use crate::cycle::Broken;
use crate::limit::{BANKED_SOURCE, FRICTION_RATIO, FRICTION_SOURCE, GEOMETRY, LANDING_SOURCE};
use crate::pallet::{NO_RUN_RAD, NoAction};

/// What keeps the cycle from being played.
pub(super) fn broken_cycle(broken: Broken) -> Finding {
    match broken {
        Broken::NoBanking { pallet } => fault(
            "no-banking",
            format!("the lever does not meet the {} banking within 60 deg", pallet.name()),
            GEOMETRY,
            &["bankings.*.open_mm", "bankings.*.lever_angle_deg"],
            Some(pallet),
        ),
        Broken::NotStopped { pallet, after_tooth } => fault(
            "not-stopped",
            format!(
                "after tooth {after_tooth} is let go, nothing on the {} pallet stops the wheel: it runs",
                pallet.name()
            ),
            GEOMETRY,
            &["pallets.*.stone_out_mm", "centres.wheel_pallet_change_mm"],
            Some(pallet),
        ),
        Broken::NoAction { pallet, tooth, why } => {
            let name = pallet.name();
            let (code, message) = match why {
                NoAction::StoneOutOfReach => {
                    ("stone-out-of-reach", format!("the {name} stone does not reach tooth {tooth}"))
                }
                NoAction::NoLockingFace => {
                    ("no-locking-face", format!("tooth {tooth} meets the {name} stone but never its locking face"))
                }
                NoAction::NoLetOff => ("no-let-off", format!("the {name} stone never lets tooth {tooth} go")),
            };
            let mut f = fault(
                code,
                message,
                GEOMETRY,
                &["pallets.*.stone_out_mm", "centres.wheel_pallet_change_mm"],
                Some(pallet),
            );
            f.tooth = Some(tooth);
            f
        }
    }
}

/// Lock, run, drop, rear freedom, lift and draw of one beat.
pub(super) fn of_beat(of: &mut Beat<'_>) {
    let (action, on_tooth) = (of.action, of.on_tooth());
    let beat = &action.beats[of.i];
    let pallet = beat.pallet;
    let name = pallet.name();
    let deg = f64::to_degrees;
    let stone_moves = ["pallets.*.stone_out_mm", "pallets.^.stone_out_mm", "centres.wheel_pallet_change_mm"];

    if beat.lock_rad <= 0.0 {
        let message = format!(
            "{name} does not lock by {:.3} deg{on_tooth}: the tooth lands on the {}",
            deg(-beat.lock_rad),
            beat.landing.stone_face.name()
        );
        of.push(
            fault("does-not-lock", message, LANDING_SOURCE, &stone_moves, Some(pallet)),
            Some("lock_deg"),
            Some(beat.landing.point_m),
            deg(beat.lock_rad),
        );
    }
    if beat.run_rad < -NO_RUN_RAD {
        let message = format!(
            "the lever meets the {name} banking {:.3} deg before the {} pallet lets go{on_tooth}: the watch stops",
            deg(-beat.run_rad),
            pallet.other().name()
        );
        of.push(
            fault(
                "banking-before-let-off",
                message,
                GEOMETRY,
                &["bankings.*.open_mm", "pallets.^.stone_out_mm"],
                Some(pallet),
            ),
            Some("run_deg"),
            None,
            deg(beat.run_rad),
        );
    }
    // A wheel that drops by a pitch or more has had a tooth go by.
    let passed = (beat.drop_rad / of.pitch_rad) as u16;
    if passed > 0 {
        let stopper = pallet.other().name();
        let caught = action.beats[(of.i + 1) % action.beats.len()].tooth;
        let count = (TAU / of.pitch_rad).round() as u16;
        let teeth: Vec<String> =
            (1..=passed).rev().map(|k| ((caught + count - k % count) % count).to_string()).collect();
        let message = format!(
            "the {stopper} pallet does not stop tooth {}: the wheel drops {:.3} deg, until tooth {caught} is caught",
            teeth.join(", "),
            deg(beat.drop_rad)
        );
        let moves = ["pallets.*.stone_out_mm", "wheel.eccentricity_mm"];
        let f = fault("tooth-passes", message, LANDING_SOURCE, &moves, Some(pallet.other()));
        of.push(f, Some("drop_deg"), None, deg(beat.drop_rad));
    }
    if beat.drop_rad <= 0.0 {
        let message = format!(
            "no drop after the {name} pallet{on_tooth}: the next tooth meets the {} stone {:.3} deg of the wheel before this one is free; the wheel jams",
            pallet.other().name(),
            deg(-beat.drop_rad)
        );
        let moves = ["pallets.*.stone_thicker_mm", "pallets.^.stone_spread_mm", "pallets.*.breadth_deg"];
        of.push(
            fault("no-drop", message, LANDING_SOURCE, &moves, Some(pallet)),
            Some("drop_deg"),
            Some(beat.let_off.point_m),
            deg(beat.drop_rad),
        );
    }
    if let Some(rear) = action.rear.get(of.i).copied().flatten()
        && rear.gap_m < 0.0
    {
        let message = format!(
            "the back of the {name} stone strikes a tooth by {:.1} um{on_tooth}, lever at {:.2} deg",
            -rear.gap_m * 1e6,
            deg(rear.lever_rad)
        );
        of.push(
            fault(
                "stone-strikes-tooth",
                message,
                BANKED_SOURCE,
                &["pallets.*.stone_thicker_mm", "wheel.back_lean_deg"],
                Some(pallet),
            ),
            Some("rear_freedom_um"),
            Some(rear.stone_m),
            rear.gap_m * 1e6,
        );
    }
    for s in beat.segments.iter().filter(|s| s.fall_rad > 0.0) {
        let message = format!(
            "the tooth loses the {name} stone during the lift{on_tooth} and falls {:.3} deg of the wheel",
            deg(s.fall_rad)
        );
        let f = fault(
            "falls-in-lift",
            message,
            GEOMETRY,
            &["wheel.tooth_lift_deg", "pallets.*.impulse_face_angle_deg"],
            Some(pallet),
        );
        of.push(f.caution(), None, Some(s.from.point_m), deg(s.fall_rad));
    }
    if beat.face_end.draw_rad <= FRICTION_RATIO.atan() {
        let message = format!(
            "draw on the {name} pallet at the locking corner{on_tooth} is {:.2} deg, no more than the angle of friction ({:.1} deg): a jolt leaves the lever off its banking",
            deg(beat.face_end.draw_rad),
            deg(FRICTION_RATIO.atan())
        );
        of.push(
            fault(
                "no-draw",
                message,
                FRICTION_SOURCE,
                &["pallets.*.draw_deg", "pallets.*.stone_tilt_deg"],
                Some(pallet),
            ),
            Some("draw_unlocking_deg"),
            Some(beat.face_end.point_m),
            deg(FRICTION_RATIO.atan() - beat.face_end.draw_rad),
        );
    }
}
