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
use crate::model::mass::{Estimate, Mass};
use crate::model::money::{Currency, Money};

mod form;

pub use form::{Choice, choose};

/// Words that tell a customs officer nothing, alone or with one another. "gift", "samples" and "daily necessities"
/// are refused by name (USPS Postal Bulletin 22555, 2020-09-24, and instructions that go with form CN 22); the rest is
/// common practice, no source.
const VAGUE: &str = "accessories accessory article articles badge badges collectible collectibles daily gift gifts \
                     goods item items merchandise necessities parts pin pins present product products sample \
                     samples stuff various a and of the";

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

/// What a parcel's contents are declared as, whatever the form.
#[derive(Clone, PartialEq, Debug)]
pub struct Goods {
    /// Why it is sent.
    pub category: Category,
    /// What the form asks for beside the category.
    pub explanation: Option<&'static str>,
    /// Article by article.
    pub items: Vec<DeclaredItem>,
    /// Sum of their net masses, g.
    pub net_g: f64,
    /// Sum of their values.
    pub value: Money,
}

impl Goods {
    /// The declaration on `form`, of a sealed parcel of that mass, with what is paid to post it.
    #[must_use]
    pub fn on(self, form: Form, form_why: String, gross: Estimate, postage: Money) -> Declaration {
        Declaration {
            form,
            form_why,
            category: self.category,
            explanation: self.explanation.map(str::to_owned),
            items: self.items,
            net_g: self.net_g,
            value: self.value,
            gross_g: Some(gross.mean_g),
            postal_charges: Some(postage),
        }
    }
}

/// What is declared of `contents`, in `currency`.
///
/// # Errors
/// A sentence for each thing that is missing or vague, naming the article and the column of catalogue.csv.
pub fn goods(contents: &[Content<'_>], currency: Currency) -> Result<Goods, Vec<String>> {
    let mut missing: Vec<String> = Vec::new();
    let mut lines: Vec<(&Article, DeclaredItem)> = Vec::new();
    let (mut values, mut net, mut free) = (Vec::new(), Mass::ZERO, false);
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
        if line.currency != currency {
            missing.push(format!("the price of `{}` is in {}, not {currency}", article.code, line.currency));
        }
        values.push(line);
        let mass = article.mass.unwrap_or_default() * content.quantity;
        net = net + mass;
        // One line for one article, however many orders it is for.
        match lines.iter_mut().find(|(known, _)| known.code == article.code) {
            Some((_, item)) => {
                item.quantity = item.quantity.saturating_add(content.quantity);
                item.net_g = (article.mass.unwrap_or_default() * item.quantity).as_f64();
                // In two currencies, one of them was told above.
                item.value = item.value.checked_add(line).unwrap_or(line);
            }
            None => lines.push((article, item(article, content.quantity, mass, line))),
        }
    }
    let mut told = std::collections::BTreeSet::new();
    missing.retain(|said| told.insert(said.clone()));
    if !missing.is_empty() {
        return Err(missing);
    }
    let value = Money::sum(values, currency).map_err(|other| vec![other.to_string()])?;
    let (category, explanation) = category(contents, free);
    let items = lines.into_iter().map(|(_, item)| item).collect();
    Ok(Goods { category, explanation, items, net_g: net.as_f64(), value })
}

fn item(article: &Article, quantity: u32, mass: Mass, value: Money) -> DeclaredItem {
    DeclaredItem {
        description: article.customs_description.as_deref().map(str::trim).unwrap_or_default().to_owned(),
        quantity,
        net_g: mass.as_f64(),
        value,
        hs_code: article.hs_code.clone(),
        origin: article.origin,
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
    missing
}

/// A description of which every word says nothing.
fn is_vague(description: &str) -> bool {
    let lower = description.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).peekable();
    words.peek().is_some() && words.all(|word| VAGUE.split(' ').any(|vague| vague == word))
}

#[cfg(test)]
mod tests;
