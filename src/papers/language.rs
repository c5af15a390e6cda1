//! Which language a recipient's papers are written in.
//!
//! Handed a recipient; gives a language that the whole country, or the region of the postal code, reads. Where
//! neither decides, English. Turned down: guessing from a name, which is wrong about people; and asking the seller,
//! who can pin a language in `dawnpack.toml` for all.
//!
//! | country | language |
//! |---|---|
//! | Germany, Austria, Liechtenstein | German |
//! | France with its territories, Monaco | French |
//! | Spain, Mexico, and the countries of Central and South America whose language it is, Cuba, the Dominican Republic | Spanish |
//! | Japan | Japanese |
//! | Belgium, Canada, Switzerland | by postal code, below |
//! | all others | English |
//!
//! Official languages of countries and the regions of postal codes: from memory.

use crate::model::address::Country;
use crate::model::language::Language;
use crate::model::recipient::Recipient;

/// Belgium, by the first two digits: Walloon Brabant 13 and 14, Liège to Hainaut 40 to 79, of which 47 holds the
/// German-speaking towns beside French ones. Brussels (10 to 12) has two languages; the rest is Dutch.
const BELGIUM: [((u32, u32), Language); 3] =
    [((13, 14), Language::Fr), ((40, 46), Language::Fr), ((48, 79), Language::Fr)];
/// Switzerland, by the first two digits: 10 to 16, 18 to 24 and 26 to 29 read French (Vaud, Geneva, lower Valais,
/// Neuchâtel, Jura); 17 and 25 are Fribourg and Biel, which have two languages; 30 to 38, 40 to 64, 70 to 73 and 78 to 96 read
/// German; 39 is the upper Valais with Sierre, which reads French; 65 to 69 read Italian; 74 to 77 hold the Romansh and Italian valleys of Graubünden.
const SWITZERLAND: [((u32, u32), Language); 7] = [
    ((10, 16), Language::Fr),
    ((18, 24), Language::Fr),
    ((26, 29), Language::Fr),
    ((30, 38), Language::De),
    ((40, 64), Language::De),
    ((70, 73), Language::De),
    ((78, 96), Language::De),
];

/// The language of `to`'s papers.
pub(super) fn of(to: &Recipient) -> Language {
    let Some(country) = to.country else { return Language::En };
    match country.code() {
        "DE" | "AT" | "LI" => Language::De,
        "FR" | "MC" | "GF" | "GP" | "MQ" | "NC" | "PF" | "PM" | "RE" | "WF" | "YT" | "BL" | "MF" => Language::Fr,
        "ES" | "MX" | "AR" | "BO" | "CL" | "CO" | "CR" | "CU" | "DO" | "EC" | "GT" | "HN" | "NI" | "PA" | "PE"
        | "PY" | "SV" | "UY" | "VE" => Language::Es,
        "JP" => Language::Ja,
        "BE" => by_digits(&to.postal_code, &BELGIUM),
        "CH" => by_digits(&to.postal_code, &SWITZERLAND),
        // Quebec: G, H and J.
        "CA" => match to.postal_code.trim().chars().next().map(|c| c.to_ascii_uppercase()) {
            Some('G' | 'H' | 'J') => Language::Fr,
            Some(_) | None => Language::En,
        },
        _ => Language::En,
    }
}

/// The language whose shapes a name and address have where several share their letters: Han letters differ in China,
/// Japan and Korea (Unicode Standard, section 18.1). English elsewhere: there it makes no difference.
pub(super) fn shaping(to: &Recipient) -> &'static str {
    match to.country.map(Country::code) {
        Some("JP") => "ja",
        Some("KR") => "ko",
        Some("CN" | "SG" | "TW" | "HK" | "MO") => "zh",
        Some(_) | None => "en",
    }
}

/// By the first two of four digits; with a country's letters before them, as some write it.
fn by_digits(code: &str, table: &[((u32, u32), Language)]) -> Language {
    let digits: String = code.chars().filter(char::is_ascii_digit).collect();
    let area = digits.get(..2).filter(|_| digits.len() == 4).and_then(|area| area.parse::<u32>().ok());
    area.and_then(|area| table.iter().find(|((first, last), _)| (*first..=*last).contains(&area)))
        .map_or(Language::En, |(_, language)| *language)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reads(country: &str, postal_code: &str) -> Language {
        let (_, plan) = super::super::sample::day().unwrap();
        let mut to = plan.parcels[0].recipient.clone();
        to.country = country.parse().ok();
        to.postal_code = postal_code.to_owned();
        of(&to)
    }

    #[test]
    fn a_country_or_its_postal_region_decides_and_else_english() {
        let expected = [
            ("DE", "28195", Language::De),
            ("AT", "1010", Language::De),
            ("FR", "75001", Language::Fr),
            ("MX", "06000", Language::Es),
            ("JP", "100-0001", Language::Ja),
            // Geneva, Zurich, Lugano, Biel.
            ("CH", "1201", Language::Fr),
            ("CH", "CH-8001", Language::De),
            ("CH", "6900", Language::En),
            ("CH", "2502", Language::En),
            // Namur, Antwerp, Brussels, Eupen.
            ("BE", "5000", Language::Fr),
            ("BE", "2000", Language::En),
            ("BE", "1000", Language::En),
            ("BE", "4700", Language::En),
            // Montreal, Toronto.
            ("CA", "H2X 1Y4", Language::Fr),
            ("CA", "M5V 2T6", Language::En),
            ("GB", "SW1A 1AA", Language::En),
            ("NL", "1012 AB", Language::En),
            ("??", "", Language::En),
        ];
        for (country, code, language) in expected {
            assert_eq!(reads(country, code), language, "{country} {code}");
        }
    }
}
