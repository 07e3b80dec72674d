//! Writing SVG: numbers, escaped text, paths of true lines and arcs.

use plane::{Edge, Profile, Vector};
use std::fmt::Write;

use crate::options::DrawingError;
use crate::view::View;

/// Decimals of a coordinate in mm: 0.1 nm on paper, so that a length measured back is good to 1e-6 mm.
const OUTLINE_DECIMALS: usize = 7;
/// Decimals of everything that is no outline.
const PAPER_DECIMALS: usize = 3;
/// Arcs that turn farther are written as two, since the end of a half turn leaves its side open. In radians, chosen.
const ARC_MOST_RAD: f64 = 3.0;

/// The text of a document as it grows. A number that is not finite is kept as the fault of the whole.
#[derive(Default)]
pub(crate) struct Svg {
    pub text: String,
    depth: usize,
    open: Vec<&'static str>,
    fault: Option<DrawingError>,
}

impl Svg {
    /// Finishes the document.
    pub fn finish(self) -> Result<String, DrawingError> {
        debug_assert!(self.open.is_empty(), "every element is closed");
        match self.fault {
            Some(fault) => Err(fault),
            None => Ok(self.text),
        }
    }

    /// Adds what was written apart, with its fault if it has one.
    pub fn append(&mut self, other: Svg) {
        debug_assert!(other.open.is_empty(), "every element is closed");
        for line in other.text.lines() {
            self.line(line);
        }
        if let Some(fault) = other.fault {
            self.fault.get_or_insert(fault);
        }
    }

    fn line(&mut self, text: &str) {
        for _ in 0..self.depth {
            self.text.push(' ');
        }
        self.text.push_str(text);
        self.text.push('\n');
    }

    /// Opens an element; `attributes` are already escaped.
    pub fn open(&mut self, name: &'static str, attributes: &str) {
        let space = if attributes.is_empty() { "" } else { " " };
        self.line(&format!("<{name}{space}{attributes}>"));
        self.open.push(name);
        self.depth += 1;
    }

    /// Closes the element opened last.
    pub fn close(&mut self) {
        if let Some(name) = self.open.pop() {
            self.depth -= 1;
            self.line(&format!("</{name}>"));
        }
    }

    /// An empty element.
    pub fn empty(&mut self, name: &str, attributes: &str) {
        self.line(&format!("<{name} {attributes}/>"));
    }

    /// An element that holds text only; `content` is already escaped.
    pub fn element(&mut self, name: &str, attributes: &str, content: &str) {
        let space = if attributes.is_empty() { "" } else { " " };
        self.line(&format!("<{name}{space}{attributes}>{content}</{name}>"));
    }

    /// A coordinate or length on paper.
    pub fn mm(&mut self, value_mm: f64) -> String {
        self.number(value_mm, PAPER_DECIMALS)
    }

    /// A coordinate of an outline.
    pub fn exact_mm(&mut self, value_mm: f64) -> String {
        self.number(value_mm, OUTLINE_DECIMALS)
    }

    fn number(&mut self, x: f64, decimals: usize) -> String {
        if !x.is_finite() {
            let what = "a coordinate in mm".to_owned();
            self.fault.get_or_insert(DrawingError::NotFinite { what, value: x });
            return "0".to_owned();
        }
        let text = format!("{x:.decimals$}");
        let short = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
        if short == "-0" { "0".to_owned() } else { short.to_owned() }
    }

    /// A straight line.
    pub fn segment(&mut self, class: &str, a: Vector, b: Vector) {
        self.dashed_segment(class, a, b, "");
    }

    /// A straight line whose dashes are given as a style, or none.
    pub fn dashed_segment(&mut self, class: &str, a: Vector, b: Vector, dashes: &str) {
        let [x1, y1, x2, y2] = [a.x, a.y, b.x, b.y].map(|v| self.mm(v));
        let style = if dashes.is_empty() { String::new() } else { format!(" style=\"{dashes}\"") };
        self.empty("line", &format!("class=\"{class}\" x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"{style}"));
    }

    /// A rectangle without radius.
    pub fn rect(&mut self, class: &str, low: Vector, size: Vector) {
        let [x, y, w, h] = [low.x, low.y, size.x, size.y].map(|v| self.mm(v));
        self.empty("rect", &format!("class=\"{class}\" x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\""));
    }

    /// A circle.
    pub fn circle(&mut self, class: &str, centre: Vector, radius_mm: f64) {
        self.circle_with(class, centre, radius_mm, "");
    }

    /// A circle with further attributes, already escaped and each after a space.
    pub fn circle_with(&mut self, class: &str, centre: Vector, radius_mm: f64, more: &str) {
        let [x, y, r] = [centre.x, centre.y, radius_mm].map(|v| self.mm(v));
        self.empty("circle", &format!("class=\"{class}\" cx=\"{x}\" cy=\"{y}\" r=\"{r}\"{more}"));
    }

    /// A filled triangle or other polygon: arrow heads only.
    pub fn polygon(&mut self, class: &str, points: &[Vector]) {
        let points: Vec<String> = points.iter().map(|p| format!("{},{}", self.mm(p.x), self.mm(p.y))).collect();
        self.empty("polygon", &format!("class=\"{class}\" points=\"{}\"", points.join(" ")));
    }

    /// An arc about `centre` from `a` to the direction of `b`, the short way.
    pub fn short_arc(&mut self, class: &str, centre: Vector, a: Vector, b: Vector) {
        let radius = (a - centre).norm();
        // y points down: a positive cross product turns the way SVG calls positive.
        let sweep = u8::from(plane::cross(a - centre, b - centre) > 0.0);
        let [x1, y1, r, x2, y2] = [a.x, a.y, radius, b.x, b.y].map(|v| self.mm(v));
        self.empty("path", &format!("class=\"{class}\" d=\"M{x1} {y1}A{r} {r} 0 0 {sweep} {x2} {y2}\""));
    }

    /// Path data of profiles: one `L` for every line, one or two `A` for every arc.
    pub fn path_data(&mut self, profiles: &[Profile], view: &View) -> String {
        let mut data = String::new();
        for profile in profiles {
            let Some(first) = profile.edges.first() else { continue };
            let start = self.pair(view.point(first.start()));
            let _ = write!(data, "M{start}");
            for edge in &profile.edges {
                match *edge {
                    Edge::Line { end, .. } => {
                        let end = self.pair(view.point(end));
                        let _ = write!(data, "L{end}");
                    }
                    Edge::Arc { radius, sweep_rad, .. } => {
                        let pieces = if sweep_rad.abs() > ARC_MOST_RAD { 2 } else { 1 };
                        let r = self.exact_mm(view.length_mm(radius));
                        // Anticlockwise with y up is the way SVG calls negative.
                        let sweep = u8::from(sweep_rad < 0.0);
                        for piece in 1..=pieces {
                            let end = self.pair(view.point(edge.at(f64::from(piece) / f64::from(pieces))));
                            let _ = write!(data, "A{r} {r} 0 0 {sweep} {end}");
                        }
                    }
                }
            }
            if profile.closed {
                data.push('Z');
            }
        }
        data
    }

    fn pair(&mut self, p: Vector) -> String {
        format!("{} {}", self.exact_mm(p.x), self.exact_mm(p.y))
    }
}

/// Text for XML: markup escaped, characters that XML does not know replaced by U+FFFD.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&apos;"),
            '\n' | '\r' | '\t' => out.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}
