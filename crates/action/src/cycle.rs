//! The cycle played through: each tooth lands, locks, lifts and is let off, pallet after pallet.

use movement::{ByPallet, Pallet};
use parts::Parts;
use plane::{Pose, touches};

use crate::curve::Scratch;
use crate::pallet::{Landing, NOTHING_RAD, NoAction, PalletAction, ToothCurve, landing, pallet_action, tooth_curve};

/// Largest lever angle at which a banking is looked for, on either side of the middle; chosen, four times a usual one.
const FARTHEST_BANKING_RAD: f64 = std::f64::consts::FRAC_PI_3;

/// Lever angle at which bar or fork meets each banking, by contact; `None` where it does not within 60 deg.
pub(crate) fn banking_angles(parts: &Parts, scratch: &mut Scratch) -> ByPallet<Option<f64>> {
    parts.lever.fork.pose_into(&Pose::shift(parts.centres.pallet_m), &mut scratch.first);
    ByPallet::from_fn(|pallet| {
        // The lever turns toward the entry banking anticlockwise.
        let sense = -pallet.outward();
        let mut best: Option<f64> = None;
        touches(&scratch.first, parts.centres.pallet_m, &parts.bankings[pallet].features, |t| {
            if t.opening * sense < 0.0
                && t.angle_rad.abs() < FARTHEST_BANKING_RAD
                && best.is_none_or(|b| t.angle_rad * sense < b * sense)
            {
                best = Some(t.angle_rad);
            }
        });
        best
    })
}

/// What stops the cycle from being played.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Broken {
    /// A pallet has no action with a tooth.
    NoAction {
        /// The pallet.
        pallet: Pallet,
        /// The tooth.
        tooth: u16,
        /// What is wrong.
        why: NoAction,
    },
    /// After one pallet lets go, nothing on the other stops the wheel.
    NotStopped {
        /// The pallet that should have stopped it.
        pallet: Pallet,
        /// The tooth that was let go.
        after_tooth: u16,
    },
    /// The lever meets its banking before the other pallet lets go, and beyond it nothing on this one would stop the wheel.
    BankedBeforeLetOff {
        /// The banking's pallet.
        banking: Pallet,
        /// The tooth that is not let go.
        tooth: u16,
        /// Lever angle from the banking to that let-off.
        by_rad: f64,
    },
    /// Bar and fork meet no banking within 60 deg.
    NoBanking {
        /// The banking's pallet.
        pallet: Pallet,
    },
}

/// Plays the cycle: one action per pallet for a wheel whose teeth are alike, else one per pallet and tooth in the order
/// in which they happen, entry and exit alternating.
pub(crate) fn play(parts: &Parts, bankings: ByPallet<f64>, scratch: &mut Scratch) -> Result<Vec<PalletAction>, Broken> {
    let broken = |pallet: Pallet, tooth: u16| move |why: NoAction| Broken::NoAction { pallet, tooth, why };
    let curve_of = |pallet: Pallet, tooth: u16, near_rad: f64, scratch: &mut Scratch| {
        tooth_curve(parts, pallet, tooth, bankings[pallet], near_rad, scratch).map_err(broken(pallet, tooth))
    };
    let land = |pallet: Pallet, after: &PalletEnd, scratch: &mut Scratch| {
        let by_rad = pallet.outward() * (bankings[pallet] - after.lever_rad);
        landing(parts, pallet, after.lever_rad, after.wheel_rad, scratch).ok_or(if by_rad > NOTHING_RAD {
            Broken::BankedBeforeLetOff { banking: pallet, tooth: after.tooth, by_rad }
        } else {
            Broken::NotStopped { pallet, after_tooth: after.tooth }
        })
    };
    if parts.wheel.alike() {
        // One tooth stands for all; positions are taken back to it by whole pitches.
        let curves = ByPallet {
            entry: curve_of(Pallet::Entry, 0, 0.0, scratch)?,
            exit: curve_of(Pallet::Exit, 0, 0.0, scratch)?,
        };
        let ends = ByPallet { entry: PalletEnd::of(&curves.entry, 0), exit: PalletEnd::of(&curves.exit, 0) };
        let landed = ByPallet {
            entry: land(Pallet::Entry, &ends.exit, scratch)?,
            exit: land(Pallet::Exit, &ends.entry, scratch)?,
        };
        let drop_rad = ByPallet {
            entry: ends.entry.wheel_rad - landed.exit.contact.wheel_rad,
            exit: ends.exit.wheel_rad - landed.entry.contact.wheel_rad,
        };
        let ByPallet { entry, exit } = landed.map(|l| as_tooth_0(parts, l));
        let mut actions = vec![
            pallet_action(parts, Pallet::Entry, curves.entry, &entry, bankings.entry),
            pallet_action(parts, Pallet::Exit, curves.exit, &exit, bankings.exit),
        ];
        for (at, pallet) in Pallet::BOTH.into_iter().enumerate() {
            let arm_m = (actions[1 - at].landing.point_m - parts.centres.wheel_m).norm();
            actions[at].drop_rad = drop_rad[pallet];
            actions[at].drop_m = drop_rad[pallet] * arm_m;
        }
        return Ok(actions);
    }
    // Begun with a tooth that the exit pallet works on; a short one may pass it.
    let mut first = curve_of(Pallet::Exit, 0, 0.0, scratch).map(|c| PalletEnd::of(&c, 0));
    for tooth in 1..parts.wheel.tooth_count {
        if first.is_ok() {
            break;
        }
        first = curve_of(Pallet::Exit, tooth, 0.0, scratch).map(|c| PalletEnd::of(&c, tooth)).or(first);
    }
    let mut end = first?;
    let mut pallet = Pallet::Entry;
    let mut actions: Vec<PalletAction> = Vec::with_capacity(2 * parts.wheel.tooth_count as usize);
    for _ in 0..2 * usize::from(parts.wheel.tooth_count) {
        let landed = land(pallet, &end, scratch)?;
        let drop_rad = end.wheel_rad - landed.contact.wheel_rad;
        let curve = curve_of(pallet, landed.tooth, landed.contact.wheel_rad, scratch)?;
        let drop_m = drop_rad * (landed.contact.point_m - parts.centres.wheel_m).norm();
        if let Some(before) = actions.last_mut() {
            (before.drop_rad, before.drop_m) = (drop_rad, drop_m);
        }
        end = PalletEnd::of(&curve, landed.tooth);
        actions.push(pallet_action(parts, pallet, curve, &landed, bankings[pallet]));
        pallet = pallet.other();
    }
    // The last let-off is followed by the first landing, a turn later.
    let after = land(pallet, &end, scratch)?;
    if let Some(last) = actions.last_mut() {
        last.drop_rad = end.wheel_rad - after.contact.wheel_rad;
        last.drop_m = last.drop_rad * (after.contact.point_m - parts.centres.wheel_m).norm();
    }
    Ok(actions)
}

/// Where a pallet lets go.
struct PalletEnd {
    lever_rad: f64,
    wheel_rad: f64,
    tooth: u16,
}

impl PalletEnd {
    fn of(curve: &ToothCurve, tooth: u16) -> PalletEnd {
        PalletEnd { lever_rad: curve.let_off.lever_rad, wheel_rad: curve.let_off.wheel_rad, tooth }
    }
}

fn as_tooth_0(parts: &Parts, mut landed: Landing) -> Landing {
    landed.contact.wheel_rad =
        plane::wrap_rad(landed.contact.wheel_rad + f64::from(landed.tooth) * parts.wheel.pitch_rad());
    landed.tooth = 0;
    landed
}
