//! Arguments → run → exit code.

use std::process::ExitCode;

use clap::Parser;
use dawnpack::cli::{self, Cli};

fn main() -> ExitCode {
    #[expect(clippy::disallowed_methods, reason = "the one place that knows of the clock; from here it is an argument")]
    let clock = jiff::Timestamp::now;
    match Cli::parse().run(&clock) {
        Ok(code) => code,
        Err(error) => {
            cli::tell(&error);
            ExitCode::FAILURE
        }
    }
}
