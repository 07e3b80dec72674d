//! A loudness folded on the period: where in it the two beats are, and how long it is to a part in a hundred thousand.

/// Bins of the coarse fold, s: chosen, a third of what a beat sounds.
const BIN_S: f64 = 1e-3;
/// First stretch that is folded, s, and how far off the period may be then, as a part: chosen, what `period` leaves.
const FIRST_S: f64 = 3.0;
const OFF_RATIO: f64 = 0.01;
/// Each stretch is so many times as long as the one before.
const LONGER_RATIO: f64 = 2.0;
/// A beat keeps off the middle of the quiet by this part of it, each side: what is averaged to find the quiet.
const QUIET_RATIO: f64 = 0.2;

/// How much a fold stands out: the scatter of its bins about their mean, each by how many values it has.
fn stands_out(values: &[f32], each_s: f64, period_s: f64, room: &mut Vec<(f64, f64)>) -> f64 {
    let bins = (period_s / BIN_S).round().max(4.0);
    room.clear();
    room.resize(bins as usize, (0.0, 0.0));
    let turn = each_s / period_s;
    let mut at = 0.0;
    for &v in values {
        let bin = &mut room[((at * bins) as usize).min(bins as usize - 1)];
        bin.0 += f64::from(v);
        bin.1 += 1.0;
        at += turn;
        at -= at.floor();
    }
    let (sum, count) = room.iter().fold((0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1));
    let mean = sum / count;
    room.iter().filter(|b| b.1 > 0.0).map(|b| b.1 * (b.0 / b.1 - mean).powi(2)).sum::<f64>() / count
}

/// The period near one that is known to a part in a hundred.
pub(crate) fn period_s(values: &[f32], rate_hz: f64, near_s: f64) -> f64 {
    // A value a bin is enough.
    let each = ((rate_hz * BIN_S) as usize).max(1);
    let coarse: Vec<f32> = values.chunks_exact(each).map(|c| c.iter().sum::<f32>() / each as f32).collect();
    let each_s = each as f64 / rate_hz;
    let (mut best_s, mut off_ratio) = (near_s, OFF_RATIO);
    let mut length = ((FIRST_S / each_s) as usize).min(coarse.len());
    let mut room = Vec::new();
    loop {
        let lasts_s = length as f64 * each_s;
        // From one to the next the last period is moved by half a bin.
        let step = 0.5 * BIN_S / lasts_s;
        let steps = (off_ratio / step).ceil() as i32;
        let part = &coarse[coarse.len() - length..];
        let tried = (-steps..=steps).map(|i| best_s * (1.0 + step * f64::from(i)));
        let found = tried.map(|p| (stands_out(part, each_s, p, &mut room), p));
        best_s = found.max_by(|a, b| a.0.total_cmp(&b.0)).map_or(best_s, |f| f.1);
        off_ratio = 4.0 * step;
        if length == coarse.len() {
            return best_s;
        }
        length = ((length as f64 * LONGER_RATIO) as usize).min(coarse.len());
    }
}

/// A half of a period has a beat of its own where it stands out by this part of what the other does: chosen, well above
/// what echoes and below what two sides differ; and by so many times the scatter of the bins.
const OWN_RATIO: f64 = 0.35;
const SURE_RATIO: f64 = 7.0;
/// It is looked for so far from the middle, as a part of the period.
const MIDDLE_RATIO: f64 = 0.12;

/// Whether a period has two beats: something stands out half of it after what stands out most.
pub(crate) fn two_beats(values: &[f32], rate_hz: f64, period_s: f64) -> bool {
    let bins = (period_s / BIN_S).round() as usize;
    let mut sums = vec![(0.0, 0.0); bins];
    for (i, &v) in values.iter().enumerate() {
        let place = (i as f64 / (period_s * rate_hz)).fract();
        let bin = &mut sums[((place * bins as f64) as usize).min(bins - 1)];
        *bin = (bin.0 + f64::from(v), bin.1 + 1.0);
    }
    let mean: Vec<f64> = sums.iter().map(|(s, c)| s / f64::max(*c, 1.0)).collect();
    let smooth: Vec<f64> =
        (0..bins).map(|i| (0..3).map(|k| mean[(i + bins + k - 1) % bins]).sum::<f64>() / 3.0).collect();
    let mut sorted = smooth.clone();
    sorted.sort_unstable_by(f64::total_cmp);
    let quiet = sorted[bins / 4];
    // Of a normal law a quarter lies 0.6745 standard errors below the middle.
    let scatter = (sorted[bins / 2] - quiet).max(0.0) / 0.6745;
    let top = (0..bins).max_by(|&a, &b| smooth[a].total_cmp(&smooth[b])).unwrap_or(0);
    let wide = ((MIDDLE_RATIO * bins as f64) as usize).max(1);
    let middle = (0..=2 * wide).map(|k| smooth[(top + bins / 2 + bins + k - wide) % bins]).fold(f64::MIN, f64::max);
    middle - quiet > (OWN_RATIO * (smooth[top] - quiet)).max(SURE_RATIO * scatter)
}

/// A period of values folded, and where in it beats of each side are loudest, in values.
pub(crate) struct Fold {
    pub(crate) loudest: [usize; 2],
}

/// Folds on a period of two beats.
pub(crate) fn fold(values: &[f32], rate_hz: f64, period_s: f64) -> Fold {
    let bins = (period_s * rate_hz).round() as usize;
    let (mut sums, mut counts) = (vec![0.0_f64; bins], vec![0.0_f64; bins]);
    for (i, &v) in values.iter().enumerate() {
        let place = (i as f64 / (period_s * rate_hz)).fract();
        let bin = ((place * bins as f64) as usize).min(bins - 1);
        sums[bin] += f64::from(v);
        counts[bin] += 1.0;
    }
    let mean: Vec<f64> = sums.iter().zip(&counts).map(|(s, c)| if *c > 0.0 { s / c } else { 0.0 }).collect();
    let around = |at: usize, half: usize| {
        (0..=2 * half).map(|i| mean[(at + bins + i - half) % bins]).sum::<f64>() / (2 * half + 1) as f64
    };
    let half = bins / 2;
    // The place from which on both halves begin and end in the quiet.
    let wide = ((QUIET_RATIO * 0.5 * half as f64) as usize).max(1);
    let quiet = |at: &usize| around(*at, wide) + around(at + half, wide);
    let from = (0..half).min_by(|a, b| quiet(a).total_cmp(&quiet(b))).unwrap_or(0);
    let short = ((5e-4 * rate_hz) as usize).max(1);
    let loudest = [0, 1].map(|side| {
        let places = from + side * half..from + (side + 1) * half;
        places.max_by(|a, b| around(a % bins, short).total_cmp(&around(b % bins, short))).unwrap_or(from)
    });
    Fold { loudest }
}
