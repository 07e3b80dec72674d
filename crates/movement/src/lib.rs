//! Stage 1 — the movement file: text in, [`Statement`] and diagnostics out.
//!
//! Knows every parameter (one table, [`TABLE`]), its unit, range and default; knows no geometry.

mod diagnostic;
mod param;
mod place;
mod statement;
mod table;
mod values;

pub use diagnostic::{Diagnostic, Place, Severity};
pub use param::{At, ByPallet, IfUnstated, Indexed, Pallet, Param, ParamId, ParamKind, Role, Unit};
pub use statement::{KINDS, SET_SOURCE, Statement};
pub use table::TABLE;
pub use values::{Movement, Origin, Values};
