//! The ways in which a dimension can be drawn: each is put before a judge, who keeps the cheapest that has room.

use plane::{Vector, cross, quarter};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

use crate::dimension::{ARROW_MM, Placed};
use crate::room::TextBox;
use crate::text::{CAPITAL_RATIO, Size, Words};

/// Gap between a part and an extension line, and how far that reaches over the dimension line. In mm; common practice.
const GAP_MM: f64 = 0.8;
const OVER_MM: f64 = 1.2;
/// Lines of an angle are not lengthened farther than this before the angle is better read from the table. In mm; chosen.
const LENGTHENED_MOST_MM: f64 = 20.0;
/// Lengths of the leaders of short dimensions, in mm; chosen.
const LEADERS_MM: [f64; 6] = [8.0, 13.0, 19.0, 26.0, 34.0, 43.0];
/// Steepest text, from the horizontal, that is read from below when it leans to the left; steeper is read from the
/// right. In radians (75 deg), common practice.
const STEEPEST_RAD: f64 = 1.309;

pub(crate) fn turned(v: Vector, by_rad: f64) -> Vector {
    let (sin, cos) = by_rad.sin_cos();
    Vector::new(cos * v.x - sin * v.y, sin * v.x + cos * v.y)
}

/// Half width and half height of a dimension's text.
fn half_size(words: &Words) -> Vector {
    let em = Size::Plain.em_mm();
    // Subscripts hang below the line.
    let height = if words.0.iter().any(|r| r.subscript) { CAPITAL_RATIO + 0.25 } else { CAPITAL_RATIO };
    Vector::new(0.5 * words.width_mm(Size::Plain), 0.5 * height * em)
}

/// The direction along `u` in which a text is read from below or from the right. On the sheet y points down.
fn reading(u: Vector) -> Vector {
    let down_rad = u.y.atan2(u.x);
    let upright = (STEEPEST_RAD - PI..STEEPEST_RAD).contains(&down_rad);
    if upright { u } else { -u }
}

/// The box of a text above a line at `middle` that runs along `u`.
fn above(middle: Vector, u: Vector, words: &Words) -> TextBox {
    let along = reading(u);
    let half = half_size(words);
    TextBox { centre: middle - quarter(along) * (half.y + 0.9), half, along }
}

pub(crate) fn length(a: Vector, b: Vector, u: Vector, words: &Words, consider: &mut impl FnMut(Placed)) {
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
            let mut put = |mut placed: Placed, inside: bool, line: (f64, f64), extra: f64| {
                placed.cost_ratio += cost + extra;
                placed.lines = [&extensions[..], &placed.lines].concat();
                placed.extensions = extensions.len();
                placed.lines.push((p + u * line.0, p + u * line.1));
                let out = if inside { 1.0 } else { -1.0 };
                placed.arrows = vec![(p, -u * out), (q, u * out)];
                consider(placed);
            };
            let text = |at: f64| Placed::new(above(p + u * at, u, words), words, 0.0);
            let tail = ARROW_MM + 2.5;
            let wide = 2.0 * half.x + 1.0;
            if span > wide + 1.0 && span > 3.0 * ARROW_MM {
                put(text(0.5 * span), true, (0.0, span), 0.0);
            }
            let inside = span > 3.0 * ARROW_MM;
            let (before, after) = if inside { (0.0, span) } else { (-tail, span + tail) };
            if row < 5 {
                for (d, turn) in fan(n).filter(|(d, _)| d.x.abs() >= 0.1) {
                    for run in LEADERS_MM {
                        let led = leader(p + u * (0.5 * span), d, run, words, turn + 0.06 * run + 3.0);
                        put(led, inside, (before, after), 0.0);
                    }
                }
            }
            for (farther, extra) in [(0.0, 1.5), (4.0, 2.2), (9.0, 3.0), (15.0, 4.0)] {
                let clear = farther + if inside { 1.5 } else { tail };
                put(text(span + clear + half.x), inside, (before, span + clear + wide), extra);
                put(text(-clear - half.x), inside, (-clear - wide, after), extra + 0.1);
            }
        }
    }
}

/// Straight across, the arrows outside: no extension lines, which would lie on the outlines.
pub(crate) fn across(a: Vector, b: Vector, words: &Words, consider: &mut impl FnMut(Placed)) {
    let half = half_size(words);
    let span = (b - a).norm();
    let u = (b - a) / span;
    let (tail, wide) = (ARROW_MM + 2.5, 2.0 * half.x + 1.0);
    for (farther, extra) in [(0.0, 0.0), (4.0, 0.7), (9.0, 1.5), (15.0, 2.5), (22.0, 3.5)] {
        for (start, d) in [(b, u), (a, -u)] {
            let clear = farther + tail;
            let mut placed = Placed::new(above(start + d * (clear + half.x), u, words), words, extra);
            placed.lines = vec![(start, start + d * (clear + wide)), (start - d * span, start - d * (span + tail))];
            placed.lines.push((a, b));
            placed.arrows = vec![(start, -d), (start - d * span, d)];
            consider(placed);
        }
    }
}

/// From outside, on the lengthened line from the centre through the point.
pub(crate) fn ray(centre: Vector, tip: Vector, words: &Words, consider: &mut impl FnMut(Placed)) {
    let d = (tip - centre).normalize();
    let half = half_size(words);
    for run in [4.0, 7.0, 10.0, 14.0, 19.0, 25.0, 32.0, 40.0, 50.0] {
        if d.x.abs() > 0.1 {
            let mut placed = leader(tip, d, run, words, 0.04 * run);
            placed.arrows = vec![(tip, -d)];
            consider(placed);
        }
        // Along the line itself.
        let clear = run + ARROW_MM;
        let mut placed = Placed::new(above(tip + d * (clear + half.x), d, words), words, 0.6 + 0.04 * run);
        placed.lines = vec![(tip, tip + d * (clear + 2.0 * half.x + 1.0))];
        placed.arrows = vec![(tip, -d)];
        consider(placed);
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

pub(crate) fn radius(centre: Vector, radius: f64, toward: Vector, words: &Words, consider: &mut impl FnMut(Placed)) {
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

pub(crate) fn remark(at: Vector, toward: Vector, words: &Words, consider: &mut impl FnMut(Placed)) {
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

pub(crate) fn angle([vertex, a, b]: [Vector; 3], beyond: bool, words: &Words, consider: &mut impl FnMut(Placed)) {
    let (reach_a, reach_b) = ((a - vertex).norm(), (b - vertex).norm());
    let (u, v) = ((a - vertex) / reach_a, (b - vertex) / reach_b);
    let sweep = cross(u, v).atan2(u.dot(&v));
    let sense = sweep.signum();
    let half = half_size(words);
    let level = |centre| TextBox { centre, half, along: Vector::new(1.0, 0.0) };
    let far = reach_a.max(reach_b);
    let inner = [8.0, 11.0, 14.0, 18.0, 22.0, 27.0, 33.0, 40.0, 48.0, 57.0, 67.0, 78.0, 90.0, 105.0, 120.0, 140.0];
    let outer = [5.0, 8.0, 11.0, 15.0, 20.0, 26.0, 33.0, 40.0].map(|more| far + more);
    let near = reach_a.min(reach_b);
    let before = [5.0, 8.0, 11.0, 15.0, 20.0, 26.0].map(|less| near - less);
    let radii = if beyond { [&outer[..], &before[..]].concat() } else { inner.to_vec() };
    for r in radii.into_iter().filter(|r| *r > 0.0) {
        // Toward the vertex, which is far away, or away from it.
        let outward = if beyond && r < near { -1.0 } else { 1.0 };
        let at = |part: f64| vertex + turned(u, sweep * part) * r;
        let mut lines = Vec::new();
        let mut lengthened = 0.0;
        for (d, reach) in [(u, reach_a), (v, reach_b)] {
            if outward * (r - reach) + OVER_MM > 0.0 {
                let from = if outward > 0.0 { (reach + GAP_MM).min(r) } else { (reach - GAP_MM).max(r) };
                lines.push((vertex + d * from, vertex + d * (r + outward * OVER_MM)));
                lengthened += (r - reach) * outward;
            }
        }
        if lengthened > 2.0 * LENGTHENED_MOST_MM {
            continue;
        }
        let inward_cost = if outward < 0.0 { 0.5 } else { 0.0 };
        let cost = 0.02 * if beyond { (r - far).abs() } else { r } + 0.07 * lengthened + inward_cost;
        let arc_length = r * sweep.abs();
        let inside = arc_length > 3.2 * ARROW_MM;
        let tail_rad = (ARROW_MM + 2.5) / r;
        // The arrow heads lie on the chord of the arc they end.
        let lean = 0.5 * ARROW_MM / r * sense;
        let (at_a, at_b) = (quarter(u) * sense, quarter(v) * sense);
        let beyond_ends = |d: Vector, by: f64| vertex + turned(d, by * sense) * r;
        let mut put = |mut placed: Placed, extra: f64| {
            placed.cost_ratio += cost + extra;
            placed.lines = [&lines[..], &placed.lines].concat();
            placed.extensions = lines.len();
            if inside {
                placed.arrows = vec![(at(0.0), -turned(at_a, lean)), (at(1.0), turned(at_b, -lean))];
                // In two halves: an arc is written the short way.
                placed.arcs = vec![(vertex, at(0.0), at(0.5)), (vertex, at(0.5), at(1.0))];
            } else {
                placed.arrows = vec![(at(0.0), turned(at_a, -lean)), (at(1.0), -turned(at_b, lean))];
                placed.arcs = vec![
                    (vertex, beyond_ends(u, -tail_rad), at(0.0)),
                    (vertex, at(0.0), at(1.0)),
                    (vertex, at(1.0), beyond_ends(v, tail_rad)),
                ];
            }
            consider(placed);
        };
        let text = |centre: Vector| Placed::new(level(centre), words, 0.0);
        if inside {
            for (part, aside) in [(0.5, 0.0), (0.35, 0.15), (0.65, 0.15), (0.22, 0.3), (0.78, 0.3)] {
                let out = turned(u, part * sweep);
                let away = level(vertex).support(out) + 1.0;
                put(text(vertex + out * (r + away)), aside);
                if r > away + 2.0 {
                    put(text(vertex + out * (r - away)), 0.4 + aside);
                }
            }
        }
        // Beyond either end, on the lengthened arc.
        for (d, tangent, by) in [(u, -at_a, -tail_rad), (v, at_b, tail_rad)] {
            let by = if inside { by.signum() * 1.0 / r } else { by };
            let end = vertex + turned(d, by * sense) * r;
            let tangent = turned(tangent, by * sense);
            put(text(end + tangent * (level(vertex).support(tangent) + 1.0)), 0.9);
        }
        // On a leader, where there is no room beside the arc; sooner far from the vertex, where arcs are short.
        let leader_cost = if beyond { 1.6 } else { 4.5 };
        for (d, turn) in fan(turned(u, 0.5 * sweep) * outward) {
            for run in LEADERS_MM {
                if d.x.abs() >= 0.1 {
                    put(leader(at(0.5), d, run, words, turn + 0.06 * run), leader_cost);
                }
            }
        }
    }
    debug_assert!(sweep.abs() <= 2.0 * FRAC_PI_2 + 1e-9);
}
