//! Any rows below the header of one of the program's own sheets; the first byte tells which.

#![no_main]

use dawnpack_fuzz::laws;
use libfuzzer_sys::fuzz_target;

const HEADERS: [&str; 3] = [
    "sheet,parcel,to,postal_code,service,declared,scale,scale_unit,tracking,postage_paid,handed_over_on,place,note\n",
    "sheet,question,about,asks,choices,answer\n",
    "sheet,trade,from,expected,arrived_on,condition,note\n",
];

fuzz_target!(|bytes: &[u8]| {
    let (first, rows) = bytes.split_first().unwrap_or((&0, &[]));
    let header = HEADERS[usize::from(*first) % HEADERS.len()];
    laws(&[header.as_bytes(), rows].concat(), &[]);
});
