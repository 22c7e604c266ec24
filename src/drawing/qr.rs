//! QR codes: ISO/IEC 18004, level M, as modules for a paper and as SVG with the quiet zone of four modules.
use std::fmt::Write as _;

use qrcode::{EcLevel, QrCode};

/// A text is too long for any QR code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a QR code of {0} characters can't be made")]
pub struct TooLong(pub usize);

/// The code's modules for a text, row by row: how many a side has, and which are dark. The quiet zone is left to the
/// caller.
///
/// # Errors
/// [`TooLong`] for a text too long for any code.
pub fn matrix(text: &str) -> Result<(usize, Vec<bool>), TooLong> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).map_err(|_| TooLong(text.len()))?;
    let dark = code.to_colors().into_iter().map(|colour| colour == qrcode::Color::Dark).collect();
    Ok((code.width(), dark))
}

/// The code for a text, as an SVG without size: the stylesheet or the page gives it one.
///
/// # Errors
/// [`TooLong`] for a text too long for any code.
///
/// # Examples
/// ```
/// let code = thrumhall::drawing::qr::svg("https://example.org/cloth/118")?;
/// assert!(code.starts_with("<svg"));
/// assert!(thrumhall::drawing::qr::svg(&"x".repeat(3_000)).is_err());
/// # Ok::<(), thrumhall::drawing::qr::TooLong>(())
/// ```
pub fn svg(text: &str) -> Result<String, TooLong> {
    let (side, dark) = matrix(text)?;
    // Writing to a string can't fail.
    let mut path = String::new();
    for (i, _) in dark.iter().enumerate().filter(|(_, dark)| **dark) {
        let _ = write!(path, "M{} {}h1v1h-1z", i % side + 4, i / side + 4);
    }
    let whole = side + 8;
    Ok(format!(
        r##"<svg class="qr" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {whole} {whole}" shape-rendering="crispEdges" role="img" aria-label="QR code"><rect width="{whole}" height="{whole}" fill="#fff"/><path d="{path}" fill="#000"/></svg>"##
    ))
}
