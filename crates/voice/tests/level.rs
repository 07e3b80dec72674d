//! Noise as loud as it is said to be, hum, peaks, the same again; and what is refused.

use realfft::RealFftPlanner;
use voice::{Impact, Meeting, Microphone, Options, RINGS_S, Sound, sound};

/// Beats of five shocks, 0.125 s apart.
fn beats(lasts_s: f64) -> Vec<Impact> {
    let shocks = [
        (0.0, 6e-9, Meeting::JewelFork),
        (0.001_1, 4e-9, Meeting::ToothEntry),
        (0.001_3, 3e-9, Meeting::JewelFork),
        (0.007_3, 4e-8, Meeting::ToothExit),
        (0.008_6, 1e-8, Meeting::BankingExit),
    ];
    let beat = |n: u64| {
        shocks.map(|(t_s, energy_j, meeting)| {
            let t_s = 0.05 + 0.125 * n as f64 + t_s;
            Impact { t_s, energy_j, meeting, beat: n }
        })
    };
    (0..((lasts_s - 0.1) / 0.125) as u64).flat_map(beat).collect()
}

fn made(options: Options) -> Sound {
    sound(&beats(options.lasts_s), &options).expect("it is heard")
}

fn speeds(sound: &Sound) -> Vec<f64> {
    sound.samples.iter().map(|x| f64::from(*x) * sound.full_scale_m_per_s).collect()
}

/// Sum of the squares in a band, by one transform of all.
fn in_band(values: &[f64], rate_hz: u32, band_hz: [f64; 2]) -> f64 {
    let forward = RealFftPlanner::new().plan_fft_forward(values.len());
    let mut bins = forward.make_output_vec();
    forward.process(&mut values.to_vec(), &mut bins).expect("the lengths are those of the plan");
    let step_hz = f64::from(rate_hz) / values.len() as f64;
    let own = bins.iter().enumerate().filter(|(i, _)| (band_hz[0]..band_hz[1]).contains(&(*i as f64 * step_hz)));
    2.0 * own.map(|(_, c)| c.norm_sqr()).sum::<f64>() / values.len() as f64
}

/// The definition, measured on the samples: energy of the beats over that of the noise in the time that they sound, in the
/// band stated; the noise is what the same sound without it leaves.
#[test]
fn noise_is_as_far_below_as_is_said() {
    for (rate_hz, noise_db, microphone) in [
        (48_000, 30.0, Microphone::Contact),
        (48_000, 0.0, Microphone::Air),
        (44_100, 12.5, Microphone::Contact),
        (16_000, 40.0, Microphone::Contact),
    ] {
        let quiet = Options { rate_hz, microphone, lasts_s: 20.0, ..Options::default() };
        let noisy = made(Options { noise_db: Some(noise_db), ..quiet });
        let clean = speeds(&made(quiet));
        let noise: Vec<f64> = speeds(&noisy).iter().zip(&clean).map(|(a, b)| a - b).collect();
        let count = beats(20.0).len() / 5;
        assert!((noisy.sounds_s - (0.008_6 + RINGS_S)).abs() < 1e-12, "{}", noisy.sounds_s);
        let beats_si = in_band(&clean, rate_hz, noisy.band_hz);
        let part = count as f64 * noisy.sounds_s / 20.0;
        let noise_si = part * in_band(&noise, rate_hz, noisy.band_hz);
        let found_db = 10.0 * (beats_si / noise_si).log10();
        // Of 160,000 samples at least the power is known to 0.4 %, 0.015 dB.
        assert!((found_db - noise_db).abs() < 0.05, "{rate_hz} Hz, {noise_db} dB: {found_db} dB");
        let mean = noise.iter().map(|x| x * x).sum::<f64>() / noise.len() as f64;
        assert!((mean.sqrt() / noisy.full_scale_m_per_s / noisy.noise_ratio - 1.0).abs() < 0.01);
        // White: each eighth of the band has an eighth of it.
        for eighth in 0..8 {
            let edge = |n: u32| f64::from(rate_hz) * f64::from(n) / 16.0;
            let own = in_band(&noise, rate_hz, [edge(eighth), edge(eighth + 1)]) / noise.len() as f64;
            assert!((8.0 * own / mean - 1.0).abs() < 0.05, "{eighth}: {}", 8.0 * own / mean);
        }
    }
}

#[test]
fn a_hum_is_a_tone_and_its_harmonics_20_db_below() {
    let quiet = Options { lasts_s: 4.0, ..Options::default() };
    let (clean, hum) = (made(quiet), made(Options { hum_hz: Some(50.0), ..quiet }));
    let rest: Vec<f64> = speeds(&hum).iter().zip(speeds(&clean)).map(|(a, b)| a - b).collect();
    let loudest = speeds(&clean).iter().fold(0.0_f64, |a, x| a.max(x.abs()));
    let all = rest.iter().map(|x| x * x).sum::<f64>();
    for (n, size) in [(1.0, 0.1), (2.0, 0.05), (3.0, 0.1 / 3.0)] {
        let own = in_band(&rest, 48_000, [50.0 * n - 2.0, 50.0 * n + 2.0]);
        let rms = (own / rest.len() as f64).sqrt();
        assert!((rms * 2.0_f64.sqrt() / loudest / size - 1.0).abs() < 1e-3, "{n}: {rms}");
    }
    assert!((in_band(&rest, 48_000, [40.0, 160.0]) / all - 1.0).abs() < 1e-6);
}

#[test]
fn the_loudest_is_half_of_full_scale_and_the_same_comes_again() {
    let quiet = Options { lasts_s: 2.0, ..Options::default() };
    for options in [
        quiet,
        Options { noise_db: Some(-20.0), ..quiet },
        Options { noise_db: Some(30.0), hum_hz: Some(60.0), microphone: Microphone::Air, rate_hz: 8_000, ..quiet },
        Options { rate_hz: 192_000, ..quiet },
    ] {
        let sound = made(options);
        let loudest = sound.samples.iter().fold(0.0_f32, |a, x| a.max(x.abs()));
        assert!((loudest - 0.5).abs() < 1e-6, "{options:?}: {loudest}");
        assert_eq!(sound.samples.len(), 2 * options.rate_hz as usize);
        assert_eq!(sound, made(options));
    }
    let noisy = Options { noise_db: Some(30.0), ..quiet };
    assert_ne!(made(noisy).samples, made(Options { seed: 2, ..noisy }).samples);
}

#[test]
fn what_is_no_sound_is_refused_with_what_it_needs() {
    let usual = Options { lasts_s: 1.0, ..Options::default() };
    let one = Impact { t_s: 0.5, energy_j: 1e-8, meeting: Meeting::JewelFork, beat: 0 };
    let told = |impacts: &[Impact], options: Options| sound(impacts, &options).expect_err("it is refused").to_string();
    for (options, words) in [
        (Options { rate_hz: 4_000, ..usual }, "sampling rate = 4000 Hz, needs 8000 to 192000 Hz"),
        (Options { lasts_s: f64::NAN, ..usual }, "duration = NaN s, needs 0.1 to 3600 s"),
        (Options { lasts_s: 0.0, ..usual }, "duration = 0 s, needs 0.1 to 3600 s"),
        (Options { noise_db: Some(f64::INFINITY), ..usual }, "sound over noise = inf dB, needs -20 to 120 dB"),
        (Options { hum_hz: Some(5_000.0), ..usual }, "hum = 5000 Hz, needs 10 to 1000 Hz"),
        (Options { lasts_s: 3_600.0, ..usual }, "3600 s at 48000 Hz = 172800000 samples, needs 28800000 at most"),
    ] {
        assert_eq!(told(&[one], options), format!("could not make the sound: {words}"));
    }
    for (impact, words) in [
        (Impact { t_s: -0.1, ..one }, "instant of impact 1 = -0.1 s, needs a finite number, 0 or more"),
        (Impact { t_s: f64::NAN, ..one }, "instant of impact 1 = NaN s, needs a finite number, 0 or more"),
        (Impact { energy_j: -1e-9, ..one }, "energy of impact 1 = -0.000000001 J, needs 0 to 1 J"),
        (Impact { energy_j: f64::INFINITY, ..one }, "energy of impact 1 = inf J, needs 0 to 1 J"),
    ] {
        assert_eq!(told(&[one, impact], usual), format!("could not make the sound: {words}"));
    }
    for impacts in [&[][..], &[Impact { energy_j: 0.0, ..one }], &[Impact { t_s: 1.0, ..one }]] {
        let words = format!("none of {} impacts has an energy and comes within its 1 s", impacts.len());
        assert_eq!(told(impacts, usual), format!("could not make the sound: {words}"));
    }
}
