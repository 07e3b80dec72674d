//! Random damage to a valid file, and random values written into one.
#![allow(clippy::unwrap_used)]

use movement::{
    IfUnstated, Indexed, Pallet, ParamId, ParamKind, Reading, TABLE, Unit, Values, read, read_bytes, render, rewrite,
    template,
};
use proptest::prelude::*;
use proptest::sample::Index;

/// Files in every form that TOML has for the same thing, all of them valid.
const BASES: [&str; 5] = [
    // Tables.
    "# one\nformat = 1 # two\nname = \"a\"\n\n# three\n[wheel] # four\ntooth_count = 15 # five\n  locking_radius_mm = 4.0\n\n[pallets]\n# six\nlock_deg = 1.50 # seven\ndraw_deg=12\n\n[pallets.entry]\nlift_deg = 8 # eight\n[pallets.exit]\nlift_deg = 8.5\n\n# nine\n[guard]\nform = \"dart\" # ten\n\n[wheel.teeth.3]\nlonger_mm = 0.01 # eleven\n# twelve\n",
    // Dotted keys at the top.
    "format = 1\nname = \"a\" # one\nwheel.tooth_count = 15\nwheel.locking_radius_mm = 4 # two\npallets.lock_deg = 1.5\npallets.exit.lock_deg = 1.25 # three\n# four\nguard.form = 'pin'\n",
    // Dotted keys under tables, and no line feed at the end.
    "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 15\nlocking_radius_mm = 4\nteeth.3.bent_deg = 0.1 # one\n[pallets]\nentry.lock_deg = 1.5 # two\nentry.draw_deg = 12\nexit.lock_deg = 1.5\n[bankings] # three\nrun_deg = 0.25 # four",
    // Inline tables.
    "format = 1\nname = \"a\"\nwheel = { tooth_count = 15, locking_radius_mm = 4, teeth = { 3 = { longer_mm = 0.01 } } } # one\npallets = { lock_deg = 1.5, entry = { draw_deg = 12 } } # two\n# three\n[fork]\nratio_of_radii = 3 # four\n",
    // Carriage returns and a byte order mark.
    "\u{feff}# one\r\nformat = 1\r\nname = \"a\"\r\n\r\n[wheel]\r\ntooth_count = 15 # two\r\nlocking_radius_mm = 4.0\r\n[pallets]\r\nlock_deg = 1.5\r\n",
];

/// Every value of the statement stands in the text at its place, after its key, and nothing else is in the statement.
fn nothing_invented(reading: &Reading, text: &str) -> Result<(), TestCaseError> {
    for (id, si) in reading.statement.values.iter() {
        let place = reading.statement.place(id);
        prop_assert!(place.is_some(), "{id} = {si} has no place");
        let place = place.unwrap();
        let written = &text[place.start..place.end];
        let plain: String = written.chars().filter(|c| *c != '_').collect();
        let edge = match id.param().unit {
            Unit::Choice(words) => words.iter().position(|w| written.contains(w)).map(|at| at as f64),
            _ => plain.parse().ok().or_else(|| {
                let (digits, radix) = (plain.get(2..)?, plain.get(..2)?);
                let radix = [("0x", 16), ("0o", 8), ("0b", 2)].iter().find(|(p, _)| *p == radix)?.1;
                i64::from_str_radix(digits, radix).ok().map(|n| n as f64)
            }),
        };
        prop_assert_eq!(edge.map(|e| id.param().unit.to_si(e)), Some(si), "{} is written {:?}", id, written);
        let row = id.param();
        let edge = edge.unwrap_or(f64::NAN);
        prop_assert!(row.min <= edge && edge <= row.max);
        let own = id.to_string();
        let shared = row.path.replacen("*.", "", 1);
        prop_assert!(place.key == own || place.key == shared, "{own} is placed at {}", place.key);
    }
    Ok(())
}

fn judge(bytes: &[u8]) -> Result<(), TestCaseError> {
    let reading = read_bytes("damaged", bytes);
    render(&reading.diagnostics, &reading.statement, false);
    prop_assert!(reading.diagnostics.len() <= movement::MAX_DIAGNOSTICS + 1);
    for d in &reading.diagnostics {
        prop_assert!(d.place.is_some() || d.code == "more" || d.code == "too-large", "{:?}", d);
    }
    if let Ok(text) = std::str::from_utf8(bytes) {
        nothing_invented(&reading, text)?;
        if !reading.has_errors() {
            // What has no error is TOML, and states what a statement cannot do without.
            prop_assert!(toml::from_str::<toml::Table>(text).is_ok());
            prop_assert!(reading.statement.missing().is_empty());
            prop_assert!(!reading.statement.name.is_empty());
        }
    } else {
        prop_assert!(reading.has_errors());
    }
    Ok(())
}

fn bases() -> Vec<String> {
    BASES.iter().map(|b| (*b).to_owned()).chain([template("a", 15, 4.0)]).collect()
}

/// The pieces of a text: words, numbers, signs and line ends.
fn tokens(text: &str) -> Vec<String> {
    let mut tokens: Vec<String> = Vec::new();
    let mut word = false;
    for c in text.chars() {
        let in_word = c.is_alphanumeric() || matches!(c, '_' | '.' | '-');
        match tokens.last_mut() {
            Some(last) if in_word && word => last.push(c),
            _ => tokens.push(c.to_string()),
        }
        word = in_word;
    }
    tokens
}

proptest! {
    #![proptest_config(ProptestConfig { cases: ProptestConfig::default().cases.max(400), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn damaged_bytes(
        base in any::<Index>(),
        edits in prop::collection::vec((any::<Index>(), 0..4_u8, any::<u8>(), 1..20_usize), 1..6),
    ) {
        let bases = bases();
        let mut bytes = base.get(&bases).clone().into_bytes();
        for (at, what, byte, length) in edits {
            if bytes.is_empty() {
                break;
            }
            let at = at.index(bytes.len());
            let end = (at + length).min(bytes.len());
            match what {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                2 => drop(bytes.drain(at..end)),
                _ => {
                    let copy = bytes[at..end].to_vec();
                    bytes.splice(at..at, copy);
                }
            }
        }
        judge(&bytes)?;
    }

    #[test]
    fn signs_put_in(
        base in any::<Index>(),
        edits in prop::collection::vec((any::<Index>(), any::<Index>()), 1..6),
    ) {
        const SIGNS: [&str; 22] = ["[", "]", "{", "}", "=", "\"", "'", "\"\"\"", "'''", "#", "\n", ".", ",", "-", "_", "\\", "0x", "nan", "inf", "e9", "\r", "\u{2212}"];
        let bases = bases();
        let mut text = base.get(&bases).clone();
        for (at, sign) in edits {
            let at = text.floor_char_boundary(at.index(text.len() + 1));
            text.insert_str(at, SIGNS[sign.index(SIGNS.len())]);
        }
        judge(text.as_bytes())?;
    }

    #[test]
    fn tokens_exchanged(
        base in any::<Index>(),
        swaps in prop::collection::vec((any::<Index>(), any::<Index>(), any::<bool>()), 1..6),
    ) {
        let bases = bases();
        let mut tokens = tokens(&bases[base.index(bases.len())]);
        for (a, b, exchange) in swaps {
            let (a, b) = (a.index(tokens.len()), b.index(tokens.len()));
            if exchange {
                tokens.swap(a, b);
            } else {
                tokens[a] = tokens[b].clone();
            }
        }
        judge(tokens.concat().as_bytes())?;
    }

    #[test]
    fn what_is_rewritten_reads_back(base in any::<Index>(), changes in prop::collection::vec(change(), 1..10)) {
        let bases = bases();
        let text = base.get(&bases);
        let before = read("before", text).statement.values;
        let changes: Vec<(ParamId, Option<f64>)> = changes
            .into_iter()
            .filter(|(id, edge)| {
                edge.is_some() || !matches!(id.kind, ParamKind::WheelToothCount | ParamKind::WheelLockingRadius)
            })
            .collect();
        let written = rewrite(text, &changes);
        prop_assert!(written.is_ok(), "{:?}", written);
        let written = written.unwrap();
        let after = read("after", &written);
        prop_assert!(!after.has_errors(), "{:?}\n{}", after.diagnostics, written);
        let mut wanted = before;
        for (id, edge) in &changes {
            match edge {
                Some(edge) => wanted.set(*id, id.param().unit.to_si(*edge)),
                None => wanted.remove(*id),
            }
        }
        prop_assert_eq!(list(&after.statement.values), list(&wanted), "{}", &written);
        comments_and_other_lines_stay(text, &written, &changes)?;
        // Written again, nothing changes any more.
        let again: Vec<(ParamId, Option<f64>)> = changes.iter().map(|(id, _)| {
            (*id, changes.iter().rev().find(|(i, _)| i == id).and_then(|(_, edge)| *edge))
        }).collect();
        prop_assert_eq!(rewrite(&written, &again).unwrap(), written);
    }
}

fn list(values: &Values) -> Vec<String> {
    values.iter().map(|(id, si)| format!("{id} = {si:e}")).collect()
}

/// Comments are all there in their order; so are, byte for byte, the lines that state none of the changed keys.
fn comments_and_other_lines_stay(
    text: &str,
    written: &str,
    changes: &[(ParamId, Option<f64>)],
) -> Result<(), TestCaseError> {
    let mut rest = written;
    for comment in text.lines().filter_map(|l| l.find('#').map(|at| &l[at..])) {
        let at = rest.find(comment.trim_end());
        prop_assert!(at.is_some(), "{comment} is gone from\n{written}");
        rest = &rest[at.unwrap()..];
    }
    let keys: Vec<&str> = changes.iter().filter_map(|(id, _)| id.param().path.rsplit('.').next()).collect();
    // The last line may have no line feed, and get one when a line follows it.
    let mut lines = written.split_inclusive('\n');
    for line in text.split_inclusive('\n') {
        let states_changed = keys.iter().any(|key| line.contains(key));
        let inline = line.contains('{');
        if !states_changed && !inline {
            let same = |l: &str| l == line || !line.ends_with('\n') && l.trim_end() == line;
            prop_assert!(lines.any(same), "{line:?} is gone or moved in\n{written}");
        }
    }
    Ok(())
}

prop_compose! {
    fn change()(row in any::<Index>(), which in any::<Index>(), part in 0.0..1.0_f64, some in 0..4_u8) -> (ParamId, Option<f64>) {
        let row = row.get(TABLE);
        let ids: Vec<ParamId> = match row.indexed() {
            Indexed::Once => vec![row.kind.once()],
            Indexed::ByPallet => Pallet::BOTH.map(|p| row.kind.at(p)).to_vec(),
            Indexed::ByTooth => (0..6).map(|n| row.kind.tooth(n)).collect(),
        };
        let id = *which.get(&ids);
        let span = row.max - row.min;
        let edge = match (row.kind, row.unit) {
            (ParamKind::WheelToothCount, _) => (6.0 + (part * 54.0)).floor(),
            (ParamKind::PalletsSpacesSpanned, _) => (part * 12.0).floor() + 0.5,
            (_, Unit::Count | Unit::Choice(_)) => (row.min + part * span).round(),
            _ if part < 0.1 => match row.default { IfUnstated::Value(v) => v, _ => row.min },
            _ => row.min + part * span,
        };
        (id, (some > 0).then_some(edge))
    }
}
