//! Stage 2: from what is stated to a closed movement and its parts.

use movement::{Diagnostic, IfUnstated, Movement, Origin, Pallet, ParamId, ParamKind as K, Unit, Values};

use crate::fork_synthesis::close_fork;
use crate::pallet_synthesis::close_pallets;
use crate::parts::Parts;

/// A movement that was closed, its parts, and what is worth saying about its statements.
#[derive(Clone, Debug)]
pub struct Build {
    /// Every parameter with its value and origin.
    pub movement: Movement,
    /// The parts, drawn.
    pub parts: Parts,
    /// Notes and warnings about the statements; never errors.
    pub notes: Vec<Diagnostic>,
}

/// Closes the statement `stated` and draws its parts.
///
/// # Errors
/// Every fault found, as diagnostics about parameters: needed values missing, over-determined statements with their
/// residual, statements that no parts can satisfy, corners that do not fit their faces.
///
/// # Examples
/// ```
/// use movement::{ParamKind, Values};
/// let mut stated = Values::default();
/// stated.set(ParamKind::WheelToothCount.once(), 15.0);
/// stated.set(ParamKind::WheelLockingRadius.once(), 2.5e-3);
/// let build = parts::build(&stated).expect("sound");
/// // Tangential planting: C = R / cos 30 deg.
/// assert!((build.movement.si(ParamKind::CentresWheelPallet) - 2.886_751e-3).abs() < 1e-9);
/// ```
pub fn build(stated: &Values) -> Result<Build, Vec<Diagnostic>> {
    let mut movement = Movement::from_stated(stated);
    let mut notes = Vec::new();
    plant(&mut movement)?;
    fill_defaults(&mut movement);
    let drawn = close_pallets(&mut movement, &mut notes)?;
    close_fork(&mut movement, drawn.let_off_rad(Pallet::Entry), drawn.let_off_rad(Pallet::Exit))?;
    let parts = Parts::draw(&movement)?;
    Ok(Build { movement, parts, notes })
}

/// Counts, toe radius and centre distance: one of the two lengths gives the other by tangential planting.
fn plant(movement: &mut Movement) -> Result<(), Vec<Diagnostic>> {
    let missing = |id: ParamId, hint: &str| {
        vec![Diagnostic::error("missing", format!("{id} is needed: {}", id.param().definition)).about(id).hint(hint)]
    };
    let Some((teeth, _)) = movement.get(K::WheelToothCount.once()) else {
        return Err(missing(K::WheelToothCount.once(), "state it, for example tooth_count = 15 in [wheel]"));
    };
    let spaces = movement.get(K::PalletsSpacesSpanned.once()).map_or(2.5, |(k, _)| k);
    let half_span_rad = std::f64::consts::PI * spaces / teeth;
    // Below a quarter turn the tangents at the two lockings meet on the line of centres.
    if half_span_rad >= 0.48 * std::f64::consts::PI || half_span_rad <= 0.0 {
        let largest = (0.48 * teeth - 0.5).floor() + 0.5;
        return Err(vec![
            Diagnostic::error(
                "no-such-planting",
                format!("pallets spanning {spaces} spaces of {teeth} teeth do not fit the wheel"),
            )
            .about(K::PalletsSpacesSpanned.once())
            .about(K::WheelToothCount.once())
            .value(format!("{spaces} spaces"))
            .allowed(format!("0.5 to {largest} spaces with {teeth} teeth"))
            .hint("span fewer spaces, or use a wheel of more teeth"),
        ]);
    }
    let radius = movement.get(K::WheelLockingRadius.once()).map(|(r, _)| r);
    let centres = movement.get(K::CentresWheelPallet.once()).map(|(c, _)| c);
    match (radius, centres) {
        (None, None) => {
            return Err(missing(
                K::WheelLockingRadius.once(),
                "state it, or centres.wheel_pallet_mm; the other then follows by tangential planting",
            ));
        }
        (Some(r), None) => movement.set(K::CentresWheelPallet.once(), r / half_span_rad.cos(), Origin::Derived),
        (None, Some(c)) => movement.set(K::WheelLockingRadius.once(), c * half_span_rad.cos(), Origin::Derived),
        (Some(_), Some(_)) => {}
    }
    Ok(())
}

/// Gives every unstated parameter that has a default of its own that value.
fn fill_defaults(movement: &mut Movement) {
    let radius_m = movement.si(K::WheelLockingRadius);
    for id in ParamId::dense() {
        if movement.get(id).is_some() {
            continue;
        }
        match id.param().default {
            IfUnstated::Value(value) => movement.set(id, id.param().unit.to_si(value), Origin::Default),
            IfUnstated::OfWheel(ratio) => movement.set(id, ratio * radius_m, Origin::Default),
            IfUnstated::Closed | IfUnstated::Needed | IfUnstated::Absent => {}
        }
    }
}

/// A value as [`shown`], with all the digits that decide whether two statements agree.
pub(crate) fn exactly(id: ParamId, si: f64) -> String {
    let unit: Unit = id.param().unit;
    let digits = format!("{:.9}", unit.from_si(si));
    let digits = digits.trim_end_matches('0').trim_end_matches('.');
    let digits = if digits == "-0" { "0" } else { digits };
    format!("{digits} {}", unit.sign()).trim_end().to_owned()
}

/// A value in the unit of its row, with the unit's sign, for messages.
pub(crate) fn shown(id: ParamId, si: f64) -> String {
    let unit: Unit = id.param().unit;
    format!("{:.4} {}", unit.from_si(si), unit.sign()).trim_end().to_owned()
}
