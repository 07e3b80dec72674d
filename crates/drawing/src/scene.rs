//! A picture before it has a scale: shapes, axes, centre lines, dimensions, and rows of the table beside them.
//! Everything in metres, in one frame with y up.

mod assembly;
mod fork;
pub(crate) mod lever;
mod pallets;
pub(crate) mod roller;
mod stone;
pub(crate) mod wheel;

use movement::{At, Movement, Pallet, ParamId, Unit};
use parts::Build;
use plane::{Profile, Vector};

use crate::dimension::{Dimension, Measure};
use crate::options::{ContactMark, Options, Subject};
use crate::text::Words;
use crate::view::{Rect, outline_points};

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

    /// Puts a dimension on the picture and its row in the table.
    pub fn measure(&mut self, movement: &Movement, id: ParamId, meaning: &str, measure: Measure) {
        let value = value_text(movement, id);
        self.dimensions.push(Dimension { measure, words: self.symbol(id).then(&format!(" {value}")) });
        self.row(movement, id, meaning);
    }

    fn symbol(&self, id: ParamId) -> Words {
        match id.at {
            At::Pallet(pallet) if self.names_pallets => Words::symbol_at(id.param().symbol, pallet),
            _ => Words::symbol(id.param().symbol),
        }
    }

    /// A row of the table only.
    pub fn row(&mut self, movement: &Movement, id: ParamId, meaning: &str) {
        let (symbol, value) = (self.symbol(id), value_text(movement, id));
        self.rows.push(Row { symbol, meaning: meaning.to_owned(), value });
    }

    /// A row of the table where the value is not 0.
    pub fn row_if_any(&mut self, movement: &Movement, id: ParamId, meaning: &str) {
        if is_any(movement, id) {
            self.row(movement, id, meaning);
        }
    }

    /// A measure where the value is not 0, as for roundings and bench moves.
    pub fn measure_if_any(&mut self, movement: &Movement, id: ParamId, meaning: &str, measure: Measure) {
        if is_any(movement, id) {
            self.measure(movement, id, meaning, measure);
        }
    }

    /// A dimension with words of its own.
    pub fn measure_as(&mut self, symbol: &str, value: String, meaning: &str, measure: Measure) {
        let separator = if symbol.is_empty() { "" } else { " " };
        self.dimensions.push(Dimension { measure, words: Words::plain(format!("{symbol}{separator}{value}")) });
        self.rows.push(Row { symbol: Words::plain(symbol), meaning: meaning.to_owned(), value });
    }

    pub fn remark(&mut self, text: &str, at: Vector, toward: Vector) {
        self.dimensions.push(Dimension { measure: Measure::Remark { at, toward }, words: Words::plain(text) });
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

fn is_any(movement: &Movement, id: ParamId) -> bool {
    movement.get(id).is_some_and(|(value, _)| value != 0.0)
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

/// A value as it stands on a drawing: mm to 3 decimals, degrees to 2 with their sign, counts and ratios as they are.
pub(crate) fn value_text(movement: &Movement, id: ParamId) -> String {
    let Some((si, _)) = movement.get(id) else { return String::new() };
    match id.param().unit {
        Unit::Millimetre => millimetres(si),
        Unit::Degree => degrees(si),
        Unit::Count => format!("{si:.0}"),
        Unit::Ratio => {
            let text = format!("{si:.3}");
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        }
        Unit::Choice(words) => words.get(si as usize).map_or(String::new(), |w| w.replace('_', " ")),
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
