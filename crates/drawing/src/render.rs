//! From a build and a wish to the text of a drawing.

use parts::Build;
use plane::{Vector, quarter};

use crate::dimension::{Dimension, Measure, Placed, place};
use crate::options::{DrawingError, Options, Scale};
use crate::room::{Ink, Room, TextBox};
use crate::scene::{Cut, Scene, Shape};
use crate::sheet::{Plan, scale_bar};
use crate::style::STYLE;
use crate::svg::{Svg, escaped};
use crate::text::{Anchor, Size, Words, write};
use crate::view::{Rect, View, outline_points, scale_text, standard_scale};

/// Room left for dimensions on each side when the scale is chosen, in mm; chosen for two rows of them.
const DIMENSION_ROOM_MM: f64 = 20.0;
/// Least distance of a part from the edge of the picture, in mm; chosen.
const CLEAR_MM: f64 = 3.0;
/// How far a centre line reaches over what it belongs to, in mm; common practice.
const OVER_MM: f64 = 3.0;
/// Radius of a contact's circle and length of its normal to either side, in mm; chosen.
const CONTACT_MM: f64 = 0.8;
const NORMAL_MM: f64 = 9.0;
/// Smallest spare room in which a detail is drawn, in mm; chosen.
const DETAIL_LEAST_MM: f64 = 52.0;

/// Draws `options.subject` of `build`: a complete SVG document, its unit the millimetre on the sheet.
///
/// Outlines carry `data-part`, and the group that holds them `data-scale`, `data-origin-x-mm` and `data-origin-y-mm`
/// (where the origin of the part's frame lies on the sheet). Colours and weights are classes, stated once.
/// A dimension that finds no free place is in the table only.
///
/// # Errors
/// A scale at which the subject does not fit, texts that do not fit, a contact without a normal, and any number that is not finite.
///
/// # Properties
/// Outlines are lines and circular arcs, as many as the profiles have, to 1e-6 mm on the sheet.
///
/// # Examples
/// ```
/// use drawing::{Options, Scale, Subject, render};
/// use movement::{ParamKind, Values};
/// let mut stated = Values::default();
/// stated.set(ParamKind::WheelToothCount.once(), 15.0);
/// stated.set(ParamKind::WheelLockingRadius.once(), 2.5e-3);
/// let build = parts::build(&stated).expect("sound");
/// let svg = render(&build, &Options { scale: Scale::Ratio(20.0), ..Options::new(Subject::Wheel) })?;
/// assert!(svg.starts_with("<svg ") && svg.contains("data-scale=\"20\""));
/// # Ok::<(), drawing::DrawingError>(())
/// ```
pub fn render(build: &Build, options: &Options) -> Result<String, DrawingError> {
    check(options)?;
    let scene = Scene::of(build, options);
    let bounds = finite_bounds(&scene)?;
    // The scale's text is as long at any scale, so the sheet can be shared out before the scale is known.
    let plan = Plan::new(options, &scene.rows, "")?;
    let mut rows = scene.rows.clone();
    let detail_rows = scene.detail.iter().flat_map(|d| d.rows.iter().cloned());
    rows.extend(detail_rows);
    let plan = if scene.detail.is_some() { Plan::new(options, &rows, "")? } else { plan };
    let ratio = scale(options, &bounds, &plan.picture)?;
    let plan = Plan::new(options, &rows, &scale_text(ratio))?;
    let enlarged = |spare: &Rect| scene.detail.as_ref().is_some_and(|d| detail_ratio(d, spare) > ratio);
    let roomy = plan.spare.filter(|spare| spare.size().min() >= DETAIL_LEAST_MM);
    let spare = roomy.filter(|spare| options.dimensions && enlarged(spare));

    let view = View { ratio, centre_m: bounds.middle(), at_mm: plan.picture.middle() };
    let mut svg = Svg::default();
    open_document(&mut svg, options);
    let mut room = Room::within(plan.picture);
    if let Some(cut) = scene.cut {
        define_cut(&mut svg, "cut", &cut, &view);
    }
    let mut body = Svg::default();
    scale_bar(&mut body, &plan.picture, ratio, &mut room);
    let mut dimensions = scene.dimensions.clone();
    if let (Some(detail), Some(spare)) = (&scene.detail, spare) {
        draw_detail(&mut svg, &mut body, detail, &spare, &mut dimensions, options);
    } else if let Some(detail) = &scene.detail {
        dimensions.extend(detail.dimensions.iter().cloned());
    }
    draw(&mut body, &scene, &view, "main", "cut", &mut room);
    if let (Some(Cut::Circle { centre, radius_m }), Some(_)) = (scene.detail.as_ref().and_then(|d| d.cut), spare) {
        mark_detail(&mut body, &view, centre, radius_m, &mut room);
    }
    let wanted = if options.dimensions { dimensions } else { Vec::new() };
    let marks = contact_dimensions(&scene);
    write_dimensions(&mut body, &marks, &view, &mut room);
    write_dimensions(&mut body, &wanted, &view, &mut room);
    plan.write(&mut svg, options);
    svg.append(body);
    svg.close();
    svg.finish()
}

/// Faults of the wish that need no drawing to be seen.
fn check(options: &Options) -> Result<(), DrawingError> {
    let moment = &options.moment;
    let mut numbers = vec![
        ("moment.wheel_rad".to_owned(), moment.wheel_rad),
        ("moment.lever_rad".to_owned(), moment.lever_rad),
        ("moment.jewel_rad".to_owned(), moment.jewel_rad),
    ];
    for (i, contact) in options.contacts.iter().enumerate() {
        for (name, v) in [("point_m", contact.point_m), ("normal", contact.normal)] {
            numbers.push((format!("contacts[{i}].{name}.x"), v.x));
            numbers.push((format!("contacts[{i}].{name}.y"), v.y));
        }
    }
    if let Scale::Ratio(ratio) = options.scale {
        numbers.push(("scale".to_owned(), ratio));
        if ratio <= 0.0 {
            return Err(DrawingError::NotAScale { scale_ratio: ratio });
        }
    }
    if let Some((what, value)) = numbers.into_iter().find(|(_, v)| !v.is_finite()) {
        return Err(DrawingError::NotFinite { what, value });
    }
    match options.contacts.iter().find(|c| c.normal.norm() == 0.0) {
        Some(contact) => Err(DrawingError::NoNormal { label: contact.label.clone() }),
        None => Ok(()),
    }
}

fn finite_bounds(scene: &Scene) -> Result<Rect, DrawingError> {
    for shape in &scene.shapes {
        for p in shape.outlines.iter().flat_map(outline_points) {
            if let Some(value) = [p.x, p.y].into_iter().find(|v| !v.is_finite()) {
                return Err(DrawingError::NotFinite { what: format!("a coordinate of {} in m", shape.part), value });
            }
        }
    }
    let empty = DrawingError::NotFinite { what: "the width of the subject in m".to_owned(), value: f64::NAN };
    scene.bounds().ok_or(empty)
}

fn scale(options: &Options, bounds: &Rect, picture: &Rect) -> Result<f64, DrawingError> {
    let size_mm = bounds.size() * 1e3;
    let most = |clear_mm: f64| {
        let room = picture.grown(-clear_mm).size();
        (room.x / size_mm.x).min(room.y / size_mm.y)
    };
    match options.scale {
        Scale::Fit => Ok(standard_scale(most(if options.dimensions { DIMENSION_ROOM_MM } else { 2.0 * CLEAR_MM }))),
        Scale::Ratio(ratio) if ratio <= most(CLEAR_MM) => Ok(ratio),
        Scale::Ratio(ratio) => {
            let room = picture.grown(-CLEAR_MM).size();
            Err(DrawingError::TooLarge {
                scale_ratio: ratio,
                width_mm: size_mm.x * ratio,
                height_mm: size_mm.y * ratio,
                room_width_mm: room.x,
                room_height_mm: room.y,
                largest_ratio: standard_scale(most(CLEAR_MM)),
            })
        }
    }
}

fn open_document(svg: &mut Svg, options: &Options) {
    let (width, height) = options.sheet.size_mm();
    svg.open(
        "svg",
        &format!(
            "xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\" data-subject=\"{}\" role=\"img\"",
            options.subject.name()
        ),
    );
    let name = if options.title.name.is_empty() { String::new() } else { format!("{}: ", options.title.name) };
    svg.element("title", "", &escaped(&format!("{name}{}", options.subject.title())));
    svg.element("style", "", &format!("\n{STYLE}"));
    svg.open("defs", "");
    for (id, spacing) in [("ruby", 1.1), ("brass", 0.9)] {
        // Slanting lines as one upright line in a turned tile.
        svg.open(
            "pattern",
            &format!("id=\"hatch-{id}\" patternUnits=\"userSpaceOnUse\" width=\"{spacing}\" height=\"{spacing}\" patternTransform=\"rotate(45)\""),
        );
        svg.empty("rect", &format!("class=\"hatch-{id}-ground\" width=\"{spacing}\" height=\"{spacing}\""));
        let middle = 0.5 * spacing;
        svg.empty(
            "line",
            &format!("class=\"hatch-{id}-line\" x1=\"{middle}\" y1=\"0\" x2=\"{middle}\" y2=\"{spacing}\""),
        );
        svg.close();
    }
    svg.close();
    svg.rect("paper", Vector::zeros(), Vector::new(width, height));
}

/// What a picture leaves out of a shape that is cut.
fn define_cut(svg: &mut Svg, id: &str, cut: &Cut, view: &View) {
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
fn draw(svg: &mut Svg, scene: &Scene, view: &View, name: &str, cut_id: &str, room: &mut Room) {
    let origin = view.point(Vector::zeros());
    let (x, y) = (svg.exact_mm(origin.x), svg.exact_mm(origin.y));
    svg.open(
        "g",
        &format!(
            "class=\"view\" data-view=\"{name}\" data-scale=\"{}\" data-origin-x-mm=\"{x}\" data-origin-y-mm=\"{y}\"",
            view.ratio
        ),
    );
    for shape in &scene.shapes {
        draw_shape(svg, scene, shape, view, cut_id, room);
    }
    if let Some(Cut::Across { at, along, half_width_m }) = scene.cut {
        break_line(svg, view, at, along, half_width_m, room);
    }
    svg.open("g", "class=\"centre-lines\"");
    let shown = |p: Vector| match scene.cut {
        Some(Cut::Circle { centre, radius_m }) => (p - centre).norm() <= radius_m,
        _ => true,
    };
    for (a, b) in &scene.centre_lines {
        let (a, b) = (view.point(*a), view.point(*b));
        let over = (b - a).normalize() * OVER_MM;
        svg.segment("centre", a, b + over);
        room.add_line(a, b + over, Ink::Centre);
    }
    for (centre, radius_m) in &scene.centre_circles {
        let clip = if matches!(scene.cut, Some(Cut::Circle { .. })) {
            format!(" clip-path=\"url(#{cut_id})\"")
        } else {
            String::new()
        };
        let (c, r) = (view.point(*centre), view.length_mm(*radius_m));
        let [cx, cy, r] = [c.x, c.y, r].map(|v| svg.mm(v));
        svg.empty("circle", &format!("class=\"centre\" cx=\"{cx}\" cy=\"{cy}\" r=\"{r}\"{clip}"));
        let points: Vec<_> = outline_points(&crate::frame::disc(*radius_m)).into_iter().map(|p| p + centre).collect();
        for pair in points.windows(2).filter(|pair| shown(pair[0]) && shown(pair[1])) {
            room.add_line(view.point(pair[0]), view.point(pair[1]), Ink::Centre);
        }
    }
    for (axis, radius_m) in &scene.axes {
        let at = view.point(*axis);
        let reach = view.length_mm(*radius_m) + OVER_MM;
        for d in [Vector::new(reach, 0.0), Vector::new(0.0, reach)] {
            svg.segment("centre", at - d, at + d);
            room.add_line(at - d, at + d, Ink::Centre);
        }
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

fn draw_shape(svg: &mut Svg, scene: &Scene, shape: &Shape, view: &View, cut_id: &str, room: &mut Room) {
    let data = svg.path_data(&shape.outlines, view);
    let clip = if shape.cut { format!(" clip-path=\"url(#{cut_id})\"") } else { String::new() };
    svg.empty("path", &format!("class=\"{}\" data-part=\"{}\"{clip} d=\"{data}\"", shape.finish.class(), shape.part));
    let shown = |p: &Vector| !shape.cut || scene.cut.is_none_or(|cut| cut.shows(*p));
    for outline in &shape.outlines {
        let points = outline_points(outline);
        for pair in points.windows(2).filter(|pair| shown(&pair[0]) || shown(&pair[1])) {
            room.add_line(view.point(pair[0]), view.point(pair[1]), Ink::Outline);
        }
        let polygon = points.iter().map(|p| view.point(*p)).collect();
        if shape.finish.is_hatched() {
            room.add_hatched(polygon);
        } else if shape.finish.is_filled() && !shape.cut {
            room.add_filled(polygon);
        }
    }
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
fn contact_dimensions(scene: &Scene) -> Vec<Dimension> {
    let labelled = scene.contacts.iter().filter(|c| !c.label.trim().is_empty());
    labelled
        .map(|c| Dimension {
            measure: Measure::Remark { at: c.point_m, toward: quarter(c.normal) },
            words: Words::plain(c.label.as_str()),
        })
        .collect()
}

fn write_dimensions(svg: &mut Svg, dimensions: &[Dimension], view: &View, room: &mut Room) {
    svg.open("g", "class=\"dimensions\"");
    for dimension in dimensions {
        let placed: Option<Placed> = place(dimension, view, room);
        if let Some(placed) = placed {
            placed.settle(room);
            placed.write(svg);
        }
    }
    svg.close();
}

/// Scale of a detail: its circle takes about three quarters of the lesser side, the rest is for dimensions.
fn detail_ratio(detail: &Scene, spare: &Rect) -> f64 {
    match detail.cut {
        Some(Cut::Circle { radius_m, .. }) => standard_scale(0.36 * spare.size().min() / (radius_m * 1e3)),
        _ => 0.0,
    }
}

/// The enlarged picture in the spare room of the column.
fn draw_detail(
    defs: &mut Svg,
    svg: &mut Svg,
    detail: &Scene,
    spare: &Rect,
    main: &mut Vec<Dimension>,
    options: &Options,
) {
    let Some(Cut::Circle { centre, radius_m }) = detail.cut else {
        main.extend(detail.dimensions.iter().cloned());
        return;
    };
    let inner = spare.grown(-1.5);
    let ratio = detail_ratio(detail, spare);
    let view = View { ratio, centre_m: centre, at_mm: inner.middle() + Vector::new(0.0, 2.0) };
    let (at, radius_mm) = (view.point(centre), view.length_mm(radius_m));
    define_cut(defs, "detail", &Cut::Circle { centre, radius_m }, &view);
    let mut room = Room::within(inner);
    draw(svg, detail, &view, "detail", "detail", &mut room);
    svg.circle("thin", at, radius_mm);
    add_ring(&mut room, &view, centre, radius_m, Ink::Centre);
    let words = Words::plain(format!("Z  {}", scale_text(ratio)));
    let baseline = Vector::new(inner.low.x + 2.0, inner.low.y + 5.0);
    write(svg, &words, Size::Plain, Anchor::Start, baseline);
    let half = Vector::new(0.5 * words.width_mm(Size::Plain) + 1.0, 2.2);
    room.add_text(TextBox { centre: baseline + Vector::new(half.x - 1.0, -1.2), half, along: Vector::new(1.0, 0.0) });
    if options.dimensions {
        write_dimensions(svg, &detail.dimensions, &view, &mut room);
    }
}

/// The ring on the main picture that says what the detail shows.
fn mark_detail(svg: &mut Svg, view: &View, centre: Vector, radius_m: f64, room: &mut Room) {
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
    let points: Vec<_> = outline_points(&crate::frame::disc(radius_m)).iter().map(|p| view.point(p + centre)).collect();
    room.add_chain(&points, kind);
}
