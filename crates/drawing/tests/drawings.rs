//! Drawings measured back from their text: scale, arcs, well-formed XML, texts apart, faults of the wish.
//! Movements are invented; what is compared with is the profiles themselves and the statement.
#![allow(clippy::unwrap_used)]

use drawing::{ContactMark, DrawingError, Moment, Options, Scale, Sheet, Subject, Title, render};
use movement::{Pallet, ParamKind as K, Values};
use parts::Build;
use plane::{Edge, Profile, Vector};
use roxmltree::{Document, Node};

fn stated(changes: &[(K, f64)]) -> Values {
    let mut values = Values::default();
    values.set(K::WheelToothCount.once(), 15.0);
    values.set(K::WheelLockingRadius.once(), 2.5e-3);
    for (kind, si) in changes {
        if kind.param().path.contains('*') {
            for p in Pallet::BOTH {
                values.set(kind.at(p), *si);
            }
        } else {
            values.set(kind.once(), *si);
        }
    }
    values
}

fn built(changes: &[(K, f64)]) -> Build {
    parts::build(&stated(changes)).unwrap()
}

/// Movements that differ in kind: in line, to the side, single roller, walls, domed and rounded, of other counts.
fn kinds() -> Vec<(&'static str, Build)> {
    let quarter = 90_f64.to_radians();
    vec![
        ("in line", built(&[])),
        ("to the left", built(&[(K::LeverLineAngle, quarter)])),
        ("to the right", built(&[(K::LeverLineAngle, -quarter)])),
        ("single roller", built(&[(K::RollerForm, 1.0)])),
        ("walls", built(&[(K::BankingsForm, 1.0)])),
        ("domed", built(&[(K::StoneImpulseDome, 4e-6), (K::StoneLockingDome, 6e-6)])),
        (
            "rounded",
            built(&[
                (K::WheelToeRound, 8e-6),
                (K::WheelHeelRound, 1e-5),
                (K::StoneLockingRound, 1e-5),
                (K::StoneLetOffRound, 1e-5),
            ]),
        ),
        ("oval jewel", built(&[(K::JewelShape, 1.0)])),
        ("triangular jewel", built(&[(K::JewelShape, 3.0)])),
        ("eccentric", built(&[(K::WheelEccentricity, 2e-5)])),
        ("twenty teeth", built(&[(K::WheelToothCount, 20.0)])),
        ("wide span", built(&[(K::PalletsSpacesSpanned, 3.5)])),
    ]
}

fn moments() -> Vec<Moment> {
    let deg = f64::to_radians;
    (0..5)
        .map(|i| {
            let part = f64::from(i) / 4.0;
            Moment {
                wheel_rad: deg(-3.0 * part),
                lever_rad: deg(5.0 - 10.0 * part),
                jewel_rad: deg(-60.0 + 120.0 * part),
            }
        })
        .collect()
}

fn number(node: Node, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

fn part<'a>(document: &'a Document, name: &str) -> Node<'a, 'a> {
    document.descendants().find(|n| n.attribute("data-part") == Some(name)).unwrap()
}

fn view<'a>(document: &'a Document) -> (Vector, f64) {
    let view: Node<'a, 'a> = document.descendants().find(|n| n.attribute("data-view") == Some("main")).unwrap();
    (Vector::new(number(view, "data-origin-x-mm"), number(view, "data-origin-y-mm")), number(view, "data-scale"))
}

/// A piece of a path: end points, and radius where it is an arc.
#[derive(Debug)]
struct Piece {
    start: Vector,
    end: Vector,
    arc: Option<(f64, bool)>,
}

/// Reads path data of the letters M, L, A and Z.
fn pieces(data: &str) -> Vec<Piece> {
    let mut out = Vec::new();
    let mut at = Vector::zeros();
    let starts: Vec<usize> = data.char_indices().filter(|(_, c)| c.is_ascii_uppercase()).map(|(i, _)| i).collect();
    for (i, start) in starts.iter().enumerate() {
        let end = starts.get(i + 1).copied().unwrap_or(data.len());
        let numbers: Vec<f64> = data[start + 1..end].split_whitespace().map(|n| n.parse().unwrap()).collect();
        match (&data[*start..start + 1], &numbers[..]) {
            ("M", [x, y]) => at = Vector::new(*x, *y),
            ("L", [x, y]) => {
                let end = Vector::new(*x, *y);
                out.push(Piece { start: at, end, arc: None });
                at = end;
            }
            ("A", [r, same, turn, large, sweep, x, y]) => {
                assert!(r == same && *turn == 0.0 && *large == 0.0, "an arc of a circle, at most a half turn");
                let end = Vector::new(*x, *y);
                out.push(Piece { start: at, end, arc: Some((*r, *sweep == 1.0)) });
                at = end;
            }
            ("Z", []) => {}
            other => panic!("no part of an outline: {other:?}"),
        }
    }
    out
}

fn text_of(build: &Build, options: &Options) -> String {
    render(build, options).unwrap_or_else(|e| panic!("{:?}: {e}", options.subject))
}

#[test]
fn the_scale_is_exact() {
    let build = built(&[]);
    let mut seen = 0;
    for ratio in [20.0, 10.0, 12.5] {
        let options = Options { scale: Scale::Ratio(ratio), ..Options::new(Subject::Wheel) };
        let text = text_of(&build, &options);
        let document = Document::parse(&text).unwrap();
        let (origin, written) = view(&document);
        assert_eq!(written, ratio);
        let wheel = pieces(part(&document, "wheel").attribute("d").unwrap());
        // The farthest points are heels; the toes are where the fronts end. Tooth 0 stands upright.
        let toe = origin - Vector::new(0.0, 2.5 * ratio);
        let nearest = wheel.iter().map(|p| (p.end - toe).norm()).fold(f64::INFINITY, f64::min);
        assert!(nearest < 1e-6, "{nearest} mm off at {ratio}:1");
        let heel_mm = build.movement.si(K::WheelHeelRadius) * 1e3 * ratio;
        let farthest = wheel.iter().map(|p| (p.end - origin).norm()).fold(0.0, f64::max);
        assert!((farthest - heel_mm).abs() < 1e-6);
        seen += 1;
    }
    assert_eq!(seen, 3);
    // The bar in the corner is as long as it says.
    let text = text_of(&build, &Options::new(Subject::Stone(Pallet::Exit)));
    let document = Document::parse(&text).unwrap();
    let bar = document.descendants().find(|n| n.attribute("class") == Some("scale-bar")).unwrap();
    let drawn = bar.children().filter(|n| n.has_tag_name("rect")).map(|n| number(n, "width")).fold(0.0, f64::max);
    assert!((drawn - number(bar, "data-true-mm") * view(&document).1).abs() < 1e-3);
}

/// Every line of a profile is one L, every arc one A or two, in order, with its radius and its sense.
fn same(profile: &Profile, found: &mut std::slice::Iter<Piece>, origin: Vector, ratio: f64, pose: &plane::Pose) {
    let place = |p: Vector| origin + Vector::new(pose.point(p).x, -pose.point(p).y) * (1e3 * ratio);
    for edge in &profile.edges {
        let first = found.next().unwrap();
        assert!((first.start - place(edge.start())).norm() < 1e-6);
        let (mut last, mut turn_rad) = (first, 0.0);
        match edge {
            Edge::Line { .. } => assert!(first.arc.is_none()),
            Edge::Arc { radius, sweep_rad, .. } => loop {
                let (r, clockwise) = last.arc.unwrap();
                assert!((r - radius * 1e3 * ratio).abs() < 1e-6);
                assert_eq!(clockwise, *sweep_rad < 0.0, "y points down");
                turn_rad += 2.0 * (0.5 * (last.end - last.start).norm() / r).min(1.0).asin();
                if (turn_rad - sweep_rad.abs()).abs() < 1e-3 {
                    break;
                }
                last = found.next().unwrap();
            },
        }
        assert!((last.end - place(edge.end())).norm() < 1e-6);
    }
}

#[test]
fn outlines_are_the_profiles() {
    for (name, build) in kinds() {
        for moment in moments() {
            let options = Options { moment, sheet: Sheet::A3Landscape, ..Options::new(Subject::Assembly) };
            let text = text_of(&build, &options);
            let document = Document::parse(&text).unwrap();
            let (origin, ratio) = view(&document);
            let parts = &build.parts;
            let wheel = parts.wheel_pose(moment.wheel_rad);
            let lever = parts.lever_pose(moment.lever_rad);
            let roller = parts.roller_pose(moment.jewel_rad);
            let mut of_wheel = vec![parts.wheel.outline()];
            of_wheel.extend(parts.wheel.openings.iter().cloned());
            let safety = if parts.roller.single { "roller" } else { "safety-roller" };
            for (part_name, profiles, pose) in [
                ("wheel", of_wheel, wheel),
                ("stone-entry", vec![parts.lever.stones.entry.body.profile.clone()], lever),
                ("stone-exit", vec![parts.lever.stones.exit.body.profile.clone()], lever),
                ("guard", vec![parts.lever.guard.profile.clone()], lever),
                ("jewel", vec![parts.roller.jewel.profile.clone()], roller),
                (safety, vec![parts.roller.safety.profile.clone()], roller),
                ("banking-entry", vec![parts.bankings.entry.profile.clone()], plane::Pose::IDENTITY),
            ] {
                let found = pieces(part(&document, part_name).attribute("d").unwrap());
                let mut found = found.iter();
                for profile in &profiles {
                    same(profile, &mut found, origin, ratio, &pose);
                }
                assert!(found.next().is_none(), "{name}: {part_name} has more than its profile");
            }
        }
    }
}

#[test]
fn the_frame_is_one_outline_clear_of_the_wheel() {
    for (name, build) in kinds() {
        let sheet = Sheet::A3Landscape;
        let text = text_of(&build, &Options { sheet, ..Options::new(Subject::Pallets) });
        let document = Document::parse(&text).unwrap();
        let (origin, ratio) = view(&document);
        let data = part(&document, "lever").attribute("d").unwrap();
        assert_eq!(data.matches('M').count(), 1, "{name}: {data}");
        let found = pieces(data);
        for (a, b) in found.iter().zip(found.iter().cycle().skip(1)) {
            assert!((a.end - b.start).norm() < 1e-5, "{name}: the outline is open");
        }
        // No end of an edge comes into the wheel's path at either banking or between; the fork is no part of this.
        let parts = &build.parts;
        let model = |p: Vector| Vector::new(p.x - origin.x, origin.y - p.y) / (1e3 * ratio);
        let fork: Vec<Vector> = parts.lever.fork.profile.edges.iter().map(Edge::start).collect();
        for p in found.iter().map(|f| model(f.end)).filter(|p| fork.iter().all(|f| (f - p).norm() > 1e-8)) {
            for part in [-1.0, -0.5, 0.0, 0.5, 1.0] {
                let banked_rad = build.movement.si_at(K::BankingLeverAngle, Pallet::Entry);
                let at = parts.lever_pose(part * banked_rad).point(p);
                let gap_m = (at - parts.centres.wheel_m).norm() - parts.wheel.reach_m;
                assert!(gap_m > 0.0, "{name}: {gap_m} m inside the wheel's path at {part}");
            }
        }
    }
}

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
}

#[test]
fn a_stone_as_it_was_last_looked_at() {
    let options = Options {
        title: Title { name: "Demo movement".to_owned(), kind: "Club-tooth lever".to_owned(), ..Title::default() },
        ..Options::new(Subject::Stone(Pallet::Entry))
    };
    insta::assert_snapshot!(text_of(&built(&[]), &options));
}
