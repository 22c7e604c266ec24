//! Nail templates: of a frame that is to be built, and of one that is there.
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::{App, CurrentUser, Error, Print, QueryData, Result, file};
use crate::pdf::{NailRow, NailTemplate};
use crate::planning::frame::size_words;
use crate::planning::{Frame, FrameSizes};
use crate::store::{FrameId, Read};
use crate::web::http::id::{Id, PathId as _};
use crate::web::pages::build::laid_out;

pub(super) async fn of_wish(State(app): State<App>, me: CurrentUser, asked: QueryData) -> Result<Response> {
    let units = me.units();
    let form = asked.form_of(&me);
    let print = Print::in_form(form.as_ref(), units);
    let size = print.size;
    let Some(mut form) = form else { return Ok(Redirect::to("/frames/build").into_response()) };
    let Some(built) = laid_out(&app, me.id(), &mut form, units).await? else {
        // The page itself says what is wrong with which measure.
        let to = format!("/frames/build?{}", form.serialize(&["size"]));
        return Ok((StatusCode::SEE_OTHER, Redirect::to(&to)).into_response());
    };
    let (reader, wish, frame) = (me.reader(&app), built.wish, built.frame);
    let pdf = format!("/frames/build/template.pdf?{}", form.serialize(&["size", "anyway"]));
    if let Some(page) = print.warning(&me, &reader.workroom, None, &pdf) {
        return Ok(page);
    }
    let name = size_words(wish.width, wish.span, frame.rows[0].len() as i64, units);
    let (end_member, diagonals) = (frame.end_member, frame.nail_diagonals(wish.span));
    let title = format!("nail template {name}");
    let draw = move || {
        let template = NailTemplate {
            name: &name,
            rows: &NailRow::named(frame.rows, ["Upper row", "Lower row"]),
            long: end_member,
            begins: "the left end of the end member",
            span: wish.span,
            diagonals,
            nail: wish.nail,
            foot: &format!("{}, printed {}.", reader.workroom, reader.printed()),
            units,
        };
        template.pdf(size)
    };
    Ok(file(&title, app.search(me.id(), draw).await??))
}

pub(super) async fn of_frame(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<FrameId>,
    asked: QueryData,
) -> Result<Response> {
    let frame = read.frame(id).await?.ok_or_else(FrameId::none)?;
    let (units, f) = (me.units(), &frame.fields);
    let fault = |e: &dyn std::fmt::Display| Error::Internal(format!("frame {id} can't be: {e}"));
    let sizes = FrameSizes {
        span: f.span_nm,
        width: f.width_nm,
        nails: u32::try_from(f.nails).unwrap_or(0),
        pitch: f.pitch_nm,
        nail_diameter: None,
    };
    let places = Frame::new(sizes, units)
        .map_err(|e| fault(&e))
        .and_then(|frame| f.nail_rows.places(&frame, units).map_err(|e| fault(&e)))?;
    let (rows, long) = NailRow::of(&places);
    let diagonals = places.diagonals(f.span_nm);
    let name = size_words(f.width_nm, f.span_nm, f.nails, units);
    let (reader, print, title) = (me.reader(&app), Print::of(&me, asked), format!("nail template {}", f.tag));
    let said = f.tag.clone() + &reader.workroom;
    if let Some(page) = print.warning(&me, &said, None, &format!("/frames/{id}/template.pdf")) {
        return Ok(page);
    }
    let draw = move || {
        let f = &frame.fields;
        let template = NailTemplate {
            name: &format!("Frame {}, {name}", f.tag),
            rows: &rows,
            long,
            begins: &format!("a line {} before the first nail", NailRow::BEYOND.show_fine(units)),
            span: f.span_nm,
            diagonals,
            nail: crate::optimize::new_frame::Wish::usual(f.width_nm, f.span_nm).nail,
            foot: &format!("{}, printed {}.", reader.workroom, reader.printed()),
            units,
        };
        template.pdf(print.size)
    };
    drop(read);
    Ok(file(&title, app.search(me.id(), draw).await??))
}
