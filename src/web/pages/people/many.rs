//! A whole class at once: weavers added from a list that was typed or pasted, and their personal links on one sheet.
use std::collections::HashSet;

use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use crate::drawing::qr;
use crate::secrets;
use crate::store::people::{LinkHolder, PersonFields, Role, name_key};
use crate::store::terms::Term;
use crate::store::{PersonId, Read, TermId};
use crate::web::http::answer::{done, invalid};
use crate::web::http::form::{LINE, NOTE};
use crate::web::{App, CurrentUser, Form, FormData, Layout, Result};

/// The most people that one list may hold.
const MOST: usize = 100;
/// The longest list: each line as long as it may be.
const LONGEST: usize = MOST * (LINE + 80);

#[derive(askama::Template, WebTemplate)]
#[template(path = "people/many.html")]
pub(super) struct ManyPage {
    layout: Layout,
    form: Form,
    /// The terms that run: id and name.
    terms: Vec<(String, String)>,
    /// Whether the list names somebody who may be here already.
    twins: bool,
}

impl ManyPage {
    fn of(me: &CurrentUser, form: Form, terms: &[Term], twins: bool) -> Self {
        let terms = terms.iter().map(|term| (term.id.to_string(), term.name.clone())).collect();
        Self { layout: me.layout(), form, terms, twins }
    }
}

async fn running(read: &mut Read) -> Result<Vec<Term>> {
    Ok(read.terms().await?.into_iter().filter(|term| term.closed_at.is_none()).collect())
}

pub(super) async fn new(me: CurrentUser, mut read: Read) -> Result<ManyPage> {
    let terms = running(&mut read).await?;
    let mut form = Form::blank(me.units());
    if let [only] = terms.as_slice() {
        form.set("term", only.id);
    }
    Ok(ManyPage::of(&me, form, &terms, false))
}

/// A line of the list: the name, and after a tab, semicolon or comma how to reach them.
fn parts(line: &str) -> (&str, &str) {
    let mut parts = line.splitn(2, [';', ',']).map(|part| part.trim().trim_matches('"').trim());
    (parts.next().unwrap_or_default(), parts.next().unwrap_or_default())
}

/// Reads the list, each fault with the number of its line; whether a name on it stands for somebody who may be here already.
fn read_list(form: &mut Form, known: &HashSet<String>) -> (Vec<PersonFields>, bool) {
    // What is pasted from a spreadsheet has tabs between its cells.
    form.set("list", form.value("list").replace('\t', "; "));
    let Some(list) = form.text("list", "The list", LONGEST) else { return (Vec::new(), false) };
    let twins_are_meant = form.ticked("twins");
    let (mut read, mut seen, mut faults, mut twins) = (Vec::new(), HashSet::new(), Vec::new(), Vec::new());
    let lines = list.lines().enumerate().map(|(at, line)| (at + 1, parts(line)));
    for (number, (name, contact)) in
        lines.filter(|(_, (name, contact))| !(name.is_empty() && contact.is_empty()))
    {
        let mut line = Form::blank(form.units()).with("name", name).with("contact", contact);
        let name = line.text("name", "the name", LINE);
        let contact = line.optional_text("contact", "the contact", NOTE);
        faults.extend(line.errors().iter().map(|(_, message)| format!("Line {number}: {message}")));
        let (Some(name), Some(contact)) = (name, contact) else { continue };
        let key = name_key(&name);
        if known.contains(&key) || seen.contains(&key) {
            twins.push(format!("Line {number}: {name}"));
        }
        seen.insert(key);
        read.push(PersonFields { name, contact, units: None });
    }
    if read.len() > MOST {
        form.add_error("list", format!("The list has {} people; {MOST} at a time are the most.", read.len()));
    }
    let any_twins = !twins.is_empty();
    if any_twins && !twins_are_meant {
        faults.push(format!(
            "{}: a weaver of that name is on the list or here already. Add something to tell them apart, such as an initial, \
             or tick “These are different people”.",
            twins.join("; ")
        ));
    }
    if !faults.is_empty() {
        form.add_error("list", faults.join(" "));
    }
    (read, any_twins)
}

pub(super) async fn add(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let mut form = posted.form_of(&me);
    // First: those whom the same list added are no twins of it.
    tx.idempotent(form.key, "/people/links?said=people-added").await?;
    let known = tx.weavers().await?.iter().map(|weaver| name_key(&weaver.name)).collect();
    let (people, twins) = read_list(&mut form, &known);
    let term =
        form.optional("term", None, |form| form.choice::<TermId>("term", "a term").map(Some)).flatten();
    let terms = running(&mut tx).await?;
    if term.is_some_and(|term| terms.iter().all(|one| one.id != term)) {
        form.add_error("term", "This term is closed, or isn’t there any more.");
    }
    if !form.is_ok() {
        return Ok(invalid(ManyPage::of(&me, form, &terms, twins)));
    }
    for fields in &people {
        let id = PersonId::new();
        tx.add_person(id, Role::Weaver, fields, None).await?;
        if let Some(term) = term {
            tx.enrol_or_wait(term, id).await?;
        }
    }
    done(tx, "/people/links?said=people-added").await
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "people/links.html")]
pub(super) struct LinksPage {
    layout: Layout,
    form: Form,
    weavers: Vec<LinkHolder>,
}

/// The weavers of running terms, and those of none; whoever has no link yet is ticked.
pub(super) async fn links(me: CurrentUser, mut read: Read) -> Result<LinksPage> {
    Ok(LinksPage { layout: me.layout(), form: Form::blank(me.units()), weavers: read.link_holders().await? })
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "people/link_sheet.html")]
struct LinkSheetPage {
    layout: Layout,
    links: Vec<Shown>,
}

/// A link, shown this once.
struct Shown {
    name: String,
    link: String,
    qr: String,
}

/// Makes a new personal link for everybody ticked and shows them this once: only their hashes are kept.
pub(super) async fn make_links(
    State(app): State<App>,
    me: CurrentUser,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let mut form = posted.form_of(&me);
    let weavers = tx.link_holders().await?;
    let ticked: HashSet<&str> = form.values("person").collect();
    let chosen: Vec<LinkHolder> =
        weavers.iter().filter(|weaver| ticked.contains(weaver.id.to_string().as_str())).cloned().collect();
    if chosen.is_empty() {
        form.add_error("person", "Tick at least one weaver.");
        return Ok(invalid(LinksPage { layout: me.layout(), form, weavers }));
    }
    let mut links = Vec::with_capacity(chosen.len());
    for weaver in chosen {
        let secret = secrets::secret();
        tx.replace_link(weaver.id, &secrets::secret_hash(&secret)).await?;
        let link = format!("{}/enter/{secret}", me.origin);
        let qr = qr::svg(&link)?;
        links.push(Shown { name: weaver.name, link, qr });
    }
    tx.commit().await?;
    Ok(LinkSheetPage { layout: me.layout(), links }.into_response())
}
