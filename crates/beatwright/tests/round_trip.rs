//! Round trip: a movement is computed, sounded and heard again, each by its own command. What is heard is held against the
//! truth that the sound was written with; voice and listen share no line.
//!
//! 30 s at 48 kHz with noise 30 dB below the beats (V5 of docs/theory/voice.md), over beats an hour, amplitude by the
//! torque, beat error by the turn of the roller; of two runs to the banking, by which the lever is there before the drop or
//! after it. Every rate is heard to 0.05 s/d. Amplitude (to 1 deg) and beat error (to 0.01 ms; where the lever is at its
//! banking before the drop either may also be within twice its standard error) come out so often as is stated here, no less.
#![allow(clippy::unwrap_used)]

use serde_json::Value;
use std::process::Command;

/// Bounds: rate s/d, amplitude deg, beat error ms.
const RATE_S_PER_DAY: f64 = 0.05;
const AMPLITUDE_DEG: f64 = 1.0;
const BEAT_ERROR_MS: f64 = 0.01;
/// The demo movement's: the lever is at its banking before the drop.
const RUN_DEG: f64 = 0.3;
/// A larger one: the drop comes first.
const LARGE_RUN_DEG: f64 = 1.2;

struct Case {
    run_deg: f64,
    per_hour: f64,
    amplitude_deg: f64,
    beat_error_ms: f64,
}

fn run(args: &[String]) -> Value {
    let o = Command::new(env!("CARGO_BIN_EXE_beatwright")).args(args).output().unwrap();
    serde_json::from_slice(&o.stdout)
        .unwrap_or_else(|e| panic!("{args:?}: {e}: {}", String::from_utf8_lossy(&o.stderr)))
}

/// What came back of a figure: how far off, and whether that is within its bound.
struct Back {
    off: Option<f64>,
    is_within: bool,
}

impl Case {
    /// How to set the demo movement. By trial the square of its amplitude goes as the torque over that of the beats; the
    /// turn is that of B2 of docs/theory/beats.md.
    fn set(&self) -> Vec<String> {
        let torque_un_m = self.amplitude_deg.powi(2) / 88_000.0 * (self.per_hour / 28_800.0).powi(2);
        let phase_rad = std::f64::consts::PI * 1e-3 * self.beat_error_ms * self.per_hour / 7_200.0;
        let turn_deg = self.amplitude_deg * phase_rad.sin() / (1.0 - (27.0 / self.amplitude_deg).powi(2)).sqrt();
        let keys = [
            ("bankings.run_deg", self.run_deg),
            ("balance.beats_per_hour", self.per_hour),
            ("wheel.torque_un_m", torque_un_m),
            ("roller.turn_deg", turn_deg),
        ];
        keys.iter().flat_map(|(key, value)| ["--set".to_owned(), format!("{key}={value}")]).collect()
    }

    fn goes_round(&self, number: usize) -> [Back; 3] {
        let folder = std::env::temp_dir().join(format!("beatwright-round-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let file = folder.join(format!("{number}.wav")).display().to_string();
        let seed = number.to_string();
        let fixed = ["sound", "demo", "-o", &file, "--noise-db", "30", "--seed", &seed, "--force", "--json"];
        let made = run(&[fixed.map(str::to_owned).to_vec(), self.set()].concat());
        let truth = &made["truth"];
        let of = |of: &Value, key: &str| of[key].as_f64();
        let lift = of(truth, "lift_deg").unwrap_or_else(|| panic!("{:?}: {made}", self.set())).to_string();
        let heard = run(&["listen", &file, "--json", "--lift-deg", &lift].map(str::to_owned));
        std::fs::remove_file(&file).unwrap();
        // The case is the one that it says.
        assert_eq!(truth["banks_before_drop"], self.run_deg < LARGE_RUN_DEG, "{made}");
        assert!((of(truth, "amplitude_deg").unwrap() - self.amplitude_deg).abs() < 16.0, "{made}");
        assert!((of(truth, "beat_error_ms").unwrap() - self.beat_error_ms).abs() < 0.6, "{made}");
        assert_eq!(heard["beats_per_hour"], truth["beats_per_hour"], "{made} {heard}");
        let figures = [
            ("rate_s_per_day", "rate_se_s_per_day", RATE_S_PER_DAY),
            ("amplitude_deg", "amplitude_se_deg", AMPLITUDE_DEG),
            ("beat_error_ms", "beat_error_se_ms", BEAT_ERROR_MS),
        ];
        let back = figures.map(|(key, error, bound)| {
            let off = of(&heard, key).zip(of(truth, key)).map(|(heard, truth)| heard - truth);
            let stated = if self.run_deg < LARGE_RUN_DEG { 2.0 * of(&heard, error).unwrap_or(0.0) } else { 0.0 };
            Back { off, is_within: off.is_some_and(|off| off.abs() < bound.max(stated)) }
        });
        let shown: Vec<String> = figures
            .iter()
            .zip(&back)
            .map(|((key, error, _), back)| {
                let off = back.off.map_or("-".to_owned(), |off| format!("{off:+.4}"));
                format!(
                    "{key} off by {off} (se {:.4}){}",
                    of(&heard, error).unwrap_or(f64::NAN),
                    if back.is_within { "" } else { " BEYOND" }
                )
            })
            .collect();
        eprintln!(
            "run {} deg, {} an hour, {:.1} deg, {:.3} ms: {}",
            self.run_deg,
            self.per_hour,
            of(truth, "amplitude_deg").unwrap(),
            of(truth, "beat_error_ms").unwrap(),
            shown.join("; ")
        );
        back
    }
}

fn grid(runs_deg: &[f64], per_hour: &[f64], amplitudes_deg: &[f64], beat_errors_ms: &[f64]) -> Vec<Case> {
    let mut out = Vec::new();
    for &run_deg in runs_deg {
        for &per_hour in per_hour {
            for &amplitude_deg in amplitudes_deg {
                for &beat_error_ms in beat_errors_ms {
                    out.push(Case { run_deg, per_hour, amplitude_deg, beat_error_ms });
                }
            }
        }
    }
    out
}

/// Six cases, or with `PROPTEST_CASES` of 10,000 and more the grid of ninety.
#[test]
fn what_was_computed_is_heard_again() {
    let many = std::env::var("PROPTEST_CASES").ok().and_then(|c| c.parse::<u64>().ok()).is_some_and(|c| c >= 10_000);
    let case =
        |run_deg, per_hour, amplitude_deg, beat_error_ms| Case { run_deg, per_hour, amplitude_deg, beat_error_ms };
    let (cases, least) = if many {
        let per_hour = [14_400.0, 18_000.0, 21_600.0, 28_800.0, 36_000.0];
        (grid(&[RUN_DEG, LARGE_RUN_DEG], &per_hour, &[158.0, 235.0, 310.0], &[0.05, 2.5, 5.0]), [90, 80, 78])
    } else {
        let cases = vec![
            case(RUN_DEG, 18_000.0, 158.0, 0.05),
            case(RUN_DEG, 21_600.0, 235.0, 2.5),
            case(RUN_DEG, 28_800.0, 310.0, 5.0),
            case(LARGE_RUN_DEG, 18_000.0, 310.0, 2.5),
            case(LARGE_RUN_DEG, 28_800.0, 158.0, 0.05),
            case(LARGE_RUN_DEG, 36_000.0, 235.0, 2.5),
        ];
        (cases, [6, 4, 4])
    };
    let mut within = [0; 3];
    for (number, case) in cases.iter().enumerate() {
        let back = case.goes_round(number);
        within.iter_mut().zip(back).for_each(|(count, back)| *count += usize::from(back.is_within));
    }
    eprintln!(
        "within their bounds of {}: rate {}, amplitude {}, beat error {}",
        cases.len(),
        within[0],
        within[1],
        within[2]
    );
    assert!(within.iter().zip(least).all(|(found, least)| *found >= least), "{within:?}, needs {least:?}");
}
