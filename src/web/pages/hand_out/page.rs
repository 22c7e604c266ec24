//! The form of a hand-out as a page: what can be chosen, how well it fits, and what is out.
use askama_web::WebTemplate;

use super::{HandOutData, HandOutStart};
use crate::optimize::fit::Fit;
use crate::planning::frame::size_words;
use crate::planning::rods::least_length;
use crate::services::turns::{of_rug, words};
use crate::store::LoanId;
use crate::store::frames::{Condition, Frame};
use crate::store::loans::RugInLine;
use crate::store::rods::Rod;
use crate::store::timetable::Place;
use crate::units::Units;
use crate::units::dates::short_day;
use crate::web::pages::loans::{fit_of, words_of};
use crate::web::{CurrentUser, Form, Layout};

impl HandOutData {
    /// The page for a form, as things lie on the desk.
    pub(super) fn page(self, me: &CurrentUser, form: Form) -> HandOutPage {
        let units = me.units();
        let frames = self.frames.iter();
        let (title, lead, picks, away) = match self.start {
            HandOutStart::Frame(_) => {
                let frame = &self.frames[0];
                let picks = self.rugs.iter().map(|rug| pick_rug(rug, frame, &self.turns, units)).collect();
                (format!("Hand out frame {}", frame.fields.tag), frame_size(frame, units), picks, Vec::new())
            }
            HandOutStart::Rug(_) => {
                let rug = &self.rugs[0];
                let picks = frames
                    .clone()
                    .filter(|frame| frame.loan_id.is_none())
                    .map(|frame| pick_frame(frame, rug, units))
                    .collect();
                // Those that come back soonest; five are enough to know whom to ask.
                let mut out: Vec<_> = frames.filter(|frame| frame.loan_id.is_some()).collect();
                out.sort_by_key(|frame| frame.due_on);
                let away = out.into_iter().filter_map(|frame| away(frame, rug, units)).take(5).collect();
                let turn = of_rug(&self.turns, rug.rug_id);
                let turn =
                    turn.map_or_else(String::new, |turn| format!(" By the timetable: {}.", words(turn)));
                let lead = format!("{}, planned for {}.{turn}", rug.rug, rug_size(rug, units));
                (format!("A frame for {}", rug.weaver), lead, picks, away)
            }
        };
        let rods = self
            .rods
            .iter()
            .filter(|rod| rod.owned > 0 && self.frames.iter().any(|frame| long_enough(rod, frame)))
            .map(|rod| (rod.id.to_string(), format!("{}, {} here", rod.size(units), rod.inside())))
            .chain([("none".to_owned(), "no rods".to_owned())])
            .collect();
        let name = match self.start {
            HandOutStart::Frame(_) => "rug",
            HandOutStart::Rug(_) => "frame",
        };
        let back = self.start.path();
        HandOutPage { layout: me.layout(), form, back, title, lead, name, picks, away, rods }
    }
}

fn long_enough(rod: &Rod, frame: &Frame) -> bool {
    rod.length_nm >= least_length(frame.fields.span_nm)
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

fn away(frame: &Frame, rug: &RugInLine, units: Units) -> Option<Away> {
    let (loan, due) = (frame.loan_id?, frame.due_on?);
    let weaver = frame.weaver.as_deref().unwrap_or_default();
    let fits = fit_of(&frame.fields, rug) != Fit::Smaller;
    let about = format!("{}, with {weaver} until {}", frame_size(frame, units), short_day(due.0));
    fits.then(|| Away { tag: frame.fields.tag.clone(), about, loan })
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
