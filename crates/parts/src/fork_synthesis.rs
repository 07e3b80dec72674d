//! Fork, roller, guard, jewel and bankings from whatever was stated.

use movement::{ByPallet, Diagnostic, Movement, Origin, Pallet, ParamId, ParamKind as K};

use crate::banking::close_bankings;
use crate::engagement::{Engagement, JEWEL_OF_LIFT_RATIO, NOTCH_FREEDOM_RATIO, Radii};
use crate::fork_closing::close_ratio;
use crate::guard_synthesis::{close_crescent, close_guard};
use crate::pair::{agrees, over_determined, pair};
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
/// Faults of what is stated of fork, roller, guard and bankings where the pallets could not be closed: as far as they do
/// not hang on where the pallets let go, or that is stated too.
pub(crate) fn faults_without_pallets(movement: &Movement) -> Vec<Diagnostic> {
    let mut movement = movement.clone();
    if let Some((entry_eps, exit_eps)) = stated_let_offs_eps(&movement) {
        return close_fork(&mut movement, entry_eps, exit_eps, &mut Vec::new()).err().unwrap_or_default();
    }
    let mut faults = Vec::new();
    let stated = |kind: K| movement.get(kind.once()).map(|(v, _)| v);
    let mut agree = |second: K, made: Option<f64>, with: &[K]| {
        let (Some(is), Some(made)) = (stated(second), made) else { return };
        if made.is_finite() && !agrees(made, is) {
            let with: Vec<ParamId> = with.iter().map(|kind| kind.once()).collect();
            faults.push(over_determined(second.once(), is, made, &with, |id| movement.get(id).map(|(v, _)| v)));
        }
    };
    let both = |a: K, b: K| Some((stated(a)?, stated(b)?));
    let ratio = both(K::ForkLength, K::RollerJewelDistance).map(|(length, jewel)| length / jewel);
    agree(K::ForkRatioOfRadii, ratio, &[K::ForkLength, K::RollerJewelDistance]);
    let width =
        both(K::RollerJewelDistance, K::JewelWidthAngle).map(|(jewel, angle)| 2.0 * jewel * (0.5 * angle).sin());
    agree(K::JewelWidth, width, &[K::RollerJewelDistance, K::JewelWidthAngle]);
    let notch = both(K::JewelWidth, K::ForkNotchFreedom).map(|(jewel, freedom)| jewel + freedom);
    agree(K::ForkNotchWidth, notch, &[K::JewelWidth, K::ForkNotchFreedom]);
    let safety = both(K::RollerJewelDistance, K::RollerSafetyRatio).map(|(jewel, ratio)| jewel * ratio);
    agree(K::RollerSafetyRadius, safety, &[K::RollerJewelDistance, K::RollerSafetyRatio]);
    faults
}

/// Where both pallets let go, entry first, when their locks, a lift and nothing else that could settle it are stated.
fn stated_let_offs_eps(movement: &Movement) -> Option<(f64, f64)> {
    let is_stated = |(v, origin): (f64, Origin)| (origin == Origin::Stated).then_some(v);
    let stated = |kind: K, p: Pallet| movement.get(kind.at(p)).and_then(is_stated);
    let corners = [K::PalletLockingAngle, K::PalletLetOffAngle];
    if Pallet::BOTH.into_iter().any(|p| corners.into_iter().any(|kind| stated(kind, p).is_some())) {
        return None;
    }
    let travels = Pallet::BOTH.map(|p| Some(stated(K::PalletLock, p)? + stated(K::PalletLift, p)?));
    let travel_rad = match travels {
        [Some(a), Some(b)] if !agrees(a, b) => return None,
        [a, b] => a.or(b)?,
    };
    // The other pallet's lock goes into the freedoms.
    Pallet::BOTH.into_iter().all(|p| stated(K::PalletLock, p).is_some()).then(|| {
        let middle_eps = -movement.get(K::LeverOutOfAngle.once()).and_then(is_stated).unwrap_or(0.0);
        (middle_eps + 0.5 * travel_rad, middle_eps - 0.5 * travel_rad)
    })
}

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
