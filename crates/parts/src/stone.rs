//! A pallet stone: two corners, the faces between them, and the bench moves that shift it in its slot.

use movement::{Diagnostic, Movement, Pallet, ParamKind as K};
use plane::{Corner, Edge, Pose, Profile, ProfileError, Vector, quarter};

use crate::build::shown;
use crate::face::Face;
use crate::parts::{Body, Stone, corner_fault};
use crate::wheel::both_corners;

pub(crate) fn stone(movement: &Movement, pallet: Pallet) -> Result<Stone, Vec<Diagnostic>> {
    let si = |kind: K| movement.si_at(kind, pallet);
    let at =
        |rho_m: f64, angle_rad: f64| Vector::new(pallet.outward() * rho_m * angle_rad.sin(), -rho_m * angle_rad.cos());
    let mut locking = at(si(K::PalletLockingDistance), si(K::PalletLockingAngle));
    let mut let_off = at(si(K::PalletLetOffDistance), si(K::PalletLetOffAngle));
    // The locking face as drawn: draw at the corner is rigid in the lever, so it follows from width and impulse face.
    let mut face = locking_face(let_off - locking, si(K::StoneFaceAngle));

    // Bench moves, in this order: spread, thickness, roll, tilt, in or out.
    let spread = Vector::new(pallet.outward() * si(K::StoneSpread), 0.0);
    (locking, let_off) = (locking + spread, let_off + spread);
    let_off -= quarter(face) * si(K::StoneThicker);
    let square = -quarter(face);
    let wider_m = (let_off - locking).dot(&square) * (1.0 / si(K::StoneLean).cos() - 1.0);
    (locking, let_off) = (locking - square * (0.5 * wider_m), let_off + square * (0.5 * wider_m));
    let pivot = locking + face * si(K::StoneTiltPivot);
    let tilt = Pose::about(pivot, -si(K::StoneTilt));
    (locking, let_off, face) = (tilt.point(locking), tilt.point(let_off), tilt.direction(face));
    let out = -face * si(K::StoneOut);
    (locking, let_off) = (locking + out, let_off + out);

    let width_m = (let_off - locking).dot(&-quarter(face));
    if width_m <= 0.0 {
        let id = K::StoneThicker.at(pallet);
        let before_m = width_m * si(K::StoneLean).cos() - si(K::StoneThicker);
        return Err(vec![
            Diagnostic::error("no-such-stone", format!("nothing is left of the {} stone", pallet.name()))
                .about(id)
                .about(K::StoneWidth.at(pallet))
                .value(shown(id, si(K::StoneThicker)))
                .allowed(format!("more than {}", shown(id, -before_m)))
                .hint("take less off its thickness, or make the stone wider"),
        ]);
    }
    let length_m = si(K::StoneLength);
    let let_off_height_m = (let_off - locking).dot(&face);
    if length_m <= let_off_height_m.max(0.0) {
        let id = K::StoneLength.at(pallet);
        return Err(vec![
            Diagnostic::error(
                "no-such-stone",
                format!("the {} stone is shorter than its impulse face is steep", pallet.name()),
            )
            .about(id)
            .value(format!("{:.4} mm", length_m * 1e3))
            .allowed(format!("more than {:.4} mm", let_off_height_m * 1e3))
            .hint("make the stone longer"),
        ]);
    }
    let top_locking = locking + face * length_m;
    let top_back = let_off + face * (length_m - let_off_height_m);
    for (round, chamfer) in
        [(K::StoneLockingRound, K::StoneLockingChamfer), (K::StoneLetOffRound, K::StoneLetOffChamfer)]
    {
        if si(round) > 0.0 && si(chamfer) > 0.0 {
            return Err(vec![both_corners(round.at(pallet), chamfer.at(pallet))]);
        }
    }
    let corner = |round: K, chamfer: K| match (si(round), si(chamfer)) {
        (r, _) if r > 0.0 => Corner::Round(r),
        (_, c) => Corner::Chamfer(c),
    };
    let line = |start, end, face: Face| Edge::Line { start, end, label: face.into() };
    let edges = [
        (
            corner(K::StoneLockingRound, K::StoneLockingChamfer),
            Face::LockingCorner.into(),
            Edge::bow(locking, let_off, si(K::StoneImpulseDome), Face::StoneImpulse.into()),
        ),
        (
            corner(K::StoneLetOffRound, K::StoneLetOffChamfer),
            Face::LetOffCorner.into(),
            line(let_off, top_back, Face::StoneBack),
        ),
        (Corner::Sharp, Face::StoneTop.into(), line(top_back, top_locking, Face::StoneTop)),
        (
            Corner::Sharp,
            Face::StoneTop.into(),
            Edge::bow(top_locking, locking, si(K::StoneLockingDome), Face::StoneLocking.into()),
        ),
    ];
    let profile = Profile::with_corners(&edges, true).map_err(|e| {
        let ProfileError::CornerTooLarge { label, .. } = e else {
            return vec![corner_fault(e, K::StoneLockingRound.at(pallet), movement)];
        };
        let (round, chamfer) = if Face::from(label) == Face::LockingCorner {
            (K::StoneLockingRound, K::StoneLockingChamfer)
        } else {
            (K::StoneLetOffRound, K::StoneLetOffChamfer)
        };
        let kind = if si(round) > 0.0 { round } else { chamfer };
        vec![corner_fault(e, kind.at(pallet), movement)]
    })?;
    Ok(Stone { body: Body::new(profile), locking_corner_m: locking, let_off_corner_m: let_off, face })
}

/// Direction of the locking face, given the chord from locking to let-off corner and the angle of that chord below a
/// cut square to the face.
fn locking_face(chord: Vector, face_angle_rad: f64) -> Vector {
    // The square cut is the chord turned back by the angle; the face stands a quarter anticlockwise of it.
    quarter(Pose::new(face_angle_rad, Vector::zeros()).direction(chord.normalize()))
}
