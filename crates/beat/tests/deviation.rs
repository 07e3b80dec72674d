//! What beats deviate by: waves, and how the rate changes.

use std::f64::consts::TAU;

use beat::{Beat, BeatTrain, Deviations, Shock, Side, Timed, deviations};

fn train(count: u64, beat_s: f64, late_s: impl Fn(u64) -> f64) -> BeatTrain {
    let beats = (0..count).map(|n| {
        let at = Timed { t_s: n as f64 * beat_s + late_s(n), sigma_s: 1e-5 };
        Beat::new(n, Side::of(n)).with(Shock::Unlocking, Some(at))
    });
    BeatTrain { beats: beats.collect(), entry: None }
}

fn of(count: u64, beat_s: f64, late_s: impl Fn(u64) -> f64) -> Deviations {
    deviations(&train(count, beat_s, late_s)).expect("beats of both sides")
}

/// Noise of a uniform law with standard error 1: a multiplicative sequence, so that it is the same every time.
fn noise(n: u64) -> f64 {
    let mut z = n.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    (((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64 - 0.5) * 12_f64.sqrt()
}

/// W. J. Riley, Handbook of Frequency Stability Analysis, NIST Special Publication 1065 (2008), section 12.4: the nine
/// frequencies of its first test suite have an overlapping Allan deviation of 91.22945 and 85.95287 at one and two
/// (values from memory, and by the package allantools 2024.6).
#[test]
fn allan_deviation_of_the_handbooks_nine_frequencies() {
    let frequencies = [892.0, 809.0, 823.0, 798.0, 671.0, 644.0, 883.0, 903.0, 677.0];
    let mut phase = vec![0.0];
    frequencies.iter().for_each(|f| phase.push(phase[phase.len() - 1] + f));
    // As beats of a second that are late by so many microseconds. A slope and what sides are apart count nothing in it; that
    // sides are told apart does, so the phases are given as they are.
    let all = phase.iter().enumerate().map(|(n, late)| beat::Deviation {
        number: n as u64,
        side: Side::of(n as u64),
        t_s: n as f64,
        late_s: 1e-6 * late,
    });
    let found = Deviations { all: all.collect(), beat_s: 1.0 }.stability();
    for (own, [tau_s, value]) in found.iter().zip([[1.0, 91.22945], [2.0, 85.95287]]) {
        assert!((own.tau_s - tau_s).abs() < 1e-12);
        assert!((1e6 * own.deviation.value_si - value).abs() < 5e-6, "{own:?}");
    }
}

/// A wave of the escape wheel's turn: size, swing of the rate R P/(2 pi 86,400) and place come back. 20 s/d at 3.75 s is
/// 0.138 ms (derived).
#[test]
fn a_wave_is_found_as_it_was_made() {
    let (size_s, period_s) = (20.0 * 3.75 / (TAU * 86_400.0), 3.75);
    assert!((1e3 * size_s - 0.138).abs() < 5e-4);
    let made = of(480, 0.125, |n| size_s * (TAU * (n as f64 * 0.125 / period_s - 0.3)).cos() + 5e-5 * noise(n));
    let wave = made.wave(period_s).expect("sixteen turns");
    assert!((wave.size_s.value_si - size_s).abs() < 3.0 * wave.size_s.sigma_si, "{wave:?}");
    assert!((86_400.0 * wave.swing_ratio.value_si - 20.0).abs() < 3.0 * 86_400.0 * wave.swing_ratio.sigma_si);
    assert!((wave.latest_ratio - 0.3).abs() < 0.02 && wave.chance_ratio < 1e-12, "{wave:?}");
    // Its standard error is s sqrt(2/N) (textbook).
    let sigma_s = 5e-5 * (2.0_f64 / 480.0).sqrt();
    assert!((wave.size_s.sigma_si / sigma_s - 1.0).abs() < 0.6, "{wave:?}");
    assert!(made.wave(17.0).is_some_and(|w| w.chance_ratio > 1e-3), "{:?}", made.wave(17.0));
}

/// Without any wave chance is spread evenly: below 0.05 in a twentieth of all trains.
#[test]
fn chance_is_what_it_says() {
    let trials = 400;
    let low = (0..trials).filter(|i| {
        let made = of(240, 0.125, |n| 5e-5 * noise(1_000 * i + n));
        made.wave(3.75).is_some_and(|w| w.chance_ratio < 0.05)
    });
    let part = low.count() as f64 / trials as f64;
    assert!((0.005..0.08).contains(&part), "{part}");
}

/// What wanders, each beat from the one before, has no wave that counts.
#[test]
fn what_wanders_is_no_wheel() {
    let trials = 200;
    let low = (0..trials).filter(|i| {
        let mut late = vec![0.0];
        (1..960).for_each(|n| late.push(late[n as usize - 1] + 2e-5 * noise(10_000 * i + n)));
        of(960, 0.125, |n| late[n as usize]).wave(30.0).is_some_and(|w| w.chance_ratio < 1e-3)
    });
    let count = low.count();
    assert!(count <= 4, "{count} of {trials}");
}

#[test]
fn a_tooth_that_is_late_is_told() {
    // A wheel of 15 teeth: tooth 4 gives two beats, one by either pallet.
    let made = of(600, 0.125, |n| if n % 30 == 8 || n % 30 == 13 { 4e-4 } else { 0.0 } + 2e-5 * noise(n));
    let places = made.by_place(30);
    let late = |i: usize| places[i].expect("heard").value_si;
    assert!((late(8) - late(0) - 4e-4).abs() < 2e-5 && (late(13) - late(1) - 4e-4).abs() < 2e-5, "{places:?}");
    assert!((0..30).filter(|i| ![8, 13].contains(i)).all(|i| late(i).abs() < 5e-5), "{places:?}");
}

#[test]
fn what_is_too_short_has_no_wave() {
    assert!(of(40, 0.125, |_| 0.0).wave(3.75).is_none());
    assert!(of(400, 0.125, |_| 0.0).wave(0.25).is_none(), "two beats are beat error");
    assert!(deviations(&train(2, 0.125, |_| 0.0)).is_err());
}
