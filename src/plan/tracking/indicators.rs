//! What the first two letters of a UPU S10 number say of the service.
//!
//! Ranges of the standard's service indicators as its published descriptions give them (S10-12; the UPU's own text was
//! not at hand, so a number is never refused over its letters).

/// First and last letters of a range, and what it stands for.
const RANGES: [(&str, &str, &str); 21] = [
    ("AV", "AZ", AGREED),
    ("BA", "BZ", AGREED),
    ("CA", "CZ", "parcel post"),
    ("DA", "DZ", AGREED),
    ("EA", "EZ", "express mail"),
    ("GA", "GA", AGREED),
    ("GD", "GD", AGREED),
    ("HA", "HZ", "e-commerce parcel"),
    ("JA", "JZ", RESERVED),
    ("KA", "KZ", RESERVED),
    ("LA", "LZ", "tracked letter post"),
    ("MA", "MZ", "letter post M bag"),
    ("NA", "NZ", AGREED),
    ("PA", "PZ", AGREED),
    ("QA", "QM", "business reply letter post"),
    ("RA", "RZ", "registered letter post"),
    ("SA", "TZ", RESERVED),
    ("UA", "UZ", "untracked letter post"),
    ("VA", "VZ", "insured letter post"),
    ("WA", "WZ", RESERVED),
    ("ZA", "ZZ", AGREED),
];

const AGREED: &str = "service by agreement of posts";
const RESERVED: &str = "letters that are not given out";

/// The service, in a few words.
pub(super) fn meaning(letters: &str) -> &'static str {
    let within = |(from, to, _): &&(&str, &str, &str)| (*from..=*to).contains(&letters);
    RANGES.iter().find(within).map_or("letters without a service", |(_, _, meaning)| meaning)
}
