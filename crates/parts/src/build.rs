//! Stage 2: from what is stated to a closed movement and its parts.

use movement::{Diagnostic, IfUnstated, Movement, Origin, Pallet, ParamId, ParamKind as K, Unit, Values};

use crate::explain::explained;
use crate::fork_synthesis::{close_fork, faults_without_pallets};
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
/// Every fault found, as diagnostics about parameters: needed values missing, statements of which
/// one is too many, with what each would have to be, statements that no parts can satisfy, with how far each could go,
/// values that would be derived beyond their ranges, corners that do not fit their faces.
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
    build_tersely(stated).map_err(|faults| explained(stated, faults))
}

/// As [`build`], but its faults say what is wrong only, not how far each value could go: for many runs, of which a
/// refused one costs no more than another.
///
/// # Errors
/// As [`build`], with the same codes.
pub fn build_tersely(stated: &Values) -> Result<Build, Vec<Diagnostic>> {
    let (movement, notes) = close(stated)?;
    let parts = Parts::draw(&movement)?;
    Ok(Build { movement, parts, notes })
}

/// The closed movement, and notes.
fn close(stated: &Values) -> Result<(Movement, Vec<Diagnostic>), Vec<Diagnostic>> {
    let mut movement = Movement::from_stated(stated);
    let mut notes = Vec::new();
    plant(&mut movement)?;
    fill_defaults(&mut movement);
    let placed = close_pallets(&mut movement, &mut notes).map_err(|mut faults| {
        faults.extend(faults_without_pallets(&movement));
        faults
    })?;
    close_fork(&mut movement, placed.let_off_rad(Pallet::Entry), placed.let_off_rad(Pallet::Exit), &mut notes)?;
    fill_followers(&mut movement);
    within_ranges(&movement)?;
    Ok((movement, notes))
}

/// Drop below 0 that may still come out of the closed forms, in degrees of the wheel. They leave out chamfers, which
/// make the drop larger. Assumed: more is never chamfered away.
const DROP_OF_CHAMFERS_DEG: f64 = 0.5;

/// That every value which is not stated, too, is one that could be.
pub(crate) fn within_ranges(movement: &Movement) -> Result<(), Vec<Diagnostic>> {
    let mut faults = Vec::new();
    for id in ParamId::dense() {
        let row = id.param();
        let Some((si, origin)) = movement.get(id).filter(|(_, origin)| *origin != Origin::Stated) else { continue };
        let edge = row.unit.from_si(si);
        // A value at the end of its range comes back a few ulp off.
        let ulps = 1e-12 * row.max.abs().max(row.min.abs());
        let least = match id.kind {
            K::PalletDrop => row.min - DROP_OF_CHAMFERS_DEG,
            // Guard and horn that foul are parts all the same; the action shows it.
            K::GuardFreedom | K::ForkHornFreedom => -row.max,
            _ => row.min - ulps,
        };
        if !(least..=row.max + ulps).contains(&edge) {
            let range = movement::allowed_text(row);
            let what = format!("{id} is not stated and would be {}, out of its range of {range}", shown(id, si));
            faults.push(
                Diagnostic::error("derived-out-of-range", what)
                    .about(id)
                    .value(format!("{} ({})", shown(id, si), origin.name()))
                    .allowed(range)
                    .hint("check the values stated against one another, or state this one"),
            );
        }
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
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
            IfUnstated::Of(..) | IfUnstated::Closed | IfUnstated::Needed | IfUnstated::Absent => {}
        }
    }
}

/// Gives every unstated parameter that follows from others, none of which a part is made by, its value: all others are
/// closed.
fn fill_followers(movement: &mut Movement) {
    let mut follow = Vec::new();
    for id in ParamId::dense().filter(|id| movement.get(*id).is_none()) {
        if let IfUnstated::Of(factor, powers, _) = id.param().default {
            follow.push((id, factor, powers));
        }
    }
    // What others follow from comes first.
    let is_known =
        |movement: &Movement, powers: &[(K, i32)]| powers.iter().all(|(k, _)| movement.get(k.once()).is_some());
    while let Some(at) = follow.iter().position(|&(_, _, powers)| is_known(movement, powers)) {
        let (id, factor, powers) = follow.swap_remove(at);
        let si = powers.iter().fold(factor, |product, &(kind, power)| product * movement.si(kind).powi(power));
        movement.set(id, si, Origin::Default);
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
