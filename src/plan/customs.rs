//! What a customs declaration needs: the fields of the UPU's forms CN 22 and CN 23, article by article.
//!
//! Handed what is in a parcel; promises sums that agree with their lines, or the list of what is missing.
//! A sale is declared as sale of goods, whoever it is for: a present that somebody bought was sold. Goods for goods are
//! "other", with the explanation that the form asks for beside it; a parcel of both is a sale that says so. Nothing
//! vague is let through: a form that says "gift" or "pins" is stopped at the border. Turned down: filling a missing
//! heading with the usual one for pins, which would be a guess over somebody's signature; and the category "gift",
//! which is for presents between persons, of which a seller's parcel is none.

use rust_decimal::Decimal;

use crate::model::catalogue::Article;
use crate::model::customs::{Category, Declaration, DeclaredItem, Form};
use crate::model::mass::Mass;
use crate::model::money::{Currency, Money};

mod form;

pub use form::{Choice, choose};

/// Words that tell a customs officer nothing, alone or with one another. "gift", "samples" and "daily necessities"
/// are refused by name (USPS Postal Bulletin 22555, 2020-09-24, and instructions that go with form CN 22); the rest is
/// common practice, no source.
const VAGUE: &str = "accessories accessory article articles badge badges collectible collectibles daily gift gifts \
                     goods item items merchandise necessities parts pin pins present product products sample \
                     samples stuff various a and of the";

/// Digits of a heading that every member of the World Customs Organization shares.
const HEADING_DIGITS: usize = 6;

/// Beside the category of a trade.
const EXCHANGE: &str = "exchange of goods, no payment";
/// Beside the category of a sale that shares its parcel with a trade.
const SALE_AND_EXCHANGE: &str = "in part an exchange of goods, without payment";
/// Beside the category of a sale of which something was free.
const PART_FREE: &str = "in part free of charge, declared at its selling price";

/// Why something is in the parcel.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Deed {
    /// It was sold, or came free with a sale; presents that were bought as well.
    Sale,
    /// It is swapped.
    Trade,
}

/// Something in the parcel.
#[derive(Clone, Copy, Debug)]
pub struct Content<'a> {
    /// What it is.
    pub article: &'a Article,
    /// How many.
    pub quantity: u32,
    /// Price or agreed value of one, where it is known.
    pub unit_value: Option<Money>,
    /// Why it is sent.
    pub deed: Deed,
}

/// The declaration for `contents`, in `currency`. Its form is the larger until [`choose`] has said otherwise.
///
/// # Errors
/// A sentence for each thing that is missing or vague, naming the article and the column of catalogue.csv.
pub fn declaration(contents: &[Content<'_>], currency: Currency) -> Result<Declaration, Vec<String>> {
    let mut missing: Vec<String> = Vec::new();
    let mut lines: Vec<(&Article, DeclaredItem)> = Vec::new();
    let (mut value, mut net, mut free) = (Money::zero(currency), Mass::ZERO, false);
    for content in contents {
        let article = content.article;
        missing.extend(lacks(article));
        let worth = worth(content);
        free |= worth.is_some_and(|worth| worth.free);
        if worth.is_none() {
            missing.push(match content.unit_value {
                None => format!("`{}` has no price", article.code),
                Some(_) => {
                    format!("`{}` was free, and has no price to declare; fill in what it sells for", article.code)
                }
            });
        }
        let line = worth.map_or(Money::zero(currency), |worth| worth.one.times(content.quantity));
        match value.checked_add(line) {
            Some(sum) => value = sum,
            None => missing.push(format!("the price of `{}` is in {}, not {currency}", article.code, line.currency)),
        }
        let mass = article.mass.unwrap_or_default() * content.quantity;
        net = net + mass;
        // One line for one article, however many orders it is for.
        match lines.iter_mut().find(|(known, _)| known.code == article.code) {
            Some((_, item)) => {
                item.quantity = item.quantity.saturating_add(content.quantity);
                item.net_g = (article.mass.unwrap_or_default() * item.quantity).as_f64();
                item.value = item.value.checked_add(line).unwrap_or(item.value);
            }
            None => lines.push((article, item(article, content.quantity, mass, line))),
        }
    }
    let mut told = std::collections::BTreeSet::new();
    missing.retain(|said| told.insert(said.clone()));
    if !missing.is_empty() {
        return Err(missing);
    }
    let (category, explanation) = category(contents, free);
    Ok(Declaration {
        form: Form::Cn23,
        form_why: String::new(),
        category,
        explanation: explanation.map(str::to_owned),
        items: lines.into_iter().map(|(_, item)| item).collect(),
        net_g: net.as_f64(),
        value,
        gross_g: None,
        postal_charges: None,
    })
}

fn item(article: &Article, quantity: u32, mass: Mass, value: Money) -> DeclaredItem {
    DeclaredItem {
        description: article.customs_description.as_deref().map(str::trim).unwrap_or_default().to_owned(),
        quantity,
        net_g: mass.as_f64(),
        value,
        hs_code: article.hs_code.clone(),
        origin: article.origin.map(|origin| origin.code().to_owned()),
    }
}

/// What one is declared at.
#[derive(Clone, Copy)]
struct Worth {
    one: Money,
    /// It was free, and is declared at the price it sells for.
    free: bool,
}

/// No form takes a value of nothing: what was free is declared at the catalogue's price.
fn worth(content: &Content<'_>) -> Option<Worth> {
    let above_zero = |price: &Money| price.amount > Decimal::ZERO;
    match content.unit_value? {
        one if above_zero(&one) => Some(Worth { one, free: false }),
        _ => content.article.price.filter(above_zero).map(|one| Worth { one, free: true }),
    }
}

fn category(contents: &[Content<'_>], free: bool) -> (Category, Option<&'static str>) {
    let any = |deed: Deed| contents.iter().any(|content| content.deed == deed);
    match (any(Deed::Sale), any(Deed::Trade)) {
        (false, true) => (Category::Other, Some(EXCHANGE)),
        (true, true) => (Category::SaleOfGoods, Some(SALE_AND_EXCHANGE)),
        (true | false, false) => (Category::SaleOfGoods, free.then_some(PART_FREE)),
    }
}

/// What the catalogue lacks of an article, or says too vaguely.
fn lacks(article: &Article) -> Vec<String> {
    let code = &article.code;
    let mut missing = Vec::new();
    let mut lack = |what: &str| missing.push(format!("`{code}` has no {what}"));
    let description = article.customs_description.as_deref().map(str::trim).unwrap_or_default();
    if description.is_empty() {
        lack("customs_description");
    }
    if article.hs_code.is_none() {
        lack("hs_code");
    }
    if article.origin.is_none() {
        lack("origin");
    }
    if article.mass.is_none() {
        lack("mass_g");
    }
    if is_vague(description) {
        missing.push(format!("customs_description `{description}` of `{code}` is too vague"));
    }
    if let Some(heading) = article.hs_code.as_deref().filter(|heading| !is_heading(heading)) {
        missing.push(format!("hs_code `{heading}` of `{code}` is not six or more digits"));
    }
    missing
}

/// A description of which every word says nothing.
fn is_vague(description: &str) -> bool {
    let lower = description.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).peekable();
    words.peek().is_some() && words.all(|word| VAGUE.split(' ').any(|vague| vague == word))
}

/// Six digits or more, with or without the points that tariffs print.
fn is_heading(code: &str) -> bool {
    code.bytes().all(|b| b.is_ascii_digit() || b == b'.')
        && code.bytes().filter(u8::is_ascii_digit).count() >= HEADING_DIGITS
}

#[cfg(test)]
mod tests;
