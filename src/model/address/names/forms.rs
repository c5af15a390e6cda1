//! Names of countries that no reference data has, and the state's own form of a name.
//!
//! Handed a name; promises the countries people mean by what they write besides, and a name without the words for a form
//! of state ("Kingdom of Spain", "Korea, Republic of"). Turned down: searching the name of a country in any text, which
//! makes Ireland of Northern Ireland and China of the Republic of China.

/// What people write besides; common practice, no source. UK is reserved for the United Kingdom by ISO 3166-1, and EL
/// is the European Union's code for Greece.
pub(super) const TRADE_FORMS: [(&str, &str); 122] = [
    ("America", "US"),
    ("Estados Unidos de América", "US"),
    ("Stati Uniti d'America", "US"),
    ("United States of America", "US"),
    ("Vereinigte Staaten von Amerika", "US"),
    ("Verenigde Staten van Amerika", "US"),
    ("États-Unis d'Amérique", "US"),
    ("米国", "US"),
    ("UK", "GB"),
    ("Britain", "GB"),
    ("England", "GB"),
    ("Great Britain", "GB"),
    ("Northern Ireland", "GB"),
    ("Scotland", "GB"),
    ("Wales", "GB"),
    ("Angleterre", "GB"),
    ("Gran Bretaña", "GB"),
    ("Gran Bretagna", "GB"),
    ("Grande-Bretagne", "GB"),
    ("Groot-Brittannië", "GB"),
    ("Grossbritannien", "GB"),
    ("Wielka Brytania", "GB"),
    ("英国", "GB"),
    ("EL", "GR"),
    ("Hellas", "GR"),
    ("Republic of Ireland", "IE"),
    ("Éire", "IE"),
    ("Holland", "NL"),
    ("Holanda", "NL"),
    ("Hollande", "NL"),
    ("Holandia", "NL"),
    ("Olanda", "NL"),
    ("Czech Republic", "CZ"),
    ("Republic of Korea", "KR"),
    ("韓国", "KR"),
    ("中国", "CN"),
    ("DR Congo", "CD"),
    ("Democratic Republic of the Congo", "CD"),
    ("Republic of the Congo", "CG"),
    ("Russian Federation", "RU"),
    ("Slovak Republic", "SK"),
    ("East Timor", "TL"),
    ("US of A", "US"),
    ("Estados Unidos da América", "US"),
    ("Stany Zjednoczone Ameryki", "US"),
    ("Amérique", "US"),
    ("Schottland", "GB"),
    ("Escocia", "GB"),
    ("Écosse", "GB"),
    ("Scozia", "GB"),
    ("Schotland", "GB"),
    ("Szkocja", "GB"),
    ("Escócia", "GB"),
    ("スコットランド", "GB"),
    ("Inglaterra", "GB"),
    ("Inghilterra", "GB"),
    ("Engeland", "GB"),
    ("Anglia", "GB"),
    ("イングランド", "GB"),
    ("Grã-Bretanha", "GB"),
    ("Pays de Galles", "GB"),
    ("Gales", "GB"),
    ("Galles", "GB"),
    ("Walia", "GB"),
    ("Nordirland", "GB"),
    ("Irlande du Nord", "GB"),
    ("Irlanda del Norte", "GB"),
    ("Irlanda del Nord", "GB"),
    ("Noord-Ierland", "GB"),
    ("Irlandia Północna", "GB"),
    ("Irlanda do Norte", "GB"),
    ("Bundesrepublik Deutschland", "DE"),
    ("BRD", "DE"),
    ("S. Korea", "KR"),
    ("N. Korea", "KP"),
    ("Democratic People's Republic of Korea", "KP"),
    ("Taiwan, Province of China", "TW"),
    ("Taiwan, R.O.C.", "TW"),
    ("Hong Kong SAR", "HK"),
    ("Hong Kong, China", "HK"),
    ("Macau SAR", "MO"),
    ("Macao, China", "MO"),
    ("P.R. China", "CN"),
    ("PRC", "CN"),
    ("Mainland China", "CN"),
    ("U.A.E.", "AE"),
    ("Confoederatio Helvetica", "CH"),
    ("Ellada", "GR"),
    ("Nippon", "JP"),
    ("日本国", "JP"),
    ("Česká republika", "CZ"),
    ("Srbija", "RS"),
    ("RSA", "ZA"),
    ("Aotearoa", "NZ"),
    ("Antigua", "AG"),
    ("DRC", "CD"),
    ("Republic of Congo", "CG"),
    ("Congo Republic", "CG"),
    ("Saint Martin (French part)", "MF"),
    ("Sint Maarten (Dutch part)", "SX"),
    ("Holy See (Vatican City State)", "VA"),
    ("Bonaire, Sint Eustatius and Saba", "BQ"),
    ("Plurinational State of Bolivia", "BO"),
    ("Argentine Republic", "AR"),
    ("Swiss Confederation", "CH"),
    ("French Republic", "FR"),
    ("Gabonese Republic", "GA"),
    ("Hellenic Republic", "GR"),
    ("Italian Republic", "IT"),
    ("Kyrgyz Republic", "KG"),
    ("Lebanese Republic", "LB"),
    ("United Mexican States", "MX"),
    ("Portuguese Republic", "PT"),
    ("Rwandese Republic", "RW"),
    ("Togolese Republic", "TG"),
    ("Kalaallit Nunaat", "GL"),
    ("Ellan Vannin", "IM"),
    ("Hong Kong Special Administrative Region of China", "HK"),
    ("Macao Special Administrative Region of China", "MO"),
    ("Virgin Islands of the United States", "VI"),
    ("Papua Niugini", "PG"),
    ("Madagasikara", "MG"),
];

/// Names that two countries have, one of them with a word before it; from memory. The Republic of China is not the
/// country that its last word names.
pub(super) const SHARED: [&str; 7] =
    ["Congo", "Korea", "Virgin Islands", "Saint Martin", "St. Martin", "Republic of China", "State of Georgia"];

/// Words of a state's form of its name, as the official names of ISO 3166-1 have them before "of".
const STATE_WORDS: [&str; 33] = [
    "a",
    "arab",
    "bolivarian",
    "co-operative",
    "commonwealth",
    "democratic",
    "eastern",
    "federal",
    "federated",
    "federation",
    "federative",
    "grand",
    "duchy",
    "hashemite",
    "independent",
    "islamic",
    "kingdom",
    "oriental",
    "people's",
    "peoples",
    "plurinational",
    "principality",
    "republic",
    "socialist",
    "special",
    "administrative",
    "region",
    "state",
    "states",
    "sultanate",
    "the",
    "union",
    "united",
];

/// Other ways of putting a name, the likeliest first: "Korea, South" and "Korea (South)" turned round, "the" left out,
/// and the state's form of the name.
pub(super) fn turned(text: &str) -> Vec<String> {
    let mut ways = Vec::new();
    let text = text.trim().replace('’', "'");
    let parted = text.split_once(", ").or_else(|| text.trim_end_matches(')').split_once(" ("));
    let whole = match parted {
        Some((name, before)) => format!("{before} {name}"),
        None => text.clone(),
    };
    if parted.is_some() {
        ways.push(whole.clone());
    }
    if let Some((article, name)) = whole.split_once(' ')
        && ["the", "les", "los", "die", "de"].contains(&article.to_lowercase().as_str())
    {
        ways.push(name.to_owned());
    }
    if let Some((form, name)) = whole.to_lowercase().split_once(" of ")
        && form.split(' ').all(|word| STATE_WORDS.contains(&word))
    {
        ways.push(name.trim_start_matches("the ").to_owned());
    }
    ways
}

/// A name that is said twice: "England, UK", "United States (USA)".
pub(super) fn twice(text: &str) -> Option<(&str, &str)> {
    text.split_once(',').or_else(|| text.trim_end().trim_end_matches(')').split_once('('))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_put_in_other_ways() {
        assert_eq!(turned("Korea, South"), ["South Korea"]);
        assert_eq!(turned("Kingdom of Spain"), ["spain"]);
        assert_eq!(turned("Iran, Islamic Republic of"), ["Islamic Republic of Iran", "iran"]);
        assert_eq!(turned("The Netherlands"), ["Netherlands"]);
        assert!(turned("Isle of Man").is_empty());
    }
}
