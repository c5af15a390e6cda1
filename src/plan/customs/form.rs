//! The smaller form or the larger: CN 22 or CN 23.
//!
//! CN 22 is for letter post up to 300 special drawing rights and 2 kg. At exactly 300 operators differ (UPU form CN 22,
//! note (1): "over 300 SDR" takes CN 23; others print "from 300 SDR"), so the larger is taken there.
//! What a right is worth moves daily, and no rate is built in: without one, or with one too old to rely on, the larger
//! form is taken, and the reason says so. The larger is accepted wherever the smaller is; the smaller in its place gets
//! a parcel sent back. Turned down: asking, since there is an answer that is never wrong; and a rate from the network,
//! which this room can't reach.

use jiff::civil::Date;
use rust_decimal::{Decimal, dec};

use crate::model::customs::Form;
use crate::model::mass::{Mass, MassUnit, Weight};
use crate::model::money::Money;
use crate::model::rules::SdrRate;

/// From this value on, CN 23 (UPU form CN 22, note (1)).
const LIMIT_SDR: Decimal = dec!(300);
/// The heaviest small packet (UPU letter post).
const LIMIT_KG: Decimal = dec!(2);
/// Days for which a rate is relied on to the last cent. Common practice, no source.
const FRESH_DAYS: i32 = 31;
/// Days after which it isn't relied on at all. Common practice, no source.
const OLD_DAYS: i32 = 366;
/// How far an older rate may have moved: by a tenth, more than it did in most years; from memory.
const MARGIN: Decimal = dec!(1.1);

/// What decides.
#[derive(Clone, Copy, Debug)]
pub struct Choice {
    /// Value of the contents.
    pub value: Money,
    /// The sealed parcel, at the most it may weigh.
    pub gross: Mass,
    /// The rate, where the home has one.
    pub sdr: Option<SdrRate>,
    /// Day of hand-off.
    pub day: Date,
    /// The form that the service asks for whatever the value.
    pub service: Option<Form>,
}

/// The form, and why in one line.
#[must_use]
pub fn choose(choice: &Choice) -> (Form, String) {
    if choice.service == Some(Form::Cn23) {
        return (Form::Cn23, "the service asks for it".to_owned());
    }
    if choice.gross > Weight::new(LIMIT_KG, MassUnit::Kilogram).mass() {
        return (Form::Cn23, format!("may weigh over {LIMIT_KG} kg"));
    }
    by_value(choice)
}

fn by_value(choice: &Choice) -> (Form, String) {
    let value = choice.value;
    let named = format!("{} {}", value.plain(), value.currency);
    let larger = |why: String| (Form::Cn23, format!("{why}; the larger form, to be safe"));
    let Some(rate) = choice.sdr else {
        return larger(format!("no sdr_rate in dawnpack.toml to tell whether {named} is under {LIMIT_SDR} SDR"));
    };
    if rate.one.currency != value.currency {
        return larger(format!("{named} can't be compared with an sdr_rate in {}", rate.one.currency));
    }
    let rights = value.amount.checked_div(rate.one.amount);
    let Some((rights, at_most)) = rights.and_then(|rights| Some((rights, rights.checked_mul(MARGIN)?))) else {
        return larger(format!("{named} can't be put into SDR"));
    };
    let at = format!("{named} is {} SDR at the rate of {}", rights.round_dp(2), rate.on);
    let age = age(rate.on, choice.day);
    if rights >= LIMIT_SDR {
        (Form::Cn23, format!("{at}, not under {LIMIT_SDR}"))
    } else if age > OLD_DAYS {
        larger(format!("{at}, which is over a year old"))
    } else if age > FRESH_DAYS && at_most >= LIMIT_SDR {
        larger(format!("{at}, near {LIMIT_SDR}, and the rate is over {FRESH_DAYS} days old"))
    } else {
        (Form::Cn22, format!("{at}, under {LIMIT_SDR}"))
    }
}

/// In days; below zero for a rate dated after the parcel's day.
fn age(on: Date, day: Date) -> i32 {
    on.until(day).map_or(i32::MAX, |age| age.get_days())
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::model::money::Currency;

    fn usd(amount: Decimal) -> Money {
        Money::new(amount, Currency::USD)
    }

    /// One right is 1.36 USD: 300 of them are 408.00 USD.
    fn at(value: Decimal) -> Choice {
        Choice {
            value: usd(value),
            gross: Mass::from_g(dec!(120)),
            sdr: Some(SdrRate { one: usd(dec!(1.36)), on: date(2026, 11, 20) }),
            day: date(2026, 11, 25),
            service: None,
        }
    }

    #[test]
    fn the_larger_form_begins_at_300_rights_exactly() {
        for (value, form) in [(dec!(0.01), Form::Cn22), (dec!(407.99), Form::Cn22), (dec!(408), Form::Cn23)] {
            assert_eq!(choose(&at(value)).0, form, "{value}");
        }
        let (_, why) = choose(&at(dec!(27)));
        assert_eq!(why, "27.00 USD is 19.85 SDR at the rate of 2026-11-20, under 300");
        let (_, why) = choose(&at(dec!(408)));
        assert_eq!(why, "408.00 USD is 300 SDR at the rate of 2026-11-20, not under 300");
        // A hair below the limit rounds to it on paper and is still below.
        assert_eq!(choose(&at(dec!(407.999))).0, Form::Cn22);
    }

    #[test]
    fn without_a_rate_that_fits_it_is_the_larger_and_says_so() {
        let (form, why) = choose(&Choice { sdr: None, ..at(dec!(27)) });
        assert_eq!(form, Form::Cn23);
        let expected = "no sdr_rate in dawnpack.toml to tell whether 27.00 USD is under 300 SDR; the larger form, to be \
                        safe";
        assert_eq!(why, expected);
        let eur = Money::new(dec!(27), "EUR".parse().unwrap());
        let (form, why) = choose(&Choice { value: eur, ..at(dec!(27)) });
        assert_eq!(form, Form::Cn23);
        assert_eq!(why, "27.00 EUR can't be compared with an sdr_rate in USD; the larger form, to be safe");
    }

    /// 408.00 / 1.1 = 370.909…: below that a rate of some months is relied on, up to the limit only a fresh one.
    #[test]
    fn an_old_rate_is_not_relied_on_near_the_limit_and_a_very_old_one_nowhere() {
        let aged = |value, day| choose(&Choice { day, ..at(value) }).0;
        let (fresh, old) = (date(2026, 12, 21), date(2026, 12, 22));
        assert_eq!(aged(dec!(407.99), fresh), Form::Cn22);
        assert_eq!(aged(dec!(407.99), old), Form::Cn23);
        assert_eq!((aged(dec!(370.91), old), aged(dec!(370.90), old)), (Form::Cn23, Form::Cn22));
        assert_eq!(aged(dec!(407.99), date(2026, 1, 1)), Form::Cn22);
        assert_eq!((aged(dec!(5), date(2027, 11, 21)), aged(dec!(5), date(2027, 11, 22))), (Form::Cn22, Form::Cn23));
        let (_, why) = choose(&Choice { day: old, ..at(dec!(400)) });
        assert!(why.ends_with("near 300, and the rate is over 31 days old; the larger form, to be safe"), "{why}");
    }

    #[test]
    fn the_services_wish_and_two_kilograms_go_before_the_value() {
        assert_eq!(choose(&Choice { service: Some(Form::Cn23), ..at(dec!(5)) }).0, Form::Cn23);
        let heavy = |grams| choose(&Choice { gross: Mass::from_g(grams), ..at(dec!(5)) }).0;
        assert_eq!((heavy(dec!(2000)), heavy(dec!(2000.1))), (Form::Cn22, Form::Cn23));
        // A service that takes the smaller form doesn't lift the limit of value.
        assert_eq!(choose(&Choice { service: Some(Form::Cn22), ..at(dec!(408)) }).0, Form::Cn23);
    }
}
