//! States and provinces by their codes.
//!
//! Handed a folded name; promises the code where the country's mail is addressed with one. Codes of Canada and
//! Australia are those of ISO 3166-2 (from memory). Turned down: the regions of all countries, which a postal code
//! makes needless.

use super::us;

/// The region's code, or the name as it came.
pub(super) fn standard(country: &str, folded: &str) -> String {
    code(country, folded).map_or_else(|| folded.to_owned(), str::to_owned)
}

/// The region's code, from its name, an abbreviation, its letters one by one ("N Y"), or several of these that say the
/// same ("OR - Oregon", "US-OR").
pub(super) fn code(country: &str, folded: &str) -> Option<&'static str> {
    let plain = |text: &str| match country {
        "US" => us::state(text),
        "CA" => coded(&PROVINCES, text),
        "AU" => coded(&AUSTRALIAN, text),
        _ => None,
    };
    let spelled =
        || Some(folded).filter(|text| text.split(' ').all(|word| word.len() == 1)).map(|t| t.replace(' ', ""));
    let prefixed = || folded.strip_prefix(country)?.strip_prefix(' ');
    let twice = || {
        folded.match_indices(' ').find_map(|(place, _)| {
            let (one, other) = (plain(folded.get(..place)?)?, plain(folded.get(place + 1..)?)?);
            (one == other).then_some(one)
        })
    };
    plain(folded).or_else(|| plain(&spelled()?)).or_else(|| plain(prefixed()?)).or_else(twice)
}

/// Codes of Canadian provinces and territories, by code, English and French name.
const PROVINCES: [(&str, &[&str]); 13] = [
    ("AB", &["ALBERTA", "ALTA"]),
    ("BC", &["BRITISH COLUMBIA", "COLOMBIE BRITANNIQUE"]),
    ("MB", &["MANITOBA", "MAN"]),
    ("NB", &["NEW BRUNSWICK", "NOUVEAU BRUNSWICK"]),
    ("NL", &["NEWFOUNDLAND AND LABRADOR", "TERRE NEUVE ET LABRADOR", "NEWFOUNDLAND", "NF", "NFLD", "TERRE NEUVE"]),
    ("NS", &["NOVA SCOTIA", "NOUVELLE ECOSSE"]),
    ("NT", &["NORTHWEST TERRITORIES", "TERRITOIRES DU NORD OUEST", "NWT"]),
    ("NU", &["NUNAVUT"]),
    ("ON", &["ONTARIO", "ONT"]),
    ("PE", &["PRINCE EDWARD ISLAND", "ILE DU PRINCE EDOUARD", "PEI"]),
    ("QC", &["QUEBEC", "PQ", "QUE"]),
    ("SK", &["SASKATCHEWAN", "SASK"]),
    ("YT", &["YUKON", "YUKON TERRITORY"]),
];

const AUSTRALIAN: [(&str, &[&str]); 8] = [
    ("ACT", &["AUSTRALIAN CAPITAL TERRITORY"]),
    ("NSW", &["NEW SOUTH WALES"]),
    ("NT", &["NORTHERN TERRITORY"]),
    ("QLD", &["QUEENSLAND"]),
    ("SA", &["SOUTH AUSTRALIA"]),
    ("TAS", &["TASMANIA", "TASSIE"]),
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
            ("US", "N Y", "NY"),
            ("US", "W VA", "WV"),
            ("US", "OR OREGON", "OR"),
            ("US", "US OR", "OR"),
            ("US", "OR WA", "OR WA"),
            ("US", "N CALIFORNIA", "N CALIFORNIA"),
            ("GB", "FOGSHIRE", "FOGSHIRE"),
        ] {
            assert_eq!(standard(country, name), code);
        }
    }
}
