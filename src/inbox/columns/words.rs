//! What a header may stand for, by the words of the trade in `words.toml`.
//!
//! Handed a header; promises everything that it may mean, plainly or perhaps, and whose it is: the recipient's, the
//! buyer's, the bill's. Which of it is true is for the cells to say. Turned down: sets of headers that come
//! together, which would know programs and not words.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::model::drop::SalesField;

use super::fold::{Folded, fold};

/// How an order stands, and by what.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Tells {
    /// Whatever a source says of an order.
    State,
    /// Paid or not.
    Payment,
    /// Sent or not.
    Dispatch,
    /// Called off or not.
    Cancelled,
    /// Paid back or not.
    Refund,
    /// A parcel's number, which there is once it is sent.
    Tracking,
}

/// What a column may be.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum What {
    Field(SalesField),
    Tells(Tells),
    FirstName,
    LastName,
    HouseNumber,
    Mass,
    Service,
    BoughtAt,
    AcceptedAt,
}

/// Whose name or address it is, the likeliest to be the recipient's last.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Whose {
    Bill,
    Buyer,
    Unsaid,
    Recipient,
}

/// One thing that a header may mean.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Meaning {
    pub(super) what: What,
    pub(super) whose: Whose,
    /// Whether it can hardly mean anything else.
    pub(super) plain: bool,
}

/// Sections of `words.toml` that aren't called like a field.
const SECTIONS: [(&str, What, Whose); 16] = [
    ("state", What::Tells(Tells::State), Whose::Unsaid),
    ("payment", What::Tells(Tells::Payment), Whose::Unsaid),
    ("dispatch", What::Tells(Tells::Dispatch), Whose::Unsaid),
    ("cancelled", What::Tells(Tells::Cancelled), Whose::Unsaid),
    ("refund", What::Tells(Tells::Refund), Whose::Unsaid),
    ("tracking", What::Tells(Tells::Tracking), Whose::Unsaid),
    ("recipient", What::Field(SalesField::Name), Whose::Recipient),
    ("buyer", What::Field(SalesField::Name), Whose::Buyer),
    ("billed", What::Field(SalesField::Name), Whose::Bill),
    ("first_name", What::FirstName, Whose::Unsaid),
    ("last_name", What::LastName, Whose::Unsaid),
    ("house_number", What::HouseNumber, Whose::Unsaid),
    ("mass", What::Mass, Whose::Unsaid),
    ("service", What::Service, Whose::Unsaid),
    ("bought_at", What::BoughtAt, Whose::Unsaid),
    ("accepted_at", What::AcceptedAt, Whose::Unsaid),
];

/// Sections of words that say whose a field is.
const OWNERS: [(&str, Whose); 3] =
    [("of-recipient", Whose::Recipient), ("of-buyer", Whose::Buyer), ("of-billing", Whose::Bill)];

/// By section and language, words. A file that can't be read has none; a test sees to it that it can.
pub(super) type Sections = BTreeMap<String, BTreeMap<String, Vec<String>>>;

struct Dictionary {
    meanings: BTreeMap<String, Vec<Meaning>>,
    owners: Vec<(Vec<String>, Whose)>,
    /// First parts of compounds.
    beginnings: Vec<(String, Whose)>,
}

static DICTIONARY: LazyLock<Dictionary> = LazyLock::new(|| {
    let sections: Sections = toml::from_str(include_str!("words.toml")).unwrap_or_default();
    let mut dictionary = Dictionary { meanings: BTreeMap::new(), owners: Vec::new(), beginnings: Vec::new() };
    for (section, languages) in &sections {
        let words = languages.values().flatten();
        if let Some((_, whose)) = OWNERS.iter().find(|(name, _)| name == section) {
            for word in words {
                match word.strip_suffix('-') {
                    Some(beginning) => dictionary.beginnings.push((fold(beginning).phrase(), *whose)),
                    None => dictionary.owners.push((fold(word).words, *whose)),
                }
            }
        } else if let Some((what, whose)) = section_means(section) {
            for word in words {
                let plain = word.strip_prefix('~');
                let meaning = Meaning { what, whose, plain: plain.is_none() };
                let known = dictionary.meanings.entry(fold(plain.unwrap_or(word)).phrase()).or_default();
                match known.iter_mut().find(|known| (known.what, known.whose) == (what, whose)) {
                    Some(known) => known.plain |= meaning.plain,
                    None => known.push(meaning),
                }
            }
        }
    }
    // The longest word that fits is the right one: "ship to" before "ship".
    dictionary.owners.sort_by_key(|(words, _)| std::cmp::Reverse(words.len()));
    dictionary.beginnings.sort_by_key(|(word, _)| std::cmp::Reverse(word.len()));
    dictionary
});

fn section_means(section: &str) -> Option<(What, Whose)> {
    let own = SECTIONS.iter().find(|(name, _, _)| *name == section).map(|(_, what, whose)| (*what, *whose));
    let field = || SalesField::ALL.into_iter().find(|field| field.word() == section);
    own.or_else(|| field().map(|field| (What::Field(field), Whose::Unsaid)))
}

/// What there is of each: the recipient, the buyer, and who pays.
const fn is_somebodys(what: What) -> bool {
    match what {
        What::FirstName | What::LastName | What::HouseNumber => true,
        What::Field(field) => is_contact(field),
        What::Tells(_) | What::Mass | What::Service | What::BoughtAt | What::AcceptedAt => false,
    }
}

/// Fields of a name and address.
pub(super) const fn is_contact(field: SalesField) -> bool {
    matches!(
        field,
        SalesField::Name
            | SalesField::Company
            | SalesField::Address1
            | SalesField::Address2
            | SalesField::Address3
            | SalesField::City
            | SalesField::Region
            | SalesField::PostalCode
            | SalesField::Country
            | SalesField::Email
    )
}

/// All that a header may mean.
pub(super) fn meanings(header: &Folded) -> Vec<Meaning> {
    let dictionary = &*DICTIONARY;
    if header.words.is_empty() {
        return Vec::new();
    }
    if let Some(known) = dictionary.meanings.get(&header.phrase()) {
        return known.clone();
    }
    if let Some(found) = numbered(header) {
        return found;
    }
    for (owner, whose) in &dictionary.owners {
        let words = header.words.as_slice();
        let rest = words.strip_prefix(owner.as_slice()).or_else(|| words.strip_suffix(owner.as_slice()));
        if let Some(found) = rest.and_then(|rest| somebodys(&rest.join(" "), *whose)) {
            return found;
        }
    }
    for (beginning, whose) in &dictionary.beginnings {
        let rest = header.phrase().strip_prefix(beginning).map(|rest| rest.trim().to_owned());
        if let Some(found) = rest.and_then(|rest| somebodys(&rest, *whose)) {
            return found;
        }
    }
    Vec::new()
}

/// Words that end compounds of how many: `Restmenge`, `出荷済数量`.
const QUANTITY_ENDINGS: [&str; 5] = ["menge", "anzahl", "aantal", "数量", "個数"];

/// Whether a header has a word for how many among others.
pub(super) fn speaks_of_quantity(header: &Folded) -> bool {
    let quantity = What::Field(SalesField::Quantity);
    let is_one = |word: &String| {
        let known = DICTIONARY.meanings.get(word).into_iter().flatten();
        known.clone().any(|meaning| meaning.what == quantity && meaning.plain)
            || QUANTITY_ENDINGS.iter().any(|ending| word.ends_with(ending))
    };
    header.words.iter().any(is_one)
}

/// What is numbered may be all that a word is for: `Pedido n.º` is `Pedido`.
fn numbered(header: &Folded) -> Option<Vec<Meaning>> {
    let (number, rest) = header.words.split_last()?;
    let known = DICTIONARY.meanings.get(&rest.join(" ")).filter(|_| number == "number")?;
    let keys = [What::Field(SalesField::Order), What::Field(SalesField::Line)];
    let found: Vec<Meaning> = known.iter().copied().filter(|meaning| keys.contains(&meaning.what)).collect();
    Some(found).filter(|found| !found.is_empty())
}

/// What the rest of a header means whose first or last words say whose it is.
fn somebodys(rest: &str, whose: Whose) -> Option<Vec<Meaning>> {
    let known = DICTIONARY.meanings.get(rest)?;
    let found = known.iter().filter(|meaning| meaning.whose == Whose::Unsaid && is_somebodys(meaning.what));
    // "Ship name" is as plain as "recipient", whatever "name" alone may be; "delivery address" may still be all of it.
    let plain = |meaning: &Meaning| meaning.plain || meaning.what != What::Field(SalesField::Address1);
    let found: Vec<Meaning> = found.map(|meaning| Meaning { whose, plain: plain(meaning), ..*meaning }).collect();
    Some(found).filter(|found| !found.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(header: &str) -> Vec<(What, Whose, bool)> {
        meanings(&fold(header)).into_iter().map(|m| (m.what, m.whose, m.plain)).collect()
    }

    #[test]
    fn the_words_are_readable_and_every_section_is_used() {
        let sections: Sections = toml::from_str(include_str!("words.toml")).unwrap();
        for (section, languages) in &sections {
            let known = section_means(section).is_some() || OWNERS.iter().any(|(name, _)| name == section);
            assert!(known, "{section}");
            assert_eq!(
                languages.keys().collect::<Vec<_>>(),
                ["de", "en", "es", "fr", "it", "ja", "nl", "pl"],
                "{section}"
            );
            for words in languages.values() {
                let mut folded: Vec<String> = words.iter().map(|word| fold(word).phrase()).collect();
                folded.sort();
                assert!(folded.iter().all(|word| !word.is_empty()), "{words:?}");
            }
        }
        // A wish to go apart is read by a map only.
        for field in SalesField::ALL.into_iter().filter(|field| *field != SalesField::Apart) {
            // A buyer is known by the name and whose it is.
            assert!(sections.contains_key(field.word()), "{}", field.word());
        }
        assert_eq!(sections.len(), SalesField::ALL.len() - 1 + SECTIONS.len() - 2 + OWNERS.len());
    }

    #[test]
    fn a_plain_word_means_one_thing_whatever_the_language() {
        let mut two: Vec<(&String, Vec<What>)> = Vec::new();
        for (phrase, meanings) in &DICTIONARY.meanings {
            let plain: Vec<What> = meanings.iter().filter(|m| m.plain).map(|m| m.what).collect();
            if plain.len() > 1 {
                two.push((phrase, plain));
            }
        }
        assert_eq!(two, []);
    }

    #[test]
    fn whose_it_is_stands_before_behind_or_inside_the_word() {
        let city = What::Field(SalesField::City);
        for (header, whose) in [
            ("City", Whose::Unsaid),
            ("Ship city", Whose::Recipient),
            ("ship_to_city", Whose::Recipient),
            ("City (delivery)", Whose::Recipient),
            ("Lieferort", Whose::Recipient),
            ("Liefer-Ort", Whose::Recipient),
            ("Ville de livraison", Whose::Recipient),
            ("Ciudad de envío", Whose::Recipient),
            ("Afleverplaats", Whose::Recipient),
            ("Città di consegna", Whose::Recipient),
            ("Miasto dostawy", Whose::Recipient),
            ("お届け先市区町村", Whose::Recipient),
            ("Billing city", Whose::Bill),
            ("Rechnungsort", Whose::Bill),
            ("Ville de facturation", Whose::Bill),
            ("Factuurplaats", Whose::Bill),
            ("請求先市区町村", Whose::Bill),
            ("Customer city", Whose::Buyer),
            ("Kundenort", Whose::Buyer),
        ] {
            assert_eq!(of(header), [(city, whose, true)], "{header}");
        }
    }

    #[test]
    fn words_that_begin_like_another_field_are_told_apart() {
        assert_eq!(of("Shipping cost"), [(What::Field(SalesField::PostageCharged), Whose::Unsaid, true)]);
        assert_eq!(of("Shipping method"), [(What::Service, Whose::Unsaid, true)]);
        assert_eq!(of("Shipping status"), [(What::Tells(Tells::Dispatch), Whose::Unsaid, true)]);
        assert_eq!(of("Ship state"), [(What::Field(SalesField::Region), Whose::Recipient, true)]);
        assert_eq!(of("Ship name"), [(What::Field(SalesField::Name), Whose::Recipient, true)]);
        assert_eq!(of("Delivery address"), [(What::Field(SalesField::Address1), Whose::Recipient, false)]);
        assert_eq!(of("Kundenname"), [(What::Field(SalesField::Name), Whose::Buyer, true)]);
        for unknown in ["Customer number", "Phone", "Seller", "Sender name", "Tax %", "", "Shipped by"] {
            assert_eq!(of(unknown), [], "{unknown}");
        }
    }
}
