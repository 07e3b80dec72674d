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

fn drawn(args: &[&str]) -> (String, String) {
    let o = Command::new(env!("CARGO_BIN_EXE_beatwright")).args(["drawing", "demo", "-o", "-"]).args(args).output();
    let o = o.unwrap();
    assert!(o.status.success(), "{args:?}: {}", String::from_utf8_lossy(&o.stderr));
    (String::from_utf8(o.stdout).unwrap(), String::from_utf8(o.stderr).unwrap())
}

/// A number that a tag says.
fn number(tag: &str, name: &str) -> f64 {
    let (_, rest) = tag.split_once(&format!(" {name}=\"")).unwrap_or_else(|| panic!("no {name} in {tag}"));
    rest.split('"').next().unwrap().parse().unwrap()
}

/// A dimension of a picture: its straight lines, and its text with place, direction of reading in degrees and words.
struct Dimension {
    lines: Vec<[(f64, f64); 2]>,
    text: ((f64, f64), f64, String),
}

fn dimensions(svg: &str) -> Vec<Dimension> {
    let groups = svg.split("<g class=\"dimension\">").skip(1).map(|g| g.split("</g>").next().unwrap());
    groups
        .map(|group| {
            let lines = group.lines().filter(|l| l.trim_start().starts_with("<line"));
            let text = group.lines().find(|l| l.trim_start().starts_with("<text")).unwrap();
            let turn = text.split_once("rotate(").map_or(0.0, |(_, r)| r.split(' ').next().unwrap().parse().unwrap());
            let words = text.split_once('>').unwrap().1.split('<').next().unwrap().to_owned();
            let ends = |l: &str| [(number(l, "x1"), number(l, "y1")), (number(l, "x2"), number(l, "y2"))];
            Dimension { lines: lines.map(ends).collect(), text: ((number(text, "x"), number(text, "y")), turn, words) }
        })
        .collect()
}

impl Dimension {
    /// Whether a line passes over the text, taken as narrow as it is likely to be set: half its size to the letter.
    fn is_crossed(&self, line: &[(f64, f64); 2]) -> bool {
        let ((x, y), turn, words) = &self.text;
        let (sin, cos) = turn.to_radians().sin_cos();
        let half = 0.25 * 3.5 * words.chars().count() as f64;
        (0..=400).any(|i| {
            let part = f64::from(i) / 400.0;
            let at = (line[0].0 + part * (line[1].0 - line[0].0) - x, line[0].1 + part * (line[1].1 - line[0].1) - y);
            let (along, down) = (at.0 * cos + at.1 * sin, at.1 * cos - at.0 * sin);
            along.abs() < half && (-2.5..0.0).contains(&down)
        })
    }
}

#[test]
fn no_line_of_a_plate_crosses_a_text() {
    let mut seen = 0;
    for plate in ["lock", "draw", "lift", "drop", "recoil", "freedom", "safety-lock", "banked-to-drop"] {
        for pallet in ["entry-banked", "exit-banked"] {
            for sheet in ["page", "a4"] {
                let set = "bankings.run_deg=0.75";
                let (svg, _) = drawn(&["--part", plate, "--sheet", sheet, "--moment", pallet, "--set", set]);
                let all = dimensions(&svg);
                for a in &all {
                    for line in all.iter().flat_map(|b| &b.lines) {
                        seen += 1;
                        assert!(!a.is_crossed(line), "{plate} {pallet} {sheet}: a line through {}", a.text.2);
                    }
                }
            }
        }
    }
    assert!(seen > 500, "{seen}");
}

#[test]
fn plates_say_which_pallet_and_tooth() {
    let set = ["--set", "wheel.teeth.3.bent_deg=0.02"];
    for plate in ["lock", "draw", "lift", "drop", "recoil", "freedom", "safety-lock", "banked-to-drop"] {
        for pallet in ["entry", "exit"] {
            let moment = format!("{pallet}-banked");
            let (svg, _) = drawn(&["--part", plate, "--moment", &moment]);
            let said = format!("{pallet} pallet, all teeth alike");
            assert!(svg.contains(&format!(">{said}<")), "{plate}: title block without {said}");
            let title = svg.split("<title>").nth(1).unwrap().split("</title>").next().unwrap();
            assert!(title.ends_with(&said), "{title}");
            let captions = svg.lines().filter(|l| l.contains(":1</text>") && l.contains("\u{a0}\u{a0}"));
            assert!(captions.clone().count() >= 1, "{plate}");
            assert!(
                captions.clone().any(|c| c.to_lowercase().contains(pallet)),
                "{plate}: {:?}",
                captions.collect::<Vec<_>>()
            );
            let (svg, _) = drawn(&[&["--part", plate, "--moment", &moment], &set[..]].concat());
            assert!(svg.contains(&format!(">{pallet} pallet, tooth ")), "{plate}: no tooth");
        }
    }
}

/// Centre and radius of the rings round the panels, and where the outlines of a part stand in the text.
fn rings(svg: &str) -> Vec<(f64, f64, f64)> {
    let circles = svg.lines().filter(|l| l.trim_start().starts_with("<circle class=\"thin\""));
    circles.map(|l| (number(l, "cx"), number(l, "cy"), number(l, "r"))).collect()
}

#[test]
fn freedom_is_seen_on_a_single_roller_and_with_open_bankings() {
    let single = ["--part", "freedom", "--sheet", "page", "--set", "roller.form=single"];
    let (svg, _) = drawn(&single);
    for panel in svg.split("data-view=").skip(1) {
        let at = |part: &str| panel.find(&format!("data-part=\"{part}\"")).unwrap();
        assert!(at("roller") > at("lever"), "the roller's edge is under the lever");
    }
    for open in ["0", "0.1", "0.3"] {
        let (svg, _) = drawn(&[&single[..], &["--set", &format!("bankings.open_mm={open}")]].concat());
        let rings = rings(&svg);
        assert_eq!(rings.len(), 2);
        // The tips of the arrows stand where guard and horn are in their two positions.
        let mut seen = 0;
        for group in svg.split("<g class=\"dimension\">").skip(1) {
            for arrow in group.split("</g>").next().unwrap().lines().filter(|l| l.contains("class=\"arrow\"")) {
                let tip = arrow.split("points=\"").nth(1).unwrap().split(' ').next().unwrap();
                let (x, y) = tip.split_once(',').unwrap();
                let (x, y): (f64, f64) = (x.parse().unwrap(), y.parse().unwrap());
                assert!(rings.iter().any(|(cx, cy, r)| (x - cx).hypot(y - cy) < *r), "{open}: {tip} is outside");
                seen += 1;
            }
        }
        assert_eq!(seen, 4, "{open}");
    }
}

#[test]
fn a_movement_without_the_usual_moment_is_drawn_all_the_same() {
    for (set, wanted) in [
        (&[][..], None),
        (&["fork.bend_mm=0.1"][..], Some("lever on its entry banking, the teeth clear of both stones")),
        (&["wheel.teeth.3.longer_mm=-0.1"], Some("lever on its entry banking")),
        (&["bankings.entry.open_mm=-0.5"], Some("lever on its entry banking")),
    ] {
        let sets: Vec<&str> = set.iter().flat_map(|s| ["--set", s]).collect();
        for part in ["assembly", "fork"] {
            let (svg, notes) = drawn(&[&["--part", part], &sets[..]].concat());
            match wanted {
                None => assert!(notes.is_empty(), "{notes}"),
                Some(wanted) => {
                    assert!(notes.contains("note: this movement has no moment 'entry-banked'"), "{set:?}: {notes}");
                    assert!(notes.contains(wanted), "{set:?}: {notes}");
                    assert!(svg.contains(">lever on its entry banking: lever "), "{set:?}: the title says nothing");
                }
            }
        }
    }
}

#[test]
fn a_moment_that_is_missing_is_told_with_those_that_are_there() {
    let told = |args: &[&str]| {
        let o = Command::new(env!("CARGO_BIN_EXE_beatwright"))
            .args(["drawing", "demo", "-o", "-"])
            .args(args)
            .output()
            .unwrap();
        assert_eq!(o.status.code(), Some(2));
        assert!(o.stdout.is_empty());
        String::from_utf8(o.stderr).unwrap()
    };
    let bent = ["--set", "fork.bend_mm=0.1", "--moment"];
    let text = told(&[&bent[..], &["entry-banked"]].concat());
    let (error, hint) = text.split_once("hint: ").unwrap();
    assert!(error.contains("this movement has no moment 'entry-banked'"), "{text}");
    let names: Vec<&str> = hint.trim().rsplit(": ").next().unwrap().split(", ").collect();
    assert!(names.len() > 4 && !names.contains(&"entry-banked"), "{text}");
    // What the hint lists can be drawn.
    for name in names {
        drawn(&[&bent[..], &[name]].concat());
    }
    let text = told(&["--moment", "entry:50"]);
    assert!(text.contains("choose a lever angle from ") && text.contains("entry-unlocking"), "{text}");
    // A cycle that cannot be played has no moments at all.
    let text = told(&["--set", "pallets.entry.stone_out_mm=-0.3", "--moment", "exit-drop"]);
    assert!(text.contains("its cycle cannot be played") && text.contains("leave --moment out"), "{text}");
}

#[test]
fn nothing_but_a_drawing_is_overwritten() {
    let folder = std::env::temp_dir().join(format!("beatwright-pictures-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo.toml");
    let movement = folder.join("movement.toml");
    std::fs::copy(&demo, &movement).unwrap();
    let draw = |to: &Path, more: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_beatwright"))
            .arg("drawing")
            .arg(&movement)
            .arg("-o")
            .arg(to)
            .args(more)
            .output()
            .unwrap()
    };
    let refused = |to: &Path, more: &[&str], what: &str| {
        let before = std::fs::read(to).unwrap();
        let o = draw(to, more);
        assert_eq!(o.status.code(), Some(2), "{}", to.display());
        let text = String::from_utf8(o.stderr).unwrap();
        assert!(text.contains(what) && text.contains("hint: "), "{text}");
        assert_eq!(std::fs::read(to).unwrap(), before, "{} was changed", to.display());
    };
    // The movement itself, by any path, and whatever is said.
    let round_about = folder.join("..").join(folder.file_name().unwrap()).join("movement.toml");
    for path in [&movement, &round_about] {
        refused(path, &[], "is the movement itself");
        refused(path, &["--force"], "is the movement itself");
    }
    let notes = folder.join("notes.txt");
    std::fs::write(&notes, "where the <svg> drawings are").unwrap();
    refused(&notes, &[], "is no SVG drawing");
    assert!(draw(&notes, &["--force"]).status.success());
    assert!(std::fs::read_to_string(&notes).unwrap().starts_with("<svg "));
    // A drawing, of this program or another, and a file without content are replaced.
    assert!(draw(&notes, &[]).status.success());
    for (name, text) in [("other.svg", "<?xml version=\"1.0\"?>\n<!-- a drawing -->\n<svg/>"), ("empty.svg", "")] {
        std::fs::write(folder.join(name), text).unwrap();
        assert!(draw(&folder.join(name), &[]).status.success(), "{name}");
    }
    assert_eq!(draw(&folder, &[]).status.code(), Some(2));
    std::fs::remove_dir_all(&folder).unwrap();
}
