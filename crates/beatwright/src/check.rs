//! `check`: verdict, findings, tables.

use serde_json::Value;

use crate::cli::CheckArgs;
use crate::input::{Loaded, load_quietly};
use crate::json;
use crate::output::{Status, Stop, emit, pretty};
use crate::tables::{figure_tables, finding_list, parameter_table, shaken_table, tooth_table, verdict};

/// Checks a movement.
pub fn check(args: &CheckArgs) -> Result<Status, Stop> {
    let loaded = load_quietly(&args.movement, args.json)?;
    if args.json {
        let mut document = json::head("beatwright.check/1", &loaded);
        document.insert("figures".to_owned(), json::figures(|id| id.value(&loaded.action)));
        document.insert("sideshake".to_owned(), json::shaken(&loaded));
        document.insert("parameters".to_owned(), json::parameters(&loaded));
        emit(&pretty(&Value::Object(document)))?;
    } else {
        let mut text = report(&loaded);
        if args.parameters {
            text.push_str(&format!("\n{}", parameter_table(&loaded)));
        }
        emit(&text)?;
        loaded.remark();
    }
    Ok(status(&loaded))
}

/// 0 when nothing was found, else 1.
pub fn status(loaded: &Loaded) -> Status {
    if loaded.findings.is_empty() { Status::Ok } else { Status::Finding }
}

/// Verdict, findings and tables as text.
pub fn report(loaded: &Loaded) -> String {
    let (_, sentence) = verdict(&loaded.findings);
    let mut text = format!("{}: {sentence}\n", loaded.statement.name);
    if !loaded.findings.is_empty() {
        text.push_str(&format!("\n{}", finding_list(&loaded.findings)));
    }
    text.push_str(&format!("\n{}", figure_tables(loaded)));
    if !loaded.build.parts.wheel.alike() {
        text.push_str(&format!("\n{}", tooth_table(&loaded.action)));
    }
    match shaken_table(loaded) {
        Some(shaken) => text.push_str(&format!("\n{shaken}")),
        None => {
            text.push_str("Pivots are taken without sideshake; state pivots.*_sideshake_mm to have them displaced.\n")
        }
    }
    text
}
