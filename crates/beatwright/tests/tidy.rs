//! The rules of the repository that a machine can see. CONTRIBUTING.md gives them in words.
//!
//! Every rule is a function from the files to its findings, each `path:line: what is wrong`, and is itself tested on a
//! small example that breaks it.
//!
//! Long because: it is one list of rules, each with the example that breaks it.

#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Layer of every project crate. A crate may use only crates of lower layers.
const LAYERS: [(&str, u8); 11] = [
    ("plane", 0),
    ("movement", 1),
    ("beat", 1),
    ("parts", 2),
    ("listen", 2),
    ("voice", 2),
    ("action", 3),
    ("motion", 4),
    ("study", 6),
    ("drawing", 6),
    ("beatwright", 7),
];

/// Crates that never use one another, whatever their layers: a sound that is made is no check of the hearing otherwise.
const APART: [&str; 2] = ["voice", "listen"];

/// Crates whose public numbers carry a unit in their names. Not here: `plane` and `study`, which work in whatever unit
/// they are given, and the binary, whose public items are seen by nobody.
const UNIT_CRATES: [&str; 7] = ["movement", "beat", "parts", "voice", "action", "motion", "drawing"];

/// Last words of a name that state a unit: SI first, then those of the edges. A compound unit
/// is known by its last word (`_kg_m2`, `_n_m`, `_per_rad`, `_s_per_day`).
const UNIT_WORDS: &str = "m m2 m3 m4 rad s hz kg n j w pa k \
    mm um mm2 deg ms us g px day hour";

/// Words by which a comment states the unit of a number.
const UNIT_TERMS: &str = "unit units dimensionless ratio ulp ulps metre metres millimetre millimetres mm um m nm \
    radian radians rad degree degrees deg second seconds kg pixels";

/// Words by which the comment on a constant gives its reason or source; the year of a publication does so too.
const REASON_TERMS: &str = "because so since than only source derived practice published standard exact assumed \
    implied chosen enough costs error rounding digit digits measured seen drawing";

/// Names that say nothing about what a module holds.
const EMPTY_NAMES: [&str; 6] = ["utils", "util", "common", "misc", "helpers", "helper"];

/// Longest source file, and the length from which a file explains itself, in lines.
const LINES_MAX: usize = 800;
const LINES_UNEXPLAINED_MAX: usize = 600;

/// Longest ARCHITECTURE.md, in lines: it is read in one sitting.
const ARCHITECTURE_LINES_MAX: usize = 300;

/// Largest file in the repository, in bytes.
const BYTES_MAX: u64 = 1_000_000;

/// The two commands of the README's first section with code.
const README_COMMANDS: [&str; 2] = ["cargo run --release", "./test.sh"];

/// Papers that must be there.
const PAPERS: [&str; 10] = [
    "README.md",
    "ARCHITECTURE.md",
    "CONTRIBUTING.md",
    "CHANGELOG.md",
    "LICENSE-MIT",
    "LICENSE-APACHE",
    "docs/decisions.md",
    "docs/glossary.md",
    "docs/measured.md",
    "test.sh",
];

/// A file of the repository: its path from the root with `/`, its size in bytes, its text unless it is not UTF-8.
struct File {
    path: String,
    bytes: u64,
    text: Option<String>,
}

impl File {
    fn text(&self) -> &str {
        self.text.as_deref().unwrap_or_default()
    }

    fn name(&self) -> &str {
        self.path.rsplit('/').next().unwrap_or_default()
    }

    /// The project crate whose library or binary source this is.
    fn source_of(&self) -> Option<&str> {
        let (name, rest) = self.path.strip_prefix("crates/")?.split_once('/')?;
        (rest.starts_with("src/") && rest.ends_with(".rs") && self.name() != "tests.rs").then_some(name)
    }

    /// Written elsewhere and kept as it came.
    fn is_vendored(&self) -> bool {
        self.path.contains("/vendor/")
    }

    /// Deliberately bad input.
    fn is_corpus(&self) -> bool {
        self.path.contains("/corpus/") || self.path.contains("/malformed/")
    }

    /// Its lines, numbered from 1, up to an in-file test module.
    fn library_lines(&self) -> impl Iterator<Item = (usize, &str)> {
        let lines = self.text().lines().zip(1..).map(|(line, number)| (number, line));
        lines.take_while(|(_, line)| line.trim() != "mod tests {")
    }

    fn finding(&self, line: usize, what: impl std::fmt::Display) -> String {
        format!("{}:{line}: {what}", self.path)
    }
}

type Rule = fn(&[File]) -> Vec<String>;

const RULES: [Rule; 12] = [
    layers,
    lengths,
    names,
    module_files,
    unit_names,
    constants,
    pure_libraries,
    unfinished,
    private_words,
    characters,
    readme,
    papers,
];

#[test]
fn the_repository_is_tidy() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut files = Vec::new();
    collect(&root, &root, &mut files);
    assert!(files.len() > 20, "the repository was not found at {}", root.display());
    let findings: Vec<String> = RULES.iter().flat_map(|rule| rule(&files)).collect();
    assert!(findings.is_empty(), "{} findings:\n{}", findings.len(), findings.join("\n"));
}

/// Reads every file below `folder`, in order of path, leaving out what is built or installed.
fn collect(root: &Path, folder: &Path, files: &mut Vec<File>) {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for entry in entries {
        let name = entry.file_name().unwrap().to_string_lossy().into_owned();
        let metadata = fs::symlink_metadata(&entry).unwrap();
        if metadata.is_dir() {
            let built = entry.join("CACHEDIR.TAG").exists();
            if !built && ![".git", "target", "node_modules"].contains(&name.as_str()) {
                collect(root, &entry, files);
            }
        } else if metadata.is_file() && name != ".git" {
            let path = entry.strip_prefix(root).unwrap().to_string_lossy().replace('\\', "/");
            let text = String::from_utf8(fs::read(&entry).unwrap()).ok();
            files.push(File { path, bytes: metadata.len(), text });
        }
    }
}

/// Crates use only lower layers, and take the workspace's lints.
fn layers(files: &[File]) -> Vec<String> {
    let layers = BTreeMap::from(LAYERS);
    let mut findings = Vec::new();
    for file in files {
        let Some(name) = file.path.strip_prefix("crates/").and_then(|path| path.strip_suffix("/Cargo.toml")) else {
            continue;
        };
        if name.contains('/') {
            continue;
        }
        let Some(own) = layers.get(name) else {
            findings.push(file.finding(1, format_args!("crate {name} has no layer; give it one in tidy.rs")));
            continue;
        };
        let mut section = "";
        for (line, number) in file.text().lines().map(str::trim).zip(1..) {
            if line.starts_with('[') {
                section = line.trim_matches(['[', ']']);
            }
            let used = match section.split_once("dependencies.") {
                Some((_, used)) if line.starts_with('[') => used,
                None if section.ends_with("dependencies") => line.split(['.', '=', ' ']).next().unwrap_or_default(),
                _ => continue,
            };
            match layers.get(used) {
                _ if APART.contains(&name) && APART.contains(&used) => {
                    findings.push(file.finding(number, format_args!("{name} may never use {used}")));
                }
                Some(layer) if layer >= own => findings.push(
                    file.finding(number, format_args!("{name} (layer {own}) may not use {used} (layer {layer})")),
                ),
                _ => {}
            }
        }
        if !file.text().contains("[lints]\nworkspace = true") {
            findings.push(file.finding(1, "does not take the workspace's lints"));
        }
    }
    findings
}

/// Source files are short, or say why not, and nothing large is kept.
fn lengths(files: &[File]) -> Vec<String> {
    let mut findings = Vec::new();
    for file in files.iter().filter(|file| !file.is_vendored()) {
        if file.bytes > BYTES_MAX {
            findings.push(file.finding(1, format_args!("{} bytes, at most {BYTES_MAX}", file.bytes)));
        }
        let is_source = [".rs", ".js", ".mjs", ".css", ".sh", ".py"].iter().any(|ending| file.path.ends_with(ending));
        let lines = file.text().lines().count();
        let explained = file.text().lines().any(|line| line.starts_with("//! Long because: "));
        if is_source && lines > LINES_MAX {
            findings.push(file.finding(lines, format_args!("{lines} lines, at most {LINES_MAX}")));
        } else if is_source && lines > LINES_UNEXPLAINED_MAX && !explained {
            let what = "lines without a line `//! Long because: ...`, at most";
            findings.push(file.finding(lines, format_args!("{lines} {what} {LINES_UNEXPLAINED_MAX}")));
        }
    }
    findings
}

/// No module, file or crate has an empty name.
fn names(files: &[File]) -> Vec<String> {
    let mut findings = Vec::new();
    for file in files.iter().filter(|file| !file.is_vendored()) {
        for part in file.path.split('/') {
            let stem = part.split('.').next().unwrap_or_default();
            if EMPTY_NAMES.contains(&stem) {
                findings.push(file.finding(1, format_args!("`{stem}` says nothing about what is in it")));
            }
        }
        if file.path.ends_with(".rs") {
            for (line, number) in file.text().lines().zip(1..) {
                let module = line
                    .split_once("mod ")
                    .filter(|(before, _)| before.trim().is_empty() || before.trim().starts_with("pub"));
                let name = module.map_or("", |(_, rest)| rest.split([' ', '{', ';']).next().unwrap_or_default());
                if EMPTY_NAMES.contains(&name) {
                    findings.push(file.finding(number, format_args!("`{name}` says nothing about what is in it")));
                }
            }
        }
    }
    findings
}

/// A `mod.rs` only names its modules.
fn module_files(files: &[File]) -> Vec<String> {
    let mut findings = Vec::new();
    for file in files.iter().filter(|file| file.name() == "mod.rs") {
        for (line, number) in file.text().lines().map(str::trim).zip(1..) {
            let is_list = line.is_empty()
                || line.starts_with("//")
                || line.starts_with('#')
                || (line.ends_with(';')
                    && ["mod ", "pub mod ", "use ", "pub use "].iter().any(|start| line.starts_with(start)));
            if !is_list {
                findings.push(file.finding(number, "logic in a mod.rs"));
            }
        }
    }
    findings
}

/// Whether `name` ends in a unit, or says that it is a ratio or in SI whatever its row's unit.
fn states_unit(name: &str) -> bool {
    let last_is_unit = name.rsplit_once('_').is_some_and(|(_, last)| UNIT_WORDS.split(' ').any(|unit| unit == last));
    last_is_unit || name.split('_').any(|word| ["ratio", "sign", "count", "si"].contains(&word))
}

/// Whether one of `words`, listed with spaces between, stands in `comment`.
fn says(comment: &str, words: &str) -> bool {
    let mut said = comment.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase);
    said.any(|said| words.split_whitespace().any(|word| word == said))
}

/// Whether `comment` gives a year in which something may have been published.
fn gives_year(comment: &str) -> bool {
    let mut numbers = comment.split(|c: char| !c.is_alphanumeric()).filter_map(|word| word.parse::<u16>().ok());
    numbers.any(|number| (1600..2100).contains(&number))
}

/// Whether a type carries bare numbers: an `f64`, alone or in a container, but not in a function.
fn carries_f64(type_text: &str) -> bool {
    let is_function = ["fn(", "Fn(", "FnMut(", "FnOnce("].iter().any(|start| type_text.contains(start));
    !is_function && type_text.split(|c: char| !c.is_alphanumeric()).any(|word| word == "f64")
}

/// The pieces of a list, cut at the commas outside brackets.
fn pieces(list: &str) -> Vec<&str> {
    let (mut depth, mut start, mut pieces) = (0, 0, Vec::new());
    for (place, c) in list.char_indices() {
        match c {
            '(' | '[' | '<' => depth += 1,
            ')' | ']' => depth -= 1,
            '>' if !list[..place].ends_with('-') => depth -= 1,
            ',' if depth == 0 => {
                pieces.push(&list[start..place]);
                start = place + 1;
            }
            _ => {}
        }
    }
    pieces.push(&list[start..]);
    pieces
}

/// Every public number states its unit, in its name or, where one number may have several units, in its comment.
fn unit_names(files: &[File]) -> Vec<String> {
    let mut findings = Vec::new();
    for file in files.iter().filter(|file| file.source_of().is_some_and(|name| UNIT_CRATES.contains(&name))) {
        let lines: Vec<(usize, &str)> = file.library_lines().map(|(number, line)| (number, line.trim())).collect();
        let (mut comment, mut in_public_type) = (String::new(), false);
        for (place, (number, line)) in lines.iter().enumerate() {
            if let Some(text) = line.strip_prefix("///") {
                comment.push_str(text);
                continue;
            }
            if line.contains("struct ") && line.ends_with('{') {
                in_public_type = line.starts_with("pub struct ");
            }
            let mut numbers = Vec::new();
            if line.starts_with("pub fn ") || line.starts_with("pub const fn ") {
                let ends = |line: &str| line.ends_with(['{', ';', '}']);
                let length = lines[place..].iter().take_while(|(_, line)| !ends(line)).count() + 1;
                let whole: Vec<&str> = lines[place..].iter().take(length).map(|(_, line)| *line).collect();
                numbers = numbers_of_function(&whole.join(" "));
            } else if let Some((name, type_text)) = line.strip_prefix("pub ").and_then(|rest| rest.split_once(": ")) {
                let is_field = in_public_type && name.chars().all(|c| c.is_alphanumeric() || c == '_');
                if is_field && carries_f64(type_text) {
                    numbers.push(("field", name.to_owned()));
                }
            }
            for (what, name) in numbers {
                if !states_unit(&name) && !says(&comment, "unit units dimensionless ratio si") {
                    findings.push(file.finding(*number, format_args!("{what} `{name}` does not state its unit")));
                }
            }
            if !line.starts_with('#') {
                comment.clear();
            }
        }
    }
    findings
}

/// The parameters, and the function itself, by which a function takes and gives numbers.
fn numbers_of_function(signature: &str) -> Vec<(&'static str, String)> {
    let (name, parameters, result) = signature_parts(signature);
    let named = pieces(parameters).into_iter().filter_map(|parameter| parameter.split_once(':'));
    let numbers = named.filter(|(_, type_text)| carries_f64(type_text));
    let mut numbers: Vec<_> =
        numbers.map(|(name, _)| ("parameter", name.trim().trim_start_matches("mut ").to_owned())).collect();
    if carries_f64(result) {
        numbers.push(("function", name.to_owned()));
    }
    numbers
}

/// Name, parameter list and result of a function signature.
fn signature_parts(signature: &str) -> (&str, &str, &str) {
    let open = signature.find('(').unwrap_or(signature.len());
    let name = signature[..open].split('<').next().unwrap_or_default().rsplit(' ').next().unwrap_or_default();
    let mut depth = 0;
    let close = signature[open..].char_indices().find_map(|(place, c)| {
        depth += match c {
            '(' => 1,
            ')' => -1,
            _ => 0,
        };
        (depth == 0).then_some(open + place)
    });
    let Some(close) = close else { return (name, "", "") };
    let result = signature[close + 1..].trim_start().strip_prefix("->").unwrap_or_default();
    let result = result.split('{').next().unwrap_or_default().split(" where ").next().unwrap_or_default();
    (name, &signature[open + 1..close], result)
}

/// Every number that is a constant of a library states its unit, in its name or its comment, and its reason or source in
/// its comment. One comment may stand over several constants.
fn constants(files: &[File]) -> Vec<String> {
    let mut findings = Vec::new();
    for file in files {
        if file.source_of().is_none_or(|name| name == "beatwright") {
            continue;
        }
        let mut comment = String::new();
        for (number, line) in file.library_lines() {
            let line = line.trim();
            if line.starts_with("//") {
                comment.push_str(line.trim_start_matches('/'));
                continue;
            }
            // Not the constant parameter of a generic function or type.
            let declared = Some(line)
                .filter(|line| !line.contains("fn ") && !line.contains("<const "))
                .and_then(|line| line.split_once("const "))
                .and_then(|(_, rest)| rest.split_once(": "));
            let is_name = |name: &str| name.chars().all(|c| c.is_uppercase() || c.is_numeric() || c == '_');
            let Some((name, rest)) = declared.filter(|(name, _)| is_name(name)) else {
                if !line.starts_with('#') {
                    comment.clear();
                }
                continue;
            };
            let (type_text, value) = rest.split_once('=').unwrap_or((rest, ""));
            if !carries_f64(type_text) {
                continue;
            }
            let said = format!("{comment} {}", value.split_once("//").map_or("", |(_, after)| after));
            if !states_unit(&name.to_lowercase()) && !says(&said, UNIT_TERMS) {
                findings.push(file.finding(number, format_args!("constant {name} does not state its unit")));
            }
            if !says(&said, REASON_TERMS) && !gives_year(&said) {
                findings
                    .push(file.finding(number, format_args!("constant {name}: no reason or source in its comment")));
            }
        }
    }
    findings
}

/// Libraries read no file, clock or environment: a stage depends on its input and options alone.
fn pure_libraries(files: &[File]) -> Vec<String> {
    let mut findings = Vec::new();
    for file in files.iter().filter(|file| file.source_of().is_some_and(|name| name != "beatwright")) {
        for (number, line) in file.library_lines() {
            let code = line.split("//").next().unwrap_or_default();
            for banned in ["std::fs", "std::env", "std::time", "std::net", "std::process", "println!", "static mut"] {
                if code.contains(banned) {
                    findings.push(file.finding(number, format_args!("{banned} in a library")));
                }
            }
        }
    }
    findings
}

/// Nothing is left for later, and no test is switched off.
fn unfinished(files: &[File]) -> Vec<String> {
    let marks = [
        "TO\u{44}O",
        "FI\u{58}ME",
        "to\u{64}o!",
        "unimplemente\u{64}!",
        "#[ignor\u{65}",
        "test.ski\u{70}",
        ".onl\u{79}(",
    ];
    marked(files, &marks, "unfinished or switched off")
}

/// Nothing speaks of the machine or the way of working on which the project was made.
fn private_words(files: &[File]) -> Vec<String> {
    marked(
        files,
        &["/wor\u{6b}/", "/roo\u{74}/", "/hom\u{65}/", "transcrip\u{74}", "subagen\u{74}"],
        "not part of the project",
    )
}

/// Where one of `marks` stands in a text.
fn marked(files: &[File], marks: &[&str], what: &str) -> Vec<String> {
    let mut findings = Vec::new();
    for file in files.iter().filter(|file| !file.is_vendored()) {
        for (line, number) in file.text().lines().zip(1..) {
            for mark in marks.iter().filter(|mark| line.contains(**mark)) {
                findings.push(file.finding(number, format_args!("`{mark}`: {what}")));
            }
        }
    }
    findings
}

/// Texts are UTF-8 and hold no character that cannot be seen.
fn characters(files: &[File]) -> Vec<String> {
    let mut findings = Vec::new();
    for file in files.iter().filter(|file| !file.is_corpus() && !file.is_vendored()) {
        if file.text.is_none() {
            if ![".png", ".woff2", ".wav", ".ogg"].iter().any(|ending| file.path.ends_with(ending)) {
                findings.push(file.finding(1, "not UTF-8"));
            }
            continue;
        }
        for (line, number) in file.text().split('\n').zip(1..) {
            let unseen = line.chars().find(|c| {
                (c.is_control() && *c != '\t')
                    || matches!(*c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
            });
            if let Some(c) = unseen {
                findings.push(file.finding(number, format_args!("character U+{:04X} cannot be seen", u32::from(c))));
            }
        }
    }
    findings
}

/// The README's first section with code has the two commands and no third.
fn readme(files: &[File]) -> Vec<String> {
    let Some(file) = files.iter().find(|file| file.path == "README.md") else {
        return Vec::new();
    };
    let lines: Vec<&str> = file.text().lines().collect();
    let first = lines.iter().position(|line| line.starts_with("```")).unwrap_or(0);
    let (mut commands, mut in_code) = (Vec::new(), false);
    for line in &lines[first..] {
        if line.starts_with("```") {
            in_code = !in_code;
        } else if !in_code && line.starts_with("## ") {
            break;
        } else if in_code && !line.trim().is_empty() && !line.starts_with('#') {
            commands.push(line.trim());
        }
    }
    if commands == README_COMMANDS {
        Vec::new()
    } else {
        vec![
            file.finding(
                first + 1,
                format_args!("the first section with code has {commands:?}, not {README_COMMANDS:?}"),
            ),
        ]
    }
}

/// Every paper is there, and ARCHITECTURE.md is short and names every crate.
fn papers(files: &[File]) -> Vec<String> {
    let missing = PAPERS.iter().filter(|paper| !files.iter().any(|file| file.path == **paper));
    let mut findings: Vec<String> = missing.map(|paper| format!("{paper}:1: is missing")).collect();
    if let Some(file) = files.iter().find(|file| file.path == "ARCHITECTURE.md") {
        let lines = file.text().lines().count();
        if lines > ARCHITECTURE_LINES_MAX {
            findings.push(file.finding(lines, format_args!("{lines} lines, at most {ARCHITECTURE_LINES_MAX}")));
        }
        let manifests = files.iter().filter_map(|file| file.path.strip_prefix("crates/")?.strip_suffix("/Cargo.toml"));
        for name in manifests.filter(|name| !file.text().contains(&format!("`{name}`"))) {
            findings.push(file.finding(1, format_args!("does not name the crate `{name}`")));
        }
    }
    findings
}

mod each_rule {
    use super::*;

    fn file(path: &str, text: &str) -> File {
        File { path: path.to_owned(), bytes: text.len() as u64, text: Some(text.to_owned()) }
    }

    /// Holds when `rule` finds exactly `expected` (`line: what`) in a file with this path and text.
    #[track_caller]
    fn finds(rule: Rule, path: &str, text: &str, expected: &[&str]) {
        let expected: Vec<String> = expected.iter().map(|finding| format!("{path}:{finding}")).collect();
        assert_eq!(rule(&[file(path, text)]), expected);
    }

    #[test]
    fn layers_point_down() {
        let lints = "\n[lints]\nworkspace = true\n";
        let manifest = |text: &str| format!("[package]\nname = \"parts\"\n[dependencies]\n{text}{lints}");
        let path = "crates/parts/Cargo.toml";
        finds(layers, path, &manifest("plane.workspace = true\nserde = \"1\"\n"), &[]);
        let up = "4: parts (layer 2) may not use action (layer 3)";
        finds(layers, path, &manifest("action.workspace = true\n"), &[up]);
        finds(layers, path, &manifest("action = { path = \"../action\" }\n"), &[up]);
        finds(layers, path, &manifest("[dev-dependencies.action]\n"), &[up]);
        finds(
            layers,
            path,
            &manifest("[target.'cfg(unix)'.dependencies]\nparts.workspace = true"),
            &["5: parts (layer 2) may not use parts (layer 2)"],
        );
        let apart = manifest("listen.workspace = true");
        finds(layers, "crates/voice/Cargo.toml", &apart, &["4: voice may never use listen"]);
        finds(layers, path, "[package]\n", &["1: does not take the workspace's lints"]);
        finds(layers, "crates/oracle/Cargo.toml", lints, &["1: crate oracle has no layer; give it one in tidy.rs"]);
    }

    #[test]
    fn long_files_are_found() {
        let path = "crates/parts/src/wheel.rs";
        finds(lengths, path, &"\n".repeat(600), &[]);
        let what = "601: 601 lines without a line `//! Long because: ...`, at most 600";
        finds(lengths, path, &"\n".repeat(601), &[what]);
        finds(lengths, path, &format!("//! Long because: one table.\n{}", "\n".repeat(700)), &[]);
        finds(
            lengths,
            path,
            &format!("//! Long because: one table.\n{}", "\n".repeat(800)),
            &["801: 801 lines, at most 800"],
        );
        finds(lengths, "docs/theory/contact.md", &"\n".repeat(900), &[]);
        let large = File { path: "docs/picture.png".to_owned(), bytes: 1_000_001, text: None };
        assert_eq!(lengths(&[large]), ["docs/picture.png:1: 1000001 bytes, at most 1000000"]);
    }

    #[test]
    fn empty_names_are_found() {
        finds(names, "crates/parts/src/utils.rs", "", &["1: `utils` says nothing about what is in it"]);
        finds(names, "web/common/units.js", "", &["1: `common` says nothing about what is in it"]);
        let text = "//! A mod helpers in a comment.\npub(crate) mod misc;\nmod fork;\n";
        finds(names, "crates/parts/src/lib.rs", text, &["2: `misc` says nothing about what is in it"]);
    }

    #[test]
    fn logic_in_a_module_file_is_found() {
        let path = "crates/parts/src/fork/mod.rs";
        finds(module_files, path, "//! The fork.\n\nmod horn;\n#[cfg(test)]\nmod tests;\npub use horn::Horn;\n", &[]);
        finds(module_files, path, "mod horn;\npub fn build() {}\n", &["2: logic in a mod.rs"]);
    }

    #[test]
    fn numbers_without_units_are_found() {
        let path = "crates/action/src/lock.rs";
        let field = |text: &str| format!("pub struct Lock {{\n{text}\n}}\n");
        finds(unit_names, path, &field("    pub depth_m: f64,\n    pub inertia_kg_m2: Option<f64>,"), &[]);
        finds(unit_names, path, &field("    pub depth: f64,"), &["2: field `depth` does not state its unit"]);
        finds(unit_names, path, &field("    pub lock: ByPallet<f64>,"), &["2: field `lock` does not state its unit"]);
        finds(unit_names, path, &field("    /// Smallest value, in the unit of the row.\n    pub min: f64,"), &[]);
        finds(
            unit_names,
            path,
            &field("    pub turn: fn(f64) -> f64,\n    depth: f64,\n    pub(crate) lift: f64,"),
            &[],
        );
        let good = "pub fn lock_rad(depth_m: f64, teeth: u16, turn: impl Fn(f64) -> f64) -> Result<f64, Error> {\n";
        finds(unit_names, path, good, &[]);
        finds(
            unit_names,
            path,
            "pub fn lock(\n    depth: f64,\n    at: (f64, u8),\n) -> f64 {\n",
            &[
                "1: parameter `depth` does not state its unit",
                "1: parameter `at` does not state its unit",
                "1: function `lock` does not state its unit",
            ],
        );
        finds(unit_names, path, "/// Dimensionless.\n#[inline]\npub fn cosine(of_rad: f64) -> f64 {\n", &[]);
        finds(
            unit_names,
            path,
            "pub fn solve() -> Lock {\n    let depth: f64 = 1.0;\n}\nmod tests {\npub fn g() -> f64 {",
            &[],
        );
        finds(
            unit_names,
            path,
            "pub const fn half<T: Into<f64>>(of: T) -> f64 {\n",
            &["1: function `half` does not state its unit"],
        );
        finds(unit_names, path, "pub(crate) struct Row {\n    pub wanted: f64,\n}\n", &[]);
        finds(unit_names, "crates/plane/src/gap.rs", "pub fn gap() -> f64 {\n", &[]);
    }

    #[test]
    fn constants_without_unit_or_reason_are_found() {
        let path = "crates/plane/src/contact.rs";
        finds(
            constants,
            path,
            "/// In radians; enough for a gap of 1 nm.\n#[doc(hidden)]\npub const TURN: f64 = 1e-9;\n",
            &[],
        );
        finds(constants, path, "const TURN_RAD: [f64; 2] = [1.0, 2.0]; // rad, chosen by trial\n", &[]);
        finds(constants, path, "impl<const N: usize> Add<f64> for Sloped<N> {\n", &[]);
        finds(
            constants,
            path,
            "    /// Small, so that it ends.\n    const END: f64 = 1e-9;\n",
            &["2: constant END does not state its unit"],
        );
        finds(
            constants,
            path,
            "// In metres.\nconst END: f64 = 1e-9;\nconst STEPS: usize = 3;\n",
            &["2: constant END: no reason or source in its comment"],
        );
        let group = "/// As in fig. 22 of the book of 1904.\nconst LOCK_DEG: f64 = 1.5;\nconst DRAW_DEG: f64 = 12.0;\n";
        finds(constants, path, group, &[]);
        let apart = format!("{group}\nconst DROP_DEG: f64 = 1.5;\n");
        finds(constants, path, &apart, &["5: constant DROP_DEG: no reason or source in its comment"]);
        finds(constants, path, "const fn half(of: f64) -> f64 {\nmod tests {\n    const END: f64 = 1.0;\n", &[]);
    }

    #[test]
    fn libraries_that_reach_outside_are_found() {
        let text = "use std::fs; // std::env\nlet now = std::time::Instant::now();\n";
        finds(
            pure_libraries,
            "crates/movement/src/read.rs",
            text,
            &["1: std::fs in a library", "2: std::time in a library"],
        );
        finds(pure_libraries, "crates/beatwright/src/main.rs", text, &[]);
        finds(pure_libraries, "crates/movement/tests/read.rs", text, &[]);
    }

    #[test]
    fn unfinished_work_is_found() {
        let text = "// TO\u{44}O later\nlet a = todo();\n    to\u{64}o!()\n#[ignor\u{65} = \"slow\"]\n";
        finds(
            unfinished,
            "crates/parts/src/fork.rs",
            text,
            &[
                "1: `TO\u{44}O`: unfinished or switched off",
                "3: `to\u{64}o!`: unfinished or switched off",
                "4: `#[ignor\u{65}`: unfinished or switched off",
            ],
        );
        finds(unfinished, "web/vendor/chart.js", text, &[]);
    }

    #[test]
    fn private_words_are_found() {
        let text = "see framework/a\nread /wor\u{6b}/a\nthe subagen\u{74} said\n";
        finds(
            private_words,
            "docs/decisions.md",
            text,
            &["2: `/wor\u{6b}/`: not part of the project", "3: `subagen\u{74}`: not part of the project"],
        );
    }

    #[test]
    fn unseen_characters_are_found() {
        finds(characters, "docs/glossary.md", "échappement\tα\n", &[]);
        finds(
            characters,
            "docs/glossary.md",
            "a\nb\u{200b}\nc\r\n",
            &["2: character U+200B cannot be seen", "3: character U+000D cannot be seen"],
        );
        finds(characters, "fuzz/corpus/read/1.toml", "a\u{0}", &[]);
        finds(characters, "crates/movement/tests/malformed/crlf.toml", "a\r\n", &[]);
        let latin = |path: &str| File { path: path.to_owned(), bytes: 1, text: None };
        assert_eq!(characters(&[latin("notes.md"), latin("a.png")]), ["notes.md:1: not UTF-8"]);
    }

    #[test]
    fn other_commands_in_the_readme_are_found() {
        let text = |code: &str| format!("# Beatwright\n\n## Set up\n{code}\n## Tour\n```sh\ncargo run\n```\n");
        finds(readme, "README.md", &text("```sh\ncargo run --release\n```\nand\n```sh\n./test.sh\n```\n"), &[]);
        finds(readme, "README.md", &text("```sh\n# Build.\ncargo run --release\n\n./test.sh\n```\n"), &[]);
        let third = text("```sh\ncargo run --release\n./test.sh\n```\n```sh\nmake\n```\n");
        assert_eq!(readme(&[file("README.md", &third)]).len(), 1);
        assert_eq!(readme(&[file("README.md", &text("```sh\n./test.sh\n```\n"))]).len(), 1);
        assert_eq!(readme(&[file("README.md", "No commands.\n")]).len(), 1);
    }

    #[test]
    fn missing_papers_and_crates_are_found() {
        let mut files: Vec<File> = PAPERS.iter().map(|paper| file(paper, "`plane`\n")).collect();
        files.push(file("crates/plane/Cargo.toml", ""));
        assert_eq!(papers(&files), Vec::<String>::new());
        files.push(file("crates/parts/Cargo.toml", ""));
        assert_eq!(papers(&files), ["ARCHITECTURE.md:1: does not name the crate `parts`"]);
        files.retain(|file| file.path != "README.md" && file.path != "ARCHITECTURE.md");
        assert_eq!(papers(&files), ["README.md:1: is missing", "ARCHITECTURE.md:1: is missing"]);
        files.push(file("ARCHITECTURE.md", &"`plane` `parts`\n".repeat(301)));
        files.push(file("README.md", ""));
        assert_eq!(papers(&files), ["ARCHITECTURE.md:301: 301 lines, at most 300"]);
    }
}
