//! The tables of Publication 28 and of ZIP prefixes, as maps.
//!
//! Handed nothing: the CSV files beside this one are built in, each with its source at its head. Turned down: the
//! same rows written as Rust, which nobody could compare with the tables they come from.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::LazyLock;

use regex::Regex;

use super::fold;

/// Rows of a built-in table, as the given number of its first columns.
fn rows<const COLUMNS: usize>(text: &str) -> impl Iterator<Item = [String; COLUMNS]> {
    let reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let read: Vec<csv::StringRecord> = reader.into_records().filter_map(Result::ok).collect();
    read.into_iter().map(|row| std::array::from_fn(|column| row.get(column).unwrap_or_default().to_owned()))
}

/// A spelling of a street suffix (Publication 28, appendix C1).
pub(super) struct Suffix {
    /// The standard abbreviation.
    pub(super) standard: String,
    /// The form inside of a name: the standard abbreviation too, but where that would make one word of a singular
    /// and its plural ("Park St", "Parks St"), the word itself.
    pub(super) inside: String,
}

/// Suffixes by spelling, upper case.
pub(super) static SUFFIXES: LazyLock<HashMap<String, Suffix>> = LazyLock::new(|| {
    let mut suffixes = HashMap::new();
    let mut singular = BTreeSet::new();
    let rows: Vec<[String; 3]> = rows(include_str!("street_suffixes.csv")).collect();
    for [_, spelling, standard] in &rows {
        singular.insert((spelling.as_str(), standard.as_str()));
    }
    for [_, spelling, standard] in &rows {
        let is_plural = [1, 2].iter().any(|ending| {
            let (stem, end) = spelling.split_at(spelling.len().saturating_sub(*ending));
            ["S", "ES"].contains(&end) && singular.contains(&(stem, standard.as_str()))
        });
        let inside = if is_plural { spelling.clone() } else { standard.clone() };
        // MDW is listed for MEADOW and for MEADOWS: the first row holds.
        suffixes.entry(spelling.clone()).or_insert(Suffix { standard: standard.clone(), inside });
    }
    suffixes
});

/// A secondary unit designator (Publication 28, appendix C2).
#[derive(Clone)]
pub(super) struct Designator {
    /// The standard abbreviation.
    pub(super) standard: String,
    /// Whether it means nothing without a number behind it.
    pub(super) needs_value: bool,
}

/// Designators by name and by abbreviation.
pub(super) static DESIGNATORS: LazyLock<HashMap<String, Designator>> = LazyLock::new(|| {
    let mut designators = HashMap::new();
    for [name, standard, needs] in rows(include_str!("unit_designators.csv")) {
        let designator = Designator { standard: standard.clone(), needs_value: needs == "y" };
        designators.insert(name, designator.clone());
        designators.insert(standard, designator);
    }
    // Common practice, no source.
    if let Some(floor) = designators.get("FLOOR").cloned() {
        designators.insert("FLR".to_owned(), floor);
    }
    // The usual spelling; the table has HANGER (its own head names both).
    if let Some(hangar) = designators.get("HANGER").cloned() {
        designators.insert("HANGAR".to_owned(), hangar);
    }
    designators
});

/// Directionals (Publication 28, section 233): name and abbreviation to both.
pub(super) static DIRECTIONS: LazyLock<HashMap<String, (String, String)>> = LazyLock::new(|| {
    let mut directions = HashMap::new();
    for [name, short] in rows(include_str!("directionals.csv")) {
        directions.insert(name.clone(), (name.clone(), short.clone()));
        directions.insert(short.clone(), (name, short));
    }
    directions
});

/// How states were shortened before they had two letters (the Style Manual of the Government Publishing Office, chapter
/// 9, from memory), and what people write besides (common practice, no source). Folded; no state's code is another's.
const TRADITIONAL: [(&[&str], &str); 45] = [
    (&["ALA"], "AL"),
    (&["ALAS"], "AK"),
    (&["ARIZ"], "AZ"),
    (&["ARK"], "AR"),
    (&["CALIF", "CAL"], "CA"),
    (&["COLO"], "CO"),
    (&["CONN"], "CT"),
    (&["DEL"], "DE"),
    (&["WASHINGTON DC", "WASH DC", "DIST OF COLUMBIA"], "DC"),
    (&["FLA", "FLOR"], "FL"),
    (&["ILL", "ILLS"], "IL"),
    (&["IND"], "IN"),
    (&["KANS", "KAN"], "KS"),
    (&["KEN"], "KY"),
    (&["MASS"], "MA"),
    (&["MICH"], "MI"),
    (&["MINN"], "MN"),
    (&["MISS"], "MS"),
    (&["MONT"], "MT"),
    (&["NEBR", "NEB"], "NE"),
    (&["NEV"], "NV"),
    (&["N HAMPSHIRE", "NEW HAMP"], "NH"),
    (&["N JERSEY"], "NJ"),
    (&["N MEX", "NEW MEX", "N MEXICO"], "NM"),
    (&["N YORK"], "NY"),
    (&["N CAR", "N CAROLINA", "NO CAROLINA"], "NC"),
    (&["N DAK", "N DAKOTA", "NO DAKOTA"], "ND"),
    (&["OKLA"], "OK"),
    (&["ORE", "OREG"], "OR"),
    (&["PENN", "PENNA"], "PA"),
    (&["R ISLAND", "RHODE ISL"], "RI"),
    (&["S CAR", "S CAROLINA", "SO CAROLINA"], "SC"),
    (&["S DAK", "S DAKOTA", "SO DAKOTA"], "SD"),
    (&["TENN"], "TN"),
    (&["TEX"], "TX"),
    (&["WASH"], "WA"),
    (&["W VA", "W VIRGINIA", "WEST VA"], "WV"),
    (&["WIS", "WISC"], "WI"),
    (&["WYO"], "WY"),
    (&["IDA"], "ID"),
    (&["GEO"], "GA"),
    (&["HAW"], "HI"),
    (&["P RICO"], "PR"),
    (&["V ISLANDS", "VIRGIN IS", "US VIRGIN IS"], "VI"),
    (&["N MARIANA ISLANDS", "NORTHERN MARIANAS", "CNMI"], "MP"),
];

/// State, territory and military codes by code and by folded name.
pub(super) static STATES: LazyLock<HashMap<String, String>> = LazyLock::new(|| {
    let mut states = HashMap::new();
    for [code, name] in rows(include_str!("states.csv")) {
        states.insert(fold::words(&name.to_uppercase()).join(" "), code.clone());
        states.insert(code.clone(), code);
    }
    // Other names of some (Publication 28, appendix B, from memory).
    for (name, code) in [
        ("ARMED FORCES AMERICAS", "AA"),
        ("ARMED FORCES EUROPE", "AE"),
        ("ARMED FORCES MIDDLE EAST", "AE"),
        ("ARMED FORCES AFRICA", "AE"),
        ("ARMED FORCES CANADA", "AE"),
        ("ARMED FORCES PACIFIC", "AP"),
        ("FEDERATED STATES OF MICRONESIA", "FM"),
        ("US VIRGIN ISLANDS", "VI"),
        ("COMMONWEALTH OF PUERTO RICO", "PR"),
    ] {
        states.insert(name.to_owned(), code.to_owned());
    }
    for (names, code) in TRADITIONAL {
        states.extend(names.iter().map(|name| ((*name).to_owned(), code.to_owned())));
    }
    states
});

/// States by the first three digits of their ZIP codes; a few prefixes serve several.
static PREFIXES: LazyLock<BTreeMap<String, BTreeSet<String>>> = LazyLock::new(|| {
    rows(include_str!("zip3_state.csv"))
        .map(|[prefix, state, counts]| {
            let counted = counts.split('|').filter_map(|count| count.split_once(':')).map(|(code, _)| code.to_owned());
            (prefix, counted.chain([state.clone()]).collect())
        })
        .collect()
});

/// States by pattern, for prefixes that no ZIP code of the first table has.
static PATTERNS: LazyLock<Vec<(String, Regex)>> = LazyLock::new(|| {
    rows(include_str!("states.csv"))
        .filter_map(|[code, _, pattern]| Some((code, Regex::new(&format!("^(?:{pattern})")).ok()?)))
        .collect()
});

/// The states that a ZIP code of five digits may lie in, by code; none where neither table has its prefix.
pub(super) fn states_of(zip: &str) -> BTreeSet<String> {
    match zip.get(..3).and_then(|prefix| PREFIXES.get(prefix)) {
        Some(states) => states.clone(),
        None => PATTERNS.iter().filter(|(_, ours)| ours.is_match(zip)).map(|(code, _)| code.clone()).collect(),
    }
}

/// All spellings of a suffix, by its standard form.
pub(super) fn spellings_of(standard: &str) -> impl Iterator<Item = &'static str> {
    SUFFIXES.iter().filter(move |(_, suffix)| suffix.standard == standard).map(|(spelling, _)| spelling.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_tables_are_read_to_their_last_row() {
        // Counts stated by the sources of the tables; one suffix spelling, MDW, stands twice or more.
        assert_eq!(rows::<3>(include_str!("street_suffixes.csv")).count(), 554);
        assert_eq!(rows::<3>(include_str!("unit_designators.csv")).count(), 24);
        assert_eq!(DIRECTIONS.len(), 16);
        assert_eq!(PATTERNS.len(), 62);
        assert_eq!(PREFIXES.len(), 933);
        for table in [include_str!("street_suffixes.csv"), include_str!("zip3_state.csv")] {
            assert!(rows::<2>(table).all(|row| row.iter().all(|cell| !cell.is_empty())));
        }
    }

    #[test]
    fn a_plural_inside_of_a_name_stays_one() {
        let inside = |word: &str| SUFFIXES[word].inside.clone();
        assert_eq!(inside("PARKS"), "PARKS");
        assert_eq!(inside("PARK"), "PARK");
        assert_eq!(inside("FORESTS"), "FORESTS");
        assert_eq!(inside("AVENUE"), "AVE");
        assert_eq!(inside("HOLLOWS"), "HOLLOWS");
        assert_eq!(SUFFIXES["PARKS"].standard, "PARK");
    }

    #[test]
    fn prefixes_that_serve_two_states_name_both_and_rare_ones_are_found_by_pattern() {
        assert_eq!(states_of("97099").into_iter().collect::<Vec<_>>(), ["OR"]);
        assert!(states_of("06390").contains("NY") && states_of("06390").contains("CT"));
        // 213 has no ZIP code in the first table; the pattern of Maryland takes it.
        assert_eq!(states_of("21399").into_iter().collect::<Vec<_>>(), ["MD"]);
        assert!(states_of("00000").is_empty());
    }
}
