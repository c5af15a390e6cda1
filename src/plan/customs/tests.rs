//! Sums, categories, and what stops a declaration.

use rust_decimal::dec;

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
        hs_code: Some("711719".parse().unwrap()),
        origin: Some("US".parse().unwrap()),
    }
}

fn carded() -> Article {
    Article { code: Code("CARD".into()), mass: Some(Mass::from_g(dec!(12.9))), ..pin() }
}

fn usd(amount: Decimal) -> Money {
    Money::new(amount, Currency::USD)
}

fn sold(article: &Article, quantity: u32, unit_value: Option<Money>) -> Content<'_> {
    Content { article, quantity, unit_value, deed: Deed::Sale }
}

fn one(article: &Article, unit_value: Option<Money>) -> Result<Goods, Vec<String>> {
    goods(&[sold(article, 1, unit_value)], Currency::USD)
}

/// By hand: 3 · 7.4 + 2 · 12.9 = 48.0 g; 3 · 9.10 + 2 · 12.00 = 51.30.
#[test]
fn sums_agree_with_their_lines() {
    let (pin, carded) = (pin(), carded());
    let items = [sold(&pin, 3, Some(usd(dec!(9.10)))), sold(&carded, 2, Some(usd(dec!(12))))];
    let sale = goods(&items, Currency::USD).unwrap();
    assert_eq!((sale.category, sale.value), (Category::SaleOfGoods, usd(dec!(51.30))));
    assert!((sale.net_g - 48.0).abs() < f64::EPSILON);
    assert_eq!(sale.items.iter().map(|item| item.value.amount).sum::<Decimal>(), sale.value.amount);
}

/// By hand: 2 · 9.10 + 1 · 8.00 = 26.20 for three, 3 · 7.4 = 22.2 g.
#[test]
fn an_article_has_one_line_however_many_orders_it_is_for() {
    let pin = pin();
    let items = [sold(&pin, 2, Some(usd(dec!(9.10)))), sold(&pin, 1, Some(usd(dec!(8))))];
    let sale = goods(&items, Currency::USD).unwrap();
    let [line] = sale.items.as_slice() else { panic!("{sale:?}") };
    assert_eq!((line.quantity, line.value, sale.value), (3, usd(dec!(26.20)), usd(dec!(26.20))));
    assert!((line.net_g - 22.2).abs() < 1e-9 && (sale.net_g - 22.2).abs() < 1e-9);
}

#[test]
fn a_trade_is_other_a_sale_is_a_sale_and_both_say_so() {
    let (pin, carded) = (pin(), carded());
    let by = |deeds: &[Deed]| {
        let nine = Some(usd(dec!(9)));
        let contents: Vec<Content<'_>> = deeds
            .iter()
            .zip([&pin, &carded])
            .map(|(deed, article)| Content { deed: *deed, ..sold(article, 1, nine) })
            .collect();
        let declared = goods(&contents, Currency::USD).unwrap();
        (declared.category, declared.explanation)
    };
    assert_eq!(by(&[Deed::Sale, Deed::Sale]), (Category::SaleOfGoods, None));
    assert_eq!(by(&[Deed::Trade, Deed::Trade]), (Category::Other, Some("exchange of goods, no payment")));
    let both = Some("in part an exchange of goods, without payment");
    assert_eq!(by(&[Deed::Sale, Deed::Trade]), (Category::SaleOfGoods, both));
}

/// No form takes a value of nothing: what was free is declared at its price, or asked about.
#[test]
fn what_was_free_is_declared_at_what_it_sells_for() {
    let priced = Article { price: Some(usd(dec!(9))), ..pin() };
    let declared = one(&priced, Some(usd(dec!(0)))).unwrap();
    assert_eq!((declared.value, declared.category), (usd(dec!(9)), Category::SaleOfGoods));
    assert_eq!(declared.explanation, Some("in part free of charge, declared at its selling price"));
    let said = one(&pin(), Some(usd(dec!(0)))).unwrap_err();
    assert_eq!(said, ["`BELL` was free, and has no price to declare; fill in what it sells for"]);
}

#[test]
fn all_that_is_missing_is_told_at_once_and_once() {
    let bare = Article { customs_description: None, hs_code: None, origin: None, mass: None, ..pin() };
    let said = goods(&[sold(&bare, 1, None), sold(&bare, 2, None)], Currency::USD).unwrap_err();
    assert_eq!(
        said,
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
        let said = one(&article, Some(usd(dec!(9)))).unwrap_err();
        assert_eq!(said, [format!("customs_description `{vague}` of `BELL` is too vague")]);
    }
    let clear = Article { customs_description: Some("enamel pin".into()), ..pin() };
    assert!(one(&clear, Some(usd(dec!(9)))).is_ok());
}

#[test]
fn a_sum_has_one_currency() {
    let eur = Money::new(dec!(1), "EUR".parse().unwrap());
    let said = one(&pin(), Some(eur)).unwrap_err();
    assert_eq!(said, ["the price of `BELL` is in EUR, not USD"]);
}
