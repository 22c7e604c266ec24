//! Handing out: one form, begun from a frame (which rug?) or from a rug (which frame?), with everything else filled in.
mod page;

use axum::extract::{Query, State};
use axum::response::Response;
use jiff::{ToSpan as _, civil::Date};

use super::loans::{fit_of, read_due};
use crate::optimize::fit::Fit;
use crate::planning::rods::least_length;
use crate::services::turns::{of_rug, turns, words};
use crate::store::frames::Frame;
use crate::store::loans::{HandOut, Refused, RugInLine};
use crate::store::rods::Rod;
use crate::store::timetable::Place;
use crate::store::{FrameId, LoanId, Read, RodId, RugId};
use crate::units::Length;
use crate::units::dates::day;
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Form, FormData, Result};
use page::HandOutPage;

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
        get("/frames/{id}/hand-out", Who::Instructor, of_frame),
        post("/frames/{id}/hand-out", Who::Instructor, settle_frame),
        get("/rugs/{id}/hand-out", Who::Instructor, for_rug),
        post("/rugs/{id}/hand-out", Who::Instructor, settle_rug),
    ]
}

/// The rods of a frame in use: one down each side.
const RODS: i64 = 2;

/// Where the form began, which settles one half of it.
#[derive(Clone, Copy)]
enum HandOutStart {
    Frame(FrameId),
    Rug(RugId),
}

impl HandOutStart {
    fn path(self) -> String {
        match self {
            Self::Frame(id) => format!("/frames/{id}"),
            Self::Rug(id) => format!("/rugs/{id}"),
        }
    }

    /// The field that is settled.
    const fn settled(self) -> &'static str {
        match self {
            Self::Frame(_) => "frame",
            Self::Rug(_) => "rug",
        }
    }
}

/// What lies on the desk when something is handed out: frames and rugs, the settled one alone, and the rods.
struct HandOutData {
    start: HandOutStart,
    frames: Vec<Frame>,
    rugs: Vec<RugInLine>,
    rods: Vec<Rod>,
    /// The turns of the timetables that hold.
    turns: Vec<Place>,
}

impl HandOutData {
    async fn load(read: &mut Read, start: HandOutStart, chosen: Option<RugId>) -> Result<Self> {
        let turns = turns(read).await?;
        let (mut frames, mut rugs) = match start {
            HandOutStart::Frame(id) => {
                let frame = read.frame(id).await?.ok_or_else(FrameId::none)?;
                let mut rugs = read.rugs_in_line().await?;
                // A rug that got a frame since it was chosen is no longer in line; it stays chosen, and is told why not.
                match chosen {
                    Some(id) if !rugs.iter().any(|rug| rug.rug_id == id) => {
                        rugs.extend(read.rug_in_line(id).await?);
                    }
                    _ => {}
                }
                (vec![frame], rugs)
            }
            HandOutStart::Rug(id) => (
                read.frames().await?.into_iter().filter(Frame::usable).collect(),
                vec![read.rug_in_line(id).await?.ok_or_else(RugId::none)?],
            ),
        };
        // Whose turn it is by the timetable comes first. Then the best: of rugs that fit alike the one that waits longest, of
        // frames the sound and then the nearest in size.
        let turn = |rug: RugId, frame: FrameId| {
            let on = |one: &Place| one.rug_id == rug && one.frame_id == frame;
            turns.iter().position(on).unwrap_or(usize::MAX)
        };
        match start {
            HandOutStart::Frame(id) => {
                rugs.sort_by_key(|rug| (turn(rug.rug_id, id), fit_of(&frames[0].fields, rug)));
            }
            HandOutStart::Rug(id) => frames.sort_by_key(|frame| {
                let (f, rug) = (&frame.fields, &rugs[0]);
                let apart = (f.span_nm - rug.span_nm).abs() + (f.width_nm - rug.width_nm).abs();
                let fit = fit_of(f, rug);
                // Half an inch more or less is no reason to prefer one frame of the planned size.
                (
                    turn(id, frame.id),
                    fit,
                    f.condition,
                    if fit == Fit::AsPlanned { Length::ZERO } else { apart },
                )
            }),
        }
        Ok(Self { start, frames, rugs, rods: read.rods().await?, turns })
    }

    fn frame(&self, id: &str) -> Option<&Frame> {
        self.frames.iter().find(|frame| frame.id.to_string() == id)
    }

    fn rug(&self, id: &str) -> Option<&RugInLine> {
        self.rugs.iter().find(|rug| rug.rug_id.to_string() == id)
    }

    /// The form with the likeliest hand-out filled in.
    fn filled(&self, me: &CurrentUser, today: Date, wanted: Option<&str>) -> Form {
        let mut form = Form::blank(me.units()).with("rods", RODS);
        let mut inside = self.frames.iter().filter(|frame| frame.loan_id.is_none());
        let frame = match self.start {
            HandOutStart::Frame(_) => self.frames.first(),
            HandOutStart::Rug(_) => wanted
                .and_then(|wanted| inside.clone().find(|frame| frame.id.to_string() == wanted))
                .or_else(|| inside.next()),
        };
        let rug = self.rugs.first();
        let rod = frame.and_then(|frame| self.shortest(frame.fields.span_nm));
        form.set("rod", rod.map_or_else(|| "none".to_owned(), |rod| rod.id.to_string()));
        if let Some(frame) = frame {
            form.set("frame", frame.id);
        }
        if let Some(rug) = rug {
            form.set("rug", rug.rug_id);
        }
        let turn = rug.and_then(|rug| of_rug(&self.turns, rug.rug_id)).map(|turn| turn.to_day.0);
        let last = turn.or_else(|| rug.and_then(|rug| rug.last_meeting).map(|day| day.0));
        let last = last.filter(|day| *day >= today);
        form.with("due_on", last.unwrap_or_else(|| today.saturating_add(3.weeks())))
    }

    /// The shortest rods that are long enough and in.
    fn shortest(&self, span: Length) -> Option<&Rod> {
        self.rods.iter().find(|rod| rod.length_nm >= least_length(span) && rod.inside() >= RODS)
    }

    /// What the form says is to be handed out.
    fn read(&self, form: &mut Form, today: Date) -> Option<HandOut> {
        let frame = self.frame(form.value("frame"));
        if frame.is_none() {
            form.add_error("frame", "Choose a frame from the list.");
        }
        let rug = self.rug(form.value("rug"));
        if rug.is_none() {
            form.add_error("rug", "Choose a rug from the list.");
        }
        let rods = self.read_rods(form, frame);
        let due_on = read_due(form, today);
        let what = HandOut { frame: frame?.id, rug: rug?.rug_id, rods, due_on: due_on? };
        let broken = self.turns.iter().filter(|place| place.is_broken_by(&what));
        let whose: Vec<String> =
            broken.map(|one| format!("{} waits for {}", one.weaver, words(one))).collect();
        if !whose.is_empty() && !form.ticked("against") {
            form.add_error(
                "against",
                format!(
                    "Against the timetable: {}. To hand it out all the same, tick this.",
                    whose.join("; ")
                ),
            );
        }
        form.is_ok().then_some(what)
    }

    /// The rods that go along, if any; what is wrong stands in the form.
    fn read_rods(&self, form: &mut Form, frame: Option<&Frame>) -> Option<(RodId, i64)> {
        if form.value("rod") == "none" {
            return None;
        }
        let Some(rod) = self.rods.iter().find(|rod| rod.id.to_string() == form.value("rod")) else {
            form.add_error("rod", "Choose a size of rod from the list, or no rods.");
            return None;
        };
        let count = form.count("rods", "The number of rods", 1..=20);
        let (units, span) = (form.units(), frame?.fields.span_nm);
        let least = least_length(span);
        if rod.length_nm < least {
            let [size, span, least] = [rod.length_nm, span, least].map(|l| l.show(units));
            form.add_error(
                "rod",
                format!("{size} is too short for a span of {span}: at least {least} is needed."),
            );
        }
        Some((rod.id, count?))
    }

    /// Why what is settled can't be handed out at all just now.
    fn in_the_way(&self) -> Option<Refused> {
        match self.start {
            HandOutStart::Frame(_) => {
                let frame = &self.frames[0];
                match (&frame.weaver, frame.due_on) {
                    (Some(weaver), Some(due_on)) => {
                        Some(Refused::FrameOut { weaver: weaver.clone(), due_on })
                    }
                    _ => (!frame.usable()).then_some(Refused::FrameUnfit),
                }
            }
            HandOutStart::Rug(_) => {
                let rug = &self.rugs[0];
                let open = rug.state.is_open();
                let on_frame = rug.frame_tag.is_some().then_some(Refused::RugOnFrame);
                on_frame.or((!open).then_some(Refused::RugClosed))
            }
        }
    }

    fn add_error(&self, form: &mut Form, refused: &Refused) {
        let tag = self.frame(form.value("frame")).map_or("", |frame| &frame.fields.tag);
        let (name, message) = match refused {
            Refused::FrameOut { weaver, due_on } => {
                ("frame", format!("Frame {tag} is with {weaver} until {}.", day(due_on.0)))
            }
            Refused::FrameUnfit => ("frame", format!("Frame {tag} is broken or retired, so it stays here.")),
            Refused::RugClosed => ("rug", "This rug is finished or given up, or its weaver left.".into()),
            Refused::RugOnFrame => {
                ("rug", "This rug is on a frame already. Take that one back first.".into())
            }
            Refused::RodsShort => {
                let rod = self.rods.iter().find(|rod| rod.id.to_string() == form.value("rod"));
                let (size, inside) =
                    rod.map_or_else(Default::default, |rod| (rod.size(form.units()), rod.inside()));
                ("rods", format!("Of the rods {size}, {inside} are here and straight."))
            }
            Refused::Store(error) => ("", error.to_string()),
        };
        form.add_error(if name == self.start.settled() { "" } else { name }, message);
    }
}

#[derive(serde::Deserialize)]
struct WantedFrame {
    frame: Option<String>,
}

async fn of_frame(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<FrameId>,
) -> Result<HandOutPage> {
    offer(&app, &me, &mut read, HandOutStart::Frame(id), None).await
}

async fn for_rug(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    Query(wanted): Query<WantedFrame>,
) -> Result<HandOutPage> {
    offer(&app, &me, &mut read, HandOutStart::Rug(id), wanted.frame.as_deref()).await
}

async fn offer(
    app: &App,
    me: &CurrentUser,
    read: &mut Read,
    start: HandOutStart,
    wanted: Option<&str>,
) -> Result<HandOutPage> {
    let data = HandOutData::load(read, start, None).await?;
    let mut form = data.filled(me, me.today(app), wanted);
    if let Some(refused) = data.in_the_way() {
        data.add_error(&mut form, &refused);
    }
    Ok(data.page(me, form))
}

async fn settle_frame(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<FrameId>,
    posted: FormData,
) -> Result<Response> {
    settle(&app, &me, HandOutStart::Frame(id), posted.form_of(&me).with("frame", id)).await
}

async fn settle_rug(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    posted: FormData,
) -> Result<Response> {
    settle(&app, &me, HandOutStart::Rug(id), posted.form_of(&me).with("rug", id)).await
}

async fn settle(app: &App, me: &CurrentUser, start: HandOutStart, mut form: Form) -> Result<Response> {
    let chosen = form.value("rug").parse().ok();
    let mut tx = app.write(me).await?;
    let data = HandOutData::load(&mut tx, start, chosen).await?;
    let Some(what) = data.read(&mut form, me.today(app)) else { return Ok(invalid(data.page(me, form))) };
    let id = LoanId::new();
    let to = format!("/loans/{id}?said=handed-out");
    tx.idempotent(form.key, &to).await?;
    let refused = match tx.hand_out(id, &what).await {
        // A turn that was given since the form was read is in the way as one that was there before. The frame is locked by now,
        // so that no timetable is accepted in between.
        Ok(())
            if !form.ticked("against")
                && turns(&mut tx).await?.iter().any(|place| place.is_broken_by(&what)) =>
        {
            None
        }
        Ok(()) => return done(tx, &to).await,
        Err(Refused::Store(error)) => return Err(error.into()),
        Err(refused) => Some(refused),
    };
    // What was half handed out is undone first: the desk is shown as it is without that, and as it is now.
    drop(tx);
    let data = HandOutData::load(&mut app.store.read().await?, start, chosen).await?;
    match refused {
        Some(refused) => data.add_error(&mut form, &refused),
        None => {
            data.read(&mut form, me.today(app));
        }
    }
    Ok(conflict(data.page(me, form)))
}
