//! From a build and a wish to the text of a drawing.

use parts::Build;
use plane::Vector;

use crate::dimension::Dimension;
use crate::options::{DrawingError, Options, Scale, Subject};
use crate::picture::{contact_dimensions, define_cut, draw, draw_round, mark_detail, round_ratio, write_dimensions};
use crate::room::Room;
use crate::scene::{Cut, Scene, bench, lever};
use crate::sheet::{Plan, scale_bar};
use crate::style::STYLE;
use crate::svg::{Svg, escaped};
use crate::view::{Rect, View, outline_points, scale_text, standard_scale};

/// Least distance of a part from the edge of the picture, in mm: at a scale that is asked for, and at one that is
/// chosen here, where dimensions want room. Chosen.
const CLEAR_MM: f64 = 3.0;
const FIT_CLEAR_MM: f64 = 5.0;
/// How many of a smaller scale's dimensions a larger scale must show to be kept. A ratio, chosen.
const KEEP_RATIO: f64 = 0.8;
/// How many scales are tried for the room they leave to dimensions, and what part of a scale leads to the next smaller
/// one. Chosen: down to about half the largest.
const SCALES_TRIED: usize = 4;
const BELOW_RATIO: f64 = 0.999;
/// Smallest room in which a detail is drawn, and room for dimensions round the picture beside it. In mm; chosen.
const DETAIL_LEAST_MM: f64 = 52.0;
const DETAIL_CLEAR_MM: f64 = 18.0;

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
    // What was done to the parts at the bench comes before the notes.
    let own = [bench::note(&build.movement, options.subject), lever::note(build, options.subject)];
    let notes: Vec<String> = own.into_iter().flatten().chain(options.notes.clone()).collect();
    let options = &Options { notes, ..options.clone() };
    let mut svg = Svg::default();
    open_document(&mut svg, options);
    match options.subject {
        Subject::Plate(_) => panels(build, options, &mut svg)?,
        _ => whole(build, options, &mut svg)?,
    }
    svg.close();
    svg.finish()
}

/// A drawing as it grows: definitions apart, and how many dimensions found room.
#[derive(Default)]
struct Drawn {
    defs: Svg,
    body: Svg,
    placed: usize,
}

/// One scene, at the scale asked for or the best.
fn whole(build: &Build, options: &Options, svg: &mut Svg) -> Result<(), DrawingError> {
    let scene = Scene::of(build, options);
    let bounds = finite_bounds(&scene)?;
    let rows: Vec<_> = scene.rows.iter().chain(scene.detail.iter().flat_map(|d| &d.rows)).cloned().collect();
    // The scale's text is as long at any scale, so the sheet can be shared out before the scale is known.
    let plan = Plan::new(options, &rows, "")?;
    let wanted = scene.dimensions.len() + scene.detail.as_ref().map_or(0, |d| d.dimensions.len());
    let mut best: Option<(f64, Drawn)> = None;
    for ratio in scales(options, &bounds, &plan.picture)? {
        let drawn = compose(&scene, &bounds, &plan, options, ratio);
        // A smaller scale has to show clearly more.
        let enough = drawn.placed == wanted;
        if best.as_ref().is_none_or(|(_, b)| KEEP_RATIO * drawn.placed as f64 > b.placed as f64) {
            best = Some((ratio, drawn));
        }
        if enough {
            break;
        }
    }
    let (ratio, drawn) = best.expect("there is always a scale to try");
    Plan::new(options, &rows, &scale_text(ratio))?.write(svg, options);
    svg.append(drawn.defs);
    svg.append(drawn.body);
    Ok(())
}

/// Draws a scene and its detail, if it has one, at a scale.
fn compose(scene: &Scene, bounds: &Rect, plan: &Plan, options: &Options, ratio: f64) -> Drawn {
    let mut drawn = Drawn::default();
    let dimensions = if options.dimensions { &scene.dimensions[..] } else { &[] };
    // What would stand on the detail, where there is none: it does not speak for this scale.
    let mut crowded: &[Dimension] = &[];
    let mut picture = plan.picture;
    let mut ring = None;
    if let (Some(detail), true) = (&scene.detail, options.dimensions) {
        let own = plan.spare.filter(|spare| spare.size().min() >= DETAIL_LEAST_MM).map(|spare| (picture, spare));
        let beside = own.or_else(|| shared(&picture, bounds.size() * 1e3 * ratio));
        let enlarged = beside.and_then(|(rest, space)| Some((rest, space, round_ratio(detail, &space)?)));
        match enlarged.filter(|(.., larger)| *larger > ratio) {
            Some((rest, space, larger)) => {
                let (defs, body) = (&mut drawn.defs, &mut drawn.body);
                drawn.placed += draw_round(defs, body, detail, ("detail", "Z"), &space, larger, &detail.dimensions);
                (picture, ring) = (rest, detail.cut);
            }
            None => crowded = &detail.dimensions[..],
        }
    }
    let view = View { ratio, centre_m: bounds.middle(), at_mm: picture.middle() };
    if let Some(cut) = scene.cut {
        define_cut(&mut drawn.defs, "cut", &cut, &view);
    }
    let mut room = Room::within(picture);
    draw(&mut drawn.body, scene, &view, "main", "cut", &mut room);
    if let Some(Cut::Circle { centre, radius_m }) = ring {
        mark_detail(&mut drawn.body, &view, centre, radius_m, &mut room);
    }
    scale_bar(&mut drawn.body, &picture, ratio, &mut room);
    let marks = contact_dimensions(scene);
    write_dimensions(&mut drawn.body, &marks, &view, &mut room);
    drawn.placed += write_dimensions(&mut drawn.body, dimensions, &view, &mut room);
    write_dimensions(&mut drawn.body, crowded, &view, &mut room);
    drawn
}

/// The picture's place and, beside or above it, room for a detail; `None` where the picture needs all.
fn shared(picture: &Rect, size_mm: Vector) -> Option<(Rect, Rect)> {
    let left = picture.size() - size_mm - 2.0 * Vector::new(DETAIL_CLEAR_MM, DETAIL_CLEAR_MM);
    let (low, high) = (picture.low, picture.high);
    if left.x >= DETAIL_LEAST_MM {
        let x = high.x - left.x.min(0.5 * picture.size().x);
        return Some((Rect::new(low.x, low.y, x, high.y), Rect::new(x, low.y, high.x, high.y)));
    }
    let y = low.y + left.y.min(0.5 * picture.size().y);
    (left.y >= DETAIL_LEAST_MM).then(|| (Rect::new(low.x, y, high.x, high.y), Rect::new(low.x, low.y, high.x, y)))
}

/// The panels side by side, or one over the other where the picture is higher than wide.
fn panels(build: &Build, options: &Options, svg: &mut Svg) -> Result<(), DrawingError> {
    let scenes: Vec<Scene> = options.panels.iter().map(|p| p.scene(build)).collect();
    for scene in &scenes {
        finite_bounds(scene)?;
    }
    let rows: Vec<_> = scenes.iter().flat_map(|s| &s.rows).cloned().collect();
    let plan = Plan::new(options, &rows, "as marked")?;
    let size = plan.picture.size();
    let count = scenes.len() as f64;
    let step = if size.x >= size.y { Vector::new(size.x / count, 0.0) } else { Vector::new(0.0, size.y / count) };
    let cell = Vector::new(if step.x > 0.0 { step.x } else { size.x }, if step.y > 0.0 { step.y } else { size.y });
    let mut drawn = Drawn::default();
    for (i, (scene, panel)) in scenes.iter().zip(&options.panels).enumerate() {
        let low = plan.picture.low + step * i as f64;
        let space = Rect { low, high: low + cell };
        let fits = round_ratio(scene, &space).unwrap_or(f64::NAN);
        let ratio = match options.scale {
            Scale::Fit => fits,
            Scale::Ratio(ratio) if 2e3 * panel.radius_m * ratio <= space.size().min() => ratio,
            Scale::Ratio(ratio) => {
                return Err(too_large(2e3 * Vector::new(panel.radius_m, panel.radius_m), ratio, &space, fits));
            }
        };
        let id = format!("panel-{}", i + 1);
        let letter = char::from(b'a' + (i % 26) as u8);
        let caption = format!("{letter}\u{a0}\u{a0}{}", panel.title);
        let dimensions = if options.dimensions { &scene.dimensions[..] } else { &[] };
        let (defs, body) = (&mut drawn.defs, &mut drawn.body);
        drawn.placed += draw_round(defs, body, scene, (&id, &caption), &space, ratio, dimensions);
    }
    plan.write(svg, options);
    svg.append(drawn.defs);
    svg.append(drawn.body);
    Ok(())
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
    for (i, panel) in options.panels.iter().enumerate() {
        numbers.push((format!("panels[{i}].radius_m"), panel.radius_m));
        numbers.push((format!("panels[{i}].centre_m.x"), panel.centre_m.x));
        numbers.push((format!("panels[{i}].centre_m.y"), panel.centre_m.y));
    }
    if let (Subject::Plate(plate), true) = (options.subject, options.panels.is_empty()) {
        return Err(DrawingError::NoPanels { plate: plate.name() });
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

/// Scales to try, the largest first.
fn scales(options: &Options, bounds: &Rect, picture: &Rect) -> Result<Vec<f64>, DrawingError> {
    let size_mm = bounds.size() * 1e3;
    let most = |clear_mm: f64| {
        let room = picture.grown(-clear_mm).size();
        (room.x / size_mm.x).min(room.y / size_mm.y)
    };
    match options.scale {
        Scale::Fit => {
            let mut tried = vec![standard_scale(most(FIT_CLEAR_MM))];
            while let (Some(last), true) = (tried.last().copied(), options.dimensions && tried.len() < SCALES_TRIED) {
                tried.push(standard_scale(BELOW_RATIO * last));
            }
            Ok(tried)
        }
        Scale::Ratio(ratio) if ratio <= most(CLEAR_MM) => Ok(vec![ratio]),
        Scale::Ratio(ratio) => {
            Err(too_large(size_mm, ratio, &picture.grown(-CLEAR_MM), standard_scale(most(CLEAR_MM))))
        }
    }
}

fn too_large(true_mm: Vector, scale_ratio: f64, room: &Rect, largest_ratio: f64) -> DrawingError {
    let (size, room) = (true_mm * scale_ratio, room.size());
    DrawingError::TooLarge {
        scale_ratio,
        width_mm: size.x,
        height_mm: size.y,
        room_width_mm: room.x,
        room_height_mm: room.y,
        largest_ratio,
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
    let of = match options.subject {
        Subject::Plate(_) if !options.title.moment.is_empty() => format!(", {}", options.title.moment),
        _ => String::new(),
    };
    svg.element("title", "", &escaped(&format!("{name}{}{of}", options.subject.title())));
    svg.element("style", "", &format!("\n{STYLE}"));
    svg.rect("paper", Vector::zeros(), Vector::new(width, height));
}
