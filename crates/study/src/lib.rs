//! The one executor of many runs: a number of trials in, their results in order out.
//!
//! Serves every stage and is none itself: a sweep, a map, a tolerance study or a search is a [`Study`] over trial
//! numbers, and a [`Grid`] says which point of a sweep a trial number is. Knows nothing of escapements, files, clocks
//! or terminals; chance comes only from the seed that each trial is handed.
//!
//! # Examples
//! The product of two quantities at every point of a grid, on all cores, in the order of the grid:
//! ```
//! use study::{Axis, Grid, Study};
//!
//! let grid = Grid::build(vec![Axis::build(0.1, 0.3, 3)?, Axis::build(1.0, 4.0, 2)?])?;
//! let study = Study::default();
//! let outcome = study.execute(grid.count(), || (), |trial, ()| {
//!     let point = grid.point(trial.index);
//!     point[0] * point[1]
//! })?;
//! assert_eq!(outcome.into_complete().as_deref(), Some([0.1, 0.4, 0.2, 0.8, 0.3, 1.2].as_slice()));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod control;
mod execute;
mod grid;
mod seed;

pub use control::{Cancel, PROGRESS_CALLS_MAX, Progress};
pub use execute::{Outcome, Partial, Study, StudyError, Trial};
pub use grid::{Axis, Grid, GridError};
pub use seed::Seed;
