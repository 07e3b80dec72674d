//! Values on the command line, each with its unit, its range and an example where it is not understood.

use clap::builder::{PossibleValuesParser, TypedValueParser};
use drawing::{Plate, Sheet, Subject};
use movement::{Param, ParamKind};
use std::num::NonZeroUsize;

/// Largest number of points of a stretch of a curve.
const MOST_POINTS: u16 = 10_000;

/// Most beats played: a day of a fast watch.
const MOST_BEATS: u32 = 1_000_000;
/// Times between the instants of a history, ms: from where floating point tells them apart to a slow beat.
const LEAST_MS: f64 = 1e-6;
const MOST_MS: f64 = 10_000.0;

/// A number of teeth.
pub fn teeth(text: &str) -> Result<u32, String> {
    let Param { min, max, .. } = ParamKind::WheelToothCount.param();
    count(text, *min as u64, *max as u64, 15).map(|n| n as u32)
}

/// Number of points of each stretch of a curve.
pub fn points(text: &str) -> Result<u16, String> {
    count(text, 2, u64::from(MOST_POINTS), 9).map(|n| n as u16)
}

/// A number of beats.
pub fn beats(text: &str) -> Result<u32, String> {
    count(text, 1, u64::from(MOST_BEATS), 100).map(|n| n as u32)
}

/// A time in milliseconds.
pub fn every_ms(text: &str) -> Result<f64, String> {
    let wanted = format!("give a number of milliseconds, {LEAST_MS} to {MOST_MS} ms, such as 0.1");
    let value = number(text, &wanted)?;
    if (LEAST_MS..=MOST_MS).contains(&value) { Ok(value) } else { Err(format!("out of range: {wanted}")) }
}

/// A lift at the balance, in degrees.
pub fn lift_deg(text: &str) -> Result<f64, String> {
    within(text, [10.0, 120.0], "a number of degrees", "deg", "52")
}

/// Nominal beats an hour.
pub fn beats_per_hour(text: &str) -> Result<f64, String> {
    within(text, [7_200.0, 43_200.0], "a number of beats an hour", "1/h", "28800")
}

/// The error of a clock in parts of a million, with its standard error where it follows.
pub fn clock_ppm(text: &str) -> Result<(f64, Option<f64>), String> {
    let (value, sigma) = match text.split_once("+-").or_else(|| text.split_once('±')) {
        Some((value, sigma)) => (value, Some(sigma)),
        None => (text, None),
    };
    let ppm = |text: &str, least: f64| {
        within(text.trim(), [least, 10_000.0], "parts of a million", "ppm", "-11.5 or 12.5+-0.4")
    };
    Ok((ppm(value, -10_000.0)?, sigma.map(|s| ppm(s, 0.0)).transpose()?))
}

/// Samples a second.
pub fn rate_hz(text: &str) -> Result<u32, String> {
    count(text, u64::from(voice::RATES_HZ[0]), u64::from(voice::RATES_HZ[1]), 48_000).map(|n| n as u32)
}

/// How long a sound lasts.
pub fn lasts_s(text: &str) -> Result<f64, String> {
    within(text, voice::LASTS_S, "a number of seconds", "s", "30")
}

/// Level of a sound over its noise.
pub fn noise_db(text: &str) -> Result<f64, String> {
    within(text, voice::NOISE_DB, "a number of decibels", "dB", "30")
}

/// Frequency of a hum.
pub fn hum_hz(text: &str) -> Result<f64, String> {
    within(text, voice::HUM_HZ, "a frequency", "Hz", "50")
}

/// How many times slower.
pub fn slower(text: &str) -> Result<f64, String> {
    within(text, [1.0, 1000.0], "how many times slower", "times", "50")
}

/// A seed.
pub fn seed(text: &str) -> Result<u64, String> {
    // Whole numbers that a double holds exactly.
    count(text, 0, (1 << 53) - 1, 7)
}

/// The microphones.
pub fn microphones() -> impl TypedValueParser<Value = String> {
    words(vec!["contact", "air"])
}

/// Kinds of samples.
pub fn bits() -> impl TypedValueParser<Value = String> {
    words(vec!["16", "24", "32f"])
}

/// A number within bounds.
fn within(text: &str, [least, most]: [f64; 2], what: &str, unit: &str, like: &str) -> Result<f64, String> {
    let wanted = format!("give {what}, {least} to {most} {unit}, such as {like}");
    let value = number(text, &wanted)?;
    if (least..=most).contains(&value) { Ok(value) } else { Err(format!("out of range: {wanted}")) }
}

/// A number of threads.
pub fn threads(text: &str) -> Result<NonZeroUsize, String> {
    // More than any machine has processors.
    let count = count(text, 1, 4096, 2)?;
    NonZeroUsize::new(count as usize).ok_or_else(|| "give at least 1".to_owned())
}

/// The radius of a wheel, in millimetres.
pub fn radius_mm(text: &str) -> Result<f64, String> {
    let row = ParamKind::WheelLockingRadius.param();
    let allowed = movement::allowed_text(row);
    let wanted = format!("give a number of millimetres, {allowed}, such as 2.5");
    let value = number(text, &wanted)?;
    if (row.min..=row.max).contains(&value) { Ok(value) } else { Err(format!("out of range: {wanted}")) }
}

/// Drawn size over true size: `20`, `20:1` or `1:2`.
pub fn scale(text: &str) -> Result<f64, String> {
    let wanted = "give drawn size over true size, more than 0, such as 20 or 20:1";
    let ratio = match text.split_once(':') {
        Some((drawn, truly)) => number(drawn, wanted)? / number(truly, wanted)?,
        None => number(text, wanted)?,
    };
    if ratio.is_finite() && ratio > 0.0 { Ok(ratio) } else { Err(format!("out of range: {wanted}")) }
}

/// The parts and plates that can be drawn.
pub fn parts() -> impl TypedValueParser<Value = String> {
    words(Subject::ALL.iter().map(|s| s.name()).chain(Plate::ALL.iter().map(|p| p.name())).collect())
}

/// The sheets that can be drawn on.
pub fn sheets() -> impl TypedValueParser<Value = String> {
    words(Sheet::ALL.iter().map(|s| s.name()).collect())
}

/// One of a list of words, small letters or not.
fn words(all: Vec<&'static str>) -> impl TypedValueParser<Value = String> {
    PossibleValuesParser::new(all).map(|word| word.to_lowercase())
}

/// A plain number; `wanted` says what is to be given.
pub fn number(text: &str, wanted: &str) -> Result<f64, String> {
    let text = text.trim();
    if let Ok(value) = text.parse::<f64>() {
        return if value.is_finite() { Ok(value) } else { Err(format!("not a finite number: {wanted}")) };
    }
    let with_point = text.replacen(',', ".", 1);
    if with_point != text && with_point.parse::<f64>().is_ok() {
        return Err(format!("write the decimal point: {with_point}; {wanted}"));
    }
    Err(format!("not a number: {wanted}"))
}

/// A whole number within a range.
fn count(text: &str, least: u64, most: u64, example: u64) -> Result<u64, String> {
    let wanted = format!("give a whole number from {least} to {most}, such as {example}");
    let value = number(text, &wanted)?;
    if value.fract() != 0.0 {
        return Err(format!("not whole: {wanted}"));
    }
    if !(least as f64..=most as f64).contains(&value) {
        return Err(format!("out of range: {wanted}"));
    }
    Ok(value as u64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_read_as_they_are_spoken() {
        for (text, ratio) in [("20", 20.0), ("20:1", 20.0), ("1:2", 0.5), (" 5 : 2 ", 2.5)] {
            assert_eq!(scale(text), Ok(ratio), "{text}");
        }
        for text in ["0", "-3", "20:0", "x", "inf", "20:", "nan"] {
            assert!(scale(text).is_err_and(|e| e.contains("such as 20 or 20:1")), "{text}");
        }
    }

    #[test]
    fn what_is_not_understood_is_told_with_range_and_example() {
        for (found, told) in [
            (teeth("x").map(|_| ()), "not a number: give a whole number from 6 to 60, such as 15"),
            (teeth("5").map(|_| ()), "out of range: give a whole number from 6 to 60, such as 15"),
            (teeth("15.5").map(|_| ()), "not whole: give a whole number from 6 to 60, such as 15"),
            (teeth("-15").map(|_| ()), "out of range: give a whole number from 6 to 60, such as 15"),
            (points("1").map(|_| ()), "out of range: give a whole number from 2 to 10000, such as 9"),
            (threads("0").map(|_| ()), "out of range: give a whole number from 1 to 4096, such as 2"),
            (radius_mm("-3").map(|_| ()), "out of range: give a number of millimetres, 0.2 to 100 mm, such as 2.5"),
            (
                radius_mm("2,5").map(|_| ()),
                "write the decimal point: 2.5; give a number of millimetres, 0.2 to 100 mm, such as 2.5",
            ),
        ] {
            assert_eq!(found, Err(told.to_owned()));
        }
    }
}
