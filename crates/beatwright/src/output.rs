//! What a command ends with, and how text reaches the outside.

use movement::Diagnostic;
use std::io::{ErrorKind, Read, Write};
use std::path::Path;
use std::process::ExitCode;

/// Exit status of a command that did its work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Sound, or nothing to judge.
    Ok = 0,
    /// Something was found.
    Finding = 1,
    /// Bad input or use.
    BadInput = 2,
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> ExitCode {
        ExitCode::from(status as u8)
    }
}

/// Why a command ended early.
#[derive(Debug)]
pub enum Stop {
    /// Diagnostics have been shown already.
    Reported,
    /// The reader of standard output has gone.
    PipeClosed,
    /// Stopped by the person.
    Cancelled,
    /// Something could not be done.
    Problem {
        /// Stable name, such as `unreadable`.
        code: &'static str,
        /// What, with the chain of causes.
        message: String,
        /// What to do.
        hint: Option<String>,
    },
}

impl Stop {
    /// A problem of use, with a hint.
    pub fn problem(message: impl Into<String>, hint: impl Into<String>) -> Stop {
        Stop::coded("bad-use", message, hint)
    }

    /// A problem with a hint.
    pub fn coded(code: &'static str, message: impl Into<String>, hint: impl Into<String>) -> Stop {
        Stop::Problem { code, message: message.into(), hint: Some(hint.into()) }
    }

    /// A problem from an error and its causes.
    pub fn from_error(error: &dyn std::error::Error) -> Stop {
        let mut message = error.to_string();
        let mut cause = error.source();
        while let Some(error) = cause {
            message.push_str(&format!(": {error}"));
            cause = error.source();
        }
        Stop::Problem { code: "not-done", message, hint: None }
    }
}

/// Writes the document of an input that is refused; without a file where none was named.
pub fn emit_refusal(file: Option<&str>, diagnostics: &[Diagnostic], fault_count: usize) -> Result<(), Stop> {
    emit(&pretty(&serde_json::json!({
        "schema": "beatwright.diagnostics/1",
        "program": concat!("beatwright ", env!("CARGO_PKG_VERSION")),
        "file": file,
        "verdict": "bad-input",
        "fault_count": fault_count,
        "diagnostics": diagnostics,
    })))
}

/// A value at the edges, rounded to 12 significant digits: beyond these it only tells how it was converted.
pub fn edge(value: f64) -> f64 {
    format!("{value:.11e}").parse().unwrap_or(value)
}

/// Writes text to standard output.
pub fn emit(text: &str) -> Result<(), Stop> {
    let newline = if text.ends_with('\n') { "" } else { "\n" };
    emit_bytes(format!("{text}{newline}").as_bytes())
}

/// Writes bytes to standard output.
pub fn emit_bytes(bytes: &[u8]) -> Result<(), Stop> {
    let mut out = std::io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Ok(()) => Ok(()),
        Err(e) if e.kind() == ErrorKind::BrokenPipe => Err(Stop::PipeClosed),
        Err(e) => {
            Err(Stop::coded("unwritable", format!("could not write to standard output: {e}"), "is the disk full?"))
        }
    }
}

/// How much of an existing file is looked at to see what it is: more than any usual head.
const HEAD_BYTES: u64 = 4096;

/// That what is written to `path` destroys nothing else: not the movement it is made from, and without `force` no file that
/// is not one of the same kind, called `kind`, which `is_such` knows by its first bytes. `like` is a usual name.
pub fn may_write(
    path: &Path,
    movement: &Path,
    kind: &str,
    like: &str,
    is_such: impl Fn(&str) -> bool,
    force: bool,
) -> Result<(), Stop> {
    let Ok(found) = std::fs::metadata(path) else { return Ok(()) };
    let refused =
        |what: String, hint: String| Err(Stop::coded("would-overwrite", format!("{} {what}", path.display()), hint));
    let same = |a: &Path, b: &Path| match (a.canonicalize(), b.canonicalize()) {
        (Ok(a), Ok(b)) => a == b,
        _ => false,
    };
    if same(path, movement) {
        return refused(
            "is the movement itself; nothing was written".to_owned(),
            format!("give the {kind} a name of its own, such as {like}"),
        );
    }
    if !found.is_file() {
        return refused(
            "is no file that can be replaced".to_owned(),
            format!("give the name of a file, such as {like}"),
        );
    }
    if !force && found.len() > 0 && !begins(path, is_such) {
        return refused(
            format!("exists already and is no {kind}; nothing was written"),
            "choose another name, or replace it with --force".to_owned(),
        );
    }
    Ok(())
}

/// Whether a file begins as it should.
fn begins(path: &Path, is_such: impl Fn(&str) -> bool) -> bool {
    let mut head = Vec::new();
    let read = std::fs::File::open(path).and_then(|file| file.take(HEAD_BYTES).read_to_end(&mut head));
    read.is_ok() && is_such(&String::from_utf8_lossy(&head))
}

/// Writes a file, whole or not at all.
pub fn write_file(path: &Path, content: impl AsRef<[u8]>) -> Result<(), Stop> {
    let failed = |e: std::io::Error| {
        Stop::coded(
            "unwritable",
            format!("could not write {}: {e}", path.display()),
            "check that the folder exists and may be written to",
        )
    };
    let mut name = path.file_name().unwrap_or_default().to_owned();
    if name.is_empty() {
        return Err(Stop::coded(
            "unwritable",
            format!("could not write {}: it names no file", path.display()),
            "give a file name, such as out.svg",
        ));
    }
    name.push(".part");
    let beside = path.with_file_name(name);
    std::fs::write(&beside, content).map_err(failed)?;
    std::fs::rename(&beside, path).map_err(|e| {
        let _ = std::fs::remove_file(&beside); // the write has failed already; what is left over is only in the way
        failed(e)
    })
}

/// JSON as it is printed.
pub fn pretty(value: &serde_json::Value) -> String {
    serde_json::to_string_pretty(value).expect("a JSON value always has a text")
}
