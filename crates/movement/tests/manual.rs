//! The manual's page of the movement file agrees with the table of parameters, and its example reads.
//!
//! `UPDATE_MANUAL=1 cargo test -p movement --test manual` writes the table into the page.
#![allow(clippy::unwrap_used)]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use movement::{Pallet, ParamKind, Role, TABLE, allowed_text, read, render, unstated_text};

const BEGIN: &str = "<!-- begin parameters: written by UPDATE_MANUAL=1 cargo test -p movement --test manual -->\n";
const END: &str = "<!-- end parameters -->";

fn page() -> (PathBuf, String) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/manual/movement-file.md");
    let text = std::fs::read_to_string(&path).unwrap();
    (path, text)
}

fn table() -> String {
    let mut text = "| key | symbol | range | unstated | role | definition |\n|---|---|---|---|---|---|\n".to_owned();
    for row in TABLE {
        let role = match row.role {
            Role::Wanted => "wanted",
            Role::Dimension => "dimension",
            Role::Motion => "motion",
            Role::Bench => "bench",
        };
        let unstated = unstated_text(row).replace("unstated: ", "");
        let (path, symbol, allowed) = (row.path, row.symbol, allowed_text(row));
        writeln!(text, "| `{path}` | {symbol} | {allowed} | {unstated} | {role} | {} |", row.definition).unwrap();
    }
    text
}

#[test]
fn table_of_the_manual_is_the_table() {
    let (path, text) = page();
    let (before, rest) = text.split_once(BEGIN).unwrap();
    let (there, after) = rest.split_once(END).unwrap();
    if std::env::var_os("UPDATE_MANUAL").is_some() {
        std::fs::write(path, format!("{before}{BEGIN}{}{END}{after}", table())).unwrap();
        return;
    }
    assert!(there == table(), "out of date: UPDATE_MANUAL=1 cargo test -p movement --test manual");
}

#[test]
fn example_of_the_manual_reads() {
    let (_, text) = page();
    let example = text.split_once("```toml\n").unwrap().1.split_once("```").unwrap().0;
    let reading = read("example.toml", example);
    assert_eq!(render(&reading.diagnostics, &reading.statement, false), "");
    let draw = |pallet| reading.statement.values.get(ParamKind::PalletDraw.at(pallet)).unwrap().to_degrees();
    assert!((draw(Pallet::Entry) - 12.0).abs() < 1e-12 && (draw(Pallet::Exit) - 13.0).abs() < 1e-12);
    assert!(reading.statement.values.get(ParamKind::ToothLonger.tooth(7)).is_some());
}
