//! Papers of what a database keeps: of one rug, of a term, of a loan, of the shelf.
use std::process::ExitCode;

use anyhow::Context as _;
use clap::{Args, Subcommand};
use jiff::tz::TimeZone;

use super::Out;
use crate::cli::DatabaseArgs;
use crate::edge::Clock;
use crate::store::rugs::{Rug, RugState};
use crate::store::{LoanId, RugId, Store, TermId};
use crate::web::papers::{self, Reader};
use crate::web::{App, Config};

#[derive(Subcommand)]
pub(super) enum Kind {
    /// What a weaver has beside the frame; with --term the cards of all its rugs in one file
    WarpCard(OfRugs),
    /// The rows to read off
    ReadingCard(OfRugs),
    /// The labels of finished rugs
    CareLabels(OfRugs),
    /// Which bundles, how much of each, for whom
    PullSheet(Alone),
    /// Who has which frame when
    WallSheet(OfTerm),
    /// What went home, due when
    LoanSlip(OfLoan),
}

#[derive(Args)]
pub(super) struct Alone {
    #[command(flatten)]
    out: Out,
    /// The address people type; the codes lead there
    #[arg(long, env = "THRUMHALL_PUBLIC_URL", default_value = "http://127.0.0.1:8080", value_name = "URL")]
    public_url: String,
    #[command(flatten)]
    database: DatabaseArgs,
}

#[derive(Args)]
#[group(id = "which", required = true, multiple = false, args = ["rug", "term"])]
pub(super) struct OfRugs {
    /// One rug, by the id in its page's address
    #[arg(long, value_name = "ID")]
    rug: Option<RugId>,
    /// All rugs of a term, by the id in its page's address
    #[arg(long, value_name = "ID")]
    term: Option<TermId>,
    /// In large print, 18 points; for one rug
    #[arg(long, conflicts_with = "term")]
    large: bool,
    #[command(flatten)]
    common: Alone,
}

#[derive(Args)]
pub(super) struct OfTerm {
    /// The term, by the id in its page's address
    #[arg(long, value_name = "ID")]
    term: TermId,
    #[command(flatten)]
    common: Alone,
}

#[derive(Args)]
pub(super) struct OfLoan {
    /// The loan, by the id in its page's address
    #[arg(long, value_name = "ID")]
    loan: LoanId,
    #[command(flatten)]
    common: Alone,
}

/// The program over its database, and for whom papers are made: the workroom itself.
async fn opened(common: &Alone) -> anyhow::Result<(App, Reader)> {
    let store = Store::open(&common.database.place()).await?;
    let workroom = store.read().await?.workroom().await?.context("nobody has set this workroom up yet")?;
    let reader = Reader {
        zone: TimeZone::get(&workroom.time_zone).unwrap_or(TimeZone::UTC),
        workroom: workroom.name,
        units: workroom.units,
        origin: common.public_url.trim_end_matches('/').to_owned(),
    };
    Ok((App::new(store, Clock::System, Config::default()), reader))
}

/// The rugs that are asked for: one, or those of a term.
async fn rugs(app: &App, of: &OfRugs, wanted: impl Fn(&Rug) -> bool) -> anyhow::Result<Vec<Rug>> {
    let mut read = app.store.read().await?;
    let rugs = match (of.rug, of.term) {
        (Some(id), _) => vec![read.rug(id).await?.context("there is no such rug")?],
        (None, term) => read.rugs(None, term).await?.into_iter().filter(wanted).collect(),
    };
    anyhow::ensure!(!rugs.is_empty(), "there is no such rug in this term");
    Ok(rugs)
}

fn failed(error: &crate::web::Error) -> anyhow::Error {
    anyhow::anyhow!("the paper can't be made: {error:?}")
}

pub(super) async fn run(kind: Kind) -> anyhow::Result<ExitCode> {
    let to_make = |rug: &Rug| matches!(rug.state, RugState::Planned | RugState::Weaving);
    let (out, pdf) = match kind {
        Kind::WarpCard(of) => {
            let (app, reader) = opened(&of.common).await?;
            let rugs = rugs(&app, &of, to_make).await?;
            let out = of.common.out;
            let pdf = papers::cards(&app, &reader, rugs, of.term, out.size(), of.large).await;
            (out, pdf)
        }
        Kind::ReadingCard(of) => {
            let (app, reader) = opened(&of.common).await?;
            let rug = rugs(&app, &of, to_make).await?;
            let [rug] = <[Rug; 1]>::try_from(rug).map_err(|_| anyhow::anyhow!("name one rug with --rug"))?;
            let out = of.common.out;
            let pdf = papers::reading_card(&app, &reader, rug, out.size(), of.large).await;
            (out, pdf)
        }
        Kind::CareLabels(of) => {
            let (app, reader) = opened(&of.common).await?;
            let rugs = rugs(&app, &of, |rug| rug.state != RugState::GivenUp).await?;
            let out = of.common.out;
            let pdf = papers::care_labels(&reader, &rugs, out.size());
            (out, pdf)
        }
        Kind::PullSheet(common) => {
            let (app, reader) = opened(&common).await?;
            let pdf = papers::pull_sheet(&app, &reader, common.out.size()).await;
            (common.out, pdf)
        }
        Kind::WallSheet(of) => {
            let (app, reader) = opened(&of.common).await?;
            let pdf = papers::wall_sheet(&app, &reader, of.term, of.common.out.size()).await;
            (of.common.out, pdf)
        }
        Kind::LoanSlip(of) => {
            let (app, reader) = opened(&of.common).await?;
            let loan = app.store.read().await?.loan(of.loan).await?.context("there is no such loan")?;
            let pdf = papers::loan_slip(&app, &reader, &loan, of.common.out.size());
            (of.common.out, pdf)
        }
    };
    out.write(&pdf.map_err(|e| failed(&e))?)?;
    Ok(ExitCode::SUCCESS)
}
