//! How orders stand, by every column that tells of it.
//!
//! Handed a column that tells of payment, dispatch, calling off or paying back; promises what each cell says, or that
//! its word is unknown. Of several such columns one is read, and only where it says of every order what all of them
//! say together. Turned down: reading the likeliest and passing over the rest, by which an order that one column has
//! as open and another as sent would be sent twice.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::inbox::ReadRules;
use crate::model::order::OrderState;

use super::fold::fold;
use super::shapes::is_date;
use super::words::{Sections, Tells};

/// A word of `states.toml`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Word {
    State(OrderState),
    How,
    Yes,
    No,
    Waiting,
    Asked,
    AskedBelowAHeader,
}

static WORDS: LazyLock<BTreeMap<String, Word>> = LazyLock::new(|| {
    let sections: Sections = toml::from_str(include_str!("states.toml")).unwrap_or_default();
    let mut words = BTreeMap::new();
    for (section, languages) in &sections {
        let Some(meaning) = section_means(section) else { continue };
        for word in languages.values().flatten() {
            words.entry(fold(word).phrase()).or_insert(meaning);
        }
    }
    words
});

fn section_means(section: &str) -> Option<Word> {
    Some(match section {
        "how" => Word::How,
        "yes" => Word::Yes,
        "no" => Word::No,
        "waiting" => Word::Waiting,
        "asked" => Word::Asked,
        "asked-below-a-header" => Word::AskedBelowAHeader,
        state => Word::State(state.parse().ok()?),
    })
}

pub(super) fn word(text: &str) -> Option<Word> {
    // The longest has five words; what a buyer wrote needn't be folded.
    if text.chars().count() > 40 {
        return None;
    }
    WORDS.get(&fold(text).phrase()).copied()
}

/// Whether a cell looks like a word of orders, whatever its column is called.
pub(super) fn is_of_orders(text: &str) -> bool {
    match word(text) {
        Some(Word::State(_) | Word::Waiting | Word::Asked) => true,
        Some(Word::How | Word::Yes | Word::No | Word::AskedBelowAHeader) | None => false,
    }
}

/// What a cell says of its order.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Said {
    /// Not what the column is about.
    Nothing,
    Is(OrderState),
    /// Something of it was paid back or called off; how much, it doesn't say.
    PaidBack,
    Unknown,
}

/// What a cell says in a column that tells of that.
pub(super) fn said(tells: Tells, text: &str, rules: &ReadRules<'_>) -> Said {
    // A flag: what it is if set, and if not.
    let (set, unset) = match tells {
        Tells::State => (Said::Unknown, Said::Unknown),
        Tells::Payment => (Said::Is(OrderState::Open), Said::Is(OrderState::Unpaid)),
        Tells::Dispatch => (Said::Is(OrderState::Sent), Said::Nothing),
        Tells::Cancelled => (Said::Is(OrderState::Cancelled), Said::Nothing),
        Tells::Refund => (Said::PaidBack, Said::Nothing),
        Tells::Tracking => return Said::Is(OrderState::Sent),
    };
    match word(text) {
        Some(Word::State(state)) => return Said::Is(state),
        Some(Word::Yes) => return set,
        Some(Word::No) => return unset,
        Some(Word::Waiting) => {
            return match tells {
                Tells::Payment => Said::Is(OrderState::Unpaid),
                Tells::Dispatch => Said::Nothing,
                Tells::State if text.trim().eq_ignore_ascii_case(OrderState::Open.word()) => Said::Is(OrderState::Open),
                Tells::State | Tells::Cancelled | Tells::Refund | Tells::Tracking => Said::Unknown,
            };
        }
        Some(Word::How | Word::Asked | Word::AskedBelowAHeader) => return Said::Unknown,
        None => {}
    }
    let figures = text.chars().filter(char::is_ascii_digit);
    let is_number = figures.clone().next().is_some() && text.chars().all(|c| !c.is_alphabetic() || c.is_uppercase());
    if text.trim() == "-" || (is_number && figures.clone().all(|c| c == '0')) {
        return unset;
    }
    if is_date(text, rules) {
        return set;
    }
    if !is_number {
        return Said::Unknown;
    }
    match tells {
        // More than the flag 1 is an amount, which may be less than was owed.
        Tells::Payment if text.trim() != "1" => Said::Unknown,
        Tells::Cancelled if text.trim() != "1" => Said::PaidBack,
        Tells::State | Tells::Payment | Tells::Dispatch | Tells::Cancelled | Tells::Refund | Tells::Tracking => set,
    }
}

/// What several columns say together of one order.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) struct Together {
    last: Option<OrderState>,
    unpaid: bool,
    paid_back: bool,
}

impl Together {
    pub(super) fn add(&mut self, said: Said) {
        match said {
            Said::Is(OrderState::Unpaid) => self.unpaid = true,
            Said::Is(OrderState::Open) | Said::Nothing | Said::Unknown => {}
            Said::Is(state) => self.last = self.last.max(Some(state)),
            Said::PaidBack => self.paid_back = true,
        }
    }

    /// The state, the most final one before the others.
    pub(super) fn state(self) -> OrderState {
        match self.last {
            Some(state) => state,
            None if self.paid_back => OrderState::PartRefunded,
            None if self.unpaid => OrderState::Unpaid,
            None => OrderState::Open,
        }
    }

    /// Whether reading the order as that does what they all say.
    pub(super) fn allows(self, read: OrderState) -> bool {
        let does = |state| match state {
            OrderState::Open => 0,
            OrderState::Unpaid => 1,
            OrderState::PartRefunded => 2,
            OrderState::Sent | OrderState::Refunded | OrderState::Cancelled => 3,
        };
        does(read) == does(self.state()) || (self.paid_back && does(read) == 3)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inbox::test_home::rules;

    #[test]
    fn the_words_are_readable_and_of_one_meaning() {
        let sections: Sections = toml::from_str(include_str!("states.toml")).unwrap();
        let mut seen: BTreeMap<String, String> = BTreeMap::new();
        for (section, languages) in &sections {
            assert!(section_means(section).is_some(), "{section}");
            assert_eq!(
                languages.keys().collect::<Vec<_>>(),
                ["de", "en", "es", "fr", "it", "ja", "nl", "pl"],
                "{section}"
            );
            for word in languages.values().flatten() {
                let other = seen.insert(fold(word).phrase(), section.clone());
                assert!(other.is_none() || other.as_deref() == Some(section), "{word}: {section} and {other:?}");
            }
        }
        for state in [
            OrderState::Unpaid,
            OrderState::Open,
            OrderState::PartRefunded,
            OrderState::Sent,
            OrderState::Refunded,
            OrderState::Cancelled,
        ] {
            assert!(sections.contains_key(state.word()), "{state:?}");
        }
    }

    #[test]
    fn a_word_means_what_its_column_is_about() {
        let rules = rules(&[]);
        let is = |state| Said::Is(state);
        for (tells, text, says) in [
            (Tells::State, "Paid", is(OrderState::Open)),
            (Tells::State, "Teilweise erstattet", is(OrderState::PartRefunded)),
            (Tells::State, "発送済み", is(OrderState::Sent)),
            (Tells::State, "open", is(OrderState::Open)),
            (Tells::State, "offen", Said::Unknown),
            (Tells::State, "new", Said::Unknown),
            (Tells::State, "yes", Said::Unknown),
            (Tells::State, "2026-11-25", Said::Unknown),
            (Tells::Payment, "offen", is(OrderState::Unpaid)),
            (Tells::Payment, "open", is(OrderState::Unpaid)),
            (Tells::Payment, "ja", is(OrderState::Open)),
            (Tells::Payment, "No", is(OrderState::Unpaid)),
            (Tells::Payment, "0.00", is(OrderState::Unpaid)),
            (Tells::Payment, "12.50", Said::Unknown),
            (Tells::Payment, "2026-11-25", is(OrderState::Open)),
            (Tells::Payment, "card", Said::Unknown),
            (Tells::Dispatch, "pending", Said::Nothing),
            (Tells::Dispatch, "25.11.2026", is(OrderState::Sent)),
            (Tells::Dispatch, "2", is(OrderState::Sent)),
            (Tells::Dispatch, "0", Said::Nothing),
            (Tells::Dispatch, "tomorrow", Said::Unknown),
            (Tells::Cancelled, "no", Said::Nothing),
            (Tells::Cancelled, "x", is(OrderState::Cancelled)),
            (Tells::Refund, "4,50 €", Said::PaidBack),
            (Tells::Refund, "0,00 €", Said::Nothing),
            (Tells::Tracking, "NP123", is(OrderState::Sent)),
        ] {
            assert_eq!(said(tells, text, &rules), says, "{tells:?} {text}");
        }
    }

    #[test]
    fn several_columns_together_say_the_most_final() {
        let together = |all: &[Said]| {
            let mut together = Together::default();
            for said in all {
                together.add(*said);
            }
            together
        };
        let sent = together(&[Said::Is(OrderState::Open), Said::Is(OrderState::Sent), Said::Is(OrderState::Unpaid)]);
        assert_eq!(sent.state(), OrderState::Sent);
        assert!(
            sent.allows(OrderState::Cancelled) && !sent.allows(OrderState::Open) && !sent.allows(OrderState::Unpaid)
        );
        let paid_back = together(&[Said::Is(OrderState::Open), Said::PaidBack]);
        assert!(paid_back.allows(OrderState::Refunded) && paid_back.allows(OrderState::PartRefunded));
        assert!(!paid_back.allows(OrderState::Open));
        assert!(together(&[]).allows(OrderState::Open));
        assert!(!together(&[Said::Is(OrderState::Unpaid)]).allows(OrderState::Open));
    }
}
