//! `[day]` of `dawnpack.toml`: when the day begins, and which days are worked.

use std::path::Path;

use jiff::civil::{Date, Time, Weekday};
use jiff::tz::TimeZone;

use super::{at_most, or};
use crate::home::fault::{Fault, nearest};
use crate::home::keys::{Item, Table, one_of};
use crate::home::{DayRules, holidays};
use crate::model::address::Country;
use crate::model::calendar::{Holidays, WorkCalendar};

/// A year: who needs longer to pack has no handling time to speak of.
const MOST_HANDLING_DAYS: u32 = 365;

const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

/// The section's rules; where it says nothing of holidays, the country's habit holds.
pub(super) fn read(
    root: &Path,
    section: &Table<'_>,
    country: Option<Country>,
    faults: &mut Vec<Fault>,
) -> Option<DayRules> {
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
