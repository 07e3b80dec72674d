//! From the parts' metres, y up, to the sheet's millimetres, y down.

use plane::{Edge, Profile, Vector};

/// Where a picture lies on the sheet and how large.
#[derive(Clone, Copy, Debug)]
pub(crate) struct View {
    /// Size on the sheet over true size.
    pub ratio: f64,
    /// The point of the model, in metres, that lies at `at_mm`.
    pub centre_m: Vector,
    /// The point of the sheet.
    pub at_mm: Vector,
}

impl View {
    pub fn point(&self, p_m: Vector) -> Vector {
        self.at_mm + self.direction(p_m - self.centre_m) * (1e3 * self.ratio)
    }

    pub fn direction(&self, d: Vector) -> Vector {
        Vector::new(d.x, -d.y)
    }

    pub fn length_mm(&self, length_m: f64) -> f64 {
        length_m * 1e3 * self.ratio
    }
}

/// The scale as it is written: `20:1`, `1:2`.
pub(crate) fn scale_text(ratio: f64) -> String {
    let number = |x: f64| {
        let text = format!("{x:.3}");
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    };
    if ratio >= 1.0 { format!("{}:1", number(ratio)) } else { format!("1:{}", number(1.0 / ratio)) }
}

/// Scales within a decade, each a ratio, the largest first: 1, 2 and 5 of ISO 5455:1979, and between them those that a
/// rule still reads well, since most parts of a watch fill a sheet at none of the three. Chosen.
const SERIES: [f64; 9] = [8.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0];

/// The largest scale of the series 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8 times a power of ten that is at most `most_ratio`.
pub(crate) fn standard_scale(most_ratio: f64) -> f64 {
    from_series(&SERIES, most_ratio)
}

/// The largest length of the series 1, 2, 5 times a power of ten that is at most `most`, in the same unit.
pub(crate) fn round_length(most: f64) -> f64 {
    from_series(&[5.0, 2.0, 1.0], most)
}

fn from_series(series: &[f64], most: f64) -> f64 {
    let mut decade = most.log10().floor() as i32;
    loop {
        for step in series {
            let value = if decade >= 0 { step * 10_f64.powi(decade) } else { step / 10_f64.powi(-decade) };
            // One part in 10⁹ absorbs rounding where a subject fills the room exactly.
            if value <= most * (1.0 + 1e-9) {
                return value;
            }
        }
        decade -= 1;
    }
}

/// An upright rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rect {
    pub low: Vector,
    pub high: Vector,
}

impl Rect {
    /// From its corners, in the unit of the picture it is in.
    pub fn new(x0: f64, y0: f64, x1: f64, y1: f64) -> Rect {
        Rect { low: Vector::new(x0, y0), high: Vector::new(x1, y1) }
    }

    pub fn of(points: impl IntoIterator<Item = Vector>) -> Option<Rect> {
        points.into_iter().fold(None, |rect: Option<Rect>, p| {
            Some(match rect {
                None => Rect { low: p, high: p },
                Some(r) => Rect { low: r.low.inf(&p), high: r.high.sup(&p) },
            })
        })
    }

    pub fn size(&self) -> Vector {
        self.high - self.low
    }

    pub fn middle(&self) -> Vector {
        0.5 * (self.low + self.high)
    }

    /// Larger on every side, in the same unit.
    pub fn grown(&self, by: f64) -> Rect {
        let by = Vector::new(by, by);
        Rect { low: self.low - by, high: self.high + by }
    }

    pub fn holds(&self, p: Vector) -> bool {
        p.x >= self.low.x && p.x <= self.high.x && p.y >= self.low.y && p.y <= self.high.y
    }
}

/// Points along an edge, its start first and its end left out: for finding room only, never drawn.
pub(crate) fn sampled(edge: &Edge) -> impl Iterator<Item = Vector> + '_ {
    let count = match edge {
        Edge::Line { .. } => 1,
        // One point for every 4 deg: the chord is off by less than a thousandth of the radius.
        Edge::Arc { sweep_rad, .. } => (sweep_rad.abs() / 4_f64.to_radians()).ceil().max(2.0) as usize,
    };
    (0..count).map(move |i| edge.at(i as f64 / count as f64))
}

/// Points along a profile, in order.
pub(crate) fn outline_points(profile: &Profile) -> Vec<Vector> {
    let mut points: Vec<Vector> = profile.edges.iter().flat_map(sampled).collect();
    points.extend(profile.edges.last().map(Edge::end));
    points
}
