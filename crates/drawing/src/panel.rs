//! Panels: enlarged places with bodies in one or more positions and what is measured on them. What is measured is found
//! by the caller, since the drawing knows no contact.

use movement::Pallet;
use parts::Build;
use plane::Vector;

use crate::dimension::{Dimension, Measure};
use crate::options::{ContactMark, Moment};
use crate::scene::{Cut, Finish, Row, Scene, bankings, lever, roller, wheel};
use crate::text::Words;

/// What a drawing of panels explains.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plate {
    /// Lock, run and total lock.
    Lock,
    /// Draw, from the neutral line and from the wheel's radius.
    Draw,
    /// The lift in its phases.
    Lift,
    /// Inside and outside drop.
    Drop,
    /// The wheel's turning back.
    Recoil,
    /// Guard and horn freedom.
    Freedom,
    /// Safety lock with guard and horn held on the roller and jewel.
    Safety,
    /// The same freedoms with the bankings closed to the drop.
    BankedToDrop,
}

impl Plate {
    /// Every plate.
    pub const ALL: [Plate; 8] = [
        Plate::Lock,
        Plate::Draw,
        Plate::Lift,
        Plate::Drop,
        Plate::Recoil,
        Plate::Freedom,
        Plate::Safety,
        Plate::BankedToDrop,
    ];

    /// Its name on a command line and in a file name.
    pub fn name(self) -> &'static str {
        match self {
            Plate::Lock => "lock",
            Plate::Draw => "draw",
            Plate::Lift => "lift",
            Plate::Drop => "drop",
            Plate::Recoil => "recoil",
            Plate::Freedom => "freedom",
            Plate::Safety => "safety-lock",
            Plate::BankedToDrop => "banked-to-drop",
        }
    }

    /// Its name in the title block.
    pub fn title(self) -> &'static str {
        match self {
            Plate::Lock => "Lock and run",
            Plate::Draw => "Draw",
            Plate::Lift => "Lift",
            Plate::Drop => "Drop",
            Plate::Recoil => "Recoil",
            Plate::Freedom => "Guard and horn freedom",
            Plate::Safety => "Safety lock",
            Plate::BankedToDrop => "Banked to drop",
        }
    }
}

/// Bodies that stand together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The escape wheel.
    Wheel,
    /// Lever with stones, fork and guard.
    Lever,
    /// One stone without the lever.
    Stone(Pallet),
    /// Rollers, staff and jewel.
    Rollers,
    /// Both bankings.
    Bankings,
}

/// Some bodies in a position.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// Where they stand.
    pub moment: Moment,
    /// Which bodies.
    pub parts: Vec<Part>,
    /// Whether it is another position than that of the panel: drawn in thin lines of dashes and double dots.
    pub other: bool,
}

/// What is measured, in the drawing's frame.
#[derive(Clone, Debug, PartialEq)]
pub enum Measured {
    /// Angle at a vertex that lies in the picture, between lines drawn to two points.
    Angle {
        /// Vertex.
        vertex_m: Vector,
        /// A point on the first line.
        a_m: Vector,
        /// A point on the second line.
        b_m: Vector,
    },
    /// Angle at a vertex far away, between two points: measured beside them.
    AngleAfar {
        /// Vertex.
        vertex_m: Vector,
        /// First point.
        a_m: Vector,
        /// Second point.
        b_m: Vector,
    },
    /// Distance of two points along a unit vector.
    Length {
        /// First point.
        a_m: Vector,
        /// Second point.
        b_m: Vector,
        /// Direction.
        along: Vector,
    },
    /// A place that is named.
    Place {
        /// The place.
        at_m: Vector,
        /// Direction in which its name preferably stands.
        toward: Vector,
    },
}

/// A dimension of a panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimensioned {
    /// What is written on the picture before the value.
    pub name: String,
    /// Value as written, with its sign; empty where there is none.
    pub value: String,
    /// What it is, for the table; empty for no row.
    pub meaning: String,
    /// What is measured.
    pub measured: Measured,
}

/// An enlarged place.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// What it shows.
    pub title: String,
    /// Middle of the round picture, in the drawing's frame.
    pub centre_m: Vector,
    /// Radius of what it shows.
    pub radius_m: f64,
    /// Bodies, the farthest behind first.
    pub states: Vec<State>,
    /// Chain lines, from point to point.
    pub chain_lines_m: Vec<(Vector, Vector)>,
    /// Thin lines, from point to point.
    pub thin_lines_m: Vec<(Vector, Vector)>,
    /// Contacts.
    pub contacts: Vec<ContactMark>,
    /// Dimensions, the most important first.
    pub dimensions: Vec<Dimensioned>,
}

impl Panel {
    pub(crate) fn scene(&self, build: &Build) -> Scene {
        let mut scene = Scene {
            cut: Some(Cut::Circle { centre: self.centre_m, radius_m: self.radius_m }),
            centre_lines: self.chain_lines_m.clone(),
            thin_lines: self.thin_lines_m.clone(),
            contacts: self.contacts.clone(),
            ..Scene::default()
        };
        for state in &self.states {
            state.shapes(build, &mut scene);
        }
        for d in &self.dimensions {
            let separator = if d.name.is_empty() || d.value.is_empty() { "" } else { " " };
            let words = Words::plain(format!("{}{separator}{}", d.name, d.value));
            scene.dimensions.push(Dimension { measure: d.measured.measure(), words, side: None });
            if !d.meaning.is_empty() {
                let (meaning, value) = (d.meaning.clone(), d.value.clone());
                scene.rows.push(Row { symbol: Words::plain(""), meaning, value });
            }
        }
        scene
    }
}

impl Measured {
    fn measure(&self) -> Measure {
        match *self {
            Measured::Angle { vertex_m: vertex, a_m: a, b_m: b } => Measure::Angle { vertex, a, b },
            Measured::AngleAfar { vertex_m: vertex, a_m: a, b_m: b } => Measure::AngleBeyond { vertex, a, b },
            Measured::Length { a_m: a, b_m: b, along } => Measure::Length { a, b, along: Some(along) },
            Measured::Place { at_m: at, toward } => Measure::Remark { at, toward },
        }
    }
}

impl State {
    fn shapes(&self, build: &Build, scene: &mut Scene) {
        let parts = &build.parts;
        let first = scene.shapes.len();
        for part in &self.parts {
            match *part {
                Part::Wheel => wheel::shapes(build, &parts.wheel_pose(self.moment.wheel_rad), scene),
                Part::Lever => lever::shapes(build, &parts.lever_pose(self.moment.lever_rad), scene),
                Part::Stone(p) => lever::stone(build, p, &parts.lever_pose(self.moment.lever_rad), scene),
                Part::Rollers => roller::shapes(build, &parts.roller_pose(self.moment.jewel_rad), scene),
                Part::Bankings => bankings(build, scene),
            }
        }
        for shape in &mut scene.shapes[first..] {
            shape.cut = true;
            if self.other {
                shape.finish = Finish::Phantom;
            }
        }
    }
}
