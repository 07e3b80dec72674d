//! The guard's passage through the crescent: how wide the crescent must be, and how long the horns.
//!
//! While the guard stands over the crescent only a horn keeps a jolt from unlocking. With the lever at the angle at which
//! the tooth unlocks, the horn's tip must still hold the jewel where the corner of the crescent already holds the guard.

use movement::{ByPallet, Movement, Pallet, ParamKind as K};
use plane::{Feature, Label, Pose, Round, Shape, Vector, features, polar, touches_of_pair};
use std::f64::consts::FRAC_PI_2;

use crate::engagement::{Engagement, Radii};
use crate::face::Face;
use crate::lever::guard_outline;

/// Balance angle over which both horn and guard hold. Assumed.
const OVERLAP_DEG: f64 = 2.0;
/// Jewel angle beyond which a usual horn need not hold. Assumed, short of the quarter turn within which jewel and fork meet.
const FARTHEST_DEG: f64 = 80.0;
/// Horn length over the usual one, at least. Assumed.
const LEAST_RATIO: f64 = 0.5;
/// The tip is looked for so often; each time the length is corrected by the way that is missing.
const MOST_TRIES: usize = 8;
/// Lever angles, as parts of that at which the guard meets the roller's edge, at which its passage is looked at. At the
/// first it has hardly entered; a guard asks for most room there, or soon after if it is wide.
const PASSING_RATIO: [f64; 4] = [0.99, 0.9, 0.75, 0.5];

/// Jewel, horns, guard and safety roller before any bench move, the fork on +y.
pub(crate) struct Passage<'a> {
    engagement: &'a Engagement,
    radii: &'a Radii,
    guard: Vec<Feature>,
    safety_m: f64,
    /// Magnitude of the lever angle at which the guard meets the full edge of the roller.
    met_rad: f64,
    /// Lever angles at which horn and guard have to hold together: at unlocking, and in the middle.
    held_rad: ByPallet<[f64; 2]>,
}

impl<'a> Passage<'a> {
    /// From a movement with its guard and safety radius closed.
    pub(crate) fn new(movement: &Movement, engagement: &'a Engagement, radii: &'a Radii) -> Passage<'a> {
        let banked_rad = |p: Pallet| movement.si_at(K::BankingLeverAngle, p);
        let outline = guard_outline(movement, movement.si(K::GuardReach));
        Passage {
            engagement,
            radii,
            // A tip that cannot be rounded is told where the guard is drawn.
            guard: outline.map_or(Vec::new(), |profile| features(&profile)),
            safety_m: movement.si(K::RollerSafetyRadius),
            // By the mean of the bankings, as the freedom is.
            met_rad: 0.5 * (banked_rad(Pallet::Entry) + banked_rad(Pallet::Exit)) - movement.si(K::GuardFreedom),
            held_rad: ByPallet::from_fn(|p| {
                let total_lock_rad = movement.si_at(K::PalletLock, p) + movement.si_at(K::BankingRun, p);
                [-p.outward() * (banked_rad(p) - total_lock_rad.max(0.0)), 0.0]
            }),
        }
    }

    /// Half the angle of the crescent through which the guard passes while the jewel is in the notch.
    pub(crate) fn crescent_rad(&self) -> Option<f64> {
        let (mouths, jewel) = (self.engagement.mouths(self.radii), self.engagement.jewel(self.radii));
        let mut widest_rad: Option<f64> = None;
        for &p in self.engagement.sides() {
            for part in PASSING_RATIO {
                let lever_rad = -p.outward() * part * self.met_rad;
                // The far side of the guard on the roller's edge, seen from the line of centres.
                let mut edge_rad = f64::NEG_INFINITY;
                self.guard_on_edge(0.0, lever_rad, |angle_rad, _| edge_rad = edge_rad.max(angle_rad * p.outward()));
                // The jewel on its way in, and on its way out to this side after the other pallet's impulse.
                let pressing_rad = -jewel.pressing_rad(&mouths, p, lever_rad);
                let driven_rad = jewel.driven_rad(&mouths, p.other(), lever_rad);
                let need_rad = edge_rad - pressing_rad.min(driven_rad);
                if need_rad.is_finite() && widest_rad.is_none_or(|w| need_rad > w) {
                    widest_rad = Some(need_rad);
                }
            }
        }
        widest_rad
    }

    /// Where a point of the roller's edge, at rest `from_rad` from the line of centres, touches the guard held at
    /// `lever_rad`: the turn, and whether turning on anticlockwise opens the touch.
    fn guard_on_edge(&self, from_rad: f64, lever_rad: f64, mut found: impl FnMut(f64, bool)) {
        let balance_m = Vector::new(0.0, self.radii.centres_m);
        let corner = point(balance_m + polar(self.safety_m, from_rad - FRAC_PI_2));
        let pose = Pose::new(lever_rad, Vector::zeros());
        for feature in &self.guard {
            touches_of_pair::<true>(&corner, balance_m, &feature.posed(&pose), |t| {
                found(t.angle_rad, t.opening > 0.0);
            });
        }
    }

    /// The length `usual_m`, or what more the horns need with a crescent of half the angle `crescent_rad`.
    pub(crate) fn horn_length_m(&self, usual_m: f64, crescent_rad: f64) -> f64 {
        let mut length_m = usual_m;
        let reach_m = self.engagement.jewel_reach_m(self.radii);
        for p in Pallet::BOTH {
            // A wide jewel of a large lift would be met by the usual horn where the guard has long held.
            let tip = self.tip_m(p, self.held_rad[p][0], usual_m) - Vector::new(0.0, self.radii.centres_m);
            let half_rad = (0.5 * self.engagement.jewel_width_m(self.radii) / self.radii.jewel_m).min(1.0).asin();
            let beyond_rad = tip.x.abs().atan2(-tip.y) + half_rad - FARTHEST_DEG.to_radians();
            length_m = length_m.min((usual_m - beyond_rad.max(0.0) * reach_m).max(LEAST_RATIO * usual_m));
        }
        for p in Pallet::BOTH {
            for lever_rad in self.held_rad[p] {
                let Some(guard_rad) = self.guard_holds_from_rad(p, lever_rad, crescent_rad) else { continue };
                let wanted_rad = guard_rad + OVERLAP_DEG.to_radians();
                for _ in 0..MOST_TRIES {
                    // Where even the tip stands off the jewel's circle, no length holds it.
                    let Some(horn_rad) = self.horn_holds_to_rad(p, lever_rad, length_m) else { break };
                    let missing_rad = wanted_rad - horn_rad;
                    if missing_rad <= 1e-3 * OVERLAP_DEG.to_radians() {
                        break;
                    }
                    length_m += missing_rad * reach_m;
                }
            }
        }
        length_m
    }

    /// Jewel angle, as a magnitude, from which the corner of the crescent holds the guard.
    fn guard_holds_from_rad(&self, p: Pallet, lever_rad: f64, crescent_rad: f64) -> Option<f64> {
        let outside = p.outward();
        let mut from_rad: Option<f64> = None;
        self.guard_on_edge(-outside * crescent_rad, lever_rad, |angle_rad, opens| {
            // Turning on to that side must close the touch.
            let way = angle_rad * outside;
            if opens == (outside < 0.0) && way > 0.0 && from_rad.is_none_or(|f| way < f) {
                from_rad = Some(way);
            }
        });
        from_rad
    }

    /// Jewel angle, as a magnitude, up to which the tip of a horn of the length `length_m` holds the jewel.
    fn horn_holds_to_rad(&self, p: Pallet, lever_rad: f64, length_m: f64) -> Option<f64> {
        let tip = self.tip_m(p, lever_rad, length_m);
        let mut to_rad: Option<f64> = None;
        self.engagement.jewel(self.radii).touches_with(&[point(tip)], |t| {
            // Met when the jewel comes back toward the line of centres.
            let way = t.angle_rad * p.outward();
            if t.opening * p.outward() > 0.0 && to_rad.is_none_or(|to| way > to) {
                to_rad = Some(way);
            }
        });
        to_rad
    }

    /// The tip of a horn of the length `length_m` with the lever at `lever_rad`.
    fn tip_m(&self, p: Pallet, lever_rad: f64, length_m: f64) -> Vector {
        let (mouth, centre) = self.engagement.mouths(self.radii)[p];
        let turn_rad = p.outward() * length_m / self.engagement.jewel_reach_m(self.radii);
        Pose::new(lever_rad, Vector::zeros()).point(Pose::about(centre, turn_rad).point(mouth))
    }
}

/// A point as a corner that can be met from everywhere.
fn point(at: Vector) -> Feature {
    let any = Vector::new(1.0, 0.0);
    let round = Round { centre: at, radius: 0.0, from: any, to: any, wide: true, slack: 0.0 };
    Feature { shape: Shape::Round(round), label: Label::from(Face::HornTip) }
}
