//! `dawnpack.toml`: who sends, when the day begins, how it is packed and mailed.
//!
//! Handed the file's text; promises checked rules, or every fault of the file. Everything but the seller, the
//! time zone and the currency has a default, and where a country has its own habit the default follows the
//! seller's country. Turned down: defaults read from a second file, which would have to be found and versioned.

use std::path::Path;

use jiff::civil::{Date, Time, Weekday};
use jiff::tz::TimeZone;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::fault::{Fault, nearest};
use super::keys::{self, Item, Source, Table, one_of};
use super::{DayRules, MailRules, SmtpRules, SmtpSecurity, TransportRules, holidays, tax};
use crate::mail::address as mail_address;
use crate::model::address::Country;
use crate::model::bound::Bound;
use crate::model::calendar::{Holidays, WorkCalendar};
use crate::model::language::Language;
use crate::model::length::Length;
use crate::model::money::Currency;
use crate::model::rules::{PackingRules, PostageRules, Seller};
use crate::model::scale::{Confidence, NoConfidence, Sheet};

mod postage;

/// The file's name.
pub(super) const FILE: &str = "dawnpack.toml";

/// A year: who needs longer to pack has no handling time to speak of.
const MOST_HANDLING_DAYS: u32 = 365;

const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

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
        .and_then(|section| seller(&section, faults));
    // The country is known or told of by now; until it is mended, its defaults are those of no country.
    let country = seller.as_ref().map(|seller| seller.country);
    let day = must_section(&file, "day", "`time_zone = \"America/New_York\"`, or yours", faults)
        .and_then(|section| day(root, &section, country, faults));
    let packing = packing(section(&file, "packing", faults).as_ref(), faults);
    let currency = must_section(&file, "money", "`currency = \"USD\"`, or yours", faults)
        .and_then(|section| money(&section, faults));
    let postage = postage::read(section(&file, "postage", faults).as_ref(), currency, faults);
    let mail = mail(root, section(&file, "mail", faults).as_ref(), seller.as_ref(), faults);
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

fn seller(section: &Table<'_>, faults: &mut Vec<Fault>) -> Option<Seller> {
    section.only(&["name", "address", "country", "email", "tax_id", "tax"], faults);
    let name = section.must("name", "write the name that papers carry", faults).and_then(|item| item.text(faults));
    let address = section.must("address", "write the lines of your address, in a list", faults).and_then(|item| {
        let lines = item.texts(faults)?;
        if lines.is_empty() {
            faults.push(item.fault("is empty; write the lines of your address"));
            return None;
        }
        Some(lines)
    });
    let country = section
        .must("country", "write your country's two-letter code, such as US", faults)
        .and_then(|item| item.parsed::<Country>(faults));
    let email = section
        .must("email", "write the address that the morning email comes from", faults)
        .and_then(|item| email(&item, faults));
    let tax_id = section.get("tax_id").map(|item| item.text(faults));
    let tax = section.get("tax").map(|item| item.table(faults).and_then(|section| tax::read(&section, faults)));
    Some(Seller {
        name: name?.to_owned(),
        address: address?,
        country: country?,
        email: email?,
        tax_id: optional(tax_id)?.map(str::to_owned),
        tax: optional(tax)?.unwrap_or_default(),
        language: None,
    })
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

/// By the one rule that messages are composed by, so that what passes here can be mailed to.
fn email(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<String> {
    let text = item.text(faults)?;
    mail_address(text).map_err(|why| faults.push(item.fault(why.to_string()))).ok()?;
    Some(text.to_owned())
}

fn day(root: &Path, section: &Table<'_>, country: Option<Country>, faults: &mut Vec<Fault>) -> Option<DayRules> {
    let known = [
        "time_zone",
        "morning",
        "work_days",
        "holidays",
        "handling_days",
        "week_ends",
        "cut_off",
        "away",
        "post_days",
        "post_holidays",
    ];
    section.only(&known, faults);
    let zone =
        section.must("time_zone", "write it as in America/New_York", faults).and_then(|item| time_zone(&item, faults));
    let some = Some(section);
    let morning = or(some, "morning", Time::constant(6, 30, 0, 0), |item| item.time(faults));
    let work_days = or(some, "work_days", [true, true, true, true, true, true, false], |item| work_days(item, faults));
    let usual = match country {
        Some(country) if country.code() == "US" => Holidays::UsFederal,
        Some(_) | None => Holidays::None,
    };
    let holidays = or(some, "holidays", usual, |item| holidays::read(root, item, faults));
    let handling_days = or(some, "handling_days", 2, |item| at_most(item, MOST_HANDLING_DAYS, faults));
    let week_ends = or(some, "week_ends", Weekday::Sunday, |item| weekday(item, faults));
    let cut_off = or(some, "cut_off", None, |item| item.time(faults).map(Some));
    let away = or(some, "away", Vec::new(), |item| away(item, faults));
    let (work_days, holidays) = (work_days?, holidays?);
    let post_days = or(some, "post_days", work_days, |item| self::work_days(item, faults));
    let post_holidays = or(some, "post_holidays", holidays.clone(), |item| holidays::read(root, item, faults));
    Some(DayRules {
        time_zone: zone?,
        morning: morning?,
        calendar: WorkCalendar { work_days, holidays, away: away? },
        post: WorkCalendar { work_days: post_days?, holidays: post_holidays?, away: Vec::new() },
        cut_off: cut_off?,
        handling_days: handling_days?,
        week_ends: week_ends?,
    })
}

fn time_zone(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<TimeZone> {
    let name = item.text(faults)?;
    if let Ok(zone) = TimeZone::get(name) {
        return Some(zone);
    }
    let known: Vec<String> = jiff::tz::db().available().map(|name| name.as_str().to_owned()).collect();
    let last = name.rsplit('/').next().unwrap_or(name).replace(' ', "_");
    let by_town = known.iter().find(|known| known.ends_with(&format!("/{last}"))).map(String::as_str);
    let mend = match by_town.or_else(|| nearest(name, known.iter().map(String::as_str))) {
        Some(near) => format!("is no time zone; did you mean `{near}`?"),
        None => "is no time zone; write a name of the IANA database, such as America/New_York".to_owned(),
    };
    faults.push(item.fault(mend));
    None
}

fn weekday(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Weekday> {
    let text = item.text(faults)?;
    let place = (0i8..).zip(DAYS).find(|(_, word)| *word == text).map(|(place, _)| place);
    let day = place.and_then(|place| Weekday::from_monday_zero_offset(place).ok());
    if day.is_none() {
        faults.push(item.fault(one_of(&DAYS)));
    }
    day
}

fn work_days(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<[bool; 7]> {
    let items = item.list(faults)?;
    let days: Vec<Option<Weekday>> = items.iter().map(|item| weekday(item, faults)).collect();
    let days: Vec<Weekday> = days.into_iter().collect::<Option<_>>()?;
    if days.is_empty() {
        faults.push(item.fault("names no day; without a working day nothing ever falls due"));
        return None;
    }
    let mut works = [false; 7];
    for (offset, works) in (0i8..).zip(&mut works) {
        *works = days.iter().any(|day| day.to_monday_zero_offset() == offset);
    }
    Some(works)
}

/// `[ { from = 2026-12-24, to = 2027-01-02 } ]`, both days included.
fn away(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Vec<(Date, Date)>> {
    let times = item.list(faults)?.into_iter().map(|item| {
        let time = item.table(faults)?;
        time.only(&["from", "to"], faults);
        let mut day = |key| time.must(key, "write a day such as 2026-12-24", faults)?.date(faults);
        let (from, to) = (day("from")?, day("to")?);
        if to < from {
            faults.push(item.fault("ends before it begins; write the first day as `from`, the last as `to`"));
            return None;
        }
        Some((from, to))
    });
    times.collect::<Vec<_>>().into_iter().collect()
}

fn packing(section: Option<&Table<'_>>, faults: &mut Vec<Fault>) -> Option<PackingRules> {
    if let Some(section) = section {
        let known =
            ["pins_per_roll", "turns", "wrap_layer_mm", "wrap_g_per_m2", "card_overhang_mm", "combine", "declare_with"];
        section.only(&known, faults);
    }
    let usual = PackingRules::USUAL;
    let pins_per_roll = or(section, "pins_per_roll", usual.pins_per_roll, |item| {
        item.positive(Bound::FACTOR, faults).filter(|pins| {
            let enough = *pins >= Decimal::ONE;
            if !enough {
                faults.push(item.fault("is less than one pin; five is the usual most"));
            }
            enough
        })
    });
    let turns = or(section, "turns", usual.turns, |item| at_most(item, PackingRules::MOST_TURNS, faults));
    let wrap_layer = or(section, "wrap_layer_mm", usual.wrap_layer, |item| item.mm(faults));
    let wrap_g_per_m2 =
        or(section, "wrap_g_per_m2", usual.wrap_g_per_m2, |item| item.positive(Bound::FACTOR, faults)?.to_f64());
    let card_overhang = or(section, "card_overhang_mm", usual.card_overhang, |item| {
        item.not_negative(Length::BOUND, faults).map(Length::from_mm)
    });
    let combine = or(section, "combine", usual.combine, |item| item.word(&["same-recipient", "never"], faults));
    let declare_with = or(section, "declare_with", usual.declare_with, |item| {
        let share = item.decimal(Bound::FACTOR, faults)?;
        let message = |error: NoConfidence| keys::without_value(&error.to_string(), &share.to_string()).to_owned();
        Confidence::try_from(share).map_err(|error| faults.push(item.fault(message(error)))).ok()
    });
    Some(PackingRules {
        pins_per_roll: pins_per_roll?,
        turns: turns?,
        wrap_layer: wrap_layer?,
        wrap_g_per_m2: wrap_g_per_m2?,
        card_overhang: card_overhang?,
        combine: combine?,
        sheet: usual.sheet,
        declare_with: declare_with?,
    })
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

fn mail(
    root: &Path,
    section: Option<&Table<'_>>,
    seller: Option<&Seller>,
    faults: &mut Vec<Fault>,
) -> Option<MailRules> {
    if let Some(section) = section {
        section.only(&["transport", "to", "smtp"], faults);
    }
    let to = match section.and_then(|section| section.get("to")) {
        Some(item) => recipients(&item, faults),
        None => seller.map(|seller| vec![seller.email.clone()]),
    };
    let smtp = section.and_then(|section| section.get("smtp")).map(|item| {
        let section = item.table(faults)?;
        smtp(root, &section, faults)
    });
    let by_smtp = or(section, "transport", false, |item| match item.text(faults)? {
        "folder" => Some(false),
        "smtp" => Some(true),
        _ => {
            faults.push(item.fault(one_of(&["folder", "smtp"])));
            None
        }
    });
    let transport = match (by_smtp?, smtp) {
        (false, None | Some(Some(_))) => Some(TransportRules::Folder),
        (true, Some(Some(rules))) => Some(TransportRules::Smtp(rules)),
        (true, None) => {
            let mend = "is missing; `transport = \"smtp\"` needs a section [mail.smtp] with `host`";
            faults.extend(section.map(|section| section.fault("smtp", mend)));
            None
        }
        (_, Some(None)) => None,
    };
    Some(MailRules { transport: transport?, to: to? })
}

fn recipients(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Vec<String>> {
    let items = item.list(faults)?;
    let read: Vec<Option<String>> = items.iter().map(|item| email(item, faults)).collect();
    let to: Vec<String> = read.into_iter().collect::<Option<_>>()?;
    if to.is_empty() {
        faults.push(item.fault("names nobody; the morning email needs a reader"));
        return None;
    }
    Some(to)
}

fn smtp(root: &Path, section: &Table<'_>, faults: &mut Vec<Fault>) -> Option<SmtpRules> {
    section.only(&["host", "port", "security", "user", "password_file", "ca_file"], faults);
    let host = section.must("host", "write the mail server's name", faults).and_then(|item| item.text(faults));
    let some = Some(section);
    let words = ["tls", "starttls", "none"];
    let security = or(some, "security", SmtpSecurity::Tls, |item| item.word(&words, faults));
    // RFC 8314, section 3.3 (465 for TLS), RFC 6409, section 3.1 (587), RFC 5321, section 4.5.4.2 (25).
    let usual = match security {
        Some(SmtpSecurity::Tls) | None => 465,
        Some(SmtpSecurity::StartTls) => 587,
        Some(SmtpSecurity::None) => 25,
    };
    let port = or(some, "port", usual, |item| {
        let port = u16::try_from(item.whole(faults)?).ok().filter(|port| *port > 0);
        if port.is_none() {
            faults.push(item.fault("is no port; write a number from 1 to 65535"));
        }
        port
    });
    let user = optional(section.get("user").map(|item| item.text(faults)));
    // Both files are opened when mail is sent: a credential only exists within the service.
    let password_file = optional(section.get("password_file").map(|item| item.text(faults).map(str::to_owned)));
    let ca_file = optional(section.get("ca_file").map(|item| item.text(faults).map(|file| root.join(file))));
    if let (Some(Some(_)), Some(None)) = (user, &password_file) {
        faults.push(section.fault("password_file", "is missing; with `user`, write the file that holds the password"));
        return None;
    }
    Some(SmtpRules {
        host: host?.to_owned(),
        port: port?,
        security: security?,
        user: user?.map(str::to_owned),
        password_file: password_file?,
        ca_file: ca_file?,
    })
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;
    use crate::model::rules::Combine;

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
