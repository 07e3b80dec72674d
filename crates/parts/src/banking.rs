//! Bankings: a pin or a wall on each side of the lever bar, planted for its lever angle and then moved at the bench.

use movement::{Diagnostic, Movement, Pallet, ParamKind as K};
use plane::{Edge, Label, Pose, Profile, Vector};
use std::f64::consts::TAU;

use crate::build::{exactly, shown};
use crate::face::Face;
use crate::fork_synthesis::otherwise;
use crate::lever::head_from_m_rad;
use crate::parts::Body;

/// Where the bankings meet the bar, as a part of the fork length. Assumed.
const AT_RATIO: f64 = 0.6;
/// Room by default between a banking and the fork's head, in pin radii. Assumed.
const HEAD_ROOM_RATIO: f64 = 0.1;

/// Length of a wall along the bar and its thickness, in pin radii. For drawing.
const WALL_LENGTH_RATIO: f64 = 4.0;
const WALL_THICKNESS_RATIO: f64 = 2.0;

/// The banking that holds the lever while a tooth is locked on `pallet`, in the drawing's frame.
pub(crate) fn banking(movement: &Movement, pallet: Pallet) -> Result<Body, Vec<Diagnostic>> {
    let side = pallet.outward(); // entry: on the left of the bar
    let label = Label::from(Face::Banking);
    let pin_m = movement.si(K::BankingsPinRadius);
    let face_x = side * (0.5 * movement.si(K::LeverBarWidth) + movement.si_at(K::BankingOpen, pallet));
    let along_m = movement.si(K::BankingsDistance);
    let walls = walls(movement);
    let half_m = half_m(movement);
    if pallet == Pallet::Entry {
        clear_of_arms(movement, along_m, half_m)?; // the same for both: said once
    }
    let profile = if walls {
        let (low, high) = (along_m - half_m, along_m + half_m);
        let back_x = face_x + side * WALL_THICKNESS_RATIO * pin_m;
        let (x0, x1) = if side > 0.0 { (face_x, back_x) } else { (back_x, face_x) };
        let corners = [Vector::new(x0, low), Vector::new(x1, low), Vector::new(x1, high), Vector::new(x0, high)];
        let edges = (0..4).map(|i| Edge::Line { start: corners[i], end: corners[(i + 1) % 4], label }).collect();
        Profile::new(edges, true, label)
    } else {
        let centre = Vector::new(face_x + side * pin_m, along_m);
        Profile::new(vec![Edge::Arc { centre, radius: pin_m, from_rad: 0.0, sweep_rad: TAU, label }], true, label)
    };
    // Planted from the plate's pallet centre with the lever at the banking's angle.
    let lever_rad = -side * movement.si_at(K::BankingLeverAngle, pallet);
    let plate_pallet_m =
        Vector::new(0.0, movement.si(K::CentresWheelPallet) + movement.si(K::CentresWheelPalletChange));
    Ok(Body::new(profile.posed(&Pose::new(lever_rad + movement.si(K::LeverLineAngle), plate_pallet_m))))
}

fn walls(movement: &Movement) -> bool {
    movement.word(K::BankingsForm) == "walls"
}

/// Half the length of pin or wall along the bar.
fn half_m(movement: &Movement) -> f64 {
    let pin_m = movement.si(K::BankingsPinRadius);
    if walls(movement) { 0.5 * WALL_LENGTH_RATIO * pin_m } else { pin_m }
}

/// Closes the bankings' distance, for a notch whose floor lies `floor_m` from the pallet centre: on the straight sides
/// of the bar, between the pallet arms and the head of the fork.
///
/// # Returns
/// A warning where they meet the head before the bar, so that the run comes out smaller than is stated.
pub(crate) fn close_bankings(movement: &mut Movement, floor_m: f64) -> Option<Diagnostic> {
    let (pin_m, half_m) = (movement.si(K::BankingsPinRadius), half_m(movement));
    let (straight_m, flare_rad) = head_from_m_rad(movement, floor_m);
    // A pin meets sides that turn outward before it stands abreast of the turn; a wall meets them with its end.
    let before_m = if flare_rad <= 0.0 {
        0.0
    } else if walls(movement) {
        half_m
    } else {
        pin_m * (0.5 * flare_rad).tan()
    };
    let (id, least_m) = (K::BankingsDistance.once(), least_m(movement, half_m));
    let most_m = straight_m - before_m;
    let usual_m = AT_RATIO * movement.si(K::ForkLength);
    let default_m = usual_m.min((most_m - HEAD_ROOM_RATIO * pin_m).max(least_m + HEAD_ROOM_RATIO * pin_m));
    otherwise(movement, K::BankingsDistance, default_m);
    let along_m = movement.si(K::BankingsDistance);
    if along_m <= most_m || most_m.is_nan() {
        return None;
    }
    let what = if walls(movement) { "walls" } else { "pins" };
    let message = format!("the banking {what} meet the head of the fork before the bar: the run cannot be as stated");
    let fault = Diagnostic::warning("banking-off-the-bar", message).about(id).about(K::BankingsPinRadius.once());
    Some(if least_m < most_m {
        fault
            .value(exactly(id, along_m))
            .allowed(format!("{} to {} with this fork and these {what}", shown(id, least_m), shown(id, most_m)))
            .hint("plant the bankings nearer the pallet centre, or leave bankings.distance_mm out")
    } else {
        fault.value(exactly(id, along_m)).hint(
            "between pallet arms and fork there is no room: state a smaller bankings.pin_radius_mm, or a longer fork",
        )
    })
}

/// Distance beyond which pin or wall, half so long, stands clear of the pallet arms.
fn least_m(movement: &Movement, half_m: f64) -> f64 {
    half_m + 0.5 * movement.si(K::LeverArmWidth)
}

/// Pin or wall, half so long, must stand above the pallet arms, which cross the bar at the pallet centre.
fn clear_of_arms(movement: &Movement, along_m: f64, half_m: f64) -> Result<(), Vec<Diagnostic>> {
    let least_m = least_m(movement, half_m);
    if along_m > least_m {
        return Ok(());
    }
    let id = K::BankingsDistance.once();
    Err(vec![
        Diagnostic::error("no-such-part", "the bankings stand in the pallet arms".to_owned())
            .about(id)
            .about(K::BankingsPinRadius.once())
            .value(shown(id, along_m))
            .allowed(format!("more than {} with these pins and arms", shown(id, least_m)))
            .hint("plant the bankings farther from the pallet centre, or make pins or arms smaller"),
    ])
}
