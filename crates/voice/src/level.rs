//! How much energy of a sound lies in a band.

use realfft::RealFftPlanner;

/// Samples of a piece: chosen, fine enough for the edges of a band at every rate.
const PIECE: usize = 4096;

/// Energy in a band, as the square of the samples times their time: s for samples without a unit.
///
/// Pieces under half a sine that overlap by half: the squares of two windows are 1 in sum, so that over all bands it is the
/// energy of the sound.
pub(crate) fn energy_si(sound: &[f64], rate_hz: u32, band_hz: [f64; 2]) -> f64 {
    let forward = RealFftPlanner::new().plan_fft_forward(PIECE);
    let (mut piece, mut spectrum) = (forward.make_input_vec(), forward.make_output_vec());
    let rate = f64::from(rate_hz);
    let window: Vec<f64> = (0..PIECE).map(|i| (std::f64::consts::PI * (i as f64 + 0.5) / PIECE as f64).sin()).collect();
    let bin = |hz: f64| (hz * PIECE as f64 / rate).round() as usize;
    let bins = bin(band_hz[0])..bin(band_hz[1]).min(PIECE / 2);
    let half = PIECE / 2;
    let mut sum = 0.0;
    for first in (0..sound.len() + half).step_by(half) {
        for (i, (out, w)) in piece.iter_mut().zip(&window).enumerate() {
            let value = (first + i).checked_sub(half).and_then(|at| sound.get(at));
            *out = value.map_or(0.0, |x| w * x);
        }
        forward.process(&mut piece, &mut spectrum).expect("the lengths are those of the plan");
        sum += spectrum[bins.clone()].iter().map(|c| c.norm_sqr()).sum::<f64>();
    }
    // Each bin stands for itself and its mirror.
    2.0 * sum / PIECE as f64 / rate
}
