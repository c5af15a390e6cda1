//! Names of countries.
//!
//! Handed a name in a language of the exports; promises the country, where just one answers to the name. The names
//! are those of the Unicode CLDR, which the ICU data carry, and the English ones of ISO 3166-1. Turned down: a list of
//! our own, which would be the fourth in the program.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use icu_experimental::displaynames::{DisplayNamesOptions, Style, multi::RegionDisplayNames};
use icu_locale_core::{Locale, subtags::Region};
use unicode_normalization::{UnicodeNormalization as _, char::is_combining_mark};

use super::Country;
use forms::{SHARED, TRADE_FORMS};

mod forms;

/// Languages of the exports, with their word for `&`.
const LANGUAGES: [(&str, &str); 9] = [
    ("en", "and"),
    ("de", "und"),
    ("fr", "et"),
    ("es", "y"),
    ("nl", "en"),
    ("it", "e"),
    ("pl", "i"),
    ("pt", "e"),
    ("ja", "・"),
];

/// Further languages, and the countries that have them as official ones (Unicode CLDR, supplemental data, as Babel
/// 2.18 has it; `tests/peers/countries`). Those of which the ICU data have no names are
/// left out.
const OWN: [(&str, &[&str]); 77] = [
    ("am", &["ET"]),
    (
        "ar",
        &[
            "AE", "BH", "DJ", "DZ", "EG", "EH", "ER", "IL", "IQ", "JO", "KM", "KW", "LB", "LY", "MA", "MR", "OM", "PS",
            "QA", "SA", "SD", "SO", "SY", "TD", "TN", "YE",
        ],
    ),
    ("az", &["AZ"]),
    ("be", &["BY"]),
    ("bg", &["BG"]),
    ("bn", &["BD"]),
    ("bs", &["BA"]),
    ("bs-Cyrl", &["BA"]),
    ("ca", &["AD"]),
    ("cs", &["CZ"]),
    ("da", &["DK"]),
    ("el", &["CY", "GR"]),
    ("et", &["EE"]),
    ("fa", &["AF", "IR"]),
    ("fi", &["FI"]),
    ("fil", &["PH"]),
    ("fo", &["FO"]),
    ("ga", &["IE"]),
    ("he", &["IL"]),
    ("hi", &["IN"]),
    ("hr", &["BA", "HR"]),
    ("hu", &["HU"]),
    ("hy", &["AM"]),
    ("id", &["ID"]),
    ("is", &["IS"]),
    ("ka", &["GE"]),
    ("kk", &["KZ"]),
    ("km", &["KH"]),
    ("ko", &["KP", "KR"]),
    ("ky", &["KG"]),
    ("lb", &["LU"]),
    ("lo", &["LA"]),
    ("lt", &["LT"]),
    ("lv", &["LV"]),
    ("mi", &["NZ"]),
    ("mk", &["MK"]),
    ("mn", &["MN"]),
    ("ms", &["BN", "MY", "SG"]),
    ("mt", &["MT"]),
    ("my", &["MM"]),
    ("nb", &["NO", "SJ"]),
    ("ne", &["NP"]),
    ("nn", &["NO"]),
    ("no", &["NO"]),
    ("ps", &["AF"]),
    ("qu", &["BO", "EC", "PE"]),
    ("ro", &["MD", "RO"]),
    ("ru", &["BY", "KG", "KZ", "RU", "UA"]),
    ("rw", &["RW"]),
    ("si", &["LK"]),
    ("sk", &["SK"]),
    ("sl", &["SI"]),
    ("so", &["SO"]),
    ("sq", &["AL"]),
    ("sr", &["BA", "RS"]),
    ("sr-Latn", &["BA", "ME", "RS"]),
    ("st", &["LS"]),
    ("sv", &["AX", "FI", "SE"]),
    ("sw", &["KE", "TZ", "UG"]),
    ("ta", &["LK", "SG"]),
    ("tg", &["TJ"]),
    ("th", &["TH"]),
    ("ti", &["ER"]),
    ("tk", &["TM"]),
    ("tn", &["BW"]),
    ("to", &["TO"]),
    ("tr", &["CY", "TR"]),
    ("uk", &["UA"]),
    ("ur", &["PK"]),
    ("uz", &["UZ"]),
    ("uz-Cyrl", &["UZ"]),
    ("vi", &["VN"]),
    ("wo", &["SN"]),
    ("yo", &["NG"]),
    ("yue", &["MO"]),
    ("zh", &["CN", "HK", "MO", "SG", "TW"]),
    ("zh-Hant", &["HK", "MO", "TW"]),
];

/// Bytes of the longest text that is looked at in more than one way.
const LONGEST: usize = 120;

/// The one country with that name.
pub(super) fn named(text: &str) -> Option<Country> {
    if let Some(countries) = NAMES.get(&folded(text)) {
        return only(countries);
    }
    // No name is as long; what is needn't be turned in every way.
    if text.len() > LONGEST {
        return None;
    }
    // Aliases of the library, for whole names without spaces; those above go first, since it has one of two countries
    // for a name that both have.
    let joined: String = text.chars().filter(|c| c.is_alphanumeric()).collect();
    let longer = joined.chars().count() > 3;
    let alias = || celes::Country::from_alias(joined).ok().filter(|_| longer).map(Country);
    let turned = || forms::turned(text).iter().find_map(|way| NAMES.get(&folded(way))).and_then(|found| only(found));
    let twice = || {
        let (one, other) = forms::twice(text)?;
        let (one, other) = (one.parse::<Country>().ok()?, other.parse::<Country>().ok()?);
        (one == other).then_some(one)
    };
    alias().or_else(turned).or_else(twice)
}

fn only(countries: &[Country]) -> Option<Country> {
    if let [country] = countries { Some(*country) } else { None }
}

/// By folded name; a name that several countries have stands for all of them.
static NAMES: LazyLock<BTreeMap<String, Vec<Country>>> = LazyLock::new(|| {
    let mut names = Names::default();
    let all: Vec<Country> = Country::all().collect();
    for (language, and) in LANGUAGES {
        names.add_all(language, and, &all);
    }
    for (language, codes) in OWN {
        let countries: Vec<Country> = codes.iter().filter_map(|code| of_code(code)).collect();
        names.add_all(language, "", &countries);
    }
    for country in &all {
        names.add(country.name(), "and", *country);
        names.add(country.name().trim_start_matches("The "), "and", *country);
    }
    for (name, code) in TRADE_FORMS {
        names.0.insert(folded(name), of_code(code).into_iter().collect());
    }
    for name in SHARED {
        names.0.insert(folded(name), Vec::new());
    }
    names.0
});

fn of_code(code: &str) -> Option<Country> {
    celes::Country::from_alpha2(code).ok().map(Country).or_else(|| code.parse().ok())
}

#[derive(Default)]
struct Names(BTreeMap<String, Vec<Country>>);

impl Names {
    fn add_all(&mut self, language: &str, and: &str, countries: &[Country]) {
        let Ok(locale) = language.parse::<Locale>() else { return };
        for style in [Style::Long, Style::Short] {
            let mut options = DisplayNamesOptions::default();
            options.style = Some(style);
            let Ok(known) = RegionDisplayNames::try_new((&locale).into(), options) else { continue };
            for country in countries {
                let region = Region::try_from_str(country.code()).ok();
                if let Some(name) = region.and_then(|region| known.of(region)) {
                    self.add(name, and, *country);
                }
            }
        }
    }

    /// The name as it stands, without what it has in parentheses, and with words for its signs.
    fn add(&mut self, name: &str, and: &str, country: Country) {
        let plain = name.split(['(', '（']).next().unwrap_or(name);
        for name in [name, plain] {
            let spelt = name.replace('&', and).replace("St.", "Saint");
            // What German keyboards without umlauts write.
            let digraphs = spelt.replace('ä', "ae").replace('ö', "oe").replace('Ö', "Oe").replace('ü', "ue");
            for form in [name, &spelt, &digraphs] {
                let countries = self.0.entry(folded(form)).or_default();
                if !countries.contains(&country) {
                    countries.push(country);
                }
            }
        }
    }
}

/// Letters and digits only, small, without accents: people leave out what they can't type.
fn folded(name: &str) -> String {
    let plain = name.nfkd().filter(|c| !is_combining_mark(*c)).flat_map(char::to_lowercase);
    let mut folded = String::with_capacity(name.len());
    for c in plain.filter(|c| c.is_alphanumeric()) {
        match c {
            'ς' => folded.push('σ'),
            'ł' => folded.push('l'),
            'ø' => folded.push('o'),
            'đ' | 'ð' => folded.push('d'),
            'ı' => folded.push('i'),
            'ß' => folded.push_str("ss"),
            'æ' => folded.push_str("ae"),
            'œ' => folded.push_str("oe"),
            _ => folded.push(c),
        }
    }
    folded
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(word: &str) -> Option<&'static str> {
        word.parse().ok().map(Country::code)
    }

    // Unicode CLDR, territory names; as the ICU data have them.
    #[test]
    fn names_are_read_in_the_languages_of_the_exports() {
        for (of, words) in [
            ("DE", ["Germany", "Deutschland", "Allemagne", "Alemania", "Duitsland", "Germania", "Niemcy", "ドイツ"]),
            (
                "AT",
                [
                    "Austria",
                    "Österreich",
                    "Autriche",
                    "OESTERREICH",
                    "Oostenrijk",
                    "osterreich",
                    "A U T",
                    "オーストリア",
                ],
            ),
            (
                "US",
                [
                    "United States",
                    "Vereinigte Staaten",
                    "États-Unis",
                    "Estados Unidos",
                    "Verenigde Staten",
                    "Stati Uniti",
                    "Stany Zjednoczone",
                    "アメリカ合衆国",
                ],
            ),
            (
                "NL",
                [
                    "Netherlands",
                    "The Netherlands",
                    "Pays-Bas",
                    "Países Bajos",
                    "Nederland",
                    "Paesi Bassi",
                    "Holandia",
                    "オランダ",
                ],
            ),
            (
                "GB",
                [
                    "England",
                    "Vereinigtes Königreich",
                    "Royaume-Uni",
                    "Reino Unido",
                    "Verenigd Koninkrijk",
                    "Regno Unito",
                    "Wielka Brytania",
                    "イギリス",
                ],
            ),
            ("CZ", ["Czechia", "Czech Republic", "Tschechien", "Česko", "Tsjechië", "Cechia", "Czechy", "チェコ"]),
            (
                "BA",
                [
                    "Bosnia & Herzegovina",
                    "Bosnia and Herzegovina",
                    "Bosnien und Herzegowina",
                    "Bosnie-Herzégovine",
                    "Bosnia y Herzegovina",
                    "Bosnië en Herzegovina",
                    "Bosna i Hercegovina",
                    "ボスニア・ヘルツェゴビナ",
                ],
            ),
            ("SE", ["Sweden", "Sverige", "Schweden", "Suède", "Suecia", "Zweden", "Svezia", "Szwecja"]),
            ("GR", ["EL", "Greece", "Ελλάδα", "Griechenland", "Grèce", "Griekenland", "Grecja", "ギリシャ"]),
            ("CN", ["China", "中国", "Chine", "Cina", "Chiny", "ＣＨＩＮＡ", "CHN", "c.h.n."]),
        ] {
            for word in words {
                assert_eq!(code(word), Some(of), "{word}");
            }
        }
        for (word, of) in [
            ("St. Lucia", "LC"),
            ("Saint Lucia", "LC"),
            ("Turkey", "TR"),
            ("Myanmar", "MM"),
            ("Burma", "MM"),
            ("South Korea", "KR"),
            ("Hong Kong", "HK"),
        ] {
            assert_eq!(code(word), Some(of), "{word}");
        }
    }

    /// Every name of every language of the exports is read as its country or, where another has it too, as none.
    #[test]
    fn no_name_is_read_as_another_country() {
        let mut read = 0;
        for (language, _) in LANGUAGES {
            let locale: Locale = language.parse().unwrap();
            let known = RegionDisplayNames::try_new((&locale).into(), DisplayNamesOptions::default()).unwrap();
            for country in Country::all() {
                let Some(name) = known.of(Region::try_from_str(country.code()).unwrap()) else { continue };
                match code(name) {
                    Some(code) => {
                        assert_eq!(code, country.code(), "{language} {name}");
                        read += 1;
                    }
                    // The two halves of one island, and the two Congos.
                    None => assert!(matches!(country.code(), "MF" | "CG"), "{language} {name}"),
                }
            }
        }
        assert!(read > 9 * 246, "{read}");
    }
}
