//! A frame's sizes and nail rows, read from a form and said in one line: the same for a frame and for a rug that is planned
//! for one.
use crate::planning::frame::{Frame, FrameError, FrameSizes};
use crate::planning::warp::nail_rows::{NailRows, RowsError};
use crate::units::{Length, Units};
use crate::web::Form;

/// How the nail rows stand to each other, in few words; nothing where they are equal and face each other.
pub(in crate::web) fn rows_said(rows: &NailRows, units: Units) -> Option<String> {
    match rows {
        NailRows::Facing => None,
        NailRows::SetOff { far_nails, by: None } => Some(format!("far row {far_nails} nails, centred")),
        NailRows::SetOff { far_nails, by: Some(by) } => {
            Some(format!("far row {far_nails} nails, set off by {}", by.show(units)))
        }
        NailRows::Measured { near, far } => {
            Some(format!("measured nail by nail: {} and {}", near.len(), far.len()))
        }
    }
}

/// The fields of nail rows and their values, as a form shows them.
pub(in crate::web) fn rows_typed(rows: &NailRows, units: Units) -> [(&'static str, &'static str, String); 4] {
    let list =
        |places: &[Length]| places.iter().map(|place| place.exact(units)).collect::<Vec<_>>().join("; ");
    let mut typed = [const { String::new() }; 4];
    match rows {
        NailRows::Facing => {}
        NailRows::SetOff { far_nails, by } => {
            typed[0] = far_nails.to_string();
            typed[1] = by.map_or_else(String::new, |by| by.exact(units));
        }
        NailRows::Measured { near, far } => {
            typed[2] = list(near);
            typed[3] = list(far);
        }
    }
    let [far_nails, set_off, near, far] = typed;
    [
        ("far_nails", "The number of nails of the far row", far_nails),
        ("set_off", "How far the far row is set off", set_off),
        ("near_places", "The places of the near row’s nails", near),
        ("far_places", "The places of the far row’s nails", far),
    ]
}

/// Whether the part of a form that is for unusual nail rows has something to show.
pub(in crate::web) fn rows_open(form: &Form) -> bool {
    ["far_nails", "set_off", "near_places", "far_places"]
        .iter()
        .any(|name| !form.is_empty(name) || form.error(name).is_some())
}

/// Reads a frame's sizes, `span`, `width`, `nails` and `pitch`, and its nail rows, `far_nails`, `set_off`, `near_places`
/// and `far_places`, and checks that they make a frame together.
pub(in crate::web) fn read_sizes(form: &mut Form) -> Option<(FrameSizes, NailRows)> {
    let (least, most) = (Frame::MIN_SIDE, Frame::MAX_SIDE);
    let span = form.length("span", least, most);
    let width = form.length("width", least, most);
    let nails = i64::from(Frame::MIN_NAILS)..=i64::from(Frame::MAX_NAILS);
    let nails = form.count("nails", "The number of nails per end", nails);
    let pitch = form
        .optional("pitch", None, |form| form.length("pitch", Frame::MIN_PITCH, Frame::MAX_PITCH).map(Some));
    let rows = read_rows(form, nails);
    let sizes = FrameSizes {
        span: span?,
        width: width?,
        nails: u32::try_from(nails?).ok()?,
        pitch: pitch?,
        nail_diameter: None,
    };
    let rows = rows?;
    match Frame::new(sizes, form.units()) {
        Ok(frame) => match rows.places(&frame, form.units()) {
            Ok(_) => return Some((sizes, rows)),
            Err(refusal) => form.add_error(rows_field(&refusal), refusal),
        },
        Err(FrameError::Pitch(range)) => {
            form.add_error(
                "nails",
                format!("Spread evenly over the width, so many nails have no usual pitch. {range}"),
            );
        }
        Err(FrameError::RowMisfit { nails, pitch, row, width }) => form.add_error(
            "pitch",
            format!("{nails} nails, each {pitch} from the next, make a row of {row}; the width is {width}."),
        ),
        Err(other) => form.add_error("", other),
    }
    None
}

/// The field that nail rows were refused for.
pub(in crate::web) fn rows_field(refusal: &RowsError) -> &'static str {
    match refusal {
        RowsError::SetOff { .. } => "set_off",
        RowsError::Nails { .. } => "far_nails",
        RowsError::Count { .. } => "near_places",
        RowsError::Order { row, .. } | RowsError::Outside { row, .. } => {
            if *row == "Far" {
                "far_places"
            } else {
                "near_places"
            }
        }
    }
}

fn read_rows(form: &mut Form, nails: Option<i64>) -> Option<NailRows> {
    if !(form.is_empty("near_places") && form.is_empty("far_places")) {
        let near = read_places(form, "near_places", "near")?;
        let far = read_places(form, "far_places", "far")?;
        return Some(NailRows::Measured { near, far });
    }
    if form.is_empty("far_nails") && form.is_empty("set_off") {
        return Some(NailRows::Facing);
    }
    let range = i64::from(Frame::MIN_NAILS)..=i64::from(Frame::MAX_NAILS);
    let far_nails = if form.is_empty("far_nails") {
        nails
    } else {
        form.count("far_nails", "The number of nails of the far row", range)
    };
    let by = form.optional("set_off", None, |form| {
        form.length("set_off", Frame::MAX_PITCH * -1, Frame::MAX_PITCH).map(Some)
    });
    Some(NailRows::SetOff { far_nails: u32::try_from(far_nails?).ok()?, by: by? })
}

fn read_places(form: &mut Form, name: &str, row: &str) -> Option<Vec<Length>> {
    // A comma may be a decimal one; only with a blank after it does it end a place.
    let typed = form.value(name).replace(", ", ";");
    let places = typed.split([';', '\n']).map(str::trim).filter(|text| !text.is_empty());
    let mut read = Vec::new();
    for (i, text) in places.enumerate() {
        match Length::parse(text, form.units()) {
            Ok(place) => read.push(place),
            Err(refusal) => {
                form.add_error(name, format!("Nail {} of the {row} row: {refusal}", i + 1));
                return None;
            }
        }
    }
    if read.is_empty() {
        form.add_error(
            name,
            format!("The places of the {row} row are missing: where one row is measured, both are."),
        );
        return None;
    }
    Some(read)
}
