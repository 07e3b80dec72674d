//! What changes on the way: a watch that is moved, amplitudes that fall, a stop, live sound that is asked early.

#[path = "support/made.rs"]
#[allow(dead_code)]
mod made;

use listen::{Detector, Heard, Refusal};
use made::Made;

fn hear(rate_hz: u32, sound: &[f32]) -> Result<Heard, Refusal> {
    let mut detector = Detector::new(rate_hz);
    sound.chunks(4096).for_each(|c| detector.push(c));
    detector.finish()
}

fn rate_of(heard: &Heard) -> f64 {
    86_400.0 * heard.figures(0.125, None).expect("beats of both sides").rate_ratio.value_si
}

fn amplitude_of(heard: &Heard) -> f64 {
    let lift_rad = 52_f64.to_radians();
    let found = heard.figures(0.125, Some(lift_rad)).expect("beats of both sides").amplitude_rad;
    found.expect("first noises on both sides").value_si.to_degrees()
}

/// Each position is heard for itself: other sounds, another rate, another amplitude.
#[test]
fn a_watch_that_is_moved_is_heard_anew() {
    let first = Made { lasts_s: 60.0, rate_s_per_day: 20.0, amplitude_deg: 290.0, seed: 5, ..Made::default() };
    let second = Made { lasts_s: 90.0, rate_s_per_day: -15.0, amplitude_deg: 240.0, seed: 6, ..Made::default() };
    let mut sound = first.sound();
    sound.extend(second.sound());
    let heard = hear(48_000, &sound).expect("a watch");
    assert_eq!(heard.others.len(), 1, "two positions");
    for (own, made) in [(&heard, &second), (&heard.others[0], &first)] {
        assert!((rate_of(own) - made.rate_s_per_day).abs() < 0.5, "{} of {}", rate_of(own), made.rate_s_per_day);
        assert!((amplitude_of(own) - made.amplitude_deg).abs() < 3.0, "{}", amplitude_of(own));
    }
    // Beats are numbered on, by the time between.
    let [last, next] = [heard.others[0].beats.last(), heard.beats.first()].map(|b| *b.expect("beats"));
    let between = (next.at_s - last.at_s) / 0.125;
    assert!((between - (next.number - last.number) as f64).abs() < 0.6, "{between}");
}

/// An amplitude that falls by 60 deg in three minutes moves the first noise by milliseconds: portraits follow it.
#[test]
fn an_amplitude_that_falls_is_followed() {
    let pieces = 9;
    let mut sound = Vec::new();
    for i in 0..pieces {
        let falling = Made { lasts_s: 20.0, amplitude_deg: 300.0 - 60.0 * f64::from(i) / 8.0, ..Made::default() };
        // Without a break: 160 beats and no part of one.
        sound.extend_from_slice(&falling.sound()[..20 * 48_000]);
    }
    let heard = hear(48_000, &sound).expect("a watch");
    let near = |from_s: f64| {
        let between = heard.beats.iter().filter(|b| (from_s..from_s + 18.0).contains(&b.at_s));
        let all: Vec<f64> = between.filter_map(|b| Some(b.drop_s? - b.first_s?)).collect();
        assert!(all.len() > 60, "{} beats with both noises from {from_s} s on", all.len());
        all.iter().sum::<f64>() / all.len() as f64
    };
    let interval_s = |deg: f64| Made { amplitude_deg: deg, ..Made::default() }.between_s();
    assert!((near(1.0) - interval_s(300.0)).abs() < 0.1e-3, "{}", near(1.0));
    assert!((near(161.0) - interval_s(240.0)).abs() < 0.25e-3, "{} {}", near(161.0), interval_s(240.0));
}

/// A watch that stops, or is taken away: what was heard until then stands.
#[test]
fn a_watch_that_stops_was_heard_until_then() {
    let made = Made { lasts_s: 40.0, rate_s_per_day: 7.0, ..Made::default() };
    let mut sound = made.sound();
    sound.extend(std::iter::repeat_n(0.0, 60 * 48_000));
    let heard = hear(48_000, &sound).expect("a watch");
    assert!((rate_of(&heard) - 7.0).abs() < 0.3 && heard.others.is_empty(), "{}", rate_of(&heard));
    assert!(heard.beats.len() > 300);
    // And one that is put down after a minute of noise.
    let mut late = vec![0.0_f32; 61 * 48_000];
    late.extend(made.sound());
    let heard = hear(48_000, &late).expect("a watch");
    assert!((rate_of(&heard) - 7.0).abs() < 0.3, "{}", rate_of(&heard));
}

/// Live sound has figures after some seconds, and the same ones in the end as a file.
#[test]
fn live_sound_has_figures_early() {
    let made = Made { lasts_s: 40.0, rate_s_per_day: 7.0, ..Made::default() };
    let sound = made.sound();
    let mut detector = Detector::new(48_000);
    let mut first_s = None;
    for (i, block) in sound.chunks(4_800).enumerate() {
        detector.push(block);
        let heard = detector.heard();
        if first_s.is_none() && heard.is_ok() {
            first_s = Some(0.1 * (i + 1) as f64);
        }
        assert!(first_s.is_none() || heard.is_ok(), "figures that were there do not go again: {i}");
    }
    assert!(first_s.is_some_and(|s| s < 8.0), "{first_s:?}");
    let live = detector.finish().expect("a watch");
    let file = hear(48_000, &sound).expect("a watch");
    assert!((rate_of(&live) - rate_of(&file)).abs() < 0.02 && (amplitude_of(&live) - amplitude_of(&file)).abs() < 0.2);
}

/// A minute without the watch in the middle is a gap and no lost beats; one huge sample is one loud moment.
#[test]
fn a_gap_and_a_huge_sample_cost_no_more_than_themselves() {
    let made = Made { lasts_s: 120.0, rate_s_per_day: 7.0, ..Made::default() };
    let mut sound = made.sound();
    sound[30 * 48_000..90 * 48_000].fill(0.0);
    let heard = hear(48_000, &sound).expect("a watch");
    assert!((rate_of(&heard) - 7.0).abs() < 0.3, "{}", rate_of(&heard));
    let mut sound = Made { lasts_s: 30.0, rate_s_per_day: 7.0, ..Made::default() }.sound();
    sound[10 * 48_000] = 1e38;
    let heard = hear(48_000, &sound).expect("a watch");
    assert!(heard.beats.len() > 200 && (rate_of(&heard) - 7.0).abs() < 0.3, "{} beats", heard.beats.len());
}

/// An amplitude of 75 deg has its first noise a quarter of a beat before the drop.
#[test]
fn a_small_amplitude_is_heard() {
    let made = Made { amplitude_deg: 75.0, ..Made::default() };
    let heard = hear(48_000, &made.sound()).expect("a watch");
    assert!((amplitude_of(&heard) - 75.0).abs() < 0.5, "{}", amplitude_of(&heard));
}

/// Thirty seconds that drown in noise do not spoil the minute that does not.
#[test]
fn a_stretch_of_noise_does_not_spoil_the_rest() {
    let made = Made { lasts_s: 90.0, beat_error_ms: 1.0, ..Made::default() };
    let mut sound = made.sound();
    let mut dice = made::Dice(4);
    sound[..25 * 48_000].iter_mut().for_each(|x| *x += (0.06 * dice.normal()) as f32);
    let heard = hear(48_000, &sound).expect("a watch");
    let found = heard.figures(0.125, None).expect("beats of both sides").beat_error_s;
    assert!((found.value_si - 1e-3).abs() < 0.03e-3 && found.sigma_si < 0.03e-3, "{found:?}");
}
