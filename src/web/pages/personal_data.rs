//! What is kept of a person: the page that says it, the file that they or an instructor take away, and erasing it.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse as _, Response};

use crate::store::retention::{ATTEMPT_DAYS, DEVICE_DAYS, KEY_DAYS, LINK_DAYS, NOTICE_DAYS};
use crate::store::{NotErased, PersonId, Read};
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/what-is-kept", Who::Anyone, what_is_kept),
        get("/me/data.json", Who::SignedIn, own),
        get("/people/{id}/data.json", Who::Instructor, of_person),
        get("/people/{id}/erase", Who::Instructor, ask),
        post("/people/{id}/erase", Who::Instructor, erase),
    ]
}

/// One kind of thing that is kept.
struct Kept {
    what: &'static str,
    which: &'static str,
    long: String,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "personal_data/kept.html")]
struct KeptPage {
    layout: Layout,
    kept: Vec<Kept>,
}

async fn what_is_kept(me: Result<CurrentUser>) -> KeptPage {
    let days = |days: i64| format!("{days} days.");
    let kept = |what, which, long: String| Kept { what, which, long };
    KeptPage {
        layout: me.map_or_else(|_| Layout::bare(), |me| me.layout()),
        kept: vec![
            kept(
                "Who you are",
                "Your name, what you are here, your units, a passphrase as a hash that can’t be turned back; passkeys’ public keys, and the secret that the codes of your app follow from.",
                "Until you are erased.".into(),
            ),
            kept(
                "How to reach you",
                "What you or an instructor wrote; shown to instructors, and used for mail if it is an address.",
                "Until you leave.".into(),
            ),
            kept(
                "What you made and did",
                "Your rugs and their logs, frames lent to you, cloth that you weighed, terms that you joined.",
                "For good, without your name once you are erased: the workroom’s counts rest on it.".into(),
            ),
            kept(
                "Attendance",
                "The meetings that you were at, and those that you said you can’t come to. Instructors and volunteers see it.",
                "Until you are erased.".into(),
            ),
            kept(
                "The record",
                "Who changed what, when. It is how mistakes are found.",
                "For good; names in it go when somebody is erased.".into(),
            ),
            kept(
                "Being signed in",
                "When it began and when it ends. The secret itself is on your device alone, here is its hash.",
                "Until you sign out, it runs out or you leave.".into(),
            ),
            kept(
                "Links",
                "When a personal link or a calendar link was made; of its secret the hash.",
                format!("Until it is replaced, and {} after that.", days(LINK_DAYS).trim_end_matches('.')),
            ),
            kept(
                "Sign-ins that failed",
                "How many, by a hash of the address and of the name that was typed, so that nobody can guess on.",
                days(ATTEMPT_DAYS),
            ),
            kept(
                "Devices that you signed in on",
                "A random number in a cookie, and here its hash: strangers who guess then don’t shut you out.",
                days(DEVICE_DAYS),
            ),
            kept(
                "Forms already sent",
                "A random key for each, so that the same form sent twice counts once.",
                days(KEY_DAYS),
            ),
            kept(
                "Notices",
                "What you were told by mail or otherwise, and whether it arrived.",
                days(NOTICE_DAYS),
            ),
            kept(
                "On your device",
                "A cookie for being signed in, one by which the device is known; at the scale, weigh-ins that wait for the network; on a tablet that is shared there, the volunteers’ names.",
                "Until you sign out; the second for 400 days; the names until that evening is over.".into(),
            ),
        ],
    }
}

async fn own(me: CurrentUser, mut read: Read) -> Result<Response> {
    file(&mut read, me.id()).await
}

async fn of_person(mut read: Read, Id(id): Id<PersonId>) -> Result<Response> {
    file(&mut read, id).await
}

/// Everything about one person, as a file to take away.
async fn file(read: &mut Read, id: PersonId) -> Result<Response> {
    let data = read.personal_data(id).await?.ok_or_else(PersonId::none)?;
    let text = serde_json::to_string_pretty(&data).map_err(|e| Error::Internal(e.to_string()))?;
    let head = [
        (header::CONTENT_TYPE, "application/json; charset=utf-8"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"personal-data.json\""),
    ];
    Ok((head, text).into_response())
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "personal_data/erase.html")]
struct ErasePage {
    layout: Layout,
    form: Form,
    id: PersonId,
    name: String,
}

async fn page(me: &CurrentUser, read: &mut Read, id: PersonId, form: Form) -> Result<ErasePage> {
    if id == me.id() {
        return Err(Error::Unreadable("you can’t erase yourself; another instructor can"));
    }
    let person = read.person(id).await?.filter(|one| one.erased_at.is_none()).ok_or_else(PersonId::none)?;
    Ok(ErasePage { layout: me.layout(), form, id, name: person.name })
}

async fn ask(me: CurrentUser, mut read: Read, Id(id): Id<PersonId>) -> Result<ErasePage> {
    page(&me, &mut read, id, Form::blank(me.units())).await
}

async fn erase(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<PersonId>,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    let again = page(&me, &mut tx, id, Form::blank(me.units())).await?;
    if !form.ticked("sure") {
        form.add_error("sure", "Tick the box if that is what you want: there is no way back.");
        return Ok(invalid(ErasePage { form, ..again }));
    }
    match tx.erase_person(id).await {
        Ok(()) => done(tx, "/people?said=erased").await,
        Err(refused @ NotErased::FrameOut(_)) => {
            form.add_error("", format!("This can’t be done yet: {refused}."));
            Ok(invalid(ErasePage { form, ..again }))
        }
        Err(NotErased::Already) => Err(PersonId::none()),
        Err(NotErased::Store(error)) => Err(error.into()),
    }
}
