//! Real recordings, with their licences in `recordings/README.md`: the beat is that of an independent estimate, by
//! autocorrelation and epoch folding, or they are refused.

use std::path::Path;

use listen::{Heard, Recording, Refusal, listen};

fn heard(name: &str) -> Result<Heard, Refusal> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/recordings").join(name);
    let file = std::fs::File::open(path).expect("the recording is there");
    let mut recording = Recording::open(Box::new(file), Some("ogg")).expect("a recording");
    listen(&mut recording).expect("it is whole").heard
}

/// Within four times both standard errors.
fn beats(name: &str, per_hour: f64, sigma: f64) -> Heard {
    let heard = heard(name).unwrap_or_else(|refusal| panic!("{name}: {refusal}"));
    let beat_s = heard.figures(1.0, None).expect("beats of both sides").beat_s;
    let found = 3600.0 / beat_s.value_si;
    let both = sigma.hypot(found * beat_s.sigma_si / beat_s.value_si);
    assert!((found - per_hour).abs() < 4.0 * both, "{name}: {found} an hour, within {both}");
    heard
}

#[test]
fn a_balance_with_a_large_beat_error() {
    let heard = beats("esc_4-194711-A.ogg", 18_006.3, 1.3);
    assert_eq!(heard.usual_per_hour(), Some(18_000.0));
    assert!(heard.figures(0.2, None).expect("beats").beat_error_s.value_si > 5e-3);
}

#[test]
fn a_clock_of_several_noises() {
    beats("esc_5-208624-A.ogg", 12_002.5, 0.8);
}

#[test]
fn a_timer() {
    let heard = beats("esc_5-209698-A.ogg", 16_263.8, 2.4);
    assert!(heard.has_first);
}

#[test]
fn one_noise_a_beat() {
    match heard("deb_stk_clock.ogg") {
        Err(_) => {}
        Ok(_) => drop(beats("deb_stk_clock.ogg", 9_595.1, 0.4)),
    }
}

#[test]
fn quartz_is_refused() {
    assert!(matches!(heard("esc_3-143933-A.ogg"), Err(Refusal::TooSlow { .. })));
}
