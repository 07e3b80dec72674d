//! Layer 0 — the plane: lines, arcs, profiles made of them, and where two bodies touch when one turns.
//!
//! Knows no horology and no unit: lengths are in whatever unit the caller uses, angles in radians, anticlockwise
//! positive. Profiles stay exact lines and arcs; nothing here approximates a curve by a polygon.
//!
//! ```
//! use plane::{Corner, Edge, Label, Profile, Vector, features, touches};
//! // A square of side 2 about the origin, and a needle from (3, 0) to (1.5, 0) turned about (3, 0).
//! let at = |x: f64, y: f64| Vector::new(x, y);
//! let side = |a, b| (Corner::Sharp, Label(0), Edge::Line { start: a, end: b, label: Label(0) });
//! let corners = [at(-1.0, -1.0), at(1.0, -1.0), at(1.0, 1.0), at(-1.0, 1.0)];
//! let square = Profile::with_corners(&[0, 1, 2, 3].map(|i| side(corners[i], corners[(i + 1) % 4])), true)?;
//! assert_eq!(square.area(), 4.0);
//! # Ok::<(), plane::ProfileError>(())
//! ```

mod contact;
mod edge;
mod feature;
mod gap;
mod overlap;
mod profile;
mod vector;

pub use contact::{Touch, touches, touches_of_pair};
pub use edge::{Edge, Label};
pub use feature::{Feature, Flat, Round, SLACK_RATIO, Shape, features};
pub use gap::{Gap, smallest_gap};
pub use profile::{Corner, Profile, ProfileError};
pub use vector::{Pose, Vector, cross, direction_rad, polar, quarter, wrap_rad, wrap_to};
