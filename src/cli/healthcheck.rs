//! `healthcheck`: asks a running service whether it is well, so that a container needs no other tool for it.
use std::process::ExitCode;
use std::time::Duration;

use anyhow::Context as _;

use crate::notify::outward;

#[derive(clap::Args)]
pub(super) struct Args {
    /// The service's health page, such as http://127.0.0.1:8080/healthz (plain http: it is asked from beside it)
    url: String,
}

pub(super) async fn run(args: Args) -> anyhow::Result<ExitCode> {
    let client = outward::client().timeout(Duration::from_secs(5)).build()?;
    let answer =
        client.get(&args.url).send().await.with_context(|| format!("{} doesn't answer", args.url))?;
    let status = answer.status();
    let text = answer.text().await.unwrap_or_default();
    if status.is_success() {
        println!("well");
        return Ok(ExitCode::SUCCESS);
    }
    eprintln!("{} answers {status}: {}", args.url, text.chars().take(200).collect::<String>());
    Ok(ExitCode::FAILURE)
}
