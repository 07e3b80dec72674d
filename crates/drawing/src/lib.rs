//! Drawings to scale (layer 6): what the crate `parts` holds, as an engineer's drawing in SVG with true arcs.
//!
//! Takes a [`parts::Build`] and the poses of its bodies at an instant; gives the text of a whole document in
//! millimetres. Knows no action, no motion, no file and no clock: moment, contacts, figures and date are handed to
//! it. Every dimension is measured on what is drawn, not read from a parameter.

mod chain;
mod dimension;
mod frame;
mod guard;
mod options;
mod panel;
mod picture;
mod render;
mod rim;
mod room;
mod scene;
mod sheet;
mod style;
mod svg;
mod text;
mod view;
mod ways;

pub use frame::{Frame, disc, frame};
pub use guard::guard;
pub use options::{ContactMark, DrawingError, Figure, Moment, Options, Scale, Sheet, Subject, Title};
pub use panel::{Dimensioned, Measured, Panel, Part, Plate, State};
pub use render::render;
pub use scene::{degrees, millimetres, roller::staff};
