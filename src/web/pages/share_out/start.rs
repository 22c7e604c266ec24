//! Where a share-out begins: the rugs to pick from, what is promised already, and the share-outs so far.
use std::collections::BTreeSet;

use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::{App, CurrentUser, Error, Form, FormData, Layout, Result};
use crate::optimize::share_out::{JobError, MOST_CELLS};
use crate::services::share_out::needs::{Question, Wanting, wanting};
use crate::services::share_out::touching::Touching;
use crate::store::cloth::promises::{Offered, Promise};
use crate::store::cloth::share_outs::NewPromise;
use crate::store::cloth::share_outs::{Limits, PartNeed, ShareOut};
use crate::store::rugs::RugState;
use crate::store::{Read, RugId, ShareOutId};
use crate::units::dates;
use crate::units::{Mass, Units};
use crate::web::http::answer::{done, invalid};

/// Seconds that a share-out may be given, in words.
const TIMES: [(&str, &str); 3] =
    [("3", "3 seconds"), ("10", "10 seconds, for a large class"), ("60", "a minute, for the last per cent")];
/// How far off a wanted colour cloth may be, by CIEDE2000, in words. Where one ends and the next begins is ours, by eye.
const OFF: [(&str, &str); 4] = [
    ("6", "very close only"),
    ("12", "a different shade at most"),
    ("25", "a clearly different colour at most"),
    ("200", "any colour at all"),
];
/// How many earlier share-outs are listed.
const EARLIER: i64 = 8;

/// A rug to pick.
struct RugPick {
    id: RugId,
    rug: String,
    weaver: String,
    state: String,
    whole: Mass,
    wanted: Mass,
    promised: Mass,
    broken: usize,
    picked: bool,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "share_out/start.html")]
pub(super) struct StartPage {
    layout: Layout,
    form: Form,
    rows: Vec<RugPick>,
    earlier: Vec<(ShareOut, String)>,
    free: Mass,
    to_pull: usize,
    units: Units,
}

impl StartPage {
    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn times(&self) -> &'static [(&'static str, &'static str)] {
        &TIMES
    }

    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn off(&self) -> &'static [(&'static str, &'static str)] {
        &OFF
    }

    fn wanted(&self) -> Mass {
        self.rows.iter().map(|row| row.wanted).sum()
    }

    fn promised(&self) -> Mass {
        self.rows.iter().map(|row| row.promised).sum()
    }

    fn broken(&self) -> usize {
        self.rows.iter().map(|row| row.broken).sum()
    }

    async fn load(read: &mut Read, me: &CurrentUser, form: Form, fresh: bool) -> Result<Self> {
        let units = me.units();
        let standing = read.promises().await?;
        let all = wanting(read, &standing, units).await?;
        let rows = all.into_iter().map(|one| row(one, &standing, &form, fresh)).collect();
        let wall = me.wall();
        let earlier = read.share_outs(EARLIER).await?.into_iter();
        let offered = read.offered().await?;
        let ready =
            offered.iter().filter(|one| one.state == crate::store::cloth::bundles::BundleState::Ready);
        Ok(Self {
            layout: me.layout(),
            form,
            rows,
            earlier: earlier.map(|one| (one.clone(), dates::moment(one.made_at, &wall))).collect(),
            free: ready.map(|one| (one.balance_mg - one.promised_mg).max(Mass::ZERO)).sum(),
            to_pull: standing.iter().filter(|promise| promise.is_open()).count(),
            units,
        })
    }
}

fn row(one: Wanting, standing: &[Promise], form: &Form, fresh: bool) -> RugPick {
    let rug = one.rug;
    let own = || standing.iter().filter(|promise| promise.part.rug_id == rug.id);
    let open = || own().filter(|promise| promise.is_open());
    let promised: Mass = open().map(|promise| promise.promised_mg).sum();
    let strip: Mass = open().map(Promise::promised_strip).sum();
    let wanted: Mass = one.needs.iter().map(|need| need.wanted_mg).sum();
    let broken = own().filter(|promise| promise.broken().is_some()).count();
    let id = rug.id.to_string();
    RugPick {
        id: rug.id,
        weaver: rug.weaver,
        state: rug.state.to_string(),
        // At first those that lack something are picked; one on a frame that had some of its cloth may have had the rest from
        // elsewhere.
        picked: if fresh {
            let may = rug.state == RugState::Planned || own().next().is_none();
            (may && strip.scale(1.02) < wanted) || broken > 0
        } else {
            form.values("rug").any(|picked| picked == id)
        },
        rug: rug.fields.name,
        whole: one.whole,
        wanted,
        promised,
        broken,
    }
}

pub(super) async fn start(me: CurrentUser, mut read: Read) -> Result<StartPage> {
    let form = Form::blank(me.units())
        .with("most", 2)
        .with("seconds", "3")
        .with("most_off", "25")
        .with("few", "yes");
    StartPage::load(&mut read, &me, form, true).await
}

pub(super) async fn begin(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let most = form.count("most", "The number of bundles", 1..=6);
    let seconds = form.count("seconds", "The time", 1..=60);
    let most_off = form.count("most_off", "The difference in colour", 1..=200);
    let rugs: Vec<RugId> = form.values("rug").filter_map(|id| id.parse().ok()).collect();
    if rugs.is_empty() {
        form.add_error("rugs", "Pick at least one rug.");
    }
    let mut read = app.store.read().await?;
    let (Some(most), Some(seconds), Some(most_off), true) = (most, seconds, most_off, form.is_ok()) else {
        return Ok(invalid(StartPage::load(&mut read, &me, form, false).await?));
    };
    let basis = Basis::load(&mut read, &rugs, me.units()).await?;
    if basis.needs.is_empty() {
        form.add_error(
            "rugs",
            "These rugs are finished or given up by now. Pick one that is planned or on a frame.",
        );
        return Ok(invalid(StartPage::load(&mut read, &me, form, false).await?));
    }
    drop(read);
    launch(&app, &me, &form, basis, &[], Limits { most, seconds, most_off }).await
}

/// What a share-out starts from, all of one moment.
pub(super) struct Basis {
    pub needs: Vec<PartNeed>,
    standing: Vec<Promise>,
    offered: Vec<Offered>,
    touching: Touching,
}

impl Basis {
    /// For these rugs.
    pub(super) async fn load(read: &mut Read, rugs: &[RugId], units: Units) -> Result<Self> {
        let standing = read.promises().await?;
        let all = wanting(read, &standing, units).await?;
        let touching = Touching::of(all.iter().map(|one| &one.rug));
        let needs =
            all.into_iter().filter(|one| rugs.contains(&one.rug.id)).flat_map(|one| one.needs).collect();
        let offered = read.offered_beside(&standing).await?;
        Ok(Self { needs, standing, offered, touching })
    }
}

/// Begins a share-out for what is needed, keeping what is locked, and leads to its page.
pub(super) async fn launch(
    app: &App,
    me: &CurrentUser,
    form: &Form,
    basis: Basis,
    locked: &[NewPromise],
    limits: Limits,
) -> Result<Response> {
    let Basis { needs, mut standing, offered, touching } = basis;
    let few = form.ticked("few");
    let question = Question::of(&needs, &offered, &standing, locked, &touching, (limits, few));
    if let Err(JobError::TooLarge { needs, bundles }) = question.job.problem() {
        return too_large(app, me, form, (needs, bundles)).await;
    }
    let id = ShareOutId::new();
    let to = format!("/share-out/{id}");
    let mut tx = app.write(me).await?;
    tx.idempotent(form.key, &to).await?;
    match tx.begin_share_out(id, limits, &needs, locked).await {
        Err(error) if error.violates("u_share_out__person_id") => return Err(Error::Searching),
        begun => begun?,
    }
    let asked: BTreeSet<RugId> = needs.iter().map(|need| need.part.rug_id).collect();
    standing.retain(|promise| asked.contains(&promise.part.rug_id));
    tx.note_had_already(id, &standing).await?;
    if few {
        tx.wants_few_changes(id).await?;
    }
    let begun = done(tx, &to).await?;
    app.share_outs.begin(Some(me.id()), id, question, limits.seconds);
    Ok(begun)
}

/// The page again, with what is too much and what to do about it.
async fn too_large(
    app: &App,
    me: &CurrentUser,
    form: &Form,
    (needs, bundles): (usize, usize),
) -> Result<Response> {
    let mut form = form.clone();
    let most = MOST_CELLS / bundles.max(1);
    form.add_error(
        "rugs",
        format!(
            "This is too much at once: {needs} colours and warps to find among {bundles} bundles. Nothing was worked out. With \
             so many bundles up to {most} colours and warps can be shared out at a time: pick fewer rugs, the most urgent \
             first, and share out to the others after these are accepted."
        ),
    );
    Ok(invalid(StartPage::load(&mut app.store.read().await?, me, form, false).await?))
}
