//! Towns, folded for comparison.
//!
//! Handed a town's words; promises one form for the spellings that people mix. Turned down: a list of all towns.

/// English and other names of towns that are written in two languages on mail from abroad (from memory).
const NAMES: [(&str, &str, &str); 34] = [
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
];

/// The town in one form: Saint, Fort and Mount shortened (common practice, no source), a directional before the name
/// too in the US, the region's code and France's CEDEX behind it left out.
pub(super) fn standard(country: &str, mut words: Vec<String>, region: &str) -> String {
    if country == "US" && words.len() > 1 {
        // "Washington, D.C."
        words.pop_if(|last| !region.is_empty() && last == region);
    }
    if country == "FR" && words.len() > 1 {
        // "Paris 5e": the postal code says it too.
        words.pop_if(|last| super::units::starts_with_digit(last));
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
