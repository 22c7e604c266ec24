//! `backup`: everything that is kept into one archive, while the service runs or not.
use std::path::PathBuf;
use std::process::ExitCode;

use super::database::DatabaseArgs;
use crate::backup::{Secrets, write};
use crate::clock::Clock;
use crate::store::{Actor, BackupId, Error, Store};

#[derive(clap::Args)]
pub(super) struct Args {
    /// The file to write, such as workroom.zip; it must not be there yet
    file: PathBuf,
    /// Include the secrets that sign messages to receivers: for a move, since whoever reads the file can then sign such messages
    #[arg(long)]
    with_secrets: bool,
    #[command(flatten)]
    database: DatabaseArgs,
}

pub(super) async fn run(args: Args) -> anyhow::Result<ExitCode> {
    let store = Store::connect(&args.database.place()).await?;
    let now = Clock::System.now();
    let secrets = if args.with_secrets { Secrets::Included } else { Secrets::LeftOut };
    let written = write(&store, &args.file, now, secrets).await?;
    let rows: u64 = written.manifest.tables.iter().map(|table| table.rows).sum();
    println!(
        "{}: {} tables, {rows} rows, {} bytes; restored for trial and found whole",
        args.file.display(),
        written.manifest.tables.len(),
        written.bytes
    );
    // The backup is good whether or not the list of backups can be written.
    let file = std::path::absolute(&args.file).unwrap_or(args.file);
    if let Err(error) = note(&store, now, &file.display().to_string(), written.bytes).await {
        eprintln!("thrumhall: the page of backups won't show it: {error}");
    }
    store.close().await;
    Ok(ExitCode::SUCCESS)
}

async fn note(store: &Store, at: jiff::Timestamp, file: &str, bytes: u64) -> Result<(), Error> {
    let mut tx = store.write(Actor { person: None, at }).await?;
    tx.note_backup(BackupId::new(), file, i64::try_from(bytes).unwrap_or(i64::MAX)).await?;
    tx.commit().await
}
