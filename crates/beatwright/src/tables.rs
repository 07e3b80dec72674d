//! Tables for the terminal.

use action::{Action, FigureId, FigureUnit, Finding, Gravity, LIMITS};
use comfy_table::{CellAlignment, ContentArrangement, LineStyle, Table, TableStyle};
use movement::{Origin, Pallet, ParamId, ParamKind as K, Unit};

use crate::input::Loaded;

/// The verdict as a word for programs and as a sentence.
pub fn verdict(findings: &[Finding]) -> (&'static str, String) {
    let (faults, cautions): (Vec<_>, Vec<_>) = alike(findings).partition(|group| group[0].gravity == Gravity::Fault);
    let (faults, cautions) = (faults.len(), cautions.len());
    let many = |n: usize, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
    match (faults, cautions) {
        (0, 0) => ("sound", "sound: every tooth locks, draws, lifts and drops safely on both pallets".to_owned()),
        (0, c) => ("findings", format!("works, with {}", many(c, "caution"))),
        (f, 0) => ("findings", format!("not sound: {}", many(f, "fault"))),
        (f, c) => ("findings", format!("not sound: {}, {}", many(f, "fault"), many(c, "caution"))),
    }
}

/// Findings in groups that say the same, of one pallet or of both.
pub fn alike(findings: &[Finding]) -> impl Iterator<Item = &[Finding]> {
    findings.chunk_by(Finding::is_like)
}

/// The findings as a numbered list; what holds on both pallets is one of them.
pub fn finding_list(findings: &[Finding]) -> String {
    let mut out = String::new();
    for (i, group) in alike(findings).enumerate() {
        let first = &group[0];
        out.push_str(&format!("{:3}. {}: {}\n", i + 1, first.gravity.name(), first.message));
        for (before, f) in group.iter().zip(&group[1..]) {
            match f.pallet {
                Some(pallet) if other_pallet(&before.message) == f.message => {
                    out.push_str(&format!("     and the same on the {} pallet\n", pallet.name()));
                }
                _ => out.push_str(&format!("     {}\n", f.message)),
            }
        }
        let mut moved_by: Vec<String> = Vec::new();
        for path in group.iter().flat_map(|f| &f.moved_by).map(ToString::to_string) {
            if !moved_by.contains(&path) {
                moved_by.push(path);
            }
        }
        if !moved_by.is_empty() {
            out.push_str(&format!("     moved by {}\n", moved_by.join(", ")));
        }
        out.push_str(&format!("     source: {}\n", first.source));
    }
    out
}

/// A message about one pallet as it reads about the other.
fn other_pallet(message: &str) -> String {
    let [entry, exit] = Pallet::BOTH.map(Pallet::name);
    message.split(entry).map(|part| part.replace(exit, entry)).collect::<Vec<_>>().join(exit)
}

fn new_table(header: &[&str]) -> Table {
    let mut table = bare_table();
    table.set_header(header.to_vec());
    table
}

/// A table ruled under its header only, never wrapped.
pub fn bare_table() -> Table {
    let style = TableStyle::new().header_separator(LineStyle::new('─', '─', '─', '─'));
    let mut table = Table::new();
    table.load_style(style).set_content_arrangement(ContentArrangement::Disabled);
    table
}

/// Puts numbers to the right of their columns.
pub fn right(table: &mut Table, columns: std::ops::Range<usize>) {
    for c in columns {
        if let Some(column) = table.column_mut(c) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
}

/// A value as shown, with the unit's digits; a dash where there is none.
pub fn number(si: Option<f64>, unit: FigureUnit) -> String {
    fixed(si.map(|v| unit.from_si(v)), unit.decimals())
}

/// A value at the edge with so many decimals; a dash where there is none.
pub fn fixed(value: Option<f64>, decimals: usize) -> String {
    value.map_or("-".to_owned(), |v| {
        let text = format!("{v:.decimals$}");
        // A rounded nothing has no sign.
        if text.trim_start_matches('-').trim_matches(['0', '.']).is_empty() {
            text.trim_start_matches('-').to_owned()
        } else {
            text
        }
    })
}

/// The parameter by which a figure is wanted, if there is one.
fn wanted_by(stem: &str) -> Option<K> {
    Some(match stem {
        "lock_deg" => K::PalletLock,
        "lift_deg" => K::PalletLift,
        "drop_deg" => K::PalletDrop,
        "run_deg" => K::BankingRun,
        "guard_freedom_deg" => K::GuardFreedom,
        "horn_freedom_deg" => K::ForkHornFreedom,
        "balance_lift_deg" => K::BalanceLift,
        "out_of_angle_deg" => K::LeverOutOfAngle,
        _ => return None,
    })
}

/// The wanted value of a figure (SI) and where it comes from.
pub fn wanted(loaded: &Loaded, id: FigureId) -> Option<(f64, Origin)> {
    let path = id.to_string();
    let stem = path.rsplit_once('.').map_or(path.as_str(), |(_, s)| s);
    let kind = wanted_by(stem)?;
    let param = match (id.pallet(), kind.param().indexed()) {
        (Some(p), movement::Indexed::ByPallet) => kind.at(p),
        _ => kind.once(),
    };
    loaded.build.movement.get(param)
}

/// The same as text.
fn wanted_text(loaded: &Loaded, id: FigureId) -> Option<(String, Origin)> {
    wanted(loaded, id).map(|(si, origin)| (number(Some(si), id.figure().unit), origin))
}

/// Mark of an origin: stated values stand bare.
fn mark(origin: Origin) -> &'static str {
    match origin {
        Origin::Stated => "",
        Origin::Default => " d",
        Origin::Derived => " =",
    }
}

/// Every figure: entry and exit found by contact, what was wanted, what is accepted.
pub fn figure_tables(loaded: &Loaded) -> String {
    let action = &loaded.action;
    let mut both = new_table(&["by contact", "entry", "exit", "unit", "wanted", "accepted"]);
    let mut group = "";
    for entry in FigureId::all().filter(|id| id.pallet() == Some(Pallet::Entry)) {
        if entry.figure().group != group {
            group = entry.figure().group;
            both.add_row(vec![group]);
        }
        let path = entry.to_string();
        let stem = path.split_once('.').map_or(path.as_str(), |(_, s)| s);
        let Some(exit) = FigureId::from_path(&format!("exit.{stem}")) else { continue };
        if stem == "lock_spread_deg" && loaded.build.parts.wheel.alike() {
            continue;
        }
        let unit = entry.figure().unit;
        let want = match (wanted_text(loaded, entry), wanted_text(loaded, exit)) {
            (Some((a, o)), Some((b, _))) if a == b => format!("{a}{}", mark(o)),
            (Some((a, o)), Some((b, p))) => format!("{a}{} / {b}{}", mark(o), mark(p)),
            _ => String::new(),
        };
        both.add_row(vec![
            format!("  {}", words(stem)),
            number(entry.value(action), unit),
            number(exit.value(action), unit),
            unit.sign().to_owned(),
            want,
            accepted(&format!("*.{stem}")),
        ]);
    }
    right(&mut both, 1..3);
    let mut once = new_table(&["by contact", "found", "unit", "wanted", "accepted"]);
    for id in FigureId::all().filter(|id| id.pallet().is_none()) {
        let path = id.to_string();
        let unit = id.figure().unit;
        let want = wanted_text(loaded, id).map_or(String::new(), |(a, o)| format!("{a}{}", mark(o)));
        once.add_row(vec![words(&path), number(id.value(action), unit), unit.sign().to_owned(), want, accepted(&path)]);
    }
    right(&mut once, 1..2);
    let teeth = if loaded.build.parts.wheel.alike() {
        ""
    } else {
        "The teeth differ: each figure is that of the worst tooth.\n"
    };
    format!(
        "{teeth}{both}\n{once}\nWanted: bare = stated, d = default, '=' = derived. Accepted ranges are usual practice, not a standard; sources in the manual.\n"
    )
}

fn accepted(path: &str) -> String {
    LIMITS.iter().find(|l| l.figure == path).map_or(String::new(), |l| {
        if l.most.is_finite() { format!("{} to {}", l.least, l.most) } else { format!("at least {}", l.least) }
    })
}

/// `total_lock_depth_um` as words.
pub fn words(stem: &str) -> String {
    let stem = ["_deg", "_um", "_mm", "_ms", "_s_per_day", "_ratio", "_percent", "_oscillations"]
        .iter()
        .fold(stem, |s, end| s.strip_suffix(end).unwrap_or(s));
    stem.replace('_', " ")
}

/// Phases of each beat of one pair of teeth, or of every tooth.
pub fn phase_table(action: &Action, alike: bool) -> String {
    let mut table =
        new_table(&["pallet", "tooth", "contact", "lever from", "to deg", "wheel from", "to deg", "torque ratio"]);
    for beat in &action.beats {
        for s in &beat.segments {
            if s.from.lever_rad == s.to.lever_rad {
                continue;
            }
            let ratio =
                |c: &action::Contact| c.torque_ratio(beat.pallet).map_or("-".to_owned(), |ratio| format!("{ratio:.3}"));
            table.add_row(vec![
                beat.pallet.name().to_owned(),
                if alike { "any".to_owned() } else { beat.tooth.to_string() },
                format!("{} on {}", s.from.tooth_face.name(), s.from.stone_face.name()),
                format!("{:.3}", s.from.lever_rad.to_degrees()),
                format!("{:.3}", s.to.lever_rad.to_degrees()),
                format!("{:.3}", s.from.wheel_rad.to_degrees()),
                format!("{:.3}", s.to.wheel_rad.to_degrees()),
                format!("{} to {}", ratio(&s.from), ratio(&s.to)),
            ]);
        }
    }
    right(&mut table, 3..7);
    format!("{table}\n")
}

/// Lock, run and drop of every tooth of a wheel whose teeth differ.
pub fn tooth_table(action: &Action) -> String {
    let stems = ["lock_deg", "total_lock_deg", "lift_deg", "drop_deg", "rear_freedom_um", "safety_lock_guard_deg"];
    let mut header = vec!["pallet", "tooth"];
    header.extend(stems);
    let mut table = new_table(&header);
    for (i, beat) in action.beats.iter().enumerate() {
        let mut row = vec![beat.pallet.name().to_owned(), beat.tooth.to_string()];
        for stem in stems {
            let id = FigureId::from_path(&format!("{}.{stem}", beat.pallet.name()));
            row.push(id.map_or(String::new(), |id| number(id.of_beat(action, i), id.figure().unit)));
        }
        table.add_row(row);
    }
    right(&mut table, 2..2 + stems.len());
    format!("{table}\n")
}

/// Ranges over the sideshake of the figures that have accepted limits.
pub fn shaken_table(loaded: &Loaded) -> Option<String> {
    let shaken = loaded.shaken.as_ref()?;
    let mut table = new_table(&["with sideshake", "least", "largest", "unit"]);
    for (id, (least, most)) in &shaken.ranges {
        let path = id.to_string();
        let starred = path.split_once('.').map_or(path.clone(), |(_, stem)| format!("*.{stem}"));
        if LIMITS.iter().any(|l| l.figure == starred) {
            let unit = id.figure().unit;
            table.add_row(vec![
                words(&path.replace('.', " ")),
                number(Some(*least), unit),
                number(Some(*most), unit),
                unit.sign().to_owned(),
            ]);
        }
    }
    right(&mut table, 1..3);
    Some(format!(
        "Each axis displaced by half its freedom, along and across the line of centres, {} combinations:\n{table}\n",
        shaken.count
    ))
}

/// Every parameter, its value and origin.
pub fn parameter_table(loaded: &Loaded) -> String {
    let mut table = new_table(&["parameter", "value", "unit", "origin", "definition"]);
    let teeth = loaded.build.movement.values().teeth().iter().map(|(id, _)| *id);
    for id in ParamId::dense().chain(teeth) {
        let Some((si, origin)) = loaded.build.movement.get(id) else { continue };
        let param = id.param();
        let value = match param.unit {
            Unit::Choice(words) => words.get(si as usize).map_or(String::new(), |w| (*w).to_owned()),
            Unit::Count => format!("{si}"),
            unit => format!("{:.4}", unit.from_si(si)),
        };
        table.add_row(vec![
            id.to_string(),
            value,
            param.unit.sign().to_owned(),
            origin.name().to_owned(),
            param.definition.to_owned(),
        ]);
    }
    right(&mut table, 1..2);
    format!("{table}\n")
}
