//! The jewel's sections.
#![allow(clippy::unwrap_used)]

use movement::ParamKind as K;
use parts::build;

/// With nothing cut away a half-moon is the round pin it is cut from, and with little cut away almost.
#[test]
fn half_moon_with_nothing_cut_away_is_round() {
    let made = |cut_ratio: Option<f64>| {
        let mut values = movement::read("new.toml", &movement::template("new", 15, 2.5)).statement.values;
        let shape = if cut_ratio.is_some() { "half_moon" } else { "round" };
        let movement::Unit::Choice(words) = K::JewelShape.param().unit else { panic!("a shape is a word") };
        values.set(K::JewelShape.once(), words.iter().position(|w| *w == shape).unwrap() as f64);
        if let Some(ratio) = cut_ratio {
            values.set(K::JewelCutRatio.once(), ratio);
        }
        let build = build(&values).unwrap();
        [K::ForkLength, K::RollerJewelDistance, K::BalanceLift].map(|kind| build.movement.si(kind))
    };
    let round = made(None);
    assert_eq!(made(Some(0.0)), round);
    for (cut_ratio, tolerance_ratio) in [(1e-12, 1e-9), (1e-9, 1e-6), (1e-6, 1e-3)] {
        for (found, expected) in made(Some(cut_ratio)).iter().zip(round) {
            assert!((found / expected - 1.0).abs() < tolerance_ratio, "{cut_ratio}: {found}, round {expected}");
        }
    }
}
