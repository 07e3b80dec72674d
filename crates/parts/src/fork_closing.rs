//! Centre distance, fork length, jewel distance and lift at the balance: two statements close them.

use movement::{Diagnostic, Movement, Origin, ParamId, ParamKind as K};

use crate::build::{exactly, shown};
use crate::closing::{Clash, Equation, close};
use crate::engagement::{Engagement, Radii};
use crate::pair::over_determined;

/// Lift at the balance of present lever watches, mostly 48 to 54 deg. Common practice, no source.
const BALANCE_LIFT_DEG: f64 = 50.0;
/// Pallet to balance over wheel to pallet centre distance. Assumed; any value draws.
const BALANCE_OVER_WHEEL_RATIO: f64 = 1.2;

/// The unknowns are D, l and r as ratios of the centre distance's default, and half the balance lift of the radii.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Quantity {
    Centres,
    Fork,
    Jewel,
    Ratio,
    /// Half the lift of the radii.
    HalfLift,
    /// Half the lift by contact.
    Contact,
    /// l sin a − r sin b = 0
    Abreast,
    /// l cos a + r cos b − D = 0
    Reach,
}
use Quantity as Q;

/// Closes the fork over half the lever's travel between the let-offs. `engagement` gives the lift by contact.
pub(crate) fn close_ratio(
    movement: &mut Movement,
    half_travel_rad: f64,
    engagement: &Engagement,
    faults: &mut Vec<Diagnostic>,
) {
    let a = half_travel_rad;
    let scale_m = BALANCE_OVER_WHEEL_RATIO * movement.si(K::CentresWheelPallet);
    let rows: [(K, Q, f64); 6] = [
        (K::BalanceLift, Q::Contact, 2.0),
        (K::BalanceLiftOfRadii, Q::HalfLift, 2.0),
        (K::ForkRatioOfRadii, Q::Ratio, 1.0),
        (K::CentresPalletBalance, Q::Centres, scale_m),
        (K::RollerJewelDistance, Q::Jewel, scale_m),
        (K::ForkLength, Q::Fork, scale_m),
    ];
    let si = |kind: K| movement.get(kind.once()).map(|(v, _)| v);
    let radii = |u: &[f64; 4]| Radii { centres_m: u[0] * scale_m, jewel_m: u[2] * scale_m, half_lift_rad: u[3] };
    let value = |u: &[f64; 4], q: Q| match q {
        Q::Centres => u[0],
        Q::Fork => u[1],
        Q::Jewel => u[2],
        Q::HalfLift => u[3],
        Q::Ratio => u[1] / u[2],
        Q::Abreast => u[1] * a.sin() - u[2] * u[3].sin(),
        Q::Reach => u[1] * a.cos() + u[2] * u[3].cos() - u[0],
        Q::Contact => 0.5 * engagement.lift_rad(&radii(u)),
    };

    // Begun from a fork of the lift of the radii, with what is stated of its size.
    let begun = |half_lift_rad: f64| {
        let ratio = half_lift_rad.sin() / a.sin();
        let centres = si(K::CentresPalletBalance)
            .map(|d| d / scale_m)
            .or(si(K::ForkLength).map(|l| l / scale_m * (a.cos() + half_lift_rad.cos() / ratio)))
            .or(si(K::RollerJewelDistance).map(|r| r / scale_m * (ratio * a.cos() + half_lift_rad.cos())))
            .unwrap_or(1.0);
        let jewel = centres / (ratio * a.cos() + half_lift_rad.cos());
        [centres, ratio * jewel, jewel, half_lift_rad]
    };
    let of_radii = si(K::BalanceLiftOfRadii)
        .map(|l| 0.5 * l)
        .or(si(K::ForkRatioOfRadii).map(|q| (q * a.sin()).asin()))
        .filter(|b| b.is_finite());
    let wanted_rad = si(K::BalanceLift).unwrap_or(BALANCE_LIFT_DEG.to_radians());
    let half_lift_rad = of_radii.unwrap_or_else(|| {
        // What freedom and run change of the lift hardly depends on the radii.
        let off_rad = value(&begun(0.5 * wanted_rad), Q::Contact) - 0.5 * wanted_rad;
        0.5 * wanted_rad - if off_rad.abs() < 0.25 * wanted_rad { off_rad } else { 0.0 }
    });

    let mut equations = Vec::with_capacity(12);
    let mut reported: Vec<Option<ParamId>> = Vec::with_capacity(9);
    let always = |quantity, wanted| Equation { quantity, wanted, stated: true };
    // The two that make a fork of the four come first: they always hold.
    equations.extend([always(Q::Abreast, 0.0), always(Q::Reach, 0.0)]);
    // Angles alone give no size: it is then the default, before angles that freedoms stated as lengths would size by.
    let sized = [K::CentresPalletBalance, K::RollerJewelDistance, K::ForkLength].into_iter().any(|k| si(k).is_some());
    if !sized {
        equations.push(always(Q::Centres, 1.0));
    }
    reported.resize(equations.len(), None);
    for (kind, quantity, unit) in rows {
        if let Some(si) = si(kind) {
            equations.push(Equation { quantity, wanted: si / unit, stated: true });
            reported.push(Some(kind.once()));
        }
    }
    let default = |quantity, wanted| Equation { quantity, wanted, stated: false };
    let half_default_rad = 0.5 * BALANCE_LIFT_DEG.to_radians();
    // Where the jewel meets no notch there is no lift by contact, and the parts show why.
    equations.extend([default(Q::Contact, half_default_rad), default(Q::HalfLift, half_default_rad)]);
    equations.push(default(Q::Centres, 1.0));

    // Every degree of half a lift of the radii, as far as a fork longer than its roller and a right angle let it go.
    let lifts = || {
        (1..90)
            .map(|deg| f64::from(deg).to_radians())
            .filter(|half_rad| *half_rad > a)
            .map(|half_rad| 2.0 * value(&begun(half_rad), Q::Contact))
            .filter(|lift| lift.is_finite() && *lift > 0.0)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), lift| (least.min(lift), most.max(lift)))
    };
    let name = |i: usize| reported.get(i).copied().flatten();
    let depends = |q: Q| match q {
        Q::Centres => 0b0001,
        Q::Fork => 0b0010,
        Q::Jewel => 0b0100,
        Q::HalfLift => 0b1000,
        Q::Ratio => 0b0110,
        Q::Abreast => 0b1110,
        Q::Reach => 0b1111,
        Q::Contact => 0b1101,
    };
    match close::<4, Q>(&equations, begun(half_lift_rad), value, depends) {
        Ok(closed) => {
            let unit_of = |id: ParamId| rows.iter().find(|row| row.0 == id.kind).map_or(1.0, |row| row.2);
            for clash in &closed.clashes {
                let Some(id) = name(clash.equation) else { continue };
                // A lift that nothing fixes and that yet does not come: the jewel does not meet the notch near it.
                let free = clash.residual.is_nan() || !clash.with.iter().any(|&i| name(i).is_some());
                faults.push(if id == K::BalanceLift.once() && free {
                    no_such_lift(wanted_rad, lifts(), &[])
                } else {
                    let stated = |id: ParamId| movement.get(id).map(|(v, _)| v);
                    clashing(id, clash, unit_of(id), equations[clash.equation].wanted, name, stated)
                });
            }
            for (kind, quantity, unit) in rows {
                let found = value(&closed.unknowns, quantity) * unit;
                if movement.get(kind.once()).is_some() || !found.is_finite() {
                    continue;
                }
                let by_default = match kind {
                    K::CentresPalletBalance => !sized,
                    _ => (0..equations.len())
                        .any(|i| !equations[i].stated && closed.accepted[i] && equations[i].quantity == quantity),
                };
                let origin = if by_default { Origin::Default } else { Origin::Derived };
                movement.set(kind.once(), found, origin);
            }
        }
        Err(e) => {
            let stated: Vec<ParamId> = e.stated.iter().filter_map(|&i| name(i)).collect();
            let angles = [K::BalanceLiftOfRadii, K::ForkRatioOfRadii];
            let asked = si(K::BalanceLift).is_some() || !angles.into_iter().any(|k| si(k).is_some());
            let (least, most) = lifts();
            faults.push(if asked && !(least..=most).contains(&wanted_rad) {
                no_such_lift(wanted_rad, (least, most), &stated)
            } else {
                not_closed(&stated, a)
            });
        }
    }
}

/// A stated value that others already fix.
fn clashing(
    id: ParamId,
    clash: &Clash,
    unit: f64,
    wanted: f64,
    name: impl Fn(usize) -> Option<ParamId>,
    stated: impl Fn(ParamId) -> Option<f64>,
) -> Diagnostic {
    let with: Vec<ParamId> = clash.with.iter().filter_map(|&i| name(i)).collect();
    over_determined(id, wanted * unit, (wanted + clash.residual) * unit, &with, stated)
}

/// A lift at the balance that no fork of this size has, and those that one has.
fn no_such_lift(wanted_rad: f64, (least_rad, most_rad): (f64, f64), stated: &[ParamId]) -> Diagnostic {
    let lift = K::BalanceLift.once();
    let (why, allowed, hint) = if least_rad <= most_rad {
        (
            "no fork with this jewel, notch and run gives",
            format!("about {} to {} with the rest as it is", shown(lift, least_rad), shown(lift, most_rad)),
            "state a lift in that range, a smaller fork.notch_freedom_mm, or another run",
        )
    } else {
        (
            "with this jewel, notch and lever the jewel never meets the notch; no fork gives",
            "no lift with the rest as it is".to_owned(),
            "bring the lever into angle, or state a narrower notch, another jewel width, or a larger distance of the jewel",
        )
    };
    let d = Diagnostic::error("no-such-fork", format!("{why} a lift at the balance of {}", exactly(lift, wanted_rad)))
        .about(lift)
        .value(exactly(lift, wanted_rad))
        .allowed(allowed)
        .hint(hint);
    stated.iter().filter(|id| **id != lift).fold(d, |d, id| d.about(*id))
}

/// No fork with what is stated.
fn not_closed(stated: &[ParamId], half_travel_rad: f64) -> Diagnostic {
    let d = Diagnostic::error(
        "no-such-fork",
        format!(
            "no fork and roller have these values together over a lever travel of {:.3} deg between the let-offs",
            (2.0 * half_travel_rad).to_degrees()
        ),
    )
    .hint("state two of balance.lift_deg, balance.lift_of_radii_deg, fork.ratio_of_radii, fork.length_mm, roller.jewel_distance_mm, centres.pallet_balance_mm");
    let d = if stated.is_empty() { d.about(K::BalanceLift.once()) } else { d };
    stated.iter().fold(d, |d, id| d.about(*id))
}
