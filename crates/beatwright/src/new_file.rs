//! `new`: a commented movement file.

use std::path::Path;

use crate::cli::NewArgs;
use crate::output::{Status, Stop, emit, write_file};

/// Writes a movement file to begin with.
pub fn write_new(args: &NewArgs) -> Result<Status, Stop> {
    let to_stdout = args.file == Path::new("-");
    let own_name = || {
        if to_stdout {
            "movement".to_owned()
        } else {
            args.file.file_stem().unwrap_or_default().to_string_lossy().into_owned()
        }
    };
    let text = text(&args.name.clone().unwrap_or_else(own_name), args.teeth, args.radius_mm)?;
    if to_stdout {
        emit(&text)?;
        return Ok(Status::Ok);
    }
    if args.file.exists() && !args.force {
        return Err(Stop::problem(
            format!("{} exists already", args.file.display()),
            "choose another name, or replace it with --force",
        ));
    }
    write_file(&args.file, &text)?;
    eprintln!("wrote {}; now: beatwright check {}", args.file.display(), as_argument(&args.file));
    Ok(Status::Ok)
}

/// A commented movement file.
pub fn text(name: &str, tooth_count: u32, locking_radius_mm: f64) -> Result<String, Stop> {
    for (kind, value) in [
        (movement::ParamKind::WheelLockingRadius, locking_radius_mm),
        (movement::ParamKind::WheelToothCount, f64::from(tooth_count)),
    ] {
        let row = kind.param();
        if !(row.min..=row.max).contains(&value) {
            return Err(Stop::problem(
                format!("{} = {value} is out of range", row.path),
                format!("give {}", movement::allowed_text(row)),
            ));
        }
    }
    let text = movement::template(name, tooth_count, locking_radius_mm);
    if let Some(fault) = movement::read("", &text).diagnostics.into_iter().find(movement::Diagnostic::is_error) {
        let hint = "name the movement in one line of text, such as --name \"watch 1\"";
        return Err(Stop::coded(fault.code, format!("the name '{}': {}", name.escape_debug(), fault.message), hint));
    }
    Ok(text)
}

/// A path as it can be typed: quoted where a shell would part or change it, and never taken for the demo or an option.
fn as_argument(path: &Path) -> String {
    let text = path.display().to_string();
    let text = if text == "demo" || text.starts_with('-') { format!("./{text}") } else { text };
    let plain = |c: char| c.is_alphanumeric() || "._-/+,:@%".contains(c);
    if text.chars().all(plain) { text } else { format!("'{}'", text.replace('\'', "'\\''")) }
}
