//! QR codes as SVG: ISO/IEC 18004, level M, with the quiet zone of four modules.
use std::fmt::Write as _;

use super::Error;
use crate::paper::matrix;

/// The code for a text, as an SVG without size: the stylesheet or the page gives it one.
pub(super) fn svg(text: &str) -> Result<String, Error> {
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
