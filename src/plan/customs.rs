//! What a customs declaration needs: the fields of the UPU's form CN 22, article by article.
//!
//! Handed the articles of a parcel; promises sums that agree with their lines, or the list of what is missing.
//! A sale is declared as sale of goods, whoever it is for; goods for goods as "other". Nothing vague is let
//! through: a form that says "gift" or "pins" is stopped at the border. Turned down: filling a missing heading
//! with the usual one for pins, which would be a guess over somebody's signature.

use crate::model::catalogue::Article;
use crate::model::customs::{Category, Declaration, DeclaredItem};
use crate::model::money::{Currency, Money};

/// Words that tell a customs officer nothing, alone. From the advice of several posts against generic
/// descriptions (CN 22 notes as printed by India Post; Japan Post).
const VAGUE: [&str; 10] =
    ["gift", "gifts", "sample", "samples", "pin", "pins", "goods", "merchandise", "daily necessities", "badge"];

/// The declaration for `items`: article, quantity, value of one.
///
/// # Errors
/// A sentence for each thing that is missing or vague, naming the article and the column of catalogue.csv.
pub fn declaration(
    items: &[(&Article, u32, Option<Money>)],
    trade: bool,
    currency: Currency,
) -> Result<Declaration, Vec<String>> {
    let mut missing = Vec::new();
    let mut declared: Vec<DeclaredItem> = Vec::new();
    let mut value = Money::zero(currency);
    for (article, quantity, unit_value) in items {
        let mut lack = |what: &str| missing.push(format!("`{}` has no {what}", article.code));
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
        if unit_value.is_none() {
            lack("price");
        }
        if VAGUE.contains(&description.to_lowercase().as_str()) {
            missing.push(format!("customs_description `{description}` of `{}` is too vague", article.code));
        }
        let line = unit_value.unwrap_or(Money::zero(currency)).times(*quantity);
        match value.checked_add(line) {
            Some(sum) => value = sum,
            None => missing.push(format!("the price of `{}` is in {}, not {currency}", article.code, line.currency)),
        }
        declared.push(DeclaredItem {
            description: description.to_owned(),
            quantity: *quantity,
            net_g: article.mass.map_or(0.0, |mass| (mass * *quantity).as_f64()),
            value: line,
            hs_code: article.hs_code.clone(),
            origin: article.origin.map(|origin| origin.code().to_owned()),
        });
    }
    if !missing.is_empty() {
        return Err(missing);
    }
    let category = if trade { Category::Other } else { Category::SaleOfGoods };
    let net_g = declared.iter().map(|item| item.net_g).sum();
    Ok(Declaration { category, items: declared, net_g, value })
}
