//! The model and the service side by side: each act is taken in both, and whatever differs is told.
use jiff::Timestamp;
use jiff::tz::TimeZone;
use scraper::{Html, Selector};

use super::acts::{Act, Answer, Learn, Step, What, Who, open_again};
use super::house::{NAMES, PASSPHRASES};
use super::learn::{newest_bundles, proposal};
use super::state::{Person, Role, State, Thing};
use super::views::{Seen, View, compare, meetings_in_order};
use crate::support::Database;
use crate::support::browser::{Browser, Page};
use crate::support::workroom::Workroom;

/// So many browsers are there: the founder's, and others for people who come later.
const BROWSERS: usize = 6;
/// After so many steps every view is compared.
const ROUND: usize = 40;

pub struct Run {
    pub model: State,
    service: Workroom,
    browsers: Vec<Browser>,
    steps: usize,
    keys: u64,
}

type Differs = String;

impl Run {
    /// A workroom that its founder just opened, at a moment of its own clock.
    pub async fn begin(database: &Database, zone: &str, start: &str) -> Result<Self, Differs> {
        let tz = TimeZone::get(zone).unwrap();
        let now: Timestamp = tz.to_timestamp(start.parse().unwrap()).unwrap();
        let service = Workroom::start(database, now);
        let link = service.setup_link().await;
        let mut browsers: Vec<Browser> = (0..BROWSERS).map(|_| service.browser()).collect();
        let fields = [
            ("workroom", "Saltern Row"),
            ("units", "inches"),
            ("time_zone", zone),
            ("name", NAMES[0]),
            ("passphrase", PASSPHRASES[0]),
            ("again", PASSPHRASES[0]),
        ];
        let page = browsers[0].post(&link, &fields).await;
        if page.status.as_u16() != 303 {
            return Err(format!("the workroom could not be set up: {}", page.status));
        }
        let mut model = State {
            zone: tz,
            // Half an ounce, until somebody says otherwise.
            doubt: 14_175,
            settings: 1,
            now,
            people: vec![Person {
                id: String::new(),
                name: NAMES[0].to_owned(),
                contact: String::new(),
                role: Role::Instructor,
                passphrase: PASSPHRASES[0].to_owned(),
                given: false,
                left: false,
                revision: 1,
            }],
            links: Vec::new(),
            sessions: Vec::new(),
            browsers: vec![None; BROWSERS],
            failures: std::collections::BTreeMap::new(),
            devices: vec![None; BROWSERS],
            known: std::collections::BTreeSet::new(),
            frames: Vec::new(),
            rods: Vec::new(),
            rugs: Vec::new(),
            loans: Vec::new(),
            bundles: Vec::new(),
            lists: Vec::new(),
            stocktakes: Vec::new(),
            share_outs: Vec::new(),
            promises: Vec::new(),
            log: Vec::new(),
            terms: Vec::new(),
            meetings: Vec::new(),
            feeds: Vec::new(),
            record: Vec::new(),
        };
        model.note(None, Thing::Workroom, "set up");
        model.note(None, Thing::Person(0), "added");
        model.open_session(0, 0);
        model.record.last_mut().unwrap().who = None;
        let people = browsers[0].get("/people").await;
        let path = people.attr("tbody th a", "href");
        path.trim_start_matches("/people/").clone_into(&mut model.people[0].id);
        Ok(Self { model, service, browsers, steps: 0, keys: 0 })
    }

    /// Takes an act in both worlds, and compares what it touched.
    pub async fn act(&mut self, act: &Act) -> Result<(), Differs> {
        self.steps += 1;
        if let What::Clock(to) = act.what {
            self.model.now = to.to(&self.model);
            self.service.set_clock(self.model.now);
            return self.see(&[View::Doors, View::FramesCsv, View::Loans], act).await;
        }
        let browser = match act.who {
            Who::Browser(which) => usize::from(which) % BROWSERS,
            Who::Fit(which) => self.fit(which, act).await?,
        };
        let held = self.model.browsers[browser];
        let Some(step) = act.step(&mut self.model, browser) else { return Ok(()) };
        self.model.use_session(held);
        self.take(browser, step, act).await
    }

    /// A browser with which somebody is signed in who may; where there is none an instructor signs in.
    async fn fit(&mut self, which: u8, act: &Act) -> Result<usize, Differs> {
        let may = |&n: &usize| {
            let person = self.model.person_at(n).filter(|&person| !self.model.people[person].given);
            self.model.role(person).is_some_and(|role| act.wants().admits(role))
        };
        let fit: Vec<usize> = (0..BROWSERS).filter(may).collect();
        if !fit.is_empty() {
            return Ok(fit[usize::from(which) % fit.len()]);
        }
        let held = self.model.browsers[0];
        let step = open_again(&mut self.model);
        self.model.use_session(held);
        self.take(0, step, act).await.map(|()| 0)
    }

    async fn take(&mut self, browser: usize, mut step: Step, act: &Act) -> Result<(), Differs> {
        if let Some(first) = step.first.take() {
            let page = self.send(browser, &first).await;
            let (n, path) = (self.steps, &first.path);
            answered(&first.answer, &page).map_err(|differs| {
                format!("step {n}, browser {browser}, {act:?}\n  {path} first: {differs}")
            })?;
        }
        if step.keyed {
            self.keys += 1;
            step.fields.push(("key", self.key()));
        }
        if let Some((name, path, selector)) = &step.find {
            let page = self.browsers[browser].get(path).await;
            let value = value_at(&page, selector)
                .ok_or_else(|| format!("step {}, {act:?}: there is no {selector} at {path}", self.steps))?;
            step.fields.push((name, value));
        }
        let page = self.send(browser, &step).await;
        let n = self.steps;
        let tell = |what: &str, differs: String| {
            let path = &step.path;
            format!(
                "step {n}, browser {browser}, {act:?}\n  {} {path} {:?}\n  {what}: {differs}",
                step.method, step.fields
            )
        };
        let new = answered(&step.answer, &page).map_err(|differs| tell("the answer", differs))?;
        if step.keyed && act.twice {
            // A second press of the button changes nothing and leads to the same place.
            let again = self.send(browser, &step).await;
            let same =
                again.status == page.status && again.headers.get("location") == page.headers.get("location");
            if !same {
                let there = (again.status.as_u16(), again.headers.get("location"));
                return Err(tell("the second press", format!("the first led elsewhere than {there:?}")));
            }
        }
        if let Some(learn) = step.learn {
            self.learn(learn, &page, new, browser)
                .await
                .map_err(|wrong| format!("step {}, {act:?}: {wrong}", self.steps))?;
        }
        let broken = self.service.check().await;
        if !broken.is_empty() {
            return Err(format!("step {}, {act:?}: check says {broken:?}", self.steps));
        }
        self.see(&step.touched, act).await?;
        if self.steps.is_multiple_of(ROUND) { self.see_all().await } else { Ok(()) }
    }

    /// The key of the form sent last.
    fn key(&self) -> String {
        format!("00000000-0000-7000-8000-{:012x}", self.keys)
    }

    /// Takes over what only the service knows: ids, and the addresses that it makes secrets for.
    async fn learn(
        &mut self,
        learn: Learn,
        page: &Page,
        new: Option<String>,
        browser: usize,
    ) -> Result<(), Differs> {
        let address = |part: &str| {
            let href = page.attr(&format!("main a.small[href*='{part}']"), "href");
            href[href.find(part).unwrap()..].to_owned()
        };
        match learn {
            Learn::Id(thing) => self.model.set_id(thing, new.unwrap_or_default()),
            Learn::List(list, first) => {
                self.model.lists[list] = self.key();
                let cloth = self.browsers[browser].get("/cloth").await;
                let came = self.model.bundles.len() - first;
                let ids = newest_bundles(&cloth, came);
                for (bundle, id) in self.model.bundles.iter_mut().rev().zip(ids) {
                    bundle.id = id;
                }
            }
            Learn::Found(share_out, kept) => {
                self.model.share_outs[share_out].id = new.unwrap_or_default();
                return proposal(&mut self.model, &mut self.browsers[browser], share_out, &kept).await;
            }
            Learn::Link(link) => self.model.links[link].path = address("/enter/"),
            Learn::Feed(feed) => self.model.feeds[feed].path = address("/calendar/"),
            Learn::Entry(entry) => {
                let rug = View::Rug(self.model.log[entry].rug).path(&self.model);
                self.model.log[entry].id =
                    self.browsers[browser].get(&rug).await.attr("[name=entry]", "value");
            }
            Learn::Term(term) => {
                if let Some(id) = new {
                    self.model.terms[term].id = id;
                }
                let page = self.browsers[browser].get(&View::Term(term).path(&self.model)).await;
                let html = Html::parse_document(&page.text);
                let forms = Selector::parse("main form[action^='/meetings/']").unwrap();
                let acts = html.select(&forms).filter_map(|form| form.attr("action"));
                let ids: Vec<String> =
                    acts.filter_map(|act| act.split('/').nth(2)).map(str::to_owned).collect();
                for (meeting, id) in meetings_in_order(&self.model, term).into_iter().zip(ids) {
                    self.model.meetings[meeting].id = id;
                }
            }
        }
        Ok(())
    }

    async fn send(&mut self, browser: usize, step: &Step) -> Page {
        let browser = &mut self.browsers[browser];
        if step.method == "GET" {
            return browser.get(&step.path).await;
        }
        let fields = step.fields.iter().map(|(name, value)| (*name, value.as_str()));
        let more = step.more.iter().map(|(name, value)| (name.as_str(), value.as_str()));
        let fields: Vec<(&str, &str)> = fields.chain(more).collect();
        browser.post(&step.path, &fields).await
    }

    /// Compares views: as an instructor sees them, and as the person whose turn it is; who is signed in, for all.
    async fn see(&mut self, views: &[View], act: &Act) -> Result<(), Differs> {
        let instructor =
            (0..BROWSERS).find(|&n| self.model.role(self.model.person_at(n)) == Some(Role::Instructor));
        for &view in views {
            let turn = self.steps % BROWSERS;
            let mut lookers = if view == View::Doors { (0..BROWSERS).collect() } else { vec![turn] };
            lookers.extend(instructor.filter(|&n| n != turn && view != View::Doors));
            for looker in lookers {
                self.look(view, looker)
                    .await
                    .map_err(|differs| format!("step {}, after {act:?}\n{differs}", self.steps))?;
            }
        }
        Ok(())
    }

    /// Compares every view for every browser.
    pub async fn see_all(&mut self) -> Result<(), Differs> {
        let mut seen = Vec::new();
        for looker in 0..BROWSERS {
            // Two browsers of one person see the same, and so do those of nobody.
            let who = self.model.person_at(looker);
            if seen.contains(&who) {
                continue;
            }
            seen.push(who);
            for view in View::all(&self.model) {
                self.look(view, looker)
                    .await
                    .map_err(|differs| format!("after step {}\n{differs}", self.steps))?;
            }
        }
        Ok(())
    }

    async fn look(&mut self, view: View, looker: usize) -> Result<(), Differs> {
        let path = view.path(&self.model);
        let who = self.model.person_at(looker);
        let page = self.browsers[looker].get(&path).await;
        self.model.use_session(self.model.browsers[looker]);
        let Some(differs) = compare(&view.seen(&self.model, who), &page) else { return Ok(()) };
        let whom = who.map_or("nobody".to_owned(), |who| {
            let person = &self.model.people[who];
            format!("{} ({})", person.name, person.role.word())
        });
        let local = self.model.local();
        Err(format!("  {view:?} at {path}, as {whom} sees it at {local}:\n  {differs}"))
    }
}

/// Whether a page is the answer that the model gives; the id in its address, where one was made.
fn answered(answer: &Answer, page: &Page) -> Result<Option<String>, Differs> {
    let status = page.status.as_u16();
    let there = page.headers.get("location").and_then(|to| to.to_str().ok()).unwrap_or_default();
    let says = || {
        format!("the model says {answer:?}, the page {status} {there} {:?} {:?}", errors(page), told(page))
    };
    let fits = match answer {
        Answer::Page => status == 200,
        Answer::Shows(parts) => {
            return compare(&Seen::Html(parts.clone()), page).map_or(Ok(None), Err);
        }
        Answer::No(no) => status == *no,
        Answer::Form(no, fields) => status == *no && errors(page) == *fields,
        Answer::To(to) => match to.split_once("{new}") {
            None => status == 303 && there == to,
            Some((before, after)) => {
                let id = there.strip_prefix(before).and_then(|rest| rest.strip_suffix(after));
                return id.filter(|_| status == 303).map(|id| Some(id.to_owned())).ok_or_else(says);
            }
        },
    };
    if fits { Ok(None) } else { Err(says()) }
}

/// What stands in the field that a selector finds.
fn value_at(page: &Page, selector: &str) -> Option<String> {
    let html = Html::parse_document(&page.text);
    let field = html.select(&Selector::parse(selector).unwrap()).next()?.attr("value")?.to_owned();
    Some(field)
}

/// The fields that a form complains of, in order; "" is the form itself.
/// What a page that was refused says of it, in words.
fn told(page: &Page) -> Vec<String> {
    let html = Html::parse_document(&page.text);
    let lines = Selector::parse("#errors li").unwrap();
    html.select(&lines).map(|line| line.text().collect::<String>().trim().to_owned()).collect()
}

fn errors(page: &Page) -> Vec<String> {
    let html = Html::parse_document(&page.text);
    let [lines, link] = ["#errors li", "a"].map(|selector| Selector::parse(selector).unwrap());
    html.select(&lines)
        .map(|line| line.select(&link).next().and_then(|link| link.attr("href")))
        .map(|href| href.unwrap_or_default().trim_start_matches('#').to_owned())
        .collect()
}
