//! `check`: proves that the database is whole, and its invariants, by the questions in [`crate::store::invariants`].
use std::process::ExitCode;

use super::database::DatabaseArgs;
use crate::store::{Store, questions};

#[derive(clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    database: DatabaseArgs,
    /// Name what would be asked, a line each, without opening a database
    #[arg(long)]
    list: bool,
}

pub(super) async fn run(args: Args) -> anyhow::Result<ExitCode> {
    if args.list {
        for question in questions() {
            println!("{question}");
        }
        return Ok(ExitCode::SUCCESS);
    }
    let store = Store::connect(&args.database.place()).await?;
    let mut read = store.read().await?;
    let mut broken = read.damage().await?;
    broken.extend(read.broken_invariants().await?);
    drop(read);
    store.close().await;
    if broken.is_empty() {
        println!("everything holds");
        return Ok(ExitCode::SUCCESS);
    }
    for line in &broken {
        println!("broken: {line}");
    }
    Ok(ExitCode::FAILURE)
}
