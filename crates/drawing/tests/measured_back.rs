//! What stands on a drawing is what is drawn: symbols and values read from the text of drawings of parts that were
//! altered at the bench, compared with lengths and angles measured on their outlines. The movements are invented.
#![allow(clippy::unwrap_used)]

#[path = "support/movements.rs"]
mod movements;

use drawing::{Options, Sheet, Subject};
use movement::{Pallet, ParamId, ParamKind as K, Values};
use movements::{Piece, along, number, part, pieces, stated, text_of, view};
use parts::Build;
use plane::{Vector, cross, direction_rad};
use roxmltree::{Document, Node};
use std::collections::BTreeMap;

const EN: Pallet = Pallet::Entry;
const EX: Pallet = Pallet::Exit;

/// Bench moves in mm and deg, and words that the drawing of the assembly must say of them.
type Bench = (Vec<(ParamId, f64)>, Vec<&'static str>);

fn benches() -> Vec<Bench> {
    let stones = vec![
        (K::StoneThicker.at(EX), 0.06),
        (K::StoneOut.at(EN), 0.03),
        (K::StoneTilt.at(EX), 2.0),
        (K::StoneSpread.at(EN), -0.02),
        (K::StoneLean.at(EN), 12.0),
    ];
    let centres = vec![
        (K::CentresWheelPalletChange.once(), 0.4),
        (K::CentresPalletBalanceChange.once(), -0.1),
        (K::PalletAcross.once(), 0.05),
        (K::WheelAlong.once(), 0.03),
    ];
    let fork = vec![
        (K::ForkLonger.once(), 0.1),
        (K::ForkBend.once(), 0.1),
        (K::GuardLonger.once(), 0.05),
        (K::GuardBend.once(), -0.03),
    ];
    let rollers = vec![
        (K::JewelOut.once(), 0.05),
        (K::JewelLean.once(), 5.0),
        (K::JewelLeanDirection.once(), 40.0),
        (K::RollerCrescentTurn.once(), 3.0),
    ];
    let rest = vec![
        (K::BankingOpen.at(EN), 0.05),
        (K::BankingOpen.at(EX), 0.1),
        (K::WheelRadiusChange.once(), 0.05),
        (K::WheelEccentricity.once(), 0.02),
        (K::ToothLonger.tooth(3), -0.1),
    ];
    let all = [&stones[..], &centres, &fork, &rollers, &rest].concat();
    vec![
        (Vec::new(), Vec::new()),
        (stones, vec!["exit stone thicker 0.060 mm", "exit stone tilted 2.00\u{b0}"]),
        (centres, vec!["wheel and pallet centres farther apart 0.400 mm", "farther apart \u{2212}0.100 mm"]),
        (fork, vec!["fork longer 0.100 mm", "fork bent 0.100 mm", "guard bent \u{2212}0.030 mm"]),
        (rollers, vec!["jewel out 0.050 mm", "jewel leaning 5.00\u{b0}", "crescent turned 3.00\u{b0}"]),
        (rest, vec!["exit banking opened 0.100 mm", "tooth 3 longer \u{2212}0.100 mm"]),
        (all, Vec::new()),
    ]
}

fn altered(moves: &[(ParamId, f64)]) -> Build {
    let mut values: Values = stated(&[]);
    for (id, v) in moves {
        values.set(*id, id.param().unit.to_si(*v));
    }
    parts::build(&values).unwrap()
}

/// A drawing that is read back: its document, and where its frame lies.
struct Sheeted {
    text: String,
}

/// An outline in mm of the parts, y up, in the frame of the drawing.
struct Outline(Vec<Piece>);

impl Sheeted {
    fn of(build: &Build, subject: Subject) -> Sheeted {
        Sheeted { text: text_of(build, &Options { sheet: Sheet::A3Landscape, ..Options::new(subject) }) }
    }

    fn outline(&self, name: &str) -> Outline {
        let document = Document::parse(&self.text).unwrap();
        let (origin, ratio) = view(&document);
        let mm = |p: Vector| Vector::new(p.x - origin.x, origin.y - p.y) / ratio;
        let found = pieces(part(&document, name).attribute("d").unwrap());
        // With y up an arc runs the other way about: what was clockwise is now true for anticlockwise.
        let place = |p: Piece| Piece { start: mm(p.start), end: mm(p.end), arc: p.arc.map(|(r, c)| (r / ratio, !c)) };
        Outline(found.into_iter().map(place).collect())
    }

    /// Values of the table by symbol; those on the picture must be the same.
    fn values(&self) -> BTreeMap<String, f64> {
        let document = Document::parse(&self.text).unwrap();
        let by_class = |class: &str| document.descendants().find(|n| n.attribute("class") == Some(class)).unwrap();
        let said = |n: Node| n.descendants().filter(|n| n.is_text()).filter_map(|n| n.text()).collect::<String>();
        let mut rows: Vec<(f64, Vec<String>)> = Vec::new();
        for text in by_class("table").children().filter(|n| n.has_tag_name("text")) {
            let y = number(text, "y");
            match rows.iter_mut().find(|(at, _)| *at == y) {
                Some((_, row)) => row.push(said(text)),
                None => rows.push((y, vec![said(text)])),
            }
        }
        let mut out = BTreeMap::new();
        for (_, row) in rows {
            if let [symbol, _, value] = &row[..]
                && let Some(value) = read(value)
            {
                out.insert(symbol.replace('\u{200c}', ""), value);
            }
        }
        for text in document.descendants().filter(|n| n.attribute("class") == Some("dimension")).map(said) {
            let text = text.replace('\u{200c}', "");
            let text = text.trim();
            let Some(at) = text.find(|c: char| c.is_ascii_digit() || c == '\u{2212}').filter(|at| *at > 0) else {
                continue;
            };
            let (symbol, value) = (text[..at].trim(), read(&text[at..]).unwrap());
            let kept = out.get(symbol).unwrap_or_else(|| panic!("{symbol} is not in the table"));
            assert_eq!(*kept, value, "{symbol}");
        }
        out
    }
}

fn read(text: &str) -> Option<f64> {
    text.trim().replace('\u{2212}', "-").trim_end_matches('\u{b0}').parse().ok()
}

impl Outline {
    fn corner(&self, i: usize) -> Vector {
        self.0[i].start
    }

    /// Centre of a full circle, drawn in two halves.
    fn centre(&self) -> Vector {
        self.0.iter().map(|p| p.end).sum::<Vector>() / self.0.len() as f64
    }

    fn points(&self) -> Vec<Vector> {
        // The middle of each arc among them, where dart and jewel reach farthest.
        self.0.iter().flat_map(|p| (0..=64).map(|i| along(p, f64::from(i) / 64.0))).collect()
    }
}

/// Centre of an arc, y up.
fn arc_centre(p: &Piece) -> Vector {
    let (r, anticlockwise) = p.arc.unwrap();
    let (middle, half) = (0.5 * (p.start + p.end), 0.5 * (p.end - p.start));
    let aside = plane::quarter(half.normalize()) * (r * r - half.norm_squared()).max(0.0).sqrt();
    if anticlockwise { middle + aside } else { middle - aside }
}

fn angle_deg(a: Vector, b: Vector) -> f64 {
    cross(a, b).atan2(a.dot(&b)).to_degrees()
}

/// That the drawing says of each symbol what was measured.
fn compare(what: &str, said: &BTreeMap<String, f64>, measured: &[(&str, f64)]) {
    for (symbol, value) in measured {
        let written = said.get(*symbol).unwrap_or_else(|| panic!("{what}: no {symbol} in {said:?}"));
        // Lengths have three decimals, angles two.
        let half =
            if symbol.starts_with(['a', 'f']) || symbol.starts_with("ba") || *symbol == "cr" { 0.005 } else { 0.0005 };
        assert!((written - value).abs() < 1.01 * half, "{what}: {symbol} is {value}, written {written}");
    }
}

#[test]
fn stones() {
    for (i, (moves, _)) in benches().into_iter().enumerate() {
        let build = altered(&moves);
        for (p, name) in [(EN, "stone-entry"), (EX, "stone-exit")] {
            let sheet = Sheeted::of(&build, Subject::Stone(p));
            let stone = sheet.outline(name);
            // Locking corner, let-off corner, back and locking side of the end: the locking face stands upright.
            let [locking, let_off, back, top] = [0, 1, 2, 3].map(|k| stone.corner(k));
            assert!((top.x - locking.x).abs() < 1e-6);
            let said = sheet.values();
            let fall = (locking.y - let_off.y).atan2(let_off.x - locking.x).to_degrees();
            compare(
                &format!("{name} of {i}"),
                &said,
                &[("b", back.x - top.x), ("ls", top.y - locking.y), ("fi", fall)],
            );
        }
    }
}

#[test]
fn lever() {
    for (i, (moves, _)) in benches().into_iter().enumerate() {
        let build = altered(&moves);
        let sheet = Sheeted::of(&build, Subject::Pallets);
        let said = sheet.values();
        let centre = sheet.outline("pallet-arbor").centre();
        let mut measured = Vec::new();
        let assembly = Sheeted::of(&build, Subject::Assembly);
        let to_wheel = assembly.outline("wheel-arbor").centre() - assembly.outline("pallet-arbor").centre();
        for (part, symbols) in [
            ("stone-entry", ["\u{3c1}L,en", "\u{3c1}X,en", "aL,en", "aX,en"]),
            ("stone-exit", ["\u{3c1}L,ex", "\u{3c1}X,ex", "aL,ex", "aX,ex"]),
        ] {
            let stone = sheet.outline(part);
            for k in 0..2 {
                let corner = stone.corner(k) - centre;
                measured.push((symbols[k], corner.norm()));
                measured.push((symbols[k + 2], angle_deg(to_wheel, corner).abs()));
            }
        }
        let reach = sheet.outline("guard").points().iter().map(|p| (p - centre).norm()).fold(0.0, f64::max);
        measured.push(("gr", reach));
        compare(&format!("lever of {i}"), &said, &measured);
    }
}

#[test]
fn assembly_fork_and_bankings() {
    for (i, (moves, words)) in benches().into_iter().enumerate() {
        let build = altered(&moves);
        let sheet = Sheeted::of(&build, Subject::Assembly);
        let [axis, pallet, balance] = ["wheel-arbor", "pallet-arbor", "staff"].map(|p| sheet.outline(p).centre());
        // Of a tooth: front, impulse face, back of the heel, back, rim.
        let wheel = sheet.outline("wheel");
        let toe = (wheel.corner(1) - arc_centre(&wheel.0[4])).norm();
        let fork = Sheeted::of(&build, Subject::Fork);
        let fork_said = fork.values();
        // Sides, horns, notch: the floor lies between its walls.
        let outline = fork.outline("fork");
        let (floor, right, left) = (&outline.0[6], &outline.0[5], &outline.0[7]);
        let depth = [right, left].map(|w| (w.end - w.start).norm()).into_iter().fold(f64::INFINITY, f64::min);
        let out = (outline.0[0].end - outline.0[0].start).normalize();
        let half = 0.5 * cross(out, outline.0[12].start - outline.0[0].end);
        let middle = outline.0[13].start + (outline.0[13].end - outline.0[13].start) * 0.5;
        assert!((middle - pallet).norm() < 1e-6);
        let mut measured = vec![("C", (pallet - axis).norm()), ("D", (balance - pallet).norm()), ("R", toe)];
        let mut on_fork = vec![
            ("wn", (floor.end - floor.start).norm()),
            ("nd", depth),
            ("lf", (0.5 * (floor.start + floor.end) - pallet).norm()),
            ("D", (balance - pallet).norm()),
        ];
        for (name, symbol, side) in [("banking-entry", "ba,en", 1.0), ("banking-exit", "ba,ex", -1.0)] {
            let pin = sheet.outline(name);
            let (radius, to_pin) = (pin.0[0].arc.unwrap().0, pin.centre() - pallet);
            // Turned until its side is as far from the pin's middle as the pin is thick.
            let seen_rad = side * (direction_rad(to_pin) - direction_rad(out));
            let meets_rad = seen_rad - ((half + radius) / to_pin.norm()).asin();
            let from_line = side * (direction_rad(out) - direction_rad(balance - pallet)) + meets_rad;
            measured.push((symbol, from_line.to_degrees()));
            on_fork.push((symbol, from_line.to_degrees()));
        }
        compare(&format!("assembly of {i}"), &sheet.values(), &measured);
        compare(&format!("fork of {i}"), &fork_said, &on_fork);
        let mentioned = sheet.text.contains("Bench moves: ");
        assert_eq!(mentioned, !moves.is_empty(), "{i}");
        let texts = notes(&sheet.text);
        for word in words {
            assert!(texts.contains(word), "{word} is not in: {texts}");
        }
    }
}

/// The notes, their lines joined.
fn notes(text: &str) -> String {
    let document = Document::parse(text).unwrap();
    let Some(notes) = document.descendants().find(|n| n.attribute("class") == Some("notes")) else {
        return String::new();
    };
    let lines: Vec<_> = notes.descendants().filter(|n| n.is_text()).filter_map(|n| n.text()).map(str::trim).collect();
    lines.join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn wheel_and_rollers() {
    for (i, (moves, _)) in benches().into_iter().enumerate() {
        let build = altered(&moves);
        let sheet = Sheeted::of(&build, Subject::Wheel);
        let wheel = sheet.outline("wheel");
        let [front, impulse, back, _, rim] = &wheel.0[..5] else { panic!("a tooth has five edges") };
        let centre = arc_centre(rim);
        let (toe, heel) = (front.end - centre, impulse.end - centre);
        compare(
            &format!("wheel of {i}"),
            &sheet.values(),
            &[
                ("R", toe.norm()),
                ("Rh", heel.norm()),
                ("Rr", rim.arc.unwrap().0),
                ("fl", angle_deg(front.start - front.end, -toe)),
                ("hd", (back.end - back.start).norm()),
            ],
        );
        let sheet = Sheeted::of(&build, Subject::Roller);
        let axis = sheet.outline("staff").centre();
        let jewel = sheet.outline("jewel");
        let round = jewel.0.iter().find(|p| p.arc.is_some()).unwrap();
        let safety = sheet.outline("safety-roller");
        let edge = safety.0[0].arc.unwrap().0;
        // The crescent is the last piece, or the last two; its ends are the ends of the edge.
        let hollow: Vec<&Piece> = safety.0.iter().filter(|p| (p.arc.unwrap().0 - edge).abs() > 1e-6).collect();
        let (from, to) = (hollow[0].start - axis, hollow.last().unwrap().end - axis);
        let width = 2.0 * round.arc.unwrap().0;
        compare(
            &format!("rollers of {i}"),
            &sheet.values(),
            &[
                ("r", (arc_centre(round) - axis).norm()),
                ("wj", width),
                ("rg", edge),
                ("ro", sheet.outline("impulse-roller").0[0].arc.unwrap().0),
                ("cr", 0.5 * angle_deg(from, to).abs()),
            ],
        );
    }
}

#[test]
fn many_altered_teeth_are_told_in_short() {
    let moves: Vec<_> =
        (0..15).flat_map(|n| [(K::ToothLonger.tooth(n), 0.01), (K::ToothBent.tooth(n), -0.1)]).collect();
    let build = altered(&moves);
    for subject in [Subject::Wheel, Subject::Assembly] {
        let text = notes(&text_of(&build, &Options::new(subject)));
        assert!(text.contains("teeth longer: 0 by 0.010, 1 by 0.010,") && text.contains("14 by 0.010 mm"), "{text}");
        assert!(text.contains("14 by \u{2212}0.10\u{b0}."), "{text}");
    }
    let stone = text_of(&build, &Options::new(Subject::Stone(EN)));
    assert!(!stone.contains("Bench moves"), "a stone is not altered by its wheel");
}
