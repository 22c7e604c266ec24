//! Papers as PDF at exact scale: one file per paper in `papers`, over one small layer of layout.
//! Values come in, bytes go out: no database, no clock, no chance; the same input gives the same file.
pub(crate) mod kept;
mod layout;
mod papers;

pub use crate::services::paper_data::Label;
pub use layout::flow::{Foot, Paper};
pub use layout::hatch::Hatch;
pub use layout::sheet::{MARGIN, Size, TextBox, UnknownSize};
pub use layout::table::{Column, TICK};
pub use layout::text::{Weight, shortened, width, wrap};
pub use papers::bands::{Coloured, spread};
pub use papers::change_tape::{ChangeTape, Target};
pub use papers::labels::{Grid, Labels};
pub use papers::loan_slip::{CARRYING, LoanSlip};
pub use papers::nail_template::{NailRow, NailTemplate};
pub use papers::pull_sheet::PullSheet;
pub use papers::reading_card::ReadingCard;
pub use papers::wall_sheet::WallSheet;
pub use papers::warp_card::{CARE, CAUTION, WarpCard, first_row};

use crate::drawing::qr::TooLong;

/// The size of large print in points.
const LARGE: f64 = 18.0;

/// Why a paper could not be made.
#[derive(Debug, thiserror::Error)]
pub enum PaperError {
    /// The library refused it: our own fault.
    #[error("the paper could not be written: {0}")]
    Pdf(String),
    /// A text is too long for a QR code.
    #[error(transparent)]
    Qr(#[from] TooLong),
    /// Something wider or higher than a page that can't be broken over two.
    #[error("{0}")]
    NoRoom(String),
}
