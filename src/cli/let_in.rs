//! `let-in`: a fresh link for an instructor or volunteer who can't get in any more.
use std::process::ExitCode;

use anyhow::bail;

use super::database::DatabaseArgs;
use super::typed::public_url;
use crate::clock::Clock;
use crate::secrets;
use crate::store::auth::half_way::LINK_MINUTES;
use crate::store::people::Role;
use crate::store::{Actor, Store};

#[derive(clap::Args)]
pub(super) struct Args {
    /// The name that the instructor or volunteer signs in with
    name: String,
    /// Their passkeys, codes and recovery codes are lost, too: using the link takes them off
    #[arg(long)]
    without_second_factor: bool,
    /// The address people type, such as https://rugs.example, for the link
    #[arg(long, env = "THRUMHALL_PUBLIC_URL", value_name = "URL", value_parser = public_url, default_value = "http://127.0.0.1:8080")]
    public_url: String,
    #[command(flatten)]
    database: DatabaseArgs,
}

pub(super) async fn run(args: Args) -> anyhow::Result<ExitCode> {
    let store = Store::connect(&args.database.place()).await?;
    let secret = secrets::secret();
    let mut tx = store.write(Actor { person: None, at: Clock::System.now() }).await?;
    let Some(lock) = tx.lock(&args.name).await? else {
        let here: Vec<String> = tx
            .people()
            .await?
            .into_iter()
            .filter(|person| person.role != Role::Weaver)
            .map(|person| format!("{} ({})", person.name, person.role))
            .collect();
        bail!(
            "no instructor or volunteer here is called {:?}. These are: {}",
            args.name,
            if here.is_empty() { "nobody yet".to_owned() } else { here.join(", ") }
        );
    };
    tx.make_let_in_link(&secrets::secret_hash(&secret), lock.id, args.without_second_factor).await?;
    tx.commit().await?;
    store.close().await;
    println!(
        "With this link {} sets a new passphrase; it works once, for {LINK_MINUTES} minutes, while the service runs:",
        args.name
    );
    println!("{}/let-in/{secret}", args.public_url);
    Ok(ExitCode::SUCCESS)
}
