//! Any rows below the header of a sales export that a column map reads.

#![no_main]

use dawnpack_fuzz::{SALES_HEADER, laws, maps};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|rows: &[u8]| laws(&[SALES_HEADER.as_bytes(), rows].concat(), &maps()));
