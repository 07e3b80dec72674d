//! Moments of the beat: where wheel, lever and jewel stand together.

use movement::Pallet;
use parts::Parts;

use crate::action::Action;
use crate::curve::{Contact, Scratch, Track};
use crate::fork::jewel_rad;
use crate::pallet::PalletAction;

/// An instant of the beat, quasi-static: the wheel presses on the stone, the jewel on the notch.
#[derive(Clone, Debug)]
pub struct Moment {
    /// Its name, such as `entry-unlocking`.
    pub name: String,
    /// Wheel angle.
    pub wheel_rad: f64,
    /// Lever angle.
    pub lever_rad: f64,
    /// Jewel angle.
    pub jewel_rad: f64,
    /// Contact of tooth and stone.
    pub contact: Contact,
}

/// The named moments of one pallet's action.
pub const MOMENT_NAMES: [&str; 6] = ["drop", "banked", "unlocking", "lift", "change", "let-off"];

/// The moment at which the lever stands at `lever_rad` with a tooth on the pallet of `own`; `None` where they do not
/// touch there.
pub fn moment_at(parts: &Parts, own: &PalletAction, lever_rad: f64, scratch: &mut Scratch) -> Option<Moment> {
    let outward = own.pallet.outward();
    let (first, last) = (own.segments.first()?.from.lever_rad, own.let_off.lever_rad);
    // Rounding of a lever angle given in degrees.
    const SLACK_RAD: f64 = 1e-9;
    if outward * (lever_rad - first) < -SLACK_RAD || outward * (lever_rad - last) > SLACK_RAD {
        return None;
    }
    let contact = Track::new(parts, own.pallet, own.tooth).on_curve(&own.segments, lever_rad)?;
    let lifting = outward * (lever_rad - own.unlocking.lever_rad) > 0.0;
    Some(Moment {
        name: own.pallet.name().to_owned(),
        wheel_rad: contact.wheel_rad,
        lever_rad,
        jewel_rad: jewel_rad(parts, own.pallet, lever_rad, lifting, scratch)?,
        contact,
    })
}

/// The moment with the name `name` of [`MOMENT_NAMES`], in the first beat on `pallet`.
pub fn moment(parts: &Parts, action: &Action, pallet: Pallet, name: &str, scratch: &mut Scratch) -> Option<Moment> {
    let own = action.of(pallet).next()?;
    let change = own.segments.iter().find(|s| {
        pallet.outward() * (s.from.lever_rad - own.unlocking.lever_rad) > 0.0
            && s.from.stone_face != parts::Face::StoneImpulse
    });
    let lever_rad = match name {
        "drop" => own.landing.lever_rad,
        "banked" => own.banking_rad,
        "unlocking" => own.unlocking.lever_rad,
        "lift" => 0.5 * (own.unlocking.lever_rad + own.let_off.lever_rad),
        "change" => change?.from.lever_rad,
        "let-off" => own.let_off.lever_rad,
        _ => return None,
    };
    let moment = moment_at(parts, own, lever_rad, scratch)?;
    Some(Moment { name: format!("{}-{name}", pallet.name()), ..moment })
}
