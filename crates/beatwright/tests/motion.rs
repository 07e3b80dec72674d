//! The command `motion` as a person runs it: the same figures in every form, answers where nothing is steady, refusals.
#![allow(clippy::unwrap_used)]

use serde_json::Value;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::{Command, Output};

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_beatwright")).arg("motion").args(args).output().unwrap()
}

fn sweep(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_beatwright")).arg("sweep").args(args).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn json(args: &[&str]) -> Value {
    let o = run(&[args, &["--json"]].concat());
    serde_json::from_slice(&o.stdout).unwrap_or_else(|e| panic!("{e}: {}{}", out(&o), err(&o)))
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn temp(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("beatwright-motion-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    folder.join(name)
}

/// Works of the ledger, nJ a beat: what the train gives, and everything else together.
fn ledger(document: &Value) -> (f64, f64) {
    let rows = document["ledger"].as_array().unwrap();
    let works: Vec<f64> = rows.iter().map(|row| number(&row["nj_per_beat"])).collect();
    assert_eq!(rows[0]["place"], "given by the train");
    assert!(works.iter().all(|nj| *nj >= 0.0), "{works:?}");
    (works[0], works[1..].iter().sum())
}

/// Each work is a quadrature of its own, so that their sum is a check.
#[test]
fn what_the_train_gives_is_what_the_ledger_says_is_spent() {
    let document = json(&["demo"]);
    assert_eq!((&document["schema"], &document["outcome"]), (&"beatwright.motion/1".into(), &"steady".into()));
    let (given, spent) = ledger(&document);
    assert!(given > 100.0 && (given - spent).abs() < 1e-5 * given, "{given} nJ given, {spent} nJ spent");
    let kept = number(&document["energy_change_nj"]);
    // Of both beats; what the search leaves.
    assert!((2.0 * (given - spent) - kept).abs() < 1e-6 * given, "{kept} nJ kept");
}

/// The torque stated times a tooth's half pitch, less what the wheel is turned back against train friction, is what the
/// train gives to a beat: 1.0 uN m times 12 deg.
#[test]
fn the_train_gives_its_torque_times_half_a_pitch() {
    let (given, _) = ledger(&json(&["demo", "--set", "wheel.torque_un_m=1.0"]));
    let by_hand = 1e3 * 1.0 * (12.0_f64).to_radians();
    assert!((given - by_hand).abs() < 1e-4 * by_hand, "{given} nJ, {by_hand} nJ");
}

/// What the balance loses by its quality factor is what comes to it: 2 pi over Q of what it has at the extreme, half of it
/// in a beat, each part of the loss at the amplitude found (dry friction in proportion, viscous by the square).
#[test]
fn efficiency_is_what_the_stated_quality_takes() {
    let document = json(&["demo"]);
    let amplitude_rad = number(&document["steady"]["amplitude_deg"]).to_radians();
    // The demo: 10 mg cm2, 28,800 beats an hour, Q 280 at 300 deg of which 0.2 is dry.
    let stiffness = 1e-9 * (std::f64::consts::PI * 8.0).powi(2);
    let stated_rad = 300.0_f64.to_radians();
    let loss_j = std::f64::consts::PI / 280.0
        * 0.5
        * stiffness
        * (0.2 * stated_rad * amplitude_rad + 0.8 * amplitude_rad.powi(2));
    let (given, _) = ledger(&document);
    let by_hand = 100.0 * 1e9 * loss_j / given;
    let found = number(&document["steady"]["efficiency_percent"]);
    // To first order: the balance does not swing quite as a sine.
    assert!((found - by_hand).abs() < 0.01 * by_hand, "{found}, {by_hand}");
}

/// The lift by which an amplitude is read is no part of the watch: stated, it changes the amplitudes heard alone, in
/// proportion (B1 of docs/theory/beats.md), and by the effective lift what is heard to the drop is the true amplitude (B4).
#[test]
fn the_lift_of_the_hearing_changes_what_is_heard_alone() {
    let by_default = json(&["demo"]);
    let row = |document: &Value| {
        let rests_on = document["rests_on"].as_array().unwrap();
        rests_on.iter().find(|row| row["path"] == "balance.heard_lift_deg").unwrap().clone()
    };
    assert_eq!(row(&by_default)["origin"], "default");
    let geometric_deg = number(&row(&by_default)["value"]);
    let effective_deg = number(&by_default["steady"]["effective_lift_to_drop_deg"]);
    assert!(effective_deg > geometric_deg + 1.0, "{effective_deg} deg, {geometric_deg} deg");
    let set = format!("balance.heard_lift_deg={effective_deg}");
    let by_effective = json(&["demo", "--set", &set]);
    assert_eq!(row(&by_effective)["origin"], "stated");
    assert_eq!((&by_default["beats"], &by_default["ledger"]), (&by_effective["beats"], &by_effective["ledger"]));
    let of = |document: &Value| document["steady"].as_object().unwrap().clone();
    for (path, value) in of(&by_effective) {
        let before = &by_default["steady"][&path];
        if path.starts_with("amplitude_heard") {
            let ratio = number(&value) / number(before);
            assert!((ratio - effective_deg / geometric_deg).abs() < 1e-9, "{path}: {ratio}");
        } else {
            assert_eq!(&value, before, "{path}");
        }
    }
    let heard_deg = number(&by_effective["steady"]["amplitude_heard_to_drop_deg"]);
    let true_deg = number(&by_effective["steady"]["amplitude_deg"]);
    assert!((heard_deg - true_deg).abs() < 1e-6 * true_deg, "{heard_deg} deg, {true_deg} deg");
    let text = out(&run(&["demo", "--set", "balance.heard_lift_deg=54"]));
    assert!(text.contains("read by a lift of 54 deg (balance.heard_lift_deg, stated)"), "{text}");
}

/// Figures of the CSV by name.
fn csv(args: &[&str]) -> BTreeMap<String, String> {
    let text = out(&run(&[args, &["--csv"]].concat()));
    assert!(text.starts_with("figure,value,unit,origin\n"), "{text}");
    text.lines().skip(1).map(|line| line.split_once(',').unwrap()).map(|(k, v)| (k.to_owned(), v.to_owned())).collect()
}

#[test]
fn text_json_and_csv_say_the_same() {
    let (document, csv, text) = (json(&["demo"]), csv(&["demo"]), out(&run(&["demo"])));
    let value = |key: &str| csv[key].split(',').next().unwrap().parse::<f64>().unwrap();
    let steady = document["steady"].as_object().unwrap();
    assert!(steady.len() >= 6);
    for (key, figure) in steady {
        assert_eq!(value(key), number(figure), "{key}");
    }
    for beat in document["beats"].as_array().unwrap() {
        for key in ["unlocking_ms", "advance_ms", "impulse_ms", "catch_ms", "drop_ms", "banking_ms", "extreme_ms"] {
            let path = format!("{}.{key}", beat["pallet"].as_str().unwrap());
            assert_eq!(value(&path), number(&beat[key]), "{path}");
            assert!(text.contains(&format!("{:.3}", value(&path))), "{path}: {text}");
        }
    }
    for row in document["ledger"].as_array().unwrap() {
        let place = row["place"].as_str().unwrap();
        assert_eq!(value(place), number(&row["nj_per_beat"]), "{place}");
        let line = text.lines().find(|line| line.trim_start().starts_with(place)).unwrap();
        assert!(line.contains(&format!("{:.3}", value(place))), "{line}");
    }
    let kept = number(&document["energy_change_nj"]);
    assert!((2.0 * value("kept in motion and spring") - kept).abs() < 1e-9 * kept.abs());
    for row in document["rests_on"].as_array().unwrap() {
        let (path, rests_on) = (row["path"].as_str().unwrap(), number(&row["value"]));
        assert_eq!(value(path), rests_on, "{path}");
        assert!(csv[path].ends_with(row["origin"].as_str().unwrap()), "{path}: {}", csv[path]);
        assert!(text.contains(&format!("{path} = {rests_on}")), "{path} = {rests_on}: {text}");
    }
    for (words, shown) in [
        ("amplitude", format!("{:.2}   deg", number(&steady["amplitude_deg"]))),
        ("rate", format!("{:.2}   s/d", number(&steady["rate_s_per_day"]))),
        ("beat error", format!("{:.4}   ms", number(&steady["beat_error_ms"]))),
    ] {
        assert!(text.lines().any(|l| l.contains(words) && l.contains(&shown)), "{words} {shown}: {text}");
    }
}

/// The motion does not know the method by which it is sought: from 270 deg it comes to the same amplitude by itself, and
/// its last beats are as long. With a fiftieth of the torque the search comes on its way to where it would stop.
#[test]
fn what_is_sought_is_what_comes_by_itself() {
    for torque in [&[][..], &["--set", "wheel.torque_un_m=0.02"]] {
        let steady = &json(&[&["demo"], torque].concat())["steady"];
        let played = json(&[&["demo", "--beats", "4000"], torque].concat());
        let beats = played["beats"].as_array().unwrap();
        let [before, last] = [&beats[beats.len() - 2], &beats[beats.len() - 1]];
        let amplitude = 0.5 * (number(&last["extreme_deg"]) - number(&before["extreme_deg"])).abs();
        assert!((amplitude - number(&steady["amplitude_deg"])).abs() < 1e-3, "{amplitude} deg, {steady}");
        let period_ms = number(&last["extreme_ms"]) + number(&before["extreme_ms"]);
        assert!((period_ms - number(&steady["period_ms"])).abs() < 1e-6 * period_ms, "{period_ms} ms, {steady}");
        let rate = 86_400.0 * (250.0 / period_ms - 1.0);
        assert!((rate - number(&steady["rate_s_per_day"])).abs() < 0.1, "{rate} s/d, {steady}");
    }
}

#[test]
fn what_is_not_steady_is_an_answer_with_a_reason() {
    for (set, outcome, said) in [
        ("bankings.run_deg=-0.9", "does-not-lock", "no tooth rests on the entry stone"),
        ("balance.quality_ratio=3", "stops", "tooth on"),
        ("wheel.torque_un_m=3", "knocks", "meets the fork from behind"),
        ("wheel.torque_un_m=0", "no-drive", "nothing drives the wheel, wheel.torque_un_m is 0"),
        ("lever.pivot_friction_un_m=100", "no-drive", "lever.pivot_friction_un_m is 100.0000 uN m"),
        ("guard.longer_mm=0.05", "does-not-lock", "on the entry banking the guard lies in the roller, by 0.0591 lever"),
        ("guard.bend_mm=0.1", "out-of-step", "on the exit banking the guard lies in the roller"),
        ("pallets.lock_deg=-1", "does-not-enter", "outside the notch"),
    ] {
        let o = run(&["demo", "--set", set]);
        assert_eq!((o.status.code(), err(&o).contains("error")), (Some(1), false), "{set}: {}", err(&o));
        assert!(out(&o).lines().next().unwrap().contains(said), "{set}: {}", out(&o));
        let document = json(&["demo", "--set", set]);
        assert_eq!(document["outcome"], outcome, "{set}: {}", document["reason"]);
        assert!(document["reason"].as_str().unwrap().contains(said), "{set}");
        assert!(document["steady"].is_null() && document.as_object().unwrap().contains_key("ledger"));
    }
}

#[test]
fn it_starts_itself_or_says_what_holds_it() {
    let o = run(&["demo", "--from-rest"]);
    assert_eq!(o.status.code(), Some(0), "{}", out(&o));
    assert!(out(&o).starts_with("Demo: flat wrist movement: starts itself"));
    // Left to itself it comes to the steady motion.
    let grown = json(&["demo", "--from-rest", "--beats", "4000"]);
    let last = grown["beats"].as_array().unwrap().last().unwrap();
    let steady = number(&json(&["demo"])["steady"]["amplitude_deg"]);
    assert!((number(&last["extreme_deg"]).abs() - steady).abs() < 0.05, "{last} {steady}");
    let weak = json(&["demo", "--from-rest", "--set", "wheel.torque_un_m=0.1"]);
    assert_eq!(weak["outcome"], "does-not-start");
    assert!(weak["reason"].as_str().unwrap().contains("tooth on entry stone, jewel on fork"), "{}", weak["reason"]);
    let o = run(&["demo", "--from-rest", "--beats", "2"]);
    assert_eq!(o.status.code(), Some(2));
    assert!(err(&o).contains("hint: give --beats 4 or more"), "{}", err(&o));
}

#[test]
fn a_history_has_what_happens_and_even_times() {
    let path = temp("history.csv");
    let file = path.to_str().unwrap();
    let document = json(&["demo", "--history", file]);
    let text = std::fs::read_to_string(&path).unwrap();
    let mut lines = text.lines();
    assert_eq!(
        lines.next(),
        Some("t_ms,wheel_deg,lever_deg,balance_deg,wheel_deg_per_s,lever_deg_per_s,balance_deg_per_s,event")
    );
    let rows: Vec<Vec<&str>> = lines.map(|line| line.split(',').collect()).collect();
    let at = |row: &[&str], column: usize| row[column].parse::<f64>().unwrap();
    // Even times: a thousandth of two beats of 125 ms.
    for k in 1..1000 {
        let t_ms = 0.25 * f64::from(k);
        assert!(rows.iter().any(|row| (at(row, 0) - t_ms).abs() < 1e-9), "{t_ms} ms");
    }
    let first = rows.iter().find(|row| row[7].starts_with("jewel on fork")).unwrap();
    assert!((at(first, 0) - number(&document["beats"][0]["unlocking_ms"])).abs() < 1e-9);
    let (first, last) = (&rows[0], rows.last().unwrap());
    // One tooth of fifteen on.
    assert!((at(first, 1) - at(last, 1) - 24.0).abs() < 1e-3 && (at(first, 3) - at(last, 3)).abs() < 1e-3);
    // It is replaced, another file is not.
    assert_eq!(run(&["demo", "--history", file, "--every-ms", "5"]).status.code(), Some(0));
    assert!(std::fs::read_to_string(&path).unwrap().lines().count() < rows.len());
    std::fs::write(&path, "mine").unwrap();
    let o = run(&["demo", "--history", file]);
    assert_eq!(o.status.code(), Some(2));
    assert!(err(&o).contains("is no history of a motion") && err(&o).contains("--force"), "{}", err(&o));
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "mine");
    let o = run(&["demo", "--history", file, "--beats", "100000"]);
    assert!(o.status.code() == Some(2) && err(&o).contains("hint"), "{}", err(&o));
}

#[test]
fn predictions_say_what_they_rest_on() {
    let document = json(&["demo"]);
    let rests_on = document["rests_on"].as_array().unwrap();
    let origin = |path: &str| rests_on.iter().find(|row| row["path"] == path).unwrap()["origin"].clone();
    assert_eq!((origin("balance.inertia_mg_cm2"), origin("wheel.torque_un_m")), ("stated".into(), "default".into()));
    let text = out(&run(&["demo"]));
    let defaults = text.lines().find(|line| line.starts_with("- defaults")).unwrap();
    for row in rests_on {
        let path = row["path"].as_str().unwrap();
        assert_eq!(defaults.contains(path), row["origin"] == "default", "{path}: {defaults}");
    }
    let stated = json(&["demo", "--set", "wheel.torque_un_m=1.0"]);
    let row = stated["rests_on"].as_array().unwrap().iter().find(|row| row["path"] == "wheel.torque_un_m").unwrap();
    assert_eq!((number(&row["value"]), &row["origin"]), (1.0, &"stated".into()));
}

#[test]
fn malformed_values_are_told_with_place_range_and_hint() {
    let path = temp("bad.toml");
    std::fs::write(
        &path,
        "format = 1\nname = \"bad\"\n[wheel]\ntooth_count = 15\nlocking_radius_mm = 2.5\ntorque_un_m = -1.0\n[surfaces]\nkeep_mm_per_s = 0.05\nstone_rebound_ratio = \"x\"\n[balance]\ninertia_mm = 3\n",
    )
    .unwrap();
    let o = run(&[path.to_str().unwrap()]);
    assert_eq!((o.status.code(), out(&o).as_str()), (Some(2), ""));
    for said in ["bad.toml:6", "bad.toml:8", "0.1 to 100 mm/s", "bad.toml:9", "bad.toml:11", "inertia_mg_cm2"] {
        assert!(err(&o).contains(said), "{said}: {}", err(&o));
    }
    let document = json(&[path.to_str().unwrap()]);
    assert_eq!(document["schema"], "beatwright.diagnostics/1");
    assert_eq!(document["diagnostics"].as_array().unwrap().len(), 4);
    for args in
        [&["demo", "--beats", "0"][..], &["demo", "--beats", "x"], &["demo", "--history", "h.csv", "--every-ms", "0"]]
    {
        let o = run(args);
        assert_eq!(o.status.code(), Some(2), "{args:?}");
        assert!(err(&o).contains("such as"), "{args:?}: {}", err(&o));
    }
}

/// The last turn of many that are played from 270 deg is the turn that is sought, tooth by tooth.
#[test]
fn unlike_teeth_are_sought_over_a_turn() {
    let long = ["demo", "--set", "wheel.teeth.3.longer_mm=0.004", "--set", "balance.quality_ratio=100"];
    let document = json(&long);
    let (steady, beats) = (&document["steady"], document["beats"].as_array().unwrap());
    assert_eq!((document["outcome"].as_str(), beats.len()), (Some("steady"), 30));
    assert_eq!(number(&steady["repeat_oscillations"]), 15.0);
    assert!(number(&steady["amplitude_spread_deg"]) > 0.005, "{steady}");
    // Every tooth works on both pallets once.
    for pallet in ["entry", "exit"] {
        let mut teeth: Vec<u64> =
            beats.iter().filter(|b| b["pallet"] == pallet).map(|b| b["tooth"].as_u64().unwrap()).collect();
        teeth.sort_unstable();
        assert_eq!(teeth, (0..15).collect::<Vec<u64>>());
    }
    let played = json(&[&long[..], &["--beats", "900"]].concat());
    let last = &played["beats"].as_array().unwrap()[870..];
    for (sought, played) in beats.iter().zip(last) {
        let by = number(&sought["extreme_deg"]) - number(&played["extreme_deg"]);
        assert!(by.abs() < 1e-3, "{sought} {played}");
        for key in ["drop_ms", "unlocking_ms"] {
            let ms = |beat: &Value| number(&beat[key]);
            assert!((ms(sought) - ms(played)).abs() < 1e-4, "{sought} {played}");
        }
    }
    let csv = csv(&long);
    assert!(csv.contains_key("oscillation.15.exit.drop_ms") && !csv.contains_key("entry.drop_ms"));
    assert!(out(&run(&long)).lines().any(|line| line.contains("tooth") && line.contains("unlocking_ms")));
    let played = json(&["demo", "--set", "wheel.teeth.3.longer_mm=0.004", "--beats", "30"]);
    assert_eq!(played["beats"].as_array().unwrap().len(), 30);
}

#[test]
fn a_sweep_reads_the_same_figures_on_any_number_of_threads() {
    let args = ["demo", "wheel.torque_un_m=0.4:1.6:5", "--figure", "amplitude_deg", "--figure", "rate_s_per_day"];
    let args =
        [&args[..], &["--figure", "beat_error_ms", "--figure", "efficiency_percent", "--figure", "entry.lock_deg"]]
            .concat();
    let one = sweep(&[&args[..], &["--json", "--threads", "1"]].concat());
    let many = sweep(&[&args[..], &["--json", "--threads", "3"]].concat());
    assert_eq!((one.status.code(), out(&one)), (Some(0), out(&many)));
    let document: Value = serde_json::from_slice(&one.stdout).unwrap();
    let columns = document["columns"].as_array().unwrap();
    for row in document["rows"].as_array().unwrap() {
        let alone = json(&["demo", "--set", &format!("wheel.torque_un_m={}", row[0])]);
        assert_eq!(alone["outcome"], *row.as_array().unwrap().last().unwrap());
        for (column, found) in columns.iter().zip(row.as_array().unwrap()).skip(1).take(4) {
            let steady = &alone["steady"];
            if steady.is_null() {
                assert!(found.is_null(), "{column} at {}", row[0]);
                continue;
            }
            // The value of the grid has a digit more than is printed.
            let (found, alone) = (number(found), number(&steady[column.as_str().unwrap()]));
            assert!((found - alone).abs() < 1e-9 * alone.abs(), "{column} at {}: {found}, {alone}", row[0]);
        }
        assert!(row[5].is_number());
    }
}

/// More torque, more swing, until it knocks: common practice, no source.
#[test]
fn amplitude_rises_with_the_torque() {
    let o = sweep(&["demo", "wheel.torque_un_m=0.2:1.2:11", "--figure", "amplitude_deg", "--csv"]);
    let read = |line: &str| line.split(',').nth(1).unwrap().parse::<f64>().unwrap();
    let amplitudes: Vec<f64> = out(&o).lines().skip(1).map(read).collect();
    assert!(amplitudes.len() == 11 && amplitudes.windows(2).all(|a| a[0] < a[1]), "{amplitudes:?}");
}

#[test]
fn motion_is_only_found_where_it_is_asked_for() {
    let axis = "wheel.torque_un_m=0:1:2";
    let outcomes = |o: &Output| -> Vec<String> {
        out(o).lines().skip(1).map(|line| line.rsplit(',').next().unwrap().to_owned()).collect()
    };
    assert_eq!(outcomes(&sweep(&["demo", axis, "--csv", "--figure", "entry.lock_deg"])), ["played", "played"]);
    assert_eq!(outcomes(&sweep(&["demo", axis, "--csv", "--figure", "amplitude_deg"])), ["no-drive", "steady"]);
    let unlike = ["demo", "wheel.teeth.3.longer_mm=0.002:0.004:2", "--csv", "--figure", "amplitude_deg"];
    assert_eq!(outcomes(&sweep(&unlike)), ["steady", "steady"]);
    let many = sweep(&["demo", "wheel.torque_un_m=0:1:200000", "--figure", "amplitude_deg"]);
    assert!(many.status.code() == Some(2) && err(&many).contains("at most 100000 points"), "{}", err(&many));
    let misspelled = sweep(&["demo", axis, "--figure", "amplitude"]);
    assert!(err(&misspelled).contains("did you mean amplitude_deg?"), "{}", err(&misspelled));
}
