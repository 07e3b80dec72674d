//! A picture before it has a scale: shapes, axes, centre lines, dimensions, and rows of the table beside them.
//! Everything in metres, in one frame with y up.

mod assembly;
pub(crate) mod bench;
mod fork;
pub(crate) mod lever;
pub(crate) mod measured;
mod pallets;
pub(crate) mod roller;
mod stone;
pub(crate) mod wheel;

use movement::{At, Movement, Pallet, ParamId, Unit};
use parts::Build;
use plane::{Profile, Vector};

use crate::dimension::{Dimension, Measure, Sense};
use crate::options::{ContactMark, Figure, Options, Subject};
use crate::text::Words;
use crate::view::{Rect, outline_points};

/// Angle below which two lines are one on a drawing, in radians: half the last decimal of its degrees.
const SAME_RAD: f64 = 0.005 * std::f64::consts::PI / 180.0;

/// How a shape is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Finish {
    Steel,
    Brass,
    /// A stone, cut and hatched.
    Ruby,
    /// A banking, cut and hatched.
    Banking,
    /// An arbor or staff, end on.
    Arbor,
    /// Outline only.
    Bare,
    /// Outline behind something.
    Hidden,
    /// Outline of what lies in front of the plane of the drawing.
    Phantom,
}

impl Finish {
    pub fn class(self) -> &'static str {
        match self {
            Finish::Steel => "body steel",
            Finish::Brass => "body brass",
            Finish::Ruby => "body ruby",
            Finish::Banking => "body banking",
            Finish::Arbor => "body arbor",
            Finish::Bare => "body bare",
            Finish::Hidden => "hidden",
            Finish::Phantom => "phantom",
        }
    }

    /// How its cut face is hatched.
    pub fn hatch(self) -> Option<Hatch> {
        match self {
            Finish::Ruby => Some(Hatch { name: "ruby", spacing_mm: 1.1 }),
            Finish::Banking => Some(Hatch { name: "brass", spacing_mm: 0.9 }),
            _ => None,
        }
    }

    pub fn is_filled(self) -> bool {
        !matches!(self, Finish::Bare | Finish::Hidden | Finish::Phantom)
    }
}

/// Hatching of a cut face.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hatch {
    /// Its classes begin so.
    pub name: &'static str,
    /// Distance of its lines.
    pub spacing_mm: f64,
}

/// Outlines of one part, drawn together.
#[derive(Clone, Debug)]
pub(crate) struct Shape {
    /// Its name in the document.
    pub part: &'static str,
    pub finish: Finish,
    pub outlines: Vec<Profile>,
    /// Whether it ends at the picture's cut.
    pub cut: bool,
}

/// Where a picture ends that does not show the whole of a part.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Cut {
    /// What lies beyond `at` in the direction `along` is shown; `half_width_m` is half the width of the bar there.
    Across { at: Vector, along: Vector, half_width_m: f64 },
    /// What lies in the circle is shown.
    Circle { centre: Vector, radius_m: f64 },
}

impl Cut {
    pub fn shows(&self, p: Vector) -> bool {
        match *self {
            Cut::Across { at, along, .. } => (p - at).dot(&along) >= 0.0,
            Cut::Circle { centre, radius_m } => (p - centre).norm() <= radius_m,
        }
    }
}

/// A line of the table of dimensions.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub symbol: Words,
    pub meaning: String,
    pub value: String,
}

/// A picture.
#[derive(Clone, Debug, Default)]
pub(crate) struct Scene {
    pub shapes: Vec<Shape>,
    /// Chain lines from point to point.
    pub centre_lines: Vec<(Vector, Vector)>,
    /// Chain circles.
    pub centre_circles: Vec<(Vector, f64)>,
    /// Thin arcs: centre, start, direction of the end; the short way.
    pub thin_arcs: Vec<(Vector, Vector, Vector)>,
    /// Thin lines that dimensions refer to.
    pub thin_lines: Vec<(Vector, Vector)>,
    /// Axes: a cross of chain lines that reaches a little beyond a radius.
    pub axes: Vec<(Vector, f64)>,
    pub contacts: Vec<ContactMark>,
    pub dimensions: Vec<Dimension>,
    pub rows: Vec<Row>,
    /// Whether the symbols of what both pallets have say which pallet.
    pub names_pallets: bool,
    pub cut: Option<Cut>,
    /// A place to be shown larger, and its picture.
    pub detail: Option<Box<Scene>>,
}

impl Scene {
    pub fn of(build: &Build, options: &Options) -> Scene {
        let mut scene = match options.subject {
            Subject::Assembly => assembly::scene(build, &options.moment),
            Subject::Wheel => wheel::scene(build),
            Subject::Pallets => pallets::scene(build),
            Subject::Stone(pallet) => stone::scene(build, pallet),
            Subject::Fork => fork::scene(build, &options.moment),
            Subject::Roller => roller::scene(build),
            Subject::Plate(_) => Scene::default(),
        };
        let figure = |f: &Figure| Row { symbol: Words::plain(""), meaning: f.meaning.clone(), value: f.value.clone() };
        scene.rows.extend(options.figures.iter().map(figure));
        if options.subject.shows_moment() {
            // A contact that lies outside what is shown has nothing to be marked on.
            let shown = scene.bounds();
            let within = options.contacts.iter().filter(|c| shown.is_none_or(|b| b.holds(c.point_m)));
            scene.contacts = within.cloned().collect();
        }
        scene
    }

    pub fn shape(&mut self, part: &'static str, finish: Finish, outlines: Vec<Profile>) {
        self.shapes.push(Shape { part, finish, outlines, cut: false });
    }

    /// Puts a dimension on the picture and its row in the table; its value is what is measured.
    pub fn measure(&mut self, id: ParamId, meaning: &str, measure: Measure) {
        self.measure_toward(id, meaning, measure, Sense::Positive, None);
    }

    /// An angle with a sign.
    pub fn measure_signed(&mut self, id: ParamId, meaning: &str, measure: Measure, sense: Sense) {
        self.measure_toward(id, meaning, measure, sense, None);
    }

    /// A dimension that is best written on one side of the point it is measured from.
    pub fn measure_beside(&mut self, id: ParamId, meaning: &str, measure: Measure, side: Vector) {
        self.measure_toward(id, meaning, measure, Sense::Positive, Some(side));
    }

    fn measure_toward(&mut self, id: ParamId, meaning: &str, measure: Measure, sense: Sense, side: Option<Vector>) {
        let value = measure.value_text(sense);
        let words = self.symbol(id).then(&format!(" {value}"));
        self.dimensions.push(Dimension { measure, words, side });
        self.rows.push(Row { symbol: self.symbol(id), meaning: meaning.to_owned(), value });
    }

    /// A row of the table only, with what is measured and the sign of `sense`.
    pub fn read(&mut self, id: ParamId, meaning: &str, measure: &Measure, sense: Sense) {
        self.read_as(self.symbol(id), meaning, measure, sense);
    }

    /// The same with a symbol of its own.
    pub fn read_as(&mut self, symbol: Words, meaning: &str, measure: &Measure, sense: Sense) {
        self.rows.push(Row { symbol, meaning: meaning.to_owned(), value: measure.value_text(sense) });
    }

    /// The same of a length that is measured along a curve.
    pub fn read_length(&mut self, id: ParamId, meaning: &str, length_m: f64) {
        let symbol = self.symbol(id);
        self.rows.push(Row { symbol, meaning: meaning.to_owned(), value: millimetres(length_m) });
    }

    fn symbol(&self, id: ParamId) -> Words {
        match id.at {
            At::Pallet(pallet) if self.names_pallets => Words::symbol_at(id.param().symbol, pallet),
            _ => Words::symbol(id.param().symbol),
        }
    }

    /// A row of the table with a count or a word, which nothing at the bench changes.
    pub fn state(&mut self, movement: &Movement, id: ParamId, meaning: &str) {
        let (symbol, value) = (self.symbol(id), value_text(movement, id));
        self.rows.push(Row { symbol, meaning: meaning.to_owned(), value });
    }

    /// A dimension with a symbol of its own, its value with the sign of `sense`.
    pub fn measure_as(&mut self, symbol: Words, meaning: &str, measure: Measure, sense: Sense) {
        let value = measure.value_text(sense);
        let words = if symbol.0.iter().all(|r| r.text.is_empty()) {
            Words::plain(value.as_str())
        } else {
            symbol.clone().then(&format!(" {value}"))
        };
        self.dimensions.push(Dimension { measure, words, side: None });
        self.rows.push(Row { symbol, meaning: meaning.to_owned(), value });
    }

    /// A length on a leader, with its row in the table.
    pub fn point_out(&mut self, id: ParamId, meaning: &str, length_m: f64, at: Vector, toward: Vector) {
        let value = millimetres(length_m);
        let words = self.symbol(id).then(&format!(" {value}"));
        self.dimensions.push(Dimension { measure: Measure::Remark { at, toward }, words, side: None });
        self.rows.push(Row { symbol: self.symbol(id), meaning: meaning.to_owned(), value });
    }

    pub fn remark(&mut self, text: &str, at: Vector, toward: Vector) {
        self.dimensions.push(Dimension {
            measure: Measure::Remark { at, toward },
            words: Words::plain(text),
            side: None,
        });
    }

    /// The rectangle that holds every shape, axis and line.
    pub fn bounds(&self) -> Option<Rect> {
        let shown = |shape: &Shape, p: &Vector| !shape.cut || self.cut.is_none_or(|cut| cut.shows(*p));
        let shapes = self
            .shapes
            .iter()
            .flat_map(|s| s.outlines.iter().flat_map(outline_points).filter(|p| shown(s, p)).collect::<Vec<_>>());
        let axes = self.axes.iter().flat_map(|(c, r)| [c + Vector::new(*r, *r), c - Vector::new(*r, *r)]);
        let ends = match self.cut {
            Some(Cut::Across { at, .. }) => vec![at],
            Some(Cut::Circle { centre, radius_m }) => {
                let r = Vector::new(radius_m, radius_m);
                return Rect::of([centre - r, centre + r]);
            }
            None => Vec::new(),
        };
        let lines = self.thin_lines.iter().chain(&self.centre_lines).flat_map(|(a, b)| [*a, *b]);
        Rect::of(shapes.chain(axes).chain(lines).chain(ends))
    }
}

/// Name of a stone in the document.
pub(crate) fn stone_part(pallet: Pallet) -> &'static str {
    match pallet {
        Pallet::Entry => "stone-entry",
        Pallet::Exit => "stone-exit",
    }
}

/// Both bankings.
pub(crate) fn bankings(build: &Build, scene: &mut Scene) {
    for (p, part) in [(Pallet::Entry, "banking-entry"), (Pallet::Exit, "banking-exit")] {
        scene.shape(part, Finish::Banking, vec![build.parts.bankings[p].profile.clone()]);
    }
}

/// A stated value as it stands on a drawing: mm to 3 decimals, degrees to 2 with their sign, counts and ratios as they are.
fn value_text(movement: &Movement, id: ParamId) -> String {
    let Some((si, _)) = movement.get(id) else { return String::new() };
    match id.param().unit {
        Unit::Millimetre => millimetres(si),
        Unit::Degree => degrees(si),
        Unit::Count => format!("{si:.0}"),
        Unit::Choice(words) => words.get(si as usize).map_or(String::new(), |w| w.replace('_', " ")),
        unit => {
            let text = format!("{:.3}", unit.from_si(si));
            format!("{} {}", text.trim_end_matches('0').trim_end_matches('.'), unit.sign()).trim_end().to_owned()
        }
    }
}

/// A length as it stands on a drawing: millimetres to 3 decimals.
pub fn millimetres(length_m: f64) -> String {
    signed(format!("{:.3}", length_m * 1e3))
}

/// An angle as it stands on a drawing: degrees to 2 decimals, with their sign.
pub fn degrees(angle_rad: f64) -> String {
    signed(format!("{:.2}°", angle_rad.to_degrees()))
}

/// With a minus sign instead of a hyphen, and none before a zero.
fn signed(text: String) -> String {
    match text.strip_prefix('-') {
        Some(size) if size.chars().any(|c| ('1'..='9').contains(&c)) => format!("\u{2212}{size}"),
        Some(size) => size.to_owned(),
        None => text,
    }
}
