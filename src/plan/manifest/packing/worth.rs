//! What the pieces of a parcel are worth, and what is not known of it.
//!
//! Handed pieces and the currency of their orders; promises the sum of the prices known in it, and by name what has none:
//! nothing is converted, and nothing counts as nothing in silence. Turned down: holding such a parcel, as at home nobody
//! asks for its value; abroad the declaration asks, and holds it.

use std::collections::BTreeMap;

use super::Unit;
use crate::model::catalogue::Code;
use crate::model::money::{Currency, Money};
use crate::model::parcel::{Caution, Item};

/// What pieces are worth in one currency.
pub(super) struct Worth {
    /// The sum of those whose price in it is known.
    pub(super) known: Money,
    /// The articles of the others, each with the price it has elsewhere.
    unknown: BTreeMap<Code, Option<Money>>,
}

impl Worth {
    pub(super) fn of(units: &[Unit<'_>], items: &[&Item], currency: Currency) -> Self {
        let mut worth = Self { known: Money::zero(currency), unknown: BTreeMap::new() };
        for unit in units {
            let price = items.get(unit.item).and_then(|item| item.unit_value);
            match price.and_then(|price| worth.known.checked_add(price)) {
                Some(sum) => worth.known = sum,
                None => {
                    worth.unknown.insert(unit.article.code.clone(), price);
                }
            }
        }
        worth
    }

    /// What isn't in the value, and what is left to the seller by that.
    pub(super) fn caution(&self) -> Option<Caution> {
        let currency = self.known.currency;
        let lacking: Vec<String> = self
            .unknown
            .iter()
            .map(|(code, price)| match price {
                Some(price) => format!("`{code}` ({} {} in catalogue.csv)", price.plain(), price.currency),
                None => format!("`{code}`"),
            })
            .collect();
        (!lacking.is_empty()).then(|| Caution {
            code: "value-unknown".to_owned(),
            text: format!(
                "its value of {} {currency} lacks {}, of which no price in {currency} is known: where a value is asked \
                 for, write it by hand, and decide on a signature and insurance yourself",
                self.known.plain(),
                lacking.join(" and ")
            ),
        })
    }
}
