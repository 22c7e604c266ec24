//! A frame to build: from its width, span and nails to members, rods and cautions.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::{App, CurrentUser, Form, Layout, QueryData, Result};
use crate::drawing::frame as frame_picture;
use crate::optimize::new_frame::{CAUTION, Corner, NewFrame, NewFrameError, Wish};
use crate::planning::frame::{Frame, FrameError};
use crate::planning::plan::{RodPlan, rod_plan};
use crate::planning::rods::{Bow, STRAIGHT, SidePull, bow};
use crate::store::PersonId;
use crate::units::{Length, Units};
use crate::web::http::answer::checked;

#[derive(askama::Template, WebTemplate)]
#[template(path = "build/frame.html")]
struct FramePage {
    layout: Layout,
    form: Form,
    built: Option<Built>,
    instructor: bool,
    units: Units,
}

impl FramePage {
    /// What was asked, for the template's address.
    fn measures(&self) -> String {
        self.form.serialize(&[])
    }

    /// Whether something under the fold is wrong.
    fn wood_wrong(&self) -> bool {
        ["nail", "timber", "clearance", "board", "kerf", "corner"]
            .iter()
            .any(|name| self.form.error(name).is_some())
    }
}

/// A frame with its drawing and its rods.
pub(in crate::web) struct Built {
    pub(in crate::web) wish: Wish,
    pub(in crate::web) frame: NewFrame,
    picture: String,
    rods: RodPlan,
    /// A rod of the frame's span, held at its ends alone.
    loose: Bow,
}

/// One nail's place, for the table to mark by.
struct NailPlace {
    number: usize,
    upper: String,
    lower: String,
}

impl Built {
    fn places(&self, units: Units) -> Vec<NailPlace> {
        let [upper, lower] = &self.frame.rows;
        let said =
            |row: &[Length], at: usize| row.get(at).map_or_else(String::new, |place| place.show_fine(units));
        (0..upper.len())
            .map(|at| NailPlace { number: at + 1, upper: said(upper, at), lower: said(lower, at) })
            .collect()
    }

    /// When the frame is square: by the diagonals between its outer nails.
    fn square(&self, units: Units) -> String {
        let ways = self.frame.nail_diagonals(self.wish.span).map(|both| both.map(|way| way.show_fine(units)));
        match ways {
            Some([one, other]) if one != other => {
                format!("between outer nails {one} from the upper left and {other} from the upper right")
            }
            Some([one, _]) => format!("between outer nails both diagonals measure {one}"),
            None => String::new(),
        }
    }

    fn alike(&self) -> bool {
        self.frame.rows[0] == self.frame.rows[1]
    }

    fn bought(&self, units: Units) -> String {
        let bars =
            self.frame.rods.buy.iter().map(|(length, count)| format!("{count} of {}", length.show(units)));
        bars.collect::<Vec<_>>().join(" and ")
    }

    /// The address of the form that lists the frame, filled in.
    fn listing(&self, units: Units) -> String {
        let mut query = form_urlencoded::Serializer::new(String::new());
        query.append_pair("span", &self.wish.span.exact(units));
        query.append_pair("width", &self.wish.width.exact(units));
        query.append_pair("nails", &self.frame.rows[0].len().to_string());
        format!("/frames/new?{}", query.finish())
    }
}

fn blank(units: Units) -> Form {
    let usual = Wish::usual(Length::inches(18.0), Length::inches(33.0));
    Form::blank(units)
        .with("width", usual.width.exact(units))
        .with("span", usual.span.exact(units))
        .with("pitch", usual.pitch.exact(units))
        .with("nail", usual.nail.exact(units))
        .with("timber", usual.timber.exact(units))
        .with("clearance", usual.clearance.exact(units))
        .with("board", usual.board.exact(units))
        .with("kerf", usual.kerf.exact(units))
        .with("corner", "half-lap")
}

fn read(form: &mut Form) -> Option<Wish> {
    let inches = Length::inches;
    let width = form.length("width", Frame::MIN_SIDE, Frame::MAX_SIDE);
    let span = form.length("span", Frame::MIN_SIDE, Frame::MAX_SIDE);
    let nails = form.optional("nails", None, |form| {
        let most = i64::from(Frame::MIN_NAILS)..=i64::from(Frame::MAX_NAILS);
        form.count("nails", "The number of nails per end", most).map(Some)
    });
    // Nails that are counted settle the pitch, whatever stands there.
    let pitch = match (nails, width) {
        (Some(Some(nails)), Some(width)) => spread(form, width, nails),
        (Some(None), _) => form.length("pitch", Frame::MIN_PITCH, Frame::MAX_PITCH),
        _ => None,
    };
    let nail = form.length("nail", inches(0.02), inches(0.5));
    let timber = form.length("timber", inches(0.5), inches(6.0));
    let clearance = form.length("clearance", Length::ZERO, inches(12.0));
    let board = form.length("board", inches(12.0), inches(480.0));
    let kerf = form.length("kerf", Length::ZERO, inches(0.5));
    let corner = match form.value("corner") {
        "half-lap" => Some(Corner::HalfLap),
        "butt" => Some(Corner::Butt),
        _ => {
            form.add_error("corner", "Choose how the corners are made.");
            None
        }
    };
    Some(Wish {
        width: width?,
        span: span?,
        pitch: pitch?,
        nail: nail?,
        staggered: form.ticked("staggered"),
        timber: timber?,
        clearance: clearance?,
        corner: corner?,
        board: board?,
        kerf: kerf?,
    })
}

/// The pitch of so many nails spread over the width.
fn spread(form: &mut Form, width: Length, nails: i64) -> Option<Length> {
    let pitch = width.scale(1.0 / (nails - 1) as f64);
    if (Frame::MIN_PITCH..=Frame::MAX_PITCH).contains(&pitch) {
        return Some(pitch);
    }
    let units = form.units();
    let [pitch, min, max] = [pitch, Frame::MIN_PITCH, Frame::MAX_PITCH].map(|length| length.show(units));
    form.add_error(
        "nails",
        format!("That many nails would stand {pitch} apart: from {min} to {max} is allowed."),
    );
    None
}

/// Which field a refusal belongs to.
fn field(refusal: &NewFrameError) -> &'static str {
    match refusal {
        NewFrameError::Frame(FrameError::Span(_)) => "span",
        NewFrameError::Frame(FrameError::Width(_)) => "width",
        NewFrameError::Frame(FrameError::NailDiameter(_)) => "nail",
        NewFrameError::Frame(_) | NewFrameError::Pitch { .. } => "pitch",
        NewFrameError::Wood { what: "Timber width", .. } => "timber",
        NewFrameError::Wood { what: "Clearance", .. } => "clearance",
        NewFrameError::Wood { what: "Kerf", .. } => "kerf",
        NewFrameError::Wood { .. } | NewFrameError::Cutting { what: "Members", .. } => "board",
        NewFrameError::Cutting { .. } => "span",
    }
}

fn built(wish: Wish, units: Units) -> Result<Built, NewFrameError> {
    let frame = NewFrame::of(&wish, units)?;
    let rods = rod_plan(wish.span);
    Ok(Built {
        picture: frame_picture::svg(&frame, &wish, units, "frame"),
        loose: bow(wish.span, rods.diameter, SidePull::WEFT),
        wish,
        frame,
        rods,
    })
}

/// The frame that a form asks for; nothing where something in it is wrong, which then stands at its field.
pub(in crate::web) async fn laid_out(
    app: &App,
    who: PersonId,
    form: &mut Form,
    units: Units,
) -> Result<Option<Built>> {
    let Some(wish) = read(form) else { return Ok(None) };
    match app.search(who, move || built(wish, units)).await? {
        Ok(frame) => return Ok(Some(frame)),
        Err(NewFrameError::Cutting { what: "Members", .. }) => {
            form.add_error("board", "The members are longer than the boards they are cut from.");
        }
        Err(NewFrameError::Cutting { .. }) => {
            form.add_error("span", "No rod is sold that is long enough for this span.");
        }
        Err(refusal) => form.add_error(field(&refusal), refusal),
    }
    Ok(None)
}

pub(super) async fn look(State(app): State<App>, me: CurrentUser, asked: QueryData) -> Result<Response> {
    let units = me.units();
    let mut form = asked.form_of(&me).unwrap_or_else(|| blank(units));
    let found = laid_out(&app, me.id(), &mut form, units).await?;
    let is_ok = form.is_ok();
    let page = FramePage { layout: me.layout(), form, built: found, instructor: me.is_instructor(), units };
    Ok(checked(is_ok, page))
}
