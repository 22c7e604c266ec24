//! Text, tables, lanes and drawings placed on sheets of paper, to the tenth of a millimetre. Knows nothing of rugs.
pub(super) mod booklet;
pub(super) mod draw;
mod figures;
pub(super) mod flow;
mod fonts;
pub(super) mod grid;
pub(super) mod hatch;
pub(super) mod lanes;
pub(super) mod sheet;
pub(super) mod table;
pub(super) mod text;
mod written;
