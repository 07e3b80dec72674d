//! Findings about tooth and stone.

use movement::Pallet;
use parts::Face;
use std::f64::consts::TAU;

use super::{Beat, Finding, fault};
use crate::curve::Contact;
use crate::cycle::Broken;
use crate::limit::{BANKED_SOURCE, FRICTION_RATIO, FRICTION_SOURCE, GEOMETRY, LANDING_SOURCE};
use crate::oscillation::jam_rad;
use crate::pallet::{NOTHING_RAD, NoAction};

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
        Broken::BankedBeforeLetOff { banking, tooth, by_rad } => {
            let mut f = banked_before_let_off(banking, by_rad, None);
            f.tooth = Some(tooth);
            f
        }
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

/// The lever meets the banking of `pallet` by so much before the other pallet lets go, of `tooth` where teeth differ.
fn banked_before_let_off(pallet: Pallet, by_rad: f64, tooth: Option<u16>) -> Finding {
    let message = format!(
        "the lever meets the {} banking {:.3} deg before the {} pallet lets go{}: the watch stops",
        pallet.name(),
        by_rad.to_degrees(),
        pallet.other().name(),
        tooth.map_or(String::new(), |t| format!(" of tooth {t}"))
    );
    let moves = ["bankings.*.open_mm", "pallets.^.stone_out_mm", "centres.wheel_pallet_change_mm"];
    let mut f = fault("banking-before-let-off", message, GEOMETRY, &moves, Some(pallet));
    f.tooth = tooth;
    f
}

/// Lock, run, drop, rear freedom, lift and draw of one beat.
pub(super) fn of_beat(of: &mut Beat<'_>) {
    let (action, on_tooth) = (of.action, of.on_tooth());
    let beat = &action.beats[of.i];
    let pallet = beat.pallet;
    let name = pallet.name();
    let deg = f64::to_degrees;
    let stone_moves = ["pallets.*.stone_out_mm", "pallets.^.stone_out_mm", "centres.wheel_pallet_change_mm"];

    if beat.lands() && beat.lock_rad <= NOTHING_RAD {
        let by =
            if beat.lock_rad < -NOTHING_RAD { format!(" by {:.3} deg", deg(-beat.lock_rad)) } else { String::new() };
        let message =
            format!("{name} does not lock{by}{on_tooth}: the tooth lands on the {}", beat.landing.stone_face.name());
        of.push(
            fault("does-not-lock", message, LANDING_SOURCE, &stone_moves, Some(pallet)),
            Some("lock_deg"),
            Some(beat.landing.point_m),
            deg(beat.lock_rad),
        );
    }
    if !beat.lands() {
        // The lever is held where the other pallet has not yet let its tooth go: that tooth is the one concerned.
        let before = &action.beats[(of.i + action.beats.len() - 1) % action.beats.len()];
        let held = of.tooth.map(|_| before.tooth);
        let f = banked_before_let_off(pallet, -beat.run_rad, held);
        of.push(f, Some("run_deg"), None, deg(beat.run_rad));
    }
    // A drop of nearly a pitch or more has let a tooth go by: a sound one is well below half of it.
    let lets_go = action.lets_go(of.i);
    let passed = if lets_go { (beat.drop_rad / of.pitch_rad).round() as u16 } else { 0 };
    for k in (1..=passed).rev() {
        let caught = action.beats[(of.i + 1) % action.beats.len()].tooth;
        let count = (TAU / of.pitch_rad).round() as u16;
        let tooth = (caught + count - k % count) % count;
        let message = format!(
            "the {} pallet does not stop tooth {tooth}: the wheel drops {:.3} deg, until tooth {caught} is caught",
            pallet.other().name(),
            deg(beat.drop_rad)
        );
        let moves = ["pallets.*.stone_out_mm"];
        let mut f = fault("tooth-passes", message, LANDING_SOURCE, &moves, Some(pallet.other()));
        f.tooth = Some(tooth);
        of.push(f, Some("drop_deg"), None, deg(beat.drop_rad));
    }
    let next = &action.beats[(of.i + 1) % action.beats.len()];
    if beat.drop_rad <= NOTHING_RAD && (lets_go || action.reaches(jam_rad(of.parts, beat, next))) {
        let message = format!(
            "no drop after the {name} pallet{on_tooth}: the next tooth meets the {} stone {:.3} deg of the wheel before this one is free; the wheel jams",
            pallet.other().name(),
            deg(beat.drop_rad.min(0.0).abs())
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
                &["pallets.*.stone_thicker_mm", "pallets.*.stone_spread_mm"],
                Some(pallet),
            ),
            Some("rear_freedom_um"),
            Some(rear.stone_m),
            rear.gap_m * 1e6,
        );
    }
    for s in beat.segments.iter().filter(|s| s.fall_rad > 0.0 && action.reaches(s.from.lever_rad)) {
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
    // Draw changes along the face: on the entry stone it grows toward the corner, on the exit stone away from it.
    let reached = |c: Contact| Some(c).filter(|c| action.reaches(c.lever_rad));
    let on_face = |c: Option<Contact>| c.filter(|c| c.stone_face == Face::StoneLocking);
    let places = [
        (reached(beat.face_end), "at the locking corner", "draw_unlocking_deg"),
        (on_face(reached(beat.landing)), "where the tooth lands", "draw_at_drop_deg"),
        (on_face(beat.banked), "with the lever on its banking", "draw_banked_deg"),
    ];
    let least = places.into_iter().filter_map(|(c, place, stem)| Some((c?, place, stem)));
    let least = least.min_by(|a, b| a.0.draw_rad.total_cmp(&b.0.draw_rad));
    if let Some((c, place, stem)) = least.filter(|(c, ..)| c.draw_rad <= FRICTION_RATIO.atan()) {
        let message = format!(
            "draw on the {name} pallet {place}{on_tooth} is {:.2} deg, no more than the angle of friction ({:.1} deg): a jolt leaves the lever off its banking",
            deg(c.draw_rad),
            deg(FRICTION_RATIO.atan())
        );
        let moves = ["pallets.*.draw_deg", "pallets.*.stone_tilt_deg"];
        let f = fault("no-draw", message, FRICTION_SOURCE, &moves, Some(pallet));
        of.push(f, Some(stem), Some(c.point_m), deg(FRICTION_RATIO.atan() - c.draw_rad));
    }
}
