//! `sound` as a person runs it: what is written, what is said of it, what is refused.
#![allow(clippy::unwrap_used)]

use serde_json::Value;
use std::path::PathBuf;
use std::process::{Command, Output};

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_beatwright")).arg("sound").args(args).output().unwrap()
}

fn out(o: &Output) -> String {
    String::from_utf8_lossy(&o.stdout).into_owned()
}

fn err(o: &Output) -> String {
    String::from_utf8_lossy(&o.stderr).into_owned()
}

fn temp(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("beatwright-sound-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    folder.join(name)
}

/// Samples, full scale 1, and their rate, by the reader of `listen`.
fn read(path: &PathBuf) -> (u32, Vec<f32>) {
    let file = std::fs::File::open(path).unwrap();
    let mut recording = listen::Recording::open(Box::new(file), Some("wav")).unwrap();
    let mut samples = vec![Vec::new()];
    while recording.read_on(&mut samples).unwrap() {}
    (recording.rate_hz(), samples.remove(0))
}

#[test]
fn every_kind_of_sample_holds_the_same_sound() {
    let of = |bits: &str| {
        let path = temp(&format!("{bits}.wav"));
        let file = path.display().to_string();
        let o = run(&["demo", "-o", &file, "--lasts-s", "0.5", "--bits", bits, "--rate-hz", "44100", "--force"]);
        assert_eq!(o.status.code(), Some(0), "{}{}", out(&o), err(&o));
        read(&path)
    };
    let (rate, exact) = of("32f");
    assert_eq!((rate, exact.len()), (44_100, 22_050));
    assert!((exact.iter().fold(0.0_f32, |a, x| a.max(x.abs())) - 0.5).abs() < 1e-6);
    for (bits, step) in [("16", 1.0 / 32_767.0), ("24", 1.0 / 8_388_607.0)] {
        let (_, rounded) = of(bits);
        let off = exact.iter().zip(&rounded).map(|(a, b)| (a - b).abs()).fold(0.0_f32, f32::max);
        // Half a step, and what the reader's full scale of 2^n differs by.
        assert!(f64::from(off) < 0.5 * step + 0.5 * step + 1e-7, "{bits}: {off}");
    }
}

#[test]
fn json_has_the_truth_and_text_says_it() {
    let file = temp("truth.wav").display().to_string();
    let args = ["demo", "-o", &file, "--lasts-s", "2", "--noise-db", "30", "--hum-hz", "50", "--force"];
    let o = run(&[&args[..], &["--json"]].concat());
    let made: Value = serde_json::from_str(&out(&o)).unwrap();
    let motion = Command::new(env!("CARGO_BIN_EXE_beatwright")).args(["motion", "demo", "--json"]).output().unwrap();
    let motion: Value = serde_json::from_slice(&motion.stdout).unwrap();
    let (truth, steady) = (&made["truth"], &motion["steady"]);
    for key in ["amplitude_deg", "rate_s_per_day", "beat_error_ms"] {
        assert_eq!(truth[key], steady[key], "{key}");
    }
    assert_eq!(truth["lift_deg"], steady["effective_lift_to_drop_deg"]);
    assert_eq!((&made["schema"], &truth["beats_per_hour"]), (&"beatwright.sound/1".into(), &28_800.0.into()));
    // 2 s over beats of 0.125 s; each is told with the instants of the motion, a period later every second time.
    assert_eq!(truth["beats"], 15);
    let beats = truth["first_beats"].as_array().unwrap();
    let period_s = 1e-3 * steady["period_ms"].as_f64().unwrap();
    for (n, beat) in beats.iter().enumerate() {
        let own = &motion["beats"][n % 2];
        for key in ["unlocking", "drop", "banking"] {
            let since_ms = own["begins_ms"].as_f64().unwrap() + own[format!("{key}_ms")].as_f64().unwrap();
            let t_s = beat[format!("{key}_s")].as_f64().unwrap();
            assert!((t_s - 1e-3 * since_ms - (n / 2) as f64 * period_s).abs() < 1e-9, "{n} {key}");
        }
        let shocks = beat["shocks"].as_array().unwrap();
        let loudest =
            shocks.iter().max_by(|a, b| a["energy_nj"].as_f64().partial_cmp(&b["energy_nj"].as_f64()).unwrap());
        assert_eq!(loudest.unwrap()["t_s"], beat["drop_s"]);
        assert_eq!(shocks[0]["t_s"], beat["unlocking_s"]);
    }
    let text = out(&run(&args));
    for words in [
        "28800 beats an hour",
        "s/d",
        "deg",
        "ms",
        "30 dB",
        "Hum: 50 Hz",
        "22.2 kHz",
        "2 s, 48000 Hz, 16 bits",
        "15 whole beats",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
}

/// The energies of a beat's shocks in the sound are those that the ledger of the motion says were lost, but for what is
/// lost in meetings too slow for a shock.
#[test]
fn every_shock_of_the_ledger_is_heard() {
    let file = temp("ledger.wav").display().to_string();
    let o = run(&["demo", "-o", &file, "--lasts-s", "1", "--force", "--json"]);
    let made: Value = serde_json::from_str(&out(&o)).unwrap();
    let beats = &made["truth"]["first_beats"].as_array().unwrap()[..2];
    let shocks = beats.iter().flat_map(|b| b["shocks"].as_array().unwrap());
    let heard: f64 = shocks.map(|s| s["energy_nj"].as_f64().unwrap()).sum();
    let motion = Command::new(env!("CARGO_BIN_EXE_beatwright")).args(["motion", "demo", "--json"]).output().unwrap();
    let motion: Value = serde_json::from_slice(&motion.stdout).unwrap();
    let ledger = motion["ledger"].as_array().unwrap().iter();
    let struck = ledger.filter(|row| row["place"].as_str().unwrap().contains("striking"));
    let lost: f64 = struck.map(|row| row["nj"].as_f64().unwrap()).sum();
    assert!((0.99..=1.0).contains(&(heard / lost)), "{heard} nJ heard, {lost} nJ lost");
}

/// Slow motion draws instants apart and nothing else: what sounds about a shock that stands alone is the same.
#[test]
fn slow_motion_draws_shocks_apart() {
    let of = |slower: &str, lasts: &str| {
        let path = temp(&format!("slow-{slower}.wav"));
        let file = path.display().to_string();
        let o =
            run(&["demo", "-o", &file, "--lasts-s", lasts, "--slower", slower, "--bits", "32f", "--force", "--json"]);
        let made: Value = serde_json::from_str(&out(&o)).unwrap();
        (made, read(&path).1)
    };
    let ((usual, fast), (drawn, slow)) = (of("1", "0.2"), of("40", "6"));
    let first = |made: &Value| made["truth"]["first_beats"][0]["unlocking_s"].as_f64().unwrap();
    assert!((first(&drawn) / first(&usual) - 40.0).abs() < 1e-9);
    assert_eq!(usual["truth"]["amplitude_deg"], drawn["truth"]["amplitude_deg"]);
    let scale = |made: &Value| made["sound"]["full_scale_m_per_s"].as_f64().unwrap();
    // 0.9 ms from the first shock on, before the next: energy of both, m/s squared.
    let energy = |made: &Value, samples: &[f32]| {
        let at = (first(made) * 48_000.0) as usize;
        samples[at - 40..at + 43].iter().map(|x| (f64::from(*x) * scale(made)).powi(2)).sum::<f64>()
    };
    let ratio = energy(&drawn, &slow) / energy(&usual, &fast);
    assert!((ratio - 1.0).abs() < 0.01, "{ratio}");
}

#[test]
fn the_same_seed_is_the_same_file_and_standard_output_has_it_too() {
    let (a, b, c) = (temp("a.wav"), temp("b.wav"), temp("c.wav"));
    let write = |path: &PathBuf, seed: &str| {
        let file = path.display().to_string();
        run(&[
            "demo",
            "-o",
            &file,
            "--lasts-s",
            "1",
            "--noise-db",
            "20",
            "--seed",
            seed,
            "--microphone",
            "air",
            "--force",
        ]);
        std::fs::read(path).unwrap()
    };
    assert_eq!(write(&a, "5"), write(&b, "5"));
    assert_ne!(write(&a, "5"), write(&c, "6"));
    let o = run(&["demo", "-o", "-", "--lasts-s", "1", "--noise-db", "20", "--seed", "5", "--microphone", "air"]);
    assert!(o.stdout == std::fs::read(&a).unwrap(), "{}", err(&o));
}

#[test]
fn what_cannot_be_heard_is_an_answer_and_writes_nothing() {
    let path = temp("none.wav");
    let file = path.display().to_string();
    let o = run(&["demo", "-o", &file, "--set", "wheel.torque_un_m=0"]);
    assert_eq!(o.status.code(), Some(1), "{}", err(&o));
    assert!(err(&o).contains("nothing drives the wheel") && err(&o).contains("nothing was written"), "{}", err(&o));
    let o = run(&["demo", "-o", &file, "--set", "wheel.torque_un_m=0", "--json"]);
    let made: Value = serde_json::from_str(&out(&o)).unwrap();
    assert_eq!((&made["outcome"], &made["sound"], &made["output"]), (&"no-drive".into(), &Value::Null, &Value::Null));
    assert!(!path.exists());
}

#[test]
fn what_is_asked_wrongly_is_told() {
    let there = temp("there.wav");
    std::fs::write(&there, "a recording of which there is no second").unwrap();
    let there_file = there.display().to_string();
    let none = temp("no-such-folder").join("x.wav").display().to_string();
    let x = temp("x.wav").display().to_string();
    for (args, words) in [
        (&["demo", "-o", &there_file][..], "exists already; nothing was written"),
        (&["demo", "-o", &none], "could not write"),
        (&["demo"], "--output"),
        (&["demo", "-o", &x, "--lasts-s", "0"], "0.1 to 3600 s, such as 30"),
        (&["demo", "-o", &x, "--lasts-s", "nan"], "not a finite number"),
        (&["demo", "-o", &x, "--rate-hz", "4000"], "8000 to 192000, such as 48000"),
        (&["demo", "-o", &x, "--noise-db", "-21"], "-20 to 120 dB, such as 30"),
        (&["demo", "-o", &x, "--hum-hz", "0"], "10 to 1000 Hz, such as 50"),
        (&["demo", "-o", &x, "--slower", "0.5"], "1 to 1000 times, such as 50"),
        (&["demo", "-o", &x, "--seed", "-1"], "0 to 9007199254740991, such as 7"),
        (&["demo", "-o", &x, "--bits", "8"], "16, 24, 32f"),
        (&["demo", "-o", &x, "--microphone", "laser"], "contact, air"),
        (&["demo", "-o", &x, "--lasts-s", "3600"], "needs 28800000 at most"),
        (&["demo", "-o", &x, "--lasts-s", "0.1", "--slower", "1000"], "give more seconds"),
        (&["demo", "-o", "-", "--json"], "cannot both go to standard output"),
        (&["no-such-file.toml", "-o", &x], "could not read"),
    ] {
        let o = run(args);
        assert_eq!(o.status.code(), Some(2), "{args:?}: {}{}", out(&o), err(&o));
        assert!(err(&o).contains(words), "{args:?}: {}", err(&o));
    }
    assert_eq!(std::fs::read_to_string(&there).unwrap(), "a recording of which there is no second");
    assert!(!PathBuf::from(x).exists());
    // A movement is never written over, whatever is asked.
    let movement = temp("mine.toml");
    Command::new(env!("CARGO_BIN_EXE_beatwright"))
        .args(["new", &movement.display().to_string(), "--force"])
        .output()
        .unwrap();
    let before = std::fs::read(&movement).unwrap();
    let own = movement.display().to_string();
    let o = run(&[&own, "-o", &own, "--force"]);
    assert_eq!(o.status.code(), Some(2));
    assert!(err(&o).contains("is the movement itself"), "{}", err(&o));
    assert!(std::fs::read(&movement).unwrap() == before);
}
