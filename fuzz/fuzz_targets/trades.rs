//! Any text behind the line that begins a trade confirmation; and, after an `E`, in a saved email.

#![no_main]

use dawnpack_fuzz::laws;
use libfuzzer_sys::fuzz_target;

const HEAD: &[u8] = b"From: Ines <ines@example.net>\nDate: Fri, 20 Nov 2026 10:00:00 +0000\n";

fuzz_target!(|bytes: &[u8]| match bytes.split_first() {
    Some((b'E', rest)) => laws(&[HEAD, rest].concat(), &[]),
    _ => laws(&[b"Trade with: ", bytes].concat(), &[]),
});
