//! Papers of what a database keeps: of one rug, of a term, of a loan, of the shelf.
use std::process::ExitCode;

use anyhow::Context as _;
use clap::{Args, Subcommand};

use super::Out;
use crate::cli::DatabaseArgs;
use crate::cli::reckon::{BadInput, length};
use crate::clock::Clock;
use crate::pdf::{Grid, Label, Labels, Size};
use crate::store::rugs::{Rug, RugState};
use crate::store::{LoanId, RugId, Store, TermId};
use crate::units::{Length, Units};
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
    /// A number in big type and a code for each bundle that is not used up
    BundleTags(OfBundles),
    /// A tag in big type and a code for each frame in use
    FrameTags(OfFrames),
}

/// The sheet of labels; without measures plain paper is cut into equal parts.
#[derive(Args)]
#[command(next_help_heading = "The sheet of labels")]
struct SheetArgs {
    /// Labels side by side
    #[arg(long, default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=12))]
    across: u32,
    /// Labels below each other
    #[arg(long, default_value_t = 7, value_parser = clap::value_parser!(u32).range(1..=30))]
    down: u32,
    /// How wide a label is
    #[arg(long)]
    wide: Option<String>,
    /// How high a label is
    #[arg(long)]
    high: Option<String>,
    /// From the left edge of the sheet to the first label
    #[arg(long)]
    left: Option<String>,
    /// From the upper edge of the sheet to the first label
    #[arg(long)]
    top: Option<String>,
    /// Free between two labels side by side
    #[arg(long)]
    between: Option<String>,
    /// Free between two labels below each other
    #[arg(long)]
    below: Option<String>,
    /// Labels of the first sheet that are gone
    #[arg(long, default_value_t = 0)]
    skip: u32,
    /// Draw the edges, to cut along
    #[arg(long)]
    edges: bool,
}

impl SheetArgs {
    /// The labels on that sheet.
    fn pdf(&self, title: &str, labels: &[Label], size: Size, units: Units) -> anyhow::Result<Vec<u8>> {
        anyhow::ensure!(!labels.is_empty(), "nothing of this is there to be tagged");
        let plain = Grid::plain(size, self.across, self.down);
        let read = |flag: &'static str, text: Option<&String>, usual: f64| match text {
            None => Ok(usual),
            Some(text) => length(flag, text, units).map(Length::mm),
        };
        let grid = Grid {
            wide: read("--wide", self.wide.as_ref(), plain.wide)?,
            high: read("--high", self.high.as_ref(), plain.high)?,
            left: read("--left", self.left.as_ref(), plain.left)?,
            top: read("--top", self.top.as_ref(), plain.top)?,
            between: read("--between", self.between.as_ref(), 0.0)?,
            below: read("--below", self.below.as_ref(), 0.0)?,
            ..plain
        };
        if let Some((_, why)) = grid.wrong(size) {
            return Err(BadInput { flag: "the sheet of labels", why }.into());
        }
        Ok(Labels { title, labels, grid, skip: self.skip, edges: self.edges }.pdf(size)?)
    }
}

#[derive(Args)]
pub(super) struct OfBundles {
    /// The first tag
    #[arg(long)]
    from: Option<i64>,
    /// The last tag
    #[arg(long)]
    to: Option<i64>,
    #[command(flatten)]
    sheet: SheetArgs,
    #[command(flatten)]
    common: Alone,
}

#[derive(Args)]
pub(super) struct OfFrames {
    /// Only the frame with this tag
    #[arg(long)]
    tag: Option<String>,
    #[command(flatten)]
    sheet: SheetArgs,
    #[command(flatten)]
    common: Alone,
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
        zone: workroom.zone(),
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

impl Kind {
    /// What every kind is told: database, file, address.
    fn common(&self) -> &Alone {
        match self {
            Self::WarpCard(of) | Self::ReadingCard(of) | Self::CareLabels(of) => &of.common,
            Self::PullSheet(common) => common,
            Self::WallSheet(of) => &of.common,
            Self::LoanSlip(of) => &of.common,
            Self::BundleTags(of) => &of.common,
            Self::FrameTags(of) => &of.common,
        }
    }
}

pub(super) async fn run(kind: Kind) -> anyhow::Result<ExitCode> {
    let common = kind.common();
    let (app, reader) = opened(common).await?;
    let size = common.out.size;
    let pdf = match &kind {
        Kind::WarpCard(of) => {
            let rugs = rugs(&app, of, |rug| rug.state.is_open()).await?;
            papers::cards(&app, &reader, rugs, of.term, size, of.large).await
        }
        Kind::ReadingCard(of) => {
            let rugs = rugs(&app, of, |rug| rug.state.is_open()).await?;
            let [rug] = <[Rug; 1]>::try_from(rugs).map_err(|_| anyhow::anyhow!("name one rug with --rug"))?;
            papers::reading_card(&app, &reader, rug, size, of.large).await
        }
        Kind::CareLabels(of) => {
            let rugs = rugs(&app, of, |rug| rug.state != RugState::GivenUp).await?;
            papers::care_labels(&reader, &rugs, size)
        }
        Kind::PullSheet(_) => papers::pull_sheet(&app, &reader, size).await,
        Kind::WallSheet(of) => papers::wall_sheet(&app, &reader, of.term, size).await,
        Kind::LoanSlip(of) => {
            let loan = app.store.read().await?.loan(of.loan).await?.context("there is no such loan")?;
            papers::loan_slip(&app, &reader, &loan, size)
        }
        Kind::BundleTags(of) => {
            let labels = papers::bundle_labels(&app, &reader, None, (of.from, of.to)).await;
            Ok(of.sheet.pdf("Bundle tags", &labels.map_err(|e| failed(&e))?, size, reader.units)?)
        }
        Kind::FrameTags(of) => {
            let labels = papers::frame_labels(&app, &reader, of.tag.as_deref()).await;
            Ok(of.sheet.pdf("Frame tags", &labels.map_err(|e| failed(&e))?, size, reader.units)?)
        }
    };
    common.out.write(&pdf.map_err(|e| failed(&e))?)?;
    Ok(ExitCode::SUCCESS)
}
