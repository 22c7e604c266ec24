//! `restore`: a backup into an empty place.
use std::path::PathBuf;
use std::process::ExitCode;

use super::database::DatabaseArgs;
use crate::backup::restore;
use crate::clock::Clock;
use crate::notify::secret_of;
use crate::secrets;
use crate::store::Store;

#[derive(clap::Args)]
pub(super) struct Args {
    /// The backup
    file: PathBuf,
    #[command(flatten)]
    database: DatabaseArgs,
}

pub(super) async fn run(args: Args) -> anyhow::Result<ExitCode> {
    let place = args.database.place();
    let manifest = restore(&args.file, &place, Clock::System.now(), || secret_of(secrets::random())).await?;
    let rows: u64 = manifest.tables.iter().map(|table| table.rows).sum();
    println!("{} tables, {rows} rows, as they were at {}", manifest.tables.len(), manifest.made_at);
    if !manifest.secrets {
        println!(
            "The secrets of receivers were not in it: each receiver has a new one and is paused until you tell it."
        );
    }
    let store = Store::connect(&place).await?;
    let broken = store.read().await?.broken_invariants().await?;
    store.close().await;
    // It was so when the backup was made: it is restored all the same, and said.
    for line in &broken {
        println!("broken: {line}");
    }
    Ok(if broken.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}
