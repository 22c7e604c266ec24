//! What papers of a database are asked: whose they are, where it is, and what is said before they are made.
use clap::{Args, ValueEnum};

use super::Out;
use crate::cli::database::DatabaseArgs;
use crate::cli::typed::public_url;
use crate::pdf::undrawn;
use crate::planning::locking::stepping::BeginAt;
use crate::store::{LoanId, RugId, StocktakeId, TermId};

#[derive(Args)]
pub(super) struct Alone {
    #[command(flatten)]
    pub(super) out: Out,
    /// The address people type; the codes lead there
    #[arg(long, env = "THRUMHALL_PUBLIC_URL", default_value = "http://127.0.0.1:8080", value_name = "URL", value_parser = public_url)]
    pub(super) public_url: String,
    #[command(flatten)]
    pub(super) database: DatabaseArgs,
}

#[derive(Args)]
#[group(id = "which", required = true, multiple = false, args = ["rug", "term"])]
pub(super) struct OfRugs {
    /// One rug, by the id in its page's address
    #[arg(long, value_name = "ID")]
    pub(super) rug: Option<RugId>,
    /// All rugs of a term, by the id in its page's address
    #[arg(long, value_name = "ID")]
    pub(super) term: Option<TermId>,
    /// In large print, 18 points; for one rug
    #[arg(long, conflicts_with = "term")]
    pub(super) large: bool,
    #[command(flatten)]
    pub(super) common: Alone,
}

#[derive(Args)]
pub(super) struct OfGuide {
    /// The rug, by the id in its page's address
    #[arg(long, value_name = "ID")]
    pub(super) rug: RugId,
    /// The rod at which its rows begin: the left, or the right for a left hand
    #[arg(long, value_name = "ROD", value_enum, default_value_t = Rod::Left)]
    pub(super) begin: Rod,
    #[command(flatten)]
    pub(super) common: Alone,
}

#[derive(Clone, Copy, ValueEnum)]
pub(super) enum Rod {
    Left,
    Right,
}

impl From<Rod> for BeginAt {
    fn from(rod: Rod) -> Self {
        match rod {
            Rod::Left => Self::Left,
            Rod::Right => Self::Right,
        }
    }
}

#[derive(Args)]
pub(super) struct OfRug {
    /// The rug, by the id in its page's address
    #[arg(long, value_name = "ID")]
    pub(super) rug: RugId,
    #[command(flatten)]
    pub(super) common: Alone,
}

#[derive(Args)]
pub(super) struct OfStocktake {
    /// The stocktake, by the id in its page's address
    #[arg(long, value_name = "ID")]
    pub(super) stocktake: StocktakeId,
    #[command(flatten)]
    pub(super) common: Alone,
}

#[derive(Args)]
pub(super) struct OfTerm {
    /// The term, by the id in its page's address
    #[arg(long, value_name = "ID")]
    pub(super) term: TermId,
    #[command(flatten)]
    pub(super) common: Alone,
}

#[derive(Args)]
pub(super) struct OfLoan {
    /// The loan, by the id in its page's address
    #[arg(long, value_name = "ID")]
    pub(super) loan: LoanId,
    #[command(flatten)]
    pub(super) common: Alone,
}

/// Says on the error stream which characters of a paper no font draws; it is made all the same, with � in their places.
pub(super) fn warn_of(said: &str) {
    let undrawn: String = undrawn(said).into_iter().collect();
    if !undrawn.is_empty() {
        eprintln!(
            "thrumhall: no font on this machine draws {undrawn}: � stands there instead; install a font for the script"
        );
    }
}
