//! `demo`: a made-up class in a fresh database, served, with a way in for each role.
mod cloth;
mod fill;
mod frames;
mod log;
mod people;
mod rugs;
mod share_out;

use std::net::SocketAddr;
use std::path::PathBuf;
use std::process::ExitCode;

use jiff::Timestamp;

use crate::clock::Clock;
use crate::secrets;
use crate::server::{App, Config, bind, until_stopped};
use crate::store::people::Role;
use crate::store::{Actor, Place, Store};

#[derive(clap::Args)]
pub(super) struct Args {
    /// The address to listen on
    #[arg(long, default_value = "127.0.0.1:8080", value_name = "ADDR")]
    listen: SocketAddr,
    /// The directory of the demo's database; it must not hold one yet. Without it, a new temporary one
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
    /// Notices may also be sent to private addresses, such as a bridge on this machine
    #[arg(long, env = "THRUMHALL_PRIVATE_RECEIVERS", default_value_t = false)]
    private_receivers: bool,
    /// An empty PostgreSQL database to fill instead
    #[arg(long, env = "DATABASE_URL", hide_env_values = true, value_name = "URL")]
    database_url: Option<String>,
}

pub(super) async fn run(args: Args) -> anyhow::Result<ExitCode> {
    let place = match args.database_url.filter(|url| !url.is_empty()) {
        Some(url) => Place::Url(url),
        None => Place::Dir(fresh_directory(args.data)?),
    };
    // An address that is taken is said before anything is made.
    let listener = bind(args.listen).await?;
    let base = format!("http://{}", listener.local_addr()?);
    let store = Store::open(&place).await?;
    if store.read().await?.workroom().await?.is_some() {
        anyhow::bail!("this database holds a workroom already; the demo only fills an empty one");
    }
    let app = App::new(
        store,
        Clock::System,
        Config { private_receivers: args.private_receivers, ..Config::default() },
    );
    for (role, path) in fill(&app.store, app.clock.now()).await? {
        println!("{role:<12}{base}{path}");
    }
    until_stopped(app, None, listener).await?;
    Ok(ExitCode::SUCCESS)
}

/// Fills an empty database with the made-up class, and gives for each role the path of a personal link.
pub async fn fill(store: &Store, now: Timestamp) -> anyhow::Result<Vec<(Role, String)>> {
    let cast = fill::fill(store, now).await?;
    let mut ways_in = Vec::new();
    let mut tx = store.write(Actor { person: None, at: now }).await?;
    for (role, person) in
        [(Role::Instructor, cast.instructor), (Role::Volunteer, cast.volunteer), (Role::Weaver, cast.weaver)]
    {
        let secret = secrets::secret();
        tx.replace_link(person, &secrets::secret_hash(&secret)).await?;
        ways_in.push((role, format!("/enter/{secret}")));
    }
    tx.commit().await?;
    Ok(ways_in)
}

/// The directory asked for, or one of this process under the system's temporary directory.
fn fresh_directory(asked: Option<PathBuf>) -> anyhow::Result<PathBuf> {
    let dir =
        asked.unwrap_or_else(|| std::env::temp_dir().join(format!("thrumhall-demo-{}", std::process::id())));
    if dir.join(crate::store::FILE_NAME).exists() {
        anyhow::bail!(
            "{} holds a database already; name another directory, or use serve --data",
            dir.display()
        );
    }
    Ok(dir)
}
