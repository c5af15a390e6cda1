//! What a postal code may be, and the sentence about one that can't be.

use dawnpack::model::address::Country;
use dawnpack::model::recipient::Recipient;
use dawnpack::plan::likeness::standard::check;

use super::super::data::table;
use super::{read, to};

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
        "US|88 Tern St|Gullhaven, OR||97099",
        "US|88 Tern St|Gullhaven|Ore.|97099",
        "US|88 Tern St NW|Washington, D. C.||20099",
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
        (
            "US|88 Tern St|G|OR|4999",
            "postal code `4999` is too short for US; a leading zero may be lost, but `04999` belongs to ME, not to OR",
            None,
        ),
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
        // The letters O, I and L for figures, and more than the code in its field.
        ("US|88 Tern St|G|OR|9709O", "postal code `9709O` is not a US ZIP code of five or nine digits", Some("97090")),
        ("US|88 Tern St|G|ME|9709O", "postal code `9709O` is not a US ZIP code of five or nine digits", None),
        (
            "US|88 Tern St|G|OR|OR 97099",
            "postal code `OR 97099` is not a US ZIP code of five or nine digits",
            Some("97099"),
        ),
        (
            "US|88 Tern St|G|OR|97099.0",
            "postal code `97099.0` is not a US ZIP code of five or nine digits",
            Some("97099"),
        ),
        (
            "US|88 Tern St|G|OR|97099 97098",
            "postal code `97099 97098` is not a US ZIP code of five or nine digits",
            None,
        ),
        ("US|88 Tern St|G|OR|97099-12", "postal code `97099-12` is not a US ZIP code of five or nine digits", None),
        ("US|88 Tern St|G|OR|unknown", "postal code `unknown` is not a US ZIP code of five or nine digits", None),
        ("US|88 Tern St|G 97099|OR|", "no ZIP code is given; the town has `97099` in it", Some("97099")),
        ("DE|Ternstr. 8|26133 Nebelhafen||", "no postal code is given; the town has `26133` in it", Some("26133")),
        (
            "CA|8 Tern St|Fogport|ON|K1A OB1",
            "postal code `K1A OB1` is not one of CA; they look like `H3Z 2Y7`",
            Some("K1A 0B1"),
        ),
        ("GB|8 Tern St|Fogport||M2 5B", "postal code `M2 5B` is not one of GB; they look like `EC1Y 8SY`", None),
        (
            "AU|8 Tern St|Fogport|NT|800",
            "postal code `800` is too short for AU; a leading zero may be lost",
            Some("0800"),
        ),
        ("GU|88 Tern St|G||97099", "postal code `97099` belongs to OR, not to GU", None),
        ("NL|Ternstraat 8|Nebelhafen||1234", "postal code `1234` is not one of NL; they look like `1234 AB`", None),
    ] {
        let doubt = check(&to(text)).unwrap_err();
        assert_eq!((doubt.text.as_str(), doubt.proposal.as_deref()), (said, proposal), "{text}");
    }
    let unread = Recipient { country: None, country_as_written: Some("Atlantis".into()), ..to("US|8|G|OR|97099") };
    let said = "country `Atlantis` is not one that could be read; write its two-letter code";
    assert_eq!(check(&unread).unwrap_err().text, said);
    let nowhere = Recipient { country: None, ..to("US|8|G|OR|97099") };
    assert_eq!(check(&nowhere).unwrap_err().text, "no country is given; write its two-letter code");
    let nobody = Recipient { name: " - ".into(), ..to("US|88 Tern St|G|OR|97099") };
    assert_eq!(check(&nobody).unwrap_err().text, "no name is given");
}
