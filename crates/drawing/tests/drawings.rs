//! Outlines measured back from a drawing's text: scale, true arcs, frame and rim.
//! Movements are invented; what is compared with is the profiles themselves and the statement.
#![allow(clippy::unwrap_used)]

#[path = "support/movements.rs"]
mod movements;

use drawing::{Options, Scale, Sheet, Subject};
use movement::{Pallet, ParamKind as K};
use movements::{Piece, along, built, kinds, moments, number, part, pieces, text_of, view};
use parts::{Face, Wheel};
use plane::{Edge, Profile, Vector};
use roxmltree::Document;

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

/// The toothed outline with the rim drawn through where a back dips below it: the first crossing of the two circles,
/// by their chord.
fn with_whole_rim(wheel: &Wheel) -> Profile {
    let mut outline = wheel.outline();
    for i in 1..outline.edges.len() {
        let (Edge::Arc { centre: c, radius: r, .. }, rim) = (outline.edges[i - 1], outline.edges[i]) else { continue };
        let Edge::Arc { centre: o, radius: root, label, .. } = rim else { continue };
        if Face::from(label) != Face::Root || Face::from(outline.edges[i - 1].label()) != Face::ToothBack {
            continue;
        }
        let (apart, toward) = ((c - o).norm(), (c - o).normalize());
        let along = (apart * apart + root * root - r * r) / (2.0 * apart);
        let half = (root * root - along * along).max(0.0).sqrt();
        let meets = [half, -half].map(|h| o + toward * along + plane::quarter(toward) * h);
        let back = outline.edges[i - 1];
        let first =
            if (meets[0] - back.start()).norm() < (meets[1] - back.start()).norm() { meets[0] } else { meets[1] };
        if (first - back.end()).norm() > 1e-8 {
            let anticlockwise = matches!(back, Edge::Arc { sweep_rad, .. } if sweep_rad > 0.0);
            outline.edges[i - 1] = Edge::arc(c, back.start(), first, anticlockwise, back.label());
            outline.edges[i] = Edge::arc(o, first, rim.end(), true, label);
        }
    }
    outline
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
            let mut of_wheel = vec![with_whole_rim(&parts.wheel)];
            of_wheel.extend(parts.wheel.openings.iter().cloned());
            let safety = if parts.roller.single { "roller" } else { "safety-roller" };
            for (part_name, profiles, pose) in [
                ("wheel", of_wheel, wheel),
                ("stone-entry", vec![parts.lever.stones.entry.body.profile.clone()], lever),
                ("stone-exit", vec![parts.lever.stones.exit.body.profile.clone()], lever),
                ("guard", vec![drawing::guard(&build)], lever),
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

/// A dart keeps every edge that can touch; its inner end alone gives way to the shank, which ends behind the notch.
#[test]
fn the_guard_is_carried_by_the_bar() {
    for (name, build) in kinds() {
        let lever = &build.parts.lever;
        let (bare, drawn) = (&lever.guard.profile.edges, drawing::guard(&build).edges);
        let kept = bare.iter().filter(|e| drawn.contains(e)).count();
        if build.movement.word(movement::ParamKind::GuardForm) == "pin" {
            assert_eq!(*bare, drawn, "{name}: a pin stands on the fork by itself");
            continue;
        }
        assert_eq!((kept, drawn.len()), (bare.len() - 1, bare.len() + 2), "{name}");
        for (i, edge) in drawn.iter().enumerate() {
            let gap_m = (edge.end() - drawn[(i + 1) % drawn.len()].start()).norm();
            assert!(gap_m < 1e-12, "{name}: open by {gap_m} m after edge {i}");
        }
        let inside = |p: Vector| lever.fork.profile.contains(p);
        let along = |e: &Edge| e.at(0.5).dot(&lever.fork_axis);
        let innermost = drawn.iter().min_by(|a, b| along(a).total_cmp(&along(b))).unwrap();
        assert!(inside(innermost.at(0.5)), "{name}: the shank ends in the bar");
    }
}

/// The slot of a stone stays where it is when the stone is set out and tilted.
#[test]
fn a_slot_stays_when_its_stone_is_moved() {
    let values = movements::stated(&[]);
    let mut moved = values.clone();
    moved.set(K::StoneOut.at(Pallet::Exit), 50e-6);
    moved.set(K::StoneTilt.at(Pallet::Entry), 2.0_f64.to_radians());
    let [before, after] = [values, moved].map(|v| drawing::frame(&parts::build(&v).unwrap()).outlines);
    assert_eq!(before.len(), after.len());
    for (a, b) in before.iter().zip(&after) {
        assert_eq!(a.edges.len(), b.edges.len());
        for (a, b) in a.edges.iter().zip(&b.edges) {
            assert!((a.start() - b.start()).norm() < 1e-9 && (a.at(0.5) - b.at(0.5)).norm() < 1e-9);
        }
    }
}

/// The lever is one piece that holds both stones, whatever is moved: centres, wheel and bankings make no other lever.
#[test]
fn the_lever_is_whole_and_as_it_was_made() {
    let demo = movement::read("demo", include_str!("../../beatwright/demo.toml")).statement;
    let made = drawing::frame(&parts::build(&demo.values).unwrap()).outlines;
    for change in [
        "centres.wheel_pallet_change_mm=-0.1",
        "centres.wheel_pallet_change_mm=-0.15",
        "centres.wheel_pallet_change_mm=-0.25",
        "centres.wheel_pallet_change_mm=-2",
        "centres.wheel_pallet_change_mm=0.5",
        "pivots.wheel_along_mm=0.3",
        "wheel.radius_change_mm=0.3",
        "wheel.eccentricity_mm=0.2",
        "bankings.open_mm=-0.2",
        "pallets.stone_out_mm=0.3",
    ] {
        let mut statement = demo.clone();
        statement.set_all(&[change]).unwrap();
        let moved = drawing::frame(&parts::build(&statement.values).unwrap()).outlines;
        assert_eq!(moved.len(), made.len(), "{change}");
        assert!(made.iter().zip(&moved).all(|(a, b)| a.edges.len() == b.edges.len()), "{change}");
        let edges = |all: &[Profile]| all.iter().flat_map(|o| o.edges.clone()).collect::<Vec<_>>();
        for (a, b) in edges(&made).iter().zip(&edges(&moved)) {
            assert!((a.start() - b.start()).norm() < 1e-9 && (a.at(0.5) - b.at(0.5)).norm() < 1e-9, "{change}");
        }
    }
}

/// Arms for which there is no room are drawn all the same, and the drawing says what they are; where there is, it says nothing.
#[test]
fn arms_without_room_are_told() {
    let demo = movement::read("demo", include_str!("../../beatwright/demo.toml")).statement;
    for (change, told) in [
        ("pallets.spaces_spanned=1.5", false),
        ("pallets.spaces_spanned=2.5", false),
        ("lever.arm_width_mm=0.15 pallets.stone_length_mm=3", true),
        ("lever.arm_width_mm=0.15", false),
        ("centres.wheel_pallet_change_mm=-0.25", false),
    ] {
        let mut statement = demo.clone();
        statement.set_all(&change.split_whitespace().collect::<Vec<_>>()).unwrap();
        let build = parts::build(&statement.values).unwrap();
        for subject in [Subject::Pallets, Subject::Assembly] {
            let options = Options { sheet: Sheet::A3Landscape, ..Options::new(subject) };
            let text = text_of(&build, &options);
            assert_eq!(text.contains("The arms of the"), told, "{change}");
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
fn no_point_of_the_wheel_is_inside_its_rim() {
    for (name, build) in kinds() {
        let text = text_of(&build, &Options { sheet: Sheet::A3Landscape, ..Options::new(Subject::Wheel) });
        let document = Document::parse(&text).unwrap();
        let (origin, ratio) = view(&document);
        let data = part(&document, "wheel").attribute("d").unwrap();
        let toothed = pieces(data.split('Z').next().unwrap());
        let root_mm = (build.movement.si(K::WheelRootRadius) - build.movement.si(K::WheelEccentricity)) * 1e3 * ratio;
        for piece in &toothed {
            for i in 0..=8 {
                let depth = root_mm - (along(piece, f64::from(i) / 8.0) - origin).norm();
                assert!(depth < 1e-6, "{name}: {depth} mm inside the rim, {piece:?}");
            }
        }
    }
}
