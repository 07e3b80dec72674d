//! Puts a scene on the sheet: shapes, hatching, chain lines, contacts, and the dimensions that find room.

use plane::{Edge, Profile, Vector, direction_rad, quarter};
use std::f64::consts::FRAC_PI_4;

use crate::chain;
use crate::dimension::{Dimension, Measure, place};
use crate::frame::disc;
use crate::room::{Ink, Room, TextBox};
use crate::scene::{Cut, Hatch, Scene, Shape};
use crate::svg::{Svg, escaped};
use crate::text::{Anchor, Size, Words, write};
use crate::view::{Rect, View, outline_points, scale_text, standard_scale};

/// How far a centre line reaches over what it belongs to, in mm; common practice.
const OVER_MM: f64 = 3.0;
/// Radius of a contact's circle and length of its normal to either side, in mm; chosen.
const CONTACT_MM: f64 = 0.8;
const NORMAL_MM: f64 = 9.0;
/// Radius of an enlarged picture over the lesser side of its room: the rest is for dimensions. Chosen.
const RING_RATIO: f64 = 0.43;

/// What a picture leaves out of a shape that is cut.
pub(crate) fn define_cut(svg: &mut Svg, id: &str, cut: &Cut, view: &View) {
    svg.open("clipPath", &format!("id=\"{id}\""));
    match *cut {
        Cut::Across { at, along, .. } => {
            // Larger than any sheet.
            let (at, u) = (view.point(at), view.direction(along).normalize() * 2000.0);
            let side = quarter(u);
            svg.polygon("cut", &[at - side, at - side + u, at + side + u, at + side]);
        }
        Cut::Circle { centre, radius_m } => svg.circle("cut", view.point(centre), view.length_mm(radius_m)),
    }
    svg.close();
}

/// Shapes, lines and contacts of a scene; all of it takes its room.
pub(crate) fn draw(svg: &mut Svg, scene: &Scene, view: &View, name: &str, cut_id: &str, room: &mut Room) {
    let origin = view.point(Vector::zeros());
    let (x, y) = (svg.exact_mm(origin.x), svg.exact_mm(origin.y));
    svg.open(
        "g",
        &format!(
            "class=\"view\" data-view=\"{name}\" data-scale=\"{}\" data-origin-x-mm=\"{x}\" data-origin-y-mm=\"{y}\"",
            view.ratio
        ),
    );
    for (number, shape) in scene.shapes.iter().enumerate() {
        draw_shape(svg, scene, shape, number, view, cut_id, room);
    }
    if let Some(Cut::Across { at, along, half_width_m }) = scene.cut {
        break_line(svg, view, at, along, half_width_m, room);
    }
    svg.open("g", "class=\"centre-lines\"");
    let shown = |p: Vector| match scene.cut {
        Some(Cut::Circle { centre, radius_m }) => (p - centre).norm() <= radius_m,
        _ => true,
    };
    let over = |a: Vector, b: Vector| b + (b - a).normalize() * OVER_MM;
    let mut chains: Vec<_> = Vec::new();
    for (a, b) in &scene.centre_lines {
        let (a, b) = (view.point(*a), view.point(*b));
        chains.push((a, over(a, b)));
    }
    let mut centres = Vec::new();
    for (axis, radius_m) in &scene.axes {
        let at = view.point(*axis);
        centres.push(at);
        let reach = view.length_mm(*radius_m) + OVER_MM;
        chains.extend([Vector::new(reach, 0.0), Vector::new(0.0, reach)].map(|d| (at - d, at + d)));
    }
    for (a, b) in chain::joined(&chains) {
        chain::write_line(svg, (a, b), &centres);
        room.add_line(a, b, Ink::Centre);
    }
    for (centre, radius_m) in &scene.centre_circles {
        let clip = if matches!(scene.cut, Some(Cut::Circle { .. })) {
            format!(" clip-path=\"url(#{cut_id})\"")
        } else {
            String::new()
        };
        chain::write_circle(svg, view.point(*centre), view.length_mm(*radius_m), &clip);
        let points: Vec<_> = outline_points(&disc(*radius_m)).into_iter().map(|p| p + centre).collect();
        for pair in points.windows(2).filter(|pair| shown(pair[0]) && shown(pair[1])) {
            room.add_line(view.point(pair[0]), view.point(pair[1]), Ink::Centre);
        }
    }
    for (centre, a, b) in &scene.thin_arcs {
        let [c, a, b] = [centre, a, b].map(|p| view.point(*p));
        svg.short_arc("thin", c, a, b);
        room.add_line(a, c + (b - c).normalize() * (a - c).norm(), Ink::Centre);
    }
    for (a, b) in &scene.thin_lines {
        svg.segment("thin", view.point(*a), view.point(*b));
        room.add_line(view.point(*a), view.point(*b), Ink::Centre);
    }
    svg.close();
    for contact in &scene.contacts {
        let at = view.point(contact.point_m);
        let normal = view.direction(contact.normal).normalize();
        svg.open("g", &format!("class=\"contact-mark\" data-label=\"{}\"", escaped(&contact.label)));
        for side in [normal, -normal] {
            svg.segment("thin", at + side * CONTACT_MM, at + side * NORMAL_MM);
            room.add_line(at, at + side * NORMAL_MM, Ink::Dimension);
        }
        svg.circle("contact", at, CONTACT_MM);
        svg.close();
    }
    svg.close();
}

fn draw_shape(svg: &mut Svg, scene: &Scene, shape: &Shape, number: usize, view: &View, cut_id: &str, room: &mut Room) {
    let data = svg.path_data(&shape.outlines, view);
    let clip = if shape.cut { format!(" clip-path=\"url(#{cut_id})\"") } else { String::new() };
    let fill = match shape.finish.hatch() {
        Some(hatch) => {
            let id = format!("hatch-{cut_id}-{number}");
            define_hatch(svg, &id, hatch, hatch_rad(&shape.outlines));
            format!(" style=\"fill:url(#{id})\"")
        }
        None => String::new(),
    };
    let (class, part) = (shape.finish.class(), shape.part);
    svg.empty("path", &format!("class=\"{class}\" data-part=\"{part}\"{fill}{clip} d=\"{data}\""));
    let shown = |p: &Vector| !shape.cut || scene.cut.is_none_or(|cut| cut.shows(*p));
    for outline in &shape.outlines {
        let points = outline_points(outline);
        for pair in points.windows(2).filter(|pair| shown(&pair[0]) || shown(&pair[1])) {
            room.add_line(view.point(pair[0]), view.point(pair[1]), Ink::Outline);
        }
        let polygon = points.iter().map(|p| view.point(*p)).collect();
        if shape.finish.hatch().is_some() {
            room.add_hatched(polygon);
        } else if shape.finish.is_filled() && !shape.cut {
            room.add_filled(polygon);
        }
    }
}

/// Direction in which a part is hatched: half a right angle from its longest side, or from level where it has none.
fn hatch_rad(outlines: &[Profile]) -> f64 {
    let sides = outlines.iter().flat_map(|o| &o.edges).filter_map(|e| match e {
        Edge::Line { start, end, .. } => Some(end - start),
        Edge::Arc { .. } => None,
    });
    let longest = sides.max_by(|a, b| a.norm().total_cmp(&b.norm()));
    longest.map_or(0.0, direction_rad) + FRAC_PI_4
}

/// Slanting lines, as one upright line in a turned tile.
fn define_hatch(svg: &mut Svg, id: &str, hatch: Hatch, along_rad: f64) {
    let Hatch { name, spacing_mm: d } = hatch;
    // The tile's line is upright; on the sheet a positive turn is clockwise.
    let turn = svg.mm(90.0 - along_rad.to_degrees());
    svg.open("defs", "");
    svg.open(
        "pattern",
        &format!("id=\"{id}\" patternUnits=\"userSpaceOnUse\" width=\"{d}\" height=\"{d}\" patternTransform=\"rotate({turn})\""),
    );
    svg.empty("rect", &format!("class=\"hatch-{name}-ground\" width=\"{d}\" height=\"{d}\""));
    let middle = 0.5 * d;
    svg.empty("line", &format!("class=\"hatch-{name}-line\" x1=\"{middle}\" y1=\"0\" x2=\"{middle}\" y2=\"{d}\""));
    svg.close();
    svg.close();
}

/// A thin line with a zigzag where the bar is broken off.
fn break_line(svg: &mut Svg, view: &View, at: Vector, along: Vector, half_width_m: f64, room: &mut Room) {
    let (middle, u) = (view.point(at), view.direction(along).normalize());
    let side = quarter(u);
    let half = view.length_mm(half_width_m) + 2.5;
    let points = [
        middle - side * half,
        middle - side * 1.2,
        middle - side * 0.6 + u * 2.2,
        middle + side * 0.6 - u * 2.2,
        middle + side * 1.2,
        middle + side * half,
    ];
    for pair in points.windows(2) {
        svg.segment("thin", pair[0], pair[1]);
    }
    room.add_chain(&points, Ink::Outline);
}

/// The labels of contacts, as remarks beside them, away from the normal.
pub(crate) fn contact_dimensions(scene: &Scene) -> Vec<Dimension> {
    let labelled = scene.contacts.iter().filter(|c| !c.label.trim().is_empty());
    labelled
        .map(|c| Dimension {
            measure: Measure::Remark { at: c.point_m, toward: quarter(c.normal) },
            words: Words::plain(c.label.as_str()),
            side: None,
        })
        .collect()
}

pub(crate) fn write_dimensions(svg: &mut Svg, dimensions: &[Dimension], view: &View, room: &mut Room) -> usize {
    svg.open("g", "class=\"dimensions\"");
    let mut count = 0;
    for dimension in dimensions {
        if let Some(placed) = place(dimension, view, room) {
            placed.settle(room);
            placed.write(svg);
            count += 1;
        }
    }
    svg.close();
    count
}

/// Scale at which a round picture has room for itself and its dimensions; `None` for a picture that is not round.
pub(crate) fn round_ratio(scene: &Scene, space: &Rect) -> Option<f64> {
    match scene.cut {
        Some(Cut::Circle { radius_m, .. }) => Some(standard_scale(RING_RATIO * space.size().min() / (radius_m * 1e3))),
        _ => None,
    }
}

/// A round picture in its space, with its caption and scale in the corner and the `dimensions` that find room, whose number is returned.
pub(crate) fn draw_round(
    defs: &mut Svg,
    svg: &mut Svg,
    scene: &Scene,
    (id, caption): (&str, &str),
    space: &Rect,
    ratio: f64,
    dimensions: &[Dimension],
) -> usize {
    let Some(cut @ Cut::Circle { centre, radius_m }) = scene.cut else { return 0 };
    let inner = space.grown(-1.5);
    let view = View { ratio, centre_m: centre, at_mm: inner.middle() + Vector::new(0.0, 2.0) };
    define_cut(defs, id, &cut, &view);
    let mut room = Room::within(inner);
    let words = Words::plain(format!("{caption}\u{a0}\u{a0}{}", scale_text(ratio)));
    let baseline = Vector::new(inner.low.x + 2.0, inner.low.y + 5.0);
    write(svg, &words, Size::Plain, Anchor::Start, baseline);
    let half = Vector::new(0.5 * words.width_mm(Size::Plain) + 1.0, 2.2);
    room.add_text(TextBox { centre: baseline + Vector::new(half.x - 1.0, -1.2), half, along: Vector::new(1.0, 0.0) });
    draw(svg, scene, &view, id, id, &mut room);
    svg.circle("thin", view.point(centre), view.length_mm(radius_m));
    add_ring(&mut room, &view, centre, radius_m, Ink::Centre);
    let marks = contact_dimensions(scene);
    write_dimensions(svg, &marks, &view, &mut room);
    write_dimensions(svg, dimensions, &view, &mut room)
}

/// The ring on the main picture that says what the detail shows.
pub(crate) fn mark_detail(svg: &mut Svg, view: &View, centre: Vector, radius_m: f64, room: &mut Room) {
    let (at, radius_mm) = (view.point(centre), view.length_mm(radius_m));
    svg.circle("thin", at, radius_mm);
    add_ring(room, view, centre, radius_m, Ink::Dimension);
    let place = at + Vector::new(-0.75 * radius_mm - 2.5, -0.75 * radius_mm - 0.5);
    write(svg, &Words::plain("Z"), Size::Plain, Anchor::Middle, place);
    room.add_text(TextBox {
        centre: place - Vector::new(0.0, 1.3),
        half: Vector::new(1.6, 1.6),
        along: Vector::new(1.0, 0.0),
    });
}

/// Takes the room of a circle's line.
fn add_ring(room: &mut Room, view: &View, centre: Vector, radius_m: f64, kind: Ink) {
    let points: Vec<_> = outline_points(&disc(radius_m)).iter().map(|p| view.point(p + centre)).collect();
    room.add_chain(&points, kind);
}
