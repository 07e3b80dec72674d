//! Stage 1 — the movement file: text in, [`Statement`] and diagnostics out.
//!
//! Knows every parameter (one table, [`TABLE`]), its unit, range and default; knows no geometry: whether the parts fit
//! one another, and what is derived where nothing is stated, is settled by the stages that follow.
//!
//! # Limits
//! Opens no file and asks for nothing: it is given text and returns values. A text is read up to [`MAX_BYTES`].
//!
//! # Examples
//! A movement file is read, a fault is found, mended by an override, and written back with its comments.
//! ```
//! use movement::{Pallet, ParamKind, read, render, rewrite};
//!
//! let text = "format = 1
//! name = \"watch 1\"
//! [wheel]
//! tooth_count = 15
//! locking_radius_mm = 4.0   # measured
//! [pallets]
//! lock_deg = 1.5            # both pallets
//! exit.lock_deg = 11        # a slip
//! ";
//! let mut reading = read("watch.toml", text);
//! let fault = &reading.diagnostics[0];
//! assert_eq!((fault.code, fault.value.as_deref()), ("out-of-range", Some("11 deg")));
//! assert_eq!(fault.allowed.as_deref(), Some("-5 to 10 deg"));
//! assert!(render(&reading.diagnostics, &reading.statement, false).contains("watch.toml:8:17"));
//!
//! // The faulty value is absent, not replaced.
//! let exit = ParamKind::PalletLock.at(Pallet::Exit);
//! assert_eq!(reading.statement.values.get(exit), None);
//! reading.statement.set("pallets.exit.lock_deg=1.25").expect("within the range");
//! assert_eq!(reading.statement.values.get(exit), Some(1.25_f64.to_radians()));
//!
//! let mended = text.replace("= 11 ", "= 1.1 ");
//! let written = rewrite(&mended, &[(ParamKind::WheelLockingRadius.once(), Some(4.25))]).expect("in range");
//! assert!(written.contains("locking_radius_mm = 4.25   # measured\n"));
//! ```

mod diagnostic;
mod keys;
mod limits;
mod param;
mod place;
mod read;
mod render;
mod rewrite;
mod schema;
mod set;
mod statement;
mod syntax;
mod table;
mod template;
mod unstated;
mod value;
mod values;

pub use diagnostic::{Diagnostic, Place, Severity};
pub use limits::{MAX_BYTES, MAX_NESTING};
pub use param::{At, ByPallet, IfUnstated, Indexed, Pallet, Param, ParamId, ParamKind, Role, Unit};
pub use read::{FORMAT, MAX_DIAGNOSTICS, Reading, read, read_bytes};
pub use render::render;
pub use rewrite::rewrite;
pub use schema::json_schema;
pub use statement::{KINDS, SET_SOURCE, Statement};
pub use table::TABLE;
pub use template::template;
pub use value::{allowed_text, nearest, unstated_text, value_text};
pub use values::{Movement, Origin, Values};
