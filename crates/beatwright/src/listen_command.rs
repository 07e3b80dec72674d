//! `listen`: figures of recordings.

use beat::{Estimate, Figures};
use listen::{Error, Listened, Mix, Recording, listen};
use rayon::prelude::*;
use serde_json::{Value, json};
use std::fs::File;
use std::io::{Seek, SeekFrom};
use std::path::{Path, PathBuf};

use crate::cli::ListenArgs;
use crate::output::{Status, Stop, edge, emit};
use crate::tables::{bare_table, right};

/// Seconds a day for a part of a million.
const S_PER_DAY_PER_PPM: f64 = 0.0864;
const S_PER_DAY: f64 = 86_400.0;
/// A recorder's clock that nobody has checked, ppm: that of cheap oscillators over temperature (data sheets of sound cards'
/// crystals, from memory).
const UNCHECKED_PPM: f64 = 100.0;

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
    let text: Vec<String> =
        all.iter().map(|one| if args.json { one.json(args).to_string() } else { one.text(args) }).collect();
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

/// Figures at the edge, with what they are uncertain by.
struct Shown {
    per_hour: Option<f64>,
    rate: Option<[f64; 2]>,
    amplitude: Option<[f64; 2]>,
    beat_error: Option<[f64; 2]>,
    beat_s: [f64; 2],
    figures: Figures,
    /// Why figures are missing.
    missing: Vec<String>,
}

impl Shown {
    fn new(heard: &listen::Heard, args: &ListenArgs) -> Option<Shown> {
        let per_hour = args.beats_per_hour.or_else(|| heard.usual_per_hour());
        let figures = heard.figures(3600.0 / per_hour.unwrap_or(3600.0), args.lift_deg.map(f64::to_radians))?;
        let at = |e: Estimate, by: f64| [e.value_si * by, e.sigma_si * by];
        let (ppm, ppm_sigma) = args.clock_ppm.map_or((0.0, 0.0), |(ppm, sigma)| (ppm, sigma.unwrap_or(0.0)));
        let [shown, sigma] = at(figures.rate_ratio, S_PER_DAY);
        let rate = [shown + S_PER_DAY_PER_PPM * ppm, sigma.hypot(S_PER_DAY_PER_PPM * ppm_sigma)];
        // What is known to nothing is not given.
        let known = |found: &[f64; 2]| found[1].is_finite();
        let amplitude = figures.amplitude_rad.map(|a| at(a, 1_f64.to_degrees())).filter(known);
        let beat_error = Some(at(figures.beat_error_s, 1e3)).filter(known);
        let mut missing = Vec::new();
        if per_hour.is_none() {
            missing.push("rate: it is near no usual count of beats an hour; give --beats-per-hour".to_owned());
        }
        if beat_error.is_none() {
            missing.push("beat error: too few beats to know where the noises of both sides are".to_owned());
        }
        match (amplitude, args.lift_deg, heard.has_first) {
            (Some(_), ..) => {}
            (None, None, true) => missing.push("amplitude: give the lift, --lift-deg".to_owned()),
            (None, _, false) => {
                missing
                    .push("amplitude: no first noise, as the jewel meets the fork, is heard on both sides".to_owned());
            }
            (None, Some(lift), true) => missing.push(format!(
                "amplitude: with a lift of {lift} deg the noises that are heard would give none between 70 and 370 deg"
            )),
        }
        Some(Shown {
            per_hour,
            rate: per_hour.map(|_| rate),
            amplitude,
            beat_error,
            beat_s: at(figures.beat_s, 1.0),
            figures,
            missing,
        })
    }
}

impl Heard {
    fn json(&self, args: &ListenArgs) -> Value {
        let mut out = json!({
            "schema": "beatwright.listen/1",
            "file": self.file,
            "beats_per_hour": null, "rate_s_per_day": null, "rate_se_s_per_day": null,
            "amplitude_deg": null, "amplitude_se_deg": null,
            "beat_error_ms": null, "beat_error_se_ms": null,
            "beat_error_definition": "half the absolute difference of successive beats",
            "lift_deg": args.lift_deg,
            "clock_ppm": args.clock_ppm.map(|c| c.0), "clock_se_ppm": args.clock_ppm.and_then(|c| c.1),
            "refused": true, "reason": null,
        });
        let listened = match &self.listened {
            Ok(listened) => listened,
            Err(e) => {
                out["reason"] = json!(e.to_string());
                return out;
            }
        };
        out["sampling_hz"] = json!(listened.rate_hz);
        out["channels"] = json!(listened.channels);
        out["heard_in"] = json!(mix(listened));
        out["unreadable_packets"] = json!(listened.unreadable_count);
        let heard = match &listened.heard {
            Ok(heard) => heard,
            Err(refusal) => {
                out["reason"] = json!(refusal.to_string());
                return out;
            }
        };
        let Some(shown) = Shown::new(heard, args) else {
            out["reason"] = json!("too few beats of both sides");
            return out;
        };
        let mut put = |name: &str, sigma: &str, value: Option<[f64; 2]>| {
            out[name] = json!(value.map(|v| edge(v[0])));
            out[sigma] = json!(value.map(|v| edge(v[1])));
        };
        put("rate_s_per_day", "rate_se_s_per_day", shown.rate);
        put("amplitude_deg", "amplitude_se_deg", shown.amplitude);
        put("beat_error_ms", "beat_error_se_ms", shown.beat_error);
        put("beat_s", "beat_se_s", Some(shown.beat_s));
        out["beats_per_hour"] = json!(shown.per_hour);
        out["beats_heard"] = json!(shown.figures.beat_count);
        out["beats"] = json!(beats(heard));
        out["lasts_s"] = json!(edge(heard.lasts_s));
        out["band_hz"] = json!(heard.edges_hz.map(f64::round));
        out["scatter_ms"] = json!(edge(heard.scatter_s * 1e3));
        out["timed_by"] = json!(timed_by(heard));
        out["missing"] = json!(shown.missing);
        out["refused"] = json!(false);
        out
    }

    fn text(&self, args: &ListenArgs) -> String {
        let listened = match &self.listened {
            Ok(listened) => listened,
            Err(e) => return format!("{}: {e}\n", self.file),
        };
        let heard = match &listened.heard {
            Ok(heard) => heard,
            Err(refusal) => return format!("{}: no figures: {refusal}\n", self.file),
        };
        let Some(shown) = Shown::new(heard, args) else {
            return format!("{}: no figures: too few beats of both sides\n", self.file);
        };
        let mut table = bare_table();
        table.set_header(["", "found", "standard error", "unit"]);
        let mut row = |what: &str, value: Option<[f64; 2]>, digits: usize, unit: &str, sign: bool| {
            let found = value.map_or("-".to_owned(), |v| {
                if sign { format!("{:+.digits$}", v[0]) } else { format!("{:.digits$}", v[0]) }
            });
            table.add_row([
                what.to_owned(),
                found,
                value.map_or("-".to_owned(), |v| format!("{:.digits$}", v[1])),
                unit.to_owned(),
            ]);
        };
        row("rate", shown.rate, 2, "s/d", true);
        row("amplitude", shown.amplitude, 1, "deg", false);
        row("beat error", shown.beat_error, 3, "ms", false);
        let per_hour = 3600.0 / shown.beat_s[0];
        row("beats an hour", Some([per_hour, per_hour * shown.beat_s[1] / shown.beat_s[0]]), 2, "1/h", false);
        right(&mut table, 1..3);
        let nominal = shown.per_hour.map_or("no usual count".to_owned(), |n| format!("{n} beats an hour"));
        let mut text = format!(
            "{}: {nominal}, {:.1} s, {} of {} beats timed\n\n{table}\n\n",
            self.file,
            heard.lasts_s,
            shown.figures.beat_count,
            beats(heard)
        );
        text.push_str("Beat error: half the difference of successive beats.\n");
        for missing in &shown.missing {
            text.push_str(&format!("Missing {missing}.\n"));
        }
        if let Some(lift) = args.lift_deg.filter(|_| shown.amplitude.is_some()) {
            text.push_str(&format!(
                "Amplitude: lift {lift} deg, from the first noise to the drop; it carries the lift's error in full.\n"
            ));
        }
        text.push_str(&clock(args));
        text.push_str(&format!(
            "Heard in {}, {:.0} to {:.0} Hz; timed by {}; beats scatter by {:.3} ms.\n",
            mix(listened),
            heard.edges_hz[0],
            heard.edges_hz[1],
            timed_by(heard),
            heard.scatter_s * 1e3
        ));
        if listened.unreadable_count > 0 {
            text.push_str(&format!(
                "{} packets could not be read; their time is missing.\n",
                listened.unreadable_count
            ));
        }
        text
    }
}

fn clock(args: &ListenArgs) -> String {
    match args.clock_ppm {
        None => format!(
            "The recorder's clock is unchecked: a usual one may be off by {UNCHECKED_PPM} ppm, {:.2} s/d (--clock-ppm).\n",
            UNCHECKED_PPM * S_PER_DAY_PER_PPM
        ),
        Some((ppm, sigma)) => format!(
            "The recorder's clock is taken to be {} by {} ppm{}.\n",
            if ppm < 0.0 { "slow" } else { "fast" },
            ppm.abs(),
            sigma.map_or(", without an error".to_owned(), |s| format!(", standard error {s} ppm"))
        ),
    }
}

fn mix(listened: &Listened) -> String {
    match (listened.mix, listened.channels) {
        (_, 1) => "its one channel".to_owned(),
        (Mix::Channel(one), of) => format!("channel {} of {of}", one + 1),
        (Mix::Mean, of) => format!("the mean of its {of} channels"),
    }
}

fn timed_by(heard: &listen::Heard) -> &'static str {
    if heard.has_first { "the first noise" } else { "the drop, or what is loudest" }
}

/// Beats from the first heard to the last.
fn beats(heard: &listen::Heard) -> u64 {
    heard.beats.first().zip(heard.beats.last()).map_or(0, |(a, b)| b.number - a.number + 1)
}
