//! The JSON Schema against an outside validator: it takes what reads and refuses what a schema can refuse.
#![allow(clippy::unwrap_used)]

use std::path::Path;

use jsonschema::Validator;
use movement::{Severity, json_schema, read_bytes, template};
use serde_json::Value;

/// Codes whose fault shows in a single key or value.
const SEEN_BY_A_SCHEMA: &[&str] = &[
    "missing-format",
    "newer-format",
    "bad-format",
    "missing",
    "bad-name",
    "wrong-type",
    "unknown-kind",
    "unknown-key",
    "out-of-range",
    "not-whole",
    "not-half",
    "unknown-word",
];

fn validator() -> Validator {
    let schema = json_schema();
    jsonschema::draft202012::meta::validate(&schema).expect("the schema obeys its draft");
    jsonschema::draft202012::new(&schema).expect("the schema compiles")
}

fn json(text: &str) -> Option<Value> {
    let table: toml::Table = toml::from_str(text).ok()?;
    serde_json::to_value(table).ok()
}

#[test]
fn takes_the_template_and_the_examples() {
    let validator = validator();
    for (teeth, radius_mm) in [(15, 4.0), (21, 3.5), (60, 100.0)] {
        let text = template("a", teeth, radius_mm);
        let faults: Vec<String> =
            validator.iter_errors(&json(&text).unwrap()).map(|e| format!("{}: {e}", e.instance_path())).collect();
        assert_eq!(faults, Vec::<String>::new(), "{teeth} teeth");
    }
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut seen = 0;
    for entry in std::fs::read_dir(examples).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "toml") {
            let text = std::fs::read_to_string(&path).unwrap();
            assert!(!movement::read("example", &text).has_errors(), "{}", path.display());
            assert!(validator.is_valid(&json(&text).unwrap()), "{}", path.display());
            seen += 1;
        }
    }
    assert!(seen > 0, "no example was found");
}

#[test]
fn both_forms_of_a_pallet_key_and_teeth_are_described() {
    let validator = validator();
    let base = "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 15\nlocking_radius_mm = 4\n";
    for more in [
        "[pallets]\nlock_deg = 1.5\n",
        "[pallets.entry]\nlock_deg = 1.5\n[pallets.exit]\nlock_deg = 1\n",
        "[bankings.exit]\nrun_deg = 0.2\n",
        "[wheel.teeth.14]\nlonger_mm = 0.01\nbent_deg = 0\n",
        "[guard]\nform = \"pin\"\n",
    ] {
        assert!(validator.is_valid(&json(&format!("{base}{more}")).unwrap()), "{more}");
    }
    for more in [
        "[pallets]\nlock_mm = 1.5\n",
        "[pallets.middle]\nlock_deg = 1.5\n",
        "[wheel.teeth.60]\nlonger_mm = 0.01\n",
        "[wheel.teeth.01]\nlonger_mm = 0.01\n",
        "[guard]\nform = \"horn\"\n",
        "[fork]\nratio_of_radii = \"3\"\n",
    ] {
        assert!(!validator.is_valid(&json(&format!("{base}{more}")).unwrap()), "{more}");
    }
}

#[test]
fn agrees_with_reading_on_the_malformed_files() {
    let validator = validator();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/malformed");
    let (mut refused, mut taken) = (0, 0);
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let bytes = std::fs::read(&path).unwrap();
        let name = path.file_stem().unwrap().to_str().unwrap();
        let Some(json) = std::str::from_utf8(&bytes).ok().and_then(json) else { continue };
        // To JSON 1.0 is the integer 1, to TOML it is not.
        if matches!(name, "expected" | "format-float") {
            continue;
        }
        let reading = read_bytes(name, &bytes);
        let errors: Vec<&str> =
            reading.diagnostics.iter().filter(|d| d.severity == Severity::Error).map(|d| d.code).collect();
        if errors.iter().any(|code| SEEN_BY_A_SCHEMA.contains(code)) {
            assert!(!validator.is_valid(&json), "{name} {errors:?}");
            refused += 1;
        } else if errors.is_empty() {
            assert!(validator.is_valid(&json), "{name}");
            taken += 1;
        }
    }
    assert!(refused > 100 && taken > 2, "{refused} refused, {taken} taken");
}
