//! Guard, safety roller and crescent from whatever was stated.

use movement::{Diagnostic, Movement, Pallet, ParamKind as K};

use crate::build::{exactly, shown};
use crate::fork_synthesis::otherwise;
use crate::pair::pair;
use crate::passage::Passage;

/// Safety over jewel radius in a double roller: implied by Watch and Clock Escapements, 1904, fig. 81.
const DOUBLE_SAFETY_RATIO: f64 = 0.6;
/// Room between the floor of the notch and the pin of a single roller behind it, over the pin's width. Assumed.
const PIN_ROOM_RATIO: f64 = 0.1;
/// Guard freedom as a part of the total lock; guard < horn < total lock is required. Assumed.
const GUARD_OF_TOTAL_LOCK_RATIO: f64 = 0.4;
/// Half the crescent of a single roller over the jewel's width, both as angles: 18 of 12 deg in all, Watch and Clock
/// Escapements, 1904, near figs. 61-63.
const SINGLE_CRESCENT_RATIO: f64 = 0.75;
/// Freedom of the guard in the crescent beyond what it needs, at each side: enough for a guard a hundredth of a
/// millimetre too long or bent. Assumed.
const CRESCENT_SPARE_DEG: f64 = 3.0;
/// Depth of the crescent over what the guard reaches into it. Assumed.
const CRESCENT_DEPTH_RATIO: f64 = 1.6;
/// Least depth of the crescent over the guard's width, for a guard that hardly reaches in. Assumed.
const CRESCENT_OF_GUARD_RATIO: f64 = 0.1;
/// Impulse roller over jewel distance: its edge lies just outside the jewel of a double roller. Assumed.
const ROLLER_RATIO: f64 = 1.15;

/// A guard with a round tip and the edge it touches.
struct Tip {
    centres_m: f64,
    /// Radius of the tip.
    tip_m: f64,
    /// Mean lever angle at the bankings.
    banked_rad: f64,
}

impl Tip {
    /// Reach of the guard that touches a roller of radius `safety_m` with the lever `freedom_rad` off its banking.
    fn reach_m(&self, safety_m: f64, freedom_rad: f64) -> f64 {
        // Smaller root x of x² − 2 x D cos(banked − freedom) + D² − (rg + tip)² = 0, to the tip's centre.
        let half = self.centres_m * (self.banked_rad - freedom_rad).cos();
        half - (half * half - self.centres_m * self.centres_m + (safety_m + self.tip_m).powi(2)).sqrt() + self.tip_m
    }

    /// Freedom of a guard of that reach; not a number where it never touches the roller.
    fn freedom_rad(&self, safety_m: f64, reach_m: f64) -> f64 {
        let (x, d) = (reach_m - self.tip_m, self.centres_m);
        self.banked_rad - ((x * x + d * d - (safety_m + self.tip_m).powi(2)) / (2.0 * x * d)).acos()
    }

    /// Radius of the roller that a guard of that reach touches with the lever `freedom_rad` off its banking.
    fn safety_m(&self, reach_m: f64, freedom_rad: f64) -> f64 {
        let (x, d) = (reach_m - self.tip_m, self.centres_m);
        (d * d + x * x - 2.0 * d * x * (self.banked_rad - freedom_rad).cos()).sqrt() - self.tip_m
    }

    /// Largest lever angle at which any guard touches the roller: at the tangent to its edge.
    fn tangent_rad(&self, safety_m: f64) -> f64 {
        ((safety_m + self.tip_m) / self.centres_m).min(1.0).asin()
    }
}

/// Closes guard and safety roller; the floor of the notch lies `floor_m` from the pallet centre.
pub(crate) fn close_guard(movement: &mut Movement, floor_m: f64, least_lock_rad: f64) -> Result<(), Vec<Diagnostic>> {
    let mut faults = Vec::new();
    let jewel_m = movement.si(K::RollerJewelDistance);
    let centres_m = movement.si(K::CentresPalletBalance);
    let single = movement.word(K::RollerForm) == "single";
    let pin = movement.word(K::GuardForm) == "pin";
    let width_m = movement.si(K::GuardWidth);
    let tip = Tip {
        centres_m,
        tip_m: if pin { 0.5 * width_m } else { movement.si(K::GuardTipRound) },
        banked_rad: 0.5 * Pallet::BOTH.map(|p| movement.si_at(K::BankingLeverAngle, p)).iter().sum::<f64>(),
    };
    let stated = |movement: &Movement, kind: K| movement.get(kind.once()).map(|(v, _)| v);
    let freedom_rad = stated(movement, K::GuardFreedom).unwrap_or(GUARD_OF_TOTAL_LOCK_RATIO * least_lock_rad);
    let behind_m = floor_m - PIN_ROOM_RATIO * width_m;
    // A single roller carries the jewel within its edge, so that guard and notch leave each other room.
    let behind_notch_m = tip.safety_m(stated(movement, K::GuardReach).unwrap_or(behind_m).min(behind_m), freedom_rad);
    let safety_m = if single && behind_notch_m > 0.0 { behind_notch_m } else { DOUBLE_SAFETY_RATIO * jewel_m };
    pair(
        movement,
        K::RollerSafetyRatio.once(),
        K::RollerSafetyRadius.once(),
        safety_m / jewel_m,
        |q| q * jewel_m,
        |r| r / jewel_m,
        &mut faults,
    );
    let safety_m = movement.si(K::RollerSafetyRadius);
    otherwise(movement, K::RollerRadius, if single { safety_m } else { ROLLER_RATIO * jewel_m });
    if let Some(fault) = untouched(movement, &tip, safety_m, freedom_rad) {
        faults.push(fault);
    } else {
        pair(
            movement,
            K::GuardFreedom.once(),
            K::GuardReach.once(),
            freedom_rad,
            |freedom| tip.reach_m(safety_m, freedom),
            |reach| tip.freedom_rad(safety_m, reach),
            &mut faults,
        );
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let reach_m = movement.si(K::GuardReach);
    if pin && reach_m > floor_m {
        return Err(vec![pin_in_notch(movement, floor_m, tip.safety_m(floor_m, movement.si(K::GuardFreedom)))]);
    }
    Ok(())
}

/// Closes the crescent of a roller whose guard is closed.
pub(crate) fn close_crescent(movement: &mut Movement, passage: &Passage<'_>) {
    let safety_m = movement.si(K::RollerSafetyRadius);
    // A guard that never stands over the roller's edge asks for none: any that draws.
    let need_rad = passage.crescent_rad().unwrap_or(0.0).max(0.0);
    let mut half_rad = need_rad + CRESCENT_SPARE_DEG.to_radians();
    if movement.word(K::RollerForm) == "single" {
        half_rad = half_rad.max(SINGLE_CRESCENT_RATIO * movement.si(K::JewelWidthAngle));
    }
    otherwise(movement, K::RollerCrescent, half_rad);
    // Deeper than the guard reaches in, and than the crescent is hollow; short of the staff.
    let into_m = movement.si(K::GuardReach) + safety_m - movement.si(K::CentresPalletBalance);
    let sagitta_m = safety_m * (1.0 - movement.si(K::RollerCrescent).cos());
    let least_m = (CRESCENT_OF_GUARD_RATIO * movement.si(K::GuardWidth)).max(1.1 * sagitta_m);
    let depth_m = (CRESCENT_DEPTH_RATIO * into_m).max(least_m).min(0.9 * safety_m);
    otherwise(movement, K::RollerCrescentDepth, depth_m);
}

/// A stated reach or freedom with which the guard never touches the roller, or a roller out of reach of any guard.
fn untouched(movement: &Movement, tip: &Tip, safety_m: f64, freedom_rad: f64) -> Option<Diagnostic> {
    let (reach, freedom) = (K::GuardReach.once(), K::GuardFreedom.once());
    // Off its banking, between the tangent to the roller's edge and the line of centres.
    let least_rad = (tip.banked_rad - tip.tangent_rad(safety_m)).max(0.0);
    let hint = "or give the safety roller another radius (roller.safety_radius_mm)";
    if let Some((value, _)) = movement.get(reach) {
        if tip.freedom_rad(safety_m, value).is_finite() {
            return None;
        }
        let (least_m, most_m) = (tip.reach_m(safety_m, tip.banked_rad), tip.reach_m(safety_m, least_rad));
        let most_m =
            if most_m.is_finite() { most_m } else { tip.centres_m * tip.tangent_rad(safety_m).cos() + tip.tip_m };
        let why = if value < least_m { "too short: it never touches" } else { "too long: it lies over the whole of" };
        return Some(
            Diagnostic::error("no-such-guard", format!("the guard is {why} the safety roller"))
                .about(reach)
                .about(K::RollerSafetyRadius.once())
                .value(exactly(reach, value))
                .allowed(format!("{} to {} with this roller", shown(reach, least_m), shown(reach, most_m)))
                .hint(format!("state a reach in that range, or guard.freedom_deg in its place, {hint}")),
        );
    }
    if tip.reach_m(safety_m, freedom_rad).is_finite() {
        return None;
    }
    let allowed = format!("{} to {} with this roller", shown(freedom, least_rad), shown(freedom, tip.banked_rad));
    Some(
        Diagnostic::error("no-such-guard", "with the lever so far out no guard touches so small a safety roller")
            .about(freedom)
            .about(K::RollerSafetyRadius.once())
            .value(exactly(freedom, freedom_rad))
            .allowed(allowed)
            .hint(format!("state a freedom in that range, a smaller run, {hint}")),
    )
}

/// An upright pin stands in the lever, so behind the notch.
fn pin_in_notch(movement: &Movement, floor_m: f64, safety_m: f64) -> Diagnostic {
    let (reach, form, safety) = (K::GuardReach.once(), K::GuardForm.once(), K::RollerSafetyRadius.once());
    let allowed = if safety_m > 0.0 {
        format!(
            "a reach up to {}, as with a safety roller of at least {}",
            shown(reach, floor_m),
            shown(safety, safety_m)
        )
    } else {
        format!("a reach up to {}", shown(reach, floor_m))
    };
    Diagnostic::error(
        "no-such-guard",
        "an upright guard pin would stand in the notch, in the way of the jewel: it has to stand behind the notch's floor",
    )
    .about(form)
    .about(reach)
    .about(K::RollerForm.once())
    .value(shown(reach, movement.si(K::GuardReach)))
    .allowed(allowed)
    .hint("state guard.form = \"dart\", or roller.form = \"single\", or a larger safety roller, or a notch less deep")
}
