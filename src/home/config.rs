//! `dawnpack.toml`.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::civil::{Time, Weekday};
use jiff::tz::TimeZone;
use rust_decimal::Decimal;

use crate::model::calendar::{Holidays, WorkCalendar};
use crate::model::length::Length;
use crate::model::money::Currency;
use crate::model::rules::{Combine, PackingRules, Seller};

use super::fault::Fault;
use super::keys::{self, Item, Source, Table};
use super::sheet::{self, Others};
use super::{DayRules, MailRules, PageSize, SmtpRules, SmtpSecurity, TransportRules};

const FILE: &str = "dawnpack.toml";
const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

/// What the file says.
pub(super) struct Config {
    pub(super) seller: Seller,
    pub(super) day: DayRules,
    pub(super) packing: PackingRules,
    pub(super) currency: Currency,
    pub(super) mail: MailRules,
    pub(super) page: PageSize,
}

pub(super) fn read(root: &Path, text: &str, faults: &mut Vec<Fault>) -> Option<Config> {
    let source = Source { file: FILE, text };
    let parsed = keys::parse(source, faults)?;
    let table = Table::root(source, &parsed);
    table.only(&["seller", "day", "packing", "money", "mail", "papers"], faults);
    let seller = section(&table, "seller", faults).and_then(|table| seller(&table, faults));
    let day = section(&table, "day", faults).and_then(|table| day(root, &table, faults));
    let currency = section(&table, "money", faults).and_then(|table| {
        table.only(&["currency"], faults);
        table.must("currency", "write a code such as currency = \"USD\"", faults)?.parsed(faults)
    });
    let packing = packing(optional(&table, "packing", faults).as_ref(), faults);
    let mail = mail(optional(&table, "mail", faults).as_ref(), seller.as_ref(), faults);
    let page = optional(&table, "papers", faults).and_then(|table| {
        table.only(&["page"], faults);
        table.get("page")?.word(&["a4", "letter"], faults)
    });
    let seller = seller?;
    // The two sizes are sold in different parts of the world.
    let usual = if ["US", "CA", "MX"].contains(&seller.country.code()) { PageSize::Letter } else { PageSize::A4 };
    Some(Config { day: day?, packing, currency: currency?, mail: mail?, page: page.unwrap_or(usual), seller })
}

fn section<'t>(table: &Table<'t>, key: &str, faults: &mut Vec<Fault>) -> Option<Table<'t>> {
    table.must(key, &format!("add a section [{key}]"), faults)?.table(faults)
}

fn optional<'t>(table: &Table<'t>, key: &str, faults: &mut Vec<Fault>) -> Option<Table<'t>> {
    table.get(key)?.table(faults)
}

fn email(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<String> {
    let text = item.text(faults)?;
    match text.split_once('@') {
        Some((local, domain)) if !local.is_empty() && domain.contains('.') && !text.contains(char::is_whitespace) => {
            Some(text.to_owned())
        }
        Some(_) | None => {
            faults.push(item.fault("is not an email address; write it as name@example.org"));
            None
        }
    }
}

fn seller(table: &Table<'_>, faults: &mut Vec<Fault>) -> Option<Seller> {
    table.only(&["name", "address", "country", "email", "tax_id"], faults);
    let name = table.must("name", "write your name as it is to be printed", faults).and_then(|item| item.text(faults));
    let address =
        table.must("address", "write its lines in square brackets", faults).and_then(|item| item.texts(faults));
    let country = table.must("country", "write its two-letter code", faults).and_then(|item| item.parsed(faults));
    let email = table.must("email", "write your email address", faults).and_then(|item| email(&item, faults));
    let tax_id = table.get("tax_id").and_then(|item| item.text(faults));
    Some(Seller {
        name: name?.to_owned(),
        address: address?,
        country: country?,
        email: email?,
        tax_id: tax_id.map(str::to_owned),
    })
}

fn weekday(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Weekday> {
    let word = item.text(faults)?;
    let place = DAYS.iter().position(|day| *day == word);
    let found =
        place.and_then(|place| i8::try_from(place).ok()).and_then(|place| Weekday::from_monday_zero_offset(place).ok());
    if found.is_none() {
        faults.push(item.fault(keys::one_of(&DAYS)));
    }
    found
}

fn day(root: &Path, table: &Table<'_>, faults: &mut Vec<Fault>) -> Option<DayRules> {
    table.only(&["time_zone", "morning", "work_days", "holidays", "handling_days", "week_ends"], faults);
    let time_zone = table
        .must("time_zone", "write a zone of the IANA time zone database, such as America/New_York", faults)
        .and_then(|item| {
            let name = item.text(faults)?;
            TimeZone::get(name)
                .map_err(|_| {
                    faults
                        .push(item.fault("is not in the IANA time zone database; write one such as America/New_York"));
                })
                .ok()
        });
    let morning = match table.get("morning") {
        Some(item) => item.time(faults),
        None => Some(Time::constant(6, 30, 0, 0)),
    };
    let mut work_days = [true, true, true, true, true, true, false];
    if let Some(items) = table.get("work_days").and_then(|item| item.list(faults)) {
        work_days = [false; 7];
        for item in items {
            if let Some(day) = weekday(&item, faults) {
                work_days[usize::from(day.to_monday_zero_offset().unsigned_abs())] = true;
            }
        }
        if work_days == [false; 7] {
            faults.push(table.fault("work_days", "holds no day; name at least one"));
        }
    }
    let holidays = table.get("holidays").and_then(|item| holidays(root, &item, faults)).unwrap_or(Holidays::None);
    let handling_days = table.get("handling_days").and_then(|item| item.whole(faults)).unwrap_or(2);
    let week_ends = table.get("week_ends").and_then(|item| weekday(&item, faults)).unwrap_or(Weekday::Sunday);
    let calendar = WorkCalendar { work_days, holidays };
    Some(DayRules { time_zone: time_zone?, morning: morning?, calendar, handling_days, week_ends })
}

fn holidays(root: &Path, item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Holidays> {
    match item.text(faults)? {
        "none" => Some(Holidays::None),
        "us-federal" => Some(Holidays::UsFederal),
        file if file.to_lowercase().ends_with(".csv") => match fs::read_to_string(root.join(file)) {
            Ok(text) => {
                let rows = sheet::rows(file, &text, &["date"], Others::Ignored, faults);
                Some(Holidays::Listed(rows.iter().filter_map(|row| row.parsed("date", faults)).collect()))
            }
            Err(error) => {
                faults.push(item.fault(format!("can't be read ({error}); put a CSV file with a column `date` there")));
                None
            }
        },
        _ => {
            faults.push(item.fault("is no list of holidays; write \"us-federal\", \"none\", or a .csv file's name"));
            None
        }
    }
}

fn packing(table: Option<&Table<'_>>, faults: &mut Vec<Fault>) -> PackingRules {
    let mut rules = PackingRules {
        pins_per_roll: Decimal::from(5),
        turns: 2,
        wrap_layer: Length::from_mm(Decimal::from(4)),
        wrap_g_per_m2: 60.0,
        card_overhang: Length::from_mm(Decimal::from(25)),
        combine: Combine::SameRecipient,
    };
    let Some(table) = table else { return rules };
    let known = ["pins_per_roll", "turns", "wrap_layer_mm", "wrap_g_per_m2", "card_overhang_mm", "combine"];
    table.only(&known, faults);
    if let Some(shares) = table.get("pins_per_roll").and_then(|item| item.positive(faults)) {
        rules.pins_per_roll = shares;
    }
    if let Some(turns) = table.get("turns").and_then(|item| item.whole(faults)) {
        rules.turns = turns;
    }
    if let Some(layer) = table.get("wrap_layer_mm").and_then(|item| item.positive(faults)) {
        rules.wrap_layer = Length::from_mm(layer);
    }
    if let Some(grammage) = table.get("wrap_g_per_m2").and_then(|item| item.positive(faults)) {
        rules.wrap_g_per_m2 = crate::model::mass::Mass::from_g(grammage).as_f64();
    }
    if let Some(overhang) = table.get("card_overhang_mm").and_then(|item| item.not_negative(faults)) {
        rules.card_overhang = Length::from_mm(overhang);
    }
    if let Some(combine) = table.get("combine").and_then(|item| item.word(&["same-recipient", "never"], faults)) {
        rules.combine = combine;
    }
    rules
}

fn mail(table: Option<&Table<'_>>, seller: Option<&Seller>, faults: &mut Vec<Fault>) -> Option<MailRules> {
    let to_self = || seller.map(|seller| vec![seller.email.clone()]).unwrap_or_default();
    let Some(table) = table else { return Some(MailRules { transport: TransportRules::Folder, to: to_self() }) };
    table.only(&["transport", "to", "smtp"], faults);
    let to = match table.get("to").and_then(|item| item.list(faults)) {
        Some(items) => items.iter().filter_map(|item| email(item, faults)).collect(),
        None => to_self(),
    };
    let transport = match table.get("transport") {
        None => Some(TransportRules::Folder),
        Some(item) => match item.text(faults)? {
            "folder" => Some(TransportRules::Folder),
            "smtp" => section(table, "smtp", faults).and_then(|table| smtp(&table, faults)).map(TransportRules::Smtp),
            _ => {
                faults.push(item.fault(keys::one_of(&["folder", "smtp"])));
                None
            }
        },
    };
    Some(MailRules { transport: transport?, to })
}

fn smtp(table: &Table<'_>, faults: &mut Vec<Fault>) -> Option<SmtpRules> {
    table.only(&["host", "port", "security", "user", "password_file", "ca_file"], faults);
    let host = table.must("host", "write the mail server's name", faults).and_then(|item| item.text(faults));
    let security = match table.get("security") {
        Some(item) => item.word(&["tls", "starttls", "none"], faults),
        None => Some(SmtpSecurity::Tls),
    };
    // The ports of RFC 8314 and RFC 6409.
    let usual = if security == Some(SmtpSecurity::Tls) { 465 } else { 587 };
    let port = table.get("port").and_then(|item| {
        let port = u16::try_from(item.whole(faults)?).ok();
        if port.is_none() {
            faults.push(item.fault("is no port; write one below 65536, such as 465"));
        }
        port
    });
    let text =
        |key: &str, faults: &mut Vec<Fault>| table.get(key).and_then(|item| item.text(faults)).map(str::to_owned);
    let (user, password_file) = (text("user", faults), text("password_file", faults));
    if user.is_some() && password_file.is_none() {
        faults.push(table.fault("password_file", "is missing beside user; name the file that holds the password"));
    }
    let ca_file = text("ca_file", faults).map(PathBuf::from);
    Some(SmtpRules {
        host: host?.to_owned(),
        port: port.unwrap_or(usual),
        security: security?,
        user,
        password_file,
        ca_file,
    })
}
