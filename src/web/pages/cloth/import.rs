//! Taking in a list of bundles: a file or pasted text is looked at first, and comes in when that is confirmed. The list
//! travels with the page, so nothing is kept in between.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::columns::{ColumnIn, IN};
use super::list::{self, Good, List, Wrong};
use super::{App, CurrentUser, Form, Layout, Result};
use crate::store::cloth::ledger::Lot;
use crate::tables as table;
use crate::tables::Table;
use crate::units::Units;
use crate::web::http::answer::{checked, done, invalid};
use crate::web::http::download::csv_file;
use crate::web::http::upload::Uploaded;

/// The longest list that is read, in bytes.
const LONGEST: usize = 2 * 1024 * 1024;
/// A list up to this long can be mended on the page; longer ones are mended where they came from.
const MENDED_HERE: usize = 64 * 1024;
/// Rows shown of those that are good, and of those that are wrong.
const SHOWN: usize = 100;

#[derive(askama::Template, WebTemplate)]
#[template(path = "cloth/import.html")]
pub(super) struct ImportPage {
    layout: Layout,
    form: Form,
    columns: &'static [ColumnIn],
}

impl ImportPage {
    fn new(me: &CurrentUser, form: Form) -> Self {
        Self { layout: me.layout(), form, columns: &IN }
    }
}

pub(super) async fn page(me: CurrentUser) -> ImportPage {
    let form = Form::blank(me.units());
    ImportPage::new(&me, form)
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "cloth/import_look.html")]
struct LookPage {
    layout: Layout,
    form: Form,
    list: List,
    units: Units,
}

impl LookPage {
    fn good(&self) -> &[Good] {
        &self.list.good[..self.list.good.len().min(SHOWN)]
    }

    fn wrong(&self) -> &[Wrong] {
        &self.list.wrong[..self.list.wrong.len().min(SHOWN)]
    }

    fn bundles(&self) -> String {
        match self.list.good.len() {
            1 => "1 bundle".into(),
            number => format!("{number} bundles"),
        }
    }

    fn wrong_rows(&self) -> String {
        match self.list.wrong_rows {
            1 => "1 row that is wrong".into(),
            number => format!("{number} rows that are wrong"),
        }
    }

    fn mended_here(&self) -> bool {
        self.form.value("list").len() <= MENDED_HERE
    }
}

/// The list in a form; what makes it none is noted at the field it came in.
fn read(form: &mut Form, file: Option<&[u8]>) -> Option<List> {
    let from = if file.is_some() { "file" } else { "list" };
    let text = file.map_or_else(|| Ok(form.value("list").to_owned()), table::text);
    let text = text.map_err(|why| form.add_error(from, why)).ok()?;
    if text.len() > LONGEST {
        form.add_error(from, "The list is longer than 2 MB. Split it, and take in the parts one by one.");
        form.set("list", "");
        return None;
    }
    form.set("list", &text);
    let read = Table::read(&text).map_err(|why| match why {
        table::NoTable::Empty if file.is_none() => "Choose a file or paste a list.".to_owned(),
        why => why.to_string(),
    });
    let list = read.and_then(|table| list::read(&table, form.units()));
    list.map_err(|why| form.add_error(from, why)).ok()
}

pub(super) async fn look_or_take(
    State(app): State<App>,
    me: CurrentUser,
    sent: Uploaded,
) -> Result<Response> {
    let mut form = sent.posted.form_of(&me);
    let Some(list) = read(&mut form, sent.file.as_deref()) else {
        return Ok(invalid(ImportPage::new(&me, form)));
    };
    let take = form.value("do") == "take";
    if take && list.good.is_empty() {
        form.add_error("", "No row of this list can come in as it is.");
    } else if take && list.wrong_rows > 0 && !form.ticked("leave_out") {
        form.add_error("leave_out", "Some rows are wrong. Mend them, or tick that they are left out.");
    }
    if !take || !form.is_ok() {
        let page = LookPage { layout: me.layout(), form, list, units: me.units() };
        return Ok(checked(!take, page));
    }
    let to = "/cloth?said=list-in";
    let lots: Vec<Lot> = list.good.into_iter().map(|good| good.lot).collect();
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, to).await?;
    tx.weigh_in_list(form.key, &lots).await?;
    done(tx, to).await
}

pub(super) async fn template() -> Result<Response> {
    let example: Vec<_> = IN.iter().filter_map(|column| Some((column.name, column.example?))).collect();
    let (head, row): (Vec<_>, Vec<_>) =
        example.into_iter().map(|(name, cell)| (name, cell.to_owned())).unzip();
    csv_file("cloth-list.csv", &head, std::iter::once(row))
}
