//! Arguments → run → exit code.

use std::process::ExitCode;

use clap::Parser;
use dawnpack::cli::{self, Cli};

fn main() -> ExitCode {
    #[expect(clippy::disallowed_methods, reason = "the one place where the clock is read; from here it is an argument")]
    let now = jiff::Timestamp::now();
    match Cli::parse().run(now) {
        Ok(code) => code,
        Err(error) => {
            cli::tell(&error);
            ExitCode::FAILURE
        }
    }
}
