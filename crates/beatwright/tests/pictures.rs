//! The pictures of the manual are what the program draws now. `UPDATE_MANUAL=1 cargo test -p beatwright --test pictures`
//! writes them.
#![allow(clippy::unwrap_used)]

use std::path::Path;
use std::process::Command;

/// File and what it is drawn with. The run of the plates is larger than usual, so that it can be seen.
const PICTURES: [(&str, &[&str]); 9] = [
    ("assembly", &["--part", "assembly"]),
    ("lock", &["--part", "lock", "--sheet", "page", "--set", "bankings.run_deg=0.75"]),
    ("draw", &["--part", "draw", "--sheet", "page"]),
    ("lift", &["--part", "lift", "--sheet", "page"]),
    ("drop", &["--part", "drop", "--sheet", "page"]),
    ("recoil", &["--part", "recoil", "--sheet", "page", "--set", "bankings.run_deg=0.75"]),
    ("freedom", &["--part", "freedom", "--sheet", "page"]),
    ("safety-lock", &["--part", "safety-lock", "--sheet", "page", "--set", "bankings.run_deg=0.75"]),
    ("banked-to-drop", &["--part", "banked-to-drop", "--sheet", "page", "--set", "bankings.run_deg=0.75"]),
];

/// Numbers of a text, and the text between them.
fn split(text: &str) -> (Vec<f64>, String) {
    let is_part = |c: char| c.is_ascii_digit() || c == '.' || c == '-';
    let mut numbers = Vec::new();
    let mut between = String::new();
    for piece in text.split_inclusive(|c| !is_part(c)) {
        let number = piece.trim_end_matches(|c| !is_part(c));
        match number.parse() {
            Ok(number) => numbers.push(number),
            Err(_) => between.push_str(number),
        }
        between.push_str(&piece[number.len()..]);
    }
    (numbers, between)
}

#[test]
fn pictures_of_the_manual_are_those_of_the_program() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/pictures");
    for (name, args) in PICTURES {
        let o = Command::new(env!("CARGO_BIN_EXE_beatwright")).args(["drawing", "demo", "-o", "-"]).args(args).output();
        let o = o.unwrap();
        assert!(o.status.success(), "{name}: {}", String::from_utf8_lossy(&o.stderr));
        let drawn = String::from_utf8(o.stdout).unwrap();
        let path = folder.join(format!("{name}.svg"));
        if std::env::var_os("UPDATE_MANUAL").is_some() {
            std::fs::write(&path, &drawn).unwrap();
            continue;
        }
        let kept = std::fs::read_to_string(&path).unwrap();
        let ((now, text), (then, kept)) = (split(&drawn), split(&kept));
        // The last decimal may fall either way on another machine.
        let near = now.len() == then.len() && now.iter().zip(&then).all(|(a, b)| (a - b).abs() < 2e-3);
        assert!(
            near && text == kept,
            "docs/pictures/{name}.svg is out of date: UPDATE_MANUAL=1 cargo test -p beatwright --test pictures"
        );
    }
}

/// Plate, its words before the value, and the figure; the pallet is that of the moment.
const WRITTEN: [(&str, &str, &str); 10] = [
    ("lock", "lock", "lock_deg"),
    ("lock", "run", "run_deg"),
    ("lock", "total lock", "total_lock_deg"),
    ("draw", "draw", "draw_banked_deg"),
    ("lift", "on stone", "lift_on_stone_deg"),
    ("lift", "on tooth", "lift_on_tooth_deg"),
    ("drop", "drop", "drop_deg"),
    ("recoil", "recoil", "recoil_deg"),
    ("safety-lock", "safety lock", "safety_lock_guard_deg"),
    ("banked-to-drop", "freedom", "banked_to_drop_guard_deg"),
];

#[test]
fn what_stands_on_the_plates_are_the_figures() {
    let run = |args: &[&str]| {
        // Unequal sides, so that no value is that of the other pallet.
        let set = ["--set", "pallets.exit.draw_deg=13.5", "--set", "pallets.entry.stone_out_mm=0.005"];
        let o = Command::new(env!("CARGO_BIN_EXE_beatwright")).args(args).args(set).output().unwrap();
        String::from_utf8(o.stdout).unwrap()
    };
    let checked: serde_json::Value = serde_json::from_str(&run(&["check", "demo", "--json"])).unwrap();
    for pallet in ["entry", "exit"] {
        for (plate, name, figure) in WRITTEN {
            let value = checked["figures"][pallet][figure].as_f64().unwrap();
            let moment = format!("{pallet}-banked");
            let drawn = run(&["drawing", "demo", "-o", "-", "--part", plate, "--sheet", "page", "--moment", &moment]);
            let wanted = format!(">{name} {value:.2}\u{b0}<");
            assert!(drawn.contains(&wanted), "{pallet} {plate}: no {wanted}");
        }
    }
}
