//! Which moves at the bench a finding comes from: those whose undoing takes it away or makes it less.

use movement::{Movement, Origin, ParamId, Role};
use parts::Parts;

use crate::action::{Action, solve};
use crate::curve::Scratch;
use crate::finding::{Finding, findings, graver};

/// Part of a finding's excess that the undoing of a move must take away to count; a ratio, chosen well above rounding.
const COUNTS_RATIO: f64 = 0.01;

/// Puts, in the list of what moves each finding, first what was moved in this movement and brought the finding about: each
/// move is undone by itself and the action solved again. The move whose undoing leaves the least comes first.
///
/// `parts` are those of `movement`, their axes displaced or not; `found` is what was found with them.
///
/// # Properties
/// Whatever is moved alone in a sound movement stands first in everything that is found then.
pub fn moved_first(movement: &Movement, parts: &Parts, action: &Action, found: &mut [Finding], scratch: &mut Scratch) {
    let moves = movement.values().iter().filter(|(id, si)| id.param().role == Role::Bench && *si != 0.0);
    let moves: Vec<ParamId> = moves.map(|(id, _)| id).collect();
    if found.is_empty() || moves.is_empty() {
        return;
    }
    let Ok(planted) = Parts::draw(movement) else { return };
    let mut left: Vec<Vec<(f64, ParamId)>> = vec![Vec::new(); found.len()];
    for id in moves {
        let mut undone = movement.clone();
        undone.set(id, 0.0, Origin::Default);
        let Ok(mut without) = Parts::draw(&undone) else { continue };
        without.centres.wheel_m += parts.centres.wheel_m - planted.centres.wheel_m;
        without.centres.pallet_m += parts.centres.pallet_m - planted.centres.pallet_m;
        without.centres.balance_m += parts.centres.balance_m - planted.centres.balance_m;
        let after = solve(&without, scratch);
        if after.broken.is_some() && action.broken.is_none() {
            continue;
        }
        let still = findings(&without, &after);
        for (f, left) in found.iter().zip(&mut left) {
            // What is new and graver may only hide it.
            let hides = |g: &Finding| !graver(f, g) && !found.iter().any(|f| same(f, g));
            if action.broken.is_none() && still.iter().any(hides) {
                continue;
            }
            let excess = still.iter().find(|g| same(f, g)).map_or(0.0, |g| g.excess_ratio);
            if excess <= (1.0 - COUNTS_RATIO) * f.excess_ratio {
                left.push((excess, id));
            }
        }
    }
    for (f, mut left) in found.iter_mut().zip(left) {
        left.sort_by(|a, b| a.0.total_cmp(&b.0));
        let first: Vec<ParamId> = left.into_iter().map(|(_, id)| id).collect();
        let others = f.moved_by.iter().copied().filter(|id| !first.contains(id));
        f.moved_by = first.iter().copied().chain(others).collect();
    }
}

/// Whether both are the same thing found.
fn same(f: &Finding, g: &Finding) -> bool {
    (f.code, f.pallet, f.figure) == (g.code, g.pallet, g.figure)
}
