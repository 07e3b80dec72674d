//! The manual's page of motion has the program's figures, instants and places. `UPDATE_MANUAL=1 cargo test -p motion --test
//! manual -- --test-threads 1` writes the tables of figures and of instants.
#![allow(clippy::unwrap_used)]

use motion::{FIGURES, INSTANTS, Place};
use std::path::{Path, PathBuf};

const BEGIN: &str = "<!-- figures: written by UPDATE_MANUAL=1 cargo test -p motion --test manual -->\n";
const END: &str = "<!-- end of figures -->";
const BEGIN_INSTANTS: &str = "<!-- instants: written by UPDATE_MANUAL=1 cargo test -p motion --test manual -->\n";
const END_INSTANTS: &str = "<!-- end of instants -->";

fn page() -> (PathBuf, String) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/manual/motion.md");
    let text = std::fs::read_to_string(&path).unwrap();
    (path, text)
}

/// The part of the page between two marks is this text; with UPDATE_MANUAL it is written there.
fn holds(begin: &str, end: &str, text: &str) {
    let (path, page) = page();
    let (before, rest) = page.split_once(begin).unwrap();
    let (there, after) = rest.split_once(end).unwrap();
    if std::env::var_os("UPDATE_MANUAL").is_some() {
        std::fs::write(path, format!("{before}{begin}{text}{end}{after}")).unwrap();
        return;
    }
    assert!(there == text, "out of date: UPDATE_MANUAL=1 cargo test -p motion --test manual -- --test-threads 1");
}

#[test]
fn table_of_figures_is_that_of_the_program() {
    let mut table = "\n## Figures\n\n| path | unit | definition |\n|---|---|---|\n".to_owned();
    for f in FIGURES {
        table.push_str(&format!("| `{}` | {} | {} |\n", f.path, f.unit.sign(), f.definition));
    }
    holds(BEGIN, END, &format!("{table}\n"));
}

#[test]
fn table_of_instants_and_phases_is_that_of_the_program() {
    let mut table = "\n| instant | key | is | then |\n|---|---|---|---|\n".to_owned();
    for i in INSTANTS {
        table.push_str(&format!("| {} | `{}` | {} | {} |\n", i.words, i.key, i.definition, i.phase));
    }
    holds(BEGIN_INSTANTS, END_INSTANTS, &format!("{table}\n"));
}

#[test]
fn every_place_of_energy_has_its_line_and_no_other_has() {
    let (_, text) = page();
    let section = text.split_once("## Where the energy goes").unwrap().1.split_once("\n## ").unwrap().0;
    let lines = section.lines().filter(|line| line.starts_with("| ") && !line.starts_with("| place"));
    let named: Vec<&str> = lines.flat_map(|line| line[2..].split(" | ").next().unwrap().split(", ")).collect();
    let mut told = named.clone();
    told.sort_unstable();
    let mut places: Vec<&str> = Place::ALL.iter().map(|p| p.name()).collect();
    places.sort_unstable();
    assert_eq!(told, places);
}
