//! Every malformed movement file gives exactly the diagnostics it was made for, in order, and never a panic.
//!
//! The files are in `tests/malformed`, one family of faults to a prefix. The first line of each names the codes
//! expected; where the file cannot begin with a comment, `expected.toml` does.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use movement::{Diagnostic, MAX_BYTES, MAX_DIAGNOSTICS, Reading, Severity, read, read_bytes, render};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/malformed")
}

/// Name, bytes and expected codes of every file.
fn corpus() -> Vec<(String, Vec<u8>, Vec<String>)> {
    let beside: BTreeMap<String, Vec<String>> =
        toml::from_str(&std::fs::read_to_string(folder().join("expected.toml")).unwrap()).unwrap();
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder()).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files.retain(|path| path.file_name().unwrap() != "expected.toml");
    let cases: Vec<_> = files
        .iter()
        .map(|path| {
            let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
            let bytes = std::fs::read(path).unwrap();
            let first = bytes.split(|b| *b == b'\n').next().unwrap_or_default();
            let own = std::str::from_utf8(first).ok().and_then(|line| line.strip_prefix("# expect: "));
            let expected = match (own, beside.get(&name)) {
                (Some(codes), None) => codes.split(", ").map(str::to_owned).collect(),
                (None, Some(codes)) => codes.clone(),
                _ => panic!("{name}: expectations in the file or beside it, not both"),
            };
            (name, bytes, expected)
        })
        .collect();
    assert!(beside.keys().all(|name| cases.iter().any(|(n, ..)| n == name)), "an expectation without a file");
    cases
}

fn codes(reading: &Reading) -> Vec<&'static str> {
    reading.diagnostics.iter().map(|d| d.code).collect()
}

#[test]
fn each_file_gives_its_diagnostics() {
    let cases = corpus();
    assert!(cases.len() >= 200, "{} files", cases.len());
    let wrong: Vec<String> = cases
        .iter()
        .filter_map(|(name, bytes, expected)| {
            let reading = read_bytes(name, bytes);
            let found = codes(&reading);
            let text = render(&reading.diagnostics, &reading.statement, false);
            (found != *expected).then(|| format!("{name}: expected {expected:?}, found {found:?}\n{text}"))
        })
        .collect();
    assert!(wrong.is_empty(), "{} of {} files:\n{}", wrong.len(), cases.len(), wrong.join("\n"));
}

#[test]
fn each_diagnostic_is_whole() {
    for (name, bytes, _) in corpus() {
        let reading = read_bytes(&name, &bytes);
        assert!(!reading.diagnostics.is_empty(), "{name}");
        for d in &reading.diagnostics {
            whole(&name, &reading, d);
        }
        assert!(reading.has_errors() || name.starts_with("unused"), "{name}");
        serde_json::to_string(&reading.diagnostics).unwrap();
        render(&reading.diagnostics, &reading.statement, true);
    }
}

fn whole(name: &str, reading: &Reading, d: &Diagnostic) {
    assert!(!d.message.is_empty() && d.message.len() < 300, "{name}: {d:?}");
    assert!(d.hint.as_ref().is_some_and(|h| !h.is_empty()) || d.code == "syntax", "{name}: {d:?}");
    assert!(d.code.chars().all(|c| c.is_ascii_lowercase() || matches!(c, '-' | '0'..='9')), "{name}: {d:?}");
    if d.severity == Severity::Note {
        return;
    }
    let place = d.place.as_ref().unwrap_or_else(|| panic!("{name}: no place: {d:?}"));
    let text = reading.statement.source_text(place).unwrap();
    assert!(text.get(place.start..place.end).is_some(), "{name}: {place:?}");
    let before = &text[..place.start];
    assert_eq!(place.line as usize, before.matches('\n').count() + 1, "{name}: {place:?}");
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    assert_eq!(place.column as usize, before[line_start..].chars().count() + 1, "{name}: {place:?}");
    if matches!(d.code, "out-of-range" | "not-whole" | "not-half" | "unknown-word" | "not-finite") {
        assert!(d.value.is_some() && d.allowed.is_some() && !d.about.is_empty(), "{name}: {d:?}");
    }
}

#[test]
fn every_code_is_met() {
    let met: Vec<String> = corpus().into_iter().flat_map(|(_, _, expected)| expected).collect();
    for code in [
        "syntax",
        "duplicate-key",
        "missing-format",
        "newer-format",
        "bad-format",
        "missing",
        "bad-name",
        "wrong-type",
        "unknown-kind",
        "unknown-key",
        "out-of-range",
        "not-finite",
        "not-whole",
        "not-half",
        "unknown-word",
        "no-such-tooth",
        "unused",
        "too-deep",
        "not-utf8",
        "more",
    ] {
        assert!(met.iter().any(|m| m == code), "{code}");
    }
}

#[test]
fn sizes_beyond_the_limit_are_refused() {
    let largest = "#".repeat(MAX_BYTES);
    assert_eq!(codes(&read("a", &largest)), ["missing-format", "missing", "missing", "missing"]);
    let reading = read("a", &format!("{largest}#"));
    assert_eq!(codes(&reading), ["too-large"]);
    assert_eq!(reading.diagnostics[0].value.as_deref(), Some("1048577 bytes"));
    assert_eq!(codes(&read_bytes("a", &vec![0xff; MAX_BYTES + 1])), ["too-large"]);
}

#[test]
fn large_files_are_read_to_an_end() {
    let fill = |piece: &str| piece.repeat(MAX_BYTES / piece.len());
    let numbered = |piece: &str| {
        let pieces = (0..).map(|n: u32| piece.replace('@', &n.to_string()));
        let mut length = 0;
        pieces
            .take_while(|next| {
                length += next.len();
                length <= MAX_BYTES
            })
            .collect::<String>()
    };
    for text in [
        fill("a"),
        fill("="),
        fill("\n"),
        fill("a\n"),
        fill("[a]\n"),
        fill("\"\n"),
        fill("a=1\n"),
        fill("\u{20ac}"),
        fill("[[wheel]]\n"),
        fill("'''\n"),
        numbered("k@=1\n"),
        numbered("[pallets.k@]\n"),
        numbered("[wheel.teeth.@]\nlonger_mm=1\n"),
        format!("name = \"{}\"", "n".repeat(MAX_BYTES - 9)),
        format!("[wheel]\ntooth_count = {}", "9".repeat(MAX_BYTES - 30)),
    ] {
        let reading = read("large", &text);
        assert!(reading.has_errors());
        assert!(reading.diagnostics.len() <= MAX_DIAGNOSTICS + 1);
        let shown = render(&reading.diagnostics, &reading.statement, false);
        assert!(shown.len() < 200_000, "{} bytes shown", shown.len());
    }
}
