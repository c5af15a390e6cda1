//! What postal codes look like, country by country.
//!
//! Handed a country and a code as somebody wrote it; promises whether such a code can be, and what a code was before
//! a spreadsheet took it for a number. The patterns are libaddressinput's (CC-BY 4.0), kept as they are in
//! `postal_codes.csv`, which tells where they come from. Turned down: lists of the codes that exist, which are stale
//! the month after, and a code's town, which no free list has for all countries.

use std::collections::BTreeMap;
use std::sync::{LazyLock, OnceLock};

use regex::{Regex, RegexBuilder};
use serde::Deserialize;

use super::address::Country;
use super::text::{narrow, one_line};

/// Whether a code can be one of a country.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Fit {
    /// It looks like one.
    Yes,
    /// It can't be one.
    No,
    /// The country has no codes, or no pattern of them is known.
    NoPattern,
}

/// One row of the data, as far as it is used here.
#[derive(Deserialize)]
struct Entry {
    country: String,
    #[serde(rename = "postal_regex")]
    pattern: String,
    samples: String,
    #[serde(rename = "postal_required")]
    required: String,
    format: String,
    #[serde(skip)]
    compiled: OnceLock<Option<Regex>>,
}

impl Entry {
    fn samples(&self) -> impl Iterator<Item = &str> {
        self.samples.split('|').filter(|sample| !sample.is_empty())
    }

    /// The pattern, for whole codes, digits being 0 to 9; `None` where the country has none.
    fn regex(&self) -> Option<&Regex> {
        let compile = || {
            let whole = format!("^(?:{})$", self.pattern);
            RegexBuilder::new(&whole).unicode(false).build().ok().filter(|_| !self.pattern.is_empty())
        };
        self.compiled.get_or_init(compile).as_ref()
    }

    /// What the format of an address puts right before the code, as `FI-` of `FI-%Z`.
    fn prefix(&self) -> Option<&str> {
        let (before, _) = self.format.split_once("%Z")?;
        let start = before.rfind(|c: char| !c.is_ascii_uppercase() && c != '-').map_or(0, |last| last + 1);
        // `%C-%Z` is a town and a hyphen.
        let is_field = before.get(..start).is_some_and(|before| before.ends_with('%'));
        before.get(start..).filter(|prefix| prefix.ends_with('-') && prefix.len() > 1 && !is_field)
    }
}

const DATA: &str = include_str!("postal_codes.csv");

static ENTRIES: LazyLock<BTreeMap<String, Entry>> = LazyLock::new(|| {
    let mut data = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(DATA.as_bytes());
    // The data is part of the program, and a test counts its rows.
    data.deserialize().filter_map(Result::ok).map(|entry: Entry| (entry.country.clone(), entry)).collect()
});

/// Distinguishing signs of vehicles that people put before a code and that differ from the two letters of ISO 3166-1
/// (United Nations list of distinguishing signs, 1968 convention on road traffic; from memory). Common practice
/// before the 1990s and still met, no source.
const SIGNS: [(&str, &str); 15] = [
    ("AT", "A"),
    ("BE", "B"),
    ("DE", "D"),
    ("EE", "EST"),
    ("ES", "E"),
    ("FI", "FIN"),
    ("FR", "F"),
    ("HU", "H"),
    ("IT", "I"),
    ("LI", "FL"),
    ("LU", "L"),
    ("NO", "N"),
    ("PT", "P"),
    ("SE", "S"),
    ("SI", "SLO"),
];

/// Countries whose codes are figures of one length and never begin with a zero, which their patterns don't say; from
/// memory.
const NO_ZERO_FIRST: [&str; 23] = [
    "AR", "AT", "BE", "BG", "CH", "CY", "CZ", "EE", "GR", "HR", "HU", "ID", "IN", "LU", "LV", "PH", "PK", "PT", "RU",
    "SE", "SI", "TH", "TN",
];

/// The code as its country's pattern has it, in capitals: as it is, else without spaces and hyphens, else with one of
/// them where the pattern wants it; without the country's own sign before it (`D-26133`).
#[must_use]
pub fn standard(country: Country, code: &str) -> Option<String> {
    let entry = ENTRIES.get(country.code())?;
    let regex = entry.regex()?;
    // The longest codes have ten letters and figures; what is much longer needn't be tried in every way.
    let code = Some(code).filter(|code| code.len() <= 40)?;
    let code = one_line(&narrow(code)).to_uppercase();
    let code = code.replace(['\u{2010}', '\u{2011}', '\u{2012}', '\u{2013}', '\u{2212}'], "-");
    let sign = SIGNS.iter().find(|(of, _)| *of == country.code()).map(|(_, sign)| *sign);
    let signs = [entry.prefix().map(|prefix| prefix.trim_end_matches('-')), sign, Some(country.code())];
    let unsigned = signs.into_iter().flatten().filter_map(|sign| code.strip_prefix(sign));
    let unsigned = unsigned.filter_map(|rest| rest.strip_prefix(['-', ' '])).map(str::trim);
    std::iter::once(code.as_str()).chain(unsigned).find_map(|code| spaced(regex, code))
}

fn spaced(regex: &Regex, code: &str) -> Option<String> {
    if regex.is_match(code) {
        return Some(code.to_owned());
    }
    let joined: String = code.chars().filter(|c| !matches!(c, ' ' | '-')).collect();
    let apart = (1..joined.len()).flat_map(|at| {
        let halves = joined.split_at_checked(at);
        ["-", " "].into_iter().filter_map(move |mark| halves.map(|(one, two)| format!("{one}{mark}{two}")))
    });
    let mut ways = std::iter::once(joined.clone()).chain(apart);
    ways.find(|way| regex.is_match(way))
}

/// Whether such a code can be one of the country; case, spaces and hyphens don't matter.
#[must_use]
pub fn fits(country: Country, code: &str) -> Fit {
    match ENTRIES.get(country.code()).and_then(Entry::regex) {
        None => Fit::NoPattern,
        Some(_) if standard(country, code).is_some() => Fit::Yes,
        Some(_) => Fit::No,
    }
}

/// A code that exists in the country, to show what one looks like.
#[must_use]
pub fn example(country: Country) -> Option<&'static str> {
    ENTRIES.get(country.code())?.samples().next()
}

/// Whether mail in the country needs a code.
#[must_use]
pub fn is_required(country: Country) -> bool {
    ENTRIES.get(country.code()).is_some_and(|entry| entry.required == "y")
}

/// Whether addresses of the country name a town; not where the whole country is one, as Singapore.
#[must_use]
pub fn has_town(country: Country) -> bool {
    ENTRIES.get(country.code()).is_none_or(|entry| entry.format.is_empty() || entry.format.contains("%C"))
}

/// Longest code of figures alone (Iran's).
const LONGEST: usize = 10;

/// What a code was before a spreadsheet took it for a number: `04999` for `4999`, or `4999.0`. Only where the pattern
/// proves it: the figures are no code as they stand, and of all lengths just one makes them one. More than one zero
/// only where the data has a code of the country with as many.
#[must_use]
pub fn with_lost_zeros(country: Country, code: &str) -> Option<String> {
    let entry = ENTRIES.get(country.code())?;
    let regex = entry.regex().filter(|_| !NO_ZERO_FIRST.contains(&country.code()))?;
    let code = one_line(&narrow(code));
    let point = code.find(['.', ',']).unwrap_or(code.len());
    let (figures, fraction) = code.split_at_checked(point)?;
    let is_number = figures.bytes().all(|b| b.is_ascii_digit()) && !figures.is_empty() && !figures.starts_with('0');
    if !is_number || !fraction.chars().skip(1).all(|c| c == '0') || standard(country, figures).is_some() {
        return None;
    }
    let known = entry.samples().map(|sample| sample.chars().take_while(|c| *c == '0').count()).max();
    let most = known.unwrap_or(0).max(1);
    let padded: Vec<String> = (figures.len() + 1..=LONGEST).map(|length| format!("{figures:0>length$}")).collect();
    let plain: Vec<&String> = padded.iter().filter(|padded| regex.is_match(padded)).collect();
    match plain.as_slice() {
        [one] if one.len() - figures.len() <= most => Some((*one).clone()),
        [_, ..] => None,
        // Poland writes 05-470, and a source without the hyphen 05470, which is a number too.
        [] => {
            let mut set_apart = padded.iter().filter_map(|padded| Some((padded, spaced(regex, padded)?)));
            match (set_apart.next(), set_apart.next()) {
                (Some((padded, code)), None) if padded.len() - figures.len() <= most => Some(code),
                (Some(_) | None, _) => None,
            }
        }
    }
}

/// The one code of the country that somebody may have typed or read it from, where letters and figures that look alike
/// changed places: `O` and `0`, `I`, `L` and `1`. `None` where it is a code as it stands, or several could be meant.
#[must_use]
pub fn misread(country: Country, code: &str) -> Option<String> {
    /// So many doubtful letters make a few hundred codes to try; no real code has more.
    const MOST: usize = 5;
    let code = one_line(&narrow(code)).to_uppercase();
    let alike = |c: char| match c {
        'O' | '0' => &['O', '0'][..],
        'I' | 'L' | '1' => &['1', 'I', 'L'],
        _ => &[],
    };
    let doubtful = code.chars().filter(|c| !alike(*c).is_empty()).count();
    if !(1..=MOST).contains(&doubtful) || code.len() > 2 * LONGEST || standard(country, &code).is_some() {
        return None;
    }
    let mut ways = vec![String::new()];
    for c in code.chars() {
        let letters = if alike(c).is_empty() { &[c][..] } else { alike(c) };
        ways = ways.iter().flat_map(|way| letters.iter().map(move |letter| format!("{way}{letter}"))).collect();
    }
    let mut meant: Vec<String> = ways.iter().filter_map(|way| standard(country, way)).collect();
    meant.sort();
    meant.dedup();
    Some(meant).filter(|meant| meant.len() == 1)?.pop()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn country(code: &str) -> Country {
        code.parse().unwrap()
    }

    /// The countries of the data that ISO 3166-1 has too.
    fn all() -> impl Iterator<Item = (Country, &'static Entry)> {
        ENTRIES.iter().filter_map(|(code, entry)| Some((code.parse().ok()?, entry)))
    }

    #[test]
    fn every_row_of_the_data_is_read_and_every_pattern_compiles() {
        let rows = DATA.lines().filter(|line| !line.starts_with('#') && !line.starts_with("country,")).count();
        assert_eq!(ENTRIES.len(), rows);
        assert_eq!(ENTRIES.values().filter(|entry| entry.regex().is_some()).count(), 181);
        assert!(ENTRIES.values().all(|entry| entry.pattern.is_empty() || entry.regex().is_some()));
        assert!(all().count() > 240);
    }

    // libaddressinput's own samples: the data says of each that it matches.
    #[test]
    fn every_sample_is_a_code_in_any_case_and_spacing_and_none_is_with_a_figure_more() {
        for (country, entry) in all() {
            for sample in entry.samples() {
                let lower = sample.to_lowercase();
                let wide: String = lower.chars().map(|c| if c == ' ' { '\u{A0}' } else { c }).collect();
                let joined = sample.replace([' ', '-'], "");
                let dirty = format!(" {sample}\u{200B}");
                for way in [sample, &lower, &wide, &joined, &dirty] {
                    assert_eq!(fits(country, way), Fit::Yes, "{country} {way}");
                }
                assert_eq!(fits(country, &format!("{sample}00001")), Fit::No, "{country} {sample}");
            }
        }
    }

    // Of each sample, every code that lacks one character is refused unless the pattern itself, alone, takes it.
    #[test]
    fn a_character_dropped_is_refused_where_the_pattern_says_so() {
        let mut refused = 0;
        for (country, entry) in all() {
            let Some(regex) = entry.regex() else { continue };
            for sample in entry.samples() {
                for drop in 0..sample.chars().count() {
                    let less: String = sample.chars().enumerate().filter(|(i, _)| *i != drop).map(|(_, c)| c).collect();
                    let dropped = sample.chars().nth(drop);
                    if matches!(dropped, Some(' ' | '-')) {
                        continue;
                    }
                    let expected = if spaced(regex, &less).is_some() { Fit::Yes } else { Fit::No };
                    assert_eq!(fits(country, &less), expected, "{country} {less}");
                    refused += u32::from(expected == Fit::No);
                }
            }
        }
        assert!(refused > 1500, "{refused}");
        for (code, less) in [("US", "9501"), ("DE", "2613"), ("GB", "EC1Y 8S"), ("NL", "1234 A"), ("JP", "154-002")] {
            assert_eq!(fits(country(code), less), Fit::No, "{code} {less}");
        }
    }

    #[test]
    fn codes_are_brought_to_the_form_of_their_country() {
        for (of, written, standing) in [
            ("GB", "ec1y8sy", "EC1Y8SY"),
            ("US", "970991234", "97099-1234"),
            ("US", "97099\u{2013}1234", "97099-1234"),
            ("PL", "00950", "00-950"),
            ("PT", "2725 079", "2725-079"),
            ("DE", "D-26133", "26133"),
            ("DE", "DE 26133", "26133"),
            ("DE", "２６１３３", "26133"),
            ("FI", "FIN-00550", "00550"),
            ("CH", "CH-8000", "8000"),
        ] {
            let read = standard(country(of), written);
            assert_eq!(read.as_deref(), Some(standing), "{of} {written}");
        }
        // What stands before the code is a town or another country, or belongs to the code; and other figures.
        for (of, code) in [("DE", "F-26133"), ("PK", "C-44000"), ("LV", "1073"), ("DE", "٢٦١٣٣")] {
            assert_eq!(fits(country(of), code), Fit::No, "{of} {code}");
        }
        assert_eq!(fits(country("AE"), "anything"), Fit::NoPattern);
        assert_eq!(fits(country("DE"), &"2".repeat(1 << 20)), Fit::No);
        assert_eq!((example(country("US")), example(country("AE"))), (Some("95014"), None));
    }

    #[test]
    fn zeros_come_back_only_where_one_length_is_proven() {
        for (of, written, meant) in [
            ("US", "4999", Some("04999")),
            ("US", "4999.0", Some("04999")),
            ("US", "4999,00", Some("04999")),
            ("DE", "1067", Some("01067")),
            ("ES", "8001", Some("08001")),
            ("FR", "1000", Some("01000")),
            ("IT", "144", Some("00144")),
            ("FI", "100", Some("00100")),
            ("PR", "930", Some("00930")),
            ("NO", "25", Some("0025")),
            ("AU", "800", Some("0800")),
            ("JP", "600000", Some("0600000")),
            ("BR", "1310100", Some("01310100")),
            ("PL", "5470", Some("05-470")),
            ("MX", "2860", Some("02860")),
            // Whole as it stands.
            ("US", "04999", None),
            ("US", "97099", None),
            ("AU", "2060", None),
            // Two zeros: nothing in the data says that the country has such codes.
            ("US", "499", None),
            ("DE", "106", None),
            // Two lengths are possible.
            ("CR", "100", None),
            ("TW", "10", None),
            ("IL", "1234", None),
            // No code begins with a zero.
            ("AT", "101", None),
            ("SE", "1145", None),
            // No figures, no length, no pattern.
            ("GB", "1234", None),
            ("NL", "123", None),
            ("AE", "123", None),
            ("US", "4999.5", None),
            ("US", "499 9", None),
            ("US", "-4999", None),
            ("US", "", None),
        ] {
            assert_eq!(with_lost_zeros(country(of), written).as_deref(), meant, "{of} {written}");
        }
    }

    #[test]
    fn letters_taken_for_figures_are_put_right_where_one_code_can_be_meant() {
        for (of, written, meant) in [
            ("US", "9709O", Some("97090")),
            ("US", "o4999", Some("04999")),
            ("US", "97l01", Some("97101")),
            ("CA", "K1A OB1", Some("K1A 0B1")),
            ("CA", "KIA 0BI", Some("K1A 0B1")),
            ("DE", "2613I", Some("26131")),
            ("NL", "l234 AB", Some("1234 AB")),
            // As it stands; not by these letters; several.
            ("US", "97090", None),
            ("US", "970S9", None),
            ("US", "O", None),
            ("AE", "O1", None),
            ("NL", "1234 1A", None),
            ("US", "OOOOOOOOOO", None),
        ] {
            assert_eq!(misread(country(of), written).as_deref(), meant, "{of} {written}");
        }
    }

    proptest::proptest! {
        /// Whatever is restored is a code, ends with the figures that stood there, and needs no restoring again.
        #[test]
        fn what_is_restored_fits(number in 1_u32..10_000_000, place in 0_usize..240) {
            if let Some((country, _)) = all().nth(place) {
                let written = number.to_string();
                if let Some(code) = with_lost_zeros(country, &written) {
                    proptest::prop_assert_eq!(fits(country, &code), Fit::Yes);
                    proptest::prop_assert!(code.replace('-', "").ends_with(&written) && code.starts_with('0'));
                    proptest::prop_assert_eq!(with_lost_zeros(country, &code), None);
                }
            }
        }

        #[test]
        fn no_text_panics(text in ".{0,12}", place in 0_usize..240) {
            if let Some((country, _)) = all().nth(place) {
                let _fit = fits(country, &text);
                let _zeros = with_lost_zeros(country, &text);
            }
        }
    }
}
