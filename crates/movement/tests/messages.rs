//! The messages as they are shown on a terminal.
#![allow(clippy::unwrap_used)]

use std::path::Path;

use movement::{read, read_bytes, render};

fn shown(name: &str) -> String {
    let file = format!("{name}.toml");
    let bytes = std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/malformed").join(&file)).unwrap();
    let reading = read_bytes(&file, &bytes);
    render(&reading.diagnostics, &reading.statement, false)
}

#[test]
fn messages_of_single_faults() {
    for name in [
        "bytes-latin1",
        "deep-key",
        "duplicate-key",
        "finite-nan",
        "format-newer",
        "format-missing",
        "half-spans-whole",
        "header-unclosed",
        "key-misspelt",
        "key-moved",
        "missing-size",
        "name-empty",
        "range-lock-high",
        "syntax-comma-decimal",
        "syntax-unit-after",
        "tooth-one-past",
        "type-number-string-unit",
        "unit-lock-mm",
        "unused-shorthand",
        "whole-teeth-half",
        "word-misspelt",
    ] {
        insta::assert_snapshot!(name, shown(name));
    }
}

#[test]
fn messages_of_several_faults() {
    for name in ["several-every-table", "several-slip-and-range", "hostile-many-unknown"] {
        insta::assert_snapshot!(name, shown(name));
    }
}

#[test]
fn messages_of_overrides() {
    let text = "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 15\nlocking_radius_mm = 4.0\n";
    let mut statement = read("a.toml", text).statement;
    let faults = statement
        .set_all(&[
            "pallets.lock_mm=1.5",
            "wheel.tooth_count=",
            "pallets.exit.draw_deg = 50",
            "run",
            "jewel.shape=square",
        ])
        .unwrap_err();
    insta::assert_snapshot!("overrides", render(&faults, &statement, false));
}
