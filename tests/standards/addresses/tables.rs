//! Every row of the tables: suffixes, designators, directionals, states and ZIP prefixes.

use std::collections::BTreeSet;

use dawnpack::plan::likeness::standard::check;

use super::super::data::table;
use super::{read, tern, to};

#[test]
fn every_spelling_of_a_street_suffix_becomes_the_standard_one() {
    let rows = table("street_suffixes.csv");
    assert_eq!(rows.len(), 554);
    let listed_twice = ["MDW", "PARK", "PKWY", "SPUR", "WALK"];
    for row in &rows {
        let (variant, suffix) = (&row["variant"], &row["standard"]);
        // One spelling of MEADOW is listed for MEADOWS too; of the others both rows have one standard.
        if variant == "MDW" && suffix == "MDWS" {
            continue;
        }
        let lower = variant.to_lowercase();
        let shapes =
            [format!("88 Gannet {variant}"), format!("88 gannet {lower}."), format!("88 N Gannet {variant} SW")];
        assert_eq!(tern(&shapes[0]).street, ["GANNET", suffix], "{variant}");
        assert_eq!(tern(&shapes[1]).street, ["GANNET", suffix], "{variant}");
        assert_eq!(tern(&shapes[2]).street, ["N", "GANNET", suffix, "SW"], "{variant}");
        assert_eq!(tern(&shapes[0]).number, "88", "{variant}");
        assert_eq!(tern(&shapes[0]).unit, None, "{variant}");
    }
    let mut spellings = BTreeSet::new();
    let twice: BTreeSet<&str> =
        rows.iter().map(|row| row["variant"].as_str()).filter(|variant| !spellings.insert(*variant)).collect();
    assert!(twice.iter().all(|variant| listed_twice.contains(variant)), "{twice:?}");
}

#[test]
fn every_unit_designator_becomes_the_standard_one() {
    let rows = table("unit_designators.csv");
    assert_eq!(rows.len(), 24);
    for row in rows {
        let standing = &row["abbreviation"];
        for word in [&row["name"], standing, &row["name"].to_lowercase(), &format!("{standing}.")] {
            let valued = Some(format!("{standing} 4B"));
            for line in [
                format!("88 Gannet St {word} 4B"),
                format!("88 Gannet St, {word} 4-B"),
                format!("88 Gannet St~{word} 4B"),
                format!("{word} 4B~88 Gannet St"),
                format!("88 Gannet St {word} #4B"),
                format!("88 Gannet St {word} No. 4 B"),
            ] {
                let place = tern(&line);
                assert_eq!(place.unit, valued, "{line}");
                assert_eq!((place.number.as_str(), place.street.join(" ").as_str()), ("88", "GANNET ST"), "{line}");
            }
            if row["needs_number"] == "n" {
                for line in [format!("88 Gannet St {word}"), format!("88 Gannet St~{word}")] {
                    let place = tern(&line);
                    assert_eq!(place.unit.as_ref(), Some(standing), "{line}");
                    assert_eq!(place.street, ["GANNET", "ST"], "{line}");
                }
            }
        }
    }
}

#[test]
fn every_directional_is_shortened_around_the_name_and_spelled_inside_of_it() {
    let rows = table("directionals.csv");
    assert_eq!(rows.len(), 8);
    for row in rows {
        let (name, short) = (&row["name"], &row["abbreviation"]);
        for word in [name, short, &name.to_lowercase(), &format!("{short}.")] {
            assert_eq!(tern(&format!("88 {word} Gannet St")).street, [short, "GANNET", "ST"], "{word}");
            assert_eq!(tern(&format!("88 Gannet St {word}")).street, ["GANNET", "ST", short], "{word}");
            assert_eq!(tern(&format!("88 Gannet {word} St")).street, ["GANNET", name, "ST"], "{word}");
        }
        // A street that is called so stays as it is written: a town may have "North St" and "N St".
        assert_eq!(tern(&format!("88 {name} St")).street, [name, "ST"]);
        assert_eq!(tern(&format!("88 {short} St")).street, [short, "ST"]);
    }
}

#[test]
fn every_state_is_read_by_its_name_and_by_its_code() {
    let rows = table("states.csv");
    assert_eq!(rows.len(), 62);
    for row in rows {
        let (code, name) = (&row["code"], &row["name"]);
        for region in [code, name, &name.to_uppercase(), &code.to_lowercase()] {
            assert_eq!(read(&format!("US|88 Tern St|Gullhaven|{region}|97099")).region, *code, "{region}");
        }
    }
}

#[test]
fn every_zip_prefix_lies_in_its_states_and_in_no_other() {
    let rows = table("zip3_state.csv");
    assert_eq!(rows.len(), 933);
    let codes: Vec<String> = table("states.csv").into_iter().map(|row| row["code"].clone()).collect();
    for row in rows {
        let (prefix, state) = (&row["zip3"], &row["state"]);
        let served: BTreeSet<&str> =
            row["zip5_counts"].split('|').map(|count| count.split_once(':').unwrap().0).collect();
        assert!(served.contains(state.as_str()), "{prefix}");
        let zip = format!("{prefix}07");
        for code in &codes {
            let said = check(&to(&format!("US|88 Tern St|Gullhaven|{code}|{zip}")));
            if served.contains(code.as_str()) {
                assert_eq!(said, Ok(()), "{zip} {code}");
            } else {
                let listed: Vec<&str> = served.iter().copied().collect();
                let text = format!("postal code `{zip}` belongs to {}, not to {code}", listed.join(" or "));
                assert_eq!(said.unwrap_err().text, text);
            }
        }
    }
}
