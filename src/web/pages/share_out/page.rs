//! A share-out's page: how far it is while it works; then each rug's wanted colours beside the cloth, what is lacking,
//! and how near the best it is.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse as _, Response};

use super::lack::{Lack, lacks};
use super::{App, CurrentUser, Form, Layout, Result};
use crate::planning::colour::Hex;
use crate::store::cloth::promises::{Broken, Promise, PromiseState};
use crate::store::cloth::share_outs::{NeedRow, ShareOut, ShareOutState};
use crate::store::{Read, RequestKey, RugId, ShareOutId};
use crate::units::dates;
use crate::units::{Mass, Units};
use crate::web::http::id::{Id, PathId as _};

/// Seconds between two looks of the page that waits.
const AGAIN: u64 = 1;
/// Work that has told nothing for so long, in seconds, has broken off: the program was stopped meanwhile, and takes it up again.
const SILENT: i64 = 15;

#[derive(askama::Template, WebTemplate)]
#[template(path = "share_out/working.html")]
struct WorkingPage {
    layout: Layout,
    share_out: ShareOut,
    /// Fresh keys for the forms.
    form: Form,
    broke_off: bool,
}

impl WorkingPage {
    fn percent(&self) -> i64 {
        (self.share_out.spent / 10).clamp(0, 100)
    }

    fn near(&self) -> Option<String> {
        near(&self.share_out)
    }
}

/// A rug with its parts and what was found for them.
struct ServedRug {
    id: RugId,
    rug: String,
    weaver: String,
    parts: Vec<PartRow>,
}

struct PartRow {
    /// Its number among the parts of the share-out, counted from 1.
    number: usize,
    name: String,
    hex: Option<Hex>,
    wanted: Mass,
    given: Vec<Given>,
    short: Mass,
}

struct Given {
    promise: Promise,
    /// How near its colour is, in words; nothing for warp.
    near: &'static str,
    broken: Option<String>,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "share_out/result.html")]
pub(super) struct ResultPage {
    layout: Layout,
    form: Form,
    share_out: ShareOut,
    when: String,
    rugs: Vec<ServedRug>,
    lacks: Vec<Lack>,
    wanted: Mass,
    given: Mass,
    opened: usize,
    units: Units,
}

impl ResultPage {
    fn is(&self, state: &str) -> bool {
        self.share_out.state.word() == state
    }

    fn near(&self) -> Option<String> {
        near(&self.share_out)
    }

    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn key(&self) -> RequestKey {
        RequestKey::new()
    }

    fn lacking(&self) -> String {
        let short: Mass = self.lacks.iter().map(|lack| lack.short).sum();
        if short == Mass::ZERO { "nothing".into() } else { short.show(self.units) }
    }

    fn lead(&self) -> String {
        let what = match self.share_out.state {
            ShareOutState::Working => "being worked on",
            ShareOutState::Proposed => "a proposal: nothing is promised until you accept it",
            ShareOutState::Accepted => "accepted: this cloth is promised",
            ShareOutState::Dropped => "set aside: nothing is promised by it",
        };
        let rugs = self.share_out.rugs;
        format!("For {rugs} rug{}, {what}.", if rugs == 1 { "" } else { "s" })
    }

    pub(super) async fn load(read: &mut Read, me: &CurrentUser, id: ShareOutId, form: Form) -> Result<Self> {
        let units = me.units();
        let share_out = read.share_out(id).await?.ok_or_else(ShareOutId::none)?;
        let needs = read.share_out_needs(id).await?;
        let promises = read.promises_of(id).await?;
        let offered = read.offered().await?;
        let yields = read.yields().await?;
        let given = |row: &NeedRow| -> Mass {
            let own = promises.iter().filter(|promise| promise.part == row.need.part);
            own.map(Promise::promised_strip).sum()
        };
        // Cloth is given in whole grams, so less than one is no lack.
        let gram = Mass::from_grams(1.0);
        let short = |row: &NeedRow| {
            let short = row.need.wanted_mg - given(row);
            if short < gram { Mass::ZERO } else { short }
        };
        let lacking: Vec<_> = needs
            .iter()
            .map(|row| (&row.need, short(row)))
            .filter(|(_, short)| *short > Mass::ZERO)
            .collect();
        let mut rugs: Vec<ServedRug> = Vec::new();
        for (row, number) in needs.iter().zip(1..) {
            if rugs.last().is_none_or(|last| last.id != row.need.part.rug_id) {
                let (rug, weaver) = (row.rug.clone(), row.weaver.clone());
                rugs.push(ServedRug { id: row.need.part.rug_id, rug, weaver, parts: Vec::new() });
            }
            if let Some(last) = rugs.last_mut() {
                last.parts.push(part(row, number, &promises, short(row), units));
            }
        }
        let mut opened: Vec<i64> = promises.iter().map(|promise| promise.tag).collect();
        opened.dedup();
        Ok(Self {
            layout: me.layout(),
            form,
            when: dates::moment(share_out.made_at, &me.wall()),
            lacks: lacks(&lacking, &offered, &yields, units),
            wanted: needs.iter().map(|row| row.need.wanted_mg).sum(),
            given: promises.iter().map(Promise::promised_strip).sum(),
            opened: opened.len(),
            share_out,
            rugs,
            units,
        })
    }
}

fn part(row: &NeedRow, number: usize, promises: &[Promise], short: Mass, units: Units) -> PartRow {
    let need = &row.need;
    let hex = Hex::parse(&need.part.colour_hex).ok();
    let kind = need.kind.facts().title.to_lowercase();
    let given = promises.iter().filter(|promise| promise.part == need.part).map(|promise| Given {
        near: hex.map_or("", |wanted| nearness(wanted.difference(promise.bundle_hex))),
        broken: promise.broken().map(|broken| why(broken, units)),
        promise: promise.clone(),
    });
    PartRow {
        number,
        name: if need.part.warp { format!("Warp, {kind}") } else { need.part.colour_name.clone() },
        hex,
        wanted: need.wanted_mg,
        given: given.collect(),
        short,
    }
}

/// A difference by CIEDE2000 in words. Where one ends and the next begins is ours, set by eye.
pub(super) fn nearness(difference: f64) -> &'static str {
    match difference {
        d if d < 2.0 => "looks the same",
        d if d < 6.0 => "very close",
        d if d < 12.0 => "a different shade",
        d if d < 25.0 => "a clearly different colour",
        _ => "a completely different colour",
    }
}

/// Why a promise can't be kept, for people.
pub(super) fn why(broken: Broken, units: Units) -> String {
    match broken {
        Broken::NotReady(state) => format!("Broken: the bundle is {}.", state.title()),
        Broken::Short { there: Mass::ZERO } => "Broken: nothing of it is left for this.".into(),
        Broken::Short { there } => format!("Broken: only {} is left for this.", there.show(units)),
    }
}

/// How near the best a share-out is, in plain words; nothing before anything is known.
fn near(share_out: &ShareOut) -> Option<String> {
    let (cost, bound) = (share_out.cost?, share_out.bound?);
    // A thousandth of nothing is rounding.
    if cost <= bound + 1 {
        return Some("Proven: with this cloth and these limits no share-out is better.".into());
    }
    let percent = 100.0 * (cost - bound) as f64 / cost as f64;
    Some(if percent < 0.1 {
        "No share-out is better by more than 0.1 %.".into()
    } else if percent <= 5.0 {
        format!("Near the best there is: no share-out is better by more than {percent:.1} %.")
    } else {
        format!("No share-out is better by more than {percent:.0} %; more time may bring it nearer.")
    })
}

pub(super) async fn show(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<ShareOutId>,
) -> Result<Response> {
    let share_out = read.share_out(id).await?.ok_or_else(ShareOutId::none)?;
    if share_out.state != ShareOutState::Working {
        let form = Form::blank(me.units()).with("few", "yes");
        return Ok(ResultPage::load(&mut read, &me, id, form).await?.into_response());
    }
    let silent = app.clock.now().duration_since(share_out.told_at.0).as_secs();
    let broke_off = silent > SILENT;
    let page = WorkingPage { layout: me.layout(), share_out, form: Form::blank(me.units()), broke_off };
    let mut response = page.into_response();
    // The browser asks again by itself, also where scripts are off.
    response.headers_mut().insert(header::REFRESH, AGAIN.into());
    Ok(response)
}

impl Given {
    fn may_be_kept(&self) -> bool {
        self.promise.is_open() && self.broken.is_none()
    }

    fn state(&self) -> &'static str {
        match (self.promise.state, self.promise.pulled_mg) {
            (_, Some(_)) => "pulled",
            (PromiseState::Released, None) => "released",
            _ => "",
        }
    }
}
