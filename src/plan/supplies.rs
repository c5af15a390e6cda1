//! How long the mailers on hand last, and which run low.
//!
//! Handed the mailers, what is taken of each since they were counted, and how many of each the last work days used, a
//! day at a time; promises one forecast for each mailer that is counted, by code. The rate is the plain mean over all
//! days handed in, days on which none was used among them: orders come in lumps, and a rate of the busy days alone
//! would have the seller buy too soon. Turned down: weighting late days more, which at a few parcels a day follows
//! chance. Wrap isn't forecast, as nothing says how much of it is on hand.

use std::collections::BTreeMap;

use jiff::civil::Date;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::model::calendar::WorkCalendar;
use crate::model::mailer::Mailer;
use crate::model::supply::SupplyForecast;
use crate::plan::calendar;

/// Work days for which mailers should last; buying takes about a week. Common practice, no source.
pub const LOW_DAYS: u32 = 5;
/// Work days beyond which no day is named: the rate of today says nothing of them.
const FARTHEST: u32 = 250;

/// Forecasts from the morning of `date`, after `taken` is taken, today's parcels with it. `used` has one entry for each of
/// the last work days, oldest or newest first: mailers used on it by code, none if it had no parcel.
#[must_use]
pub fn forecast(
    mailers: &[Mailer],
    taken: &BTreeMap<String, u32>,
    used: &[BTreeMap<String, u32>],
    calendar: &WorkCalendar,
    date: Date,
) -> Vec<SupplyForecast> {
    let counted = mailers.iter().filter_map(|mailer| {
        let on_hand = mailer.on_hand?.saturating_sub(taken.get(&mailer.code).copied().unwrap_or(0));
        let sum: Decimal = used.iter().filter_map(|day| day.get(&mailer.code)).map(|count| Decimal::from(*count)).sum();
        // The count lasts for as many days as the rate goes into it: by the sum and not by a rounded rate.
        let lasts = Decimal::from(on_hand) * Decimal::from(used.len());
        let days_left = lasts.checked_div(sum).and_then(|days| days.floor().to_u32());
        let runs_out_on = days_left
            .filter(|days| *days < FARTHEST)
            .map(|days| calendar::add_business_days(calendar, date, days.saturating_add(1)));
        Some(SupplyForecast { code: mailer.code.clone(), title: mailer.title.clone(), on_hand, days_left, runs_out_on })
    });
    let mut forecasts: Vec<SupplyForecast> = counted.collect();
    forecasts.sort_by(|a, b| a.code.cmp(&b.code));
    forecasts
}

/// Those that don't last for [`LOW_DAYS`] work days, the first to run out first.
#[must_use]
pub fn low(forecasts: &[SupplyForecast]) -> Vec<&SupplyForecast> {
    let mut low: Vec<&SupplyForecast> = forecasts.iter().filter(|forecast| forecast.runs_low(LOW_DAYS)).collect();
    low.sort_by_key(|forecast| (forecast.days_left.unwrap_or(0), &forecast.code));
    low
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use proptest::prelude::*;

    use super::*;
    use crate::model::calendar::Holidays;
    use crate::model::length::Length;
    use crate::model::mass::Mass;

    fn calendar() -> WorkCalendar {
        WorkCalendar {
            work_days: [true, true, true, true, true, true, false],
            holidays: Holidays::UsFederal,
            away: Vec::new(),
        }
    }

    fn mailer(code: &str, on_hand: Option<u32>) -> Mailer {
        Mailer {
            code: code.into(),
            title: format!("mailer {code}"),
            inner_width: Length::ZERO,
            inner_length: Length::ZERO,
            max_thickness: Length::ZERO,
            tare: Mass::ZERO,
            cost: None,
            on_hand,
            reused: false,
        }
    }

    fn day(used: &[(&str, u32)]) -> BTreeMap<String, u32> {
        used.iter().map(|(code, count)| ((*code).to_owned(), *count)).collect()
    }

    /// By hand: 12 on hand and 2 taken leave 10; 3 + 0 + 4 in three days are 2.33 a day, and 10 · 3 / 7 = 4.28 days. From
    /// Wednesday 25 November 2026 the next work days are Friday (Thanksgiving is off), Saturday, Monday, Tuesday:
    /// on the fifth, Wednesday 2 December, there are too few.
    #[test]
    fn ten_at_seven_in_three_days_last_four() {
        let used = [day(&[("A", 3)]), day(&[]), day(&[("A", 4), ("B", 1)])];
        let mailers = [mailer("B", Some(40)), mailer("A", Some(12)), mailer("C", Some(0)), mailer("D", None)];
        let taken = BTreeMap::from([("A".to_owned(), 2)]);
        let found = forecast(&mailers, &taken, &used, &calendar(), date(2026, 11, 25));
        let [a, b, c] = found.as_slice() else { panic!("{found:?}") };
        assert_eq!((a.on_hand, a.days_left), (10, Some(4)));
        assert_eq!(a.runs_out_on, Some(date(2026, 12, 2)));
        assert_eq!(b.days_left, Some(120));
        assert_eq!((c.days_left, c.runs_out_on), (None, None));
        let codes: Vec<&str> = low(&found).iter().map(|forecast| forecast.code.as_str()).collect();
        assert_eq!(codes, ["C", "A"]);
    }

    #[test]
    fn without_days_nothing_is_foretold() {
        let found = forecast(&[mailer("A", Some(3))], &BTreeMap::new(), &[], &calendar(), date(2026, 11, 25));
        assert_eq!((found[0].on_hand, found[0].days_left), (3, None));
        assert!(low(&found).is_empty());
    }

    proptest! {
        #[test]
        fn as_many_days_as_it_says_and_not_one_more(on_hand in 0_u32..300, used in prop::collection::vec(0_u32..9, 1..20)) {
            let days: Vec<_> = used.iter().map(|count| day(&[("A", *count)])).collect();
            let found = forecast(&[mailer("A", Some(on_hand))], &BTreeMap::new(), &days, &calendar(), date(2026, 11, 25));
            let (sum, count) = (used.iter().sum::<u32>(), u32::try_from(used.len()).unwrap());
            if let Some(left) = found[0].days_left {
                prop_assert!(left * sum <= on_hand * count && on_hand * count < (left + 1) * sum);
            } else {
                prop_assert_eq!(sum, 0);
            }
        }
    }
}
