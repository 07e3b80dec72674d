//! A sound as the power in bands, some hundred times a second: in which of them something returns is seen from it.

use std::f32::consts::TAU;

use realfft::RealFftPlanner;

/// Duration of what is looked at at once, s: chosen, about that of the noise of a single shock.
const FRAME_S: f64 = 0.004;
/// Frames begin after this part of one another.
const HOP_RATIO: usize = 4;
/// Lowest edge of a band and the part of the sampling rate up to which the last may reach: chosen, below is hum, above are
/// filters.
const LOWEST_HZ: f64 = 250.0;
const HIGHEST_RATIO: f64 = 0.46;
/// Width of a band: half an octave.
const BAND_RATIO: f64 = std::f64::consts::SQRT_2;
/// What is added to the power, as a part of its median: chosen, so that what lies below it counts as quiet.
const QUIET_RATIO: f32 = 0.5;
/// Power below this is silence, full scale 1: that of the last of 24 bits.
const SILENT_POWER: f32 = 1e-14;

/// A stretch of sound in bands.
#[derive(Clone, Debug)]
pub(crate) struct Bands {
    /// Frames a second.
    pub(crate) rate_hz: f64,
    /// Edges of each band.
    pub(crate) edges_hz: Vec<[f64; 2]>,
    /// Of each band, frame by frame, the logarithm of its power over what is quiet, its mean taken away.
    pub(crate) loud: Vec<Vec<f32>>,
}

impl Bands {
    /// `None` where the stretch is shorter than a few frames.
    pub(crate) fn new(sound: &[f32], rate_hz: u32) -> Option<Bands> {
        let rate = f64::from(rate_hz);
        let length = ((rate * FRAME_S) as usize).next_power_of_two().max(32);
        let hop = length / HOP_RATIO;
        if sound.len() < 16 * length {
            return None;
        }
        let bin_hz = rate / length as f64;
        let mut edges_hz = Vec::new();
        let mut low_hz = LOWEST_HZ.max(0.75 * bin_hz);
        while low_hz * BAND_RATIO <= HIGHEST_RATIO * rate {
            edges_hz.push([low_hz, low_hz * BAND_RATIO]);
            low_hz *= BAND_RATIO;
        }
        let bins: Vec<[usize; 2]> = edges_hz
            .iter()
            .map(|[low, high]| {
                let first = ((low / bin_hz).round() as usize).max(1);
                [first, ((high / bin_hz).round() as usize).max(first + 1).min(length / 2 + 1)]
            })
            .collect();
        let window: Vec<f32> = (0..length).map(|i| 0.5 - 0.5 * (TAU * i as f32 / length as f32).cos()).collect();
        let transform = RealFftPlanner::<f32>::new().plan_fft_forward(length);
        let (mut frame, mut lines) = (transform.make_input_vec(), transform.make_output_vec());
        let mut room = transform.make_scratch_vec();
        let count = (sound.len() - length) / hop + 1;
        let mut loud = vec![Vec::with_capacity(count); bins.len()];
        for i in 0..count {
            for ((x, s), w) in frame.iter_mut().zip(&sound[i * hop..]).zip(&window) {
                *x = s * w;
            }
            // The lengths are those of the plan.
            transform.process_with_scratch(&mut frame, &mut lines, &mut room).ok()?;
            for (own, [first, end]) in loud.iter_mut().zip(&bins) {
                let power = lines[*first..*end].iter().map(|c| c.norm_sqr()).sum::<f32>();
                // What is beyond all measure is one loud frame.
                own.push(if power.is_finite() { power } else { f32::MAX });
            }
        }
        for own in &mut loud {
            let quiet = (QUIET_RATIO * median(own)).max(SILENT_POWER);
            for p in own.iter_mut() {
                *p = ((*p / quiet).min(f32::MAX) + 1.0).ln();
            }
            let mean = own.iter().sum::<f32>() / own.len() as f32;
            own.iter_mut().for_each(|x| *x -= mean);
        }
        Some(Bands { rate_hz: rate / hop as f64, edges_hz, loud })
    }
}

/// The middle one of some values; 0 where there are none.
pub(crate) fn median(values: &[f32]) -> f32 {
    let mut sorted = values.to_vec();
    let middle = sorted.len() / 2;
    if sorted.is_empty() { 0.0 } else { *sorted.select_nth_unstable_by(middle, f32::total_cmp).1 }
}
