//! Standard output, line by line.
//!
//! A reader that closes it has seen enough, and is no fault: `dawnpack list parcels | head -1` ends quietly. Turned down:
//! `println!`, which panics then.

use std::fmt;
use std::io::{self, Write as _};
use std::process;

/// Writes a line. Where nobody reads any more the program ends, well; where it can't be written, with a fault.
pub(super) fn line(text: fmt::Arguments<'_>) {
    let Err(error) = writeln!(io::stdout(), "{text}") else { return };
    if error.kind() == io::ErrorKind::BrokenPipe {
        process::exit(0);
    }
    eprintln!("dawnpack: standard output can't be written: {error}");
    process::exit(1);
}

/// As `println!`, through [`line`].
macro_rules! say {
    ($($text:tt)*) => {
        $crate::cli::out::line(format_args!($($text)*))
    };
}

pub(super) use say;
