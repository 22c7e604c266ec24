//! Papers as PDF at exact scale: one file per paper, over one small layout layer (`text`, `sheet`, `flow`, `lanes`).
//! Values come in, bytes go out: no database, no clock, no chance; the same input gives the same file.
mod bands;
mod change_tape;
mod draw;
mod flow;
mod hatch;
mod labels;
mod lanes;
mod loan_slip;
mod nail_template;
mod pull_sheet;
mod qr;
mod reading_card;
mod sheet;
mod table;
mod text;
mod wall_sheet;
mod warp_card;

pub use bands::{Coloured, spread};
pub use change_tape::{ChangeTape, Target};
pub use flow::{Foot, Paper};
pub use hatch::Hatch;
pub use labels::{Grid, Label, Labels};
pub use loan_slip::{CARRYING, LoanSlip};
pub use nail_template::{NailRow, NailTemplate};
pub use pull_sheet::PullSheet;
pub use qr::matrix;
pub use reading_card::ReadingCard;
pub use sheet::{MARGIN, Size, Stands, UnknownSize};
pub use table::{Column, TICK};
pub use text::{Weight, own, shortened, width, wrap};
pub use wall_sheet::WallSheet;
pub use warp_card::{CARE, CAUTION, WarpCard, first_row};

/// The size of large print in points.
const LARGE: f64 = 18.0;

/// Why a paper could not be made.
#[derive(Debug, thiserror::Error)]
pub enum PaperError {
    /// The library refused it: a fault of ours.
    #[error("the paper could not be written: {0}")]
    Pdf(String),
    /// A text is too long for a QR code.
    #[error("a QR code of {0} characters can't be made")]
    Qr(usize),
    /// Something wider or higher than a page that can't be broken over two.
    #[error("{0}")]
    NoRoom(String),
}
