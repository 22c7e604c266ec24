//! The form of a hand-out as a page: what can be chosen, how well it fits, and what is out.
use askama_web::WebTemplate;

use crate::optimize::fit::Fit;
use crate::planning::frame::size_words;
use crate::services::hand_out::{HandOutData, HandOutStart, fit_of};
use crate::services::turns::{of_rug, words};
use crate::store::LoanId;
use crate::store::frames::{Condition, Frame};
use crate::store::loans::RugInLine;
use crate::store::timetable::Place;
use crate::units::Units;
use crate::units::dates::short_day;
use crate::web::pages::loans::words_of;
use crate::web::{CurrentUser, Form, Layout};

/// The page for a form, as things lie on the desk.
pub(super) fn page(data: &HandOutData, me: &CurrentUser, form: Form) -> HandOutPage {
    let units = me.units();
    let (title, lead, name, picks, away) = match data.start {
        HandOutStart::Frame(_) => {
            let frame = &data.frames[0];
            let picks = data.rugs.iter().map(|rug| pick_rug(rug, frame, &data.turns, units)).collect();
            let title = format!("Hand out frame {}", frame.fields.tag);
            (title, frame_size(frame, units), "rug", picks, Vec::new())
        }
        HandOutStart::Rug(_) => {
            let rug = &data.rugs[0];
            let picks = data.frames_inside().map(|frame| pick_frame(frame, rug, units)).collect();
            let out = data.frames_away(rug).into_iter();
            let away = out.filter_map(|frame| away(frame, units)).collect();
            let turn = of_rug(&data.turns, rug.rug_id);
            let turn = turn.map_or_else(String::new, |turn| format!(" By the timetable: {}.", words(turn)));
            let lead = format!("{}, planned for {}.{turn}", rug.rug, rug_size(rug, units));
            (format!("A frame for {}", rug.weaver), lead, "frame", picks, away)
        }
    };
    let rods = data
        .rods_to_choose()
        .map(|rod| (rod.id.to_string(), format!("{}, {} here", rod.size(units), rod.inside())))
        .chain([("none".to_owned(), "no rods".to_owned())])
        .collect();
    HandOutPage { layout: me.layout(), form, back: path_of(data.start), title, lead, name, picks, away, rods }
}

/// The page of what is settled.
fn path_of(start: HandOutStart) -> String {
    match start {
        HandOutStart::Frame(id) => format!("/frames/{id}"),
        HandOutStart::Rug(id) => format!("/rugs/{id}"),
    }
}

fn frame_size(frame: &Frame, units: Units) -> String {
    let f = &frame.fields;
    size_words(f.width_nm, f.span_nm, f.nails, units)
}

fn rug_size(rug: &RugInLine, units: Units) -> String {
    size_words(rug.width_nm, rug.span_nm, rug.nails, units)
}

/// One thing to choose.
struct Pick {
    id: String,
    name: String,
    about: String,
    tone: &'static str,
    fit: &'static str,
}

fn tone(fit: Fit) -> &'static str {
    match fit {
        Fit::AsPlanned => "good",
        Fit::Larger => "plain",
        Fit::Smaller => "warn",
    }
}

fn pick_rug(rug: &RugInLine, frame: &Frame, turns: &[Place], units: Units) -> Pick {
    let fit = fit_of(&frame.fields, rug);
    let turn = of_rug(turns, rug.rug_id);
    let turn = turn.map_or_else(String::new, |turn| format!("; by the timetable {}", words(turn)));
    Pick {
        id: rug.rug_id.to_string(),
        name: format!("{}: {}", rug.weaver, rug.rug),
        about: format!("planned for {}{turn}", rug_size(rug, units)),
        tone: tone(fit),
        fit: words_of(fit),
    }
}

fn pick_frame(frame: &Frame, rug: &RugInLine, units: Units) -> Pick {
    let fit = fit_of(&frame.fields, rug);
    let worn = if frame.fields.condition == Condition::Worn { ", worn" } else { "" };
    Pick {
        id: frame.id.to_string(),
        name: frame.fields.tag.clone(),
        about: format!("{}{worn}", frame_size(frame, units)),
        tone: tone(fit),
        fit: words_of(fit),
    }
}

/// A frame that would do and is out.
struct Away {
    tag: String,
    about: String,
    loan: LoanId,
}

fn away(frame: &Frame, units: Units) -> Option<Away> {
    let (loan, due) = (frame.loan_id?, frame.due_on?);
    let weaver = frame.weaver.as_deref().unwrap_or_default();
    let about = format!("{}, with {weaver} until {}", frame_size(frame, units), short_day(due.0));
    Some(Away { tag: frame.fields.tag.clone(), about, loan })
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "hand_out/page.html")]
pub(super) struct HandOutPage {
    layout: Layout,
    form: Form,
    /// The page of what is settled; the form is sent to its `/hand-out`.
    back: String,
    title: String,
    lead: String,
    /// The field that is chosen: `rug` or `frame`.
    name: &'static str,
    picks: Vec<Pick>,
    away: Vec<Away>,
    rods: Vec<(String, String)>,
}
