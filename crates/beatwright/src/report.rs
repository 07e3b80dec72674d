//! What is said of a sound: one type for the command's JSON and for the page.

use beat::Estimate;
use listen::{Error, Heard, Listened, Mix, Refusal};
use serde::Serialize;
use ts_rs::TS;

use crate::output::edge;

/// Seconds a day for a part of a million.
const S_PER_DAY_PER_PPM: f64 = 0.0864;
const S_PER_DAY: f64 = 86_400.0;
/// A recorder's clock that nobody has checked, ppm: that of cheap oscillators over temperature (data sheets of sound cards'
/// crystals, from memory).
pub const UNCHECKED_PPM: f64 = 100.0;
/// The same, s/d.
pub const UNCHECKED_S_PER_DAY: f64 = UNCHECKED_PPM * S_PER_DAY_PER_PPM;

/// What a person states of a sound.
#[derive(Clone, Copy, Debug, Default)]
pub struct Settings {
    /// Lift at the balance, from the first noise to the drop.
    pub lift_deg: Option<f64>,
    /// Nominal beats an hour.
    pub beats_per_hour: Option<f64>,
    /// Error of the recorder's clock, positive where it is fast, and its standard error.
    pub clock_ppm: Option<(f64, Option<f64>)>,
    /// Whether they are given by flags of a command, and not in fields.
    pub by_flags: bool,
}

/// What is said of a sound. A figure that it does not bear out is nothing.
#[derive(Serialize, TS, Clone, Debug)]
pub struct Report {
    /// Name and version.
    pub schema: String,
    /// The recording.
    pub file: String,
    /// Nominal beats an hour: as stated, or the usual count it is near.
    pub beats_per_hour: Option<f64>,
    /// Gain over the nominal beat, the clock's error taken off.
    pub rate_s_per_day: Option<f64>,
    /// Its standard error, the clock's in it.
    pub rate_se_s_per_day: Option<f64>,
    /// Amplitude by the sound.
    pub amplitude_deg: Option<f64>,
    /// Its standard error, without that of the lift.
    pub amplitude_se_deg: Option<f64>,
    /// Half the absolute difference of successive beats.
    pub beat_error_ms: Option<f64>,
    /// Its standard error.
    pub beat_error_se_ms: Option<f64>,
    /// What is called beat error.
    pub beat_error_definition: String,
    /// Mean beat.
    pub beat_s: Option<f64>,
    /// Its standard error.
    pub beat_se_s: Option<f64>,
    /// Lift by which the amplitude is read.
    pub lift_deg: Option<f64>,
    /// What a degree of lift makes of the amplitude, in degrees.
    pub amplitude_per_lift_ratio: Option<f64>,
    /// Stated error of the recorder's clock.
    pub clock_ppm: Option<f64>,
    /// Its standard error.
    pub clock_se_ppm: Option<f64>,
    /// What an unchecked clock may be off by; nothing where its error is stated.
    pub clock_unchecked_s_per_day: Option<f64>,
    /// Whether there are no figures.
    pub refused: bool,
    /// Why, and what would help.
    pub reason: Option<String>,
    /// The same as a stable name.
    pub refusal: Option<String>,
    /// Why single figures are missing.
    pub missing: Vec<String>,
    /// Samples a second.
    pub sampling_hz: Option<u32>,
    /// Channels.
    pub channels: Option<u32>,
    /// Which of them was heard.
    pub heard_in: Option<String>,
    /// Packets that could not be read.
    pub unreadable_packets: Option<u32>,
    /// Beats that were timed.
    pub beats_heard: Option<u32>,
    /// Beats from the first to the last.
    pub beats: Option<u32>,
    /// How long it is.
    pub lasts_s: Option<f64>,
    /// Edges of the band in which it was heard.
    pub band_hz: Option<[f64; 2]>,
    /// How beats scatter about a straight line.
    pub scatter_ms: Option<f64>,
    /// Which noise is timed.
    pub timed_by: Option<String>,
    /// Where the sound changes on the way, as when the watch is moved: all that was heard, in order of time. The figures
    /// above are of the longest of a recording, of the last of live sound; nothing else is in them.
    pub stretches: Vec<Stretch>,
}

/// What was heard between two changes.
#[derive(Serialize, TS, Clone, Debug)]
pub struct Stretch {
    /// First beat, from the beginning of the sound.
    pub from_s: f64,
    /// Last beat.
    pub until_s: f64,
    /// Beats that were timed.
    pub beats_heard: u32,
    /// Gain over the nominal beat.
    pub rate_s_per_day: Option<f64>,
    /// Its standard error.
    pub rate_se_s_per_day: Option<f64>,
    /// Amplitude by the sound.
    pub amplitude_deg: Option<f64>,
    /// Its standard error.
    pub amplitude_se_deg: Option<f64>,
    /// Half the absolute difference of successive beats.
    pub beat_error_ms: Option<f64>,
    /// Its standard error.
    pub beat_error_se_ms: Option<f64>,
}

impl Stretch {
    fn of(heard: &Heard, settings: &Settings) -> Option<Stretch> {
        let mut report = Report::none("", settings);
        let (first, last) = heard.beats.first().zip(heard.beats.last())?;
        report.figures(heard, settings).then_some(Stretch {
            from_s: edge(first.at_s),
            until_s: edge(last.at_s),
            beats_heard: report.beats_heard?,
            rate_s_per_day: report.rate_s_per_day,
            rate_se_s_per_day: report.rate_se_s_per_day,
            amplitude_deg: report.amplitude_deg,
            amplitude_se_deg: report.amplitude_se_deg,
            beat_error_ms: report.beat_error_ms,
            beat_error_se_ms: report.beat_error_se_ms,
        })
    }
}

impl Report {
    /// Of what came of a recording.
    pub fn of(file: &str, listened: &Result<Listened, Error>, settings: &Settings) -> Report {
        let mut report = Report::none(file, settings);
        let refusal = |why: &str, reason: String| (Some(why.to_owned()), Some(reason));
        let listened = match listened {
            Ok(listened) => listened,
            Err(e) => {
                (report.refusal, report.reason) = refusal("unreadable", e.to_string());
                return report;
            }
        };
        report.sampling_hz = Some(listened.rate_hz);
        report.channels = Some(listened.channels as u32);
        report.heard_in = Some(mix(listened));
        report.unreadable_packets = Some(u32::try_from(listened.unreadable_count).unwrap_or(u32::MAX));
        match &listened.heard {
            Err(why) => (report.refusal, report.reason) = refusal(name(why), why.to_string()),
            Ok(heard) if !report.fill(heard, settings) => {
                (report.refusal, report.reason) = refusal("too-few-heard", "too few beats of both sides".to_owned());
            }
            Ok(_) => {}
        }
        report
    }

    /// Of a sound in which nothing was heard yet.
    fn none(file: &str, settings: &Settings) -> Report {
        Report {
            schema: "beatwright.listen/1".to_owned(),
            file: file.to_owned(),
            beats_per_hour: None,
            rate_s_per_day: None,
            rate_se_s_per_day: None,
            amplitude_deg: None,
            amplitude_se_deg: None,
            beat_error_ms: None,
            beat_error_se_ms: None,
            beat_error_definition: "half the absolute difference of successive beats".to_owned(),
            beat_s: None,
            beat_se_s: None,
            lift_deg: settings.lift_deg,
            amplitude_per_lift_ratio: None,
            clock_ppm: settings.clock_ppm.map(|c| c.0),
            clock_se_ppm: settings.clock_ppm.and_then(|c| c.1),
            clock_unchecked_s_per_day: settings.clock_ppm.is_none().then_some(UNCHECKED_S_PER_DAY),
            refused: true,
            reason: None,
            refusal: None,
            missing: Vec::new(),
            sampling_hz: None,
            channels: None,
            heard_in: None,
            unreadable_packets: None,
            beats_heard: None,
            beats: None,
            lasts_s: None,
            band_hz: None,
            scatter_ms: None,
            timed_by: None,
            stretches: Vec::new(),
        }
    }

    /// Puts in the figures, and those of every stretch where there are several; false where there are none.
    fn fill(&mut self, heard: &Heard, settings: &Settings) -> bool {
        let found = self.figures(heard, settings);
        if found && !heard.others.is_empty() {
            let all = std::iter::once(heard).chain(&heard.others);
            self.stretches = all.filter_map(|h| Stretch::of(h, settings)).collect();
            self.stretches.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
        }
        found
    }

    fn figures(&mut self, heard: &Heard, settings: &Settings) -> bool {
        let per_hour = settings.beats_per_hour.or_else(|| heard.usual_per_hour());
        let lift_rad = settings.lift_deg.map(f64::to_radians);
        let Some(figures) = heard.figures(3600.0 / per_hour.unwrap_or(3600.0), lift_rad) else { return false };
        let at = |e: Estimate, by: f64| [e.value_si * by, e.sigma_si * by];
        let (ppm, ppm_sigma) = settings.clock_ppm.map_or((0.0, 0.0), |(ppm, sigma)| (ppm, sigma.unwrap_or(0.0)));
        let [shown, sigma] = at(figures.rate_ratio, S_PER_DAY);
        let rate = [shown + S_PER_DAY_PER_PPM * ppm, sigma.hypot(S_PER_DAY_PER_PPM * ppm_sigma)];
        // What is known to nothing is not given.
        let known = |found: &[f64; 2]| found[1].is_finite();
        let amplitude = figures.amplitude_rad.map(|a| at(a, 1_f64.to_degrees())).filter(known);
        let beat_error = Some(at(figures.beat_error_s, 1e3)).filter(known);
        let pair = |found: Option<[f64; 2]>| (found.map(|f| edge(f[0])), found.map(|f| edge(f[1])));
        (self.rate_s_per_day, self.rate_se_s_per_day) = pair(per_hour.map(|_| rate));
        (self.amplitude_deg, self.amplitude_se_deg) = pair(amplitude);
        // They are in proportion (docs/theory/beats.md, B1).
        self.amplitude_per_lift_ratio =
            amplitude.zip(settings.lift_deg).map(|(found, lift_deg)| edge(found[0] / lift_deg));
        (self.beat_error_ms, self.beat_error_se_ms) = pair(beat_error);
        (self.beat_s, self.beat_se_s) = pair(Some(at(figures.beat_s, 1.0)));
        self.beats_per_hour = per_hour;
        self.missing = missing(heard, settings, [per_hour.is_some(), amplitude.is_some(), beat_error.is_some()]);
        self.beats_heard = Some(figures.beat_count as u32);
        self.beats =
            Some(heard.beats.first().zip(heard.beats.last()).map_or(0, |(a, b)| b.number - a.number + 1) as u32);
        self.lasts_s = Some(edge(heard.lasts_s));
        self.band_hz = Some(heard.edges_hz.map(f64::round));
        self.scatter_ms = Some(edge(heard.scatter_s * 1e3));
        self.timed_by =
            Some(if heard.has_first { "the first noise" } else { "the drop, or what is loudest" }.to_owned());
        self.refused = false;
        true
    }
}

/// Why rate, amplitude and beat error are missing, as far as they are.
fn missing(heard: &Heard, settings: &Settings, [rate, amplitude, beat_error]: [bool; 3]) -> Vec<String> {
    let by = |flag: &str| if settings.by_flags { format!(", {flag}") } else { String::new() };
    let mut out = Vec::new();
    if !rate {
        let how = if settings.by_flags { "give --beats-per-hour" } else { "state the beats an hour" };
        out.push(format!("rate: it is near no usual count of beats an hour; {how}"));
    }
    if !beat_error {
        out.push("beat error: too few beats to know where the noises of both sides are".to_owned());
    }
    match (amplitude, settings.lift_deg, heard.has_first) {
        (true, ..) => {}
        (false, None, true) => out.push(format!("amplitude: give the lift{}", by("--lift-deg"))),
        (false, _, false) => {
            out.push("amplitude: no first noise, as the jewel meets the fork, is heard on both sides".to_owned());
        }
        (false, Some(lift), true) => out.push(format!(
            "amplitude: with a lift of {lift} deg the noises that are heard would give none between 70 and 370 deg"
        )),
    }
    out
}

fn mix(listened: &Listened) -> String {
    match (listened.mix, listened.channels) {
        (_, 1) => "its one channel".to_owned(),
        (Mix::Channel(one), of) => format!("channel {} of {of}", one + 1),
        (Mix::Mean, of) => format!("the mean of its {of} channels"),
    }
}

/// Stable name of a refusal.
fn name(refusal: &Refusal) -> &'static str {
    match refusal {
        Refusal::Silent { .. } => "silent",
        Refusal::TooShort { .. } => "too-short",
        Refusal::NothingReturns { .. } => "nothing-returns",
        Refusal::TooSlow { .. } => "too-slow",
        Refusal::TooFewHeard { .. } => "too-few-heard",
        Refusal::Irregular { .. } => "irregular",
        Refusal::Clicks { .. } => "clicks",
        _ => "refused",
    }
}
