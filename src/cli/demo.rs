//! `demo`: a made-up class in a fresh database, served, with a way in for each role.
mod cloth;
mod fill;
mod frames;
mod given;
mod log;
mod people;
mod rugs;
mod share_out;
mod story;
mod years;

use std::net::SocketAddr;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::builder::BoolishValueParser;
use jiff::Timestamp;

use super::database::{DatabaseArgs, say};
use super::typed::listen;

use crate::backup::schedule::Schedule;
use crate::clock::Clock;
use crate::secrets;
use crate::server::{App, Config, bind, until_stopped};
use crate::store::people::Role;
use crate::store::{Actor, Place, Store};

#[derive(clap::Args)]
pub(super) struct Args {
    /// The address to listen on
    #[arg(long, default_value = "127.0.0.1:8080", value_name = "ADDR", value_parser = listen)]
    listen: SocketAddr,
    /// The directory of the demo's database; it must not hold one yet. Without it, a new temporary one
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
    /// Notices may also be sent to private addresses, such as a bridge on this machine
    #[arg(long, env = "THRUMHALL_PRIVATE_RECEIVERS", default_value_t = false, value_parser = BoolishValueParser::new())]
    private_receivers: bool,
    /// An empty PostgreSQL database to fill instead; without it and --data, that of DATABASE_URL
    #[arg(long, conflicts_with = "data", value_name = "URL")]
    database_url: Option<String>,
    /// How many years the class has been going: for each, four terms, some 90 rugs with their logs, 1,200 bundles and 12,000
    /// lines of the ledger are made up, always the same ones
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = clap::value_parser!(u32).range(..=200))]
    years: u32,
    /// Fill the database and stop, without serving it
    #[arg(long)]
    only_fill: bool,
}

pub(super) async fn run(args: Args) -> anyhow::Result<ExitCode> {
    let named = DatabaseArgs { data: args.data, database_url: args.database_url }.named();
    let place = match named {
        Some(Place::Url(url)) => Place::Url(url),
        Some(Place::Dir(dir)) => Place::Dir(fresh(dir)?),
        None => Place::Dir(fresh(temporary())?),
    };
    say(&place);
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
        Config {
            private_receivers: args.private_receivers,
            // A made-up class need not be kept.
            backups: Schedule { elsewhere: true, ..Schedule::default() },
            ..Config::default()
        },
    );
    for (role, path) in fill_years(&app.store, app.clock.now(), args.years).await? {
        println!("{role:<12}{base}{path}");
    }
    if args.only_fill {
        app.store.close().await;
        return Ok(ExitCode::SUCCESS);
    }
    until_stopped(app, None, listener, None).await?;
    Ok(ExitCode::SUCCESS)
}

/// Fills an empty database with the made-up class, and gives for each role the path of a personal link.
pub async fn fill(store: &Store, now: Timestamp) -> anyhow::Result<Vec<(Role, String)>> {
    fill_years(store, now, 0).await
}

/// The same with so many years before it.
pub async fn fill_years(store: &Store, now: Timestamp, years: u32) -> anyhow::Result<Vec<(Role, String)>> {
    let cast = fill::fill(store, now, years).await?;
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

/// A directory of this process under the system's temporary one.
fn temporary() -> PathBuf {
    std::env::temp_dir().join(format!("thrumhall-demo-{}", std::process::id()))
}

fn fresh(dir: PathBuf) -> anyhow::Result<PathBuf> {
    if dir.join(crate::store::FILE_NAME).exists() {
        anyhow::bail!(
            "{} holds a database already; name another directory, or use serve --data",
            dir.display()
        );
    }
    Ok(dir)
}
