//! Least squares: instants of two kinds that alternate, on a straight line each, with one slope.

/// A point: number, +1 or -1 by its side, instant, weight.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Point {
    pub(crate) number: f64,
    pub(crate) side: f64,
    pub(crate) t_s: f64,
    pub(crate) weight: f64,
}

/// What fits best: `t = start + step number + apart side`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line {
    pub(crate) step_s: f64,
    pub(crate) apart_s: f64,
    /// Variances of step and apart, for weights of one over a variance.
    pub(crate) step_s2: f64,
    pub(crate) apart_s2: f64,
}

impl Line {
    /// `None` where the points do not tell all three.
    pub(crate) fn fit(points: &[Point]) -> Option<Line> {
        let all: f64 = points.iter().map(|p| p.weight).sum();
        let mean = |read: fn(&Point) -> f64| points.iter().map(|p| p.weight * read(p)).sum::<f64>() / all;
        // About the means the first of the three equations falls away.
        let (n, s, t) = (mean(|p| p.number), mean(|p| p.side), mean(|p| p.t_s));
        let sum = |read: &dyn Fn(&Point) -> f64| points.iter().map(|p| p.weight * read(p)).sum::<f64>();
        let nn = sum(&|p| (p.number - n) * (p.number - n));
        let ss = sum(&|p| (p.side - s) * (p.side - s));
        let ns = sum(&|p| (p.number - n) * (p.side - s));
        let nt = sum(&|p| (p.number - n) * (p.t_s - t));
        let st = sum(&|p| (p.side - s) * (p.t_s - t));
        let det = nn * ss - ns * ns;
        if points.len() < 3 || det <= 1e-9 * nn * ss || !det.is_finite() {
            return None;
        }
        Some(Line {
            step_s: (ss * nt - ns * st) / det,
            apart_s: (nn * st - ns * nt) / det,
            step_s2: ss / det,
            apart_s2: nn / det,
        })
    }
}
