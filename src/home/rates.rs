//! `rates/*.toml`: a carrier's dated price tables.
//!
//! Handed the text of one rate card; promises services whose tiers rise, whose prices are exact and not negative
//! and whose zones have prices, or every fault of the card. Turned down: sorting tiers that stand out of order,
//! since a slip in an edge looks just the same.

use std::path::Path;

use super::fault::Fault;
use super::keys::{self, Item, Source, Table};
use super::repeats::repeats;
use super::service;
use crate::model::money::Currency;
use crate::model::rates::{RateCard, Service};

/// The rate card in `file`, relative to `root`; its prices must be in `home_currency`, as sums over parcels are.
pub(super) fn read(
    root: &Path,
    file: &str,
    text: &str,
    home_currency: Option<Currency>,
    faults: &mut Vec<Fault>,
) -> Option<RateCard> {
    let source = Source { file, text };
    let parsed = keys::parse(source, faults)?;
    let card = Table::root(source, &parsed);
    card.only(&["carrier", "currency", "valid_from", "service"], faults);
    let carrier = card.must("carrier", "write the carrier's name", faults).and_then(|item| item.text(faults));
    let currency = card.must("currency", "write three letters such as USD", faults).and_then(|item| {
        let currency: Currency = item.parsed(faults)?;
        if let Some(home) = home_currency.filter(|home| *home != currency) {
            faults.push(item.fault(format!("is not the home's currency, {home}; sums over parcels need one")));
        }
        Some(currency)
    });
    let valid_from = card
        .must("valid_from", "write the first day on which it holds, such as 2026-07-12", faults)
        .and_then(|item| item.date(faults));
    let desk = service::Desk { root, file, currency: currency.or(home_currency).unwrap_or(Currency::USD) };
    let services = card.must("service", "write at least one [[service]]", faults).and_then(|item| {
        let items = item.list(faults)?;
        let tables: Vec<Option<Table<'_>>> = items.iter().map(|item| item.table(faults)).collect();
        let tables: Vec<Table<'_>> = tables.into_iter().flatten().collect();
        if items.is_empty() {
            faults.push(item.fault("has no service; write at least one [[service]]"));
        }
        distinct_codes(&tables, faults);
        let services: Vec<Option<Service>> = tables.iter().map(|table| desk.service(table, faults)).collect();
        services.into_iter().collect::<Option<Vec<Service>>>()
    });
    Some(RateCard {
        file: file.to_owned(),
        carrier: carrier?.to_owned(),
        currency: currency?,
        valid_from: valid_from?,
        services: services?,
    })
}

fn distinct_codes(services: &[Table<'_>], faults: &mut Vec<Fault>) {
    // What is no text is told of where it is read.
    let codes = services.iter().filter_map(|table| table.get("code"));
    let codes: Vec<(Item<'_>, &str)> = codes.filter_map(|item| Some((item.clone(), item.as_text()?))).collect();
    for (_, (item, _)) in repeats(&codes, |(_, code)| Some(*code)) {
        faults.push(item.fault("is the code of two services of this card; rename one"));
    }
}

/// Of two cards of one carrier that begin on one day, neither is the later: which holds would be a guess.
pub(super) fn one_card_a_day(cards: &[RateCard], faults: &mut Vec<Fault>) {
    for (first, card) in repeats(cards, |card| Some((&card.carrier, card.valid_from))) {
        let mend = format!("is the day of {} too, and both are of {}; change one", first.file, card.carrier);
        faults.push(Fault {
            what: "key `valid_from`".to_owned(),
            value: Some(card.valid_from.to_string()),
            ..Fault::file(&card.file, mend)
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::catalogue::Contents;
    use crate::model::customs::Form;
    use crate::model::length::{Length, Volume};
    use crate::model::mass::{Mass, MassUnit, Weight};
    use crate::model::money::Money;
    use crate::model::rates::{InsuranceBand, Price, Shape, Step, When};
    use jiff::civil::date;
    use rust_decimal::dec;

    const HEAD: &str = "carrier = \"Northline Post\"\ncurrency = \"USD\"\nvalid_from = 2026-07-12\n";
    const SERVICE: &str =
        "[[service]]\ncode = \"a\"\nshape = \"parcel\"\nfrom = \"US\"\nto = [\"US\"]\nunit = \"oz\"\n";

    fn read_in(root: &Path, text: &str) -> (Option<RateCard>, Vec<String>) {
        let mut faults = Vec::new();
        let card = read(root, "rates/a.toml", text, Some(Currency::USD), &mut faults);
        (card, faults.iter().map(Fault::to_string).collect())
    }

    fn read_card(text: &str) -> (Option<RateCard>, Vec<String>) {
        read_in(Path::new("."), text)
    }

    #[test]
    fn prices_and_edges_are_exact_as_numbers_and_as_text() {
        let (card, faults) = read_card(&format!(
            "{HEAD}{SERVICE}tiers = [{{ up_to = 15.999, price = 5.25 }}, {{ up_to = \"16\", price = \"6.10\" }}]\n\
             max_mass = \"70 lb\"\nrefuses = [\"button-cell\"]\nmax_sum_mm = 900.5\n"
        ));
        assert_eq!(faults, [] as [&str; 0]);
        let card = card.unwrap();
        let service = &card.services[0];
        assert_eq!(service.tiers[0].up_to, Weight::new(dec!(15.999), MassUnit::Ounce));
        let Price::Flat(price) = &service.tiers[0].price else { panic!("{service:?}") };
        assert_eq!(price.amount, dec!(5.25));
        assert_eq!(service.limits.max_mass, Some(Mass::from_g(dec!(31751.4659))));
        assert_eq!((service.shape, service.refuses.len(), service.title.as_str()), (Shape::Parcel, 1, "a"));
    }

    #[test]
    fn every_fault_of_a_card_is_told_with_its_line() {
        let (card, faults) = read_card("carier = \"N\"\ncurrency = \"US\"\nvalid_from = 2026-13-01\n");
        assert!(card.is_none());
        // A day that no calendar has is no TOML.
        assert!(faults[0].starts_with("rates/a.toml, line 3: is not TOML here"), "{faults:?}");
        let (_, faults) = read_card(
            "carier = \"N\"\ncurrency = \"US\"\nvalid_from = \"12 July\"\n\n[[service]]\ncode = 7\nshape = \"box\"\n\
             to = []\nunit = \"stone\"\ntiers = [ { up_to = 4, price = \"5,25\" }, { up_to = 4, price = -1 }, { upto = 0 } ]\n\
             max_mass = \"heavy\"\nmin_length_mm = 200\nmax_length_mm = 100\n",
        );
        assert_eq!(
            faults,
            [
                "rates/a.toml, line 1, key `carier`: is unknown; did you mean `carrier`?",
                "rates/a.toml, key `carrier`: is missing; write the carrier's name",
                "rates/a.toml, line 2, key `currency`: `US` is not an ISO 4217 currency code; write three letters such as \
                 USD or EUR",
                "rates/a.toml, line 3, key `valid_from`: `12 July` is not a day; write year, month and day, such as \
                 2026-07-12",
                "rates/a.toml, line 6, key `service[1].code`: `7` is not text; write it in quotes",
                "rates/a.toml, line 7, key `service[1].shape`: `box` is none of the words that can stand here; write \
                 letter, flat or parcel",
                "rates/a.toml, line 5, key `service[1].from`: is missing; write the country it is posted in, such as US",
                "rates/a.toml, line 8, key `service[1].to`: `[]` names no country; list them, or write [\"*\"]",
                "rates/a.toml, line 9, key `service[1].unit`: `stone` is not a unit of mass; write g, kg, oz or lb",
                "rates/a.toml, line 10, key `service[1].tiers[1].price`: `5,25` is not a number; write it with a point, \
                 such as 5.25",
                "rates/a.toml, line 10, key `service[1].tiers[2].price`: `-1` is below zero",
                "rates/a.toml, line 10, key `service[1].tiers[3].upto`: is unknown; did you mean `up_to`?",
                "rates/a.toml, line 10, key `service[1].tiers[3].up_to`: is missing; write the tier's upper edge",
                "rates/a.toml, line 10, key `service[1].tiers[3].price`: is missing; write its price",
                "rates/a.toml, line 12, key `service[1].min_length_mm`: `200` is above max_length_mm; nothing would fit",
                "rates/a.toml, line 11, key `service[1].max_mass`: `heavy` is no mass; write a number of the service's \
                 unit, or one with its own, such as \"2 kg\"",
            ]
        );
    }

    #[test]
    fn what_is_on_top_is_read_with_its_conditions() {
        let (card, faults) = read_card(&format!(
            "{HEAD}{SERVICE}tiers = [{{ up_to = 4, price = 5 }}]\nmin_thickness_mm = 0.2\nmax_value = 400\n\
             declaration = \"cn23\"\n\
             surcharges = [\n\
             {{ code = \"long\", price = 4, over_length_mm = 558.8, over_mass = \"1 lb\" }},\n\
             {{ code = \"large\", price = \"18\", over_cubic_feet = 2, countries = [\"US\"], prefixes = [\"995\"] }},\n\
             {{ code = \"peak\", price = 0.3, from = 2026-10-05, to = \"2027-01-17\", contains = [\"magnet\"], ratio_under = 1.3 }},\n\
             ]\n\
             insurance = [{{ up_to = 600, price = 8.95 }}, {{ up_to = 5000, price = 8.95, each = 100, each_price = \"1.50\" }}]\n"
        ));
        assert_eq!(faults, [] as [&str; 0]);
        let card = card.unwrap();
        let service = &card.services[0];
        let usd = |amount| Money::new(amount, Currency::USD);
        assert_eq!((service.limits.max_value, service.declaration), (Some(usd(dec!(400))), Some(Form::Cn23)));
        assert_eq!(service.limits.min_thickness, Some(Length::from_mm(dec!(0.2))));
        let [long, large, peak] = service.surcharges.as_slice() else { panic!("{service:?}") };
        let expected = When {
            over_length: Some(Length::from_mm(dec!(558.8))),
            over_mass: Some(Mass::from_g(dec!(453.59237))),
            ..When::default()
        };
        assert_eq!((long.code.as_str(), long.price, &long.when), ("long", usd(dec!(4)), &expected));
        let expected = When {
            over_volume: Some(Volume::from_cubic_feet(dec!(2))),
            countries: ["US".parse().unwrap()].into(),
            prefixes: ["995".to_owned()].into(),
            ..When::default()
        };
        assert_eq!((large.price, &large.when), (usd(dec!(18)), &expected));
        let expected = When {
            from: Some(date(2026, 10, 5)),
            to: Some(date(2027, 1, 17)),
            contains: [Contents::Magnet].into(),
            ratio_under: Some(dec!(1.3)),
            ..When::default()
        };
        assert_eq!((peak.price, &peak.when), (usd(dec!(0.3)), &expected));
        let steps = Some(Step { each: usd(dec!(100)), price: usd(dec!(1.50)) });
        assert_eq!(service.insurance[1], InsuranceBand { up_to: usd(dec!(5000)), price: usd(dec!(8.95)), steps });
    }

    #[test]
    fn every_fault_of_what_is_on_top_is_told() {
        let (_, faults) = read_card(&format!(
            "{HEAD}{SERVICE}tiers = [{{ up_to = 4, price = 5 }}]\ndeclaration = \"cn21\"\n\
             surcharges = [ {{ code = \"a\", over_lenght_mm = 1 }}, {{ price = 1, over_litres = 1, over_cubic_feet = 1 }} ]\n\
             extras = [ {{ code = \"a\" }} ]\n\
             insurance = [ {{ up_to = 5, price = 1, each = 1 }}, {{ up_to = 6, price = 1, each_price = 1 }} ]\n\
             min_thickness_mm = 5\nmax_thickness_mm = 4\n"
        ));
        assert_eq!(
            faults,
            [
                "rates/a.toml, line 15, key `service[1].min_thickness_mm`: `5` is above max_thickness_mm; nothing would fit",
                "rates/a.toml, line 12, key `service[1].surcharges[1].over_lenght_mm`: is unknown; did you mean \
                 `over_length_mm`?",
                "rates/a.toml, line 12, key `service[1].surcharges[1].price`: is missing; write its price",
                "rates/a.toml, line 12, key `service[1].surcharges[2].code`: is missing; write its name",
                "rates/a.toml, line 12, key `service[1].surcharges[2].over_cubic_feet`: `1` stands beside over_litres; \
                 write one of them",
                "rates/a.toml, line 13, key `service[1].extras[1].price`: is missing; write its price",
                "rates/a.toml, line 14, key `service[1].insurance[1].each_price`: is missing; write what each step costs",
                "rates/a.toml, line 14, key `service[1].insurance[2].each`: is missing; write the value of one step",
                "rates/a.toml, line 11, key `service[1].declaration`: `cn21` is none of the words that can stand here; \
                 write cn22 or cn23",
            ]
        );
        let (_, faults) = read_card(&format!(
            "{HEAD}{SERVICE}tiers = [{{ up_to = 4, price = 5 }}]\n\
             surcharges = [ {{ code = \"a\", price = 1, from = 2026-10-05, to = 2026-10-04 }} ]\n"
        ));
        let expected = "rates/a.toml, line 11, key `service[1].surcharges[1].to`: `2026-10-04` is before `from`; it would \
                        never be charged";
        assert_eq!(faults, [expected]);
    }

    /// A box pays by its volume, so the mass may stay where the volume rises; a tier for any box is the last of its mass.
    #[test]
    fn tiers_by_volume_rise_in_volume() {
        let tiers = |tiers: &str| read_card(&format!("{HEAD}{SERVICE}tiers = [{tiers}]\n"));
        let (card, faults) = tiers(
            "{ up_to = 20, up_to_cubic_feet = 0.1, price = 1 }, { up_to = 20, up_to_litres = \"5.5\", price = 2 }, \
             { up_to = 20, price = 3 }, { up_to = 30, up_to_litres = 1, price = 4 }",
        );
        assert_eq!(faults, [] as [&str; 0]);
        let tiers_read = &card.unwrap().services[0].tiers;
        assert_eq!(tiers_read[0].up_to_volume, Some(Volume::from_cubic_feet(dec!(0.1))));
        assert_eq!(tiers_read[1].up_to_volume, Some(Volume::from_litres(dec!(5.5))));
        let same = "{ up_to = 20, up_to_litres = 1, price = 1 }, { up_to = 20, up_to_litres = 1, price = 2 }";
        let after_any = "{ up_to = 20, price = 1 }, { up_to = 20, up_to_litres = 1, price = 2 }";
        let lighter = "{ up_to = 20, up_to_litres = 1, price = 1 }, { up_to = 19, up_to_litres = 2, price = 2 }";
        for falling in [same, after_any, lighter] {
            assert_eq!(tiers(falling).1.len(), 1, "{falling}");
        }
    }

    #[test]
    fn tiers_must_rise_by_mass_whatever_their_unit() {
        let tiers = |tiers: &str| read_card(&format!("{HEAD}{SERVICE}tiers = [{tiers}]\n")).1;
        let rising = "{ up_to = 15.999, price = 1 }, { up_to = 1, unit = \"lb\", price = 2 }";
        assert_eq!(tiers(rising), [] as [&str; 0]);
        let flat = tiers("{ up_to = 16, price = 1 }, { up_to = 1, unit = \"lb\", price = 2 }");
        let expected = "rates/a.toml, line 10, key `service[1].tiers[2].up_to`: `1` doesn't rise above the tier before it; \
                        list tiers from the lightest up";
        assert_eq!(flat, [expected]);
        assert_eq!(tiers("").len(), 1);
    }

    #[test]
    fn zones_and_their_prices_must_meet() {
        let home = tempfile::tempdir().unwrap();
        std::fs::create_dir(home.path().join("rates")).unwrap();
        let zones = home.path().join("rates/zones.csv");
        std::fs::write(&zones, "prefix,zone\n049,1\n 97 ,8\n").unwrap();
        let card =
            |tiers: &str| read_in(home.path(), &format!("{HEAD}{SERVICE}zones = \"zones.csv\"\ntiers = [{tiers}]\n"));
        let (read, faults) = card("{ up_to = 4, price = { \"1\" = 5.25, \"8\" = \"6\" } }");
        assert_eq!(faults, [] as [&str; 0]);
        assert_eq!(read.unwrap().services[0].zones.get("97").map(String::as_str), Some("8"));
        let (_, faults) = card("{ up_to = 4, price = { \"1\" = 5, \"8\" = 6 } }, { up_to = 8, price = { \"1\" = 5 } }");
        let expected = "rates/a.toml, line 11, key `service[1].tiers[2].price`: `{ \"1\" = 5 }` has no price for zone `8`, \
                        and another tier has; add it";
        assert_eq!(faults, [expected]);
        let (_, faults) = card("{ up_to = 4, price = { near = 5 } }");
        let expected = "rates/a.toml, line 10, key `service[1].zones`: `zones.csv` names none of the zones that have \
                        prices (near); write the same names in both";
        assert_eq!(faults, [expected]);

        std::fs::write(&zones, "prefix,zone\n049,1\n049,8\n,1\n97,\n").unwrap();
        let (_, faults) = card("{ up_to = 4, price = { \"1\" = 5, \"8\" = 6 } }");
        assert_eq!(
            faults,
            [
                "rates/zones.csv, line 3, column `prefix`: `049` stands in line 2 already; each prefix once",
                "rates/zones.csv, line 4, column `prefix`: is empty; fill it in",
                "rates/zones.csv, line 5, column `zone`: is empty; fill it in",
            ]
        );
        let (_, faults) = read_card(&format!("{HEAD}{SERVICE}tiers = [{{ up_to = 4, price = {{ near = 5 }} }}]\n"));
        assert!(faults[0].contains("goes by zone, and the service has no zones"), "{faults:?}");
        let (_, faults) = read_in(
            home.path(),
            &format!("{HEAD}{SERVICE}zones = \"zone.csv\"\ntiers = [{{ up_to = 4, price = 5 }}]\n"),
        );
        let expected = "rates/a.toml, line 10, key `service[1].zones`: `zone.csv` is not there; put a table with the \
                        columns prefix,zone into rates/";
        assert_eq!(faults, [expected]);
    }

    #[test]
    fn two_services_of_one_code_and_two_cards_of_one_day_are_faults() {
        let tiers = "tiers = [{ up_to = 4, price = 5 }]\n";
        let (card, faults) = read_card(&format!("{HEAD}{SERVICE}{tiers}{SERVICE}{tiers}"));
        assert_eq!(
            faults,
            ["rates/a.toml, line 12, key `service[2].code`: `a` is the code of two services of this card; rename one"]
        );
        let card = card.unwrap();
        let mut faults = Vec::new();
        one_card_a_day(&[card.clone(), RateCard { file: "rates/b.toml".into(), ..card }], &mut faults);
        let expected = "rates/b.toml, key `valid_from`: `2026-07-12` is the day of rates/a.toml too, and both are of \
                        Northline Post; change one";
        assert_eq!(faults.iter().map(Fault::to_string).collect::<Vec<_>>(), [expected]);
    }
}
