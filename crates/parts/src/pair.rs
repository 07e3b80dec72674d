//! Two parameters that give one another.

use movement::{Diagnostic, Movement, Origin, ParamId};

use crate::build::{exactly, shown};
use crate::explain::{listed, roughly};

/// Whether a value agrees with the one stated: within half the last digit of nine, what a person could have written.
pub(crate) fn agrees(made: f64, stated: f64) -> bool {
    (made - stated).abs() <= 1e-9 * stated.abs().max(1e-3)
}

/// A stated value `is` that others, `with`, make `made`.
pub(crate) fn over_determined(
    id: ParamId,
    is: f64,
    made: f64,
    with: &[ParamId],
    stated: impl Fn(ParamId) -> Option<f64>,
) -> Diagnostic {
    let all: Vec<ParamId> = [id].into_iter().chain(with.iter().copied()).collect();
    let message = format!(
        "these cannot all be stated: {}; with the others kept, {id} would have to be {} (off by {})",
        listed(&all, stated),
        exactly(id, made),
        roughly(id, (made - is).abs()),
    );
    let fault = Diagnostic::error("over-determined", message)
        .value(exactly(id, is))
        .allowed(exactly(id, made))
        .hint("leave out one of them; it is then derived");
    all.into_iter().fold(fault, Diagnostic::about)
}

/// Two parameters that give one another: either may be stated; both must agree; neither takes the default of the first.
pub(crate) fn pair(
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
            if agrees(from_first, b) {
                return;
            }
            faults.push(over_determined(second, b, from_first, &[first], stated));
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
            .hint(format!("change {cause}, or leave it out to have it follow from {found}")),
    );
}
