//! Chain lines (ISO 128-2:2020, type 04.1): joined where they lie on one another, so that their dashes do not fill up,
//! and spaced so that they begin and end with a long dash and cross at centres with one.

use plane::{Vector, cross};

use crate::svg::Svg;

/// Long dash, gap, short dash, gap, in mm; chosen with the weight of the line.
const PATTERN_MM: [f64; 4] = [7.0, 1.0, 0.6, 1.0];
/// Distance in mm below which two points of the sheet are one; a tenth of a line's width, chosen.
const SAME_MM: f64 = 0.02;

/// A straight chain line on the sheet.
pub(crate) type Chain = (Vector, Vector);

/// The lines, each piece of paper covered once.
pub(crate) fn joined(lines: &[Chain]) -> Vec<Chain> {
    let mut out: Vec<Chain> = Vec::new();
    for line in lines.iter().copied().filter(|(a, b)| (b - a).norm() > SAME_MM) {
        let mut line = line;
        while let Some(i) = out.iter().position(|other| union(*other, line).is_some()) {
            let other = out.swap_remove(i);
            line = union(other, line).unwrap_or(line);
        }
        out.push(line);
    }
    out
}

/// Both lines as one where they lie on one another.
fn union((a, b): Chain, (c, d): Chain) -> Option<Chain> {
    let length = (b - a).norm();
    let u = (b - a) / length;
    let off = |p: Vector| cross(u, p - a).abs();
    if off(c) > SAME_MM || off(d) > SAME_MM {
        return None;
    }
    let (s, t) = (u.dot(&(c - a)), u.dot(&(d - a)));
    let (from, to) = (s.min(t), s.max(t));
    (from <= length && to >= 0.0).then(|| (a + u * from.min(0.0), a + u * to.max(length)))
}

/// Writes a line; it passes each of `centres` that lies on it in the middle of a long dash.
pub(crate) fn write_line(svg: &mut Svg, (a, b): Chain, centres: &[Vector]) {
    let length = (b - a).norm();
    let u = (b - a) / length;
    let mut stops: Vec<f64> = centres
        .iter()
        .filter(|c| cross(u, **c - a).abs() < SAME_MM)
        .map(|c| u.dot(&(c - a)))
        .filter(|s| (-SAME_MM..=length + SAME_MM).contains(s))
        .collect();
    stops.sort_by(f64::total_cmp);
    stops.dedup_by(|s, t| (*s - *t).abs() < SAME_MM);
    // Where a centre is an end, the line starts there in the middle of a dash.
    let free = (stops.first().is_none_or(|s| *s > SAME_MM), stops.last().is_none_or(|s| *s < length - SAME_MM));
    let mut ends = stops;
    if free.0 {
        ends.insert(0, 0.0);
    }
    if free.1 {
        ends.push(length);
    }
    let last = ends.len().saturating_sub(2);
    for (i, pair) in ends.windows(2).enumerate() {
        let dashes = spaced(pair[1] - pair[0], free.0 && i == 0, free.1 && i == last);
        svg.dashed_segment("centre", a + u * pair[0], a + u * pair[1], &dashes);
    }
}

/// Writes a circle that crosses its two axes with long dashes.
pub(crate) fn write_circle(svg: &mut Svg, centre: Vector, radius: f64, more: &str) {
    let round = std::f64::consts::TAU * radius;
    let periods = 4.0 * (0.25 * round / PATTERN_MM.iter().sum::<f64>()).round().max(1.0);
    let dashes = Dashes { scale: round / (periods * PATTERN_MM.iter().sum::<f64>()), offset: 0.5 * PATTERN_MM[0] };
    svg.circle_with("centre", centre, radius, &format!(" style=\"{}\"{more}", dashes.style()));
}

/// The pattern, stretched or shrunk, and where in it a line starts.
struct Dashes {
    scale: f64,
    offset: f64,
}

impl Dashes {
    fn style(&self) -> String {
        let list = PATTERN_MM.map(|d| format!("{:.3}", d * self.scale)).join(" ");
        format!("stroke-dasharray:{list};stroke-dashoffset:{:.3}", self.offset * self.scale)
    }
}

/// Style of a stretch of line: whole dashes at free ends, half ones at centres; unbroken where it is too short for two.
fn spaced(length: f64, free_start: bool, free_end: bool) -> String {
    let [dash, ..] = PATTERN_MM;
    let period: f64 = PATTERN_MM.iter().sum();
    let offset = if free_start { 0.0 } else { 0.5 * dash };
    let rest = if free_end { dash } else { 0.5 * dash } - offset;
    let periods = ((length - rest) / period).round();
    if periods < 1.0 {
        return String::new();
    }
    Dashes { scale: length / (periods * period + rest), offset }.style()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_on_one_another_are_one() {
        let at = Vector::new;
        let lines = [
            (at(0.0, 0.0), at(10.0, 0.0)),
            (at(20.0, 0.0), at(8.0, 0.0)),
            (at(0.0, 1.0), at(10.0, 1.0)),
            (at(30.0, 0.0), at(40.0, 0.0)),
            (at(5.0, -5.0), at(5.0, 5.0)),
            (at(41.0, 0.0), at(15.0, 0.0)),
        ];
        let mut lengths: Vec<f64> = joined(&lines).iter().map(|(a, b)| (b - a).norm()).collect();
        lengths.sort_by(f64::total_cmp);
        assert_eq!(lengths, [10.0, 10.0, 41.0]);
    }
}
