//! Arguments → run → exit code.

use std::process::ExitCode;

use dawnpack::cli::{self, Cli};

fn main() -> ExitCode {
    #[expect(clippy::disallowed_methods, reason = "the one place that knows of the clock; from here it is an argument")]
    let clock = jiff::Timestamp::now;
    let typed = match Cli::read() {
        Ok(typed) => typed,
        Err(code) => return code,
    };
    match typed.run(&clock) {
        Ok(code) => code,
        Err(error) => {
            cli::tell(&error);
            ExitCode::FAILURE
        }
    }
}
