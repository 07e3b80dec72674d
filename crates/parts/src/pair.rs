//! Two parameters that give one another.

use movement::{Diagnostic, Movement, Origin, ParamId};

use crate::build::{exactly, shown};

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
            .hint(format!("change {cause}, or leave it out to have it follow from {found}")),
    );
}
