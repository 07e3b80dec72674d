//! The manual's page of motion has the program's figures and places. `UPDATE_MANUAL=1 cargo test -p motion --test manual`
//! writes the table of figures.
#![allow(clippy::unwrap_used)]

use motion::{FIGURES, Place};
use std::path::{Path, PathBuf};

const BEGIN: &str = "<!-- figures: written by UPDATE_MANUAL=1 cargo test -p motion --test manual -->\n";
const END: &str = "<!-- end of figures -->";

fn page() -> (PathBuf, String) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/manual/motion.md");
    let text = std::fs::read_to_string(&path).unwrap();
    (path, text)
}

#[test]
fn table_of_figures_is_that_of_the_program() {
    let mut table = "\n## Figures\n\n| path | unit | definition |\n|---|---|---|\n".to_owned();
    for f in FIGURES {
        table.push_str(&format!("| `{}` | {} | {} |\n", f.path, f.unit.sign(), f.definition));
    }
    let (path, text) = page();
    let (before, rest) = text.split_once(BEGIN).unwrap();
    let (there, after) = rest.split_once(END).unwrap();
    if std::env::var_os("UPDATE_MANUAL").is_some() {
        std::fs::write(path, format!("{before}{BEGIN}{table}\n{END}{after}")).unwrap();
        return;
    }
    assert!(there == format!("{table}\n"), "out of date: UPDATE_MANUAL=1 cargo test -p motion --test manual");
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
