//! What stands round the outlines: texts apart, chain lines, title block, panels, well-formed XML, faults of the wish.
//! Movements are invented; what is compared with is the statement and the wish.
#![allow(clippy::unwrap_used)]

#[path = "support/movements.rs"]
mod movements;

use drawing::{
    ContactMark, Dimensioned, DrawingError, Measured, Moment, Options, Panel, Part, Plate, Scale, Sheet, State,
    Subject, Title, render,
};
use movement::Pallet;
use movements::{built, kinds, moments, number, text_of, view};
use parts::Build;
use plane::Vector;
use roxmltree::{Document, Node};

#[test]
fn every_subject_of_every_kind_is_read_by_another_program() {
    let fonts = resvg::usvg::Options::default();
    for (name, build) in kinds() {
        for subject in Subject::ALL {
            for sheet in [Sheet::A4Landscape, Sheet::A3Landscape, Sheet::A4Portrait] {
                let options = Options { sheet, moment: moments()[1], ..Options::new(subject) };
                let text = text_of(&build, &options);
                let tree = resvg::usvg::Tree::from_str(&text, &fonts).unwrap();
                assert!(tree.root().has_children(), "{name} {subject:?}");
                let document = Document::parse(&text).unwrap();
                let (width, height) = sheet.size_mm();
                assert_eq!(document.root_element().attribute("width").unwrap(), format!("{width}mm"));
                assert_eq!(document.root_element().attribute("viewBox").unwrap(), format!("0 0 {width} {height}"));
                assert!(!text.contains("NaN") && !text.contains("inf"));
            }
        }
    }
}

/// Corners of a text as it is likely to be set: narrower than the layout takes it, since it must hold for many faces.
fn text_box(node: Node) -> [Vector; 4] {
    let class = node.attribute("class").unwrap();
    let em = match class.split(' ').next().unwrap() {
        "small" => 2.5,
        "plain" => 3.5,
        _ => 6.0,
    };
    let text: String = node.descendants().filter_map(|n| if n.is_text() { n.text() } else { None }).collect();
    let width = 0.5 * em * text.chars().count() as f64;
    let from = if class.contains("middle") {
        -0.5 * width
    } else if class.contains("end") {
        -width
    } else {
        0.0
    };
    let at = Vector::new(number(node, "x"), number(node, "y"));
    let turn = node.attribute("transform").map_or(0.0, |t| {
        let angle: f64 = t.trim_start_matches("rotate(").split(' ').next().unwrap().parse().unwrap();
        angle.to_radians()
    });
    let pose = plane::Pose::new(turn, at);
    let height = 0.72 * em;
    [(from, 0.0), (from + width, 0.0), (from + width, -height), (from, -height)]
        .map(|(x, y)| pose.point(Vector::new(x, y)))
}

fn overlap(a: &[Vector; 4], b: &[Vector; 4]) -> bool {
    let apart = |p: &[Vector; 4], q: &[Vector; 4]| {
        (0..4).any(|i| {
            let n = plane::quarter(p[(i + 1) % 4] - p[i]);
            let along = |s: &[Vector; 4]| s.map(|v| v.dot(&n));
            let (s, t) = (along(p), along(q));
            let low = |v: [f64; 4]| v.into_iter().fold(f64::INFINITY, f64::min);
            let high = |v: [f64; 4]| v.into_iter().fold(f64::NEG_INFINITY, f64::max);
            high(s) <= low(t) || high(t) <= low(s)
        })
    };
    !apart(a, b) && !apart(b, a)
}

#[test]
fn no_text_is_written_over_another() {
    let mut pairs = 0;
    for (name, build) in kinds() {
        for subject in Subject::ALL {
            for sheet in [Sheet::A4Landscape, Sheet::A4Portrait] {
                let mut options = Options { sheet, moment: moments()[1], ..Options::new(subject) };
                options.title.name = "Demo movement of a rather long name".to_owned();
                options.notes = vec!["A note that is long enough to be broken into lines of its own. ".repeat(2)];
                options.contacts = vec![ContactMark {
                    point_m: build.parts.centres.pallet_m + Vector::new(-1e-3, -5e-4),
                    normal: Vector::new(1.0, 0.5),
                    label: "toe on locking face".to_owned(),
                }];
                let text = text_of(&build, &options);
                let document = Document::parse(&text).unwrap();
                let texts: Vec<_> = document.descendants().filter(|n| n.has_tag_name("text")).collect();
                let boxes: Vec<_> = texts.iter().map(|n| text_box(*n)).collect();
                for i in 0..boxes.len() {
                    for j in 0..i {
                        pairs += 1;
                        let said = |k: usize| {
                            texts[k].descendants().filter(|n| n.is_text()).filter_map(|n| n.text()).collect::<String>()
                        };
                        assert!(!overlap(&boxes[i], &boxes[j]), "{name} {subject:?}: {} over {}", said(i), said(j));
                    }
                }
            }
        }
    }
    assert!(pairs > 10_000);
}

#[test]
fn most_dimensions_find_a_place() {
    let build = built(&[]);
    for (subject, least) in [
        (Subject::Assembly, 6),
        (Subject::Wheel, 10),
        (Subject::Pallets, 10),
        (Subject::Stone(Pallet::Entry), 6),
        (Subject::Fork, 5),
        (Subject::Roller, 5),
    ] {
        let text = text_of(&build, &Options { sheet: Sheet::A3Landscape, ..Options::new(subject) });
        let drawn = text.matches("class=\"dimension\"").count();
        assert!(drawn >= least, "{subject:?}: {drawn}");
        let bare = text_of(&build, &Options { dimensions: false, ..Options::new(subject) });
        assert_eq!(bare.matches("class=\"dimension\"").count(), 0);
    }
}

#[test]
fn wrong_wishes_are_told() {
    let build = built(&[]);
    let wrong = |change: &dyn Fn(&mut Options)| {
        let mut options = Options::new(Subject::Assembly);
        change(&mut options);
        render(&build, &options).unwrap_err()
    };
    for bad in [f64::NAN, f64::INFINITY] {
        let error = wrong(&|o| o.moment.lever_rad = bad);
        assert!(matches!(&error, DrawingError::NotFinite { what, .. } if what == "moment.lever_rad"), "{error}");
        let error = wrong(&|o| o.scale = Scale::Ratio(bad));
        assert!(matches!(&error, DrawingError::NotFinite { what, .. } if what == "scale"), "{error}");
        let mark = ContactMark { point_m: Vector::new(bad, 0.0), normal: Vector::new(0.0, 1.0), label: String::new() };
        let error = wrong(&|o| o.contacts = vec![mark.clone()]);
        assert!(matches!(&error, DrawingError::NotFinite { what, .. } if what == "contacts[0].point_m.x"), "{error}");
    }
    for ratio in [0.0, -20.0] {
        assert_eq!(wrong(&|o| o.scale = Scale::Ratio(ratio)), DrawingError::NotAScale { scale_ratio: ratio });
    }
    let error = wrong(&|o| o.scale = Scale::Ratio(100.0));
    assert!(matches!(error, DrawingError::TooLarge { largest_ratio, .. } if largest_ratio <= 20.0), "{error}");
    let said = error.to_string();
    assert!(
        said.starts_with("could not draw at 100:1: the subject is ")
            && said.contains("the largest scale that fits is "),
        "{said}"
    );
    let error = wrong(&|o| o.notes = vec!["word ".repeat(3000)]);
    assert!(matches!(error, DrawingError::TextTooLong { .. }), "{error}");
    let mark = ContactMark { point_m: Vector::zeros(), normal: Vector::zeros(), label: "toe".to_owned() };
    assert_eq!(wrong(&|o| o.contacts = vec![mark.clone()]), DrawingError::NoNormal { label: "toe".to_owned() });
}

#[test]
fn texts_are_escaped() {
    let build = built(&[]);
    let name = "a <b> & \"c\" 'd' \u{1}";
    let title = Title { name: name.to_owned(), verdict: "1 < 2".to_owned(), ..Title::default() };
    let text = text_of(&build, &Options { title, ..Options::new(Subject::Roller) });
    let document = Document::parse(&text).unwrap();
    let shown = |wanted: &str| document.descendants().any(|n| n.text() == Some(wanted));
    assert!(shown("a <b> & \"c\" 'd' \u{fffd}") && shown("1 < 2"));
}

#[test]
fn contacts_are_marked_where_they_are() {
    let build = built(&[]);
    let point_m = build.parts.centres.pallet_m + Vector::new(-1.2e-3, -6e-4);
    let mark = ContactMark { point_m, normal: Vector::new(3.0, 0.0), label: "toe on locking face".to_owned() };
    let text = text_of(&build, &Options { contacts: vec![mark], ..Options::new(Subject::Assembly) });
    let document = Document::parse(&text).unwrap();
    let (origin, ratio) = view(&document);
    let group = document.descendants().find(|n| n.attribute("data-label") == Some("toe on locking face")).unwrap();
    let circle = group.children().find(|n| n.has_tag_name("circle")).unwrap();
    let drawn = Vector::new(number(circle, "cx"), number(circle, "cy"));
    assert!((drawn - origin - Vector::new(point_m.x, -point_m.y) * (1e3 * ratio)).norm() < 2e-3);
    assert_eq!(text.matches(">toe on locking face<").count(), 1);
    // The fork's picture does not reach to the stones.
    let mark = ContactMark { point_m, normal: Vector::new(3.0, 0.0), label: "toe on locking face".to_owned() };
    let text = text_of(&build, &Options { contacts: vec![mark], ..Options::new(Subject::Fork) });
    assert!(!text.contains("toe on locking face"));
}

/// Ends of the chain lines.
fn chains(document: &Document) -> Vec<[Vector; 2]> {
    let is_chain = |n: &Node| n.has_tag_name("line") && n.attribute("class") == Some("centre");
    let ends = |n: Node| [("x1", "y1"), ("x2", "y2")].map(|(x, y)| Vector::new(number(n, x), number(n, y)));
    document.descendants().filter(is_chain).map(ends).collect()
}

#[test]
fn chain_lines_do_not_lie_on_one_another() {
    for (name, build) in kinds().into_iter().take(4) {
        for subject in Subject::ALL {
            let text = text_of(&build, &Options { moment: moments()[1], ..Options::new(subject) });
            let document = Document::parse(&text).unwrap();
            let lines = chains(&document);
            for (i, [a, b]) in lines.iter().enumerate() {
                for [c, d] in &lines[..i] {
                    let u = (b - a).normalize();
                    let off = |p: &Vector| plane::cross(u, p - a).abs();
                    let at = [u.dot(&(c - a)), u.dot(&(d - a))];
                    let shared = at[0].max(at[1]).min((b - a).norm()) - at[0].min(at[1]).max(0.0);
                    assert!(off(c) > 0.01 || off(d) > 0.01 || shared < 0.01, "{name} {subject:?}: {shared} mm twice");
                }
            }
        }
    }
}

#[test]
fn the_title_block_names_the_moment() {
    let build = built(&[]);
    let moment = Moment { wheel_rad: 0.1, lever_rad: -0.05, jewel_rad: 0.2 };
    let said = |subject| {
        let title = Title { moment: "entry-lift".to_owned(), ..Title::default() };
        text_of(&build, &Options { moment, title, ..Options::new(subject) })
    };
    let wanted = "entry-lift: lever \u{2212}2.86\u{b0}, wheel 5.73\u{b0}, jewel 11.46\u{b0}";
    assert!(said(Subject::Assembly).contains(wanted) && said(Subject::Fork).contains(wanted));
    assert!(!said(Subject::Wheel).contains("entry-lift"));
}

#[test]
fn symbols_of_both_pallets_say_which() {
    let text = text_of(&built(&[]), &Options::new(Subject::Pallets));
    let document = Document::parse(&text).unwrap();
    let count = |wanted: &str| document.descendants().filter(|n| n.text() == Some(wanted) && n.is_text()).count();
    // On the picture and in the table: radius and angle of either corner.
    assert_eq!((count("L,en"), count("L,ex"), count("X,en"), count("X,ex")), (4, 4, 4, 4));
}

fn plate(build: &Build) -> Options {
    let toe_m = Vector::new(0.0, 2.5e-3);
    let turned_m = plane::Pose::new(0.05, Vector::zeros()).point(toe_m);
    let panel = Panel {
        title: "Toe".to_owned(),
        centre_m: toe_m,
        radius_m: 3e-4,
        states: vec![
            State { moment: Moment::default(), parts: vec![Part::Lever, Part::Wheel], other: false },
            State { moment: Moment { wheel_rad: 0.05, ..Moment::default() }, parts: vec![Part::Wheel], other: true },
        ],
        chain_lines_m: Vec::new(),
        thin_lines_m: Vec::new(),
        contacts: Vec::new(),
        dimensions: vec![Dimensioned {
            name: "turned".to_owned(),
            value: drawing::degrees(0.05),
            meaning: "what the wheel turned".to_owned(),
            measured: Measured::AngleAfar { vertex_m: build.parts.centres.wheel_m, a_m: toe_m, b_m: turned_m },
        }],
    };
    Options { panels: vec![panel.clone(), panel], sheet: Sheet::Page, ..Options::new(Subject::Plate(Plate::Drop)) }
}

#[test]
fn panels_are_to_scale_and_dimensioned() {
    let build = built(&[]);
    for sheet in Sheet::ALL {
        let options = Options { sheet, ..plate(&build) };
        let text = text_of(&build, &options);
        let document = Document::parse(&text).unwrap();
        let panels: Vec<_> = document.descendants().filter(|n| n.attribute("class") == Some("view")).collect();
        assert_eq!(panels.len(), 2);
        for panel in panels {
            let ratio = number(panel, "data-scale");
            let origin = Vector::new(number(panel, "data-origin-x-mm"), number(panel, "data-origin-y-mm"));
            // The toe of tooth 0, which stands upright, is the middle of the round picture.
            let toe = origin - Vector::new(0.0, 2.5 * ratio);
            let ring = document.descendants().find(|n| {
                let about = |name: &str, v: f64| {
                    n.attribute(name).is_some_and(|t| (t.parse::<f64>().unwrap() - v).abs() < 2e-3)
                };
                n.attribute("class") == Some("thin") && about("cx", toe.x) && about("cy", toe.y)
            });
            assert!((number(ring.unwrap(), "r") - 0.3 * ratio).abs() < 2e-3, "{sheet:?}");
        }
        assert_eq!(text.matches(">turned 2.86\u{b0}<").count(), 2, "{sheet:?}");
        assert_eq!(text.matches("what the wheel turned").count(), if sheet == Sheet::Page { 0 } else { 2 });
    }
    let error = render(&build, &Options { panels: Vec::new(), ..plate(&build) }).unwrap_err();
    assert_eq!(error, DrawingError::NoPanels { plate: "drop" });
    let error = render(&build, &Options { scale: Scale::Ratio(1000.0), ..plate(&build) }).unwrap_err();
    assert!(matches!(error, DrawingError::TooLarge { .. }), "{error}");
}

#[test]
fn a_stone_as_it_was_last_looked_at() {
    let options = Options {
        title: Title { name: "Demo movement".to_owned(), kind: "Club-tooth lever".to_owned(), ..Title::default() },
        ..Options::new(Subject::Stone(Pallet::Entry))
    };
    insta::assert_snapshot!(text_of(&built(&[]), &options));
}

#[test]
fn pictures_fill_their_sheets() {
    let build = built(&[]);
    for sheet in [Sheet::Page, Sheet::A4Landscape, Sheet::A3Landscape, Sheet::A2Landscape] {
        let text = text_of(&build, &Options { sheet, moment: moments()[1], ..Options::new(Subject::Assembly) });
        let document = Document::parse(&text).unwrap();
        let (origin, ratio) = view(&document);
        // From the foot of the wheel, below the origin, to the top of the impulse roller.
        let top_m = build.parts.centres.balance_m.y + build.parts.roller.radius_m;
        let high_mm = (top_m + build.parts.wheel.reach_m) * 1e3 * ratio;
        let part = high_mm / sheet.size_mm().1;
        assert!((0.62..1.0).contains(&part), "{sheet:?}: {part} of the height at {ratio}:1");
        assert!(origin.y > 0.5 * sheet.size_mm().1);
    }
}

#[test]
fn banking_angles_stand_on_their_own_sides() {
    let mut seen = 0;
    for sheet in Sheet::ALL {
        let text = text_of(&built(&[]), &Options { sheet, moment: moments()[0], ..Options::new(Subject::Assembly) });
        let document = Document::parse(&text).unwrap();
        let axis = view(&document).0.x;
        for text in document.descendants().filter(|n| n.has_tag_name("text")) {
            let said: String = text.descendants().filter(|n| n.is_text()).filter_map(|n| n.text()).collect();
            let class = text.parent().unwrap().attribute("class");
            if class == Some("dimension") && said.starts_with("ba,") {
                assert_eq!(number(text, "x") < axis, said.starts_with("ba,en"), "{sheet:?}: {said}");
                seen += 1;
            }
        }
    }
    assert!(seen >= 14, "{seen}");
}
