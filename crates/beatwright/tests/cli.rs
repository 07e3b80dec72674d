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
}

#[test]
fn every_refusal_has_a_document_and_says_what_to_do() {
    let sweep = |axis| ["sweep", "demo", axis, "--json"];
    for (args, code, said) in [
        (&["check", "no-such-file.toml", "--json"][..], "unreadable", "no-such-file.toml"),
        (&sweep("pallets.lokc_deg=1:2:3"), "unknown-key", "did you mean `pallets.lock_deg`?"),
        (&sweep("pallets.lock_deg=1:20:3"), "out-of-range", "pallets.lock_deg=1:20:3"),
        (&sweep("pallets.lock_deg=1,5:2:3"), "bad-use", "write the decimal point: 1.5"),
        (&sweep("pallets.lock_deg=1:2:x"), "bad-use", "a whole number of values"),
        (&sweep("pallets.stone_width_mm=5:6:2"), "no-such-pallets", "at the first point of the sweep"),
        (
            &["sweep", "demo", "pallets.lock_deg=1:2:3", "pallets.exit.lock_deg=1:2:3", "--json"],
            "bad-use",
            "two axes vary the same parameter: pallets.lock_deg and pallets.exit.lock_deg",
        ),
        (&["drawing", "demo", "-o", "x.svg", "--json", "--part", "palets"], "bad-use", "'pallets'"),
        (&["drawing", "demo", "-o", "x.svg", "--json", "--moment", "entry:50"], "bad-use", "lever angle"),
        (&["drawing", "demo", "-o", "no-such-folder/x.svg", "--json"], "unwritable", "no-such-folder"),
        (&["action", "demo", "--json", "--points", "1"], "bad-use", "a whole number from 2 to 10000"),
        (&["check", "demo", "--json", "--set", "name=x"], "not-a-parameter", "only parameters can be set"),
    ] {
        let o = run(args);
        assert_eq!(o.status.code(), Some(2), "{args:?}");
        let document = json(&o);
        assert_eq!(
            (&document["schema"], &document["verdict"]),
            (&"beatwright.diagnostics/1".into(), &"bad-input".into())
        );
        let fault = &document["diagnostics"][0];
        assert_eq!(fault["code"], code, "{args:?}");
        assert!(fault["hint"].as_str().is_some_and(|hint| !hint.is_empty()), "{fault}");
        let told = format!("{} {}", fault["message"], fault["hint"]);
        assert!(told.contains(said) && err(&o).contains(said), "{args:?}: {told} {}", err(&o));
    }
}

#[test]
fn all_faults_are_counted() {
    let path = temp("many.toml");
    let unknown: String = (0..2000).map(|i| format!("nothing_{i} = {i}\n")).collect();
    std::fs::write(
        &path,
        format!("format = 1\nname = \"many\"\nwheel.tooth_count = 15\nwheel.locking_radius_mm = 2.5\n{unknown}"),
    )
    .unwrap();
    let o = run(&["check", path.to_str().unwrap(), "--json"]);
    assert!(err(&o).contains("\n2000 faults in the movement"), "{}", err(&o).lines().last().unwrap());
    assert_eq!(json(&o)["fault_count"], 2000);
}

#[test]
fn remarks_stand_after_the_verdict() {
    let set =
        ["--set", "wheel.tooth_lift_read_on=", "--set", "bankings.distance_mm=1.6", "--set", "pallets.lift_deg=20"];
    let both = Command::new("sh")
        .arg("-c")
        .arg(format!("'{}' check demo {} 2>&1", env!("CARGO_BIN_EXE_beatwright"), set.join(" ")))
        .output()
        .unwrap();
    let text = out(&both);
    assert!(text.starts_with("Demo: flat wrist movement: "), "{text}");
    let at = |words: &str| text.find(words).unwrap_or_else(|| panic!("no {words} in {text}"));
    assert!(at("note[share-holds-on-one-pallet]") > at("by contact") && at("warning[") > at("by contact"));
}

#[test]
fn outcome_of_a_sweep_is_the_gravest_fault_of_check() {
    for (axis, code) in [
        ("wheel.teeth.3.longer_mm=-0.3:-0.3:1", "tooth-passes"),
        ("wheel.teeth.3.longer_mm=-0.1:-0.1:1", "does-not-lock"),
        ("pallets.drop_deg=0:0:1", "no-drop"),
        ("pallets.stone_out_mm=-0.5:-0.5:1", "stone-out-of-reach"),
        ("pallets.stone_out_mm=0.3:0.3:1", "jewel-slips"),
    ] {
        let rows = json(&run(&["sweep", "demo", axis, "--json"]))["rows"].clone();
        let (key, value) = axis.split_once('=').unwrap();
        let set = format!("{key}={}", value.split(':').next().unwrap());
        let checked = json(&run(&["check", "demo", "--set", &set, "--json"]));
        assert_eq!(rows[0].as_array().unwrap().last().unwrap(), &checked["findings"][0]["code"], "{axis}");
        assert_eq!(checked["findings"][0]["code"], code, "{axis}");
    }
    let counts = out(&run(&["sweep", "demo", "wheel.tooth_count=14:16:3", "--figure", "entry.lock_deg"]));
    assert!(counts.lines().any(|l| l.split_whitespace().collect::<Vec<_>>() == ["15", "1.500", "played"]), "{counts}");
}

#[test]
fn arguments_are_read_as_they_are_spoken() {
    let folder = temp("named");
    std::fs::create_dir_all(&folder).unwrap();
    let new = |args: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_beatwright")).arg("new").args(args).current_dir(&folder).output().unwrap()
    };
    for (file, typed) in [("demo", "./demo"), ("my watch.toml", "'my watch.toml'"), ("it's.toml", "'it'\\''s.toml'")] {
        let o = new(&[file, "--force", "--radius-mm", "0.2"]);
        assert!(err(&o).ends_with(&format!("now: beatwright check {typed}\n")), "{}", err(&o));
    }
    let checked = run(&["check", folder.join("my watch.toml").to_str().unwrap()]);
    assert_eq!((checked.status.code() == Some(2), err(&checked).as_str()), (false, ""));
    for (args, said) in [
        (&["x.toml", "--name", ""][..], "at least one letter"),
        (&["x.toml", "--radius-mm", "-3"], "0.2 to 100 mm, such as 2.5"),
        (&["x.toml", "--radius-mm", "2,5"], "write the decimal point: 2.5"),
        (&["x.toml", "--teeth", "many"], "a whole number from 6 to 60, such as 15"),
    ] {
        let o = new(args);
        assert_eq!(o.status.code(), Some(2), "{args:?}");
        assert!(err(&o).contains(said), "{}", err(&o));
    }
    let draw = |scale: &str| {
        let path = temp("scaled.svg");
        let o = run(&[
            "drawing",
            "demo",
            "-o",
            path.to_str().unwrap(),
            "--scale",
            scale,
            "--part",
            "Pallets",
            "--sheet",
            "A3",
        ]);
        assert_eq!(o.status.code(), Some(0), "{}", err(&o));
        std::fs::read_to_string(path).unwrap()
    };
    assert_eq!(draw("20:1"), draw("20"));
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
    assert_eq!(beats[0]["tooth"], serde_json::Value::Null);
    // 2.25 is stated in millimetres and held in metres.
    let document = json(&run(&["check", "demo", "--json"]));
    let radius = document["parameters"].as_array().unwrap().iter().find(|p| p["path"] == "wheel.locking_radius_mm");
    assert_eq!(radius.unwrap()["value"].to_string(), "2.25");
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
    let page = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    assert!(page("beatwright-sweep.1").contains("KEY=A:B:N"));
    assert!(
        page("beatwright-drawing.1").contains("<\\fIMOVEMENT\\fR>") && page("beatwright-drawing.1").contains("OUT.svg")
    );
    let bash = out(&run(&["completions", "bash"]));
    assert!(bash.contains("stone-entry") && bash.contains("a3-portrait"));
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

#[test]
fn a_tooth_that_cannot_be_cut_is_named() {
    let o = run(&["check", "demo", "--json", "--set", "wheel.teeth.3.longer_mm=-1.5"]);
    let fault = &json(&o)["diagnostics"][0];
    assert_eq!((&fault["code"], &fault["about"][0]), (&"no-room-for-tooth".into(), &"wheel.teeth.3.longer_mm".into()));
    assert!(fault["message"].as_str().unwrap().contains("tooth 3 cannot be drawn"));
    assert_eq!((&fault["place"]["source"], &fault["place"]["column"]), (&"--set".into(), &25.into()));
    // The limit told is one: a little within it the tooth is cut, a little beyond it is not.
    let least: f64 = fault["allowed"].as_str().unwrap().split_whitespace().nth(2).unwrap().parse().unwrap();
    for (mm, refused) in [(least + 2e-4, false), (least - 2e-4, true)] {
        let o = run(&["check", "demo", "--set", &format!("wheel.teeth.3.longer_mm={mm}")]);
        assert_eq!(o.status.code() == Some(2), refused, "{mm}: {}", err(&o));
    }
}
