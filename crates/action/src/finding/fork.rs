//! Findings about fork, jewel, guard and horns.

use movement::Pallet;

use super::{Beat, Finding, fault};
use crate::action::Action;
use crate::figure::FigureId;
use crate::fork::ForkAction;
use crate::limit::{BANKED_SOURCE, GEOMETRY, ORDER_SOURCE};
use crate::pallet::{NOTHING_RAD, PalletAction};

/// What fork, jewel and guard do on the side of one beat's pallet.
pub(super) fn of_beat(of: &mut Beat<'_>) {
    let (action, on_tooth) = (of.action, of.on_tooth());
    let beat = &action.beats[of.i];
    let pallet = beat.pallet;
    let name = pallet.name();
    let deg = f64::to_degrees;
    let Some(fork) = action.fork.get(of.i) else { return };
    // What does not depend on the tooth is said once.
    let first = action.indices(pallet).next() == Some(of.i);
    if first {
        if !fork.enters {
            let what = fork.engaging_face.map_or("nothing of the fork".to_owned(), |f| format!("the {}", f.name()));
            of.push(
                fault(
                    "jewel-does-not-enter",
                    format!("coming back to the {name} side, the jewel meets {what} and does not get into the notch"),
                    GEOMETRY,
                    &["bankings.*.open_mm", "fork.longer_mm", "jewel.out_mm"],
                    Some(pallet),
                ),
                None,
                None,
                0.0,
            );
        }
        if let Some(f) = slips(action, beat, fork) {
            of.push(f, None, None, 0.0);
        }
        if let Some(face) = fork.leaving_strikes {
            of.push(
                fault(
                    "jewel-cannot-leave",
                    format!(
                        "after the {name} impulse the jewel cannot leave the notch: it strikes the {} with the lever on its banking",
                        face.name()
                    ),
                    BANKED_SOURCE,
                    &["bankings.^.open_mm", "fork.longer_mm", "jewel.out_mm"],
                    Some(pallet),
                ),
                None,
                None,
                0.0,
            );
        }
        if fork.can_overbank {
            of.push(
                fault(
                    "can-overbank",
                    format!(
                        "the lever can pass to the wrong side from the {name} banking: at some jewel angle neither guard nor horn holds it"
                    ),
                    ORDER_SOURCE,
                    &["guard.longer_mm", "fork.horn_length_mm", "roller.crescent_half_angle_deg"],
                    Some(pallet),
                ),
                Some("hold_overlap_deg"),
                None,
                1.0,
            );
        }
        for (freedom, path, what, moves) in [
            (
                fork.guard_freedom_rad,
                "guard_freedom_deg",
                "guard presses on the safety roller",
                ["guard.longer_mm", "bankings.*.open_mm"],
            ),
            (
                fork.horn_freedom_rad,
                "horn_freedom_deg",
                "horn presses on the jewel",
                ["jewel.out_mm", "bankings.*.open_mm"],
            ),
        ] {
            if let Some(freedom) = freedom.filter(|f| *f <= NOTHING_RAD) {
                of.push(
                    fault(
                        "no-freedom",
                        format!(
                            "the {what} with the lever on the {name} banking, by {:.3} deg",
                            deg(freedom.min(0.0).abs())
                        ),
                        ORDER_SOURCE,
                        &moves,
                        Some(pallet),
                    ),
                    Some(path),
                    None,
                    deg(freedom),
                );
            }
        }
        if let (Some(guard), Some(horn)) = (fork.guard_freedom_rad, fork.horn_freedom_rad)
            && guard >= horn - NOTHING_RAD
            && horn > NOTHING_RAD
        {
            let message = format!(
                "guard freedom {:.3} deg is not smaller than horn freedom {:.3} deg on the {name} side",
                deg(guard),
                deg(horn)
            );
            let f = fault(
                "guard-after-horn",
                message,
                ORDER_SOURCE,
                &["guard.longer_mm", "fork.horn_freedom_deg"],
                Some(pallet),
            );
            of.push(f.caution(), Some("guard_freedom_deg"), None, deg(guard - horn));
        }
    }
    let overlap = fork.horn_holds_to_rad - fork.guard_holds_from_rad;
    if overlap < 0.0 && !fork.can_overbank && beat.total_lock_rad > 0.0 {
        of.push(
            fault(
                "crescent-not-covered",
                format!(
                    "between the horn's end and the crescent's edge the {name} tooth can be unlocked over {:.2} deg of the balance{on_tooth}",
                    deg(-overlap)
                ),
                ORDER_SOURCE,
                &["fork.horn_length_mm", "roller.crescent_half_angle_deg"],
                Some(pallet),
            ),
            Some("hold_overlap_deg"),
            None,
            deg(overlap),
        );
    }
    let banked = fork.banked_to_drop;
    if let Some(face) = banked.jewel_strikes.filter(|_| beat.lands()) {
        let f = fault(
            "banked-to-drop",
            format!(
                "banked to drop, the jewel strikes the {} when it leaves on the {name} side{on_tooth}: fork too long or jewel too far out",
                face.name()
            ),
            BANKED_SOURCE,
            &["fork.longer_mm", "jewel.out_mm"],
            Some(pallet),
        );
        of.push(f.caution(), Some("banked_to_drop_horn_deg"), None, 0.0);
    }
    if let Some(guard) = banked.guard_freedom_rad.filter(|g| beat.lands() && *g < -NOTHING_RAD) {
        let f = fault(
            "banked-to-drop",
            format!(
                "banked to drop, the guard presses on the roller on the {name} side by {:.3} deg{on_tooth}",
                deg(-guard)
            ),
            BANKED_SOURCE,
            &["guard.longer_mm"],
            Some(pallet),
        );
        of.push(f.caution(), Some("banked_to_drop_guard_deg"), None, deg(guard));
    }
    for (freedom, path, what, moves) in [
        (fork.guard_freedom_rad, "safety_lock_guard_deg", "guard", "guard.longer_mm"),
        (fork.horn_freedom_largest_rad, "safety_lock_horn_deg", "horn", "fork.horn_freedom_deg"),
    ] {
        if let Some(freedom) = freedom
            && freedom >= beat.total_lock_rad - NOTHING_RAD
            && beat.total_lock_rad > 0.0
        {
            let message = format!(
                "{what} freedom {:.3} deg at its largest is not smaller than the total lock {:.3} deg on the {name} pallet{on_tooth}: a jolt unlocks it",
                deg(freedom),
                deg(beat.total_lock_rad)
            );
            of.push(
                fault("safety-lock-used-up", message, ORDER_SOURCE, &[moves, "pallets.*.stone_out_mm"], Some(pallet)),
                Some(path),
                None,
                deg(freedom - beat.total_lock_rad),
            );
        }
    }
}

/// A notch that loses the jewel before the tooth is let go, between the bankings.
pub(super) fn slips(action: &Action, beat: &PalletAction, fork: &ForkAction) -> Option<Finding> {
    let lever_rad = fork.loses_jewel_rad.filter(|rad| action.reaches(*rad))?;
    let locked = beat.pallet.outward() * (lever_rad - beat.unlocking.lever_rad) < 0.0;
    let message = format!(
        "in the {} beat the notch loses the jewel, lever at {:.2} deg, before the tooth is {}",
        beat.pallet.name(),
        lever_rad.to_degrees(),
        if locked { "unlocked" } else { "let go" }
    );
    let moves = ["pallets.*.stone_out_mm", "fork.longer_mm", "jewel.out_mm"];
    Some(fault("jewel-slips", message, GEOMETRY, &moves, Some(beat.pallet)))
}

/// Where the jewel stands while the balance is at rest: in the notch, or the movement does not start.
pub(super) fn at_rest(action: &Action, out: &mut Vec<Finding>) {
    let engaging = |p| action.fork.get(action.indices(p).next()?)?.engaging_rad;
    let (Some(entry), Some(exit)) = (engaging(Pallet::Entry), engaging(Pallet::Exit)) else { return };
    if (entry.min(exit)..=entry.max(exit)).contains(&action.rest_rad) {
        return;
    }
    let deg = f64::to_degrees;
    let message = format!(
        "at rest the jewel stands at {:.2} deg, outside the notch, which it meets at {:.2} and {:.2} deg: the balance does not start",
        deg(action.rest_rad),
        deg(entry),
        deg(exit)
    );
    let mut f = fault(
        "rests-outside-notch",
        message,
        GEOMETRY,
        &["roller.turn_deg", "bankings.entry.open_mm", "bankings.exit.open_mm"],
        None,
    );
    f.figure = FigureId::from_path("out_of_beat_deg");
    f.found = f.figure.and_then(|id| id.value(action));
    out.push(f);
}
