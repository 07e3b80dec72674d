//! The manual's tables of figures and limits are those of the program. `UPDATE_MANUAL=1 cargo test -p action --test manual` rewrites them.
#![allow(clippy::unwrap_used)]

use action::{CODES, FIGURES, LIMITS, Worst};
use std::path::Path;

const BEGIN: &str = "<!-- tables: written by crates/action/tests/manual.rs -->\n";
const END: &str = "<!-- end of tables -->\n";

fn tables() -> String {
    let mut text = String::from(BEGIN);
    text.push_str("\n## Codes of findings\n\n| code | means |\n|---|---|\n");
    for (code, meaning) in CODES {
        text.push_str(&format!("| `{code}` | {meaning} |\n"));
    }
    text.push_str("| `outside-accepted` | a figure outside the accepted limits below |\n");
    text.push_str("\n## Figures\n\n`*` stands for `entry` or `exit`.\n");
    let mut group = "";
    for f in FIGURES {
        if f.group != group {
            group = f.group;
            let (first, rest) = group.split_at(1);
            let heading = format!("{}{rest}", first.to_uppercase());
            text.push_str(&format!(
                "\n### {heading}\n\n| path | unit | worst tooth | definition |\n|---|---|---|---|\n"
            ));
        }
        let worst = match f.worst {
            Worst::Least => "least",
            Worst::Most => "largest",
        };
        text.push_str(&format!("| `{}` | {} | {worst} | {} |\n", f.path, f.unit.sign(), f.definition));
    }
    text.push_str("\n## Accepted limits\n\n| figure | accepted | outside it | source |\n|---|---|---|---|\n");
    for l in LIMITS {
        let range =
            if l.most.is_finite() { format!("{} to {}", l.least, l.most) } else { format!("at least {}", l.least) };
        let outside = match l.above {
            "" => l.below.to_owned(),
            above => format!("too little: {}; too much: {above}", l.below),
        };
        text.push_str(&format!("| `{}` | {range} | {outside} | {} |\n", l.figure, l.source));
    }
    text.push('\n');
    text.push_str(END);
    text
}

#[test]
fn manual_has_the_tables_of_the_program() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/manual/figures.md");
    let text = std::fs::read_to_string(&path).unwrap();
    let (before, rest) = text.split_once(BEGIN).unwrap();
    let (_, after) = rest.split_once(END).unwrap();
    let wanted = format!("{before}{}{after}", tables());
    if std::env::var_os("UPDATE_MANUAL").is_some() {
        std::fs::write(&path, &wanted).unwrap();
    } else {
        assert!(
            text == wanted,
            "docs/manual/figures.md is out of date: UPDATE_MANUAL=1 cargo test -p action --test manual"
        );
    }
}

#[test]
fn every_limit_names_a_figure_and_parameters() {
    for l in LIMITS {
        assert!(FIGURES.iter().any(|f| f.path == l.figure), "{}", l.figure);
        assert!(l.least < l.most && !l.source.is_empty() && !l.below.is_empty());
        assert_eq!(l.most.is_finite(), !l.above.is_empty(), "{}", l.figure);
        for path in l.moved_by {
            let named = path.replace(['*', '^'], "entry");
            assert!(movement::ParamId::from_path(&named).is_some(), "{path}");
        }
    }
}
