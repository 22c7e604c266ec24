//! QR codes: ISO/IEC 18004, level M. The quiet zone of four modules is whoever draws it's to leave.
use qrcode::{EcLevel, QrCode};

use super::PaperError;

/// The code's modules for a text, row by row: how many a side has, and which are dark.
///
/// # Errors
/// [`PaperError::Qr`] for a text too long for any code.
pub fn matrix(text: &str) -> Result<(usize, Vec<bool>), PaperError> {
    let code =
        QrCode::with_error_correction_level(text, EcLevel::M).map_err(|_| PaperError::Qr(text.len()))?;
    let dark = code.to_colors().into_iter().map(|colour| colour == qrcode::Color::Dark).collect();
    Ok((code.width(), dark))
}
