//! What already lies on the sheet, so that a text finds a place of its own.

use plane::{Vector, quarter};

use crate::view::Rect;

/// Clearance round a text in mm; chosen.
const CLEAR_MM: f64 = 0.6;
/// Distance in mm within which a line must not pass the end of a dimension's line; chosen.
const PASSING_MM: f64 = 1.5;

/// A rectangle at any angle: the place of a text.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct TextBox {
    pub centre: Vector,
    /// Half width and half height.
    pub half: Vector,
    /// Direction of reading.
    pub along: Vector,
}

impl TextBox {
    pub fn corners(&self) -> [Vector; 4] {
        let (u, v) = (self.along * self.half.x, quarter(self.along) * self.half.y);
        [self.centre - u - v, self.centre + u - v, self.centre + u + v, self.centre - u + v]
    }

    /// Half of its extent along a unit vector.
    pub fn support(&self, d: Vector) -> f64 {
        self.half.x * self.along.dot(&d).abs() + self.half.y * quarter(self.along).dot(&d).abs()
    }

    pub fn grown(&self, by_mm: f64) -> TextBox {
        TextBox { half: self.half + Vector::new(by_mm, by_mm), ..*self }
    }

    /// Whether two boxes share a point.
    pub fn meets(&self, other: &TextBox) -> bool {
        let between = other.centre - self.centre;
        [self.along, quarter(self.along), other.along, quarter(other.along)]
            .iter()
            .all(|d| between.dot(d).abs() < self.support(*d) + other.support(*d))
    }

    /// Whether a segment has a point in the box.
    pub fn meets_segment(&self, a: Vector, b: Vector) -> bool {
        let local =
            |p: Vector| Vector::new((p - self.centre).dot(&self.along), (p - self.centre).dot(&quarter(self.along)));
        let (p, d) = (local(a), local(b) - local(a));
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for i in 0..2 {
            if d[i].abs() < 1e-12 {
                if p[i].abs() > self.half[i] {
                    return false;
                }
                continue;
            }
            let (s, t) = ((-self.half[i] - p[i]) / d[i], (self.half[i] - p[i]) / d[i]);
            from = from.max(s.min(t));
            to = to.min(s.max(t));
        }
        from <= to
    }
}

/// A drawn line, by its weight.
#[derive(Clone, Copy, Debug)]
struct Line {
    a: Vector,
    b: Vector,
    kind: Ink,
}

impl Line {
    /// Whether it comes into the circle round a text: false for most lines of a sheet.
    fn may_come_near(&self, text: &TextBox) -> bool {
        let (reach, c) = (text.half.norm(), text.centre);
        let outside = |i: usize| self.a[i].max(self.b[i]) < c[i] - reach || self.a[i].min(self.b[i]) > c[i] + reach;
        !outside(0) && !outside(1)
    }
}

/// What a line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ink {
    /// Outline of a part.
    Outline,
    /// Centre line or construction.
    Centre,
    /// Dimension, extension or leader line.
    Dimension,
}

/// The sheet as far as it is used.
#[derive(Clone, Debug, Default)]
pub(crate) struct Room {
    /// Where texts may stand.
    pub free: Option<Rect>,
    lines: Vec<Line>,
    texts: Vec<TextBox>,
    /// Hatched areas, as closed polygons.
    hatched: Vec<Vec<Vector>>,
    /// Filled areas, as closed polygons.
    filled: Vec<Vec<Vector>>,
}

impl Room {
    /// An empty place for pictures.
    pub fn within(free: Rect) -> Room {
        Room { free: Some(free), ..Room::default() }
    }

    pub fn add_line(&mut self, a: Vector, b: Vector, kind: Ink) {
        self.lines.push(Line { a, b, kind });
    }

    pub fn add_chain(&mut self, points: &[Vector], kind: Ink) {
        for pair in points.windows(2) {
            self.add_line(pair[0], pair[1], kind);
        }
    }

    pub fn add_text(&mut self, text: TextBox) {
        self.texts.push(text);
    }

    pub fn add_hatched(&mut self, polygon: Vec<Vector>) {
        self.hatched.push(polygon);
    }

    pub fn add_filled(&mut self, polygon: Vec<Vector>) {
        self.filled.push(polygon);
    }

    /// What it costs to write a text there, dimensionless; `None` where it must not stand.
    pub fn text_cost(&self, text: &TextBox) -> Option<f64> {
        let clear = text.grown(CLEAR_MM);
        if self.free.is_some_and(|free| !clear.corners().iter().all(|c| free.holds(*c))) {
            return None;
        }
        let blocked = self.texts.iter().any(|t| t.meets(&clear))
            || self.hatched.iter().any(|p| inside(p, text.centre))
            || self.lines.iter().any(|l| l.may_come_near(&clear) && clear.meets_segment(l.a, l.b));
        let on_part = self.filled.iter().filter(|p| inside(p, text.centre)).count() % 2 == 1;
        (!blocked).then_some(if on_part { 6.0 } else { 0.0 })
    }

    /// What it costs to draw a dimension's line there, dimensionless; `None` where it would cross a text. A line that
    /// `extends` an outline may cross other dimensions sooner than an arrow's line or a leader.
    pub fn line_cost(&self, a: Vector, b: Vector, extends: bool) -> Option<f64> {
        if self.texts.iter().any(|t| t.grown(0.5 * CLEAR_MM).meets_segment(a, b)) {
            return None;
        }
        // A leader that just passes the end of another dimension's line is read as a part of it.
        let past = |l: &Line| if l.kind == Ink::Dimension && !extends { lengthened(l.a, l.b) } else { (l.a, l.b) };
        let met = |l: &&Line| {
            let (c, d) = past(l);
            crosses(a, b, c, d)
        };
        let crossed = self.lines.iter().filter(met).map(|l| match l.kind {
            Ink::Outline => 2.0,
            Ink::Centre => 1.0,
            Ink::Dimension => {
                if extends {
                    3.0
                } else {
                    10.0
                }
            }
        });
        Some(crossed.sum())
    }
}

/// The segment, longer by the clearance of dimensions at both ends.
fn lengthened(a: Vector, b: Vector) -> (Vector, Vector) {
    let by = (b - a).try_normalize(0.0).unwrap_or_default() * PASSING_MM;
    (a - by, b + by)
}

fn crosses(a: Vector, b: Vector, c: Vector, d: Vector) -> bool {
    // Most lines of a sheet are far apart.
    let apart = |i: usize| a[i].max(b[i]) < c[i].min(d[i]) || c[i].max(d[i]) < a[i].min(b[i]);
    if apart(0) || apart(1) {
        return false;
    }
    let side = |p: Vector, q: Vector, r: Vector| plane::cross(q - p, r - p);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

fn inside(polygon: &[Vector], p: Vector) -> bool {
    let count = polygon.len();
    (0..count).fold(false, |odd, i| {
        let (a, b) = (polygon[i], polygon[(i + 1) % count]);
        let between = (a.y > p.y) != (b.y > p.y);
        odd ^ (between && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x))
    })
}
