//! From what was heard to what the page shows of it.

use beat::{Side, amplitude_rad};
use listen::{Error, Heard, HeardBeat, Listened};

use crate::argument;
use crate::bench::wire::{Answer, Deviation, MeanBeat, Sounded, Stated};
use crate::output::edge;
use crate::report::{Report, Settings};

/// Points that a curve of deviations has at most: chosen, a few pixels apart.
const MOST_POINTS: usize = 120;
/// Beats farther off than so many times the scatter are in no figure; as `listen` has it.
const FAR_RATIO: f64 = 5.0;
/// Amplitudes that are given, as `listen` has them.
const AMPLITUDES_DEG: [f64; 2] = [70.0, 370.0];

/// What is wrong with something that was stated: which, and what to do.
#[derive(Debug)]
pub struct Misstated {
    /// Stable name.
    pub code: &'static str,
    /// What is wrong.
    pub message: String,
}

/// Reads what was stated.
pub fn settings(stated: &Stated) -> Result<Settings, Misstated> {
    fn read<T>(
        text: &str,
        code: &'static str,
        what: &str,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<Option<T>, Misstated> {
        let text = text.trim();
        if text.is_empty() {
            return Ok(None);
        }
        read(text).map(Some).map_err(|why| Misstated { code, message: format!("{what} “{text}”: {why}") })
    }
    Ok(Settings {
        lift_deg: read(&stated.lift_deg, "bad-lift", "lift", argument::lift_deg)?,
        beats_per_hour: read(&stated.beats_per_hour, "bad-beats", "beats an hour", argument::beats_per_hour)?,
        clock_ppm: read(&stated.clock_ppm, "bad-clock", "clock", argument::clock_ppm)?,
        by_flags: false,
    })
}

/// Everything the page shows of a sound.
pub fn sounded(
    file: &str,
    listened: &Result<Listened, Error>,
    settings: &Settings,
    lasts_s: f64,
    ended: bool,
) -> Sounded {
    let report = Report::of(file, listened, settings);
    let heard = listened.as_ref().ok().and_then(|l| l.heard.as_ref().ok()).filter(|_| !report.refused);
    Sounded {
        lasts_s: edge(report.lasts_s.unwrap_or(lasts_s)),
        ended,
        sides: heard
            .map_or(Vec::new(), |heard| heard.sides.iter().map(|side| mean_beat(side, heard.has_first)).collect()),
        deviation: heard.zip(report.beat_s).and_then(|(heard, beat_s)| deviation(heard, beat_s)),
        report,
    }
}

/// A number of the page with no more digits than are drawn.
fn drawn(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

/// Of sides whose first noises are not the same, neither is given.
fn mean_beat(side: &listen::SideHeard, has_first: bool) -> MeanBeat {
    MeanBeat {
        loudness: side.loudness.iter().map(|v| drawn(f64::from(*v))).collect(),
        from_ms: edge(1e3 * side.first_at_s),
        each_ms: edge(1e3 * side.each_s),
        first_ms: side.first_s.filter(|_| has_first).map(|s| edge(1e3 * s)),
    }
}

/// Departures from the straight line with this beat; several beats as one where there are more than can be drawn.
fn deviation(heard: &Heard, beat_s: f64) -> Option<Deviation> {
    let off = |b: &HeardBeat| b.at_s - b.number as f64 * beat_s;
    let middle = |side: Side| {
        let mut all: Vec<f64> = heard.beats.iter().filter(|b| b.side == side).map(off).collect();
        let half = all.len() / 2;
        (!all.is_empty()).then(|| *all.select_nth_unstable_by(half, f64::total_cmp).1)
    };
    let middles = [middle(Side::A)?, middle(Side::B)?];
    let late = |b: &HeardBeat| off(b) - middles[usize::from(b.side == Side::B)];
    let kept: Vec<(f64, f64)> = heard
        .beats
        .iter()
        .map(|b| (b.at_s, late(b)))
        .filter(|(_, late_s)| late_s.abs() <= FAR_RATIO * heard.scatter_s)
        .collect();
    // A beat of each side, or several.
    let each = kept.len().div_ceil(MOST_POINTS).next_multiple_of(2);
    let points: Vec<[f64; 3]> = kept
        .chunks(each.max(2))
        .map(|chunk| {
            let count = chunk.len() as f64;
            let mean = |read: fn(&(f64, f64)) -> f64| chunk.iter().map(read).sum::<f64>() / count;
            [mean(|p| p.0), mean(|p| p.1), heard.scatter_s / count.sqrt()]
        })
        .collect();
    Some(Deviation {
        beats_each: each as u32,
        at_s: points.iter().map(|p| drawn(p[0])).collect(),
        late_ms: points.iter().map(|p| drawn(1e3 * p[1])).collect(),
        se_ms: points.iter().map(|p| drawn(1e3 * p[2])).collect(),
        left_out: (heard.beats.len() - kept.len()) as u32,
    })
}

/// Amplitudes from noises placed by hand: each is uncertain by a step of its place.
pub fn amplitude(revision: u32, lift_deg: f64, beat_s: f64, between_ms: [f64; 2], step_ms: f64) -> Answer {
    let lift_rad = lift_deg.to_radians();
    let of = |between_ms: f64| {
        let read = |ms: f64| amplitude_rad(lift_rad, 1e-3 * ms, 2.0 * beat_s).to_degrees();
        let found = read(between_ms);
        // Both noises were placed.
        let error = 0.5 * (read(between_ms - step_ms) - read(between_ms + step_ms)).abs() * std::f64::consts::SQRT_2;
        let known = between_ms > 0.0 && (AMPLITUDES_DEG[0]..=AMPLITUDES_DEG[1]).contains(&found) && error.is_finite();
        known.then(|| [edge(found), edge(error)])
    };
    let sides_deg = between_ms.map(of);
    let both_deg = sides_deg[0].zip(sides_deg[1]).map(|(a, b)| [0.5 * (a[0] + b[0]), 0.5 * a[1].hypot(b[1])]);
    Answer::Amplitude { revision, sides_deg, both_deg }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 7.675 ms with a lift of 52 deg at 28,800 beats an hour are 270 deg: 26 / sin(pi 7.675 / 250) (docs/theory/beats.md, B1).
    #[test]
    fn an_amplitude_is_read_from_noises_placed_by_hand() {
        let Answer::Amplitude { sides_deg: [a, b], both_deg, .. } = amplitude(1, 52.0, 0.125, [7.675, 7.5], 0.1) else {
            panic!("an amplitude");
        };
        let ([a, a_se], [b, _]) = (a.expect("side A"), b.expect("side B"));
        assert!((a - 270.0).abs() < 0.05, "{a}");
        // In proportion to 1 / t, nearly: 0.1 of 7.675 ms, twice, are 1.8 % of it.
        assert!((a_se / a - 0.1 / 7.675 * 1.414).abs() < 2e-4, "{a_se}");
        let [both, both_se] = both_deg.expect("of both");
        assert!((both - 0.5 * (a + b)).abs() < 1e-9 && both_se < a_se);
        let Answer::Amplitude { sides_deg, both_deg, .. } = amplitude(1, 52.0, 0.125, [-1.0, 7.5], 0.1) else {
            panic!("an amplitude");
        };
        assert!(sides_deg[0].is_none() && both_deg.is_none());
    }

    #[test]
    fn what_is_stated_wrongly_is_named_with_its_range() {
        let stated = |lift: &str, clock: &str| Stated {
            lift_deg: lift.to_owned(),
            clock_ppm: clock.to_owned(),
            ..Stated::default()
        };
        let why = settings(&stated("500", "")).expect_err("too large");
        assert_eq!(why.code, "bad-lift");
        assert!(why.message.contains("10 to 120 deg"), "{}", why.message);
        assert_eq!(settings(&stated("", "fast")).expect_err("no number").code, "bad-clock");
        let read = settings(&stated(" 52 ", "12.5+-0.4")).expect("both are well");
        assert_eq!((read.lift_deg, read.clock_ppm), (Some(52.0), Some((12.5, Some(0.4)))));
    }
}
