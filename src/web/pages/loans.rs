//! Loans: what is out and since when, each loan's slip, moving its day, taking it back. Handing out is in `hand_out`.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};
use jiff::ToSpan as _;

use crate::drawing::qr;
use crate::optimize::fit::Fit;
use crate::pdf::CARRYING;
use crate::planning::frame::size_words;
use crate::services::hand_out::fit_of;
use crate::services::turns::{of_rug, order_on, turns, words};
use crate::store::frames::{Condition, FrameFields};
use crate::store::loans::{Loan, RugInLine, TakeBack};
use crate::store::rods::rod_size;
use crate::store::rugs::RugState;
use crate::store::{self, Day, LoanId, Read, RugId};
use crate::units::Units;
use crate::units::dates::{day, moment, short_day};
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::download::csv_file;
use crate::web::http::form::NOTE;
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/loans", Who::Staff, list),
        get("/loans.csv", Who::Staff, table),
        get("/loans/{id}", Who::SignedIn, show),
        post("/loans/{id}/due", Who::Instructor, move_due),
        get("/loans/{id}/take-back", Who::Instructor, ask_back),
        post("/loans/{id}/take-back", Who::Instructor, take_back),
    ]
}

/// A fit in words.
pub(in crate::web) const fn words_of(fit: Fit) -> &'static str {
    match fit {
        Fit::AsPlanned => "as planned",
        Fit::Larger => "larger than planned",
        Fit::Smaller => "smaller than planned",
    }
}

/// A rug that waits for a frame like this one.
pub(in crate::web) struct InLine {
    /// The rug.
    pub rug_id: RugId,
    /// Its name.
    pub rug: String,
    /// Whose.
    pub weaver: String,
    /// How the frame fits.
    pub fit: &'static str,
    /// Its turn by the timetable, in words; empty without one.
    pub turn: String,
}

/// The rugs that a frame could go to next, in the order they wait; five are enough to choose from.
pub(in crate::web) fn next_in_line(frame: &FrameFields, line: &[RugInLine]) -> Vec<InLine> {
    line.iter()
        .filter(|rug| rug.state == RugState::Planned && fit_of(frame, rug) != Fit::Smaller)
        .take(5)
        .map(|rug| InLine {
            rug_id: rug.rug_id,
            rug: rug.rug.clone(),
            weaver: rug.weaver.clone(),
            fit: words_of(fit_of(frame, rug)),
            turn: String::new(),
        })
        .collect()
}

/// The size of a loan's rods; empty when none went.
fn size_of_rods(loan: &Loan, units: Units) -> String {
    let size = loan.rod_length_nm.zip(loan.rod_diameter_nm);
    size.map_or_else(String::new, |(length, diameter)| rod_size(length, diameter, units))
}

/// The rods of a loan in words.
fn rods_of(loan: &Loan, me: &CurrentUser) -> String {
    match loan.rods {
        0 => "none".into(),
        rods => format!("{rods} of {}", size_of_rods(loan, me.units())),
    }
}

struct Lent {
    loan: Loan,
    due: String,
    late: bool,
    rods: String,
}

struct Returned {
    loan: Loan,
    went: String,
    came: String,
    rods: String,
}

/// What happened to the rods of a loan that is over.
fn rods_back(loan: &Loan) -> String {
    match (loan.rods_bent, loan.rods_missing) {
        (0, 0) if loan.rods == 0 => "none went".into(),
        (0, 0) => "all straight".into(),
        (bent, 0) => format!("{bent} bent"),
        (0, missing) => format!("{missing} missing"),
        (bent, missing) => format!("{bent} bent, {missing} missing"),
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "loans/list.html")]
struct LoansPage {
    layout: Layout,
    lead: String,
    out: Vec<Lent>,
    back: Vec<Returned>,
    instructor: bool,
}

/// How many of the loans that are over the list shows; the table to take away holds all.
const HISTORY: i64 = 200;

async fn list(State(app): State<App>, me: CurrentUser, mut read: Read) -> Result<LoansPage> {
    let (out, back) = (read.loans_out().await?, read.loans_back(HISTORY).await?);
    let (today, wall) = (me.today(&app), me.wall());
    let late = |loan: &Loan| loan.due_on.0 < today;
    let lead = match (out.len(), out.iter().filter(|loan| late(loan)).count()) {
        (0, _) => "Every frame is in.".to_owned(),
        (out, 0) => format!("{out} out, none overdue."),
        (out, late) => format!("{out} out, {late} overdue."),
    };
    let out = out
        .into_iter()
        .map(|l| Lent { due: short_day(l.due_on.0), late: late(&l), rods: rods_of(&l, &me), loan: l })
        .collect();
    let back = back
        .into_iter()
        .map(|loan| Returned {
            went: moment(loan.handed_out_at, &wall),
            came: loan.taken_back_at.map(|at| moment(at, &wall)).unwrap_or_default(),
            rods: rods_back(&loan),
            loan,
        })
        .collect();
    Ok(LoansPage { layout: me.layout(), lead, out, back, instructor: me.is_instructor() })
}

async fn table(me: CurrentUser, mut read: Read) -> Result<Response> {
    let mut loans = read.loans_out().await?;
    loans.extend(read.loans_back(i64::MAX).await?);
    let zone = me.zone();
    let at = |at: store::Instant| at.0.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%dT%H:%M").to_string();
    let head = [
        "frame",
        "weaver",
        "rug",
        "handed out",
        "by",
        "due",
        "rods",
        "taken back",
        "by",
        "condition",
        "bent",
        "missing",
        "note",
    ];
    let rows = loans.into_iter().map(|l| {
        [
            l.frame_tag.clone(),
            l.weaver.clone(),
            l.rug.clone(),
            at(l.handed_out_at),
            l.handed_out_by.clone(),
            l.due_on.0.to_string(),
            rods_of(&l, &me),
            l.taken_back_at.map(at).unwrap_or_default(),
            l.taken_back_by.unwrap_or_default(),
            l.condition_back.unwrap_or(l.condition_out).to_string(),
            l.rods_bent.to_string(),
            l.rods_missing.to_string(),
            l.note,
        ]
    });
    csv_file("loans.csv", &head, rows)
}

/// The loan in a path, if the person who asks may see it.
async fn load(read: &mut Read, me: &CurrentUser, id: LoanId) -> Result<Loan> {
    let loan = read.loan(id).await?;
    loan.filter(|loan| me.may_see(loan.weaver_id)).ok_or_else(LoanId::none)
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "loans/show.html")]
struct LoanPage {
    layout: Layout,
    form: Form,
    loan: Loan,
    size: String,
    rod_size: String,
    out: String,
    due: String,
    late: bool,
    back: Option<String>,
    rods_back: String,
    next: Vec<InLine>,
    qr: String,
    staff: bool,
    instructor: bool,
}

impl LoanPage {
    async fn of(
        app: &App,
        me: &CurrentUser,
        read: &mut Read,
        loan: Loan,
        form: Option<Form>,
    ) -> Result<Self> {
        // Who could have the frame next, once it is back and if it is still in.
        let mut next = Vec::new();
        if loan.taken_back_at.is_some() && me.is_staff() {
            let frame = read.frame(loan.frame_id).await?;
            if let Some(frame) = frame.filter(|frame| frame.usable() && frame.loan_id.is_none()) {
                let mut line = read.rugs_in_line().await?;
                // Whose turn it is on this very frame by the timetable stands first.
                let turns = turns(read).await?;
                line.sort_by_key(|rug| order_on(&turns, frame.id, rug.rug_id));
                next = next_in_line(&frame.fields, &line);
                for one in &mut next {
                    if let Some(turn) = of_rug(&turns, one.rug_id) {
                        one.turn = format!("by the timetable {}", words(turn));
                    }
                }
            }
        }
        let (units, wall) = (me.units(), me.wall());
        let due_was = loan.due_on.0;
        Ok(Self {
            layout: me.layout(),
            form: form.unwrap_or_else(|| Form::blank(units).with("due_on", due_was).with("due_was", due_was)),
            size: size_words(loan.width_nm, loan.span_nm, loan.nails, units),
            rod_size: size_of_rods(&loan, units),
            out: moment(loan.handed_out_at, &wall),
            due: day(due_was),
            late: loan.taken_back_at.is_none() && due_was < me.today(app),
            back: loan.taken_back_at.map(|at| moment(at, &wall)),
            rods_back: rods_back(&loan),
            next,
            qr: qr::svg(&format!("{}/loans/{}", me.origin, loan.id))?,
            staff: me.is_staff(),
            instructor: me.is_instructor(),
            loan,
        })
    }
}

async fn show(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<LoanId>,
) -> Result<LoanPage> {
    let loan = load(&mut read, &me, id).await?;
    LoanPage::of(&app, &me, &mut read, loan, None).await
}

const TAKEN_BACK: &str = "It was taken back meanwhile, so there is no day to move any more.";

/// A day that a loan may be due: from today on, and within a year.
pub(in crate::web) fn read_due(form: &mut Form, today: jiff::civil::Date) -> Option<Day> {
    let due = form.day("due_on", "The day it is due")?;
    let far = match due {
        due if due < today => "past",
        due if due > today.saturating_add(1.year()) => "more than a year away",
        due => return Some(Day(due)),
    };
    form.add_error("due_on", format!("{} is {far}; today is {}.", day(due), day(today)));
    None
}

async fn move_due(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<LoanId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let loan = load(&mut tx, &me, id).await?;
    let mut form = posted.form_of(&me);
    let to = format!("/loans/{id}?said=due-moved");
    tx.idempotent(form.key, &to).await?;
    if loan.taken_back_at.is_some() {
        form.add_error("", TAKEN_BACK);
        return Ok(conflict(LoanPage::of(&app, &me, &mut tx, loan, Some(form)).await?));
    }
    let due = read_due(&mut form, me.today(&app));
    let was = form.day("due_was", "The day it was due");
    let (Some(due), Some(was)) = (due, was) else {
        return Ok(invalid(LoanPage::of(&app, &me, &mut tx, loan, Some(form)).await?));
    };
    match tx.move_due(id, Day(was), due).await {
        Ok(()) => done(tx, &to).await,
        Err(store::Error::Stale) => {
            let loan = load(&mut tx, &me, id).await?;
            form.set("due_was", loan.due_on.0);
            match loan.taken_back_at {
                Some(_) => form.add_error("", TAKEN_BACK),
                None => form.add_error(
                    "due_on",
                    format!("Somebody else moved it to {} just now.", day(loan.due_on.0)),
                ),
            }
            Ok(conflict(LoanPage::of(&app, &me, &mut tx, loan, Some(form)).await?))
        }
        Err(other) => Err(other.into()),
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "loans/take_back.html")]
struct TakeBackPage {
    layout: Layout,
    form: Form,
    loan: Loan,
    rods: String,
    /// The loan's own page.
    back: String,
}

impl TakeBackPage {
    fn of(me: &CurrentUser, loan: Loan, form: Form) -> Self {
        let (rods, back) = (rods_of(&loan, me), format!("/loans/{}", loan.id));
        Self { layout: me.layout(), form, loan, rods, back }
    }
}

/// Leads to the loan's page when it was taken back before: there is nothing left to ask.
async fn ask_back(me: CurrentUser, mut read: Read, Id(id): Id<LoanId>) -> Result<Response> {
    let loan = load(&mut read, &me, id).await?;
    if loan.taken_back_at.is_some() {
        return Ok(Redirect::to(&format!("/loans/{id}?said=repeated")).into_response());
    }
    let form = Form::blank(me.units())
        .with("condition", loan.condition_out)
        .with("rug", RugState::Weaving)
        .with("rods_bent", 0)
        .with("rods_missing", 0);
    Ok(TakeBackPage::of(&me, loan, form).into_response())
}

fn read_back(form: &mut Form, loan: &Loan) -> Option<TakeBack> {
    let condition = form.choice::<Condition>("condition", "its condition");
    let rug = form.choice::<RugState>("rug", "how far the rug is");
    let note = form.optional_text("note", "The note", NOTE);
    let (mut rods_bent, mut rods_missing) = (Some(0), Some(0));
    if loan.rods > 0 {
        rods_bent = form.count("rods_bent", "The number of bent rods", 0..=loan.rods);
        rods_missing = form.count("rods_missing", "The number of missing rods", 0..=loan.rods);
    }
    let (rods_bent, rods_missing) = (rods_bent?, rods_missing?);
    if rods_bent + rods_missing > loan.rods {
        let (rods, sum) = (loan.rods, rods_bent + rods_missing);
        form.add_error(
            "rods_missing",
            format!("{rods} rods went out; bent and missing together make {sum}."),
        );
        return None;
    }
    Some(TakeBack { condition: condition?, rug: rug?, rods_bent, rods_missing, note: note? })
}

async fn take_back(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<LoanId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let loan = load(&mut tx, &me, id).await?;
    let mut form = posted.form_of(&me);
    let Some(how) = read_back(&mut form, &loan) else {
        return Ok(invalid(TakeBackPage::of(&me, loan, form)));
    };
    let to = format!("/loans/{id}?said=taken-back");
    tx.idempotent(form.key, &to).await?;
    match tx.take_back(id, &how).await {
        Ok(()) => done(tx, &to).await,
        // Somebody took it back from another page: what they noted stands, and is shown.
        Err(store::Error::Stale) => Ok(Redirect::to(&format!("/loans/{id}?said=repeated")).into_response()),
        Err(other) => Err(other.into()),
    }
}
