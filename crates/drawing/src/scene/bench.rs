//! What was done to the parts at the bench, in words: a drawing that shows it says so.

use movement::{At, Movement, Pallet, ParamId, ParamKind as K, Role, Unit};

use super::{degrees, millimetres};
use crate::options::Subject;

/// Altered teeth, up to this number, are told one by one.
const TEETH_ONE_BY_ONE: usize = 3;

/// The moves and faults that are not 0 and concern what `subject` shows, as a note; `None` where there are none.
pub(crate) fn note(movement: &Movement, subject: Subject) -> Option<String> {
    let (teeth, others): (Vec<_>, Vec<_>) = movement
        .values()
        .iter()
        .filter(|(id, si)| id.param().role == Role::Bench && *si != 0.0 && concerns(subject, *id))
        .filter(|(id, _)| governed_by(*id).is_none_or(|of| movement.get(of).is_some_and(|(si, _)| si != 0.0)))
        .partition(|(id, _)| matches!(id.at, At::Tooth(_)));
    let mut made: Vec<String> = others.iter().map(|(id, si)| format!("{} {}", words(*id), value(*id, *si))).collect();
    for kind in [K::ToothLonger, K::ToothBent] {
        let of_kind: Vec<_> = teeth.iter().filter(|(id, _)| id.kind == kind).copied().collect();
        if of_kind.len() <= TEETH_ONE_BY_ONE {
            made.extend(of_kind.iter().map(|(id, si)| format!("{} {}", words(*id), value(*id, *si))));
        } else {
            made.push(many_teeth(kind, &of_kind));
        }
    }
    (!made.is_empty()).then(|| format!("Bench moves: {}.", made.join(", ")))
}

/// Many teeth altered alike, in short.
fn many_teeth(kind: K, teeth: &[(ParamId, f64)]) -> String {
    let each = teeth.iter().filter_map(|(id, si)| match id.at {
        At::Tooth(n) => Some(format!("{n} by {}", value(*id, *si).trim_end_matches(" mm"))),
        _ => None,
    });
    let list = each.collect::<Vec<_>>().join(", ");
    if kind == K::ToothLonger { format!("teeth longer: {list} mm") } else { format!("teeth bent: {list}") }
}

/// The move without which this one changes nothing.
fn governed_by(id: ParamId) -> Option<ParamId> {
    Some(match (id.kind, id.at) {
        (K::StoneTiltPivot, At::Pallet(p)) => K::StoneTilt.at(p),
        (K::WheelEccentricityAngle, _) => K::WheelEccentricity.once(),
        (K::JewelLeanDirection, _) => K::JewelLean.once(),
        _ => return None,
    })
}

/// Whether a part that `subject` shows is altered.
fn concerns(subject: Subject, id: ParamId) -> bool {
    let of = |tables: &[&str]| tables.iter().any(|t| id.param().path.starts_with(t));
    match subject {
        Subject::Wheel => of(&["wheel."]) && id.kind != K::WheelAlong && id.kind != K::WheelAcross,
        Subject::Stone(pallet) => id.at == At::Pallet(pallet) && of(&["pallets."]),
        // The corners' angles are counted from the line of centres.
        Subject::Pallets => of(&["pallets.", "fork.", "guard.", "centres.", "pivots."]),
        Subject::Fork => of(&["fork.", "guard.", "jewel.", "roller.", "bankings.", "centres.", "pivots."]),
        Subject::Roller => of(&["jewel.", "roller."]),
        Subject::Assembly | Subject::Plate(_) => true,
    }
}

/// What was done; the value follows.
fn words(id: ParamId) -> String {
    let fixed = |text: &str| text.to_owned();
    match (id.kind, id.at) {
        (K::ToothLonger, At::Tooth(n)) => format!("tooth {n} longer"),
        (K::ToothBent, At::Tooth(n)) => format!("tooth {n} bent"),
        (K::StoneOut, At::Pallet(p)) => of_pallet(p, "stone out"),
        (K::StoneTilt, At::Pallet(p)) => of_pallet(p, "stone tilted"),
        (K::StoneTiltPivot, At::Pallet(p)) => of_pallet(p, "stone tilted about a point up its face"),
        (K::StoneLean, At::Pallet(p)) => of_pallet(p, "stone leaning"),
        (K::StoneSpread, At::Pallet(p)) => of_pallet(p, "stone spread"),
        (K::StoneThicker, At::Pallet(p)) => of_pallet(p, "stone thicker"),
        (K::BankingOpen, At::Pallet(p)) => of_pallet(p, "banking opened"),
        (K::WheelRadiusChange, _) => fixed("wheel larger in radius"),
        (K::WheelEccentricity, _) => fixed("wheel out of centre"),
        (K::WheelEccentricityAngle, _) => fixed("in the direction"),
        (K::ForkBend, _) => fixed("fork bent"),
        (K::ForkLonger, _) => fixed("fork longer"),
        (K::GuardBend, _) => fixed("guard bent"),
        (K::GuardLonger, _) => fixed("guard longer"),
        (K::JewelOut, _) => fixed("jewel out"),
        (K::JewelLean, _) => fixed("jewel leaning"),
        (K::JewelLeanDirection, _) => fixed("in the direction"),
        (K::RollerTurn, _) => fixed("roller turned on the staff"),
        (K::RollerCrescentTurn, _) => fixed("crescent turned"),
        (K::CentresWheelPalletChange, _) => fixed("wheel and pallet centres farther apart"),
        (K::CentresPalletBalanceChange, _) => fixed("pallet and balance centres farther apart"),
        (K::WheelAlong, _) => fixed("wheel axis along"),
        (K::WheelAcross, _) => fixed("wheel axis across"),
        (K::PalletAlong, _) => fixed("pallet axis along"),
        (K::PalletAcross, _) => fixed("pallet axis across"),
        (K::BalanceAlong, _) => fixed("balance axis along"),
        (K::BalanceAcross, _) => fixed("balance axis across"),
        _ => id.to_string(),
    }
}

fn of_pallet(pallet: Pallet, what: &str) -> String {
    format!("{} {what}", pallet.name())
}

fn value(id: ParamId, si: f64) -> String {
    match id.param().unit {
        Unit::Degree => degrees(si),
        _ => format!("{} mm", millimetres(si)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use movement::{Indexed, TABLE};

    #[test]
    fn every_bench_move_has_words_and_a_drawing() {
        for row in TABLE.iter().filter(|row| row.role == Role::Bench) {
            let id = match row.indexed() {
                Indexed::Once => row.kind.once(),
                Indexed::ByPallet => row.kind.at(Pallet::Exit),
                Indexed::ByTooth => row.kind.tooth(3),
            };
            assert!(!words(id).contains(['.', '_']), "{id} has no words");
            assert!(matches!(row.unit, Unit::Millimetre | Unit::Degree), "{id}");
            let parts: Vec<_> = Subject::ALL.into_iter().filter(|s| concerns(*s, id)).collect();
            assert!(parts.contains(&Subject::Assembly), "{id}: {parts:?}");
        }
    }
}
