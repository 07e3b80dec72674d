//! `listen` as a person runs it, on the recordings of `crates/listen/tests/recordings`.
#![allow(clippy::unwrap_used)]

use std::io::Write;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../listen/tests/recordings");

fn command(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_beatwright"));
    command.arg("listen").args(args).current_dir(FOLDER);
    command
}

fn run(args: &[&str]) -> Output {
    command(args).output().unwrap()
}

fn text(o: &Output) -> String {
    String::from_utf8(o.stdout.clone()).unwrap()
}

#[test]
fn many_recordings_come_as_lines_in_their_order() {
    let files = ["esc_4-194711-A.ogg", "esc_3-143933-A.ogg", "README.md", "esc_5-209698-A.ogg"];
    let o = run(&[&files[..], &["--json", "--lift-deg", "52", "--clock-ppm", "10+-2"]].concat());
    assert_eq!(o.status.code(), Some(2), "{}", text(&o));
    let lines: Vec<Value> = text(&o).lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    assert_eq!(lines.iter().map(|l| l["file"].as_str().unwrap()).collect::<Vec<_>>(), files);
    let [balance, quartz, no_sound, timer] = [&lines[0], &lines[1], &lines[2], &lines[3]];
    assert_eq!((&balance["refused"], &balance["reason"]), (&Value::Bool(false), &Value::Null));
    assert_eq!(balance["beats_per_hour"], 18_000.0);
    let rate = balance["rate_s_per_day"].as_f64().unwrap();
    // 18,006.3 an hour by the independent estimate is 30 s/d; the clock adds 0.864.
    assert!((rate - 31.1).abs() < 4.0 * balance["rate_se_s_per_day"].as_f64().unwrap().hypot(6.2), "{rate}");
    assert!(balance["rate_se_s_per_day"].as_f64().unwrap() > 2.0 * 0.0864);
    assert_eq!((&balance["amplitude_deg"], &balance["amplitude_se_deg"]), (&Value::Null, &Value::Null));
    assert!(balance["missing"][0].as_str().unwrap().starts_with("amplitude: no first noise"));
    assert!(balance["beat_error_ms"].as_f64().unwrap() > 5.0 && balance["beat_error_se_ms"].as_f64().unwrap() > 0.0);
    for refused in [quartz, no_sound] {
        assert_eq!(refused["refused"], Value::Bool(true));
        for figure in ["beats_per_hour", "rate_s_per_day", "amplitude_deg", "beat_error_ms"] {
            assert_eq!(refused[figure], Value::Null, "{figure}");
        }
    }
    assert!(quartz["reason"].as_str().unwrap().contains("quartz"));
    assert!(no_sound["reason"].as_str().unwrap().contains("can be read"), "{no_sound}");
    // Its beat is near no usual count: a rate against nothing is none.
    assert_eq!((&timer["beats_per_hour"], &timer["rate_s_per_day"]), (&Value::Null, &Value::Null));
    assert!(timer["amplitude_deg"].as_f64().is_some());
}

#[test]
fn text_says_what_was_found_and_what_was_not() {
    let o = run(&["esc_4-194711-A.ogg"]);
    assert_eq!(o.status.code(), Some(0), "{}", text(&o));
    for words in ["18000 beats an hour", "standard error", "clock is unchecked", "half the difference", "s/d"] {
        assert!(text(&o).contains(words), "{words}: {}", text(&o));
    }
    let o = run(&["esc_3-143933-A.ogg"]);
    assert_eq!(o.status.code(), Some(1), "{}", text(&o));
    assert!(text(&o).contains("no figures") && text(&o).contains("quartz"), "{}", text(&o));
}

/// A watch that is moved after 40 s: clicks of a generator of this check's own, of two rates.
#[test]
fn each_position_has_figures_of_its_own() {
    let rate_hz = 16_000_u32;
    let mut sound = vec![0_i16; 90 * rate_hz as usize];
    let mut place = |from_s: f64, until_s: f64, beat_s: f64, hz: f64| {
        let mut at_s = from_s;
        while at_s < until_s {
            for (late_s, size) in [(0.0, 4e3), (9e-3, 2e4)] {
                let at = (at_s + late_s) * f64::from(rate_hz);
                let begin = at.ceil() as usize;
                for (i, x) in sound.iter_mut().enumerate().skip(begin).take(160) {
                    let s = (i as f64 - at) / f64::from(rate_hz);
                    *x += (size * (-s / 1e-3).exp() * (std::f64::consts::TAU * hz * s).cos()) as i16;
                }
            }
            at_s += beat_s;
        }
    };
    place(0.1, 40.0, 0.125 / (1.0 + 30.0 / 86_400.0), 3_000.0);
    place(40.03, 89.9, 0.125 / (1.0 - 40.0 / 86_400.0), 5_000.0);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("moved.wav");
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate_hz,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(&path, spec).unwrap();
    sound.iter().for_each(|x| writer.write_sample(*x).unwrap());
    writer.finalize().unwrap();
    let o = run(&[path.to_str().unwrap(), "--json"]);
    let report: Value = serde_json::from_str(&text(&o)).unwrap();
    let stretches = report["stretches"].as_array().unwrap();
    assert_eq!(stretches.len(), 2, "{report}");
    for (own, rate) in stretches.iter().zip([30.0, -40.0]) {
        assert!((own["rate_s_per_day"].as_f64().unwrap() - rate).abs() < 0.5, "{own}");
    }
    assert!((report["rate_s_per_day"].as_f64().unwrap() + 40.0).abs() < 0.5, "of the longest: {report}");
    assert!(text(&run(&[path.to_str().unwrap()])).contains("changes on the way"));
}

#[test]
fn standard_input_is_heard_as_the_file_is() {
    let sound = std::fs::read(format!("{FOLDER}/esc_5-208624-A.ogg")).unwrap();
    let mut child = command(&["-", "--json"]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(&sound).unwrap();
    let piped: Value = serde_json::from_str(&text(&child.wait_with_output().unwrap())).unwrap();
    let file: Value = serde_json::from_str(&text(&run(&["esc_5-208624-A.ogg", "--json"]))).unwrap();
    assert_eq!(piped["beat_s"], file["beat_s"]);
    assert!(file["beat_s"].as_f64().is_some());
}

#[test]
fn what_is_asked_wrongly_is_told() {
    for (args, words) in [
        (&["x.wav", "--lift-deg", "500"][..], "10 to 120 deg"),
        (&["x.wav", "--clock-ppm", "fast"], "-11.5"),
        (&["x.wav", "--beats-per-hour", "3600"], "7200 to 43200"),
        (&["-", "-"], "once"),
    ] {
        let o = run(args);
        let told = String::from_utf8(o.stderr.clone()).unwrap();
        assert_eq!(o.status.code(), Some(2), "{args:?}");
        assert!(told.contains(words), "{args:?}: {told}");
    }
    let o = run(&["no-such-file.wav"]);
    assert_eq!(o.status.code(), Some(2));
    assert!(text(&o).contains("could not read the file"), "{}", text(&o));
}
