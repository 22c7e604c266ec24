//! The thin binary: parses the command line and calls the library.
use std::process::ExitCode;

fn main() -> ExitCode {
    thrumhall::cli::run()
}
