//! The movement file that a new movement begins with: what is usually stated, and every other parameter to be taken up.

use std::fmt::Write as _;

use toml_edit::Value;

use crate::FORMAT;
use crate::param::{IfUnstated, Indexed, Param, Role, Unit};
use crate::table::{ParamKind, TABLE};
use crate::value::{allowed_text, unstated_text};

/// Teeth of the wheel for which the proportions below are drawn, dimensionless: chosen as the usual number, as in the sources of
/// the defaults.
const DRAWN_TEETH: f64 = 15.0;

/// What a new movement states, as a function of the number of teeth. Angles at the wheel are scaled with the pitch.
///
/// # Source
/// Watch and Clock Escapements, compiled from The Keystone, Philadelphia 1904, chapter I, Figs 20-21 (club tooth with
/// circular pallets: tooth 5.5 and pallet 5 of the wheel's 10.5 degrees, lever 10 degrees of which 4.5 tooth, 1.5 lock
/// and 4 pallet, draw 12) and Figs 55-56 (fork three times as long as the roller's radius, 30 degrees at the balance).
/// The run is common practice.
fn usual(kind: ParamKind, tooth_count: f64, locking_radius_mm: f64) -> Option<f64> {
    let pitch = DRAWN_TEETH / tooth_count;
    Some(match kind {
        ParamKind::WheelToothCount => tooth_count,
        ParamKind::WheelLockingRadius => locking_radius_mm,
        ParamKind::WheelToothWidth => 5.5 * pitch,
        ParamKind::WheelToothLift => 4.5,
        // The mean of both arcs, as the first word of the list.
        ParamKind::WheelToothLiftReadOn => 0.0,
        ParamKind::PalletsSpacesSpanned => (tooth_count / 6.0).floor() + 0.5,
        ParamKind::PalletsPlacingRatio => 0.5,
        ParamKind::PalletLock => 1.5,
        ParamKind::PalletLift => 8.5,
        ParamKind::PalletBreadth => 5.0 * pitch,
        ParamKind::PalletDraw => 12.0,
        ParamKind::ForkRatioOfRadii => 3.0,
        ParamKind::BankingRun => 0.25,
        _ => return None,
    })
}

/// The text of a new movement file: a club-tooth lever stated by wanted angles, with every further parameter
/// commented out, each with its definition, unit, range and what holds while it is unstated.
///
/// # Arguments
/// `locking_radius_mm` in millimetres. Arguments outside the ranges of the table are written as given; reading the
/// file then reports them.
///
/// # Properties
/// Within the ranges the text reads without any diagnostic.
///
/// # Examples
/// ```
/// let text = movement::template("watch 1", 15, 4.0);
/// assert!(text.contains("\ntooth_count = 15 "));
/// assert!(movement::read("watch.toml", &text).diagnostics.is_empty());
/// ```
pub fn template(name: &str, tooth_count: u32, locking_radius_mm: f64) -> String {
    let mut text = format!(
        "# Movement file of a lever escapement with club teeth.\n\
         # Lengths end in _mm, angles in _deg. Lines that begin with # are not read: take the # away to state a value.\n\
         # What is not stated is derived from the rest or has the default given beside it.\n\
         format = {FORMAT}\n\
         name = {}\n\
         kind = \"club\"\n",
        Value::from(name)
    );
    let (mut table, mut bench) = ("", false);
    for row in TABLE {
        let (head, key) = row.path.rsplit_once('.').expect("every parameter is in a table");
        let head = head.strip_suffix(".*").unwrap_or(head);
        if row.indexed() == Indexed::ByTooth {
            tooth_row(&mut text, row, key, head != table);
        } else {
            if head != table {
                table_head(&mut text, head);
                bench = false;
            }
            if bench != (row.role == Role::Bench) {
                bench = !bench;
                text.push_str(if bench { "\n# At the bench: 0 leaves the part as it is drawn.\n" } else { "\n" });
            }
            once_row(&mut text, row, key, tooth_count, locking_radius_mm);
        }
        table = head;
    }
    text
}

fn table_head(text: &mut String, table: &str) {
    let _ = write!(text, "\n[{table}]\n");
    let mut each =
        TABLE.iter().filter(|row| row.indexed() == Indexed::ByPallet && row.path.split('.').next() == Some(table));
    if let Some(key) = each.next().and_then(|row| row.path.rsplit('.').next()) {
        let _ =
            writeln!(text, "# A key for each pallet stands for both; for one of them write entry.{key} or exit.{key}.");
    }
}

fn once_row(text: &mut String, row: &Param, key: &str, tooth_count: u32, locking_radius_mm: f64) {
    let usual = usual(row.kind, f64::from(tooth_count), locking_radius_mm);
    let statement = match (usual, row.default) {
        (Some(value), _) => format!("{key} = {}", written(row, value)),
        (None, IfUnstated::Value(value)) => format!("#{key} = {}", written(row, value)),
        (None, IfUnstated::OfWheel(ratio)) => {
            let rounded = (ratio * locking_radius_mm * 1e4).round() / 1e4;
            format!("#{key} = {}", written(row, rounded.max(row.min).min(row.max)))
        }
        (None, IfUnstated::Of(..) | IfUnstated::Closed | IfUnstated::Needed | IfUnstated::Absent) => {
            format!("#{key} =")
        }
    };
    row_lines(text, row, &statement);
}

fn tooth_row(text: &mut String, row: &Param, key: &str, first: bool) {
    if first {
        text.push_str("\n# Single teeth, numbered from 0 in the order in which they arrive at a pallet.\n");
        text.push_str("#[wheel.teeth.0]\n");
    }
    row_lines(text, row, &format!("#{key} = 0.0"));
}

fn row_lines(text: &mut String, row: &Param, statement: &str) {
    let each = if row.indexed() == Indexed::ByPallet { "each pallet; " } else { "" };
    let _ = writeln!(text, "# {}", row.definition);
    let _ = writeln!(text, "{statement:<36} # {each}{}; {}", allowed_text(row), unstated_text(row));
}

/// A value as the file writes it.
pub(crate) fn written(row: &Param, value: f64) -> String {
    match row.unit {
        Unit::Choice(words) => format!("\"{}\"", words[value as usize]),
        Unit::Count => value.to_string(),
        _ => Value::from(value).to_string(),
    }
}
