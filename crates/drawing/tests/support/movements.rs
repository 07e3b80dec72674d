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
