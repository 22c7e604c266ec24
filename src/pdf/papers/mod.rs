//! The papers, one file each: a struct of what it says, and how that is laid out.
pub(super) mod bands;
pub(super) mod change_tape;
pub(super) mod document;
pub(super) mod labels;
pub(super) mod loan_slip;
pub(super) mod nail_template;
pub(super) mod pull_sheet;
pub(super) mod reading_card;
pub(super) mod standing;
pub(super) mod wall_sheet;
pub(super) mod warp_card;
