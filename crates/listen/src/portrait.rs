//! The mean loudness of the beats of one side, and how like it a stretch is.

/// Values that are compared side by side.
const LANES: usize = 8;

/// A side's mean beat, as the square root of the loudness: what is loud does not drown what is not.
#[derive(Clone, Debug)]
pub(crate) struct Portrait {
    /// From `before` values ahead of its own instant on, the loudest being 1 or nearly.
    pub(crate) mean: Vec<f32>,
    /// The same of the power: a shock begins where half of its own has come, however steep and however loud.
    pub(crate) power: Vec<f32>,
    pub(crate) before: usize,
}

/// Where a stretch is most like a portrait.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Match {
    /// The portrait's instant, in values.
    pub(crate) at: f64,
    /// How like it is, -1 to 1.
    pub(crate) like: f32,
}

/// A part of a portrait, with what is needed to compare it.
pub(crate) struct Part<'a> {
    values: &'a [f32],
    /// From the portrait's instant to the first of them.
    from: isize,
    mean: f32,
    size: f32,
}

impl Portrait {
    /// Its loudest value.
    pub(crate) fn loudest(&self) -> usize {
        (0..self.mean.len()).max_by(|&a, &b| self.mean[a].total_cmp(&self.mean[b])).unwrap_or(0)
    }

    /// All of it.
    pub(crate) fn whole(&self) -> Part<'_> {
        self.part(-(self.before as isize), self.mean.len())
    }

    /// The values from one, counted from its instant, on; as many as there are.
    pub(crate) fn part(&self, from: isize, count: usize) -> Part<'_> {
        let first = (from + self.before as isize).clamp(0, self.mean.len() as isize) as usize;
        let values = &self.mean[first..(first + count).min(self.mean.len())];
        let mean = values.iter().sum::<f32>() / values.len().max(1) as f32;
        let size = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f32>().sqrt();
        Part { values, from: first as isize - self.before as isize, mean, size }
    }
}

impl Part<'_> {
    /// Where near an instant the values are most like it, no farther than `far` off; `None` where they end before.
    pub(crate) fn find(&self, values: &[f32], near: f64, far: usize) -> Option<Match> {
        let first = near.round() as isize + self.from - far as isize - 1;
        let first = usize::try_from(first).ok()?;
        let stretch = values.get(first..first + self.values.len() + 2 * far + 2)?;
        let likes: Vec<f32> =
            (0..2 * far + 3).map_while(|i| self.like(stretch.get(i..i + self.values.len())?)).collect();
        let best = (1..likes.len().checked_sub(1)?).max_by(|&a, &b| likes[a].total_cmp(&likes[b]))?;
        let [a, b, c] = [likes[best - 1], likes[best], likes[best + 1]];
        // At either end nothing says how it goes on.
        if b < a || b < c {
            return None;
        }
        let bend = a - 2.0 * b + c;
        let off = if bend < 0.0 { 0.5 * (a - c) / bend } else { 0.0 };
        let at = first as f64 + best as f64 + f64::from(off) - self.from as f64;
        Some(Match { at, like: b })
    }

    fn like(&self, values: &[f32]) -> Option<f32> {
        let count = values.len() as f32;
        // Side by side, eight sums of each: most of the time goes here.
        let mut sums = [[0.0_f32; LANES]; 3];
        let (all, own) = (values.chunks_exact(LANES), self.values.chunks_exact(LANES));
        let last = all.remainder().iter().zip(own.remainder());
        for (values, own) in all.zip(own) {
            for k in 0..LANES {
                sums[0][k] += values[k];
                sums[1][k] += values[k] * values[k];
                sums[2][k] += values[k] * (own[k] - self.mean);
            }
        }
        let [mut sum, mut squares, mut product] = sums.map(|s| s.iter().sum::<f32>());
        for (v, own) in last {
            sum += v;
            squares += v * v;
            product += v * (own - self.mean);
        }
        let size = (squares - sum * sum / count).max(0.0).sqrt();
        Some(if size > 0.0 && self.size > 0.0 { product / (size * self.size) } else { 0.0 })
    }
}

/// A portrait in the making: stretches laid over one another, each as loud as the others.
#[derive(Clone, Debug)]
pub(crate) struct Making {
    sum: Vec<f32>,
    power: Vec<f32>,
    before: usize,
    count: f32,
}

impl Making {
    /// Of what is before its own instant, and from it on.
    pub(crate) fn new([before, after]: [usize; 2]) -> Making {
        Making { sum: vec![0.0; before + after], power: vec![0.0; before + after], before, count: 0.0 }
    }

    /// Lays the stretch about an instant over the others.
    pub(crate) fn add(&mut self, values: &[f32], at: f64) {
        self.lay(values, at, 1.0);
    }

    /// The portrait without the stretch about an instant, which was laid: a beat is not to be compared with itself.
    pub(crate) fn without(&self, values: &[f32], at: f64) -> Option<Portrait> {
        let mut others = self.clone();
        others.lay(values, at, -1.0);
        others.done()
    }

    fn lay(&mut self, values: &[f32], at: f64, times: f32) {
        let start = at - self.before as f64;
        let first = start.floor();
        let part = (start - first) as f32;
        let Some(first) = (first >= 0.0).then_some(first as usize) else { return };
        let Some(stretch) = values.get(first..=first + self.sum.len()) else { return };
        let loudest = stretch.iter().fold(0.0_f32, |a, &b| a.max(b));
        if loudest > 0.0 {
            for ((sum, power), pair) in self.sum.iter_mut().zip(&mut self.power).zip(stretch.windows(2)) {
                let [a, b] = [pair[0] / loudest, pair[1] / loudest];
                *sum += times * (a + part * (b - a));
                let [a, b] = [a.powi(4), b.powi(4)];
                *power += times * (a + part * (b - a));
            }
            self.count += times;
        }
    }

    /// The portrait; `None` where nothing was laid.
    pub(crate) fn done(&self) -> Option<Portrait> {
        let of = |sum: &[f32]| sum.iter().map(|s| s / self.count).collect();
        (self.count > 0.0).then(|| Portrait { mean: of(&self.sum), power: of(&self.power), before: self.before })
    }
}
