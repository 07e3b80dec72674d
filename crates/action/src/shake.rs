//! Sideshake: the axes displaced by half the freedom of their pivots, in every combination.

use movement::{Movement, ParamKind as K};
use parts::Parts;
use plane::Vector;

/// Number of places an axis is put: the middle, and half its freedom to each side along and across the line of centres,
/// and both together.
const PLACES: usize = 9;

/// Displacements of the three axes to be tried.
#[derive(Clone, Debug)]
pub struct Sideshake {
    half_m: [f64; 3],
}

impl Sideshake {
    /// The freedoms stated in a movement; `None` when it has none.
    pub fn of(movement: &Movement) -> Option<Sideshake> {
        let half_m = [K::WheelSideshake, K::PalletSideshake, K::BalanceSideshake].map(|k| 0.5 * movement.si(k));
        half_m.iter().any(|h| *h > 0.0).then_some(Sideshake { half_m })
    }

    /// How many combinations there are. An axis without freedom has one place.
    pub fn count(&self) -> usize {
        self.half_m.iter().map(|h| if *h > 0.0 { PLACES } else { 1 }).product()
    }

    /// Displacements of wheel, pallet and balance axis in combination `index`: across (to the right) and along (away
    /// from the wheel). Combination 0 is the middle of all three.
    pub fn places_m(&self, index: usize) -> [Vector; 3] {
        let mut rest = index;
        self.half_m.map(|half_m| {
            if half_m == 0.0 {
                return Vector::zeros();
            }
            let place = rest % PLACES;
            rest /= PLACES;
            // 0 is the middle; then the eight around it.
            let step = |i: usize| [0.0, 1.0, -1.0][i];
            Vector::new(half_m * step(place % 3), half_m * step(place / 3))
        })
    }

    /// The parts with their axes displaced as in combination `index`.
    pub fn displaced(&self, parts: &Parts, index: usize) -> Parts {
        let [wheel, pallet, balance] = self.places_m(index);
        let mut moved = parts.clone();
        moved.centres.wheel_m += wheel;
        moved.centres.pallet_m += pallet;
        moved.centres.balance_m += balance;
        moved
    }
}
