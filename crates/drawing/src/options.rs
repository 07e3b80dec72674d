//! What to draw, on which sheet, and what can be wrong with the wish.

use movement::Pallet;
use plane::Vector;

use crate::panel::{Panel, Plate};

/// Pose of the three bodies at an instant of the beat.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moment {
    /// Wheel angle; at 0 the toe of tooth 0 stands on the line of centres. Anticlockwise positive.
    pub wheel_rad: f64,
    /// Lever angle from the fork in the middle, anticlockwise positive.
    pub lever_rad: f64,
    /// Jewel angle from the line pallet centre - balance centre, anticlockwise positive.
    pub jewel_rad: f64,
}

/// What a drawing shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// Wheel, lever, rollers and bankings at the moment, with centres and angles.
    Assembly,
    /// The escape wheel alone, a tooth enlarged beside it where the sheet has room.
    Wheel,
    /// The lever with both stones, fork and guard, in the middle of its travel.
    Pallets,
    /// One stone, its locking face upright.
    Stone(Pallet),
    /// Fork, guard, jewel, rollers and bankings at the moment, the bar broken off.
    Fork,
    /// Rollers and jewel, the jewel toward the pallets.
    Roller,
    /// Enlarged places on which a group of figures is measured; the panels are handed over in the options.
    Plate(Plate),
}

impl Subject {
    /// Every subject but the plates, in the order in which a set of drawings is filed.
    pub const ALL: [Subject; 7] = [
        Subject::Assembly,
        Subject::Wheel,
        Subject::Pallets,
        Subject::Stone(Pallet::Entry),
        Subject::Stone(Pallet::Exit),
        Subject::Fork,
        Subject::Roller,
    ];

    /// Its name on a command line and in a file name.
    pub fn name(self) -> &'static str {
        match self {
            Subject::Assembly => "assembly",
            Subject::Wheel => "wheel",
            Subject::Pallets => "pallets",
            Subject::Stone(Pallet::Entry) => "stone-entry",
            Subject::Stone(Pallet::Exit) => "stone-exit",
            Subject::Fork => "fork",
            Subject::Roller => "roller",
            Subject::Plate(plate) => plate.name(),
        }
    }

    /// Its name in the title block.
    pub fn title(self) -> &'static str {
        match self {
            Subject::Assembly => "Escapement, assembly",
            Subject::Wheel => "Escape wheel",
            Subject::Pallets => "Lever with stones",
            Subject::Stone(Pallet::Entry) => "Entry stone",
            Subject::Stone(Pallet::Exit) => "Exit stone",
            Subject::Fork => "Fork, guard and rollers",
            Subject::Roller => "Rollers and impulse jewel",
            Subject::Plate(plate) => plate.title(),
        }
    }

    /// The subject of that name.
    ///
    /// # Examples
    /// ```
    /// use drawing::Subject;
    /// assert_eq!(Subject::from_name("wheel"), Some(Subject::Wheel));
    /// assert!(Subject::ALL.iter().all(|s| Subject::from_name(s.name()) == Some(*s)));
    /// ```
    pub fn from_name(name: &str) -> Option<Subject> {
        let plates = Plate::ALL.into_iter().map(Subject::Plate);
        Subject::ALL.into_iter().chain(plates).find(|s| s.name() == name)
    }

    /// Whether it shows the parts at the moment of the options.
    pub fn shows_moment(self) -> bool {
        matches!(self, Subject::Assembly | Subject::Fork)
    }
}

/// Size of the drawn part over its true size.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Scale {
    /// The largest scale of the series 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8 times a power of ten at which the subject and its
    /// dimensions have room on the sheet.
    #[default]
    Fit,
    /// This ratio; 20 is 20:1, 0.5 is 1:2.
    Ratio(f64),
}

/// A sheet of paper with its frame.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Sheet {
    /// 297 mm wide, 210 mm high.
    #[default]
    A4Landscape,
    /// 210 mm wide, 297 mm high.
    A4Portrait,
    /// 420 mm wide, 297 mm high.
    A3Landscape,
    /// 297 mm wide, 420 mm high.
    A3Portrait,
    /// 594 mm wide, 420 mm high.
    A2Landscape,
    /// 11 in wide, 8.5 in high.
    LetterLandscape,
    /// 8.5 in wide, 11 in high.
    LetterPortrait,
    /// 17 in wide, 11 in high.
    TabloidLandscape,
    /// 180 mm wide, 94 mm high, without frame, title block and table, notes along its lower edge: for the page of a text.
    Page,
}

impl Sheet {
    /// Every sheet.
    pub const ALL: [Sheet; 9] = [
        Sheet::A4Landscape,
        Sheet::A4Portrait,
        Sheet::A3Landscape,
        Sheet::A3Portrait,
        Sheet::A2Landscape,
        Sheet::LetterLandscape,
        Sheet::LetterPortrait,
        Sheet::TabloidLandscape,
        Sheet::Page,
    ];

    /// Its name on a command line.
    pub fn name(self) -> &'static str {
        match self {
            Sheet::A4Landscape => "a4",
            Sheet::A4Portrait => "a4-portrait",
            Sheet::A3Landscape => "a3",
            Sheet::A3Portrait => "a3-portrait",
            Sheet::A2Landscape => "a2",
            Sheet::LetterLandscape => "letter",
            Sheet::LetterPortrait => "letter-portrait",
            Sheet::TabloidLandscape => "tabloid",
            Sheet::Page => "page",
        }
    }

    /// Its name in the title block.
    pub fn title(self) -> &'static str {
        match self {
            Sheet::A4Landscape | Sheet::A4Portrait => "A4",
            Sheet::A3Landscape | Sheet::A3Portrait => "A3",
            Sheet::A2Landscape => "A2",
            Sheet::LetterLandscape | Sheet::LetterPortrait => "Letter",
            Sheet::TabloidLandscape => "Tabloid",
            Sheet::Page => "page",
        }
    }

    /// The sheet of that name.
    pub fn from_name(name: &str) -> Option<Sheet> {
        Sheet::ALL.into_iter().find(|s| s.name() == name)
    }

    /// Width and height.
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Sheet::A4Landscape => (297.0, 210.0),
            Sheet::A4Portrait => (210.0, 297.0),
            Sheet::A3Landscape => (420.0, 297.0),
            Sheet::A3Portrait => (297.0, 420.0),
            Sheet::A2Landscape => (594.0, 420.0),
            Sheet::LetterLandscape => (279.4, 215.9),
            Sheet::LetterPortrait => (215.9, 279.4),
            Sheet::TabloidLandscape => (431.8, 279.4),
            Sheet::Page => (180.0, 94.0),
        }
    }
}

/// What stands in the title block. The date is the caller's; the drawing reads no clock.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Title {
    /// Name of the movement.
    pub name: String,
    /// Kind of escapement.
    pub kind: String,
    /// The verdict in words, or empty.
    pub verdict: String,
    /// Revision, or empty.
    pub revision: String,
    /// Date, or empty.
    pub date: String,
    /// Name of the moment, or empty; its angles are those of the options. Of a plate: which pallet and tooth.
    pub moment: String,
    /// A remark on what the drawing is worth, or empty.
    pub remark: String,
}

/// A contact to be marked: a small open circle and a thin line along its normal.
#[derive(Clone, Debug, PartialEq)]
pub struct ContactMark {
    /// Where, in the drawing's frame.
    pub point_m: Vector,
    /// Direction of the normal, in the drawing's frame; its length does not matter.
    pub normal: Vector,
    /// What is written beside it.
    pub label: String,
}

/// A figure for the table that is no dimension of what is drawn, such as a freedom.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// What it is.
    pub meaning: String,
    /// Value as written.
    pub value: String,
}

/// What to draw and how.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// What the drawing shows.
    pub subject: Subject,
    /// Its scale.
    pub scale: Scale,
    /// The sheet.
    pub sheet: Sheet,
    /// The instant, for the subjects that show one (assembly and fork).
    pub moment: Moment,
    /// Whether to put dimensions on the parts and their table beside them.
    pub dimensions: bool,
    /// Title block.
    pub title: Title,
    /// Contacts at the moment, marked on the subjects that show one (assembly and fork).
    pub contacts: Vec<ContactMark>,
    /// Figures for the end of the table.
    pub figures: Vec<Figure>,
    /// Notes, each wrapped and numbered; what was done to the parts at the bench comes before them.
    pub notes: Vec<String>,
    /// The panels of a plate.
    pub panels: Vec<Panel>,
}

impl Options {
    /// A dimensioned A4 drawing of `subject` at the largest scale that fits, at the moment of all angles 0.
    pub fn new(subject: Subject) -> Options {
        Options {
            subject,
            scale: Scale::Fit,
            sheet: Sheet::default(),
            moment: Moment::default(),
            dimensions: true,
            title: Title::default(),
            contacts: Vec::new(),
            figures: Vec::new(),
            notes: Vec::new(),
            panels: Vec::new(),
        }
    }
}

/// Why a drawing could not be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DrawingError {
    /// A number of the wish or of the parts is infinite or not a number.
    #[error("could not draw: {what} = {value}, needs a finite number")]
    NotFinite {
        /// Which number.
        what: String,
        /// The number, in the unit that `what` names.
        value: f64,
    },
    /// A scale that is no scale.
    #[error("could not draw: scale = {scale_ratio}, needs a ratio above 0")]
    NotAScale {
        /// The scale asked for.
        scale_ratio: f64,
    },
    /// The subject is larger than the sheet's free area.
    #[error(
        "could not draw at {}: the subject is {width_mm:.1} mm x {height_mm:.1} mm, needs at most {room_width_mm:.1} mm x {room_height_mm:.1} mm; the largest scale that fits is {}",
        crate::view::scale_text(*scale_ratio), crate::view::scale_text(*largest_ratio)
    )]
    TooLarge {
        /// The scale asked for.
        scale_ratio: f64,
        /// Width of the subject at that scale.
        width_mm: f64,
        /// Height of the subject at that scale.
        height_mm: f64,
        /// Width that is free on the sheet.
        room_width_mm: f64,
        /// Height that is free on the sheet.
        room_height_mm: f64,
        /// Largest scale of the series that fits.
        largest_ratio: f64,
    },
    /// Title, table and notes need more of the sheet than there is.
    #[error(
        "could not draw: title block, table and notes = {height_mm:.1} mm high, needs at most {room_mm:.1} mm; shorten the texts or take a larger sheet"
    )]
    TextTooLong {
        /// Height they need.
        height_mm: f64,
        /// Height that is there.
        room_mm: f64,
    },
    /// A plate without panels.
    #[error("could not draw the plate {plate}: panels = 0, needs at least 1; the movement may have no such action")]
    NoPanels {
        /// Name of the plate.
        plate: &'static str,
    },
    /// A contact with a normal of length 0.
    #[error("could not mark the contact {label:?}: its normal has length 0, needs a direction")]
    NoNormal {
        /// Label of the contact.
        label: String,
    },
}
