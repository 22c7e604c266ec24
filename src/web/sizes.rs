//! A frame's sizes, read from a form and said in one line: the same for a frame and for a rug that is planned for one.
use super::Form;
use crate::craft::frame::{Frame, FrameError, FrameSizes};
use crate::craft::units::{Length, Units};

/// A frame's size as the trade says it, width × span: `18 in × 33 in, 33 nails per end`.
pub(super) fn said(width: Length, span: Length, nails: i64, units: Units) -> String {
    format!("{} × {}, {nails} nails per end", width.show(units), span.show(units))
}

/// Reads a frame's sizes, `span`, `width`, `nails` and `pitch`, and checks that they make a frame together.
pub(super) fn read_sizes(form: &mut Form) -> Option<FrameSizes> {
    let (least, most) = (Frame::MIN_SIDE, Frame::MAX_SIDE);
    let span = form.length("span", least, most);
    let width = form.length("width", least, most);
    let nails = i64::from(Frame::MIN_NAILS)..=i64::from(Frame::MAX_NAILS);
    let nails = form.count("nails", "The number of nails per end", nails);
    let pitch = if form.is_empty("pitch") {
        Some(None)
    } else {
        form.length("pitch", Frame::MIN_PITCH, Frame::MAX_PITCH).map(Some)
    };
    let sizes = FrameSizes {
        span: span?,
        width: width?,
        nails: u32::try_from(nails?).ok()?,
        pitch: pitch?,
        nail_diameter: None,
    };
    match Frame::new(sizes, form.units()) {
        Ok(_) => return Some(sizes),
        Err(FrameError::Pitch(range)) => {
            form.refuse(
                "nails",
                format!("Spread evenly over the width, so many nails have no usual pitch. {range}"),
            );
        }
        Err(FrameError::RowMisfit { nails, pitch, row, width }) => form.refuse(
            "pitch",
            format!("{nails} nails, each {pitch} from the next, make a row of {row}; the width is {width}."),
        ),
        Err(other) => form.refuse("", other),
    }
    None
}
