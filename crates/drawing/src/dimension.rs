//! Dimensions: how each can be drawn, in the manner of ISO 129-1:2018 (slim closed arrows, text above its line).

use plane::{Vector, cross, quarter};
use std::f64::consts::{FRAC_PI_2, TAU};

use crate::room::{Room, TextBox};
use crate::svg::Svg;
use crate::text::{Anchor, Size, Words, write_turned};
use crate::view::View;

/// Arrow heads: 3 to 1, in mm; chosen with the type.
const ARROW_MM: f64 = 2.4;
/// Gap between a part and an extension line, and how far that reaches over the dimension line. In mm; common practice.
const GAP_MM: f64 = 0.8;
const OVER_MM: f64 = 1.2;
/// Lines of an angle are not lengthened farther than this before the angle is better read from the table. In mm; chosen.
const LENGTHENED_MOST_MM: f64 = 20.0;
/// Cost of a crossing by an extension line over that by a dimension line. A ratio, chosen.
const EXTENSION_RATIO: f64 = 0.3;
/// Height of capitals and figures over the size of type: a ratio, seen in plain sans faces.
const CAPITAL_RATIO: f64 = 0.73;

/// What is measured; points in metres in the frame of the picture.
#[derive(Clone, Debug)]
pub(crate) enum Measure {
    /// Distance of two points, straight or along a direction.
    Length { a: Vector, b: Vector, along: Option<Vector> },
    /// Radius of a circle, the leader preferably standing in the direction `toward`.
    Radius { centre: Vector, radius_m: f64, toward: Vector },
    /// Angle at `vertex` between the rays to two points, up to which something is drawn already.
    Angle { vertex: Vector, a: Vector, b: Vector },
    /// The same where nothing is drawn along the rays: it is measured beyond the points.
    AngleBeyond { vertex: Vector, a: Vector, b: Vector },
    /// A remark on a point.
    Remark { at: Vector, toward: Vector },
}

/// A measure and what is written on it.
#[derive(Clone, Debug)]
pub(crate) struct Dimension {
    pub measure: Measure,
    pub words: Words,
}

/// A dimension with its place.
#[derive(Clone, Debug)]
pub(crate) struct Placed {
    lines: Vec<(Vector, Vector)>,
    /// How many of the lines, from the first, are extension lines: they may cross an outline sooner than others.
    extensions: usize,
    /// Centre, start, end.
    arcs: Vec<(Vector, Vector, Vector)>,
    /// Tip and the direction in which it points.
    arrows: Vec<(Vector, Vector)>,
    text: TextBox,
    words: Words,
    cost: f64,
}

impl Placed {
    fn new(text: TextBox, words: &Words, cost: f64) -> Placed {
        Placed {
            lines: Vec::new(),
            extensions: 0,
            arcs: Vec::new(),
            arrows: Vec::new(),
            text,
            words: words.clone(),
            cost,
        }
    }

    fn segments(&self) -> Vec<(Vector, Vector)> {
        let mut out = self.lines.clone();
        for (centre, a, b) in &self.arcs {
            let (from, to) = (a - centre, b - centre);
            let turn = cross(from, to).atan2(from.dot(&to));
            let at = |i: u32| centre + turned(from, turn * f64::from(i) / 6.0);
            out.extend((0..6).map(|i| (at(i), at(i + 1))));
        }
        out
    }

    /// Puts it on the sheet, so that nothing else is written over it.
    pub fn settle(&self, room: &mut Room) {
        for (a, b) in self.segments() {
            room.add_line(a, b, crate::room::Ink::Dimension);
        }
        for (tip, direction) in &self.arrows {
            let [_, b, c] = arrow(*tip, *direction);
            room.add_line(*tip, 0.5 * (b + c), crate::room::Ink::Dimension);
        }
        room.add_text(self.text);
    }

    pub fn write(&self, svg: &mut Svg) {
        svg.open("g", "class=\"dimension\"");
        for (a, b) in &self.lines {
            svg.segment("thin", *a, *b);
        }
        for (centre, a, b) in &self.arcs {
            svg.short_arc("thin", *centre, *a, *b);
        }
        for (tip, direction) in &self.arrows {
            svg.polygon("arrow", &arrow(*tip, *direction));
        }
        let down = quarter(self.text.along);
        let baseline = self.text.centre + down * (0.5 * CAPITAL_RATIO * Size::Plain.em_mm());
        let angle = self.text.along.y.atan2(self.text.along.x);
        write_turned(svg, &self.words, Size::Plain, Anchor::Middle, baseline, angle);
        svg.close();
    }
}

fn arrow(tip: Vector, direction: Vector) -> [Vector; 3] {
    let (back, side) = (tip - direction * ARROW_MM, quarter(direction) * (ARROW_MM / 6.0));
    [tip, back + side, back - side]
}

fn turned(v: Vector, by_rad: f64) -> Vector {
    let (sin, cos) = by_rad.sin_cos();
    Vector::new(cos * v.x - sin * v.y, sin * v.x + cos * v.y)
}

/// Finds the best free place for a dimension; `None` where there is none.
pub(crate) fn place(dimension: &Dimension, view: &View, room: &Room) -> Option<Placed> {
    let mut best: Option<Placed> = None;
    let words = &dimension.words;
    let consider = &mut |mut placed: Placed| {
        if best.as_ref().is_some_and(|b| b.cost <= placed.cost) {
            return;
        }
        let Some(text) = room.text_cost(&placed.text) else { return };
        placed.cost += text;
        for (i, (a, b)) in placed.segments().into_iter().enumerate() {
            let Some(line) = room.line_cost(a, b) else { return };
            placed.cost += line * if i < placed.extensions { EXTENSION_RATIO } else { 1.0 };
            if room.free.is_some_and(|free| !free.holds(a) || !free.holds(b)) {
                return;
            }
        }
        if best.as_ref().is_none_or(|b| placed.cost < b.cost) {
            best = Some(placed);
        }
    };
    let point = |p| view.point(p);
    match dimension.measure {
        Measure::Length { a, b, along } => {
            let (a, b) = (point(a), point(b));
            let u = along.map_or(b - a, |d| view.direction(d)).normalize();
            length(a, b, if u.dot(&(b - a)) < 0.0 { -u } else { u }, words, consider);
        }
        Measure::Radius { centre, radius_m, toward } => {
            radius(point(centre), view.length_mm(radius_m), view.direction(toward).normalize(), words, consider);
        }
        Measure::Angle { vertex, a, b } => angle([point(vertex), point(a), point(b)], false, words, consider),
        Measure::AngleBeyond { vertex, a, b } => angle([point(vertex), point(a), point(b)], true, words, consider),
        Measure::Remark { at, toward } => remark(point(at), view.direction(toward).normalize(), words, consider),
    }
    best
}

/// Half width and half height of a dimension's text.
fn half_size(words: &Words) -> Vector {
    let em = Size::Plain.em_mm();
    // Subscripts hang below the line.
    let height = if words.0.iter().any(|r| r.subscript) { CAPITAL_RATIO + 0.25 } else { CAPITAL_RATIO };
    Vector::new(0.5 * words.width_mm(Size::Plain), 0.5 * height * em)
}

/// The direction along `u` in which a text is read from below or from the right.
fn reading(u: Vector) -> Vector {
    let upright = u.x > 1e-9 || (u.x.abs() <= 1e-9 && u.y < 0.0);
    if upright { u } else { -u }
}

/// The box of a text above a line at `middle` that runs along `u`.
fn above(middle: Vector, u: Vector, words: &Words) -> TextBox {
    let along = reading(u);
    let half = half_size(words);
    TextBox { centre: middle - quarter(along) * (half.y + 0.9), half, along }
}

fn length(a: Vector, b: Vector, u: Vector, words: &Words, consider: &mut impl FnMut(Placed)) {
    let half = half_size(words);
    let span = (b - a).dot(&u);
    for side in [1.0, -1.0] {
        let n = quarter(u) * side;
        let base = a.dot(&n).max(b.dot(&n));
        for (row, height) in [7.0, 10.0, 13.0, 17.0, 21.0, 26.0, 31.0, 37.0, 44.0, 52.0, 60.0].into_iter().enumerate() {
            let onto = |p: Vector| p + n * (base + height - p.dot(&n));
            let (p, q) = (onto(a), onto(b));
            let mut extensions = Vec::new();
            for (from, to) in [(a, p), (b, q)] {
                if (to - from).norm() > GAP_MM {
                    extensions.push((from + n * GAP_MM, to + n * OVER_MM));
                }
            }
            let cost = 0.4 * row as f64 + 0.02 * height;
            let mut put = |text_at: f64, inside: bool, line: (f64, f64), extra: f64| {
                let mut placed = Placed::new(above(p + u * text_at, u, words), words, cost + extra);
                placed.lines = extensions.clone();
                placed.extensions = extensions.len();
                placed.lines.push((p + u * line.0, p + u * line.1));
                let out = if inside { 1.0 } else { -1.0 };
                placed.arrows = vec![(p, -u * out), (q, u * out)];
                consider(placed);
            };
            let tail = ARROW_MM + 2.5;
            let wide = 2.0 * half.x + 1.0;
            if span > wide + 1.0 && span > 3.0 * ARROW_MM {
                put(0.5 * span, true, (0.0, span), 0.0);
            }
            let inside = span > 3.0 * ARROW_MM;
            let (before, after) = if inside { (0.0, span) } else { (-tail, span + tail) };
            for (farther, extra) in [(0.0, 1.5), (4.0, 2.2), (9.0, 3.0), (15.0, 4.0)] {
                let clear = farther + if inside { 1.5 } else { tail };
                put(span + clear + half.x, inside, (before, span + clear + wide), extra);
                put(-clear - half.x, inside, (-clear - wide, after), extra + 0.1);
            }
        }
    }
}

/// A leader from `from` along `d`, bent level under its text.
fn leader(from: Vector, d: Vector, run: f64, words: &Words, cost: f64) -> Placed {
    let side = if d.x < -1e-9 { -1.0 } else { 1.0 };
    let half = half_size(words);
    let knee = from + d * run;
    let level = Vector::new(side, 0.0);
    let shelf = 2.0 * half.x + 1.2;
    let mut placed = Placed::new(above(knee + level * (0.5 * shelf + 0.4), level, words), words, cost);
    placed.lines = vec![(from, knee), (knee, knee + level * shelf)];
    placed
}

/// Directions about a preferred one, nearest first, with what each costs.
fn fan(toward: Vector) -> impl Iterator<Item = (Vector, f64)> {
    (0..24).map(move |i: i32| {
        let step = if i % 2 == 0 { i / 2 } else { -(i / 2) - 1 };
        (turned(toward, f64::from(step) * TAU / 24.0), 0.35 * f64::from(step.abs()))
    })
}

fn radius(centre: Vector, radius: f64, toward: Vector, words: &Words, consider: &mut impl FnMut(Placed)) {
    for (d, turn) in fan(toward) {
        if d.x.abs() < 0.1 {
            continue; // too steep for a level shelf
        }
        let tip = centre + d * radius;
        for run in [7.0, 10.0, 14.0, 19.0, 25.0, 32.0, 40.0, 50.0, 62.0, 75.0] {
            let mut placed = leader(tip, d, run, words, turn + 0.04 * run);
            placed.arrows = vec![(tip, -d)];
            consider(placed);
        }
    }
}

fn remark(at: Vector, toward: Vector, words: &Words, consider: &mut impl FnMut(Placed)) {
    for (d, turn) in fan(toward) {
        if d.x.abs() < 0.1 {
            continue;
        }
        for run in [6.0, 9.0, 13.0, 18.0, 24.0, 31.0, 40.0, 50.0] {
            let mut placed = leader(at + d, d, run, words, turn + 0.08 * run);
            placed.arrows = vec![(at, -d)];
            consider(placed);
        }
    }
}

fn angle([vertex, a, b]: [Vector; 3], beyond: bool, words: &Words, consider: &mut impl FnMut(Placed)) {
    let (reach_a, reach_b) = ((a - vertex).norm(), (b - vertex).norm());
    let (u, v) = ((a - vertex) / reach_a, (b - vertex) / reach_b);
    let sweep = cross(u, v).atan2(u.dot(&v));
    let sense = sweep.signum();
    let half = half_size(words);
    let level = |centre| TextBox { centre, half, along: Vector::new(1.0, 0.0) };
    let far = reach_a.max(reach_b);
    let inner = [8.0, 11.0, 14.0, 18.0, 22.0, 27.0, 33.0, 40.0, 48.0, 57.0, 67.0, 78.0, 90.0, 105.0, 120.0, 140.0];
    let outer = [5.0, 8.0, 11.0, 15.0, 20.0, 26.0, 33.0, 40.0].map(|more| far + more);
    let radii = if beyond { &outer[..] } else { &inner[..] };
    for r in radii.iter().copied() {
        let at = |part: f64| vertex + turned(u, sweep * part) * r;
        let mut lines = Vec::new();
        let mut lengthened = 0.0;
        for (d, reach) in [(u, reach_a), (v, reach_b)] {
            if r + OVER_MM > reach {
                lines.push((vertex + d * (reach + GAP_MM).min(r), vertex + d * (r + OVER_MM)));
                lengthened += r - reach;
            }
        }
        if lengthened > 2.0 * LENGTHENED_MOST_MM {
            break;
        }
        let cost = 0.02 * if beyond { r - far } else { r } + 0.07 * lengthened;
        let arc_length = r * sweep.abs();
        let inside = arc_length > 3.2 * ARROW_MM;
        let tail_rad = (ARROW_MM + 2.5) / r;
        // The arrow heads lie on the chord of the arc they end.
        let lean = 0.5 * ARROW_MM / r * sense;
        let (at_a, at_b) = (quarter(u) * sense, quarter(v) * sense);
        let mut put = |text: TextBox, extra: f64, tails: (f64, f64)| {
            let mut placed = Placed::new(text, words, cost + extra);
            placed.lines = lines.clone();
            let beyond = |d: Vector, by: f64| vertex + turned(d, by * sense) * r;
            if inside {
                placed.arrows = vec![(at(0.0), -turned(at_a, lean)), (at(1.0), turned(at_b, -lean))];
                // In two halves: an arc is written the short way.
                placed.arcs = vec![(vertex, at(0.0), at(0.5)), (vertex, at(0.5), at(1.0))];
            } else {
                placed.arrows = vec![(at(0.0), turned(at_a, -lean)), (at(1.0), -turned(at_b, lean))];
                placed.arcs = vec![
                    (vertex, beyond(u, -tails.0), at(0.0)),
                    (vertex, at(0.0), at(1.0)),
                    (vertex, at(1.0), beyond(v, tails.1)),
                ];
            }
            consider(placed);
        };
        let out = turned(u, 0.5 * sweep);
        let away = level(vertex).support(out) + 1.0;
        if inside {
            put(level(vertex + out * (r + away)), 0.0, (tail_rad, tail_rad));
            if r > away + 2.0 {
                put(level(vertex + out * (r - away)), 0.4, (tail_rad, tail_rad));
            }
        }
        // Beyond either end, on the lengthened arc.
        for (d, tangent, by) in [(u, -at_a, -tail_rad), (v, at_b, tail_rad)] {
            let by = if inside { by.signum() * 1.0 / r } else { by };
            let end = vertex + turned(d, by * sense) * r;
            let tangent = turned(tangent, by * sense);
            let text = level(end + tangent * (level(vertex).support(tangent) + 1.0));
            put(text, 0.9, (tail_rad, tail_rad));
        }
    }
    debug_assert!(sweep.abs() <= 2.0 * FRAC_PI_2 + 1e-9);
}
