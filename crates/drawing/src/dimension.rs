//! Dimensions: how each can be drawn, in the manner of ISO 129-1:2018 (slim closed arrows, text above its line).

use plane::{Vector, cross, quarter};

use crate::room::{Room, TextBox};
use crate::scene::{degrees, millimetres};
use crate::svg::Svg;
use crate::text::{Anchor, CAPITAL_RATIO, Size, Words, write_turned};
use crate::view::View;
use crate::ways;

/// Arrow heads: 3 to 1, in mm; chosen with the type.
pub(crate) const ARROW_MM: f64 = 2.4;
/// Cost of a crossing by an extension line over that by a dimension line. A ratio, chosen.
const EXTENSION_RATIO: f64 = 0.3;
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
    /// Distance of a point from a centre along the line between them, which is drawn already.
    Ray { centre: Vector, tip: Vector },
    /// Width between two outlines, measured straight across them.
    Across { a: Vector, b: Vector },
    /// A remark on a point.
    Remark { at: Vector, toward: Vector },
}

/// Whether a value is written with a minus sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Sense {
    Positive,
    Negative,
}

impl Sense {
    pub fn negative_if(negative: bool) -> Sense {
        if negative { Sense::Negative } else { Sense::Positive }
    }
}

impl Measure {
    /// What is measured, as it is written; lengths have no sign, angles that of `sense`. Empty for a remark.
    pub fn value_text(&self, sense: Sense) -> String {
        let angle = |vertex: Vector, a: Vector, b: Vector| {
            let (u, v) = (a - vertex, b - vertex);
            let size_rad = cross(u, v).atan2(u.dot(&v)).abs();
            degrees(if sense == Sense::Negative { -size_rad } else { size_rad })
        };
        match *self {
            Measure::Length { a, b, along: Some(along) } => millimetres((b - a).dot(&along.normalize()).abs()),
            Measure::Length { a, b, along: None } | Measure::Across { a, b } => millimetres((b - a).norm()),
            Measure::Radius { radius_m, .. } => millimetres(radius_m),
            Measure::Angle { vertex, a, b } | Measure::AngleBeyond { vertex, a, b } => angle(vertex, a, b),
            Measure::Ray { centre, tip } => millimetres((tip - centre).norm()),
            Measure::Remark { .. } => String::new(),
        }
    }

    /// The point from which sides are told apart.
    fn anchor(&self) -> Vector {
        match *self {
            Measure::Length { a, .. } | Measure::Across { a, .. } => a,
            Measure::Radius { centre, .. } | Measure::Ray { centre, .. } => centre,
            Measure::Angle { vertex, .. } | Measure::AngleBeyond { vertex, .. } => vertex,
            Measure::Remark { at, .. } => at,
        }
    }
}

/// A measure and what is written on it.
#[derive(Clone, Debug)]
pub(crate) struct Dimension {
    pub measure: Measure,
    pub words: Words,
    /// Direction from the measure's first point toward the side on which it is best written.
    pub side: Option<Vector>,
}

/// A dimension with its place.
#[derive(Clone, Debug)]
pub(crate) struct Placed {
    pub lines: Vec<(Vector, Vector)>,
    /// How many of the lines, from the first, are extension lines: they may cross an outline sooner than others.
    pub extensions: usize,
    /// Centre, start, end.
    pub arcs: Vec<(Vector, Vector, Vector)>,
    /// Tip and the direction in which it points.
    pub arrows: Vec<(Vector, Vector)>,
    text: TextBox,
    words: Words,
    /// How far it is from a good place, dimensionless.
    pub cost_ratio: f64,
}

impl Placed {
    pub fn new(text: TextBox, words: &Words, cost_ratio: f64) -> Placed {
        Placed {
            lines: Vec::new(),
            extensions: 0,
            arcs: Vec::new(),
            arrows: Vec::new(),
            text,
            words: words.clone(),
            cost_ratio,
        }
    }

    fn segments(&self) -> Vec<(Vector, Vector)> {
        let mut out = self.lines.clone();
        for (centre, a, b) in &self.arcs {
            let (from, to) = (a - centre, b - centre);
            let turn = cross(from, to).atan2(from.dot(&to));
            let at = |i: u32| centre + ways::turned(from, turn * f64::from(i) / 6.0);
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

/// Finds the best free place for a dimension, on its own side if there is one; `None` where there is none.
pub(crate) fn place(dimension: &Dimension, view: &View, room: &Room) -> Option<Placed> {
    let own = dimension.side.map(|d| (view.point(dimension.measure.anchor()), view.direction(d)));
    own.and_then(|side| best_place(dimension, Some(side), view, room))
        .or_else(|| best_place(dimension, None, view, room))
}

/// The best place; with a point and a direction, only among those that lie from it in that direction.
fn best_place(dimension: &Dimension, side: Option<(Vector, Vector)>, view: &View, room: &Room) -> Option<Placed> {
    let mut best: Option<Placed> = None;
    let words = &dimension.words;
    let consider = &mut |mut placed: Placed| {
        if best.as_ref().is_some_and(|b| b.cost_ratio <= placed.cost_ratio) {
            return;
        }
        if side.is_some_and(|(from, side)| (placed.text.centre - from).dot(&side) < 0.0) {
            return;
        }
        let dearer = |cost_ratio: f64| best.as_ref().is_some_and(|b| b.cost_ratio <= cost_ratio);
        let Some(text) = room.text_cost(&placed.text) else { return };
        placed.cost_ratio += text;
        for (i, (a, b)) in placed.segments().into_iter().enumerate() {
            if dearer(placed.cost_ratio) || room.free.is_some_and(|free| !free.holds(a) || !free.holds(b)) {
                return;
            }
            let extends = i < placed.extensions;
            let Some(line) = room.line_cost(a, b, extends) else { return };
            placed.cost_ratio += line * if extends { EXTENSION_RATIO } else { 1.0 };
        }
        if best.as_ref().is_none_or(|b| placed.cost_ratio < b.cost_ratio) {
            best = Some(placed);
        }
    };
    let point = |p| view.point(p);
    match dimension.measure {
        Measure::Length { a, b, along } => {
            let (a, b) = (point(a), point(b));
            let u = along.map_or(b - a, |d| view.direction(d)).normalize();
            ways::length(a, b, if u.dot(&(b - a)) < 0.0 { -u } else { u }, words, consider);
        }
        Measure::Radius { centre, radius_m, toward } => {
            ways::radius(point(centre), view.length_mm(radius_m), view.direction(toward).normalize(), words, consider);
        }
        Measure::Ray { centre, tip } => ways::ray(point(centre), point(tip), words, consider),
        Measure::Across { a, b } => ways::across(point(a), point(b), words, consider),
        Measure::Angle { vertex, a, b } => ways::angle([point(vertex), point(a), point(b)], false, words, consider),
        Measure::AngleBeyond { vertex, a, b } => {
            ways::angle([point(vertex), point(a), point(b)], true, words, consider)
        }
        Measure::Remark { at, toward } => ways::remark(point(at), view.direction(toward).normalize(), words, consider),
    }
    best
}
