//! The program as a person runs it: exit status, channels, documents.
#![allow(clippy::unwrap_used)]

use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_beatwright")).args(args).current_dir(root()).output().unwrap()
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn json(output: &Output) -> serde_json::Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e}: {}", out(output)))
}

fn temp(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("beatwright-test-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    folder.join(name)
}

#[test]
fn demo_is_sound() {
    let o = run(&["check", "demo"]);
    assert_eq!(o.status.code(), Some(0), "{}", out(&o));
    assert!(out(&o).starts_with("Demo: flat wrist movement: sound"));
}

#[test]
fn handbook_examples_are_sound() {
    for entry in std::fs::read_dir(root().join("examples")).unwrap() {
        let path = entry.unwrap().path();
        let o = run(&["check", path.to_str().unwrap()]);
        assert_eq!(o.status.code(), Some(0), "{}: {}", path.display(), out(&o));
    }
}

#[test]
fn finding_gives_status_1_and_says_by_how_much() {
    let o = run(&["check", "demo", "--set", "pallets.exit.stone_out_mm=-0.06", "--json"]);
    assert_eq!(o.status.code(), Some(1));
    let document = json(&o);
    assert_eq!(document["schema"], "beatwright.check/1");
    assert_eq!(document["verdict"], "findings");
    let first = &document["findings"][0];
    assert_eq!(first["code"], "does-not-lock");
    let lock = document["figures"]["exit"]["lock_deg"].as_f64().unwrap();
    assert!(lock < 0.0 && (first["found"].as_f64().unwrap() - lock).abs() < 1e-12);
    assert!(first["message"].as_str().unwrap().contains(&format!("{:.3} deg", -lock)));
}

#[test]
fn bad_input_gives_status_2_with_every_fault() {
    let path = temp("bad.toml");
    std::fs::write(
        &path,
        "format = 1\nname = \"bad\"\n[wheel]\ntooth_count = 150\nlocking_radius_mm = 2.5\n[pallets]\nlock_mm = 1\n",
    )
    .unwrap();
    let o = run(&["check", path.to_str().unwrap()]);
    assert_eq!((o.status.code(), out(&o).as_str()), (Some(2), ""));
    assert!(
        err(&o).contains("bad.toml:4") && err(&o).contains("bad.toml:7") && err(&o).contains("lock_deg"),
        "{}",
        err(&o)
    );
    let o = run(&["check", path.to_str().unwrap(), "--json"]);
    let document = json(&o);
    assert_eq!(document["verdict"], "bad-input");
    assert_eq!(document["diagnostics"].as_array().unwrap().len(), 2);
    for args in [
        &["check", "no-such-file.toml"][..],
        &["drawing", "demo", "-o", "x.svg", "--part", "case"],
        &["drawing", "demo", "-o", "x.svg", "--moment", "entry:50"],
    ] {
        let o = run(args);
        assert_eq!(o.status.code(), Some(2), "{args:?}");
        assert!(err(&o).contains("hint: "), "{}", err(&o));
    }
}

#[test]
fn over_determined_is_reported_with_what_each_would_have_to_be() {
    // 1.5 + 8.5 on the entry pallet fix the exit's sum at 10: a lift of 8 with a lock of 1.5 leaves 0.5.
    let o = run(&["check", "demo", "--set", "pallets.exit.lift_deg=8"]);
    assert_eq!(o.status.code(), Some(2));
    assert!(
        err(&o).contains("over-determined")
            && err(&o).contains("pallets.exit.lift_deg would have to be 8.5 deg (off by 0.500 deg)"),
        "{}",
        err(&o)
    );
}

#[test]
fn a_figure_that_is_none_is_told_with_the_one_meant() {
    for (path, meant) in [
        ("entry.lok_deg", "entry.lock_deg"),
        ("entry.lock_mm", "entry.lock_deg"),
        ("exit.lock", "exit.lock_deg"),
        ("lock_deg", "entry.lock_deg or exit.lock_deg"),
        ("lock", "entry.lock_deg or exit.lock_deg"),
    ] {
        let o = run(&["sweep", "demo", "pallets.entry.stone_out_mm=0:0.01:2", "--figure", path]);
        assert_eq!(o.status.code(), Some(2), "{path}");
        assert!(err(&o).contains(&format!("did you mean {meant}?")), "{path}: {}", err(&o));
    }
    let o = run(&["sweep", "demo", "pallets.entry.stone_out_mm=0:0.01:2", "--figure", "weight"]);
    assert!(err(&o).contains("the figures are entry.lock_deg, "), "{}", err(&o));
}

#[test]
fn file_from_standard_input() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_beatwright"))
        .args(["check", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let text = out(&run(&["new", "-", "--teeth", "15", "--radius-mm", "2.5"]));
    child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
    let o = child.wait_with_output().unwrap();
    assert_eq!(o.status.code(), Some(0), "{}{}", out(&o), err(&o));
}

#[test]
fn new_does_not_overwrite() {
    let path = temp("new.toml");
    let _ = std::fs::remove_file(&path);
    let args = ["new", path.to_str().unwrap(), "--teeth", "20"];
    assert_eq!(run(&args).status.code(), Some(0));
    let o = run(&args);
    assert_eq!(o.status.code(), Some(2));
    assert!(err(&o).contains("--force"));
    assert_eq!(run(&["check", path.to_str().unwrap()]).status.code(), Some(0));
}

#[test]
fn sweep_is_the_same_on_any_number_of_threads_and_agrees_with_check() {
    let args = |threads| {
        vec![
            "sweep",
            "demo",
            "pallets.entry.stone_out_mm=-0.02:0.02:5",
            "centres.wheel_pallet_change_mm=0:0.01:3",
            "--figure",
            "exit.lock_deg",
            "--csv",
            "--threads",
            threads,
        ]
    };
    let (one, two) = (out(&run(&args("1"))), out(&run(&args("2"))));
    assert_eq!(one, two);
    assert_eq!(one.lines().count(), 16);
    let last: Vec<&str> = one.lines().last().unwrap().split(',').collect();
    assert_eq!((last[0], last[1], last[3]), ("0.02", "0.01", "played"));
    let o = run(&[
        "check",
        "demo",
        "--set",
        "pallets.entry.stone_out_mm=0.02",
        "--set",
        "centres.wheel_pallet_change_mm=0.01",
        "--json",
    ]);
    assert_eq!(json(&o)["figures"]["exit"]["lock_deg"].as_f64().unwrap(), last[2].parse::<f64>().unwrap());
}

#[test]
fn action_documents() {
    let document = json(&run(&["action", "demo", "--json", "--points", "3"]));
    assert_eq!(document["schema"], "beatwright.action/1");
    let beats = document["beats"].as_array().unwrap();
    assert_eq!(beats.len(), 2);
    let phases = beats[0]["phases"].as_array().unwrap().len();
    assert_eq!(beats[0]["curve"].as_array().unwrap().len(), 3 * phases);
    let csv = out(&run(&["action", "demo", "--csv"]));
    assert_eq!(csv.lines().count(), 3);
    let columns = csv.lines().next().unwrap().split(',').count();
    assert!(csv.lines().all(|l| l.split(',').count() == columns));
    let curve = out(&run(&["action", "demo", "--curve"]));
    assert!(curve.starts_with("pallet,tooth,tooth_face,stone_face,lever_deg,wheel_deg"));
}

#[test]
fn unlike_teeth_are_named() {
    let o = run(&["check", "demo", "--set", "wheel.teeth.4.longer_mm=-0.05", "--json"]);
    assert_eq!(o.status.code(), Some(1));
    let document = json(&o);
    // The short tooth does not lock on the entry pallet; on the exit pallet the tooth that lands when it is let go does not.
    let faults = document["findings"].as_array().unwrap();
    let on = |pallet: &str| {
        faults.iter().find(|f| f["code"] == "does-not-lock" && f["pallet"] == pallet).unwrap()["tooth"].clone()
    };
    assert_eq!((on("entry"), on("exit")), (4.into(), 2.into()));
}

#[test]
fn drawing_of_every_part() {
    for part in ["assembly", "wheel", "pallets", "stone-entry", "stone-exit", "fork", "roller", "lock", "safety-lock"] {
        let path = temp(&format!("{part}.svg"));
        let o = run(&["drawing", "demo", "-o", path.to_str().unwrap(), "--part", part, "--json"]);
        assert_eq!(o.status.code(), Some(0), "{part}: {}", err(&o));
        assert_eq!(json(&o)["schema"], "beatwright.drawing/1");
        assert!(std::fs::read_to_string(path).unwrap().trim_end().ends_with("</svg>"));
    }
}

#[test]
fn schema_completions_and_man_pages() {
    assert!(json(&run(&["schema"]))["properties"]["wheel"].is_object());
    assert!(out(&run(&["completions", "bash"])).contains("beatwright"));
    let folder = temp("man");
    assert_eq!(run(&["man", folder.to_str().unwrap()]).status.code(), Some(0));
    assert!(std::fs::read_to_string(folder.join("beatwright-sweep.1")).unwrap().contains("KEY=A:B:N"));
}

/// By contact, on drawn parts: where the limit told says the bankings bear on the straight bar, the stated run comes.
#[test]
fn bankings_give_the_stated_run_up_to_the_distance_told() {
    for form in ["pins", "walls"] {
        let set = |more: &[&str]| {
            let form = format!("bankings.form={form}");
            let mut args = vec!["check", "demo", "--json", "--set", "pallets.lift_deg=20", "--set", &form];
            more.iter().for_each(|set| args.extend(["--set", set]));
            json(&run(&args))
        };
        let run_deg = |document: &serde_json::Value| document["figures"]["entry"]["run_deg"].as_f64().unwrap();
        assert!((run_deg(&set(&[])) - 0.3).abs() < 1e-9, "{form}");
        let off = set(&["bankings.distance_mm=1.6"]);
        let warning = &off["diagnostics"][0];
        assert_eq!((&warning["code"], &warning["severity"]), (&"banking-off-the-bar".into(), &"warning".into()));
        assert!(run_deg(&off) < 0.3 - 1e-3, "{form}");
        let allowed = warning["allowed"].as_str().unwrap().to_owned();
        let most: f64 = allowed.split_whitespace().nth(3).unwrap().parse().unwrap();
        let at = |mm: f64| set(&[&format!("bankings.distance_mm={mm}")]);
        assert!((run_deg(&at(most - 1e-4)) - 0.3).abs() < 1e-9, "{form} {most}");
        assert_eq!(at(most - 1e-4)["diagnostics"].as_array().unwrap().len(), 0);
        assert!(run_deg(&at(most + 1e-3)) < 0.3 - 1e-4, "{form} {most}");
    }
}
