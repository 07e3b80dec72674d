//! Movements to draw, and reading a drawing back.
#![allow(dead_code)]

use drawing::{Moment, Options, render};
use movement::{Pallet, ParamKind as K, Values};
use parts::Build;
use plane::Vector;
use roxmltree::{Document, Node};

pub fn stated(changes: &[(K, f64)]) -> Values {
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

pub fn built(changes: &[(K, f64)]) -> Build {
    parts::build(&stated(changes)).unwrap()
}

/// Movements that differ in kind: in line, to the side, single roller, walls, domed and rounded, of other counts.
pub fn kinds() -> Vec<(&'static str, Build)> {
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

pub fn moments() -> Vec<Moment> {
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

pub fn number(node: Node, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

pub fn part<'a>(document: &'a Document, name: &str) -> Node<'a, 'a> {
    document.descendants().find(|n| n.attribute("data-part") == Some(name)).unwrap()
}

pub fn view<'a>(document: &'a Document) -> (Vector, f64) {
    let view: Node<'a, 'a> = document.descendants().find(|n| n.attribute("data-view") == Some("main")).unwrap();
    (Vector::new(number(view, "data-origin-x-mm"), number(view, "data-origin-y-mm")), number(view, "data-scale"))
}

pub fn text_of(build: &Build, options: &Options) -> String {
    render(build, options).unwrap_or_else(|e| panic!("{:?}: {e}", options.subject))
}

/// A piece of a path: end points, and radius where it is an arc.
#[derive(Debug)]
pub struct Piece {
    pub start: Vector,
    pub end: Vector,
    /// Radius, and whether it runs clockwise.
    pub arc: Option<(f64, bool)>,
}

/// Reads path data of the letters M, L, A and Z.
pub fn pieces(data: &str) -> Vec<Piece> {
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

/// A point of a piece, by the part of its chord.
pub fn along(piece: &Piece, part: f64) -> Vector {
    let on_chord = piece.start + (piece.end - piece.start) * part;
    let Some((r, clockwise)) = piece.arc else { return on_chord };
    let (middle, half) = (0.5 * (piece.start + piece.end), 0.5 * (piece.end - piece.start));
    let aside = plane::quarter(half.normalize()) * (r * r - half.norm_squared()).max(0.0).sqrt();
    // On the sheet, y down, a clockwise arc has its centre where the cross product is positive.
    let centre = if clockwise { middle + aside } else { middle - aside };
    centre + (on_chord - centre).normalize() * r
}
