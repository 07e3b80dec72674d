//! Valid files damaged at random: never a panic, and never a value that the file does not state.
#![allow(clippy::unwrap_used)]

use movement::{MAX_DIAGNOSTICS, Statement, Unit, read_bytes, render, rewrite, template};
use proptest::prelude::*;

const WHOLE: &str = "# a movement file with every kind of statement
format = 1
name = \"mutated\"
notes = '''
two
lines'''
kind = \"club\"

[wheel]
tooth_count = 15           # whole
locking_radius_mm = 4.0
front_lean_deg = -0.0
tooth_lift_read_on = \"entry\"
teeth.3.bent_deg = -1.5e-1

[wheel.teeth.4]
longer_mm = 0.02

[pallets]
lock_deg = 1.5             # both
exit.lock_deg = 1.25
spaces_spanned = 2.5

[pallets.entry]
lift_deg = 8.5
stone_out_mm = +0.01

[bankings]
entry = { run_deg = 0.25, open_mm = 0.0 }
form = \"walls\"
";

/// Whether every value of the statement is what stands at its place in the text.
///
/// The text there is read by the standard library, not by the reader under test.
fn every_value_is_written(statement: &Statement) -> Result<(), String> {
    for (id, si) in statement.values.iter() {
        let place = statement.place(id).ok_or(format!("{id} has a value and no place"))?;
        let written = &statement.text()[place.start..place.end];
        let unit = id.param().unit;
        let edge = match unit {
            Unit::Choice(words) => {
                let word = written.trim_matches(['"', '\'']).trim_start_matches(['\n', '\r']);
                words.iter().position(|w| *w == word).map(|at| at as f64)
            }
            _ => number(written),
        };
        if edge.map(|edge| unit.to_si(edge)) != Some(si) && !written.contains('\\') {
            return Err(format!("{id} = {si}, written {written:?}"));
        }
    }
    Ok(())
}

fn number(written: &str) -> Option<f64> {
    let plain = written.replace('_', "");
    let whole = |radix| i64::from_str_radix(&plain[2..], radix).ok().map(|n| n as f64);
    match plain.get(..2) {
        Some("0x") => whole(16),
        Some("0o") => whole(8),
        Some("0b") => whole(2),
        _ => plain.parse().ok(),
    }
}

/// What must hold of every text whatever.
fn holds(bytes: &[u8]) -> Result<(), TestCaseError> {
    let reading = read_bytes("mutated.toml", bytes);
    prop_assert!(reading.diagnostics.len() <= MAX_DIAGNOSTICS + 1);
    let shown = render(&reading.diagnostics, &reading.statement, false);
    prop_assert_eq!(shown.is_empty(), reading.diagnostics.is_empty());
    every_value_is_written(&reading.statement).map_err(TestCaseError::fail)?;
    if !reading.has_errors() {
        prop_assert!(reading.statement.missing().is_empty());
        let text = std::str::from_utf8(bytes).unwrap();
        prop_assert_eq!(rewrite(text, &[]).unwrap(), text);
    }
    Ok(())
}

#[derive(Clone, Debug)]
enum Edit {
    Replace(usize, u8),
    Insert(usize, u8),
    Delete(usize, usize),
    Repeat(usize, usize),
}

fn edits() -> impl Strategy<Value = Vec<Edit>> {
    let likely = prop::sample::select(b"=.[]{}\"'#\n\r\t ,-+_0919eE\\x\0\xc3\xff".to_vec());
    let byte = prop_oneof![3 => likely, 1 => any::<u8>()];
    let at = 0..10_000_usize;
    let edit = prop_oneof![
        (at.clone(), byte.clone()).prop_map(|(at, b)| Edit::Replace(at, b)),
        (at.clone(), byte).prop_map(|(at, b)| Edit::Insert(at, b)),
        (at.clone(), 1..30_usize).prop_map(|(at, n)| Edit::Delete(at, n)),
        (at, 1..60_usize).prop_map(|(at, n)| Edit::Repeat(at, n)),
    ];
    prop::collection::vec(edit, 1..6)
}

fn edited(text: &str, edits: &[Edit]) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for edit in edits {
        if bytes.is_empty() {
            return bytes;
        }
        let within = |at: usize| at % bytes.len();
        match *edit {
            Edit::Replace(at, byte) => {
                let at = within(at);
                bytes[at] = byte;
            }
            Edit::Insert(at, byte) => bytes.insert(within(at), byte),
            Edit::Delete(at, n) => {
                let at = within(at);
                bytes.drain(at..(at + n).min(bytes.len()));
            }
            Edit::Repeat(at, n) => {
                let at = within(at);
                let piece = bytes[at..(at + n).min(bytes.len())].to_vec();
                bytes.splice(at..at, piece);
            }
        }
    }
    bytes
}

/// The text cut between words and signs; joined again it is the text.
fn tokens(text: &str) -> Vec<&str> {
    let word = |c: char| c.is_alphanumeric() || c == '_';
    let mut pieces = Vec::new();
    let mut start = 0;
    let chars: Vec<(usize, char)> = text.char_indices().collect();
    for pair in chars.windows(2) {
        if !(word(pair[0].1) && word(pair[1].1)) {
            pieces.push(&text[start..pair[1].0]);
            start = pair[1].0;
        }
    }
    pieces.push(&text[start..]);
    pieces
}

proptest! {
    #[test]
    fn bytes_edited(edits in edits()) {
        holds(&edited(WHOLE, &edits))?;
    }

    #[test]
    fn tokens_swapped(swaps in prop::collection::vec((0..10_000_usize, 0..10_000_usize), 1..5)) {
        let mut pieces = tokens(WHOLE);
        let count = pieces.len();
        for (a, b) in swaps {
            pieces.swap(a % count, b % count);
        }
        holds(pieces.concat().as_bytes())?;
    }

    #[test]
    fn lines_shuffled(order in Just(WHOLE.lines().collect::<Vec<_>>()).prop_shuffle()) {
        holds(order.join("\n").as_bytes())?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: ProptestConfig::default().cases.min(1_000) / 8 + 1, ..ProptestConfig::default() })]

    #[test]
    fn template_edited(edits in edits()) {
        holds(&edited(&template("t", 15, 4.0), &edits))?;
    }
}

#[test]
fn the_file_mutated_is_sound() {
    let reading = read_bytes("whole.toml", WHOLE.as_bytes());
    assert_eq!(render(&reading.diagnostics, &reading.statement, false), "");
    // 4 words and numbers of the wheel, 2 of teeth, 2 locks, the span, 2 of the entry pallet, 3 of the bankings.
    assert_eq!(reading.statement.values.iter().count(), 14);
    assert_eq!(tokens(WHOLE).concat(), WHOLE);
}
