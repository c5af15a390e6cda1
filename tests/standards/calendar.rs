//! Holidays against the statute.

use dawnpack::model::calendar::{Holidays, WorkCalendar};
use dawnpack::plan::calendar::{is_business_day, us_federal};
use jiff::civil::Date;

use super::data::table;

/// 5 U.S.C. 6103(a) and (b), Executive Order 11582 section 3(a), USPS Employee and Labor Relations Manual 518: five
/// years of eleven holidays. That a Saturday's holiday stays on Saturday for mail is from memory.
#[test]
fn federal_holidays_fall_as_the_statute_says() {
    let rows = table("holidays_2024_2028.csv");
    assert_eq!(rows.len(), 55);
    let every_day = WorkCalendar { work_days: [true; 7], holidays: Holidays::UsFederal, away: Vec::new() };
    for row in &rows {
        let day = |column: &str| row[column].parse::<Date>().unwrap();
        let statutory = day("statutory_date");
        let holidays = us_federal(statutory.year());
        let found = holidays.iter().find(|holiday| holiday.statutory == statutory).unwrap_or_else(|| panic!("{row:?}"));
        assert_eq!((found.observed, found.mail_off), (day("observed_date"), day("mail_off_date")), "{row:?}");
        assert_eq!(found.name, row["holiday"], "{row:?}");
    }
    // And no other day of the five years is off.
    let off: Vec<Date> = rows.iter().map(|row| row["mail_off_date"].parse().unwrap()).collect();
    let mut day = Date::new(2024, 1, 1).unwrap();
    while day.year() < 2029 {
        assert_eq!(is_business_day(&every_day, day), !off.contains(&day), "{day}");
        day = day.tomorrow().unwrap();
    }
}
