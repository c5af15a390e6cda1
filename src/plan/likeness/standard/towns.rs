//! Towns, folded for comparison.
//!
//! Handed a town's words; promises one form for the spellings that people mix. Turned down: a list of all towns.

use super::regions;

/// English and other names of towns that are written in two languages on mail from abroad (from memory).
const NAMES: [(&str, &str, &str); 41] = [
    ("AT", "VIENNA", "WIEN"),
    ("BE", "ANTWERP", "ANTWERPEN"),
    ("BE", "ANVERS", "ANTWERPEN"),
    ("BE", "BRUSSEL", "BRUXELLES"),
    ("BE", "BRUSSELS", "BRUXELLES"),
    ("BE", "GAND", "GENT"),
    ("BE", "GHENT", "GENT"),
    ("BE", "LUIK", "LIEGE"),
    ("CH", "GENEVA", "GENEVE"),
    ("CH", "GENF", "GENEVE"),
    ("CZ", "PRAGUE", "PRAHA"),
    ("DE", "COLOGNE", "KOLN"),
    ("DE", "MUNICH", "MUNCHEN"),
    ("DE", "NUREMBERG", "NURNBERG"),
    ("DE", "HANOVER", "HANNOVER"),
    ("DK", "COPENHAGEN", "KOBENHAVN"),
    ("ES", "SEVILLE", "SEVILLA"),
    ("FI", "HELSINGFORS", "HELSINKI"),
    ("GR", "ATHENS", "ATHINA"),
    ("IT", "FLORENCE", "FIRENZE"),
    ("IT", "GENOA", "GENOVA"),
    ("IT", "MILAN", "MILANO"),
    ("IT", "NAPLES", "NAPOLI"),
    ("IT", "ROME", "ROMA"),
    ("IT", "TURIN", "TORINO"),
    ("IT", "VENICE", "VENEZIA"),
    ("NL", "S GRAVENHAGE", "DEN HAAG"),
    ("NL", "SGRAVENHAGE", "DEN HAAG"),
    ("NL", "THE HAGUE", "DEN HAAG"),
    ("PL", "CRACOW", "KRAKOW"),
    ("PL", "WARSAW", "WARSZAWA"),
    ("PT", "LISBON", "LISBOA"),
    ("RO", "BUCHAREST", "BUCURESTI"),
    ("SE", "GOTHENBURG", "GOTEBORG"),
    // In the letters that the town's own become.
    ("RS", "BELGRADE", "BEOGRAD"),
    ("RU", "MOSCOW", "MOSKVA"),
    ("RU", "ST PETERSBURG", "SANKT PETERBURG"),
    ("UA", "ODESSA", "ODESA"),
    ("UA", "LVOV", "LVIV"),
    ("UA", "HARKOV", "HARKIV"),
    ("UA", "KEV", "KIV"),
];

/// Takes the region off the end of a town that has it in its field ("Gullhaven, OR", "Nebelport ON"), where the region's
/// own is empty; "" where there is none.
pub(super) fn region_behind(country: &str, city: &mut Vec<String>, postal: &str) -> String {
    if country == "JP" {
        return city.first_mut().and_then(prefecture_ahead).unwrap_or_default();
    }
    if !["US", "CA", "AU"].contains(&country) {
        return String::new();
    }
    // "Gullhaven OR 97099".
    while city.len() > 1 && city.last().is_some_and(|last| super::units::starts_with_digit(last)) {
        city.pop();
    }
    (1..city.len())
        .find_map(|start| {
            let name = city.get(start..)?.join(" ");
            let code = regions::code(country, &name)?;
            // "Port Washington" is a town: the name counts where the ZIP code bears it out, elsewhere only the code.
            let borne_out =
                if country == "US" { super::tables::states_of(postal).contains(code) } else { name == code };
            if !borne_out {
                return None;
            }
            city.truncate(start);
            Some(code.to_owned())
        })
        .unwrap_or_default()
}

/// Takes the prefecture off "東京都霧港市". Their names have three letters or four, and what is left is more than the word
/// for a town: "太宰府市" is one.
fn prefecture_ahead(town: &mut String) -> Option<String> {
    let end =
        town.char_indices().skip(2).take(2).find(|(_, c)| "都道府県".contains(*c)).map(|(at, c)| at + c.len_utf8())?;
    let (prefecture, rest) = town.split_at_checked(end).filter(|(_, rest)| rest.chars().count() > 1)?;
    let (prefecture, rest) = (prefecture.to_owned(), rest.to_owned());
    *town = rest;
    Some(prefecture)
}

/// The town in one form: Saint, Fort and Mount shortened (common practice, no source), a directional before the name
/// too in the US with the suffixes of its appendix C1, the postal code, the region and France's CEDEX beside it left out.
pub(super) fn standard(country: &str, mut words: Vec<String>, region: &str, postal: &str) -> String {
    // "Gullhaven OR 97099", "26133 Nebelhafen".
    let is_code = |word: &String| {
        let code: String = word.chars().filter(|c| c.is_alphanumeric()).collect();
        !postal.is_empty() && (code == *postal || country == "US" && code.len() == 9 && code.starts_with(postal))
    };
    if words.len() > 1 {
        words.pop_if(|last| is_code(last));
    }
    if words.len() > 1 && words.first().is_some_and(is_code) {
        words.remove(0);
    }
    // "Washington, D. C.", "Nebbia (RM)".
    let behind = (1..words.len()).find(|start| {
        let last = words.get(*start..).unwrap_or_default().join(" ");
        !region.is_empty() && regions::standard(country, &last) == region
    });
    if let Some(start) = behind {
        words.truncate(start);
    }
    // "東京都霧港市".
    if super::wide::writes(country)
        && let Some(first) = words.first_mut()
        && let Some(bare) = first.strip_prefix(region).filter(|bare| !bare.is_empty() && !region.is_empty())
    {
        *first = bare.to_owned();
    }
    if ["FR", "IE"].contains(&country) && words.len() > 1 {
        // "Paris 5e", "Dublin 2": the postal code says it too.
        words.pop_if(|last| super::units::starts_with_digit(last) && !postal.is_empty());
    }
    if let Some(cedex) = words.iter().position(|word| word == "CEDEX").filter(|place| *place > 0) {
        words.truncate(cedex);
    }
    let count = words.len();
    for (place, word) in words.iter_mut().enumerate() {
        let short = match word.as_str() {
            "SAINT" => "ST",
            "SAINTE" => "STE",
            "FORT" if country == "US" && place == 0 && count > 1 => "FT",
            "MOUNT" if country == "US" && place == 0 && count > 1 => "MT",
            _ if country == "US" && place == 0 && count > 1 => match super::us::direction(word) {
                Some(direction) => direction,
                None => continue,
            },
            // "Gull Heights", "Gull Hts".
            _ if country == "US" && place > 0 => match super::tables::SUFFIXES.get(word) {
                Some(suffix) => suffix.inside.as_str(),
                None => continue,
            },
            _ => continue,
        };
        short.clone_into(word);
    }
    let town = words.join(" ");
    match NAMES.iter().find(|(of, name, _)| *of == country && *name == town) {
        Some((_, _, own)) => (*own).to_owned(),
        None => town,
    }
}
