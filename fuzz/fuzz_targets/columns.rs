//! Any table, in a home without a column map: its headers are matched, or a map is proposed.

#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| dawnpack_fuzz::laws(bytes, &[]));
