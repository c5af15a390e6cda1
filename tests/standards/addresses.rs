//! Addresses in standard form against Publication 28's tables, ZIP prefixes, and pairs written by hand.
//!
//! Sources: `data/street_suffixes.csv`, `data/unit_designators.csv`, `data/directionals.csv` (USPS Publication 28,
//! appendices C1 and C2 and section 233), `data/states.csv` and `data/zip3_state.csv`, each with its own at its head.
//! The pairs follow sections of Publication 28 named beside them, from memory; those outside of the US are common
//! practice, no source. All places are invented, and a postal code only has the shape of one.

use std::collections::BTreeSet;

use dawnpack::model::address::Country;
use dawnpack::model::recipient::Recipient;
use dawnpack::plan::likeness::standard::{Agreement, Standard, check, standard};
use proptest::prelude::*;

use super::data::table;

/// "US|88 Tern Street~Apt 4|Gullhaven|OR|97099": country, lines, town, region, postal code.
fn to(text: &str) -> Recipient {
    let mut fields = text.split('|').map(str::trim);
    let mut next = || fields.next().unwrap_or_default().to_owned();
    let country: Option<Country> = next().parse().ok();
    assert!(country.is_some(), "{text}");
    Recipient {
        name: "Ines Okonjo".into(),
        company: None,
        lines: next().split('~').map(|line| line.trim().to_owned()).collect(),
        city: next(),
        region: next(),
        postal_code: next(),
        country,
        country_as_written: None,
        email: None,
    }
}

fn read(text: &str) -> Standard {
    standard(&to(text))
}

fn tern(street: &str) -> Standard {
    read(&format!("US|{street}|Gullhaven|OR|97099"))
}

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

/// Every code that libaddressinput gives as a sample of its country makes a lawful address there.
#[test]
fn no_sample_of_a_postal_code_is_doubted() {
    let mut count = 0;
    for row in table("postal_code_patterns.csv") {
        let Ok(country) = row["country"].parse::<Country>() else { continue };
        // US territories: their ZIP codes are checked against the territory, which the samples hold to as well.
        for sample in row["samples"].split('|').filter(|sample| !sample.is_empty()) {
            let region = if country.code() == "US" { ["CA", "VA"][usize::from(sample.starts_with('2'))] } else { "" };
            let text = format!("{country}|88 Tern Street|Nebelhafen|{region}|{sample}");
            assert_eq!(check(&to(&text)), Ok(()), "{text}");
            let compact: String = sample.chars().filter(|c| c.is_alphanumeric()).collect();
            let place = read(&text);
            let whole = format!("{}{}", place.postal, place.postal_plus.unwrap_or_default());
            assert!(whole == compact || compact.ends_with(&whole) && country.code() == "LV", "{text}: {whole}");
            count += 1;
        }
    }
    assert!(count > 340, "{count}");
}

/// Countries that have no postal codes, or don't ask for one.
#[test]
fn an_address_lacks_nothing_that_its_country_does_not_ask_for() {
    for text in [
        "HK|Flat 12B, 3/F, Tern Mansion, 88 Gull Road|Fogport|Kowloon|",
        "HK|88 Gull Road||Kowloon|",
        "IE|Rose Cottage~Tern Lane|Fogport|Co. Kerry|",
        "IE|88 Tern Street|Fogport||D02 X285",
        "AE|Villa 88, Tern Street||Fogport|",
        "SG|88 Tern Road #12-04|||546080",
        "GB|Rose Cottage, Tern Lane|Fogport||M2 5BQ",
        "GB|Rose Cottage|Fogport||m25bq",
        "LV|Tern iela 8-4|Fogport||1073",
        "US|General Delivery|Gullhaven|OR|97099",
        "US|PO Box 5|Gullhaven|Oregon|97099-1234",
        "US|88 Tern St|Gullhaven|OR|970991234",
        "US|PSC 3 Box 120|APO|AE|09021",
        "PR|URB Las Gaviotas~88 Calle A|Fogport||00930",
        "US|88 Calle A|Fogport|PR|00930",
        "GU|88 Tern St|Fogport||96910",
        "QA|PO Box 88|Fogport||",
        "JM|Lot 8, Tern Avenue|Fogport|Kingston|",
    ] {
        assert_eq!(check(&to(text)), Ok(()), "{text}");
    }
    let nameless =
        Recipient { name: String::new(), company: Some("Gull Club".into()), ..to("US|88 Tern St|G|OR|97099") };
    assert_eq!(check(&nameless), Ok(()));
}

#[test]
fn what_cannot_be_right_is_said_precisely_and_mended_where_one_thing_can_be_meant() {
    for (text, said, proposal) in [
        ("US|88 Tern St|G|NJ|0812", "postal code `0812` is too short for US; a leading zero may be lost", None),
        (
            "US|88 Tern St|G|ME|4999",
            "postal code `4999` is too short for US; a leading zero may be lost",
            Some("04999"),
        ),
        (
            "US|88 Tern St|G|Maine|4999-1234",
            "postal code `4999-1234` is too short for US; a leading zero may be lost",
            Some("04999-1234"),
        ),
        (
            "US|88 Tern St|G|ME|49991234",
            "postal code `49991234` is too short for US; a leading zero may be lost",
            Some("04999-1234"),
        ),
        ("US|88 Tern St|G||4999", "postal code `4999` is too short for US; a leading zero may be lost", Some("04999")),
        ("US|88 Tern St|G|OR|4999", "postal code `4999` is too short for US; a leading zero may be lost", None),
        ("US|88 Tern St|G|OR|970", "postal code `970` is too short for US; a leading zero may be lost", None),
        ("US|88 Tern St|G|OR|M2 5BQ", "postal code `M2 5BQ` is not a US ZIP code of five or nine digits", None),
        ("US|88 Tern St|G|OR|970999", "postal code `970999` is not a US ZIP code of five or nine digits", None),
        ("US|88 Tern St|G|ME|97099", "postal code `97099` belongs to OR, not to ME", None),
        ("PR|88 Calle A|G||97099", "postal code `97099` belongs to OR, not to PR", None),
        ("US|PSC 3 Box 120|APO|NY|09021", "postal code `09021` belongs to AE, not to NY", None),
        ("US|88 Tern St|G|OR|00000", "postal code `00000` belongs to no state of the US", None),
        ("US|88 Tern St|G||97099", "no state is given; postal code `97099` belongs to OR", Some("OR")),
        (
            "US|88 Tern St|G|Bavaria|97099",
            "state `Bavaria` is not one of the US; write its two-letter code",
            Some("OR"),
        ),
        ("US|88 Tern St|G|OR|", "no ZIP code is given", None),
        ("US||G|OR|97099", "no street is given", None),
        ("US|--|G|OR|97099", "no street is given", None),
        ("US|88 Tern St||OR|97099", "no town is given", None),
        (
            "DE|Ternstr. 8|Nebelhafen||1067",
            "postal code `1067` is too short for DE; a leading zero may be lost",
            Some("01067"),
        ),
        ("DE|Ternstr. 8|Nebelhafen||", "no postal code is given", None),
        ("DE|Ternstr. 8|Nebelhafen||261335", "postal code `261335` is not one of DE; they look like `26133`", None),
        ("NL|Ternstraat 8|Nebelhafen||1234", "postal code `1234` is not one of NL; they look like `1234 AB`", None),
    ] {
        let doubt = check(&to(text)).unwrap_err();
        assert_eq!((doubt.text.as_str(), doubt.proposal.as_deref()), (said, proposal), "{text}");
    }
    let unread = Recipient { country: None, country_as_written: Some("Atlantis".into()), ..to("US|8|G|OR|97099") };
    let said = "country `Atlantis` is not one that could be read; write its two-letter code";
    assert_eq!(check(&unread).unwrap_err().text, said);
    let nobody = Recipient { name: " - ".into(), ..to("US|88 Tern St|G|OR|97099") };
    assert_eq!(check(&nobody).unwrap_err().text, "no name is given");
}

/// Two lawful ways of writing one place.
const SAME: &[(&str, &str)] = &[
    // Publication 28, sections 211 to 233: case, punctuation, suffixes, directionals.
    ("US|88 Tern Street|Gullhaven|OR|97099", "US|88 TERN ST|GULLHAVEN|Oregon|97099-1234"),
    ("US|88 Tern Street Apt 4|Gullhaven|OR|97099", "US|88 Tern St.~Apt. 4|Gullhaven|OR|97099"),
    ("US|88 Tern Street Apt 4|Gullhaven|OR|97099", "US|88 Tern St #4|Gullhaven|OR|97099"),
    ("US|88 Tern Street Apt 4|Gullhaven|OR|97099", "US|Apt 4, 88 Tern St|Gullhaven|OR|97099"),
    ("US|88 Tern Street Apt 4|Gullhaven|OR|97099", "US|88 Tern Street, Apartment Number 4|Gullhaven|OR|97099"),
    ("US|88 Tern Street Apt 4|Gullhaven|OR|97099", "US|88 Tern Street 4|Gullhaven|OR|97099"),
    ("US|88 Tern St Apt 4B|Gullhaven|OR|97099", "US|88 Tern St~4-B|Gullhaven|OR|97099"),
    ("US|88 Tern St Bldg C Apt 4|Gullhaven|OR|97099", "US|88 Tern St~Apartment 4, Building C|Gullhaven|OR|97099"),
    ("US|88 Tern St Floor 2|Gullhaven|OR|97099", "US|88 Tern St, 2nd Fl|Gullhaven|OR|97099"),
    ("US|88 Tern St Rear|Gullhaven|OR|97099", "US|88 Tern Street~REAR|Gullhaven|OR|97099"),
    ("US|88 Tern Ave Ste 100|Gullhaven|OR|97099", "US|88 Tern Avenue, Suite #100|Gullhaven|OR|97099"),
    ("US|88 North Tern Boulevard|Gullhaven|OR|97099", "US|88 N. Tern Blvd|Gullhaven|OR|97099"),
    ("US|88 Tern Drive Southwest|Gullhaven|OR|97099", "US|88 Tern Dr S.W.|Gullhaven|OR|97099"),
    ("US|88 Tern Drive South West|Gullhaven|OR|97099", "US|88 Tern Dr SW|Gullhaven|OR|97099"),
    ("US|88 Bay West Drive|Gullhaven|OR|97099", "US|88 Bay W Dr|Gullhaven|OR|97099"),
    ("US|88 North Avenue West|Gullhaven|OR|97099", "US|88 NORTH AVE W|Gullhaven|OR|97099"),
    ("US|88 Saint Clair Avenue|Saint Gull|OR|97099", "US|88 St. Clair Ave|St Gull|OR|97099"),
    ("US|88 Mount Tern Road|Fort Gull|OR|97099", "US|88 Mt Tern Rd|Ft. Gull|OR|97099"),
    ("US|88 Tern Avenue Drive|Gullhaven|OR|97099", "US|88 Tern Ave Dr|Gullhaven|OR|97099"),
    ("US|88 Avenue of the Gulls|Gullhaven|OR|97099", "US|88 Ave. of the Gulls|Gullhaven|OR|97099"),
    ("US|88 1/2 O'Tern Lane|Gullhaven|OR|97099", "US|88 1/2 OTern Ln|Gullhaven|OR|97099"),
    ("US|88-A Tern-Gull Court|Gullhaven|OR|97099", "US|88A Tern Gull Ct|Gullhaven|OR|97099"),
    ("US|Gull Club~88 Tern St|Gullhaven|OR|97099", "US|88 Tern St|Gullhaven|OR|97099"),
    ("US|c/o Ben Auk~88 Tern St|Gullhaven|OR|97099", "US|88 Tern St~C/O BEN AUK|Gullhaven|OR|97099"),
    ("US|Ines Okonjo~88 Tern St|Gullhaven|OR|97099", "US|88 Tern St~Gullhaven, OR 97099|Gullhaven|OR|97099"),
    ("US|88 Tern St Apt 2 Rear|Gullhaven|OR|97099", "US|88 Tern St, Apt 2, Rear|Gullhaven|OR|97099"),
    ("US|88 Tern St Lower Unit|Gullhaven|OR|97099", "US|88 Tern St Lowr|Gullhaven|OR|97099"),
    ("US|88 Apt 4 Tern St|Gullhaven|OR|97099", "US|88 Tern St - Apt 4|Gullhaven|OR|97099"),
    ("US|88 Dr. Ben Auk, Jr. Boulevard|Gullhaven|OR|97099", "US|88 Dr Ben Auk Jr Blvd|Gullhaven|OR|97099"),
    ("US|88 West 42nd Street|Gullhaven|OR|97099", "US|88 W 42 St|Gullhaven|OR|97099"),
    ("US|88 E St NE|Gullhaven|OR|97099", "US|88 E Street Northeast|Gullhaven, OR||97099"),
    ("US|Ines Okonjo c/o Ben Auk~88 Tern St|Gullhaven|OR|97099", "US|% Ben Auk, 88 Tern St|Gullhaven|OR|97099"),
    ("US|88 Tern St, Gullhaven, Oregon 97099, USA|Gullhaven|OR|97099", "US|88 Tern St|Gullhaven|OR|97099"),
    // Numbered roads.
    ("US|88 County Road 441|Gullhaven|OR|97099", "US|88 CR 441|Gullhaven|OR|97099"),
    ("US|88 US Highway 41|Gullhaven|OR|97099", "US|88 U.S. 41|Gullhaven|OR|97099"),
    ("US|88 State Route 5|Gullhaven|OR|97099", "US|88 SR 5|Gullhaven|OR|97099"),
    ("US|88 I-10|Gullhaven|OR|97099", "US|88 Interstate Hwy 10|Gullhaven|OR|97099"),
    ("US|88 Farm to Market Road 187|Gullhaven|OR|97099", "US|88 FM 187|Gullhaven|OR|97099"),
    // Boxes, routes, military and territory addresses.
    ("US|P.O. Box 512|Gullhaven|OR|97099", "US|Post Office Box 512|Gullhaven|OR|97099"),
    ("US|PO Box 512|Gullhaven|OR|97099", "US|POB #512|Gullhaven|OR|97099"),
    ("US|PO Box 512|Gullhaven|OR|97099", "US|Box 512|Gullhaven|OR|97099"),
    ("US|PO Box G|Gullhaven|OR|97099", "US|P. O. Drawer G|Gullhaven|OR|97099"),
    ("US|RR 2 Box 152|Gullhaven|OR|97099", "US|Rural Route 2, Box #152|Gullhaven|OR|97099"),
    ("US|RR 2 Box 152|Gullhaven|OR|97099", "US|R.F.D. 02~Box 152|Gullhaven|OR|97099"),
    ("US|HC 68 Box 23A|Gullhaven|OR|97099", "US|Highway Contract Route 68 Box 23-A|Gullhaven|OR|97099"),
    ("US|PSC 3 Box 4120|APO|AE|09021", "US|PSC 3, BOX 4120|A.P.O.|Armed Forces Europe|09021-0001"),
    ("US|Unit 2050 Box 4190|FPO|AP|96278", "US|UNIT 2050~BOX 4190|FPO|ap|96278"),
    ("US|RR2 Box 5|Gullhaven|OR|97099", "US|Box 5 RR 2|Gullhaven|OR|97099"),
    ("PR|Calle 4 #88 Urb. Las Gaviotas|Fogport||00930", "PR|URB Las Gaviotas~88 Calle 4|Fogport||00930"),
    ("PR|88 Calle Aurora|Fogport||00930", "US|88 Calle Aurora|Fogport|Puerto Rico|00930"),
    ("GU|88 Tern Road|Fogport||96910", "US|88 Tern Rd|Fogport|GU|96910"),
    // English-speaking countries.
    ("GB|Flat 4, 88 Tern Street|Fogport||M2 5BQ", "GB|88 Tern St~Flat 4|Fogport|Fogshire|m25bq"),
    ("GB|Rose Cottage~Tern Lane|Fogport||M2 5BQ", "GB|ROSE COTTAGE, TERN LN.|FOGPORT||M2 5BQ"),
    ("GB|12 - 14 Tern Close|Fogport||M2 5BQ", "GB|12–14 Tern Cl|Fogport||M2 5BQ"),
    ("AU|4/88 Tern Parade|Fogport|NSW|2060", "AU|Unit 4, 88 Tern Pde|FOGPORT|New South Wales|2060"),
    ("CA|88 Tern Street West|Fogport|Ontario|K1A 0B1", "CA|88 Tern St W|Fogport|ON|K1A0B1"),
    ("CA|88, rue des Sternes|Fogport|Québec|H3Z 2Y7", "CA|88 Rue des Sternes|Fogport|QC|h3z2y7"),
    (
        "HK|Room 5, 3/F, Tern Mansion, 88 Gull Road|Fogport|Kowloon|",
        "HK|Rm 5, Floor 3~Tern Mansion~88 Gull Rd|Fogport|Kowloon|",
    ),
    ("GB|Flat 4 Tern House~88 Gull Road|Fogport||M2 5BQ", "GB|Flat 4, Tern House, 88 Gull Rd|Fogport||M2 5BQ"),
    ("AU|Unit 4/88 Tern Street|Fogport|VIC|3171", "AU|U4/88 Tern St|Fogport|Vic.|3171"),
    ("CA|4-88 Tern Street|Fogport|ON|K1A 0B1", "CA|88 Tern St Unit 4|Fogport|ON|K1A 0B1"),
    (
        "CA|88 boul. des Sternes O, app. 4|Fogport|QC|H3Z 2Y7",
        "CA|88 Boulevard des Sternes Ouest Apt 4|Fogport|QC|H3Z2Y7",
    ),
    ("SG|Blk 88 Gull Street #12-04|||546080", "SG|88 Gull St #12-04|||546080"),
    // German and the northern languages.
    ("DE|Möwenstraße 12|Köln||53225", "DE|Moewenstr. 12|Cologne||D-53225"),
    ("DE|Möwenstraße 12a|Nebelhafen||26133", "DE|Mowen-Strasse 12 A|Nebelhafen||26133"),
    ("DE|Straße des 17. Juni 135|Nebelhafen||26133", "DE|Strasse des 17 Juni 135|NEBELHAFEN||26133"),
    ("DE|Möwenplatz 3|Nebelhafen|Bayern|26133", "DE|Möwenpl. 3|Nebelhafen||26133"),
    ("DE|Postfach 12 34 56|Nebelhafen||26133", "DE|POSTFACH 123456|Nebelhafen||26133"),
    ("DE|Möwenstr. 5, 2. OG links|Nebelhafen||26133", "DE|Möwenstraße 5~2 OG LINKS|Nebelhafen||26133"),
    ("AT|Möwengasse 12/5|Wien||1010", "AT|Möweng. 12 Top 5|Vienna||A-1010"),
    ("CH|12, rue des Mouettes|Genève||1211", "CH|Rue des Mouettes 12|Geneva||CH-1211"),
    ("NL|Meeuwstraat 88 A|'s-Gravenhage||2490 AA", "NL|Meeuwstr. 88a|Den Haag||2490aa"),
    ("BE|Meeuwstraat 12 bus 4|Brussel||1000", "BE|Meeuwstr. 12/4|Bruxelles||B-1000"),
    ("SE|Måsvägen 12 lgh 1201|Dimhamn||114 55", "SE|Masv. 12, lgh 1201|DIMHAMN||SE-11455"),
    ("DK|Mågevej 12, 1. sal th|Tågehavn||8660", "DK|Mågevej 12, 1. th.|Tågehavn||8660"),
    ("DK|Mågevej 12, 2. th|Tågehavn||8660", "DK|Maagevej 12 2 th.|Taagehavn||DK-8660"),
    ("NO|Måkegata 5 B|Tåkehavn||0025", "NO|MÅKEGATA 5B|Takehavn||0025"),
    ("FI|Lokkikatu 5 A 12|Helsinki||00550", "FI|Lokkikatu 5A12|Helsingfors||FI-00550"),
    // Romance languages.
    ("FR|12 bis, av. du Général Sterne|Brumeport||33380", "FR|12BIS AVENUE DU GAL STERNE|BRUMEPORT CEDEX 2||33 380"),
    ("FR|12 rue du 8 Mai 1945|Brumeport||33380", "FR|12, R. du 8 mai 1945|Brumeport||F-33380"),
    ("FR|12 rue de l'Église|Brumeport||33380", "FR|12 rue de l Eglise|Brumeport 5e||33380"),
    ("ES|Calle Gaviota, 12, piso 3, puerta 2|Nieblas||28039", "ES|C/Gaviota,12,3 2|Nieblas||28039"),
    ("ES|Avda. de la Gaviota, 12 bajo|Nieblas||28039", "ES|Avenida de la Gaviota 12 BAJO|Nieblas||28039"),
    ("MX|Calle Gaviota #12 Int. 4|Nieblas|CDMX|02860", "MX|C. Gaviota No. 12, interior 4, C.P. 02860|Nieblas||02860"),
    ("AR|Av. Gaviota 1234 piso 5 depto B|Nieblas||C1070AAM", "AR|Avda Gaviota 1234, 5º B|Nieblas||C1070AAM"),
    ("BR|Rua Gaivota, 123 - Apto 45|Nevoa|SP|40301-110", "BR|R. Gaivota 123 Apartamento 45|Nevoa|SP|40301110"),
    (
        "RO|Str. Albatros nr. 12, bl. A, sc. 2, ap. 5|Ceata||060274",
        "RO|Strada Albatros 12 Bl A Sc 2 Ap 5|Ceata||060274",
    ),
    ("ES|Calle de la Gaviota, 12, 3º B|Nieblas||28039", "ES|C/ de la Gaviota nº 12 3B|NIEBLAS||28039"),
    ("ES|Avda. Gaviota s/n|Nieblas||28039", "ES|Avenida Gaviota|Nieblas|Madrid|28039"),
    ("IT|Via Gabbiano, 12/A|Nebbia|MI|00144", "IT|V. Gabbiano 12a|NEBBIA||I-00144"),
    ("IT|Piazza Santa Sterna 3|Roma||00144", "IT|P.zza S. Sterna, 3|Rome|RM|00144"),
    ("PT|Rua da Gaivota, n.º 12|Névoa||2725-079", "PT|R. da Gaivota 12|Nevoa||2725 079"),
    ("BR|Avenida Gaivota, 1200, Apto 45|Névoa|SP|40301-110", "BR|Av. Gaivota 1200~Apartamento 45|Nevoa||40301110"),
    // Slavic and other languages.
    ("PL|ul. Mewia 88/4|Kraków||00-950", "PL|Mewia 88 m. 4|Cracow||00950"),
    ("CZ|Racčí nám. 123/4|Praha||100 00", "CZ|Racci náměstí 123/4|Prague||10000"),
    ("RU|ул. Чайки, д. 12, кв. 5|Туман||103375", "RU|улица Чайки 12 кв 5|ТУМАН||103375"),
    ("TR|Martı Cad. No: 12|Sisliman||06101", "TR|Marti Caddesi 12|Sisliman||06101"),
    ("HU|Sirály u. 12|Ködkikötő||1037", "HU|Sirály utca 12.|Kodkikoto||H-1037"),
    ("JP|カモメ町1丁目2番3号|霧港|東京都|154-0023", "JP|カモメ町１−２−３|霧港|東京都|〒154-0023"),
    (
        "JP|カモメ町1-2-3 カモメビル501号室|霧港|東京都|154-0023",
        "JP|カモメ町１丁目２−３~カモメビル５０１|霧港|東京都|1540023",
    ),
    ("CN|海鸥路88号5栋501室|雾港|上海|266033", "CN|海鸥路 88 号, 5 栋 501 室|雾港|上海|266033"),
    ("JP|1-2-3 Kamomecho|Kirimina|Tokyo|1540023", "JP|Kamomecho 1-chome 2-3|Kirimina|Tokyo|154-0023"),
];

/// Two places that differ in one part that matters.
const APART: &[(&str, &str)] = &[
    ("US|88 Tern St|Gullhaven|OR|97099", "US|89 Tern St|Gullhaven|OR|97099"),
    ("US|88 Tern St|Gullhaven|OR|97099", "US|88A Tern St|Gullhaven|OR|97099"),
    ("US|88 Tern St|Gullhaven|OR|97099", "US|88 1/2 Tern St|Gullhaven|OR|97099"),
    ("US|88 Tern St|Gullhaven|OR|97099", "US|88 Fern St|Gullhaven|OR|97099"),
    ("US|88 Tern St|Gullhaven|OR|97099", "US|88 Tern Ave|Gullhaven|OR|97099"),
    ("US|88 Tern St|Gullhaven|OR|97099", "US|88 N Tern St|Gullhaven|OR|97099"),
    ("US|88 N Tern St|Gullhaven|OR|97099", "US|88 S Tern St|Gullhaven|OR|97099"),
    ("US|88 N Tern St|Gullhaven|OR|97099", "US|88 Tern St N|Gullhaven|OR|97099"),
    ("US|88 NE Tern St|Gullhaven|OR|97099", "US|88 NW Tern St|Gullhaven|OR|97099"),
    ("US|88 N St|Gullhaven|OR|97099", "US|88 North St|Gullhaven|OR|97099"),
    ("US|88 Avenue N|Gullhaven|OR|97099", "US|88 Avenue S|Gullhaven|OR|97099"),
    ("US|88 5th Ave|Gullhaven|OR|97099", "US|88 Fifth Ave|Gullhaven|OR|97099"),
    ("US|88 5th Ave|Gullhaven|OR|97099", "US|88 6th Ave|Gullhaven|OR|97099"),
    ("US|88 5th St|Gullhaven|OR|97099", "US|885 St|Gullhaven|OR|97099"),
    ("US|88 Park St|Gullhaven|OR|97099", "US|88 Parks St|Gullhaven|OR|97099"),
    ("US|88 Tern Meadow|Gullhaven|OR|97099", "US|88 Tern Meadows|Gullhaven|OR|97099"),
    ("US|88 Tern Court Dr|Gullhaven|OR|97099", "US|88 Tern Dr|Gullhaven|OR|97099"),
    ("US|88 Tern St Apt 4|Gullhaven|OR|97099", "US|88 Tern St Apt 5|Gullhaven|OR|97099"),
    ("US|88 Tern St Apt 4|Gullhaven|OR|97099", "US|88 Tern St|Gullhaven|OR|97099"),
    ("US|88 Tern St Apt 4|Gullhaven|OR|97099", "US|88 Tern St Apt 4B|Gullhaven|OR|97099"),
    ("US|88 Tern St Apt 4-12|Gullhaven|OR|97099", "US|88 Tern St Apt 412|Gullhaven|OR|97099"),
    ("US|88 Tern St Apt 2|Gullhaven|OR|97099", "US|88 Tern St Fl 2|Gullhaven|OR|97099"),
    ("US|88 Tern St #4|Gullhaven|OR|97099", "US|88 Tern St #5|Gullhaven|OR|97099"),
    ("US|88 Tern St Rear|Gullhaven|OR|97099", "US|88 Tern St Front|Gullhaven|OR|97099"),
    ("US|88 Tern St Bldg A Apt 4|Gullhaven|OR|97099", "US|88 Tern St Bldg B Apt 4|Gullhaven|OR|97099"),
    ("US|88 Tern St|Gullhaven|OR|97099", "US|88 Tern St|Ternhaven|OR|97099"),
    ("US|88 Tern St|Gullhaven|OR|97099", "US|88 Tern St|Gullhaven|WA|97099"),
    ("US|88 Tern St|Gullhaven|OR|97099", "US|88 Tern St|Gullhaven|OR|97098"),
    ("US|PO Box 512|Gullhaven|OR|97099", "US|PO Box 513|Gullhaven|OR|97099"),
    ("US|PO Box 512|Gullhaven|OR|97099", "US|512 Box St|Gullhaven|OR|97099"),
    ("US|RR 2 Box 152|Gullhaven|OR|97099", "US|RR 3 Box 152|Gullhaven|OR|97099"),
    ("US|RR 2 Box 152|Gullhaven|OR|97099", "US|HC 2 Box 152|Gullhaven|OR|97099"),
    ("US|RR 2 Box 152|Gullhaven|OR|97099", "US|PO Box 152|Gullhaven|OR|97099"),
    ("US|PSC 3 Box 4120|APO|AE|09021", "US|PSC 3 Box 4121|APO|AE|09021"),
    ("US|PSC 3 Box 4120|APO|AE|09021", "US|PSC 3 Box 4120|FPO|AE|09021"),
    ("US|88 County Road 441|Gullhaven|OR|97099", "US|88 County Highway 441|Gullhaven|OR|97099"),
    ("US|88 Highway 4|Gullhaven|OR|97099", "US|88 Highway 5|Gullhaven|OR|97099"),
    ("US|88 Stop 11 Rd|Gullhaven|OR|97099", "US|88 Stop 12 Rd|Gullhaven|OR|97099"),
    ("US|c/o Ben Auk~88 Tern St|Gullhaven|OR|97099", "US|c/o Cai Auk~88 Tern St|Gullhaven|OR|97099"),
    ("US|88 Tern St Bldg 4 Apt 12|Gullhaven|OR|97099", "US|88 Tern St Bldg 41 Apt 2|Gullhaven|OR|97099"),
    ("US|88 Tern St Apt 2 Rear|Gullhaven|OR|97099", "US|88 Tern St Apt 2 Front|Gullhaven|OR|97099"),
    ("US|PO Box 512|Gullhaven|OR|97099", "US|PO Box 512~88 Tern St|Gullhaven|OR|97099"),
    ("PR|URB Las Gaviotas~88 Calle A|Fogport||00930", "PR|URB Las Sternas~88 Calle A|Fogport||00930"),
    ("PR|88 Calle A|Fogport||00930", "VI|88 Calle A|Fogport||00850"),
    ("US|88 Tern St|Gullhaven|OR|97099", "GB|88 Tern St|Gullhaven||M2 5BQ"),
    ("GB|Flat 4, 88 Tern Street|Fogport||M2 5BQ", "GB|Flat 5, 88 Tern Street|Fogport||M2 5BQ"),
    ("GB|Rose Cottage, Tern Lane|Fogport||M2 5BQ", "GB|Thorn Cottage, Tern Lane|Fogport||M2 5BQ"),
    ("GB|Rose Cottage, Tern Lane|Fogport||M2 5BQ", "GB|Tern Lane|Fogport||M2 5BQ"),
    ("GB|First Floor Flat, 88 Gull Road|Fogport||M2 5BQ", "GB|88 Gull Road|Fogport||M2 5BQ"),
    ("GB|First Floor Flat, 88 Gull Road|Fogport||M2 5BQ", "GB|Ground Floor Flat, 88 Gull Road|Fogport||M2 5BQ"),
    ("GB|4 Tern House, 88 Gull Road|Fogport||M2 5BQ", "GB|5 Tern House, 88 Gull Road|Fogport||M2 5BQ"),
    ("GB|4 Tern House, 88 Gull Road|Fogport||M2 5BQ", "GB|88 Gull Road|Fogport||M2 5BQ"),
    ("GB|88 Tern Close|Fogport||M2 5BQ", "GB|88 Tern Crescent|Fogport||M2 5BQ"),
    ("GB|88 Tern Street|Fogport||M2 5BQ", "GB|88 Tern Street|Fogport||M2 5BR"),
    ("AU|4/88 Tern Parade|Fogport|NSW|2060", "AU|88/4 Tern Parade|Fogport|NSW|2060"),
    ("CA|88 Tern Street West|Fogport|ON|K1A 0B1", "CA|88 Tern Street East|Fogport|ON|K1A 0B1"),
    ("HK|Room 5, 3/F, 88 Gull Road|Fogport|Kowloon|", "HK|Room 5, 4/F, 88 Gull Road|Fogport|Kowloon|"),
    ("HK|88 Gull Road|Fogport|Kowloon|", "HK|88 Gull Road|Fogport|New Territories|"),
    ("DE|Möwenstraße 12|Nebelhafen||26133", "DE|Möwenstraße 12a|Nebelhafen||26133"),
    ("DE|Möwenstraße 12|Nebelhafen||26133", "DE|Möwenweg 12|Nebelhafen||26133"),
    ("DE|Bauerstraße 12|Nebelhafen||26133", "DE|Baurstraße 12|Nebelhafen||26133"),
    ("DE|Straße des 17. Juni 135|Nebelhafen||26133", "DE|Straße des 17. Juni 17|Nebelhafen||26133"),
    ("DE|Möwenstr. 5, 2. OG links|Nebelhafen||26133", "DE|Möwenstr. 5, 2. OG rechts|Nebelhafen||26133"),
    ("DE|Möwenstr. 5 Hinterhaus|Nebelhafen||26133", "DE|Möwenstr. 5|Nebelhafen||26133"),
    ("AT|Möwengasse 12/5|Wien||1010", "AT|Möwengasse 12/6|Wien||1010"),
    ("NL|Meeuwstraat 88|Mistdam||2490 AA", "NL|Meeuwstraat 88|Mistdam||2490 AB"),
    ("BE|Meeuwstraat 12 bus 4|Mistdam||1000", "BE|Meeuwstraat 12 bus 5|Mistdam||1000"),
    ("DK|Mågevej 12, 2. th|Tågehavn||8660", "DK|Mågevej 12, 2. tv|Tågehavn||8660"),
    ("SE|Måsvägen 12 lgh 1201|Dimhamn||114 55", "SE|Måsvägen 12 lgh 1202|Dimhamn||114 55"),
    ("FI|Lokkikatu 5 A 12|Sumusatama||00550", "FI|Lokkikatu 5 B 12|Sumusatama||00550"),
    ("FR|12 rue des Sternes|Brumeport||33380", "FR|12 bis rue des Sternes|Brumeport||33380"),
    ("FR|12 rue des Sternes|Brumeport||33380", "FR|12 impasse des Sternes|Brumeport||33380"),
    ("FR|8 rue du 12 Mai|Brumeport||33380", "FR|12 rue du 8 Mai|Brumeport||33380"),
    ("ES|Calle Gaviota 12, 3º B|Nieblas||28039", "ES|Calle Gaviota 12, 3º A|Nieblas||28039"),
    ("ES|Calle Gaviota 12, piso 3, puerta 2|Nieblas||28039", "ES|Calle Gaviota 12, puerta 32|Nieblas||28039"),
    ("ES|Calle Gaviota 12, Esc. A, 3º B|Nieblas||28039", "ES|Calle Gaviota 12, Esc. B, 3º B|Nieblas||28039"),
    ("ES|Calle Gaviota 12|Nieblas||28039", "ES|Plaza Gaviota 12|Nieblas||28039"),
    ("IT|Via Gabbiano 12|Nebbia||00144", "IT|Viale Gabbiano 12|Nebbia||00144"),
    ("PL|ul. Mewia 88/4|Mgła||00-950", "PL|al. Mewia 88/4|Mgła||00-950"),
    ("PL|ul. Mewia 88/4|Mgła||00-950", "PL|ul. Mewia 88/5|Mgła||00-950"),
    ("RU|ул. Чайки, д. 12, кв. 5|Туман||103375", "RU|ул. Чайки, д. 12, кв. 6|Туман||103375"),
    ("JP|カモメ町1丁目2番3号|霧港|東京都|154-0023", "JP|カモメ町1丁目2番4号|霧港|東京都|154-0023"),
];

fn abroad(text: &str) -> bool {
    !["US|", "PR|", "GU|", "VI|"].iter().any(|code| text.starts_with(code))
}

#[test]
fn one_place_written_in_two_lawful_ways_is_one() {
    assert!(SAME.len() >= 60 && SAME.iter().filter(|(a, _)| abroad(a)).count() >= 25);
    let mut parted = Vec::new();
    for (a, b) in SAME {
        let (one, other) = (read(a), read(b));
        if !one.same_place(&other) || !other.same_place(&one) {
            parted.push(format!("{a}\n{b}\n{one:?}\n{other:?}\n"));
        }
    }
    assert!(parted.is_empty(), "{} pairs\n{}", parted.len(), parted.join("\n"));
}

#[test]
fn two_places_that_differ_in_one_part_are_two() {
    assert!(APART.len() >= 60 && APART.iter().filter(|(a, _)| abroad(a)).count() >= 25);
    let mut joined = Vec::new();
    for (a, b) in APART {
        let (one, other) = (read(a), read(b));
        if one.same_place(&other) || other.same_place(&one) {
            joined.push(format!("{a}\n{b}\n{one:?}\n{other:?}\n"));
        }
    }
    assert!(joined.is_empty(), "{} pairs\n{}", joined.len(), joined.join("\n"));
}

const COUNTRIES: [&str; 24] = [
    "US", "US", "US", "US", "PR", "CA", "GB", "AU", "IE", "DE", "AT", "CH", "NL", "BE", "FR", "ES", "IT", "PL", "SE",
    "DK", "FI", "JP", "BR", "RU",
];

/// Words that addresses are made of, of many kinds, so that soups of them meet every rule.
const WORDS: &[&str] = &[
    "88",
    "4",
    "12-14",
    "4B",
    "5th",
    "1/2",
    "88A",
    "N",
    "North",
    "SW",
    "West",
    "A",
    "B",
    "Tern",
    "Gull",
    "Saint",
    "St",
    "Street",
    "Ave",
    "Avenue",
    "Park",
    "Parks",
    "Rd",
    "Meadows",
    "Key",
    "Apt",
    "Apartment",
    "Suite",
    "Ste",
    "Unit",
    "Floor",
    "Fl",
    "Bldg",
    "Rear",
    "Front",
    "Lot",
    "#",
    "#4",
    "No.",
    "PO",
    "Box",
    "P.O.",
    "RR",
    "HC",
    "PSC",
    "Rural",
    "Route",
    "Highway",
    "County",
    "Road",
    "US",
    "I-10",
    "SR",
    "Kentucky",
    "General",
    "Delivery",
    "c/o",
    "URB",
    "Calle",
    "C/",
    "Rue",
    "bis",
    "Av.",
    "Möwenstraße",
    "Str.",
    "Platz",
    "Straße",
    "ul.",
    "m.",
    "3º",
    "th",
    "Flat",
    "3/F",
    "Postfach",
    "Box",
    "12",
    "7",
    "丁目",
    "番",
    "号",
    "Mueller",
    "Müller",
    "O'Hara",
    "Via",
    "s/n",
    "кв.",
    "ул.",
    ",",
    ",",
    ";",
    "-",
    "&",
    "Cedex",
    "Gullhaven",
    "Lane",
    "E",
    "Close",
    "Crescent",
    "Cl",
    "Cr",
];

fn soup() -> impl Strategy<Value = Recipient> {
    let words = |most: usize| prop::collection::vec(prop::sample::select(WORDS), 0..most);
    (prop::sample::select(&COUNTRIES[..]), prop::collection::vec(words(9), 0..4), words(4), words(3), words(3))
        .prop_map(|(country, lines, city, region, postal)| Recipient {
            lines: lines.into_iter().map(|words| words.join(" ")).collect(),
            city: city.join(" "),
            region: region.join(" "),
            postal_code: postal.join(" "),
            ..to(&format!("{country}||||"))
        })
}

/// An address as people write them in the US or abroad.
fn plausible() -> impl Strategy<Value = Recipient> {
    let pairs: Vec<&'static str> = SAME.iter().chain(APART).flat_map(|(a, b)| [*a, *b]).collect();
    prop::sample::select(pairs).prop_map(to)
}

fn changed(to: &Recipient, change: impl Fn(&str) -> String) -> Recipient {
    Recipient {
        lines: to.lines.iter().map(|line| change(line)).collect(),
        city: change(&to.city),
        region: change(&to.region),
        ..to.clone()
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// What is standard stays as it is.
    #[test]
    fn standardising_what_is_standard_changes_nothing(to in prop_oneof![soup(), plausible()]) {
        let once = standard(&to);
        let again = standard(&once.rendered());
        prop_assert_eq!(&once, &again);
        prop_assert!(once.same_place(&again));
    }

    /// No text at all makes it panic, and a place is always itself.
    #[test]
    fn any_text_is_read(
        country in prop::sample::select(&COUNTRIES[..]),
        lines in prop::collection::vec("\\PC{0,30}", 0..4),
        name in "\\PC{0,10}", city in "\\PC{0,12}", region in "\\PC{0,8}", code in "\\PC{0,10}",
    ) {
        let to = Recipient { name, lines, city, region, postal_code: code, ..to(&format!("{country}||||")) };
        let place = standard(&to);
        prop_assert!(place.same_place(&place));
        prop_assert!(!place.street.iter().any(String::is_empty));
        let _doubt = check(&to);
    }

    #[test]
    fn case_spacing_and_points_do_not_matter(to in prop_oneof![soup(), plausible()], spaces in 1_usize..4) {
        let place = standard(&to);
        let wide = changed(&to, |text| format!(" {} ", text.replace(' ', &" ".repeat(spaces))));
        prop_assert_eq!(&standard(&wide), &place);
        let upper = changed(&to, str::to_uppercase);
        prop_assert_eq!(&standard(&upper), &place);
        let lower = changed(&to, str::to_lowercase);
        prop_assert_eq!(&standard(&lower), &place);
        let dotted = changed(&to, |text| text.split(' ').map(|word| word.to_owned() + if word.ends_with(char::is_alphabetic) { "." } else { "" }).collect::<Vec<_>>().join(" "));
        prop_assert_eq!(&standard(&dotted), &place);
    }

    #[test]
    fn being_one_place_does_not_hang_on_the_order(a in soup(), b in plausible()) {
        let (a, b) = (standard(&a), standard(&b));
        prop_assert_eq!(a.same_place(&b), b.same_place(&a));
        prop_assert_eq!(a.unit_agreement(&b), b.unit_agreement(&a));
    }
}

#[test]
fn a_unit_without_designator_agrees_with_any_and_a_part_left_out_is_silence() {
    let agreement =
        |a: &str, b: &str| tern(&format!("88 Tern St {a}")).unit_agreement(&tern(&format!("88 Tern St {b}")));
    assert_eq!(agreement("#4", "Ste 4"), Agreement::Same);
    assert_eq!(agreement("Apt 4", "Ste 4"), Agreement::Differs);
    assert_eq!(agreement("#4", "#5"), Agreement::Differs);
    assert_eq!(agreement("", "Apt 5"), Agreement::Silent);
    assert_eq!(agreement("Bldg C Apt 5", "Apt 5"), Agreement::Silent);
    assert_eq!(agreement("Bldg C Apt 5", "Bldg D Apt 5"), Agreement::Differs);
    assert_eq!(agreement("Rear", "Front"), Agreement::Differs);
    assert_eq!(agreement("", ""), Agreement::Same);
}
