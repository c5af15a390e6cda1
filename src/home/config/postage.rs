//! `[postage]` of `dawnpack.toml`: what the seller asks of a service beyond the lowest price.

use super::{optional, or};
use crate::home::fault::Fault;
use crate::home::keys::{Item, Table};
use crate::model::money::{Currency, Money};
use crate::model::rules::{PostageRules, SdrRate};

const KEYS: [&str; 6] = ["tracked_above", "signature_above", "insure_above", "max_days", "sdr_rate", "sdr_rate_on"];

/// The section's rules; without it, none. Amounts are in the home's currency: while that is at fault they are looked
/// at all the same.
pub(super) fn read(
    section: Option<&Table<'_>>,
    currency: Option<Currency>,
    faults: &mut Vec<Fault>,
) -> Option<PostageRules> {
    let Some(section) = section else { return Some(PostageRules::NONE) };
    section.only(&KEYS, faults);
    let currency = currency.unwrap_or(Currency::USD);
    let mut limit = |key: &str| {
        let read = |item: &Item<'_>| item.money(currency, faults).map(Some);
        or(Some(section), key, None, read)
    };
    let [tracked_above, signature_above, insure_above] =
        ["tracked_above", "signature_above", "insure_above"].map(&mut limit);
    let max_days = optional(section.get("max_days").map(|item| {
        item.whole(faults).filter(|days| {
            if *days == 0 {
                faults.push(item.fault("is no time to deliver in; write a day or more, or leave it out"));
            }
            *days > 0
        })
    }));
    let sdr = sdr(section, currency, faults);
    Some(PostageRules {
        tracked_above: tracked_above?,
        signature_above: signature_above?,
        insure_above: insure_above?,
        max_days: max_days?,
        sdr: optional(sdr)?,
    })
}

/// A rate without its day can't be told to be old, so both stand or neither.
#[expect(clippy::option_option, reason = "outer: was it there, inner: could it be read")]
fn sdr(section: &Table<'_>, currency: Currency, faults: &mut Vec<Fault>) -> Option<Option<SdrRate>> {
    let (rate, on) = (section.get("sdr_rate"), section.get("sdr_rate_on"));
    match (&rate, &on) {
        (Some(_), None) => {
            let mend = "is missing; write the day on which the rate was looked up, such as 2026-11-20";
            faults.push(section.fault("sdr_rate_on", mend));
        }
        (None, Some(_)) => {
            let mend = format!("is missing; write what one special drawing right is worth in {currency}");
            faults.push(section.fault("sdr_rate", mend));
        }
        (Some(_), Some(_)) => {}
        (None, None) => return None,
    }
    let one = rate.and_then(|item| item.positive(Money::BOUND, faults)).map(|amount| Money::new(amount, currency));
    let on = on.and_then(|item| item.date(faults));
    Some(one.zip(on).map(|(one, on)| SdrRate { one, on }))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use rust_decimal::dec;

    use super::super::tests::{LEAST, read_config};
    use super::*;

    #[test]
    fn rules_are_in_the_homes_currency_and_none_are_asked_unasked() {
        assert_eq!(read_config(LEAST).0.unwrap().postage, PostageRules::NONE);
        let text = "[postage]\ntracked_above = \"20.00\"\nsignature_above = 250\ninsure_above = 0\nmax_days = 5\n\
                    sdr_rate = \"1.36\"\nsdr_rate_on = 2026-11-20\n";
        let (config, faults) = read_config(&format!("{LEAST}{text}"));
        assert_eq!(faults, [] as [&str; 0]);
        let usd = |amount| Money::new(amount, Currency::USD);
        let expected = PostageRules {
            tracked_above: Some(usd(dec!(20))),
            signature_above: Some(usd(dec!(250))),
            insure_above: Some(usd(dec!(0))),
            max_days: Some(5),
            sdr: Some(SdrRate { one: usd(dec!(1.36)), on: date(2026, 11, 20) }),
        };
        assert_eq!(config.unwrap().postage, expected);
    }

    #[test]
    fn every_fault_of_the_section_is_told() {
        let text = "[postage]\ntracked_abov = 20\nsignature_above = -1\ninsure_above = \"5,00\"\nmax_days = 0\n\
                    sdr_rate = 0\nsdr_rate_on = \"November\"\n";
        let (config, faults) = read_config(&format!("{LEAST}{text}"));
        assert!(config.is_none());
        assert_eq!(
            faults,
            [
                "dawnpack.toml, line 11, key `postage.tracked_abov`: is unknown; did you mean `tracked_above`?",
                "dawnpack.toml, line 12, key `postage.signature_above`: `-1` is below zero",
                "dawnpack.toml, line 13, key `postage.insure_above`: `5,00` is not a number; write it with a point, such \
                 as 5.00",
                "dawnpack.toml, line 14, key `postage.max_days`: `0` is no time to deliver in; write a day or more, or \
                 leave it out",
                "dawnpack.toml, line 15, key `postage.sdr_rate`: `0` is not above zero",
                "dawnpack.toml, line 16, key `postage.sdr_rate_on`: `November` is not a day; write year, month and day, \
                 such as 2026-07-12",
            ]
        );
    }

    #[test]
    fn a_rate_and_its_day_stand_together() {
        let faults = |text: &str| read_config(&format!("{LEAST}[postage]\n{text}\n")).1;
        let day = "dawnpack.toml, line 10, key `postage.sdr_rate_on`: is missing; write the day on which the rate was \
                   looked up, such as 2026-11-20";
        assert_eq!(faults("sdr_rate = \"1.36\""), [day]);
        let rate = "dawnpack.toml, line 10, key `postage.sdr_rate`: is missing; write what one special drawing right is \
                    worth in USD";
        assert_eq!(faults("sdr_rate_on = 2026-11-20"), [rate]);
    }
}
