//! Stage 1 — the movement file: text in, [`Statement`] and diagnostics out.
//!
//! Knows every parameter (one table, [`TABLE`]), its unit, range and default; knows no geometry.

mod param;
mod table;
mod values;

pub use param::{At, ByPallet, IfUnstated, Indexed, Pallet, Param, ParamId, ParamKind, Role, Unit};
pub use table::TABLE;
pub use values::{Movement, Origin, Values};
