//! Without a command: the built-in demo movement, checked and drawn.

use drawing::{Options, Subject, render};

use crate::check::{report, status};
use crate::cli::MovementArgs;
use crate::draw::{find_moment, place};
use crate::input::load_quietly;
use crate::output::{Status, Stop, emit, write_file};

/// Checks the demo movement, draws it and says where.
pub fn show() -> Result<Status, Stop> {
    let loaded = load_quietly(&MovementArgs { file: "demo".into(), set: Vec::new() }, false)?;
    emit(&report(&loaded))?;
    loaded.remark();
    let at = find_moment(&loaded, "entry-banked")?;
    let mut options = Options::new(Subject::Assembly);
    place(&mut options, &loaded, at.as_ref());
    let svg = render(&loaded.build, &options).map_err(|e| Stop::from_error(&e))?;
    let path = std::env::temp_dir().join("beatwright-demo.svg");
    write_file(&path, &svg)?;
    emit(&format!(
        "\nDrawn in {}\nYour own: beatwright new mine.toml, then beatwright check mine.toml (--help for the rest)",
        path.display()
    ))?;
    Ok(status(&loaded))
}
