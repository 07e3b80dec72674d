//! Parts that get in one another's way in plan, beside those that are meant to touch.

use movement::Pallet;
use parts::{Body, Face, Parts};
use plane::{Edge, Label, Profile, Vector, features, touches};
use std::f64::consts::TAU;

use crate::action::Action;
use crate::curve::Scratch;
use crate::fork::jewel_rad;
use crate::pallet::PalletAction;

/// Lever angles from banking to let-off at which guard and crescent are looked at; chosen, a quarter of a degree apart in
/// a usual lever. An overlap over less of the way than that may be passed over.
const PASSING_PLACES: usize = 42;

/// Two parts that share ground in plan somewhere between the bankings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum InTheWay {
    /// A banking and a stone, at a lever angle.
    BankingAndStone { banking: Pallet, stone: Pallet, lever_rad: f64 },
    /// A banking and the circle of the teeth.
    BankingAndTeeth { banking: Pallet },
    /// A banking and the circle of the jewel.
    BankingAndJewel { banking: Pallet },
    /// A stone and the rim between the teeth, at a lever angle.
    StoneAndRim { stone: Pallet, lever_rad: f64 },
    /// Guard and safety roller while the guard passes the crescent, at a lever angle.
    GuardAndCrescent { pallet: Pallet, lever_rad: f64 },
    /// Guard and jewel of a single roller, at a lever angle.
    GuardAndJewel { pallet: Pallet, lever_rad: f64 },
    /// Bar or fork and the circle of the teeth; sound where they run at different heights.
    LeverAndTeeth { lever_rad: f64 },
}

/// Everything in the way between the two bankings, which `action` has found.
pub(crate) fn in_the_way(parts: &Parts, action: &Action) -> Vec<InTheWay> {
    let mut out = Vec::new();
    let (Some(entry_rad), Some(exit_rad)) = (action.bankings_rad.entry, action.bankings_rad.exit) else { return out };
    let travel_rad = (exit_rad.min(entry_rad), exit_rad.max(entry_rad));
    let teeth = circle(parts.centres.wheel_m, parts.wheel.reach_m);
    let rim = rim(parts);
    let jewel = circle(parts.centres.balance_m, parts.roller.jewel_reach_m);
    for stone in Pallet::BOTH {
        let body = &parts.lever.stones[stone].body;
        if let Some(lever_rad) = swept(parts, body, travel_rad, &rim) {
            out.push(InTheWay::StoneAndRim { stone, lever_rad });
        }
        for banking in Pallet::BOTH {
            if let Some(lever_rad) = swept(parts, body, travel_rad, &parts.bankings[banking]) {
                out.push(InTheWay::BankingAndStone { banking, stone, lever_rad });
            }
        }
    }
    for banking in Pallet::BOTH {
        let outline = &parts.bankings[banking].profile;
        if outline.overlaps(&teeth.profile) {
            out.push(InTheWay::BankingAndTeeth { banking });
        }
        if outline.overlaps(&jewel.profile) {
            out.push(InTheWay::BankingAndJewel { banking });
        }
    }
    if let Some(lever_rad) = swept(parts, &parts.lever.fork, travel_rad, &teeth) {
        out.push(InTheWay::LeverAndTeeth { lever_rad });
    }
    // Of unlike teeth the one that is let go last takes the guard farthest.
    let farthest =
        |p: Pallet| action.of(p).max_by(|a, b| a.let_off.lever_rad.abs().total_cmp(&b.let_off.lever_rad.abs()));
    let own = Pallet::BOTH.into_iter().filter_map(farthest);
    let other_rad = |p: Pallet| if p == Pallet::Entry { exit_rad } else { entry_rad };
    out.extend(own.flat_map(|own| passing(parts, own, other_rad(own.pallet), &mut Scratch::default())));
    out
}

/// Guard, crescent and jewel with the jewel in the notch, from the banking to the let-off of one pallet or to the other
/// banking, at `other_rad`, where that comes first.
fn passing(parts: &Parts, own: &PalletAction, other_rad: f64, scratch: &mut Scratch) -> Vec<InTheWay> {
    let pallet = own.pallet;
    let (mut crescent, mut jewel): (Option<f64>, Option<f64>) = (None, None);
    // A guard that presses on the roller before it comes to the crescent is another fault.
    let mut free = false;
    let let_off_rad = own.let_off.lever_rad;
    let last_rad = if pallet.outward() * (let_off_rad - other_rad) > 0.0 { other_rad } else { let_off_rad };
    for i in 0..PASSING_PLACES {
        let part = i as f64 / (PASSING_PLACES - 1) as f64;
        let lever_rad = own.banking_rad + part * (last_rad - own.banking_rad);
        let lifting = pallet.outward() * (lever_rad - own.unlocking.lever_rad) > 0.0;
        let Some(jewel_rad) = jewel_rad(parts, pallet, lever_rad, lifting, scratch) else { continue };
        let guard = parts.lever.guard.profile.posed(&parts.lever_pose(lever_rad));
        let at = parts.roller_pose(jewel_rad);
        let strikes = guard.overlaps(&parts.roller.safety.profile.posed(&at));
        if strikes && free && crescent.is_none() {
            crescent = Some(lever_rad);
        }
        free |= !strikes;
        // Over two rollers the guard runs at another height than the jewel.
        if parts.roller.single && jewel.is_none() && guard.overlaps(&parts.roller.jewel.profile.posed(&at)) {
            jewel = Some(lever_rad);
        }
    }
    let crescent = crescent.map(|lever_rad| InTheWay::GuardAndCrescent { pallet, lever_rad });
    let jewel = jewel.map(|lever_rad| InTheWay::GuardAndJewel { pallet, lever_rad });
    crescent.into_iter().chain(jewel).collect()
}

/// First lever angle of the travel at which a part of the lever and a standing one share ground.
fn swept(parts: &Parts, moving: &Body, travel_rad: (f64, f64), standing: &Body) -> Option<f64> {
    if moving.profile.posed(&parts.lever_pose(travel_rad.0)).overlaps(&standing.profile) {
        return Some(travel_rad.0);
    }
    // From clear, the first touch is where it begins.
    let mut posed = Vec::new();
    moving.pose_into(&parts.lever_pose(0.0), &mut posed);
    let mut first: Option<f64> = None;
    touches(&posed, parts.centres.pallet_m, &standing.features, |t| {
        let in_travel = t.angle_rad > travel_rad.0 && t.angle_rad < travel_rad.1;
        if in_travel && first.is_none_or(|f| t.angle_rad < f) {
            first = Some(t.angle_rad);
        }
    });
    first
}

fn circle(centre: Vector, radius: f64) -> Body {
    let label = Label(0);
    let profile = Profile::new(vec![Edge::Arc { centre, radius, from_rad: 0.0, sweep_rad: TAU, label }], true, label);
    Body { features: features(&profile), profile }
}

/// Circle through the farthest point of the rim between any two teeth.
pub(crate) fn rim(parts: &Parts) -> Body {
    let edges = parts.wheel.teeth.iter().flat_map(|tooth| &tooth.profile.edges);
    let rim = edges.filter(|e| Face::from(e.label()) == Face::Root);
    let reach = |e: &Edge| Profile::new(vec![*e], false, e.label()).reach(Vector::zeros());
    circle(parts.centres.wheel_m, rim.map(reach).fold(0.0, f64::max))
}
