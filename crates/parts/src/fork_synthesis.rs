//! Fork, roller, guard, jewel and bankings from whatever was stated.

use movement::{Diagnostic, Movement, Origin, Pallet, ParamId, ParamKind as K};

use crate::build::{exactly, shown};
use crate::closing::{Equation, close};

/// Balance lift of present lever watches, mostly 48 to 54 deg. Common practice, no source.
const BALANCE_LIFT_DEG: f64 = 50.0;
/// Pallet to balance over wheel to pallet centre distance. Assumed; any value draws.
const BALANCE_OVER_WHEEL_RATIO: f64 = 1.2;
/// Run. Common practice 0.25 to 0.5 deg of lever, no source.
const RUN_DEG: f64 = 0.25;
/// Jewel width as a part of the balance lift: 12 of 30 deg in Watch and Clock Escapements, 1904, fig. 56.
const JEWEL_OF_LIFT_RATIO: f64 = 0.4;
/// Notch freedom as a part of the jewel's width. Assumed.
const NOTCH_FREEDOM_RATIO: f64 = 0.03;
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

/// The unknowns of the fork, lengths as ratios of the pallet-balance distance guess: D, l, r, half the balance lift.
#[derive(Clone, Copy)]
enum ForkQuantity {
    Centres,
    Fork,
    Jewel,
    Ratio,
    HalfLift,
    /// l sin a − r sin b = 0
    Abreast,
    /// l cos a + r cos b − D = 0
    Reach,
}

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
    let half_travel_rad = 0.5 * (entry_let_off_eps - exit_let_off_eps);
    close_ratio(movement, half_travel_rad, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }

    let jewel_m = movement.si(K::RollerJewelDistance);
    let centres_m = movement.si(K::CentresPalletBalance);
    let half_lift_rad = 0.5 * movement.si(K::BalanceLift);
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
    let otherwise = |movement: &mut Movement, kind: K, si: f64| {
        if movement.get(kind.once()).is_none() {
            movement.set(kind.once(), si, Origin::Default);
        }
    };
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
    let total_lock_rad = Pallet::BOTH.map(|p| movement.si_at(K::PalletLock, p) + movement.si_at(K::BankingRun, p));
    let least_lock_rad = total_lock_rad[0].min(total_lock_rad[1]).max(0.0);
    let freedom_rad = GUARD_OF_TOTAL_LOCK_RATIO * least_lock_rad;
    otherwise(movement, K::ForkHornFreedom, HORN_OF_TOTAL_LOCK_RATIO * least_lock_rad);
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

/// Radius of the guard's tip, and how far its centre lies behind the reach.
fn guard_tip(movement: &Movement) -> (f64, f64) {
    let tip_m = if movement.word(K::GuardForm) == "pin" {
        0.5 * movement.si(K::GuardWidth)
    } else {
        movement.si(K::GuardTipRound)
    };
    (tip_m, tip_m)
}

/// Centre distance, fork length, jewel distance and balance lift: two statements close them.
fn close_ratio(movement: &mut Movement, half_travel_rad: f64, faults: &mut Vec<Diagnostic>) {
    use ForkQuantity as Q;
    let scale_m = BALANCE_OVER_WHEEL_RATIO * movement.si(K::CentresWheelPallet);
    let stated: [(K, Q, f64); 5] = [
        (K::BalanceLift, Q::HalfLift, 2.0),
        (K::ForkRatioOfRadii, Q::Ratio, 1.0),
        (K::CentresPalletBalance, Q::Centres, scale_m),
        (K::RollerJewelDistance, Q::Jewel, scale_m),
        (K::ForkLength, Q::Fork, scale_m),
    ];
    let mut equations = Vec::with_capacity(9);
    let mut reported = Vec::with_capacity(5);
    // The two that make a fork of the four come first: they always hold.
    for quantity in [Q::Abreast, Q::Reach] {
        equations.push(Equation { quantity, wanted: 0.0, stated: true });
        reported.push(None);
    }
    for (kind, quantity, unit) in stated {
        if let Some((si, _)) = movement.get(kind.once()) {
            equations.push(Equation { quantity, wanted: si / unit, stated: true });
            reported.push(Some(kind.once()));
        }
    }
    equations.push(Equation { quantity: Q::HalfLift, wanted: 0.5 * BALANCE_LIFT_DEG.to_radians(), stated: false });
    equations.push(Equation { quantity: Q::Centres, wanted: 1.0, stated: false });
    let a = half_travel_rad;
    let value = |u: &[f64; 4], q: Q| match q {
        Q::Centres => u[0],
        Q::Fork => u[1],
        Q::Jewel => u[2],
        Q::HalfLift => u[3],
        Q::Ratio => u[1] / u[2],
        Q::Abreast => u[1] * a.sin() - u[2] * u[3].sin(),
        Q::Reach => u[1] * a.cos() + u[2] * u[3].cos() - u[0],
    };
    let si = |kind: K| movement.get(kind.once()).map(|(v, _)| v);
    let half_lift = si(K::BalanceLift)
        .map(|l| 0.5 * l)
        .or(si(K::ForkRatioOfRadii).map(|q| (q * a.sin()).asin()))
        .filter(|b| b.is_finite())
        .unwrap_or(0.5 * BALANCE_LIFT_DEG.to_radians());
    let ratio = half_lift.sin() / a.sin();
    let centres = si(K::CentresPalletBalance)
        .map(|d| d / scale_m)
        .or(si(K::ForkLength).map(|l| l / scale_m * (a.cos() + half_lift.cos() / ratio)))
        .or(si(K::RollerJewelDistance).map(|r| r / scale_m * (ratio * a.cos() + half_lift.cos())))
        .unwrap_or(1.0);
    let jewel = centres / (ratio * a.cos() + half_lift.cos());
    let guess = [centres, ratio * jewel, jewel, half_lift];
    let name = |i: usize| reported.get(i).copied().flatten();
    match close::<4, Q>(&equations, guess, value, |_| u32::MAX) {
        Ok(closed) => {
            for c in closed.clashes {
                let Some(id) = name(c.equation) else { continue };
                let unit = stated.iter().find(|s| s.0 == id.kind).map_or(1.0, |s| s.2);
                let wanted = equations[c.equation].wanted * unit;
                let others: Vec<String> = c.with.iter().filter_map(|&i| name(i)).map(|id| id.to_string()).collect();
                let mut d = Diagnostic::error(
                    "over-determined",
                    format!(
                        "{id} is stated as {}, but {} make it {} (residual {})",
                        exactly(id, wanted),
                        others.join(", "),
                        exactly(id, wanted + c.residual * unit),
                        exactly(id, c.residual * unit)
                    ),
                )
                .about(id)
                .value(exactly(id, wanted))
                .allowed(exactly(id, wanted + c.residual * unit))
                .hint(format!("leave out one of {id}, {}; it is then derived", others.join(", ")));
                for other in c.with.iter().filter_map(|&i| name(i)) {
                    d = d.about(other);
                }
                faults.push(d);
            }
            for (kind, quantity, unit) in stated {
                if movement.get(kind.once()).is_none() {
                    let by_default = matches!(kind, K::BalanceLift | K::CentresPalletBalance)
                        && (0..equations.len()).any(|i| {
                            !equations[i].stated
                                && closed.accepted[i]
                                && std::mem::discriminant(&equations[i].quantity) == std::mem::discriminant(&quantity)
                        });
                    let origin = if by_default { Origin::Default } else { Origin::Derived };
                    movement.set(kind.once(), value(&closed.unknowns, quantity) * unit, origin);
                }
            }
        }
        Err(e) => {
            let mut d = Diagnostic::error(
                "no-such-fork",
                format!(
                    "no fork and roller have these values together over a lever travel of {:.3} deg between the let-offs",
                    (2.0 * a).to_degrees()
                ),
            )
            .hint("state two of balance.lift_deg, fork.ratio_of_radii, fork.length_mm, roller.jewel_distance_mm, centres.pallet_balance_mm");
            for id in e.stated.iter().filter_map(|&i| name(i)) {
                d = d.about(id);
            }
            faults.push(d);
        }
    }
}

/// Two parameters that give one another: either may be stated; both must agree; neither takes the default of the first.
fn pair(
    movement: &mut Movement,
    first: ParamId,
    second: ParamId,
    first_otherwise: f64,
    to_second: impl Fn(f64) -> f64,
    to_first: impl Fn(f64) -> f64,
    faults: &mut Vec<Diagnostic>,
) {
    let stated = |id: ParamId| movement.get(id).map(|(v, _)| v);
    let (found, derived, origin) = match (stated(first), stated(second)) {
        (Some(a), Some(b)) if to_second(a).is_finite() => {
            let from_first = to_second(a);
            // Half the last digit of nine: what a person could have written.
            if (from_first - b).abs() <= 1e-9 * b.abs().max(1e-3) {
                return;
            }
            faults.push(
                Diagnostic::error(
                    "over-determined",
                    format!(
                        "{second} is stated as {}, but {first} makes it {} (residual {})",
                        exactly(second, b),
                        exactly(second, from_first),
                        exactly(second, from_first - b)
                    ),
                )
                .about(second)
                .about(first)
                .value(exactly(second, b))
                .allowed(exactly(second, from_first))
                .hint(format!("leave out {first} or {second}; it is then derived")),
            );
            return;
        }
        (Some(a), _) => (second, to_second(a), Origin::Derived),
        (None, Some(b)) => (first, to_first(b), Origin::Derived),
        (None, None) => {
            movement.set(first, first_otherwise, Origin::Default);
            (second, to_second(first_otherwise), Origin::Derived)
        }
    };
    if derived.is_finite() {
        movement.set(found, derived, origin);
        return;
    }
    let cause = if found == second { first } else { second };
    let value = movement.get(cause).map_or(f64::NAN, |(v, _)| v);
    faults.push(
        Diagnostic::error("no-such-part", format!("no {found} goes with {cause} = {}", shown(cause, value)))
            .about(cause)
            .value(shown(cause, value))
            .hint(format!("{}; {}", cause.param().definition, found.param().definition)),
    );
}
