//! `sound`: what the escapement sounds like, and the truth about it.

use hound::{SampleFormat, WavSpec, WavWriter};
use motion::{Beat, Event, INSTANTS, Machine, Shock, Steady};
use serde_json::{Map, Value, json};
use std::io::Cursor;
use std::path::Path;
use voice::{Error, Impact, Meeting, Microphone, Options, PEAK_RATIO, Sound};

use crate::cli::SoundArgs;
use crate::input::load_quietly;
use crate::motion_command::{self, Report, machine, sought, touching};
use crate::output::{Status, Stop, edge, emit, emit_bytes, may_write, pretty, write_file};
use crate::tables::fixed;

/// Beats whose instants are told.
const TOLD_BEATS: usize = 8;

/// Writes the sound that the command asks for.
pub fn write_sound(args: &SoundArgs) -> Result<Status, Stop> {
    let to_stdout = args.output == Path::new("-");
    if to_stdout && args.json {
        return Err(Stop::problem(
            "the sound and its JSON cannot both go to standard output",
            "write the sound into a file: -o out.wav",
        ));
    }
    if !to_stdout {
        may_replace(args)?;
    }
    let loaded = load_quietly(&args.movement, args.json)?;
    let report = sought(&loaded)?;
    if !args.json {
        loaded.remark();
    }
    let Some(steady) = &report.steady else {
        if args.json {
            emit(&pretty(&Value::Object(head(args, &report))))?;
        } else {
            eprintln!(
                "{}: {}; there is no steady motion to be heard, and nothing was written",
                loaded.statement.name, report.outcome.words
            );
        }
        return Ok(Status::Finding);
    };
    let once = once(&machine(&loaded)?, steady);
    let sound = voice::sound(&repeated(&once, steady, args), &options(args)).map_err(|e| hinted(&e))?;
    let wav = wav(&sound, &args.bits)?;
    let made = Made { args, report: &report, steady, once: &once, sound: &sound };
    if to_stdout {
        emit_bytes(&wav)?;
    } else {
        write_file(&args.output, &wav)?;
        emit(&if args.json { made.json() } else { made.text() })?;
    }
    Ok(if report.outcome.runs { Status::Ok } else { Status::Finding })
}

/// A sound that exists may be a recording, of which there is no second.
fn may_replace(args: &SoundArgs) -> Result<(), Stop> {
    let is_there = std::fs::metadata(&args.output).is_ok_and(|found| found.is_file() && found.len() > 0);
    may_write(&args.output, &args.movement.file, "sound", "out.wav", |_| true, true)?;
    if is_there && !args.force {
        return Err(Stop::coded(
            "would-overwrite",
            format!("{} exists already; nothing was written", args.output.display()),
            "choose another name, or replace it with --force",
        ));
    }
    Ok(())
}

fn hinted(error: &Error) -> Stop {
    match error {
        Error::TooLong { .. } => {
            Stop::problem(error.to_string(), "give fewer seconds, --lasts-s, or samples, --rate-hz")
        }
        Error::Nothing { .. } => Stop::problem(error.to_string(), "give more seconds, --lasts-s"),
        _ => Stop::from_error(error),
    }
}

fn options(args: &SoundArgs) -> Options {
    Options {
        rate_hz: args.rate_hz,
        lasts_s: args.lasts_s,
        microphone: if args.microphone == "air" { Microphone::Air } else { Microphone::Contact },
        noise_db: args.noise_db,
        hum_hz: args.hum_hz,
        seed: args.seed,
    }
}

/// How often the steady motion is repeated until a sound ends, and after which time.
fn repeats(steady: &Steady, args: &SoundArgs) -> (u64, f64) {
    let each_s = steady.period_s * steady.oscillations() as f64;
    ((args.lasts_s / (args.slower * each_s)).ceil() as u64, each_s)
}

/// Every shock of the steady motion until it repeats itself, with the number of its beat, those that made nothing of it too.
fn once(machine: &Machine, steady: &Steady) -> Vec<(u64, Shock)> {
    let count = steady.beats.len();
    let motion = machine.play(&steady.state, count, motion_command::options(count));
    let mut beat = 0;
    let mut out = Vec::new();
    for event in motion.events {
        match event {
            Event::Extreme { .. } => beat += 1,
            Event::Advances { .. } => {}
            Event::Shock(shock) => out.push((beat, Shock { t_s: shock.t_s - steady.state.t_s, ..shock })),
        }
    }
    out
}

/// The same again and again until the end of the sound.
fn repeated(once: &[(u64, Shock)], steady: &Steady, args: &SoundArgs) -> Vec<Impact> {
    let (repeats, each_s) = repeats(steady, args);
    let again = |n: u64| {
        once.iter().map(move |(beat, shock)| Impact {
            t_s: args.slower * (shock.t_s + n as f64 * each_s),
            energy_j: shock.lost_j,
            meeting: meeting(shock.meeting),
            beat: beat + n * steady.beats.len() as u64,
        })
    };
    (0..repeats).flat_map(again).collect()
}

fn meeting(of: motion::Meeting) -> Meeting {
    match of {
        motion::Meeting::ToothEntry => Meeting::ToothEntry,
        motion::Meeting::ToothExit => Meeting::ToothExit,
        motion::Meeting::JewelFork => Meeting::JewelFork,
        motion::Meeting::GuardRoller => Meeting::GuardRoller,
        motion::Meeting::BankingEntry => Meeting::BankingEntry,
        motion::Meeting::BankingExit => Meeting::BankingExit,
    }
}

/// The samples as a WAV file: whole numbers rounded, floating point as they are.
fn wav(sound: &Sound, bits: &str) -> Result<Vec<u8>, Stop> {
    let (bits_per_sample, sample_format) = match bits {
        "24" => (24, SampleFormat::Int),
        "32f" => (32, SampleFormat::Float),
        _ => (16, SampleFormat::Int),
    };
    let spec = WavSpec { channels: 1, sample_rate: sound.rate_hz, bits_per_sample, sample_format };
    let mut file = Cursor::new(Vec::new());
    let written = WavWriter::new(&mut file, spec).and_then(|mut writer| {
        let most = f64::from((1_i32 << (bits_per_sample - 1).min(30)) - 1);
        for x in &sound.samples {
            match sample_format {
                SampleFormat::Float => writer.write_sample(*x)?,
                SampleFormat::Int => writer.write_sample((most * f64::from(*x)).round() as i32)?,
            }
        }
        writer.finalize()
    });
    written.map_err(|e| Stop::from_error(&e))?;
    Ok(file.into_inner())
}

fn head(args: &SoundArgs, report: &Report) -> Map<String, Value> {
    let document = json!({
        "schema": "beatwright.sound/1",
        "program": concat!("beatwright ", env!("CARGO_PKG_VERSION")),
        "file": report.loaded.statement.source_name(),
        "name": report.loaded.statement.name,
        "outcome": report.outcome.code,
        "reason": report.outcome.words,
        "diagnostics": report.loaded.diagnostics,
        "output": report.steady.as_ref().map(|_| args.output.display().to_string()),
        "sound": null,
        "truth": null,
    });
    document.as_object().cloned().unwrap_or_default()
}

/// A sound that was made.
struct Made<'a> {
    args: &'a SoundArgs,
    report: &'a Report<'a>,
    steady: &'a Steady,
    once: &'a [(u64, Shock)],
    sound: &'a Sound,
}

impl Made<'_> {
    fn figure(&self, path: &str) -> Option<f64> {
        self.report.figures().into_iter().find(|(f, _)| f.path == path).and_then(|(_, value)| value)
    }

    /// Beats an hour, nominal.
    fn per_hour(&self) -> f64 {
        7200.0 / motion_command::setting(&self.report.loaded.build.movement).nominal_period_s
    }

    /// Beats that are whole in it, each with the repeat of the motion to which it belongs.
    fn beats(&self) -> Vec<(&Beat, u64)> {
        let (repeats, _) = repeats(self.steady, self.args);
        let all = (0..repeats).flat_map(|n| self.steady.beats.iter().map(move |beat| (beat, n)));
        all.filter(|(beat, n)| self.at(beat.extreme_s, *n) <= self.args.lasts_s).collect()
    }

    /// Where an instant of the motion lies in the sound, s, when it is repeated for the n-th time.
    fn at(&self, t_s: f64, n: u64) -> f64 {
        let (_, each_s) = repeats(self.steady, self.args);
        self.args.slower * (t_s - self.steady.state.t_s + n as f64 * each_s)
    }

    /// Beats in which the lever is at its banking before the drop.
    fn banks_before_drop(&self) -> bool {
        let before = |b: &Beat| b.banking_s.zip(b.drop_s).is_some_and(|(banking_s, drop_s)| banking_s < drop_s);
        self.steady.beats.iter().any(before)
    }

    fn json(&self) -> String {
        let Made { args, sound, .. } = self;
        let mut document = head(args, self.report);
        let beats = self.beats();
        let every = repeated(self.once, self.steady, args);
        let told = beats.iter().take(TOLD_BEATS).enumerate().map(|(number, (beat, n))| {
            let mut row = Map::new();
            row.insert("pallet".to_owned(), json!(beat.pallet.name()));
            for instant in INSTANTS.iter().filter(|i| !matches!(i.key, "advance_ms" | "extreme_ms")) {
                let t_s = instant.t_s(beat).map(|t_s| edge(self.at(t_s, *n)));
                row.insert(instant.key.replace("_ms", "_s"), json!(t_s));
            }
            let names = self.once.iter().cycle().map(|(_, shock)| touching(shock.meeting));
            let own =
                every.iter().zip(names).filter(|(i, _)| i.beat == number as u64).map(
                    |(i, parts)| json!({ "t_s": edge(i.t_s), "energy_nj": edge(1e9 * i.energy_j), "parts": parts }),
                );
            row.insert("shocks".to_owned(), own.collect());
            Value::Object(row)
        });
        document.insert(
            "sound".to_owned(),
            json!({
                "sampling_hz": sound.rate_hz, "bits": args.bits, "lasts_s": args.lasts_s, "microphone": args.microphone,
                "noise_db": args.noise_db, "noise_band_hz": sound.band_hz.map(edge), "noise_rms_ratio": edge(sound.noise_ratio),
                "hum_hz": args.hum_hz, "seed": args.seed, "slower_ratio": args.slower, "peak_ratio": PEAK_RATIO,
                "full_scale_m_per_s": edge(sound.full_scale_m_per_s), "beat_sounds_s": edge(sound.sounds_s),
                "shocks": sound.impact_count, "left_out_hz": self.left_out_hz(),
            }),
        );
        let figure = |path: &str| json!(self.figure(path).map(edge));
        document.insert(
            "truth".to_owned(),
            json!({
                "beats_per_hour": edge(self.per_hour()),
                "rate_s_per_day": figure("rate_s_per_day"), "amplitude_deg": figure("amplitude_deg"),
                "beat_error_ms": figure("beat_error_ms"), "lift_deg": figure("effective_lift_to_drop_deg"),
                "lift_to_banking_deg": figure("effective_lift_to_banking_deg"),
                "banks_before_drop": self.banks_before_drop(),
                "beats": beats.len(), "first_beats": told.collect::<Value>(),
            }),
        );
        pretty(&Value::Object(document))
    }

    fn left_out_hz(&self) -> Vec<f64> {
        self.sound.left_out.iter().map(|m| m.natural_hz).collect()
    }

    fn text(&self) -> String {
        let Made { args, sound, .. } = self;
        let shown = |path: &str, decimals: usize| fixed(self.figure(path), decimals);
        let mut text = format!(
            "{}: {}\nwrote {}: {} s, {} Hz, {} bits, {} microphone, {} whole beats, {} shocks; loudest {:.0} dB of full scale\n",
            self.report.loaded.statement.name,
            self.report.outcome.words,
            args.output.display(),
            args.lasts_s,
            sound.rate_hz,
            args.bits,
            args.microphone,
            self.beats().len(),
            sound.impact_count,
            20.0 * PEAK_RATIO.log10(),
        );
        text.push_str(&format!(
            "In it: {} beats an hour, rate {:+.2} s/d, amplitude {} deg, beat error {} ms.\n",
            edge(self.per_hour()),
            self.figure("rate_s_per_day").unwrap_or(f64::NAN),
            shown("amplitude_deg", 2),
            shown("beat_error_ms", 4),
        ));
        if let Some(lift_deg) = self.figure("effective_lift_to_drop_deg") {
            text.push_str(&format!(
                "Lift by which the sound gives this amplitude, from the first shock to the drop: {lift_deg:.2} deg.\n"
            ));
        }
        if self.banks_before_drop() {
            text.push_str("The lever is at its banking before the drop.\n");
        }
        if args.slower > 1.0 {
            text.push_str(&format!("Slow motion: shocks come {} times farther apart than they do.\n", args.slower));
        }
        match args.noise_db {
            Some(db) => text.push_str(&format!(
                "Noise: white, seed {}; a beat has {db} dB more energy than the noise in the {:.1} ms that it sounds, {:.0} to {:.0} Hz.\n",
                args.seed,
                1e3 * sound.sounds_s,
                sound.band_hz[0],
                sound.band_hz[1],
            )),
            None => text.push_str("No noise.\n"),
        }
        if let Some(hum_hz) = args.hum_hz {
            text.push_str(&format!("Hum: {hum_hz} Hz and its second and third harmonic, 20 dB below the beats.\n"));
        }
        let left_out: Vec<String> = self.left_out_hz().iter().map(|hz| format!("{:.1}", 1e-3 * hz)).collect();
        if !left_out.is_empty() {
            text.push_str(&format!(
                "Too high for {} Hz and left out: resonances at {} kHz.\n",
                sound.rate_hz,
                left_out.join(", ")
            ));
        }
        text.push_str("A prediction: what sets the sound's colour is chosen, the instants are those of the motion.\n");
        text
    }
}
