//! `listen`: figures of recordings.

use listen::{Error, Listened, Recording, listen};
use rayon::prelude::*;
use std::fs::File;
use std::io::{Seek, SeekFrom};
use std::path::{Path, PathBuf};

use crate::cli::ListenArgs;
use crate::output::{Status, Stop, emit};
use crate::report::{Report, Settings, UNCHECKED_PPM, UNCHECKED_S_PER_DAY};
use crate::tables::{bare_table, right};

/// What came of one recording.
struct Heard {
    file: String,
    listened: Result<Listened, Error>,
}

/// Hears recordings, many at once.
pub fn hear(args: &ListenArgs) -> Result<Status, Stop> {
    if args.recordings.iter().filter(|r| *r == Path::new("-")).count() > 1 {
        return Err(Stop::problem("standard input can be read once", "give `-` once"));
    }
    let all: Vec<Heard> = args.recordings.par_iter().map(heard).collect();
    let said = |one: &Heard| if args.json { one.json(args) } else { Ok(one.text(args)) };
    let text = all.iter().map(said).collect::<Result<Vec<String>, Stop>>()?;
    emit(&text.join("\n"))?;
    if all.iter().any(|one| one.listened.is_err()) {
        return Ok(Status::BadInput);
    }
    let all_heard = all.iter().all(|one| one.listened.as_ref().is_ok_and(|l| l.heard.is_ok()));
    Ok(if all_heard { Status::Ok } else { Status::Finding })
}

fn heard(path: &PathBuf) -> Heard {
    let opened = if path == Path::new("-") { spooled() } else { opened(path) };
    let listened = opened.and_then(|mut recording| listen(&mut recording));
    Heard { file: path.display().to_string(), listened }
}

fn opened(path: &Path) -> Result<Recording, Error> {
    let file = File::open(path).map_err(Error::File)?;
    Recording::open(Box::new(file), path.extension().and_then(|e| e.to_str()))
}

/// Standard input as a file of its own, which is gone when it is read.
fn spooled() -> Result<Recording, Error> {
    let mut file = tempfile::tempfile().map_err(Error::File)?;
    std::io::copy(&mut std::io::stdin().lock(), &mut file).map_err(Error::File)?;
    file.seek(SeekFrom::Start(0)).map_err(Error::File)?;
    Recording::open(Box::new(file), None)
}

impl ListenArgs {
    fn settings(&self) -> Settings {
        Settings {
            lift_deg: self.lift_deg,
            beats_per_hour: self.beats_per_hour,
            clock_ppm: self.clock_ppm,
            by_flags: true,
        }
    }
}

impl Heard {
    fn report(&self, args: &ListenArgs) -> Report {
        Report::of(&self.file, &self.listened, &args.settings())
    }

    fn json(&self, args: &ListenArgs) -> Result<String, Stop> {
        serde_json::to_string(&self.report(args)).map_err(|e| Stop::from_error(&e))
    }

    fn text(&self, args: &ListenArgs) -> String {
        let report = self.report(args);
        if let Err(e) = &self.listened {
            return format!("{}: {e}\n", self.file);
        }
        if let Some(reason) = &report.reason {
            return format!("{}: no figures: {reason}\n", self.file);
        }
        let mut table = bare_table();
        table.set_header(["", "found", "standard error", "unit"]);
        let mut row = |what: &str, value: Option<f64>, sigma: Option<f64>, digits: usize, unit: &str, sign: bool| {
            let found =
                value.map_or("-".to_owned(), |v| if sign { format!("{v:+.digits$}") } else { format!("{v:.digits$}") });
            table.add_row([
                what.to_owned(),
                found,
                sigma.map_or("-".to_owned(), |s| format!("{s:.digits$}")),
                unit.to_owned(),
            ]);
        };
        row("rate", report.rate_s_per_day, report.rate_se_s_per_day, 2, "s/d", true);
        row("amplitude", report.amplitude_deg, report.amplitude_se_deg, 1, "deg", false);
        row("beat error", report.beat_error_ms, report.beat_error_se_ms, 3, "ms", false);
        let per_hour = report.beat_s.map(|beat_s| 3600.0 / beat_s);
        let per_hour_sigma =
            per_hour.zip(report.beat_s.zip(report.beat_se_s)).map(|(n, (beat, sigma))| n * sigma / beat);
        row("beats an hour", per_hour, per_hour_sigma, 2, "1/h", false);
        right(&mut table, 1..3);
        let nominal = report.beats_per_hour.map_or("no usual count".to_owned(), |n| format!("{n} beats an hour"));
        let mut text = format!(
            "{}: {nominal}, {:.1} s, {} of {} beats timed\n\n{table}\n\n",
            self.file,
            report.lasts_s.unwrap_or_default(),
            report.beats_heard.unwrap_or_default(),
            report.beats.unwrap_or_default()
        );
        text.push_str("Beat error: half the difference of successive beats.\n");
        for missing in &report.missing {
            text.push_str(&format!("Missing {missing}.\n"));
        }
        if let Some(lift) = args.lift_deg.filter(|_| report.amplitude_deg.is_some()) {
            text.push_str(&format!(
                "Amplitude: lift {lift} deg, from the first noise to the drop; it carries the lift's error in full.\n"
            ));
        }
        text.push_str(&clock(args));
        if let (Some(heard_in), Some([low, high]), Some(timed_by), Some(scatter_ms)) =
            (&report.heard_in, report.band_hz, &report.timed_by, report.scatter_ms)
        {
            text.push_str(&format!(
                "Heard in {heard_in}, {low:.0} to {high:.0} Hz; timed by {timed_by}; beats scatter by {scatter_ms:.3} ms.\n"
            ));
        }
        if !report.stretches.is_empty() {
            text.push_str(&stretches(&report));
        }
        if let Some(count) = report.unreadable_packets.filter(|count| *count > 0) {
            text.push_str(&format!("{count} packets could not be read; their time is missing.\n"));
        }
        text
    }
}

/// What was heard before and after the sound changed.
fn stretches(report: &Report) -> String {
    let mut table = bare_table();
    table.set_header(["from, s", "until, s", "rate, s/d", "amplitude, deg", "beat error, ms"]);
    let pair = |value: Option<f64>, sigma: Option<f64>, digits: usize| {
        value.zip(sigma).map_or("-".to_owned(), |(v, s)| format!("{v:.digits$} ± {s:.digits$}"))
    };
    for own in &report.stretches {
        table.add_row([
            format!("{:.1}", own.from_s),
            format!("{:.1}", own.until_s),
            pair(own.rate_s_per_day, own.rate_se_s_per_day, 2),
            pair(own.amplitude_deg, own.amplitude_se_deg, 1),
            pair(own.beat_error_ms, own.beat_error_se_ms, 3),
        ]);
    }
    right(&mut table, 0..5);
    format!(
        "The sound changes on the way, as when a watch is moved; the figures above are those of its longest stretch:\n\n{table}\n\n"
    )
}

fn clock(args: &ListenArgs) -> String {
    match args.clock_ppm {
        None => format!(
            "The recorder's clock is unchecked: a usual one may be off by {UNCHECKED_PPM} ppm, {UNCHECKED_S_PER_DAY:.2} s/d (--clock-ppm).\n"
        ),
        Some((ppm, sigma)) => format!(
            "The recorder's clock is taken to be {} by {} ppm{}.\n",
            if ppm < 0.0 { "slow" } else { "fast" },
            ppm.abs(),
            sigma.map_or(", without an error".to_owned(), |s| format!(", standard error {s} ppm"))
        ),
    }
}
