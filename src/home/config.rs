//! `dawnpack.toml`: who sends, when the day begins, how it is packed and mailed.
//!
//! Handed the file's text; promises checked rules, or every fault of the file. Everything but the seller, the
//! time zone and the currency has a default, and where a country has its own habit the default follows the
//! seller's country. Turned down: defaults read from a second file, which would have to be found and versioned.

use std::path::Path;

use super::fault::Fault;
use super::keys::{self, Item, Source, Table};
use super::{DayRules, MailRules};
use crate::model::address::Country;
use crate::model::language::Language;
use crate::model::money::Currency;
use crate::model::rules::{PackingRules, PostageRules, Seller};
use crate::model::scale::Sheet;

mod day;
mod mail;
mod packing;
mod postage;
mod seller;

/// The file's name.
pub(super) const FILE: &str = "dawnpack.toml";

/// All of the file, checked.
pub(super) struct Config {
    pub(super) seller: Seller,
    pub(super) day: DayRules,
    pub(super) packing: PackingRules,
    pub(super) postage: PostageRules,
    pub(super) currency: Currency,
    pub(super) mail: MailRules,
}

/// Reads `text`, the file's, with paths in it relative to `root`.
pub(super) fn read(root: &Path, text: &str, faults: &mut Vec<Fault>) -> Option<Config> {
    let source = Source { file: FILE, text };
    let parsed = keys::parse(source, faults)?;
    let file = Table::root(source, &parsed);
    file.only(&["seller", "day", "packing", "postage", "money", "mail", "papers"], faults);
    let seller = must_section(&file, "seller", "`name`, `address`, `country` and `email`", faults)
        .and_then(|section| seller::read(&section, faults));
    // The country is known or told of by now; until it is mended, its defaults are those of no country.
    let country = seller.as_ref().map(|seller| seller.country);
    let day = must_section(&file, "day", "`time_zone = \"America/New_York\"`, or yours", faults)
        .and_then(|section| day::read(root, &section, country, faults));
    let packing = packing::read(section(&file, "packing", faults).as_ref(), faults);
    let currency = must_section(&file, "money", "`currency = \"USD\"`, or yours", faults)
        .and_then(|section| money(&section, faults));
    let postage = postage::read(section(&file, "postage", faults).as_ref(), currency, faults);
    let mail = mail::read(root, section(&file, "mail", faults).as_ref(), seller.as_ref(), faults);
    let papers = section(&file, "papers", faults);
    let page = page(papers.as_ref(), country, faults);
    let language = or(papers.as_ref(), "language", None, |item| language(item, faults));
    let seller = seller.zip(language).map(|(seller, language)| Seller { language, ..seller });
    Some(Config {
        seller: seller?,
        day: day?,
        // What the printer is fed weighs in the parcel too.
        packing: PackingRules { sheet: page?, ..packing? },
        postage: postage?,
        currency: currency?,
        mail: mail?,
    })
}

/// The currency alone, so that the other files can be checked while this one is at fault.
pub(super) fn currency_alone(text: &str) -> Option<Currency> {
    let unsaid = &mut Vec::new();
    let source = Source { file: FILE, text };
    let parsed = keys::parse(source, unsaid)?;
    money(&section(&Table::root(source, &parsed), "money", unsaid)?, unsaid)
}

fn section<'t>(file: &Table<'t>, name: &str, faults: &mut Vec<Fault>) -> Option<Table<'t>> {
    file.get(name)?.table(faults)
}

fn must_section<'t>(file: &Table<'t>, name: &str, holds: &str, faults: &mut Vec<Fault>) -> Option<Table<'t>> {
    let section = file.must(name, &format!("write a section [{name}] with {holds}"), faults)?;
    section.table(faults)
}

/// A key that isn't there is no fault; one that is there and wrong was told of.
#[expect(clippy::option_option, reason = "outer: was it there, inner: could it be read")]
fn optional<T>(read: Option<Option<T>>) -> Option<Option<T>> {
    match read {
        None => Some(None),
        Some(Some(value)) => Some(Some(value)),
        Some(None) => None,
    }
}

/// A whole number with a bound of its own.
fn at_most(item: &Item<'_>, most: u32, faults: &mut Vec<Fault>) -> Option<u32> {
    let number = item.whole(faults)?;
    if number > most {
        faults.push(item.fault(format!("is too large; write {most} or less")));
        return None;
    }
    Some(number)
}

/// A key with a default.
fn or<T>(section: Option<&Table<'_>>, key: &str, default: T, read: impl FnOnce(&Item<'_>) -> Option<T>) -> Option<T> {
    section.and_then(|section| section.get(key)).map_or(Some(default), |item| read(&item))
}

fn money(section: &Table<'_>, faults: &mut Vec<Fault>) -> Option<Currency> {
    section.only(&["currency"], faults);
    section.must("currency", "write three letters such as USD or EUR", faults)?.parsed(faults)
}

/// `None` where the country isn't known yet: then the seller's own fault was told.
fn page(section: Option<&Table<'_>>, country: Option<Country>, faults: &mut Vec<Fault>) -> Option<Sheet> {
    if let Some(section) = section {
        section.only(&["page", "language"], faults);
    }
    // Where Letter is the paper in the shops: common practice, no source.
    let usual = match country.map(Country::code) {
        Some("US" | "CA" | "MX") => Sheet::Letter,
        Some(_) | None => Sheet::A4,
    };
    or(section, "page", usual, |item| item.word(&["a4", "letter"], faults))
}

/// One language for all papers that travel, or the recipient's.
#[expect(clippy::option_option, reason = "outer: could it be read, inner: is one pinned")]
fn language(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Option<Language>> {
    if item.text(faults)? == "recipient" {
        return Some(None);
    }
    item.word(&["recipient", "de", "en", "es", "fr", "ja"], faults).map(Some)
}

#[cfg(test)]
mod tests {
    use jiff::civil::Weekday;
    use rust_decimal::dec;

    use super::*;
    use crate::home::TransportRules;
    use crate::model::calendar::Holidays;
    use crate::model::rules::Combine;
    use crate::model::scale::Confidence;

    pub(super) const LEAST: &str = "[seller]\nname = \"N\"\naddress = [\"A\"]\ncountry = \"US\"\nemail = \"a@example.org\"\n\
        [day]\ntime_zone = \"America/New_York\"\n[money]\ncurrency = \"USD\"\n";

    pub(super) fn read_config(text: &str) -> (Option<Config>, Vec<String>) {
        let mut faults = Vec::new();
        let config = read(Path::new("/home"), text, &mut faults);
        (config, faults.iter().map(Fault::to_string).collect())
    }

    #[test]
    fn everything_but_seller_zone_and_currency_has_a_default() {
        let (config, faults) = read_config(LEAST);
        assert_eq!(faults, [] as [&str; 0]);
        let config = config.unwrap();
        assert_eq!(config.day.morning, jiff::civil::time(6, 30, 0, 0));
        assert_eq!(config.day.calendar.work_days, [true, true, true, true, true, true, false]);
        assert_eq!(config.day.calendar.holidays, Holidays::UsFederal);
        assert_eq!((config.day.handling_days, config.day.week_ends), (2, Weekday::Sunday));
        assert_eq!((config.packing.pins_per_roll, config.packing.combine), (dec!(5), Combine::SameRecipient));
        assert_eq!(config.mail.to, ["a@example.org"]);
        assert!(matches!(config.mail.transport, TransportRules::Folder));
        assert_eq!(config.packing.sheet, Sheet::Letter);
        // Paper and holidays follow the country.
        let (config, _) = read_config(&LEAST.replace("\"US\"", "\"DE\""));
        let config = config.unwrap();
        assert_eq!((config.packing.sheet, config.day.calendar.holidays), (Sheet::A4, Holidays::None));
    }

    #[test]
    fn what_is_missing_is_told_section_by_section() {
        assert_eq!(
            read_config("[day]\n").1,
            [
                "dawnpack.toml, key `seller`: is missing; write a section [seller] with `name`, `address`, `country` and \
                 `email`",
                "dawnpack.toml, line 1, key `day.time_zone`: is missing; write it as in America/New_York",
                "dawnpack.toml, key `money`: is missing; write a section [money] with `currency = \"USD\"`, or yours",
            ]
        );
    }

    #[test]
    fn every_fault_of_the_file_is_told() {
        let text = "[seller]\nname = \"N\"\naddress = []\ncountry = \"Atlantis\"\nemail = \"owner\"\n[day]\n\
            time_zone = \"America/NewYork\"\nmorning = \"6:30 am\"\nwork_days = [\"mon\", \"funday\"]\n\
            holidays = \"bank\"\nhandling_days = -1\nweek_ends = \"sunday\"\n[packing]\npins_per_roll = 0.5\n\
            turns = 2.5\nwrap_layer_mm = 0\nwrap_g_per_m2 = \"sixty\"\ncard_overhang_mm = -1\ncombine = \"always\"\n\
            [money]\ncurrency = \"dollar\"\n[mail]\ntransport = \"pigeon\"\nto = [\"a@example.org\", \"b\"]\n[papers]\n\
            page = \"A5\"\n[seler]\n";
        let (config, faults) = read_config(text);
        assert!(config.is_none());
        assert_eq!(
            faults,
            [
                "dawnpack.toml, line 27, key `seler`: is unknown; did you mean `seller`?",
                "dawnpack.toml, line 3, key `seller.address`: `[]` is empty; write the lines of your address",
                "dawnpack.toml, line 4, key `seller.country`: `Atlantis` is not a country of ISO 3166-1; write its \
                 two-letter code, such as US or DE",
                "dawnpack.toml, line 5, key `seller.email`: `owner` is not an email address; write it as \
                 owner@example.org",
                "dawnpack.toml, line 7, key `day.time_zone`: `America/NewYork` is no time zone; did you mean \
                 `America/New_York`?",
                "dawnpack.toml, line 8, key `day.morning`: `6:30 am` is not a time of day; write hours and minutes, such \
                 as 06:30",
                "dawnpack.toml, line 9, key `day.work_days[2]`: `funday` is none of the words that can stand here; write \
                 mon, tue, wed, thu, fri, sat or sun",
                "dawnpack.toml, line 10, key `day.holidays`: `bank` is no list of holidays; write us-federal, none, or \
                 the name of a .csv file",
                "dawnpack.toml, line 11, key `day.handling_days`: `-1` is not a whole number; write it in digits, such as \
                 12",
                "dawnpack.toml, line 12, key `day.week_ends`: `sunday` is none of the words that can stand here; write \
                 mon, tue, wed, thu, fri, sat or sun",
                "dawnpack.toml, line 14, key `packing.pins_per_roll`: `0.5` is less than one pin; five is the usual most",
                "dawnpack.toml, line 15, key `packing.turns`: `2.5` is not a whole number; write it in digits, such as 2",
                "dawnpack.toml, line 16, key `packing.wrap_layer_mm`: `0` is not above zero",
                "dawnpack.toml, line 17, key `packing.wrap_g_per_m2`: `sixty` is not a number; write it in digits with a \
                 point, such as 9.5",
                "dawnpack.toml, line 18, key `packing.card_overhang_mm`: `-1` is below zero",
                "dawnpack.toml, line 19, key `packing.combine`: `always` is none of the words that can stand here; write \
                 same-recipient or never",
                "dawnpack.toml, line 21, key `money.currency`: `dollar` is not an ISO 4217 currency code; write three \
                 letters such as USD or EUR",
                "dawnpack.toml, line 24, key `mail.to[2]`: `b` is not an email address; write it as owner@example.org",
                "dawnpack.toml, line 23, key `mail.transport`: `pigeon` is none of the words that can stand here; write \
                 folder or smtp",
                "dawnpack.toml, line 26, key `papers.page`: `A5` is none of the words that can stand here; write a4 or \
                 letter",
            ]
        );
    }

    #[test]
    fn a_declared_weight_holds_as_often_as_is_asked() {
        let with = |key: &str| read_config(&format!("{LEAST}[packing]\n{key}\n[papers]\npage = \"letter\"\n"));
        let packing = with("declare_with = 0.99").0.unwrap().packing;
        assert_eq!((packing.declare_with, packing.sheet), (Confidence::try_from(dec!(0.99)).unwrap(), Sheet::Letter));
        assert_eq!(with("turns = 3").0.unwrap().packing.declare_with, Confidence::USUAL);
        assert_eq!(
            with("declare_with = 97.5").1,
            [
                "dawnpack.toml, line 11, key `packing.declare_with`: `97.5` is not from 0.5 to 0.9999; write how often the \
                 declared weight must hold, such as 0.975"
            ]
        );
    }

    #[test]
    fn an_address_that_no_message_takes_is_a_fault() {
        for (email, why) in [
            ("owner@example..org", "is not an email address; write it as owner@example.org"),
            ("own er@example.org", "holds a space or control character; write it without"),
            ("a@möwe.example", "holds letters beyond ASCII; write its domain in the xn-- form"),
        ] {
            let (_, faults) = read_config(&LEAST.replace("a@example.org", email));
            assert_eq!(faults, [format!("dawnpack.toml, line 5, key `seller.email`: `{email}` {why}")]);
        }
    }

    #[test]
    fn a_town_alone_is_enough_to_offer_its_zone() {
        let (_, faults) = read_config(&LEAST.replace("America/New_York", "New York"));
        assert_eq!(
            faults,
            [
                "dawnpack.toml, line 7, key `day.time_zone`: `New York` is no time zone; did you mean `America/New_York`?"
            ]
        );
    }

    #[test]
    fn the_port_follows_the_security_and_a_user_needs_a_password() {
        let with = |smtp: &str| read_config(&format!("{LEAST}[mail]\ntransport = \"smtp\"\n{smtp}"));
        for (security, port) in [("tls", 465), ("starttls", 587), ("none", 25)] {
            let (config, faults) =
                with(&format!("[mail.smtp]\nhost = \"h\"\nsecurity = \"{security}\"\nca_file = \"a.pem\"\n"));
            assert_eq!(faults, [] as [&str; 0]);
            let TransportRules::Smtp(rules) = config.unwrap().mail.transport else { panic!("{security}") };
            assert_eq!((rules.port, rules.ca_file), (port, Some("/home/a.pem".into())), "{security}");
        }
        let missing = "dawnpack.toml, line 10, key `mail.smtp`: is missing; `transport = \"smtp\"` needs a section \
                       [mail.smtp] with `host`";
        assert_eq!(with("").1, [missing]);
        let missing = "dawnpack.toml, line 12, key `mail.smtp.password_file`: is missing; with `user`, write the file \
                       that holds the password";
        assert_eq!(with("[mail.smtp]\nhost = \"h\"\nuser = \"u\"\n").1, [missing]);
        let port = "dawnpack.toml, line 14, key `mail.smtp.port`: `70000` is no port; write a number from 1 to 65535";
        assert_eq!(with("[mail.smtp]\nhost = \"h\"\nport = 70000\n").1, [port]);
    }
}
