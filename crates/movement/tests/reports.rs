//! Diagnostics as JSON, in colour, and as a later stage makes them; the wording is tested in `messages.rs`.
#![allow(clippy::unwrap_used)]

use movement::{Diagnostic, Pallet, ParamKind, SET_SOURCE, read, render};

#[test]
fn diagnostics_as_json() {
    let text = "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 15\nlocking_radius_um = 4000\n[pallets]\nlock_deg = 90\nlock_deg = 1\n";
    let reading = read("a.toml", text);
    insta::assert_snapshot!(serde_json::to_string_pretty(&reading.diagnostics).unwrap());
}

#[test]
fn a_later_stage_gets_its_places() {
    let mut statement = read(
        "a.toml",
        "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 15\nlocking_radius_mm = 4\n[pallets]\nlock_deg = 1.5\n",
    )
    .statement;
    statement.set("fork.length_mm=4.2").unwrap();
    let fault = Diagnostic::error("contradiction", "the wanted lock and the fork cannot both hold")
        .about(ParamKind::PalletLock.at(Pallet::Exit))
        .about(ParamKind::ForkLength.once())
        .value("1.5 deg")
        .allowed("1.1 to 1.3 deg")
        .hint("leave one of them unstated");
    let placed = statement.placed(fault);
    assert_eq!(placed.related[0].0.source, SET_SOURCE);
    insta::assert_snapshot!(render(&[placed], &statement, false));
}

#[test]
fn colour_adds_sequences_and_no_words() {
    let reading = read("a.toml", "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 150\nlocking_radius_mm = 4\n");
    let plain = render(&reading.diagnostics, &reading.statement, false);
    let coloured = render(&reading.diagnostics, &reading.statement, true);
    assert!(coloured.contains("\u{1b}["));
    let mut stripped = String::new();
    let mut pieces = coloured.split("\u{1b}[");
    stripped.push_str(pieces.next().unwrap());
    for piece in pieces {
        stripped.push_str(piece.split_once('m').unwrap().1);
    }
    let bare = |text: &str| text.lines().map(|l| l.trim_end().to_owned()).collect::<Vec<_>>();
    assert_eq!(bare(&stripped), bare(&plain));
}
