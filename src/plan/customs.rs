//! What a customs declaration needs: the fields of the UPU's form CN 22, article by article.
//!
//! Handed the articles of a parcel; promises sums that agree with their lines, or the list of what is missing.
//! A sale is declared as sale of goods, whoever it is for; goods for goods as "other". Nothing vague is let
//! through: a form that says "gift" or "pins" is stopped at the border. Turned down: filling a missing heading
//! with the usual one for pins, which would be a guess over somebody's signature.

use crate::model::catalogue::Article;
use crate::model::customs::{Category, Declaration, DeclaredItem, Form};
use crate::model::mass::Mass;
use crate::model::money::{Currency, Money};

/// Words that tell a customs officer nothing, alone or with one another. "gift", "samples" and "daily necessities"
/// are refused by name (Japan Post, Customs Declaration Form; USPS Postal Bulletin 22555, 2020-09-24); the rest is
/// common practice, no source.
const VAGUE: &str = "accessories accessory article articles badge badges collectible collectibles daily gift gifts \
                     goods item items merchandise necessities parts pin pins present product products sample \
                     samples stuff various a and of the";

/// Digits of a heading that every member of the World Customs Organization shares.
const HEADING_DIGITS: usize = 6;

/// The declaration for `items`: article, quantity, value of one.
///
/// # Errors
/// A sentence for each thing that is missing or vague, naming the article and the column of catalogue.csv.
pub fn declaration(
    items: &[(&Article, u32, Option<Money>)],
    trade: bool,
    currency: Currency,
) -> Result<Declaration, Vec<String>> {
    let mut missing: Vec<String> = Vec::new();
    let mut declared: Vec<DeclaredItem> = Vec::new();
    let (mut value, mut net) = (Money::zero(currency), Mass::ZERO);
    for (article, quantity, unit_value) in items {
        let code = &article.code;
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
        if unit_value.is_none() {
            lack("price");
        }
        if is_vague(description) {
            missing.push(format!("customs_description `{description}` of `{code}` is too vague"));
        }
        if let Some(heading) = article.hs_code.as_deref().filter(|heading| !is_heading(heading)) {
            missing.push(format!("hs_code `{heading}` of `{code}` is not six or more digits"));
        }
        let line = unit_value.unwrap_or(Money::zero(currency)).times(*quantity);
        match value.checked_add(line) {
            Some(sum) => value = sum,
            None => missing.push(format!("the price of `{code}` is in {}, not {currency}", line.currency)),
        }
        let mass = article.mass.unwrap_or_default() * *quantity;
        net = net + mass;
        declared.push(DeclaredItem {
            description: description.to_owned(),
            quantity: *quantity,
            net_g: mass.as_f64(),
            value: line,
            hs_code: article.hs_code.clone(),
            origin: article.origin.map(|origin| origin.code().to_owned()),
        });
    }
    missing.dedup();
    if !missing.is_empty() {
        return Err(missing);
    }
    let category = if trade { Category::Other } else { Category::SaleOfGoods };
    Ok(Declaration {
        form: Form::Cn23,
        form_why: String::new(),
        category,
        explanation: None,
        items: declared,
        net_g: net.as_f64(),
        value,
        gross_g: None,
        postal_charges: None,
    })
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
mod tests {
    use rust_decimal::{Decimal, dec};

    use super::*;
    use crate::model::catalogue::{Code, Kind};

    fn pin() -> Article {
        Article {
            code: Code("BELL".into()),
            title: "Bell buoy".into(),
            aliases: Vec::new(),
            kind: Kind::Pin,
            width: None,
            height: None,
            thickness: None,
            mass: Some(Mass::from_g(dec!(7.4))),
            mass_sd: None,
            roll_share: dec!(1),
            card: None,
            contains: None,
            price: None,
            cost: None,
            on_hand: None,
            place: String::new(),
            customs_description: Some("Enamel lapel pin of base metal".into()),
            hs_code: Some("711719".into()),
            origin: Some("US".parse().unwrap()),
        }
    }

    fn usd(amount: Decimal) -> Money {
        Money::new(amount, Currency::USD)
    }

    /// By hand: 3 · 7.4 + 2 · 12.9 = 48.0 g; 3 · 9.10 + 2 · 12.00 = 51.30.
    #[test]
    fn sums_agree_with_their_lines() {
        let carded = Article { mass: Some(Mass::from_g(dec!(12.9))), ..pin() };
        let items = [(&pin(), 3, Some(usd(dec!(9.10)))), (&carded, 2, Some(usd(dec!(12))))];
        let sale = declaration(&items, false, Currency::USD).unwrap();
        assert_eq!((sale.category, sale.value), (Category::SaleOfGoods, usd(dec!(51.30))));
        assert!((sale.net_g - 48.0).abs() < f64::EPSILON);
        assert_eq!(sale.items.iter().map(|item| item.value.amount).sum::<Decimal>(), sale.value.amount);
        assert_eq!(declaration(&items, true, Currency::USD).unwrap().category, Category::Other);
    }

    #[test]
    fn all_that_is_missing_is_told_at_once() {
        let bare = Article { customs_description: None, hs_code: None, origin: None, mass: None, ..pin() };
        assert_eq!(
            declaration(&[(&bare, 1, None)], false, Currency::USD).unwrap_err(),
            [
                "`BELL` has no customs_description",
                "`BELL` has no hs_code",
                "`BELL` has no origin",
                "`BELL` has no mass_g",
                "`BELL` has no price",
            ]
        );
    }

    #[test]
    fn nothing_vague_is_let_through() {
        for vague in ["gift", "PINS", "Samples", "daily necessities", "Gift: pins and badges", "merchandise"] {
            let article = Article { customs_description: Some(vague.into()), ..pin() };
            let said = declaration(&[(&article, 1, Some(usd(dec!(9))))], false, Currency::USD).unwrap_err();
            assert_eq!(said, [format!("customs_description `{vague}` of `BELL` is too vague")]);
        }
        let clear = Article { customs_description: Some("enamel pin".into()), ..pin() };
        assert!(declaration(&[(&clear, 1, Some(usd(dec!(9))))], false, Currency::USD).is_ok());
    }

    #[test]
    fn a_heading_is_six_digits_and_a_sum_has_one_currency() {
        for (heading, right) in [("7117.19", true), ("7117190000", true), ("7117", false), ("71171x", false)] {
            let article = Article { hs_code: Some(heading.into()), ..pin() };
            assert_eq!(
                declaration(&[(&article, 1, Some(usd(dec!(9))))], false, Currency::USD).is_ok(),
                right,
                "{heading}"
            );
        }
        let eur = Money::new(dec!(1), "EUR".parse().unwrap());
        let said = declaration(&[(&pin(), 1, Some(eur))], false, Currency::USD).unwrap_err();
        assert_eq!(said, ["the price of `BELL` is in EUR, not USD"]);
    }
}
