//! Papers of what a database keeps: of one rug, of a term, of a loan, of the shelf.
use std::process::ExitCode;

use anyhow::Context as _;
use clap::{Args, Subcommand};

use super::asked::{Alone, OfGuide, OfLoan, OfRug, OfRugs, OfStocktake, OfTerm, warn_of};
use super::plans::{OfCutting, OfPanels};
use crate::cli::reckon::{BadInput, length};
use crate::clock::Clock;
use crate::pdf::{Grid, Label, Labels, Size, document_pdf, kept};
use crate::services::paper_data::{
    Document, Reader, RugPaper, Wall, attendance, blank_weigh_in, booklet, bundle_labels, care_labels,
    colour_card, exhibition, first_row_page, frame_labels, log_sheet, only_here, said_of_loan,
    said_of_promises, stocktake_list, tally, to_pull, tonight,
};
use crate::store::rugs::{Rug, RugState};
use crate::store::{Read, RugId, Store};
use crate::units::{Length, Units};

#[derive(Subcommand)]
pub(super) enum Kind {
    /// What a weaver has beside the frame; with --term the cards of all its rugs in one file
    WarpCard(OfRugs),
    /// The rows to read off
    ReadingCard(OfRugs),
    /// The steps at the frame as a booklet: print it on both sides, turned on the short edge, and fold it
    GuideBooklet(OfGuide),
    /// The first row and the turn at the rod, large, for the wall
    FirstRow(OfGuide),
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
    /// Which sheets to cut and where, and how a rug's warp is joined, wound and wound on
    CuttingPlan(OfCutting),
    /// How the panels of a rug of any size lie, and in which order they are sewn together
    SewingPlan(OfPanels),
    /// A box for each row, in fives, to cross
    RowTally(OfRug),
    /// What stands beside each rug when it is shown
    ExhibitionLabels(OfRugs),
    /// Who comes to the next meeting, with which frame, what is next for them, and their cloth
    Tonight(Alone),
    /// A term's meetings across, its weavers down, boxes to tick
    Attendance(OfTerm),
    /// A sheet to log on by hand
    LogSheet(OfTerm),
    /// A sheet to weigh in on by hand
    WeighInSheet(Alone),
    /// What a stocktake counts, in the order of the shelf
    StocktakeList(OfStocktake),
    /// The shelf's colours, as they look and how dark they are
    ColourCard(Alone),
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
        warn_of(&Label::said(labels));
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

fn document(document: &Document, size: Size) -> anyhow::Result<Vec<u8>> {
    warn_of(&document.said());
    Ok(document_pdf(document, size)?)
}

/// A view of the database, and for whom papers are made: the workroom itself.
async fn opened(common: &Alone) -> anyhow::Result<(Read, Reader)> {
    let store = Store::connect(&common.database.place()).await?;
    if only_here(&common.public_url) {
        eprintln!(
            "thrumhall: codes on this paper lead to {}, which only this machine can open: give --public-url",
            common.public_url
        );
    }
    let mut read = store.read().await?;
    let workroom = read.workroom().await?.context("nobody has set this workroom up yet")?;
    let reader = Reader {
        wall: workroom.wall(),
        workroom: workroom.name,
        units: workroom.units,
        origin: common.public_url.clone(),
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

async fn paper_of(read: &mut Read, reader: &Reader, rug: RugId) -> anyhow::Result<RugPaper> {
    let rug = read.rug(rug).await?.context("there is no such rug")?;
    Ok(RugPaper::load(read, reader, rug).await?)
}

impl Kind {
    /// What every kind is told: database, file, address.
    fn common(&self) -> &Alone {
        match self {
            Self::WarpCard(of)
            | Self::ReadingCard(of)
            | Self::CareLabels(of)
            | Self::ExhibitionLabels(of) => &of.common,
            Self::GuideBooklet(of) | Self::FirstRow(of) => &of.common,
            Self::PullSheet(common)
            | Self::Tonight(common)
            | Self::WeighInSheet(common)
            | Self::ColourCard(common) => common,
            Self::WallSheet(of) | Self::Attendance(of) | Self::LogSheet(of) => &of.common,
            Self::LoanSlip(of) => &of.common,
            Self::BundleTags(of) => &of.common,
            Self::FrameTags(of) => &of.common,
            Self::CuttingPlan(of) => &of.common,
            Self::SewingPlan(of) => &of.common,
            Self::RowTally(of) => &of.common,
            Self::StocktakeList(of) => &of.common,
        }
    }

    async fn pdf(&self, read: &mut Read, reader: &Reader, size: Size) -> anyhow::Result<Vec<u8>> {
        Ok(match self {
            Self::WarpCard(of) if of.rug.is_some() => {
                let rug = one_rug(read, of).await?;
                let paper = RugPaper::load(read, reader, rug).await?;
                warn_of(&paper.said(reader));
                kept::warp_cards(&[paper], reader, size, of.large)?
            }
            Self::WarpCard(of) => {
                let rugs = rugs(read, of, |rug| rug.state.is_open()).await?;
                let papers = RugPaper::load_all(read, reader, rugs, of.term).await?;
                warn_of(&papers.iter().map(|paper| paper.said(reader)).collect::<String>());
                kept::warp_cards(&papers, reader, size, of.large)?
            }
            Self::ReadingCard(of) => {
                let rug = one_rug(read, of).await?;
                let paper = RugPaper::load(read, reader, rug).await?;
                warn_of(&paper.said(reader));
                kept::reading_card(&paper, reader, size, of.large)?
            }
            Self::GuideBooklet(of) => {
                document(&booklet(&paper_of(read, reader, of.rug).await?, reader, of.begin.into()), size)?
            }
            Self::FirstRow(of) => document(
                &first_row_page(&paper_of(read, reader, of.rug).await?, reader, of.begin.into()),
                size,
            )?,
            Self::CareLabels(of) => {
                let rugs = rugs(read, of, |rug| rug.state != RugState::GivenUp).await?;
                let labels = care_labels(reader, &rugs)?;
                warn_of(&Label::said(&labels));
                kept::care_sheet(labels, size)?
            }
            Self::PullSheet(_) => {
                let promises = to_pull(read).await?;
                warn_of(&said_of_promises(&promises, reader));
                kept::pull_sheet(&promises, reader, size)?
            }
            Self::WallSheet(of) => {
                let wall = Wall::load(read, reader, of.term).await?;
                warn_of(&wall.said(reader));
                kept::wall_sheet(&wall, reader, of.term, size)?
            }
            Self::LoanSlip(of) => {
                let loan = read.loan(of.loan).await?.context("there is no such loan")?;
                warn_of(&said_of_loan(&loan, reader));
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
            Self::CuttingPlan(of) => document(&of.document(read, reader).await?, size)?,
            Self::SewingPlan(of) => document(&of.document(read, reader).await?, size)?,
            Self::RowTally(of) => document(&tally(&paper_of(read, reader, of.rug).await?, reader), size)?,
            Self::ExhibitionLabels(of) => {
                let rugs = rugs(read, of, |rug| rug.state != RugState::GivenUp).await?;
                document(&exhibition(reader, &rugs)?, size)?
            }
            Self::Tonight(_) => document(&tonight(read, reader).await?, size)?,
            Self::Attendance(of) => document(&attendance(read, reader, of.term).await?, size)?,
            Self::LogSheet(of) => document(&log_sheet(read, reader, of.term).await?, size)?,
            Self::WeighInSheet(_) => document(&blank_weigh_in(reader), size)?,
            Self::StocktakeList(of) => document(&stocktake_list(read, reader, of.stocktake).await?, size)?,
            Self::ColourCard(_) => document(&colour_card(read, reader).await?, size)?,
        })
    }
}

pub(super) async fn run(kind: Kind) -> anyhow::Result<ExitCode> {
    let common = kind.common();
    let (mut read, reader) = opened(common).await?;
    let made = kind.pdf(&mut read, &reader, common.out.size).await;
    // What was asked wrongly is told as it is.
    let pdf = match made {
        Err(error) if error.is::<BadInput>() => return Err(error),
        made => made.context("the paper can't be made")?,
    };
    common.out.write(&pdf)?;
    Ok(ExitCode::SUCCESS)
}
