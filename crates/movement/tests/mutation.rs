//! Valid files damaged at random: never a panic, and never a value that the file does not state.
#![allow(clippy::unwrap_used)]

#[path = "support/bases.rs"]
mod support;

use movement::{MAX_DIAGNOSTICS, Reading, Unit, read_bytes, render, rewrite};
use proptest::prelude::*;
use proptest::sample::Index;
use support::{WHOLE, bases};

/// Every value of the statement stands in the text at its place, after its key, and nothing else is in the statement.
/// The text there is read by the standard library, not by the reader under test.
fn nothing_invented(reading: &Reading, text: &str) -> Result<(), TestCaseError> {
    for (id, si) in reading.statement.values.iter() {
        let place = reading.statement.place(id);
        prop_assert!(place.is_some(), "{id} = {si} has no place");
        let place = place.unwrap();
        let written = &text[place.start..place.end];
        let edge = match id.param().unit {
            Unit::Choice(words) => word(written, words),
            _ => number(written),
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

/// The word between the quotes; of one with an escape in it, the word it contains.
fn word(written: &str, words: &[&str]) -> Option<f64> {
    let plain = written.trim_matches(['"', '\'']).trim_start_matches(['\n', '\r']);
    let is = |w: &&str| if written.contains('\\') { written.contains(*w) } else { plain == *w };
    words.iter().position(is).map(|at| at as f64)
}

/// What must hold of every text whatever.
fn judge(bytes: &[u8]) -> Result<(), TestCaseError> {
    let reading = read_bytes("damaged", bytes);
    let shown = render(&reading.diagnostics, &reading.statement, false);
    prop_assert_eq!(shown.is_empty(), reading.diagnostics.is_empty());
    prop_assert!(reading.diagnostics.len() <= MAX_DIAGNOSTICS + 1);
    for d in &reading.diagnostics {
        prop_assert!(d.place.is_some() || d.code == "more" || d.code == "too-large", "{:?}", d);
    }
    let Ok(text) = std::str::from_utf8(bytes) else {
        prop_assert!(reading.has_errors());
        return Ok(());
    };
    nothing_invented(&reading, text)?;
    if !reading.has_errors() {
        // What has no error is TOML, and states what a statement cannot do without.
        prop_assert!(toml::from_str::<toml::Table>(text).is_ok());
        prop_assert!(reading.statement.missing().is_empty());
        prop_assert!(!reading.statement.name.is_empty());
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
    fn bytes_edited(base in any::<Index>(), edits in edits()) {
        let bases = bases();
        judge(&edited(&bases[base.index(bases.len())], &edits))?;
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
    fn lines_shuffled(base in any::<Index>(), order in prop::collection::vec(any::<Index>(), 200)) {
        let bases = bases();
        let mut lines: Vec<&str> = bases[base.index(bases.len())].lines().collect();
        for (i, other) in order.iter().enumerate().take(lines.len()) {
            let other = i + other.index(lines.len() - i);
            lines.swap(i, other);
        }
        judge(lines.join("\n").as_bytes())?;
    }
}

#[test]
fn the_files_damaged_are_sound() {
    for base in bases() {
        let reading = read_bytes("base", base.as_bytes());
        assert_eq!(render(&reading.diagnostics, &reading.statement, false), "");
        assert_eq!(tokens(&base).concat(), base);
    }
    // 4 words and numbers of the wheel, 2 of teeth, 2 locks, the span, 2 of the entry pallet, 3 of the bankings.
    assert_eq!(read_bytes("whole", WHOLE.as_bytes()).statement.values.iter().count(), 14);
}
