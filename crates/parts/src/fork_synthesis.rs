//! Fork, roller, guard, jewel and bankings from whatever was stated.

use movement::{ByPallet, Diagnostic, Movement, Origin, Pallet, ParamKind as K};

use crate::banking::close_bankings;
use crate::engagement::{Engagement, JEWEL_OF_LIFT_RATIO, NOTCH_FREEDOM_RATIO, Radii};
use crate::fork_closing::close_ratio;
use crate::guard_synthesis::{close_crescent, close_guard};
use crate::pair::pair;
use crate::passage::Passage;

/// Run. Common practice 0.25 to 0.5 deg of lever, no source.
const RUN_DEG: f64 = 0.25;
/// Horn freedom as a part of the total lock. Assumed.
const HORN_OF_TOTAL_LOCK_RATIO: f64 = 0.6;
/// Horn length in jewel widths: 1.5, Watch and Clock Escapements, 1904; longer where the guard asks for it.
const HORN_OF_JEWEL_RATIO: f64 = 1.5;
/// Notch depth over jewel width. Assumed.
const NOTCH_DEPTH_RATIO: f64 = 1.1;
/// Room between the jewel and the floor of the notch, over jewel width. Assumed.
const NOTCH_ROOM_RATIO: f64 = 0.15;
/// Closes fork, roller, guard and bankings; the let-offs are `eps` of the theory notes.
pub(crate) fn close_fork(
    movement: &mut Movement,
    entry_let_off_eps: f64,
    exit_let_off_eps: f64,
    notes: &mut Vec<Diagnostic>,
) -> Result<(), Vec<Diagnostic>> {
    let mut faults = Vec::new();
    // An upright pin is the guard of a single roller, a dart that of a double one: either, stated, brings the other.
    let pin = movement.get(K::GuardForm.once()).map_or(0.0, |(form, _)| form);
    otherwise(movement, K::RollerForm, pin);
    otherwise(movement, K::GuardForm, movement.si(K::RollerForm));
    // Bankings. The lever rests on the entry pallet's banking after the exit pallet let go, and the reverse.
    for p in Pallet::BOTH {
        let let_off_rad = match p {
            Pallet::Entry => -exit_let_off_eps,
            Pallet::Exit => entry_let_off_eps,
        };
        let total_lock = K::BankingLeverAngle.at(p);
        pair(
            movement,
            K::BankingRun.at(p),
            total_lock,
            RUN_DEG.to_radians(),
            |run| let_off_rad + run,
            |angle| angle - let_off_rad,
            &mut faults,
        );
    }
    let total_lock_rad = Pallet::BOTH.map(|p| movement.si_at(K::PalletLock, p) + movement.si_at(K::BankingRun, p));
    let least_lock_rad = total_lock_rad[0].min(total_lock_rad[1]).max(0.0);
    otherwise(movement, K::ForkHornFreedom, HORN_OF_TOTAL_LOCK_RATIO * least_lock_rad);
    let half_travel_rad = 0.5 * (entry_let_off_eps - exit_let_off_eps);
    let engagement = Engagement::new(movement, ByPallet { entry: -entry_let_off_eps, exit: -exit_let_off_eps })?;
    close_ratio(movement, half_travel_rad, &engagement, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }

    let jewel_m = movement.si(K::RollerJewelDistance);
    let centres_m = movement.si(K::CentresPalletBalance);
    let half_lift_rad = 0.5 * movement.si(K::BalanceLiftOfRadii);
    pair(
        movement,
        K::JewelWidthAngle.once(),
        K::JewelWidth.once(),
        JEWEL_OF_LIFT_RATIO * 2.0 * half_lift_rad,
        |angle| 2.0 * jewel_m * (0.5 * angle).sin(),
        |width| 2.0 * (0.5 * width / jewel_m).asin(),
        &mut faults,
    );
    let width_m = movement.get(K::JewelWidth.once()).map_or(f64::NAN, |(w, _)| w);
    pair(
        movement,
        K::ForkNotchFreedom.once(),
        K::ForkNotchWidth.once(),
        NOTCH_FREEDOM_RATIO * width_m,
        |f| width_m + f,
        |n| n - width_m,
        &mut faults,
    );
    if !faults.is_empty() {
        return Err(faults);
    }
    // Deep enough for the jewel, wherever it stands while it is in the notch.
    let radii = Radii { centres_m, jewel_m, half_lift_rad };
    let mouths = engagement.mouths(&radii);
    let mouth_m = mouths.entry.0.y.min(mouths.exit.0.y);
    let jewel_end_m = centres_m - engagement.jewel_reach_m(&radii);
    let room_m = (mouth_m - jewel_end_m).max(0.0) + NOTCH_ROOM_RATIO * width_m;
    let depth_m = if movement.word(K::GuardForm) == "pin" { room_m } else { room_m.max(NOTCH_DEPTH_RATIO * width_m) };
    // Where a horn cannot be drawn, the drawing says why.
    otherwise(movement, K::ForkNotchDepth, if depth_m.is_finite() { depth_m } else { NOTCH_DEPTH_RATIO * width_m });
    let floor_m = mouth_m - movement.si(K::ForkNotchDepth);
    notes.extend(close_bankings(movement, floor_m));
    close_guard(movement, floor_m, least_lock_rad)?;
    let passage = Passage::new(movement, &engagement, &radii);
    close_crescent(movement, &passage);
    if movement.get(K::ForkHornLength.once()).is_none() {
        let length_m = passage.horn_length_m(HORN_OF_JEWEL_RATIO * width_m, movement.si(K::RollerCrescent));
        otherwise(movement, K::ForkHornLength, length_m);
    }
    Ok(())
}

/// A default value, where nothing is stated.
pub(crate) fn otherwise(movement: &mut Movement, kind: K, si: f64) {
    if movement.get(kind.once()).is_none() {
        movement.set(kind.once(), si, Origin::Default);
    }
}
