//! The one table of figures: everything that can be asked of an action, with its path, unit and definition.
//! Tables, JSON, sweeps and the manual are read from it.

use movement::Pallet;
use std::fmt;

use crate::action::Action;
use crate::fork::ForkAction;
use crate::pallet::PalletAction;

/// Unit of a figure at the edges; inside, figures are SI.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FigureUnit {
    /// Degrees; radians inside.
    Degree,
    /// Millimetres; metres inside.
    Millimetre,
    /// Micrometres; metres inside.
    Micrometre,
    /// A ratio.
    Ratio,
}

impl FigureUnit {
    /// Value in this unit of an SI value.
    pub fn from_si(self, si: f64) -> f64 {
        match self {
            FigureUnit::Degree => si.to_degrees(),
            FigureUnit::Millimetre => si * 1e3,
            FigureUnit::Micrometre => si * 1e6,
            FigureUnit::Ratio => si,
        }
    }

    /// The sign printed after a value.
    pub fn sign(self) -> &'static str {
        match self {
            FigureUnit::Degree => "deg",
            FigureUnit::Millimetre => "mm",
            FigureUnit::Micrometre => "um",
            FigureUnit::Ratio => "",
        }
    }

    /// Decimals that a tenth of a micrometre, or of a thousandth of a degree, leaves.
    pub fn decimals(self) -> usize {
        match self {
            FigureUnit::Degree | FigureUnit::Ratio => 3,
            FigureUnit::Millimetre => 4,
            FigureUnit::Micrometre => 1,
        }
    }
}

/// Which tooth speaks for the wheel where its teeth differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worst {
    /// The one with the least value.
    Least,
    /// The one with the largest value.
    Most,
}

/// How a figure is read.
#[derive(Clone, Copy)]
enum Read {
    Pallet(fn(&PalletAction) -> Option<f64>),
    Fork(fn(&PalletAction, &ForkAction) -> Option<f64>),
    Beat(fn(&Action, usize) -> Option<f64>),
    Spread(fn(&PalletAction) -> Option<f64>),
    Once(fn(&Action) -> Option<f64>),
}

/// One row of the table of figures.
#[derive(Clone, Copy)]
pub struct Figure {
    /// What it belongs to, as a heading.
    pub group: &'static str,
    /// Path; `*` stands for the pallet.
    pub path: &'static str,
    /// Unit at the edges.
    pub unit: FigureUnit,
    /// Which tooth speaks for the wheel.
    pub worst: Worst,
    /// Definition.
    pub definition: &'static str,
    read: Read,
}

impl fmt::Debug for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.path)
    }
}

/// Names one figure. Its text form is its path.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FigureId {
    row: usize,
    pallet: Option<Pallet>,
}

impl FigureId {
    /// Every figure, in the order of the table, entry before exit.
    pub fn all() -> impl Iterator<Item = FigureId> {
        FIGURES.iter().enumerate().flat_map(|(row, figure)| {
            let pallets: &[_] =
                if figure.path.contains('*') { &[Some(Pallet::Entry), Some(Pallet::Exit)] } else { &[None] };
            pallets.iter().map(move |&pallet| FigureId { row, pallet })
        })
    }

    /// The figure with this path, such as `entry.lock_deg`.
    pub fn from_path(path: &str) -> Option<FigureId> {
        FIGURES.iter().enumerate().find_map(|(row, figure)| {
            let Some((before, after)) = figure.path.split_once('*') else {
                return (figure.path == path).then_some(FigureId { row, pallet: None });
            };
            let name = path.strip_prefix(before)?.strip_suffix(after)?;
            let pallet = Pallet::BOTH.into_iter().find(|p| p.name() == name)?;
            Some(FigureId { row, pallet: Some(pallet) })
        })
    }

    /// Its row.
    pub fn figure(self) -> &'static Figure {
        &FIGURES[self.row]
    }

    /// Its pallet, if it is one of a pallet.
    pub fn pallet(self) -> Option<Pallet> {
        self.pallet
    }

    /// Whether it is a range over the teeth, and has a value for the whole wheel only.
    pub fn is_spread(self) -> bool {
        matches!(self.figure().read, Read::Spread(_))
    }

    /// SI value; for a wheel of unlike teeth that of the worst one. `None` where the action has no such figure.
    pub fn value(self, action: &Action) -> Option<f64> {
        let figure = self.figure();
        let Some(pallet) = self.pallet else {
            let Read::Once(read) = figure.read else { return None };
            return read(action).filter(|v| v.is_finite());
        };
        let each = action.indices(pallet).filter_map(|i| self.of_beat(action, i));
        if let Read::Spread(_) = figure.read {
            let (least, most) = each.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
            return (most >= least).then_some(most - least);
        }
        match figure.worst {
            Worst::Least => each.min_by(f64::total_cmp),
            Worst::Most => each.max_by(f64::total_cmp),
        }
    }

    /// SI value at one beat of the cycle.
    pub fn of_beat(self, action: &Action, beat: usize) -> Option<f64> {
        let own = action.beats.get(beat)?;
        match self.figure().read {
            Read::Pallet(read) | Read::Spread(read) => read(own),
            Read::Fork(read) => read(own, action.fork.get(beat)?),
            Read::Beat(read) => read(action, beat),
            Read::Once(_) => None,
        }
        .filter(|v| v.is_finite())
    }
}

impl fmt::Display for FigureId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let path = self.figure().path;
        match self.pallet {
            Some(p) => f.write_str(&path.replacen('*', p.name(), 1)),
            None => f.write_str(path),
        }
    }
}

/// Torque ratios at the changes of contact from unlocking to let-off.
fn torque_ratios(own: &PalletAction) -> impl Iterator<Item = f64> + '_ {
    let outward = own.pallet.outward();
    let lifting = move |lever_rad: f64| outward * (lever_rad - own.unlocking.lever_rad) >= -1e-12;
    own.segments
        .iter()
        .filter(move |s| lifting(s.from.lever_rad) && s.from.lever_rad != s.to.lever_rad)
        .flat_map(|s| [s.from, s.to])
        .filter_map(move |c| c.torque_ratio(own.pallet))
}

fn impulse_sliding(own: &PalletAction) -> impl Iterator<Item = f64> + '_ {
    let outward = own.pallet.outward();
    let lifting = move |lever_rad: f64| outward * (lever_rad - own.unlocking.lever_rad) >= -1e-12;
    own.segments
        .iter()
        .filter(move |s| lifting(s.from.lever_rad))
        .flat_map(|s| [s.from.sliding_m.abs(), s.to.sliding_m.abs()])
}

macro_rules! figures {
    ($($group:literal { $($path:literal, $unit:expr, $worst:expr, $read:expr, $definition:literal;)* })*) => {
        /// Every figure, one row each.
        pub const FIGURES: &[Figure] = &[$($(
            Figure { group: $group, path: $path, unit: $unit, worst: $worst, read: $read, definition: $definition },
        )*)*];
    };
}

#[rustfmt::skip]
mod rows {
use super::*;
use FigureUnit::{Degree, Micrometre, Millimetre, Ratio};
use Worst::{Least, Most};
figures! {
"lock and draw" {
    "*.lock_deg", Degree, Least, Read::Pallet(|p| Some(p.lock_rad)), "Lock when the drop ends: lever angle from the landing to unlocking; negative when the tooth lands past the locking corner. Where the run is negative the lever does not get there: what lock, drop and lift would be with the bankings out of the way";
    "*.lock_spread_deg", Degree, Most, Read::Spread(|p| Some(p.lock_rad)), "Largest less smallest lock over the teeth";
    "*.run_deg", Degree, Least, Read::Pallet(|p| Some(p.run_rad)), "Run: lever angle from the drop to the banking; negative when the lever meets the banking before the other pallet lets go";
    "*.total_lock_deg", Degree, Least, Read::Pallet(|p| Some(p.total_lock_rad)), "Lock with the lever on its banking: lock plus run";
    "*.lock_depth_um", Micrometre, Least, Read::Pallet(|p| Some(p.lock_depth_m)), "Depth of the contact on the locking face when the drop ends, from the locking corner";
    "*.total_lock_depth_um", Micrometre, Least, Read::Pallet(|p| p.total_lock_depth_m), "The same with the lever on its banking";
    "*.total_lock_of_face_ratio", Ratio, Least, Read::Pallet(|p| p.total_lock_of_face_ratio), "Depth of the total lock as a part of the length of the stone's impulse face";
    "*.draw_at_drop_deg", Degree, Least, Read::Pallet(|p| (p.landing.stone_face == parts::Face::StoneLocking).then_some(p.landing.draw_rad)), "Draw from the neutral line where the tooth lands; none when it does not land on the locking face";
    "*.draw_banked_deg", Degree, Least, Read::Pallet(|p| p.banked.filter(|b| b.stone_face == parts::Face::StoneLocking).map(|b| b.draw_rad)), "Draw with the lever on its banking; none when the tooth is not on the locking face then";
    "*.draw_unlocking_deg", Degree, Least, Read::Pallet(|p| Some(p.face_end.draw_rad)), "Draw at the end of the locking face";
    "*.recoil_deg", Degree, Most, Read::Pallet(|p| p.recoil_rad.filter(|_| p.total_lock_rad > 0.0)), "Wheel angle turned back from the banking to unlocking; none without a total lock";
    "*.recoil_from_drop_deg", Degree, Most, Read::Pallet(|p| (p.lock_rad > 0.0).then_some(p.recoil_from_drop_rad)), "Wheel angle turned back from the landing to unlocking; none without a lock";
}
"lift" {
    "*.lift_deg", Degree, Least, Read::Pallet(|p| Some(p.lift_rad)), "Lift: lever angle from unlocking to let-off";
    "*.lift_on_stone_deg", Degree, Least, Read::Pallet(|p| Some(p.lift_on_stone_rad)), "Part of the lift during which the toe works on the stone";
    "*.lift_on_tooth_deg", Degree, Least, Read::Pallet(|p| Some(p.lift_on_tooth_rad)), "Part of the lift during which the tooth's impulse face or heel works";
    "*.wheel_travel_deg", Degree, Most, Read::Pallet(|p| Some(p.travel_rad)), "Wheel angle from unlocking to let-off";
}
"drop and rear freedom" {
    "*.drop_deg", Degree, Least, Read::Pallet(|p| Some(p.drop_rad)), "Drop: free angle of the wheel after this pallet lets go (entry: inside drop, exit: outside drop)";
    "*.drop_mm", Millimetre, Least, Read::Pallet(|p| Some(p.drop_m)), "Drop as the way of the point that lands";
    "*.rear_freedom_um", Micrometre, Least, Read::Beat(|a, i| a.rear.get(i).copied().flatten().map(|r| r.gap_m)), "Smallest gap between the stone's back and the tooth it let go, from the end of that drop to its next let-off";
}
"through the lift, without friction" {
    "*.torque_ratio_first_ratio", Ratio, Least, Read::Pallet(|p| torque_ratios(p).next()), "Torque on the lever over torque on the wheel, without friction, where the lift begins";
    "*.torque_ratio_least_ratio", Ratio, Least, Read::Pallet(|p| torque_ratios(p).min_by(f64::total_cmp)), "Smallest torque ratio at the changes of contact through the lift";
    "*.torque_ratio_most_ratio", Ratio, Most, Read::Pallet(|p| torque_ratios(p).max_by(f64::total_cmp)), "Largest torque ratio at the changes of contact through the lift";
    "*.sliding_most_mm", Millimetre, Most, Read::Pallet(|p| impulse_sliding(p).max_by(f64::total_cmp)), "Largest sliding of tooth on stone through the lift, per radian of the wheel";
}
"lever angles" {
    "*.unlocking_deg", Degree, Most, Read::Pallet(|p| Some(p.unlocking.lever_rad)), "Lever angle at unlocking: the wheel's turning back ends";
    "*.face_end_deg", Degree, Most, Read::Pallet(|p| Some(p.face_end.lever_rad)), "Lever angle at which the locking face ends; on a rounded corner this is before unlocking";
    "*.let_off_deg", Degree, Most, Read::Pallet(|p| Some(p.let_off.lever_rad)), "Lever angle at let-off";
    "*.banking_deg", Degree, Most, Read::Pallet(|p| Some(p.banking_rad)), "Lever angle at the banking that holds the lever while a tooth is locked on this pallet";
}
"safety" {
    "*.guard_freedom_deg", Degree, Least, Read::Fork(|_, f| f.guard_freedom_rad), "Guard freedom: lever angle from the banking to the guard touching the safety roller";
    "*.horn_freedom_deg", Degree, Least, Read::Fork(|_, f| f.horn_freedom_rad), "Horn freedom: lever angle from the banking to the horn touching the jewel; the smallest along the horn";
    "*.safety_lock_guard_deg", Degree, Least, Read::Fork(|p, f| Some(p.total_lock_rad - f.guard_freedom_rad?)), "Safety lock with the guard held on the roller: total lock less guard freedom";
    "*.safety_lock_horn_deg", Degree, Least, Read::Fork(|p, f| Some(p.total_lock_rad - f.horn_freedom_largest_rad?)), "Safety lock with the horn held on the jewel: total lock less the largest horn freedom";
    "*.hold_overlap_deg", Degree, Least, Read::Fork(|p, f| (p.total_lock_rad > 0.0).then_some(f.horn_holds_to_rad - f.guard_holds_from_rad)), "Jewel angle over which both horn and guard hold the lever before it unlocks or gets to the middle; negative: neither holds in between";
}
"fork and jewel" {
    "*.engaging_deg", Degree, Most, Read::Fork(|_, f| f.engaging_rad), "Jewel angle at which the returning jewel meets the notch, lever on this banking";
    "*.releasing_deg", Degree, Most, Read::Fork(|_, f| f.releasing_rad), "Jewel angle at this pallet's let-off";
    "*.balance_lift_deg", Degree, Least, Read::Fork(|_, f| f.balance_lift_rad), "Lift at the balance: from the jewel meeting the notch, lever on its banking, to let-off; wanted as the mean of both pallets";
    "*.balance_lift_no_run_deg", Degree, Least, Read::Fork(|p, f| f.balance_lift_no_run_rad.filter(|_| p.lock_rad > 0.0 && p.run_rad >= -crate::pallet::NOTHING_RAD)), "The same with the lever standing, at unlocking, where it was at the drop (no run); that of the radii less what the notch's freedom and the jewel's shape take";
    "*.balance_lift_per_run_ratio", Ratio, Most, Read::Fork(|p, f| (p.run_rad.abs() > crate::pallet::NOTHING_RAD).then_some(())
        .and(Some((f.balance_lift_rad? - f.balance_lift_no_run_rad?) / p.run_rad))), "Lift at the balance gained per lever angle of run";
    "*.knocking_deg", Degree, Least, Read::Fork(|_, f| f.knocking_rad), "Jewel angle from the line of centres at which the jewel strikes the outside of the fork";
}
"banked to drop" {
    "*.banked_to_drop_guard_deg", Degree, Least, Read::Fork(|_, f| f.banked_to_drop.guard_freedom_rad), "Guard freedom with the banking closed to the drop";
    "*.banked_to_drop_horn_deg", Degree, Least, Read::Fork(|_, f| f.banked_to_drop.horn_freedom_rad), "Horn freedom with the banking closed to the drop";
}
"as a whole" {
    "lever_travel_deg", Degree, Most, Read::Once(|a| let_offs(a).map(|(e, x)| x - e)), "Lever angle between the two let-offs";
    "out_of_angle_deg", Degree, Most, Read::Once(|a| let_offs(a).map(|(e, x)| 0.5 * (e + x) - a.fork_middle_rad)), "Middle of the travel between the let-offs, from where the fork points at the balance centre, anticlockwise positive; the difference between the sides is twice that";
    "out_of_beat_deg", Degree, Most, Read::Once(out_of_beat), "Jewel angle at rest of the balance, from the middle of the two at which the jewel meets the notch; anticlockwise positive";
    "notch_freedom_deg", Degree, Least, Read::Once(|a| a.notch.map(|n| n.lever_rad)), "Freedom of the lever on the jewel, jewel on the line of centres";
    "notch_freedom_um", Micrometre, Least, Read::Once(|a| a.notch.map(|n| n.way_m)), "The same along the jewel's path";
}
}

}
pub use rows::FIGURES;

/// Let-off angles of entry and exit pallet, of the first tooth.
fn let_offs(action: &Action) -> Option<(f64, f64)> {
    let entry = action.of(Pallet::Entry).next()?;
    let exit = action.of(Pallet::Exit).next()?;
    Some((entry.let_off.lever_rad, exit.let_off.lever_rad))
}

/// Rest of the balance less the middle between the two angles at which the jewel meets the notch, of the first tooth.
fn out_of_beat(action: &Action) -> Option<f64> {
    let engaging = |p| action.fork.get(action.indices(p).next()?)?.engaging_rad;
    Some(action.rest_rad - 0.5 * (engaging(Pallet::Entry)? + engaging(Pallet::Exit)?))
}
