//! Stage 1 — the movement file: text in, [`Statement`] and diagnostics out.
//!
//! Knows every parameter (one table, [`TABLE`]), its unit, range and default; knows no geometry.

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
pub use value::{allowed_text, value_text};
pub use values::{Movement, Origin, Values};
