//! `--history`: the states that a motion goes through, as CSV.

use motion::{Event, Machine, Moment, Shock, State};
use std::path::{Path, PathBuf};

use crate::cli::MotionArgs;
use crate::input::Loaded;
use crate::motion_command::outcome::touching;
use crate::motion_command::{options, setting};
use crate::output::{Stop, edge, may_write, write_file};

/// First line of the file.
const HEADER: &str = "t_ms,wheel_deg,lever_deg,balance_deg,wheel_deg_per_s,lever_deg_per_s,balance_deg_per_s,event";
/// Instants an oscillation where no time between them is given.
const A_PERIOD: f64 = 1000.0;
/// Even times that are written at most: a quarter of a gigabyte.
const MOST: f64 = 2e6;

/// A history on its way into a file.
pub struct History {
    path: PathBuf,
    every_s: f64,
    text: String,
    count: usize,
}

impl History {
    /// Looks whether it can be written before anything is computed.
    pub fn begin(path: &Path, args: &MotionArgs, loaded: &Loaded) -> Result<History, Stop> {
        let is_history = |head: &str| head.starts_with(HEADER);
        may_write(path, &args.movement.file, "history of a motion", "out.csv", is_history, args.force)?;
        let period_s = setting(&loaded.build.movement).nominal_period_s;
        let every_s = args.every_ms.map_or(period_s / A_PERIOD, |ms| 1e-3 * ms);
        let wheel = &loaded.build.parts.wheel;
        let repeats = if wheel.alike() { 1 } else { wheel.tooth_count };
        let beats = args.beats.map_or(2.0 * f64::from(repeats), f64::from);
        let count = 0.5 * beats * period_s / every_s;
        if count > MOST {
            return Err(Stop::problem(
                format!("a history of {count:.0} instants is too long"),
                format!("at most {MOST}: fewer --beats, or a longer time between them with --every-ms"),
            ));
        }
        Ok(History { path: path.to_owned(), every_s, text: format!("{HEADER}\n"), count: 0 })
    }

    /// Plays a motion again and keeps its states.
    pub fn follow(&mut self, machine: &Machine, from: &State, extremes: usize) {
        machine.follow(from, extremes, options(extremes), self.every_s, |moment| {
            self.text.push_str(&line(moment));
            self.count += 1;
        });
    }

    /// Writes what was kept.
    pub fn write(self) -> Result<(), Stop> {
        if self.count == 0 {
            eprintln!("note: there is no motion to be followed, and no history was written; --beats N plays N beats");
            return Ok(());
        }
        write_file(&self.path, &self.text)?;
        eprintln!("wrote {} instants into {}", self.count, self.path.display());
        Ok(())
    }
}

fn line(moment: &Moment) -> String {
    let s = &moment.state;
    let turned = [s.wheel_rad, s.lever_rad, s.balance_rad, s.wheel_rad_per_s, s.lever_rad_per_s, s.balance_rad_per_s];
    let turned = turned.map(|rad| edge(rad.to_degrees()).to_string()).join(",");
    format!("{},{turned},{}\n", edge(1e3 * s.t_s), moment.event.as_ref().map_or(String::new(), told))
}

fn told(event: &Event) -> String {
    match event {
        Event::Extreme { .. } => "balance turns".to_owned(),
        Event::Advances { .. } => "wheel advances".to_owned(),
        Event::Shock(Shock { meeting, faces, .. }) => {
            format!("{}: {} on {}", touching(*meeting), faces[0].name(), faces[1].name())
        }
    }
}
