//! How instants scatter, and what of them is kept.

use beat::Side;

use crate::heard::HeardBeat;

/// Standard errors of an instant are no smaller than this, s: a tenth of a value of the loudness, chosen.
pub(crate) const LEAST_SIGMA_S: f64 = 2e-6;
/// Neighbours up to so many beats apart are looked at for what they have in common.
const NEIGHBOURS: usize = 12;

/// How instants scatter about a straight line, sides apart.
pub(crate) struct Scatter {
    pub(crate) sigma_s: f64,
    pub(crate) together_ratio: f64,
    step_s: f64,
    start_s: [f64; 2],
}

/// Instants farther off than this many standard errors were taken for others: chosen.
const FAR_RATIO: f64 = 5.0;

impl Scatter {
    pub(crate) fn of(beats: &[HeardBeat], read: impl Fn(&HeardBeat) -> Option<f64>) -> Scatter {
        let side = |b: &HeardBeat| usize::from(b.side == Side::B);
        let all: Vec<(f64, usize, f64)> =
            beats.iter().filter_map(|b| Some((b.number as f64, side(b), read(b)?))).collect();
        let mut out = Scatter { sigma_s: f64::INFINITY, together_ratio: 1.0, step_s: 0.0, start_s: [0.0; 2] };
        let mut kept = all.clone();
        for round in 0..4 {
            if kept.len() < 6 || (0..2).any(|s| kept.iter().filter(|p| p.1 == s).count() < 2) {
                return Scatter { sigma_s: f64::INFINITY, ..out };
            }
            let mut means = [(0.0, 0.0, 0.0); 2];
            for &(n, s, t) in &kept {
                let m = &mut means[s];
                (m.0, m.1, m.2) = (m.0 + 1.0, m.1 + n, m.2 + t);
            }
            let means = means.map(|(count, n, t)| (n / count, t / count));
            let (nn, nt) = kept.iter().fold((0.0, 0.0), |a, &(n, s, t)| {
                let x = n - means[s].0;
                (a.0 + x * x, a.1 + x * (t - means[s].1))
            });
            out.step_s = nt / nn;
            out.start_s = means.map(|(n, t)| t - n * out.step_s);
            let off = |p: &(f64, usize, f64)| p.2 - out.start_s[p.1] - p.0 * out.step_s;
            let mut sizes: Vec<f64> = kept.iter().map(|p| off(p).abs()).collect();
            let middle = sizes.len() / 2;
            // Of a normal law the middle size is 0.6745 of its standard error.
            let sigma_s = *sizes.select_nth_unstable_by(middle, f64::total_cmp).1 / 0.6745;
            out.sigma_s = sigma_s;
            if round < 3 {
                kept = all.iter().copied().filter(|p| off(p).abs() <= FAR_RATIO * sigma_s.max(LEAST_SIGMA_S)).collect();
            } else {
                let offs: Vec<f64> = kept.iter().map(off).collect();
                let square = offs.iter().map(|o| o * o).sum::<f64>();
                out.sigma_s = (square / (offs.len() as f64 - 3.0).max(1.0)).sqrt();
                let with = |lag: usize| offs.iter().zip(&offs[lag.min(offs.len())..]).map(|(a, b)| a * b).sum::<f64>();
                let most = NEIGHBOURS.min(offs.len() / 4);
                // Bartlett's weights: neighbours count the less the farther apart.
                let sum: f64 = (1..=most).map(|lag| (1.0 - lag as f64 / (most + 1) as f64) * with(lag) / square).sum();
                out.together_ratio = (1.0 + 2.0 * sum).max(1.0).sqrt();
            }
        }
        out
    }

    /// Whether a beat that is at an instant is one of them.
    pub(crate) fn keeps(&self, b: &HeardBeat, at_s: f64) -> bool {
        let s = usize::from(b.side == Side::B);
        (at_s - self.start_s[s] - b.number as f64 * self.step_s).abs() <= FAR_RATIO * self.sigma_s.max(LEAST_SIGMA_S)
    }
}

/// How the time from the first noise to the drop scatters on one side.
pub(crate) struct Between {
    middle_s: f64,
    pub(crate) sigma_s: f64,
}

impl Between {
    pub(crate) fn of<'a>(beats: impl Iterator<Item = &'a HeardBeat>) -> Between {
        let mut all: Vec<f64> = beats.filter_map(|b| Some(b.drop_s? - b.first_s?)).collect();
        let middle = all.len() / 2;
        let Some((middle_s, mut sizes)) = (all.len() > 2).then(|| {
            let middle_s = *all.select_nth_unstable_by(middle, f64::total_cmp).1;
            (middle_s, all.iter().map(|t| (t - middle_s).abs()).collect::<Vec<f64>>())
        }) else {
            return Between { middle_s: 0.0, sigma_s: 0.0 };
        };
        let sigma_s = *sizes.select_nth_unstable_by(middle, f64::total_cmp).1 / 0.6745;
        Between { middle_s, sigma_s }
    }

    pub(crate) fn keeps(&self, between_s: f64) -> bool {
        (between_s - self.middle_s).abs() <= FAR_RATIO * self.sigma_s.max(LEAST_SIGMA_S)
    }
}
