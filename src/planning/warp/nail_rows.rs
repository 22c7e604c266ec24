//! Where the nails of both rows stand. Which of them the warp takes, and in which order, is for `winding`.
use crate::planning::frame::Frame;
use crate::units::{Length, Units};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// How the two nail rows of a frame stand to each other.
///
/// # Examples
/// ```
/// use thrumhall::planning::warp::nail_rows::NailRows;
/// # use thrumhall::planning::{Frame, FrameSizes};
/// # use thrumhall::units::{Length, Units};
/// # let sizes = FrameSizes {
/// #     span: Length::inches(33.0), width: Length::inches(18.0), nails: 33, pitch: None, nail_diameter: None,
/// # };
/// # let frame = Frame::new(sizes, Units::Inches)?;
///
/// // The small frame, its far row one nail short: each far nail stands between two near ones.
/// let places = NailRows::SetOff { far_nails: 32, by: None }.places(&frame, Units::Inches)?;
/// assert_eq!((places.near.len(), places.far.len()), (33, 32));
/// assert_eq!((places.near[1], places.far[0]), (Length::inches(9.0 / 16.0), Length::inches(9.0 / 32.0)));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, Hash)]
#[serde(rename_all = "snake_case", tag = "rows")]
pub enum NailRows {
    /// Equal rows, evenly spaced, nail facing nail.
    #[default]
    Facing,
    /// Both rows evenly spaced by the frame's pitch, the far row of another number or set off sideways.
    SetOff {
        /// Nails of the far row; the near row has the frame's nails per end.
        far_nails: u32,
        /// How much farther along the row the far row's first nail stands than the near row's; when nobody measured it,
        /// the rows are taken as centred on each other. Less than nothing where it stands before it.
        by: Option<Length>,
    },
    /// Every nail measured along its row, from one line across the frame, such as a rod.
    Measured {
        /// Places in the near row, in order.
        near: Vec<Length>,
        /// Places in the far row, in order.
        far: Vec<Length>,
    },
}

/// Nail places of both rows, each in order, measured from one line across the frame.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Places {
    /// The row at which the weaving begins.
    pub near: Vec<Length>,
    /// The other row.
    pub far: Vec<Length>,
}

impl Places {
    /// Between outer nails from corner to corner, where the rows stand so far apart: from the first near nail to the last far
    /// one, and from the last near one to the first far one. They are alike where the rows are. Nothing of an empty row.
    pub fn diagonals(&self, span: Length) -> Option<[Length; 2]> {
        let across = |from: &Length, to: &Length| Length::millimetres(span.mm().hypot((*to - *from).mm()));
        let (near, far) = (&self.near, &self.far);
        Some([across(near.first()?, far.last()?), across(near.last()?, far.first()?)])
    }
}

/// Why nail rows can't be.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RowsError {
    /// Too few or too many nails in the far row.
    #[error("Far row: {nails} nails are out of range: from {min} to {max} is allowed.")]
    Nails {
        /// What was given.
        nails: usize,
        /// The fewest.
        min: u32,
        /// The most.
        max: u32,
    },
    /// The rows are set off by more than the frame is wide.
    #[error("The far row is set off by {by}, but the frame is only {width} wide.")]
    SetOff {
        /// What was given.
        by: String,
        /// The frame's width.
        width: String,
    },
    /// A list of places has another number of nails than the frame.
    #[error("Near row: {given} places are listed, but the frame has {nails} nails per end.")]
    Count {
        /// Places given.
        given: usize,
        /// Nails of the frame.
        nails: u32,
    },
    /// Two nails in the wrong order, or too close.
    #[error(
        "{row} row: nail {number} is at {place}, and the one before it at {before}: each must stand at least {least} further on."
    )]
    Order {
        /// Which row.
        row: &'static str,
        /// The later nail, counted from 1.
        number: usize,
        /// Its place.
        place: String,
        /// The place of the nail before it.
        before: String,
        /// The least distance.
        least: String,
    },
    /// A place beyond the frame.
    #[error("{row} row: a nail at {place} stands outside the frame, which is {width} wide.")]
    Outside {
        /// Which row.
        row: &'static str,
        /// The place.
        place: String,
        /// The frame's width.
        width: String,
    },
}

impl NailRows {
    /// The places of all nails on that frame.
    ///
    /// # Errors
    /// [`RowsError`] for rows that don't belong to the frame, worded in the person's units.
    pub fn places(&self, frame: &Frame, units: Units) -> Result<Places, RowsError> {
        let evenly = |nails: u32, from: Length| -> Vec<Length> {
            (0..nails).map(|i| from + frame.pitch() * i64::from(i)).collect()
        };
        let near = evenly(frame.nails(), Length::ZERO);
        match self {
            Self::Facing => Ok(Places { far: near.clone(), near }),
            Self::SetOff { far_nails, by } => {
                in_number(*far_nails as usize)?;
                let row = |nails: u32| frame.pitch() * i64::from(nails - 1);
                let by = by.unwrap_or_else(|| (row(frame.nails()) - row(*far_nails)).scale(0.5));
                if by.abs() > frame.width() {
                    let [by, width] = [by, frame.width()].map(|l| l.show(units));
                    return Err(RowsError::SetOff { by, width });
                }
                Ok(Places { near, far: evenly(*far_nails, by) })
            }
            Self::Measured { near, far } => {
                if near.len() != frame.nails() as usize {
                    return Err(RowsError::Count { given: near.len(), nails: frame.nails() });
                }
                in_number(far.len())?;
                in_order("Near", near, frame, units)?;
                in_order("Far", far, frame, units)?;
                Ok(Places { near: near.clone(), far: far.clone() })
            }
        }
    }
}

fn in_number(nails: usize) -> Result<(), RowsError> {
    let (min, max) = (Frame::MIN_NAILS, Frame::MAX_NAILS);
    if (min as usize..=max as usize).contains(&nails) {
        return Ok(());
    }
    Err(RowsError::Nails { nails, min, max })
}

fn in_order(row: &'static str, places: &[Length], frame: &Frame, units: Units) -> Result<(), RowsError> {
    // A nail's thickness: closer nails are one nail listed twice.
    let least = Length::inches(1.0 / 16.0);
    for (i, pair) in places.windows(2).enumerate() {
        if pair[1] - pair[0] < least {
            let [place, before, least] = [pair[1], pair[0], least].map(|l| l.show(units));
            return Err(RowsError::Order { row, number: i + 2, place, before, least });
        }
    }
    let (margin, width) = (frame.width().scale(0.25), frame.width());
    match places.iter().find(|&&place| place < Length::ZERO - margin || place > width + margin) {
        Some(place) => Err(RowsError::Outside { row, place: place.show(units), width: width.show(units) }),
        None => Ok(()),
    }
}
