//! `completions` and `manual`: made of the commands' own definitions, so that they can't say anything else.
use std::path::PathBuf;

use anyhow::Context as _;
use clap_complete::Shell;

#[derive(clap::Args)]
pub(super) struct CompletionsArgs {
    /// The shell that is to complete
    shell: Shell,
}

#[derive(clap::Args)]
pub(super) struct ManualArgs {
    /// Write a page for each command into this directory, such as /usr/local/share/man/man1
    #[arg(long, value_name = "DIR")]
    dir: Option<PathBuf>,
}

pub(super) fn completions(args: &CompletionsArgs, mut command: clap::Command) -> anyhow::Result<()> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command, "thrumhall", &mut script);
    print!("{}", String::from_utf8(script)?);
    Ok(())
}

pub(super) fn manual(args: &ManualArgs, command: clap::Command) -> anyhow::Result<()> {
    if let Some(dir) = &args.dir {
        return clap_mangen::generate_to(command, dir)
            .with_context(|| format!("can't write to {}", dir.display()));
    }
    let mut page = Vec::new();
    clap_mangen::Man::new(command).render(&mut page)?;
    print!("{}", String::from_utf8(page)?);
    Ok(())
}
