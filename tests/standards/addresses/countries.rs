//! Countries by code and by name.
//!
//! `data/countries.csv` holds what the reference packages have of each, with their versions at its head.

use dawnpack::model::address::Country;

use super::super::data::table;

fn code(word: &str) -> Option<&'static str> {
    word.parse().ok().map(Country::code)
}

/// Names that two countries have, which is told by nothing in them.
const SHARED: [&str; 4] = ["Congo", "St. Martin", "Saint Martin", "Saint-Martin"];

/// ISO 3166-1 and Unicode CLDR: each country's three codes, its English names, its name in the nine languages of the
/// exports, and in its own official languages as far as the ICU data carry these.
#[test]
fn every_code_and_every_name_is_its_countrys() {
    let (mut read, mut own, mut lacking) = (0, 0, 0);
    for row in table("countries.csv") {
        let (of, kind, name) = (&row["country"], &row["kind"], &row["name"]);
        match code(name) {
            Some(code) => {
                assert_eq!(code, of, "{kind} {name}");
                read += 1;
                own += usize::from(kind.starts_with("own "));
            }
            None if kind.starts_with("own ") => lacking += 1,
            None => assert!(SHARED.contains(&name.as_str()), "{of} {kind} {name}"),
        }
        for way in [name.to_lowercase(), name.to_uppercase(), format!(" {name} ")] {
            assert_eq!(code(&way), code(name), "{of} {kind} {way}");
        }
    }
    assert!(read > 3500 && own >= 130 && lacking <= 15, "{read}, {own} own, {lacking} lacking");
}

/// What people write besides; common practice, no source.
#[test]
#[expect(clippy::too_many_lines, reason = "one table")]
fn usual_writings_of_exports_are_read() {
    for (of, words) in [
        (
            "US",
            &[
                "U.S.A.",
                "U. S. A.",
                "US of A",
                "United States of America",
                "The United States",
                "United States (USA)",
                "U.S.",
                "Estados Unidos da América",
                "EUA",
                "EE.UU.",
                "EEUU",
                "EE. UU.",
                "アメリカ",
                "Stany Zjednoczone Ameryki",
            ][..],
        ),
        (
            "GB",
            &[
                "England",
                "Scotland",
                "Wales",
                "UK",
                "U.K.",
                "Great Britain",
                "United Kingdom of Great Britain",
                "GB",
                "G.B.",
                "England, UK",
                "Northern Ireland",
                "Schottland",
                "Escocia",
                "Écosse",
                "Scozia",
                "Schotland",
                "Szkocja",
                "Inglaterra",
                "Inghilterra",
                "Engeland",
                "Anglia",
                "イングランド",
                "Grã-Bretanha",
                "Pays de Galles",
            ][..],
        ),
        ("NL", &["Holland", "The Netherlands", "Nederland", "Niederlande", "Les Pays-Bas"][..]),
        ("DE", &["Deutschland", "Bundesrepublik Deutschland", "BRD", "Federal Republic of Germany"][..]),
        (
            "KR",
            &[
                "South Korea",
                "S. Korea",
                "Korea, South",
                "Korea (South)",
                "Republic of Korea",
                "Korea, Republic of",
                "대한민국",
            ][..],
        ),
        ("KP", &["North Korea"][..]),
        ("IE", &["Republic of Ireland", "Ireland", "Eire", "Éire"][..]),
        ("MD", &["Republic of Moldova", "Moldova, Republic of"][..]),
        ("RU", &["Russia", "Russian Federation", "Россия"][..]),
        ("VN", &["Viet Nam", "Vietnam"][..]),
        ("CI", &["Ivory Coast", "Cote d'Ivoire", "Côte d’Ivoire"][..]),
        ("CZ", &["Czech Republic", "Czechia", "Česká republika"][..]),
        ("SK", &["Slovakia", "Slovensko"][..]),
        ("SZ", &["Swaziland", "Eswatini"][..]),
        ("MK", &["Macedonia"][..]),
        ("MM", &["Burma"][..]),
        ("CV", &["Cape Verde"][..]),
        ("TW", &["Taiwan, Province of China", "Taiwan", "Taiwan, R.O.C."][..]),
        ("HK", &["Hong Kong SAR", "Hong Kong, China"][..]),
        ("MO", &["Macau"][..]),
        ("CN", &["P.R. China", "PR China", "People's Republic of China", "Mainland China"][..]),
        ("AE", &["UAE", "U.A.E."][..]),
        ("TR", &["Turkey", "Türkiye", "Turkiye"][..]),
        ("VA", &["Vatican", "Vatican City"][..]),
        ("PS", &["Palestine"][..]),
        ("SY", &["Syria"][..]),
        ("LA", &["Laos"][..]),
        ("IR", &["Iran", "Iran, Islamic Republic of"][..]),
        ("BO", &["Bolivia"][..]),
        ("TZ", &["Tanzania"][..]),
        ("VE", &["Venezuela"][..]),
        ("BN", &["Brunei"][..]),
        ("BR", &["Brasil"][..]),
        ("CH", &["Schweiz", "Suisse", "Svizzera", "Confoederatio Helvetica"][..]),
        ("AT", &["Österreich", "Oesterreich"][..]),
        ("ES", &["España", "Espana", "Kingdom of Spain"][..]),
        ("IT", &["Italia"][..]),
        ("PL", &["Polska"][..]),
        ("DK", &["Danmark"][..]),
        ("SE", &["Sverige"][..]),
        ("NO", &["Norge"][..]),
        ("FI", &["Suomi"][..]),
        ("IS", &["Ísland"][..]),
        ("GR", &["Ελλάδα", "Ellada"][..]),
        ("UA", &["Україна", "Ukraina"][..]),
        ("JP", &["日本", "Nippon", "日本国"][..]),
        ("MX", &["México", "Mexiko"][..]),
        ("BE", &["Belgique", "België", "Belgien"][..]),
        ("HU", &["Magyarország"][..]),
        ("HR", &["Hrvatska"][..]),
        ("SI", &["Slovenija"][..]),
        ("RS", &["Srbija"][..]),
        ("RO", &["România"][..]),
        ("BG", &["България"][..]),
        ("LT", &["Lietuva"][..]),
        ("LV", &["Latvija"][..]),
        ("EE", &["Eesti"][..]),
        ("ZA", &["Republic of South Africa", "RSA"][..]),
        ("AU", &["Australia", "AUS", "Commonwealth of Australia"][..]),
        ("NZ", &["N.Z.", "Aotearoa"][..]),
        ("SG", &["Republic of Singapore"][..]),
        ("PH", &["Republic of the Philippines"][..]),
        ("XK", &["Kosovo"][..]),
        ("TT", &["Trinidad"][..]),
        ("BA", &["Bosnia"][..]),
        ("VC", &["St. Vincent"][..]),
        ("AG", &["Antigua"][..]),
        ("BS", &["The Bahamas", "Bahamas, The"][..]),
        ("GM", &["Gambia", "The Gambia"][..]),
        ("CD", &["DRC", "Congo, Democratic Republic of the"][..]),
        ("GG", &["Guernsey"][..]),
        ("IM", &["Isle of Man"][..]),
        ("PR", &["Puerto Rico"][..]),
        ("GU", &["Guam"][..]),
        ("VI", &["U.S. Virgin Islands", "US Virgin Islands"][..]),
        ("VG", &["British Virgin Islands"][..]),
        ("RE", &["Réunion"][..]),
        ("PT", &["Portuguese Republic"][..]),
        ("GE", &["Georgia"][..]),
        ("JO", &["Jordan", "Hashemite Kingdom of Jordan"][..]),
    ] {
        for word in words {
            assert_eq!(code(word), Some(of), "{word}");
        }
    }
    for word in [
        "Phillipines",
        "Channel Islands",
        "Republic of China",
        "State of Georgia",
        "Guinee-Bissao",
        "UK, US",
        "84",
        "0840",
    ] {
        assert_eq!(code(word), None, "{word}");
    }
}
