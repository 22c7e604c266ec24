//! `paper`: papers as PDF files. Those of a plan or a frame's measures need no database; the others are in `kept`.
mod asked;
mod kept;
mod lone;
mod plans;

use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Context as _;
use clap::{Args, Subcommand};

use crate::pdf::Size;

/// What `paper` is asked.
#[derive(Args)]
pub(super) struct PaperArgs {
    #[command(subcommand)]
    kind: Kind,
}

#[derive(Subcommand)]
enum Kind {
    /// The nail places of a frame at full size, across pages with joining marks
    NailTemplate(lone::NailTemplateArgs),
    /// A rug's length at full size: where each band begins and each meeting should end
    ChangeTape(Box<lone::ChangeTapeArgs>),
    #[command(flatten)]
    Kept(kept::Kind),
}

/// What a paper is printed on, and where it goes.
#[derive(Args, Clone)]
struct Out {
    /// The size of the paper
    #[arg(long, default_value_t = Size::A4, value_name = "a4|letter")]
    size: Size,
    /// The file to write; - for standard output
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
}

impl Out {
    fn write(&self, pdf: &[u8]) -> anyhow::Result<()> {
        if self.out.as_os_str() == "-" {
            return Ok(std::io::stdout().lock().write_all(pdf)?);
        }
        std::fs::write(&self.out, pdf).with_context(|| format!("can't write {}", self.out.display()))
    }
}

pub(super) fn run(args: PaperArgs) -> anyhow::Result<ExitCode> {
    match args.kind {
        Kind::NailTemplate(args) => lone::nail_template(&args)?,
        Kind::ChangeTape(args) => lone::change_tape(&args)?,
        Kind::Kept(kind) => return super::on_runtime(kept::run(kind)),
    }
    Ok(ExitCode::SUCCESS)
}
