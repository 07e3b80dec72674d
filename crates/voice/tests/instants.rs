//! Impacts sound when they come, wherever that lies between two samples, and as the masses and springs say: against an
//! integration in tiny steps (`support/by_steps.rs`), through the Fourier integrals of both.

#[path = "support/by_steps.rs"]
mod by_steps;
#[path = "support/spectrum.rs"]
mod spectrum;

use realfft::num_complex::Complex;
use spectrum::of_sound;
use std::f64::consts::TAU;
use voice::{Impact, Meeting, Options, Sound, sound};

fn heard(impacts: &[Impact], rate_hz: u32) -> Sound {
    sound(impacts, &Options { rate_hz, lasts_s: 0.2, ..Options::default() }).expect("it is heard")
}

/// Delay of one spectrum after another: the phase between them as a line through 0, each frequency by its power.
fn later_s(a: &[(f64, Complex<f64>)], b: &[(f64, Complex<f64>)]) -> f64 {
    let (mut above, mut below) = (0.0, 0.0);
    for ((hz, a), (_, b)) in a.iter().zip(b) {
        let both = b * a.conj();
        let w = TAU * hz;
        above -= both.norm() * w * both.arg();
        below += both.norm() * w * w;
    }
    above / below
}

/// At 48 kHz a sample lasts 20.8 us: instants anywhere within one come out to a thousandth of a microsecond.
#[test]
fn instants_between_samples_are_true() {
    for (meeting, other_side) in [(Meeting::ToothEntry, false), (Meeting::ToothExit, true), (Meeting::JewelFork, false)]
    {
        for (rate_hz, highest_hz) in [(48_000, 21_600.0), (44_100, 19_845.0)] {
            let impact = Impact { t_s: 0.0, energy_j: 2e-8, meeting, beat: 0 };
            let (by_steps, step_s) = by_steps::speeds(&impact, highest_hz, other_side);
            let frequencies = || (4..=76).map(|n| 250.0 * f64::from(n));
            let at = |hz: f64| spectrum::spectrum(by_steps.iter().copied(), step_s, hz);
            let truth: Vec<_> = frequencies().map(|hz| (hz, at(hz))).collect();
            let largest = truth.iter().map(|t| t.1.norm()).fold(0.0, f64::max);
            for t_s in [0.05, 0.050_003_1, 0.050_010_4, 0.050_018_8] {
                let sound = heard(&[Impact { t_s, ..impact }], rate_hz);
                let shifted = |hz: f64| of_sound(&sound, hz) * Complex::from_polar(1.0, TAU * hz * t_s);
                let found: Vec<_> = frequencies().map(|hz| (hz, shifted(hz))).collect();
                let off_s = later_s(&truth, &found);
                assert!(off_s.abs() < 1e-9, "{meeting:?} at {t_s} s, {rate_hz} Hz: {off_s:e} s late");
                for ((hz, a), (_, b)) in truth.iter().zip(&found) {
                    assert!((a - b).norm() < 1e-4 * largest, "{meeting:?}, {hz} Hz: {a} by steps, {b} heard");
                }
            }
        }
    }
}

/// What sounds before the impact is what the end of the band makes of it: little, and short.
#[test]
fn it_is_quiet_before_an_impact() {
    let sound = heard(&[Impact { t_s: 0.05, energy_j: 2e-8, meeting: Meeting::ToothEntry, beat: 0 }], 48_000);
    let loudest = |from_s: f64, to_s: f64| {
        let at = |s: f64| (s * 48_000.0) as usize;
        sound.samples[at(from_s)..at(to_s)].iter().fold(0.0_f32, |a, x| a.max(x.abs()))
    };
    assert!(loudest(0.0, 0.05) < 0.2, "{}", loudest(0.0, 0.05));
    assert!(loudest(0.0, 0.049_5) < 2e-3, "{}", loudest(0.0, 0.049_5));
    assert!(loudest(0.0, 0.048) < 1e-4, "{}", loudest(0.0, 0.048));
}

/// Sounds of several impacts are those of each, in sum, in whatever order they are given.
#[test]
fn impacts_add_up() {
    let one = |t_s, energy_j, meeting| Impact { t_s, energy_j, meeting, beat: 0 };
    let all = [
        one(0.05, 2e-8, Meeting::JewelFork),
        one(0.052_317, 5e-9, Meeting::ToothExit),
        one(0.057_9, 4e-8, Meeting::ToothEntry),
        one(0.058_2, 1e-8, Meeting::BankingExit),
    ];
    let whole = heard(&all, 48_000);
    let turned: Vec<Impact> = all.iter().rev().copied().collect();
    let each: Vec<Sound> = all.iter().map(|i| heard(&[*i], 48_000)).collect();
    for (n, (a, b)) in whole.samples.iter().zip(&heard(&turned, 48_000).samples).enumerate() {
        assert!((a - b).abs() < 1e-6, "{n}");
        let sum: f64 = each.iter().map(|s| f64::from(s.samples[n]) * s.full_scale_m_per_s).sum();
        assert!((f64::from(*a) - sum / whole.full_scale_m_per_s).abs() < 1e-6, "{n}: {a}");
    }
}
