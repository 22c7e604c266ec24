//! Papers as PDF at exact scale: one file per paper in `papers`, over one small layer of layout.
//! Values come in, bytes go out: no database, no clock, no chance; the same input gives the same file.
pub(crate) mod kept;
mod layout;
mod papers;

pub use crate::services::paper_data::{Label, Standing};
pub use layout::booklet::imposition;
pub use layout::flow::{Foot, Paper};
pub use layout::hatch::Hatch;
pub use layout::sheet::{MARGIN, Size, TextBox, UnknownSize};
pub use layout::table::{Column, TICK, with_swatch};
pub use layout::text::{Weight, shortened, undrawn, width, wrap};
pub use papers::bands::{Coloured, spread};
pub use papers::change_tape::{ChangeTape, Target};
pub use papers::document::{document_paper, document_pdf};
pub use papers::labels::{Grid, Labels};
pub use papers::loan_slip::{CARRYING, LoanSlip};
pub use papers::nail_template::{NailRow, NailTemplate};
pub use papers::pull_sheet::PullSheet;
pub use papers::reading_card::{BY_CHART, ReadingCard};
pub use papers::wall_sheet::WallSheet;
pub use papers::warp_card::{CARE, CAUTION, WarpCard, far_row, first_row, passed_by, turned};

use crate::drawing::qr::TooLong;

/// The size of figures that are read from a metre away, in points: capitals of 5.8 mm, which in Noto Sans are 0.714 of the size.
/// Source: ISO 9241-3 and NUREG-0700, 20 minutes of arc (published check 10.22).
const FROM_A_METRE: f64 = 23.1;

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
