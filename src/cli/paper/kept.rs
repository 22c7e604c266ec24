//! Papers of what a database keeps: of one rug, of a term, of a loan, of the shelf.
use std::process::ExitCode;

use anyhow::Context as _;
use clap::{Args, Subcommand};

use super::Out;
use crate::cli::DatabaseArgs;
use crate::cli::reckon::{BadInput, length};
use crate::clock::Clock;
use crate::pdf::{Grid, Label, Labels, Size, kept};
use crate::services::paper_data::{
    Reader, RugPaper, Wall, bundle_labels, care_labels, frame_labels, to_pull,
};
use crate::store::rugs::{Rug, RugState};
use crate::store::{LoanId, Read, RugId, Store, TermId};
use crate::units::{Length, Units};

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

/// A view of the database, and for whom papers are made: the workroom itself.
async fn opened(common: &Alone) -> anyhow::Result<(Read, Reader)> {
    let store = Store::open(&common.database.place()).await?;
    let mut read = store.read().await?;
    let workroom = read.workroom().await?.context("nobody has set this workroom up yet")?;
    let reader = Reader {
        zone: workroom.zone(),
        workroom: workroom.name,
        units: workroom.units,
        origin: common.public_url.trim_end_matches('/').to_owned(),
        now: Clock::System.now(),
    };
    Ok((read, reader))
}

/// The rugs that are asked for: one, or those of a term.
async fn rugs(read: &mut Read, of: &OfRugs, wanted: impl Fn(&Rug) -> bool) -> anyhow::Result<Vec<Rug>> {
    let rugs = match (of.rug, of.term) {
        (Some(id), _) => vec![read.rug(id).await?.context("there is no such rug")?],
        (None, term) => read.rugs(None, term).await?.into_iter().filter(wanted).collect(),
    };
    anyhow::ensure!(!rugs.is_empty(), "there is no such rug in this term");
    Ok(rugs)
}

/// The one rug that is asked for.
async fn one_rug(read: &mut Read, of: &OfRugs) -> anyhow::Result<Rug> {
    let rugs = rugs(read, of, |rug| rug.state.is_open()).await?;
    let [rug] = <[Rug; 1]>::try_from(rugs).map_err(|_| anyhow::anyhow!("name one rug with --rug"))?;
    Ok(rug)
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

    async fn pdf(&self, read: &mut Read, reader: &Reader, size: Size) -> anyhow::Result<Vec<u8>> {
        Ok(match self {
            Self::WarpCard(of) if of.rug.is_some() => {
                let rug = one_rug(read, of).await?;
                let paper = RugPaper::load(read, reader, rug).await?;
                kept::warp_cards(&[paper], reader, size, of.large)?
            }
            Self::WarpCard(of) => {
                let rugs = rugs(read, of, |rug| rug.state.is_open()).await?;
                let papers = RugPaper::load_all(read, reader, rugs, of.term).await?;
                kept::warp_cards(&papers, reader, size, of.large)?
            }
            Self::ReadingCard(of) => {
                let rug = one_rug(read, of).await?;
                kept::reading_card(&RugPaper::load(read, reader, rug).await?, reader, size, of.large)?
            }
            Self::CareLabels(of) => {
                let rugs = rugs(read, of, |rug| rug.state != RugState::GivenUp).await?;
                kept::care_sheet(care_labels(reader, &rugs)?, size)?
            }
            Self::PullSheet(_) => kept::pull_sheet(&to_pull(read).await?, reader, size)?,
            Self::WallSheet(of) => {
                kept::wall_sheet(&Wall::load(read, reader, of.term).await?, reader, of.term, size)?
            }
            Self::LoanSlip(of) => {
                let loan = read.loan(of.loan).await?.context("there is no such loan")?;
                kept::loan_slip(&loan, reader, size)?
            }
            Self::BundleTags(of) => {
                let labels = bundle_labels(read, reader, None, (of.from, of.to)).await?;
                of.sheet.pdf("Bundle tags", &labels, size, reader.units)?
            }
            Self::FrameTags(of) => {
                let labels = frame_labels(read, reader, of.tag.as_deref()).await?;
                of.sheet.pdf("Frame tags", &labels, size, reader.units)?
            }
        })
    }
}

pub(super) async fn run(kind: Kind) -> anyhow::Result<ExitCode> {
    let common = kind.common();
    let (mut read, reader) = opened(common).await?;
    let pdf = kind.pdf(&mut read, &reader, common.out.size).await.context("the paper can't be made")?;
    common.out.write(&pdf)?;
    Ok(ExitCode::SUCCESS)
}
