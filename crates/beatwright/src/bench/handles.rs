//! Where a bench move can be taken hold of on the drawing.
//!
//! How far such a place goes with its parameter is measured on parts drawn anew with the parameter a little changed, so
//! that a drag means what the parameter means. What is moved on the bench changes nothing in the parts as they were made:
//! the movement is not closed again.

use movement::{At, Origin, Pallet, ParamId, ParamKind as K, Unit};
use parts::{Build, Face, Parts};
use plane::Vector;

use crate::bench::wire::{Handle, Rides};

/// Change of the parameter by which its way is measured: mm and degrees; small beside every part, large beside rounding.
const TRIAL: f64 = 1e-3;

/// A place that can be held: what moves it, its words, what it rides on, and where it is.
type Place = (ParamId, &'static str, Rides, fn(&Parts, Option<Pallet>) -> Vector);

/// Every handle of a movement, or those of what is held; one that cannot be moved a little is left out.
pub fn handles(built: &Build, held: Option<&[ParamId]>) -> Vec<Handle> {
    let wanted = |place: &Place| held.is_none_or(|held| held.contains(&place.0));
    places().into_iter().filter(wanted).filter_map(|place| handle(built, place)).collect()
}

fn places() -> Vec<Place> {
    let mut out: Vec<Place> = Vec::new();
    for p in Pallet::BOTH {
        out.push((K::StoneOut.at(p), "stone out or in", Rides::Lever, |parts, p| stone_end(parts, p, 0.5)));
        out.push((K::StoneTilt.at(p), "stone tilted", Rides::Lever, |parts, p| stone_end(parts, p, 1.0)));
        out.push((K::BankingOpen.at(p), "banking opened", Rides::Plate, |parts, p| {
            middle(&parts.bankings[p.unwrap_or(Pallet::Entry)].profile)
        }));
    }
    let once: [Place; 7] = [
        (K::ForkBend.once(), "fork bent", Rides::Lever, |parts, _| on_fork(parts, 0.8)),
        (K::ForkLonger.once(), "fork lengthened", Rides::Lever, |parts, _| on_fork(parts, 1.0)),
        (K::GuardLonger.once(), "guard lengthened", Rides::Lever, |parts, _| guard_tip(parts)),
        (K::GuardBend.once(), "guard bent", Rides::Lever, |parts, _| guard_root(parts)),
        (K::JewelOut.once(), "jewel out or in", Rides::Roller, |parts, _| middle(&parts.roller.jewel.profile)),
        (K::CentresWheelPalletChange.once(), "wheel and pallet centres apart", Rides::Plate, |parts, _| {
            parts.centres.pallet_m
        }),
        (K::CentresPalletBalanceChange.once(), "pallet and balance centres apart", Rides::Plate, |parts, _| {
            parts.centres.balance_m
        }),
    ];
    out.extend(once);
    out
}

fn handle(built: &Build, (id, label, rides, place): Place) -> Option<Handle> {
    let (si, _) = built.movement.get(id)?;
    let unit = id.param().unit;
    let pallet = match id.at {
        At::Pallet(pallet) => Some(pallet),
        At::Movement | At::Tooth(_) => None,
    };
    let value = unit.from_si(si);
    let step = if unit == Unit::Degree { 0.05 } else { 0.001 };
    // Away from the end of the range that is near.
    let trial = if value + TRIAL <= id.param().max { TRIAL } else { -TRIAL };
    let mut movement = built.movement.clone();
    movement.set(id, unit.to_si(value + trial), Origin::Stated);
    let moved = Parts::draw(&movement).ok()?;
    let at = place(&built.parts, pallet);
    let per_unit = (place(&moved, pallet) - at) / trial;
    let label = pallet.map_or(label.to_owned(), |p| format!("{} {label}", p.name()));
    let mm = |v: Vector| [v.x * 1e3, v.y * 1e3];
    (per_unit.norm() > 0.0).then(|| Handle {
        path: id.to_string(),
        label,
        rides,
        at_mm: mm(at),
        per_unit_mm: mm(per_unit),
        value,
        step,
    })
}

/// A point of the stone's inner end, `across` of the way from its back to its locking side.
fn stone_end(parts: &Parts, pallet: Option<Pallet>, across: f64) -> Vector {
    let stone = &parts.lever.stones[pallet.unwrap_or(Pallet::Entry)];
    let end = stone.body.profile.edges.iter().find(|e| Face::from(e.label()) == Face::StoneTop);
    end.map_or(stone.locking_corner_m, |e| e.at(across))
}

/// The middle of a closed outline's corners.
fn middle(profile: &plane::Profile) -> Vector {
    let sum = profile.edges.iter().map(|e| e.at(0.0) + e.at(0.5)).sum::<Vector>();
    sum / (2 * profile.edges.len().max(1)) as f64
}

/// A point of the fork's middle line, as a part of the way to the horns.
fn on_fork(parts: &Parts, part: f64) -> Vector {
    parts.lever.fork_axis * (part * parts.lever.fork.profile.reach(Vector::zeros()))
}

fn guard_tip(parts: &Parts) -> Vector {
    let axis = parts.lever.fork_axis;
    axis * parts
        .lever
        .guard
        .profile
        .edges
        .iter()
        .map(|e| e.at(0.0).dot(&axis).max(e.at(0.5).dot(&axis)))
        .fold(0.0, f64::max)
}

fn guard_root(parts: &Parts) -> Vector {
    middle(&parts.lever.guard.profile)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::demo;

    #[test]
    fn parts_drawn_anew_are_those_that_would_be_built() {
        let loaded = demo("pallets.exit.stone_out_mm=0.002");
        for (id, label, _, place) in places() {
            let si = id.param().unit.to_si(TRIAL);
            let mut stated = loaded.statement.values.clone();
            stated.set(id, si);
            let mut movement = loaded.build.movement.clone();
            movement.set(id, si, Origin::Stated);
            let built = parts::build(&stated).expect("a little is no matter").parts;
            let drawn = Parts::draw(&movement).expect("a little is no matter");
            for p in Pallet::BOTH {
                let (built, drawn) = (place(&built, Some(p)), place(&drawn, Some(p)));
                assert_eq!(built, drawn, "{label}");
                let before = place(&loaded.build.parts, Some(p));
                assert!(matches!(id.at, At::Pallet(own) if own != p) || before != drawn, "{label}");
            }
        }
    }
}
