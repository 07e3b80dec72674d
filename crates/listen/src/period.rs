//! How often it ticks: the beat that returns in a stretch of sound, without anything told.

use realfft::RealFftPlanner;

use crate::bands::Bands;

/// Beats that are looked for, s: those of 43,200 to 7,200 an hour and a little beyond, and slower ones, so that what ticks
/// once a second is not taken for half of it.
pub(crate) const BEATS_S: [f64; 2] = [0.082, 1.3];
/// Steps between them, as a part: chosen, so that the fourth beat is off by no more than a frame.
const STEP_RATIO: f64 = 0.002;
/// Beats after which it is looked whether it returns.
const RETURNS: usize = 4;
/// Largest beat error that is looked for, s: half the difference of two beats.
const MOST_ERROR_S: f64 = 0.012;
/// What returns at such times is faster than any watch, s.
const FAST_S: [f64; 2] = [0.006, 0.041];
/// What lies between two beats, as parts of one: chosen, beyond the noises of a beat and short of the next.
const BETWEEN_RATIO: [f64; 2] = [0.34, 0.66];
/// A shorter beat is preferred to one that returns better by no more than this: chosen. What returns after a beat returns
/// after two; after half of one it returns half as well at most.
const PREFER_RATIO: f32 = 0.72;
/// A band counts where something returns in it at least so well, as a part of where it does best.
const BAND_COUNTS_RATIO: f32 = 0.3;

/// What returns less clearly than this does not: chosen; noise of 20 s returns by 0.03.
pub(crate) const CLEAR: f32 = 0.08;
/// Slower beats than 7,200 an hour are none of a lever escapement's, s.
const SLOWEST_S: f64 = 0.52;

/// What returns.
#[derive(Clone, Debug)]
pub(crate) struct Returns {
    /// The beat.
    pub(crate) beat_s: f64,
    /// How well it returns, 0 to 1.
    pub(crate) clear: f32,
    /// Of each band how well what returns is heard in it; 0 where it does not count.
    pub(crate) weights: Vec<f32>,
}

impl Returns {
    /// Whether something does, too slowly for a lever escapement.
    pub(crate) fn slow(&self) -> bool {
        self.clear > CLEAR && self.beat_s > SLOWEST_S
    }
}

/// How like itself a band is after every lag, 1 at none.
struct Likeness {
    rate_hz: f64,
    of: Vec<f32>,
    /// What returns faster than any watch does returns so well, each of `RETURNS` times: hum.
    fast: f32,
}

impl Likeness {
    fn new(x: &[f32], rate_hz: f64, longest_s: f64) -> Option<Likeness> {
        let longest = ((longest_s * rate_hz) as usize + 2).min(x.len().saturating_sub(1));
        let length = (x.len() + longest).next_power_of_two();
        let mut planner = RealFftPlanner::<f32>::new();
        let (there, back) = (planner.plan_fft_forward(length), planner.plan_fft_inverse(length));
        let mut padded = there.make_input_vec();
        padded[..x.len()].copy_from_slice(x);
        let mut lines = there.make_output_vec();
        there.process(&mut padded, &mut lines).ok()?;
        for line in &mut lines {
            *line = (line.norm_sqr() / length as f32).into();
        }
        back.process(&mut lines, &mut padded).ok()?;
        let all = padded[0];
        if all <= 0.0 {
            return None;
        }
        // Fewer instants are compared the longer the lag.
        let share = |lag: usize| x.len() as f32 / (x.len() - lag) as f32;
        let of = (0..longest).map(|lag| padded[lag] / all * share(lag)).collect();
        let mut likeness = Likeness { rate_hz, of, fast: 0.0 };
        let count = ((FAST_S[1] / FAST_S[0]).ln() / STEP_RATIO) as usize;
        let every = |lag_s: f64| (1..=RETURNS).map(|n| likeness.at(n as f64 * lag_s)).fold(f32::MAX, f32::min);
        likeness.fast = (0..count).map(|i| every(FAST_S[0] * (STEP_RATIO * i as f64).exp())).fold(0.0, f32::max);
        Some(likeness)
    }

    fn at(&self, lag_s: f64) -> f32 {
        let place = lag_s * self.rate_hz;
        let (i, part) = (place as usize, place.fract() as f32);
        match self.of.get(i..i + 2) {
            Some([a, b]) => a + part * (b - a),
            _ => 0.0,
        }
    }

    /// How much better it returns after beats of `beat_s` than between them.
    fn returns(&self, beat_s: f64) -> f32 {
        let after = |n: usize| {
            let lag_s = n as f64 * beat_s;
            if n.is_multiple_of(2) {
                // A beat between two that are tried is off by so many frames then.
                let off = (0.5 * STEP_RATIO * lag_s * self.rate_hz).ceil() as i32;
                return (-off..=off).map(|i| self.at(lag_s + f64::from(i) / self.rate_hz)).fold(f32::MIN, f32::max);
            }
            // Beats of both kinds differ: it returns a little sooner and a little later.
            let steps = (MOST_ERROR_S * self.rate_hz) as usize;
            let apart = |i: usize| 2.0 * i as f64 / self.rate_hz;
            (0..steps).map(|i| 0.5 * (self.at(lag_s - apart(i)) + self.at(lag_s + apart(i)))).fold(0.0, f32::max)
        };
        // As many as the stretch has, two at least: after one alone anything returns by chance.
        let count = ((self.of.len() as f64 / self.rate_hz / beat_s) as usize).clamp(2, RETURNS);
        let on = (1..=count).map(after).sum::<f32>() / count as f32;
        // What returns sooner as well, as hum does, is no beat.
        let frames = [BETWEEN_RATIO[0], BETWEEN_RATIO[1]].map(|r| (r * beat_s * self.rate_hz) as usize);
        let stretch = self.of.get(frames[0]..frames[1]).unwrap_or(&[]);
        let between = stretch.windows(3).map(|w| w.iter().sum::<f32>() / 3.0).fold(self.fast, f32::max);
        on - between
    }
}

/// The beat that returns; `None` where the stretch is too short for one.
pub(crate) fn returns(bands: &Bands) -> Option<Returns> {
    let length_s = bands.loud.first()?.len() as f64 / bands.rate_hz;
    let longest_s = (RETURNS as f64 * BEATS_S[1] + 0.1).min(0.6 * length_s);
    let slowest_s = BEATS_S[1].min(longest_s / 2.1);
    let all: Vec<Option<Likeness>> = bands.loud.iter().map(|x| Likeness::new(x, bands.rate_hz, longest_s)).collect();
    let count = ((slowest_s / BEATS_S[0]).ln() / STEP_RATIO) as usize;
    let tried: Vec<f64> = (0..count).map(|i| BEATS_S[0] * (STEP_RATIO * i as f64).exp()).collect();
    let scores: Vec<Option<Vec<f32>>> =
        all.iter().map(|own| own.as_ref().map(|own| tried.iter().map(|&b| own.returns(b)).collect())).collect();
    // Bands count by how well anything returns in them; of all the beats the one that returns best in them together.
    let best = |own: &Vec<f32>| own.iter().fold(0.0_f32, |a, &b| a.max(b));
    let best_of: Vec<f32> = scores.iter().map(|s| s.as_ref().map_or(0.0, best)).collect();
    let top = best_of.iter().fold(0.0_f32, |a, &b| a.max(b));
    let together = |i: usize| {
        let of = scores.iter().zip(&best_of).filter_map(|(s, w)| Some((s.as_ref()?[i], w * w)));
        let (sum, all) = of.fold((0.0, 0.0), |(sum, all), (s, w)| (sum + w * s, all + w));
        if all > 0.0 { sum / all } else { 0.0 }
    };
    let pooled: Vec<f32> = (0..tried.len()).map(together).collect();
    let most = pooled.iter().fold(0.0_f32, |a, &b| a.max(b));
    // The shortest that returns nearly as well, at its own best.
    let first = pooled.iter().position(|&s| s >= PREFER_RATIO * most && s > 0.0)?;
    let near = first..pooled.len().min(first + (0.06 / STEP_RATIO) as usize);
    let at = near.max_by(|&a, &b| pooled[a].total_cmp(&pooled[b]))?;
    let own = |s: &Option<Vec<f32>>| s.as_ref().map_or(0.0, |s| s[at].max(0.0));
    let heard = scores.iter().map(own).fold(0.0_f32, f32::max);
    let weights = scores.iter().map(own).map(|w| if w >= BAND_COUNTS_RATIO * heard { w } else { 0.0 }).collect();
    Some(Returns { beat_s: tried[at], clear: pooled[at].min(top), weights })
}
