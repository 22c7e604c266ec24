//! Two copies of the program on one database, and people signed in at them. What the tests of this folder know of the
//! program's inside is here; the rest is said over HTTP.
use axum::Router;
use scraper::{Html, Selector};
use thrumhall::clock::Clock;
use thrumhall::store::cloth::promises::Promise;
use thrumhall::store::people::Role;
use thrumhall::store::{Actor, RequestKey, Store};
use thrumhall::units::Units;
use thrumhall::web::{App, Config, service};

use crate::support::browser::{Browser, Page, enter};
use crate::support::{Database, loft, noon};

/// Two copies of the program.
pub struct Copies {
    stores: [Store; 2],
    routers: [Router; 2],
}

impl Copies {
    /// Two copies on a database, in which a workroom in grams is set up.
    pub async fn of(database: &Database) -> Self {
        let stores = [database.store.clone(), database.open_again().await];
        let mut tx = stores[0].write(Actor { person: None, at: noon() }).await.unwrap();
        tx.found_workroom("Test Loft", "UTC", Units::Metric).await.unwrap();
        tx.commit().await.unwrap();
        let copy = |store: &Store| service(App::new(store.clone(), Clock::fixed(noon()), Config::default()));
        let routers = [copy(&stores[0]), copy(&stores[1])];
        Self { stores, routers }
    }

    /// A new instructor, signed in at one of the copies.
    pub async fn instructor(&self, copy: usize, name: &str) -> (String, Browser) {
        let (id, browser) = enter(&self.routers[copy], &self.stores[copy], Role::Instructor, name).await;
        (id.to_string(), browser)
    }

    /// So many instructors, at either copy in turn.
    pub async fn instructors(&self, many: usize) -> Vec<Browser> {
        let mut browsers = Vec::new();
        for n in 0..many {
            browsers.push(self.instructor(n % 2, &format!("Ines Probe {n}")).await.1);
        }
        browsers
    }

    /// A browser that nobody is signed in with, at one of the copies.
    pub fn stranger(&self, copy: usize) -> Browser {
        Browser::at(self.routers[copy].clone())
    }

    /// Frames by their tags, for rugs of the usual size; their ids.
    pub async fn frames(&self, tags: &[&str]) -> Vec<String> {
        let by = loft::instructor(&self.stores[0]).await;
        let mut ids = Vec::new();
        for tag in tags {
            ids.push(loft::frame(&self.stores[0], by, &loft::usual(tag)).await.to_string());
        }
        ids
    }

    /// So many weavers, each with a rug for such a frame: names, and ids of the rugs.
    pub async fn rugs(&self, many: usize) -> Vec<(String, String)> {
        let made = loft::weavers_with_rugs(&self.stores[0], many, &loft::usual("")).await;
        made.into_iter().map(|(name, rug)| (name, rug.to_string())).collect()
    }

    /// What a share-out found, whether it is accepted or not: each promise and its milligrams, which pages show rounded.
    pub async fn promised(&self, share_out: &str) -> Vec<(String, String, i64)> {
        let mut read = self.stores[0].read().await.unwrap();
        let found = read.promises_of(share_out.parse().unwrap()).await.unwrap();
        let part = |promise: &Promise| format!("{:?}", promise.part);
        found
            .iter()
            .map(|promise| (promise.id.to_string(), part(promise), promise.promised_mg.mg()))
            .collect()
    }

    /// A key for a form, such as its page carries.
    pub fn key() -> String {
        RequestKey::new().to_string()
    }

    /// Nothing that must always hold is broken, whichever copy is asked.
    pub async fn check(&self, when: &str) {
        for store in &self.stores {
            let broken = store.read().await.unwrap().broken_invariants().await.unwrap();
            assert_eq!(broken, Vec::<String>::new(), "{when}");
        }
    }
}

/// What came of an act: it was done and leads somewhere, or it was refused and here is the form again.
pub enum End {
    Done(String),
    Refused(Box<Page>),
}

impl End {
    /// Anything but an answer that a form has is a failure: two who meet are no fault of the program, nor is it busy.
    #[track_caller]
    pub fn of(page: Page) -> Self {
        match page.status.as_u16() {
            303 => Self::Done(page.to().to_owned()),
            409 | 422 => Self::Refused(Box::new(page)),
            _ => panic!("{}: {}", page.status, page.text),
        }
    }

    pub fn is_done(&self) -> bool {
        matches!(self, Self::Done(_))
    }
}

/// The id in an address such as `/loans/ID?said=handed-out`.
pub fn id_in(address: &str) -> String {
    let path = address.split('?').next().unwrap_or_default();
    path.rsplit('/').next().unwrap_or_default().to_owned()
}

/// A table that was taken away: its rows, as the cells under the given headings, a heading that stands twice by its first.
pub fn table<const N: usize>(csv: &str, headings: [&str; N]) -> Vec<[String; N]> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let head = reader.headers().unwrap().clone();
    let at = headings.map(|heading| {
        head.iter().position(|name| name == heading).unwrap_or_else(|| panic!("no {heading} in {head:?}"))
    });
    reader.records().map(|row| at.map(|at| row.as_ref().unwrap()[at].to_owned())).collect()
}

/// A row of a bundle's ledger, in whole grams, and the entry's id where it may be undone.
pub struct Row {
    pub change: i64,
    pub left: i64,
    pub entry: Option<String>,
}

/// The ledger that a bundle's page shows, first entry first.
pub fn ledger(page: &Page) -> Vec<Row> {
    let html = Html::parse_document(&page.text);
    let select = |selector: &str| Selector::parse(selector).unwrap();
    let grams = |text: String| {
        let number = text.trim().trim_end_matches(" g").replace('−', "-").replace('+', "");
        number.parse::<i64>().unwrap_or_else(|_| panic!("{text} is no whole number of grams"))
    };
    let rows = select("tbody tr");
    html.select(&rows)
        .filter_map(|row| {
            let text =
                |selector: &str| Some(row.select(&select(selector)).next()?.text().collect::<String>());
            let (change, left) = (text("td[data-label=Change] .nowrap")?, text("td[data-label=Left]")?);
            let entry = row.select(&select("[name=entry]")).next();
            let entry = entry.and_then(|field| field.attr("value")).map(str::to_owned);
            Some(Row { change: grams(change), left: grams(left), entry })
        })
        .collect()
}

/// An attribute of each element that a selector finds.
pub fn every(page: &Page, selector: &str, attribute: &str) -> Vec<String> {
    let html = Html::parse_document(&page.text);
    let found = Selector::parse(selector).unwrap();
    html.select(&found).filter_map(|element| element.attr(attribute).map(str::to_owned)).collect()
}

/// What a browser would send of a form, if nothing were changed: its fields with what stands in them.
pub fn fields_of(page: &Page, form: &str) -> Vec<(String, String)> {
    let html = Html::parse_document(&page.text);
    let select = |selector: &str| Selector::parse(selector).unwrap();
    let form = select(form);
    let form = html.select(&form).find(|form| form.select(&select("[name=revision]")).next().is_some());
    let form = form.unwrap_or_else(|| panic!("no form that edits in {}", page.text));
    let mut fields = Vec::new();
    for field in form.select(&select("input, textarea, select")) {
        let Some(name) = field.attr("name") else { continue };
        let chosen = match (field.value().name(), field.attr("type")) {
            ("input", Some("radio" | "checkbox")) => {
                field.attr("checked").and(field.attr("value").or(Some("on")))
            }
            ("input", _) => field.attr("value").or(Some("")),
            ("textarea", _) => {
                fields.push((name.to_owned(), field.text().collect::<String>().trim().to_owned()));
                None
            }
            _ => field.select(&select("option[selected]")).next().and_then(|option| option.attr("value")),
        };
        fields.extend(chosen.map(|value| (name.to_owned(), value.to_owned())));
    }
    fields
}
