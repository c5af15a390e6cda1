//! Working days and the holidays that fall out of them.
//!
//! Handed a [`WorkCalendar`]; promises dates reckoned for any year, so that no table runs out. Turned down: a
//! list of holidays by year, which is right until the year after the last.

use jiff::civil::{Date, Weekday};
use jiff::{Span, ToSpan};

use crate::model::calendar::{Holidays, WorkCalendar};

/// The longest run of days without a working one that is looked through: a year away from the desk, and still
/// short enough to end at once where no day of the week works.
const LONGEST_PAUSE: u32 = 400;

/// A federal holiday of the United States in one year.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Holiday {
    /// The day the statute names.
    pub statutory: Date,
    /// The day off for a working week of Monday to Friday: a Saturday moves back, a Sunday on.
    pub observed: Date,
    /// The day without mail: a Sunday moves on, a Saturday stays (from memory).
    pub mail_off: Date,
    /// Its name in the statute. No paper prints it: the published list, which days are checked against, goes by it.
    pub name: &'static str,
}

/// The eleven federal holidays of a year, by date: dates by 5 U.S.C. 6103(a), a Saturday's day off by 6103(b), a
/// Sunday's by Executive Order 11582, section 3(a). None for a year outside of -9999 to 9999.
#[must_use]
pub fn us_federal(year: i16) -> Vec<Holiday> {
    let fixed = |month, day| Date::new(year, month, day).ok();
    let nth = |month, nth, weekday| fixed(month, 1)?.nth_weekday_of_month(nth, weekday).ok();
    let named = [
        ("New Year's Day", fixed(1, 1)),
        ("Birthday of Martin Luther King, Jr.", nth(1, 3, Weekday::Monday)),
        ("Washington's Birthday", nth(2, 3, Weekday::Monday)),
        ("Memorial Day", nth(5, -1, Weekday::Monday)),
        ("Juneteenth National Independence Day", fixed(6, 19)),
        ("Independence Day", fixed(7, 4)),
        ("Labor Day", nth(9, 1, Weekday::Monday)),
        ("Columbus Day", nth(10, 2, Weekday::Monday)),
        ("Veterans Day", fixed(11, 11)),
        ("Thanksgiving Day", nth(11, 4, Weekday::Thursday)),
        ("Christmas Day", fixed(12, 25)),
    ];
    named
        .into_iter()
        .filter_map(|(name, statutory)| {
            let statutory = statutory?;
            let moved = |days: i64| shifted(statutory, days.days());
            let (observed, mail_off) = match statutory.weekday() {
                Weekday::Saturday => (moved(-1), statutory),
                Weekday::Sunday => (moved(1), moved(1)),
                Weekday::Monday | Weekday::Tuesday | Weekday::Wednesday | Weekday::Thursday | Weekday::Friday => {
                    (statutory, statutory)
                }
            };
            Some(Holiday { statutory, observed, mail_off, name })
        })
        .collect()
}

/// Whether the seller works and mail is taken on `day`.
#[must_use]
pub fn is_business_day(calendar: &WorkCalendar, day: Date) -> bool {
    calendar.works_on(day.weekday())
        && !calendar.is_away(day)
        && match &calendar.holidays {
            Holidays::None => true,
            Holidays::UsFederal => us_federal(day.year()).iter().all(|holiday| holiday.mail_off != day),
            Holidays::Listed(days) => !days.contains(&day),
        }
}

/// The `days`-th working day strictly after `from`; for 0, `from` itself or the next working day. Where the
/// calendar has no working day within reach, `from`.
#[must_use]
pub fn add_business_days(calendar: &WorkCalendar, from: Date, days: u32) -> Date {
    if days == 0 {
        return on_or_after(&[calendar], from);
    }
    let mut day = from;
    for _ in 0..days {
        match search(&[calendar], shifted(day, 1.day()), 1.day()) {
            Some(next) if next > day => day = next,
            // The calendar's last day is reached, or no day works.
            Some(_) => break,
            None => return from,
        }
    }
    day
}

/// `day` if it is a working day of all `calendars`, else the next one that is. Where there is none within reach, `day`.
#[must_use]
pub fn on_or_after(calendars: &[&WorkCalendar], day: Date) -> Date {
    search(calendars, day, 1.day()).unwrap_or(day)
}

/// `day` if it is a working day of all `calendars`, else the last one before it. Where there is none within reach,
/// `day`.
#[must_use]
pub fn on_or_before(calendars: &[&WorkCalendar], day: Date) -> Date {
    search(calendars, day, -1.day()).unwrap_or(day)
}

fn search(calendars: &[&WorkCalendar], from: Date, step: Span) -> Option<Date> {
    let mut day = from;
    for _ in 0..LONGEST_PAUSE {
        if calendars.iter().all(|calendar| is_business_day(calendar, day)) {
            return Some(day);
        }
        day = shifted(day, step);
    }
    None
}

/// Saturates at the ends of the calendar, some eight thousand years off.
fn shifted(day: Date, span: Span) -> Date {
    day.saturating_add(span)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn six_days() -> WorkCalendar {
        WorkCalendar {
            work_days: [true, true, true, true, true, true, false],
            holidays: Holidays::UsFederal,
            away: Vec::new(),
        }
    }

    #[test]
    fn thanksgiving_is_no_working_day() {
        let wednesday = date(2026, 11, 25);
        assert_eq!(add_business_days(&six_days(), wednesday, 1), date(2026, 11, 27));
        assert_eq!(add_business_days(&six_days(), wednesday, 2), date(2026, 11, 28));
    }

    #[test]
    fn payment_on_a_sunday_counts_from_monday() {
        assert_eq!(add_business_days(&six_days(), date(2026, 11, 22), 2), date(2026, 11, 24));
        assert_eq!(on_or_after(&[&six_days()], date(2026, 11, 22)), date(2026, 11, 23));
        assert_eq!(on_or_before(&[&six_days()], date(2026, 11, 22)), date(2026, 11, 21));
    }

    #[test]
    fn of_two_calendars_a_day_works_that_works_in_both() {
        let weekdays = WorkCalendar { work_days: [true, true, true, true, true, false, false], ..six_days() };
        let post = [&six_days(), &weekdays];
        assert_eq!(on_or_after(&post, date(2026, 11, 28)), date(2026, 11, 30));
        assert_eq!(on_or_before(&post, date(2026, 11, 29)), date(2026, 11, 27));
    }

    #[test]
    fn a_week_without_working_days_ends_the_search() {
        let idle = WorkCalendar { work_days: [false; 7], holidays: Holidays::None, away: Vec::new() };
        assert_eq!(add_business_days(&idle, date(2026, 11, 25), 2), date(2026, 11, 25));
        assert_eq!(on_or_after(&[&idle], date(2026, 11, 25)), date(2026, 11, 25));
        assert_eq!(on_or_before(&[&idle], date(2026, 11, 25)), date(2026, 11, 25));
    }

    #[test]
    fn three_months_off_are_skipped_and_the_last_day_ends_the_count() {
        let mut days = std::collections::BTreeSet::new();
        let mut day = date(2026, 6, 1);
        while day <= date(2026, 8, 31) {
            days.insert(day);
            day = shifted(day, 1.day());
        }
        let away = WorkCalendar { work_days: [true; 7], holidays: Holidays::Listed(days), away: Vec::new() };
        assert_eq!(add_business_days(&away, date(2026, 5, 31), 1), date(2026, 9, 1));
        assert_eq!(add_business_days(&away, date(9999, 12, 30), u32::MAX), Date::MAX);
    }

    /// Saturday the 4th of July 2026 stays a Saturday for mail; Sunday the 4th of July 2027 moves to Monday.
    #[test]
    fn a_holiday_on_the_weekend_moves_for_mail_only_from_sunday() {
        let every = WorkCalendar { work_days: [true; 7], ..six_days() };
        assert!(is_business_day(&every, date(2026, 7, 3)) && !is_business_day(&every, date(2026, 7, 4)));
        assert!(is_business_day(&every, date(2027, 7, 4)) && !is_business_day(&every, date(2027, 7, 5)));
        assert!(us_federal(i16::MAX).is_empty());
    }
}
