//! Fork, roller, guard, jewel and bankings from whatever was stated.

use movement::{ByPallet, Diagnostic, Movement, Origin, Pallet, ParamKind as K};

use crate::engagement::{Engagement, JEWEL_OF_LIFT_RATIO, NOTCH_FREEDOM_RATIO};
use crate::fork_closing::close_ratio;
use crate::pair::pair;

/// Run. Common practice 0.25 to 0.5 deg of lever, no source.
const RUN_DEG: f64 = 0.25;
/// Safety over jewel radius: 0.6 in a double roller, implied by Watch and Clock Escapements, 1904, fig. 81; 1 in a single one.
const SAFETY_RATIO: [f64; 2] = [0.6, 1.0];
/// Guard freedom as a part of the total lock; guard < horn < total lock is required. Assumed.
const GUARD_OF_TOTAL_LOCK_RATIO: f64 = 0.4;
/// Horn freedom as a part of the total lock. Assumed.
const HORN_OF_TOTAL_LOCK_RATIO: f64 = 0.6;
/// Half the crescent of a single roller over the jewel's width, both as angles: 18 of 12 deg in all, Watch and Clock
/// Escapements, 1904, near figs. 61-63.
const SINGLE_CRESCENT_RATIO: f64 = 0.75;
/// Freedom of the guard in the crescent beyond what it needs, at each side. Assumed.
const CRESCENT_SPARE_DEG: f64 = 1.0;
/// Depth of the crescent over what the guard reaches into it. Assumed.
const CRESCENT_DEPTH_RATIO: f64 = 1.6;
/// Horn length in jewel widths: 1.5, Watch and Clock Escapements, 1904.
const HORN_OF_JEWEL_RATIO: f64 = 1.5;
/// Notch depth over jewel width. Assumed; only enough to free the jewel.
const NOTCH_DEPTH_RATIO: f64 = 1.1;
/// Where the bankings meet the bar, as a part of the fork length. Assumed.
const BANKING_AT_RATIO: f64 = 0.6;
/// Impulse roller over jewel distance: its edge lies just outside the jewel of a double roller. Assumed.
const ROLLER_RATIO: f64 = 1.15;

/// Closes fork, roller, guard and bankings; the let-offs are `eps` of the theory notes.
pub(crate) fn close_fork(
    movement: &mut Movement,
    entry_let_off_eps: f64,
    exit_let_off_eps: f64,
) -> Result<(), Vec<Diagnostic>> {
    let mut faults = Vec::new();
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
    let single = movement.si(K::RollerForm) as usize;
    pair(
        movement,
        K::RollerSafetyRatio.once(),
        K::RollerSafetyRadius.once(),
        SAFETY_RATIO[single],
        |q| q * jewel_m,
        |r| r / jewel_m,
        &mut faults,
    );
    otherwise(movement, K::GuardForm, single as f64);
    otherwise(
        movement,
        K::RollerRadius,
        if single == 1 { movement.si(K::RollerSafetyRadius) } else { ROLLER_RATIO * jewel_m },
    );
    otherwise(movement, K::ForkNotchDepth, NOTCH_DEPTH_RATIO * width_m);
    otherwise(movement, K::ForkHornLength, HORN_OF_JEWEL_RATIO * width_m);
    otherwise(movement, K::BankingsDistance, BANKING_AT_RATIO * movement.si(K::ForkLength));

    // Guard: its round tip touches the safety roller when the lever is `freedom` off its banking.
    let banked = movement
        .values()
        .get(K::BankingLeverAngle.at(Pallet::Entry))
        .zip(movement.values().get(K::BankingLeverAngle.at(Pallet::Exit)));
    let banked_rad = banked.map_or(f64::NAN, |(e, x)| 0.5 * (e + x));
    let freedom_rad = GUARD_OF_TOTAL_LOCK_RATIO * least_lock_rad;
    let safety_m = movement.si(K::RollerSafetyRadius);
    let (tip_m, inside_m) = guard_tip(movement);
    pair(
        movement,
        K::GuardFreedom.once(),
        K::GuardReach.once(),
        freedom_rad,
        |freedom| {
            // Smaller root x of x² − 2 x D cos(banked − freedom) + D² − (rg + tip)² = 0, to the tip's centre.
            let half = centres_m * (banked_rad - freedom).cos();
            half - (half * half - centres_m * centres_m + (safety_m + tip_m).powi(2)).sqrt() + inside_m
        },
        |reach| {
            let x = reach - inside_m;
            banked_rad - ((x * x + centres_m * centres_m - (safety_m + tip_m).powi(2)) / (2.0 * x * centres_m)).acos()
        },
        &mut faults,
    );
    if !faults.is_empty() {
        return Err(faults);
    }
    let reach_m = movement.si(K::GuardReach);
    // Dart over the roller's edge at the banking: it stands eta from the line of centres, seen from the balance.
    let eta_rad =
        std::f64::consts::PI - banked_rad - (std::f64::consts::PI - (centres_m * banked_rad.sin() / safety_m).asin());
    let own_rad = (0.5 * movement.si(K::GuardWidth) / safety_m).atan();
    let mut crescent_rad = (eta_rad - half_lift_rad).max(0.0) + own_rad + CRESCENT_SPARE_DEG.to_radians();
    if single == 1 {
        crescent_rad = crescent_rad.max(SINGLE_CRESCENT_RATIO * movement.si(K::JewelWidthAngle));
    }
    otherwise(movement, K::RollerCrescent, if crescent_rad.is_finite() { crescent_rad } else { 2.0 * own_rad });
    // Deeper than the guard reaches in, and than the crescent is hollow; short of the staff.
    let into_m = reach_m + safety_m - centres_m;
    let sagitta_m = safety_m * (1.0 - movement.si(K::RollerCrescent).cos());
    let depth_m = (CRESCENT_DEPTH_RATIO * into_m).max(1.1 * sagitta_m).min(0.9 * safety_m);
    otherwise(movement, K::RollerCrescentDepth, depth_m);
    Ok(())
}

/// A default value, where nothing is stated.
fn otherwise(movement: &mut Movement, kind: K, si: f64) {
    if movement.get(kind.once()).is_none() {
        movement.set(kind.once(), si, Origin::Default);
    }
}

/// Radius of the guard's tip, and how far its centre lies behind the reach.
fn guard_tip(movement: &Movement) -> (f64, f64) {
    let tip_m = if movement.word(K::GuardForm) == "pin" {
        0.5 * movement.si(K::GuardWidth)
    } else {
        movement.si(K::GuardTipRound)
    };
    (tip_m, tip_m)
}
