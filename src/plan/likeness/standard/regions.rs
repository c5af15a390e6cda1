//! States and provinces by their codes.
//!
//! Handed a folded name; promises the code where the country's mail is addressed with one. Codes of Canada and
//! Australia are those of ISO 3166-2 (from memory). Turned down: the regions of all countries, which a postal code
//! makes needless.

use super::us;

/// The region's code, or the name as it came.
pub(super) fn standard(country: &str, folded: &str) -> String {
    let code = match country {
        "US" => us::state(folded),
        "CA" => coded(&PROVINCES, folded),
        "AU" => coded(&AUSTRALIAN, folded),
        _ => None,
    };
    code.map_or_else(|| folded.to_owned(), str::to_owned)
}

/// Codes of Canadian provinces and territories, by code, English and French name.
const PROVINCES: [(&str, &[&str]); 13] = [
    ("AB", &["ALBERTA"]),
    ("BC", &["BRITISH COLUMBIA", "COLOMBIE BRITANNIQUE"]),
    ("MB", &["MANITOBA"]),
    ("NB", &["NEW BRUNSWICK", "NOUVEAU BRUNSWICK"]),
    ("NL", &["NEWFOUNDLAND AND LABRADOR", "TERRE NEUVE ET LABRADOR", "NEWFOUNDLAND", "NF"]),
    ("NS", &["NOVA SCOTIA", "NOUVELLE ECOSSE"]),
    ("NT", &["NORTHWEST TERRITORIES", "TERRITOIRES DU NORD OUEST"]),
    ("NU", &["NUNAVUT"]),
    ("ON", &["ONTARIO"]),
    ("PE", &["PRINCE EDWARD ISLAND", "ILE DU PRINCE EDOUARD", "PEI"]),
    ("QC", &["QUEBEC", "PQ"]),
    ("SK", &["SASKATCHEWAN"]),
    ("YT", &["YUKON", "YUKON TERRITORY"]),
];

const AUSTRALIAN: [(&str, &[&str]); 8] = [
    ("ACT", &["AUSTRALIAN CAPITAL TERRITORY"]),
    ("NSW", &["NEW SOUTH WALES"]),
    ("NT", &["NORTHERN TERRITORY"]),
    ("QLD", &["QUEENSLAND"]),
    ("SA", &["SOUTH AUSTRALIA"]),
    ("TAS", &["TASMANIA"]),
    ("VIC", &["VICTORIA"]),
    ("WA", &["WESTERN AUSTRALIA"]),
];

fn coded(table: &[(&'static str, &[&str])], folded: &str) -> Option<&'static str> {
    table.iter().find(|(code, names)| *code == folded || names.contains(&folded)).map(|(code, _)| *code)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_become_codes_where_mail_is_addressed_with_them() {
        for (country, name, code) in [
            ("US", "NORTH CAROLINA", "NC"),
            ("CA", "COLOMBIE BRITANNIQUE", "BC"),
            ("CA", "ON", "ON"),
            ("AU", "NEW SOUTH WALES", "NSW"),
            ("GB", "FOGSHIRE", "FOGSHIRE"),
        ] {
            assert_eq!(standard(country, name), code);
        }
    }
}
