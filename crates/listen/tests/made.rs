//! Figures of sounds of which everything is known. They come from a generator of the checks' own (`support/made.rs`), and
//! from other draws than those by which the detector was tuned.

#[path = "support/made.rs"]
mod made;

use beat::Estimate;
use listen::{Detector, Heard, Refusal};
use made::{Dice, Made};

fn heard(made: &Made) -> Result<Heard, Refusal> {
    hear(made.rate_hz, &made.sound())
}

fn hear(rate_hz: u32, sound: &[f32]) -> Result<Heard, Refusal> {
    let mut detector = Detector::new(rate_hz);
    sound.chunks(4096).for_each(|c| detector.push(c));
    detector.finish()
}

fn any(dice: &mut Dice, seed: u64) -> Made {
    let usual = [14_400.0, 16_200.0, 18_000.0, 19_800.0, 21_600.0, 25_200.0, 28_800.0, 36_000.0];
    Made {
        per_hour: usual[(dice.part() * 8.0) as usize],
        rate_hz: [44_100, 48_000, 96_000][(dice.part() * 3.0) as usize],
        rate_s_per_day: dice.between(-120.0, 120.0),
        amplitude_deg: dice.between(150.0, 320.0),
        beat_error_ms: dice.between(0.0, 5.0),
        jitter_s: dice.between(0.0, 60e-6),
        over_noise_db: dice.between(10.0, 40.0),
        first_ratio: dice.between(0.15, 0.5),
        seed,
        ..Made::default()
    }
}

/// One figure against the truth: how far off, and in standard errors.
fn off(found: Estimate, by: f64, truth: f64) -> [f64; 2] {
    let error = found.value_si * by - truth;
    [error, error / (found.sigma_si * by)]
}

/// Of 40 recordings of 30 s, from 10 to 40 dB over the noise; 400 with `PROPTEST_CASES` of 10,000 and more.
#[test]
fn figures_are_those_of_what_was_made() {
    let many = std::env::var("PROPTEST_CASES").ok().and_then(|c| c.parse::<u64>().ok()).is_some_and(|c| c >= 10_000);
    let count = if many { 400 } else { 40 };
    let mut dice = Dice(20_261_128);
    let (mut good, mut amplitudes, mut all) = (0, 0, [Vec::new(), Vec::new(), Vec::new()]);
    for i in 0..count {
        let made = any(&mut dice, 1_000 + i);
        let heard = heard(&made).unwrap_or_else(|refusal| panic!("{made:?}: {refusal}"));
        assert_eq!(heard.usual_per_hour(), Some(made.per_hour), "{made:?}");
        let f = heard.figures(3600.0 / made.per_hour, Some(made.lift_deg.to_radians())).expect("beats of both sides");
        let rate = off(f.rate_ratio, 86_400.0, made.rate_s_per_day);
        let error = off(f.beat_error_s, 1e3, made.beat_error_ms);
        let amplitude = f.amplitude_rad.map(|a| off(a, 1_f64.to_degrees(), made.amplitude_deg));
        amplitudes += usize::from(amplitude.is_some());
        let within = rate[0].abs() < 1.0 && error[0].abs() < 0.1 && amplitude.is_none_or(|a| a[0].abs() < 3.0);
        good += usize::from(within);
        if !within {
            eprintln!("{made:?}: rate {rate:?}, beat error {error:?}, amplitude {amplitude:?}");
        }
        for (all, one) in all.iter_mut().zip([Some(rate), amplitude, Some(error)]) {
            all.extend(one);
        }
    }
    for (name, all) in ["rate, s/d", "amplitude, deg", "beat error, ms"].into_iter().zip(&mut all) {
        let covered = all.iter().filter(|e| e[1].abs() < 1.96).count() as f64 / all.len() as f64;
        all.sort_by(|a, b| a[0].abs().total_cmp(&b[0].abs()));
        let at = |part: f64| all[((part * all.len() as f64) as usize).min(all.len() - 1)][0].abs();
        eprintln!(
            "{name}: median {:.4}, 95 % {:.4}, worst {:.4}; 95 % bars cover {covered:.2}",
            at(0.5),
            at(0.95),
            at(1.0)
        );
        assert!(covered > 0.75, "{name}: {covered}");
    }
    eprintln!("{good} of {count} within 1 s/d, 3 deg, 0.1 ms; {amplitudes} with an amplitude");
    assert!(good as f64 >= 0.95 * count as f64, "{good} of {count}");
    assert!(amplitudes as f64 >= 0.8 * count as f64, "{amplitudes} of {count}");
}

/// Formulas: amplitude from the interval (`beat`), of a sound made with it: 28,800, 7.675 ms, 52 deg give 270.0 deg, and
/// 18,000, 12.280 ms too (derived, B1 of docs/theory/beats.md).
#[test]
fn the_generator_has_the_intervals_of_the_worked_values() {
    for (per_hour, between_ms) in [(28_800.0, 7.675), (18_000.0, 12.280)] {
        let made = Made { per_hour, ..Made::default() };
        assert!((1e3 * made.between_s() - between_ms).abs() < 5e-4, "{}", 1e3 * made.between_s());
    }
}

#[test]
fn five_minutes_are_heard_as_they_come() {
    // Many times what is looked at for the portraits: the rest is followed with them.
    let made = Made { lasts_s: 300.0, rate_s_per_day: 8.64, rate_hz: 16_000, ..Made::default() };
    let heard = heard(&made).expect("it is heard");
    let f = heard.figures(0.125, None).expect("beats of both sides");
    assert!((f.rate_ratio.value_si * 86_400.0 - 8.64).abs() < 0.05, "{f:?}");
    assert!(heard.beats.len() > 2_390, "{}", heard.beats.len());
}

#[test]
fn what_is_no_watch_is_refused() {
    let mut dice = Dice(3);
    let seconds = |s: f64| (s * 48_000.0) as usize;
    let noise: Vec<f32> = (0..seconds(20.0)).map(|_| (0.1 * dice.normal()) as f32).collect();
    assert!(matches!(hear(48_000, &noise), Err(Refusal::NothingReturns { .. })));
    assert!(matches!(hear(48_000, &vec![0.0; seconds(20.0)]), Err(Refusal::Silent { .. })));
    let short = Made { lasts_s: 2.0, ..Made::default() };
    assert!(matches!(heard(&short), Err(Refusal::TooShort { .. })));
    assert!(matches!(hear(48_000, &[]), Err(Refusal::Silent { .. } | Refusal::TooShort { .. })));
    // Single clicks, all alike, of a quartz movement and of something that clicks twice a second.
    let mut clicks = |each_s: f64| {
        let mut sound: Vec<f32> = (0..seconds(20.0)).map(|_| (1e-3 * dice.normal()) as f32).collect();
        let mut at_s = 0.3;
        while at_s < 19.9 {
            for i in 0..200 {
                let s = i as f64 / 48_000.0;
                sound[seconds(at_s) + i] +=
                    (0.3 * (-s / 6e-4).exp() * (5_000.0 * s * std::f64::consts::TAU).sin()) as f32;
            }
            at_s += each_s;
        }
        hear(48_000, &sound)
    };
    assert!(matches!(clicks(1.0), Err(Refusal::TooSlow { .. })));
    assert!(matches!(clicks(0.5), Err(Refusal::Clicks { .. })), "twice a second");
    assert!(matches!(clicks(0.3), Err(Refusal::Clicks { .. })), "two hundred a minute");
    // Clicks at any time.
    let mut sound = vec![0.0_f32; seconds(20.0)];
    for _ in 0..120 {
        let at = seconds(dice.between(0.1, 19.8));
        for i in 0..200 {
            sound[at + i] += 0.3 * (-(i as f32) / 30.0).exp();
        }
    }
    assert!(hear(48_000, &sound).is_err());
}
