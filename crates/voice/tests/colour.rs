//! How blows ring: the time of a contact against its own equation, energies, resonances in the spectrum, microphones.

#[path = "support/spectrum.rs"]
mod spectrum;

use realfft::RealFftPlanner;
use realfft::num_complex::Complex;
use spectrum::of_sound;
use std::f64::consts::TAU;
use voice::{Blow, Impact, MODES, Meeting, Microphone, Options, Sound, sound};

fn impact(energy_j: f64, meeting: Meeting) -> Impact {
    Impact { t_s: 0.05, energy_j, meeting, beat: 0 }
}

fn heard(impact: Impact, options: Options) -> Sound {
    sound(&[impact], &Options { lasts_s: 0.3, ..options }).expect("it is heard")
}

/// Hertz's law of contact itself, m x'' = -4/3 E R^(1/2) x^(3/2), followed from the meeting until they part: the duration by
/// the closed form is that to its three figures. The impulse worked by hand: 3 mg with 15 nJ come at 0.1 m/s, 3e-7 N s.
#[test]
fn a_blow_lasts_as_the_law_of_contact_says() {
    let blow = Blow::of(&impact(1.5e-8, Meeting::ToothEntry));
    assert!((blow.impulse_kg_m_per_s - 3e-7).abs() < 1e-15, "{blow:?}");
    // Mass 3 mg, radius 100 um, modulus 150 GPa: docs/theory/voice.md.
    let stiffness = 4.0 / 3.0 * 1.5e11 * 1e-4_f64.sqrt();
    let (mut x, mut v, mut t_s, h_s) = (0.0_f64, 0.1, 0.0, 1e-10);
    while x >= 0.0 {
        // Half a step of speed on either side of the step of place.
        v -= 0.5 * h_s * stiffness * x.max(0.0).powf(1.5) / 3e-6;
        x += h_s * v;
        v -= 0.5 * h_s * stiffness * x.max(0.0).powf(1.5) / 3e-6;
        t_s += h_s;
    }
    assert!((blow.lasts_s / t_s - 1.0).abs() < 2e-3, "{} s, followed {t_s} s", blow.lasts_s);
}

/// Four times the energy is twice as loud where the blow is short against a period, and a little brighter above.
#[test]
fn loudness_goes_as_the_root_of_the_energy() {
    for meeting in Meeting::ALL {
        let of = |energy_j| heard(impact(energy_j, meeting), Options::default());
        let (once, four, weak) = (of(1e-9), of(4e-9), of(1e-13));
        let ratio = |a: &Sound, b: &Sound, hz: f64| of_sound(b, hz).norm() / of_sound(a, hz).norm();
        assert!((ratio(&once, &four, 1_000.0) - 2.0).abs() < 1e-3, "{meeting:?}");
        assert!(ratio(&once, &four, 15_000.0) > 2.0, "{meeting:?}");
        // A hundred times weaker at a long period; more than that at a short one.
        let [low, high] = [1_000.0, 15_000.0].map(|hz| 100.0 * ratio(&once, &weak, hz));
        assert!((low - 1.0).abs() < 0.02 && high < 0.99 * low, "{meeting:?}: {low} {high}");
    }
}

/// The power spectrum by transform has a peak at each resonance of the parts that meet, within half its width.
#[test]
fn every_resonance_stands_out() {
    for meeting in Meeting::ALL {
        let rate_hz = 96_000;
        let sound = heard(impact(1e-8, meeting), Options { rate_hz, ..Options::default() });
        let count = 16_384;
        let forward = RealFftPlanner::new().plan_fft_forward(count);
        let mut stretch: Vec<f64> = sound.samples[4_800..4_800 + count].iter().map(|x| f64::from(*x)).collect();
        let mut bins = forward.make_output_vec();
        forward.process(&mut stretch, &mut bins).expect("the lengths are those of the plan");
        let step_hz = f64::from(rate_hz) / count as f64;
        let power: Vec<f64> = bins.iter().map(|c| c.norm_sqr()).collect();
        let peaks: Vec<f64> = (1..power.len() - 1)
            .filter(|&i| power[i] > power[i - 1] && power[i] > power[i + 1])
            .map(|i| i as f64 * step_hz)
            .collect();
        for mode in MODES.iter().filter(|m| meeting.excites(m.part)) {
            let half_width_hz = 0.5 * mode.natural_hz / mode.quality_ratio + step_hz;
            let is_there = peaks.iter().any(|hz| (hz - mode.natural_hz).abs() < half_width_hz);
            assert!(is_there, "{meeting:?}: nothing at {} Hz, peaks at {peaks:?}", mode.natural_hz);
        }
    }
}

#[test]
fn what_the_rate_cannot_carry_is_left_out_and_said() {
    let of = |rate_hz| heard(impact(1e-8, Meeting::ToothEntry), Options { rate_hz, ..Options::default() });
    let left_out = |s: &Sound| s.left_out.iter().map(|m| m.natural_hz).collect::<Vec<f64>>();
    assert_eq!(left_out(&of(96_000)), [] as [f64; 0]);
    assert_eq!(left_out(&of(48_000)), [22_200.0]);
    assert_eq!(left_out(&of(44_100)), [21_200.0, 22_200.0, 21_500.0]);
    let narrow = of(8_000);
    assert_eq!(left_out(&narrow).len(), MODES.iter().filter(|m| m.natural_hz > 3_600.0).count());
    // Below that a rate changes nothing but what the missing ones left there.
    let [a, b] = [of(48_000), of(96_000)].map(|s| of_sound(&s, 9_100.0));
    assert!((a - b).norm() < 0.02 * b.norm(), "{a} {b}");
}

/// A microphone in the air hears what the table throws back 0.35 and 0.90 ms later, and less of what is low and high: what
/// it makes of the contact microphone's sound, brought back into time.
#[test]
fn the_air_throws_back_and_takes_off_both_ends() {
    let of = |microphone| heard(impact(1e-8, Meeting::BankingEntry), Options { microphone, ..Options::default() });
    let (contact, air) = (of(Microphone::Contact), of(Microphone::Air));
    let makes = |hz: f64| of_sound(&air, hz) / of_sound(&contact, hz);
    assert!(makes(200.0).norm() < 0.2, "{}", makes(200.0));
    assert!(makes(17_000.0).norm() < 0.9 && makes(17_000.0).norm() > 0.2, "{}", makes(17_000.0));
    let all: Vec<(f64, Complex<f64>)> = (5..380).map(|n| (50.0 * f64::from(n), makes(50.0 * f64::from(n)))).collect();
    let at = |t_s: f64| all.iter().map(|(hz, m)| (m * Complex::from_polar(1.0, TAU * hz * t_s)).re).sum::<f64>();
    for (t_s, ratio) in [(3.5e-4, 0.35), (9e-4, 0.15)] {
        let found = at(t_s) / at(0.0);
        assert!((found - ratio).abs() < 0.03, "{t_s} s: {found}");
    }
    assert!((at(6e-4) / at(0.0)).abs() < 0.05 && (at(1.4e-3) / at(0.0)).abs() < 0.05);
}
