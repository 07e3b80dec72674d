//! Bankings: a pin or a wall on each side of the lever bar, planted for its lever angle and then moved at the bench.

use movement::{Diagnostic, Movement, Pallet, ParamKind as K};
use plane::{Edge, Label, Pose, Profile, Vector};
use std::f64::consts::TAU;

use crate::build::shown;
use crate::face::Face;
use crate::parts::Body;

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
    let walls = movement.word(K::BankingsForm) == "walls";
    let half_m = if walls { 0.5 * WALL_LENGTH_RATIO * pin_m } else { pin_m };
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

/// Pin or wall, half so long, must stand above the pallet arms, which cross the bar at the pallet centre.
fn clear_of_arms(movement: &Movement, along_m: f64, half_m: f64) -> Result<(), Vec<Diagnostic>> {
    let least_m = half_m + 0.5 * movement.si(K::LeverArmWidth);
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
