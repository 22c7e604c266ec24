//! One box for all that the reader may see: people, frames, rugs and bundles of cloth.
use askama_web::WebTemplate;
use axum::response::{IntoResponse as _, Redirect, Response};

use crate::store::Read;
use crate::store::cloth::shelf::{ShelfFilter, ShelfLine};
use crate::store::frames::Frame;
use crate::store::people::Person;
use crate::store::rugs::list::RugLine;
use crate::units::Units;
use crate::web::http::route::{Route, Who, get};
use crate::web::{CurrentUser, Form, Layout, QueryData, Result};

/// So many of each are shown; their own lists have the rest.
const SHOWN: i64 = 12;
/// Characters that are looked for.
const LONGEST: usize = 100;

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get("/find", Who::SignedIn, find)]
}

#[derive(Default)]
struct Found {
    people: Vec<Person>,
    frames: Vec<Frame>,
    rugs: Vec<RugLine>,
    bundles: Vec<ShelfLine>,
}

impl Found {
    /// Where the only thing leads that was found.
    fn only(&self, staff: bool) -> Option<String> {
        match (&*self.people, &*self.frames, &*self.rugs, &*self.bundles) {
            ([one], [], [], []) => Some(format!("/people/{}", one.id)),
            ([], [one], [], []) => Some(format!("/frames/{}", one.id)),
            ([], [], [one], []) => Some(format!("/rugs/{}", one.id)),
            ([], [], [], [one]) if staff => Some(format!("/cloth/{}", one.id)),
            _ => None,
        }
    }

    async fn load(read: &mut Read, me: &CurrentUser, words: &str) -> Result<Self> {
        let key = words.to_lowercase();
        let people =
            if me.is_instructor() { read.found_who_is_here(words, SHOWN, 0).await? } else { Vec::new() };
        let (mut frames, mut rugs) = (Vec::new(), Vec::new());
        if me.is_staff() {
            frames = read.frames().await?;
            frames.retain(|frame| frame.fields.tag.to_lowercase().contains(&key));
            frames.truncate(SHOWN as usize);
            rugs = read.rugs_found(words, SHOWN, 0).await?;
        } else {
            // Another weaver's rug is as good as none.
            rugs.extend(read.own_rugs_found(me.id(), words, SHOWN).await?);
        }
        // A number is a bundle's; of other bundles it may be the weight or the year in a note.
        let filter = ShelfFilter {
            text: words.to_owned(),
            notes: me.is_staff(),
            empty: true,
            ..ShelfFilter::default()
        };
        let mut bundles = read.shelf(&filter, SHOWN, 0).await?;
        if let Some(tagged) = bundles.iter().position(|bundle| bundle.tag.to_string() == words) {
            bundles = vec![bundles.swap_remove(tagged)];
        }
        Ok(Self { people, frames, rugs, bundles })
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "find/page.html")]
struct FindPage {
    layout: Layout,
    form: Form,
    found: Found,
    nothing: bool,
    staff: bool,
    units: Units,
}

impl FindPage {
    fn lead(&self) -> &'static str {
        if self.staff {
            "A name, a frame’s tag, a bundle’s number or colour, or a rug."
        } else {
            "Your rugs, and cloth on the shelf."
        }
    }
}

async fn find(me: CurrentUser, mut read: Read, query: QueryData) -> Result<Response> {
    let form = query.form_of(&me).unwrap_or_else(|| Form::blank(me.units()));
    let words: String = form.value("words").trim().chars().take(LONGEST).collect();
    let found = if words.is_empty() { Found::default() } else { Found::load(&mut read, &me, &words).await? };
    if let Some(to) = found.only(me.is_staff()) {
        return Ok(Redirect::to(&to).into_response());
    }
    let none = found.people.is_empty()
        && found.frames.is_empty()
        && found.rugs.is_empty()
        && found.bundles.is_empty();
    let (layout, staff, units) = (me.layout(), me.is_staff(), me.units());
    Ok(FindPage { layout, form, found, nothing: none && !words.is_empty(), staff, units }.into_response())
}
