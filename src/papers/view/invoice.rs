//! A sale's invoice.
//!
//! Handed an order as its source tells it and what the seller states of tax; gives the fields of article 226 of
//! Directive 2006/112/EC as far as those two have them: date of issue (1), number (2), the seller's number for value
//! added tax (3), names and addresses (5), quantity and nature (6), date of supply (7), cash accounting (7a), taxable
//! amount, unit prices and discounts (8), rate (9), tax (10), the reason of an exemption (11). Not there: the buyer's
//! own tax number (4), which no export brings, and what only other trades need (10a, 11a to 15). Turned down: reckoning
//! a tax that the order doesn't state, over the seller's name and on paper that tax offices read.

use rust_decimal::{Decimal, dec};
use serde::Serialize;

use crate::model::money::Money;
use crate::model::order::{Order, OrderLine};
use crate::model::parcel::{For, Invoice, Item, Parcel, Rest};
use crate::model::rules::{Seller, SellerTax, TaxScheme};

use super::super::phrases::{InvoiceWords, Phrases, fill};
use super::super::words::{self, DateWords};
use super::slips::{Counted, brief, parcel_of};

/// A numbered invoice.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct InvoiceView {
    /// Parcel that it goes into.
    pub r#ref: String,
    /// Little enough that half a sheet surely holds it: the template need not measure it first.
    pub short: bool,
    /// Language of its words.
    pub lang: String,
    /// Its words, filled in; empty where nothing is to be said.
    pub words: InvoiceWords,
    /// Who sells, with the country where the parcel goes abroad.
    pub from: Vec<String>,
    /// Sequential number.
    pub number: String,
    /// Day of issue, which is the day of supply.
    pub issued: DateWords,
    /// The order in the source's number.
    pub order: String,
    /// Where it was ordered, the source's name.
    pub source: String,
    /// Day of the order.
    pub placed: Option<DateWords>,
    /// Who bought: name, and address where it is also sent there.
    pub sold_to: Vec<String>,
    /// Where it goes, if somebody else receives it.
    pub sent_to: Option<Vec<String>>,
    /// What was bought.
    pub lines: Vec<InvoiceLine>,
    /// Goods, postage, discount, tax, total, and what the total holds of tax.
    pub sums: Vec<Sum>,
    /// What is still to be said of the sums, a sentence each.
    pub remarks: Vec<String>,
    /// What of the order is not in this parcel, so that its buyer doesn't look for it.
    pub elsewhere: Vec<Counted>,
}

/// A line of an invoice.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct InvoiceLine {
    /// How many.
    pub count: u32,
    /// Title as the buyer saw it, or the code where there was none.
    pub title: String,
    /// Options chosen.
    pub options: Option<String>,
    /// Price of one; empty where the source has none.
    pub unit: String,
    /// Price of the line; empty where the source has none.
    pub total: String,
}

/// A sum below the lines.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Sum {
    /// What it is.
    pub label: String,
    /// How much.
    pub amount: String,
    /// The total: what was paid.
    pub total: bool,
}

/// What an order's papers say of its goods and sums.
pub(super) struct Told {
    /// What was bought.
    pub(super) lines: Vec<InvoiceLine>,
    /// Goods to total.
    pub(super) sums: Vec<Sum>,
    /// What is still to be said of the sums.
    pub(super) remarks: Vec<String>,
    /// What of it is in another parcel.
    pub(super) elsewhere: Vec<Counted>,
}

/// What `order` comes to, and what of it `parcel` doesn't hold.
pub(super) fn told(parcel: &Parcel, order: &Order, seller: &Seller, phrases: &Phrases<'_>) -> Told {
    let (sums, remarks) = sums(order, &seller.tax, phrases);
    let lines = order.lines.iter().map(|line| invoice_line(line, phrases)).collect();
    Told { lines, sums, remarks, elsewhere: elsewhere(parcel, order) }
}

/// The invoice of `order`.
pub(super) fn view(
    parcel: &Parcel,
    invoice: &Invoice,
    order: &Order,
    seller: &Seller,
    phrases: &Phrases<'_>,
) -> InvoiceView {
    let address = words::address(&order.recipient, seller.country);
    let receiver: Vec<String> = std::iter::once(order.recipient.name.clone()).chain(address).collect();
    let other = order.buyer.clone().filter(|buyer| !buyer.is_empty() && *buyer != order.recipient.name);
    let Told { lines, sums, mut remarks, elsewhere } = told(parcel, order, seller, phrases);
    remarks.extend(part(parcel, order, &elsewhere, phrases));
    let issued = phrases.date(invoice.issued_on);
    let placed = order.placed_at.map(|day| phrases.date(day));
    let titles = lines.iter().flat_map(|line| line.options.iter().chain([&line.title]));
    let few = brief(receiver.iter().chain(titles).chain(&seller.address).chain(&remarks));
    let short = few && lines.len() <= 4 && receiver.len() <= 6 && elsewhere.is_empty();
    InvoiceView {
        r#ref: parcel.r#ref.0.clone(),
        short,
        lang: phrases.language.code().to_owned(),
        words: filled(invoice, &issued, placed.as_ref(), seller, phrases),
        from: from(order, seller),
        number: invoice.number.to_string(),
        issued,
        order: order.id.number.clone(),
        source: order.id.source.clone(),
        placed,
        sent_to: other.is_some().then(|| receiver.clone()),
        sold_to: other.map_or(receiver, |buyer| vec![buyer]),
        lines,
        sums,
        remarks,
        elsewhere,
    }
}

/// The paper of an order's later part, and of a later parcel of a split: laid out as its invoice, with what is in this
/// parcel alone, and without sums, as nothing more is to be paid.
pub(super) fn rest(parcel: &Parcel, rest: &Rest, order: &Order, seller: &Seller, phrases: &Phrases<'_>) -> InvoiceView {
    let unnumbered = Invoice { number: 0, order: order.id.clone(), issued_on: parcel.ship_by };
    let invoice = rest.invoice.as_ref().unwrap_or(&unnumbered);
    let whole = view(parcel, invoice, order, seller, phrases);
    let words = &phrases.words.invoice;
    let belongs = rest.invoice.as_ref().map(|invoice| {
        let (number, date) = (invoice.number.to_string(), phrases.date(invoice.issued_on).long);
        match &rest.invoice_in {
            Some((part, parcel)) => fill(
                &words.invoice_in,
                &[("number", &number), ("part", &part.to_string()), ("parcel", &parcel.to_string())],
            ),
            None => fill(&words.rest_of, &[("number", &number), ("date", &date)]),
        }
    });
    let title = match parcel.part.filter(|_| rest.invoice_in.is_some()) {
        Some((part, of)) => {
            let (part, of) = (part.to_string(), of.to_string());
            fill(&words.part_of, &[("part", &part), ("of", &of), ("number", &order.id.number)])
        }
        None => fill(&words.rest, &[("number", &order.id.number)]),
    };
    let follows = parcel.owing.contains(&order.id).then(|| words.first_part.clone());
    let lines = order.lines.iter().filter_map(|line| {
        let count = here(parcel, order, line);
        let told = InvoiceLine { count, unit: String::new(), total: String::new(), ..invoice_line(line, phrases) };
        (count > 0).then_some(told)
    });
    InvoiceView {
        number: rest.invoice.as_ref().map(|invoice| invoice.number.to_string()).unwrap_or_default(),
        words: InvoiceWords {
            title,
            issued: String::new(),
            supplied: String::new(),
            each: String::new(),
            amount: String::new(),
            ..whole.words
        },
        lines: lines.collect(),
        sums: Vec::new(),
        remarks: belongs.into_iter().chain(follows).collect(),
        ..whole
    }
}

/// Which part of its order this parcel is, where it doesn't hold it all.
fn part(parcel: &Parcel, order: &Order, elsewhere: &[Counted], phrases: &Phrases<'_>) -> Vec<String> {
    let words = &phrases.words.invoice;
    let follows = || words.first_part.clone();
    match parcel.part {
        _ if elsewhere.is_empty() => Vec::new(),
        // The other parcels of the day don't hold all that is elsewhere.
        Some(_) if parcel.owing.contains(&order.id) => vec![parcel_of(parcel, &words.part), follows()],
        Some(_) => vec![parcel_of(parcel, &words.part)],
        None => vec![follows()],
    }
}

fn filled(
    invoice: &Invoice,
    issued: &DateWords,
    placed: Option<&DateWords>,
    seller: &Seller,
    phrases: &Phrases<'_>,
) -> InvoiceWords {
    let words = &phrases.words.invoice;
    let number =
        |pattern: &str, id: Option<&String>| id.map_or_else(String::new, |id| fill(pattern, &[("number", id)]));
    let day = |pattern: &str, day: &DateWords| fill(pattern, &[("date", &day.long)]);
    InvoiceWords {
        title: fill(&words.title, &[("number", &invoice.number.to_string())]),
        issued: day(&words.issued, issued),
        tax_number: number(&words.tax_number, seller.tax_id.as_ref()),
        vat_number: number(&words.vat_number, seller.tax.vat_id.as_ref()),
        ordered: placed.map_or_else(String::new, |placed| day(&words.ordered, placed)),
        supplied: day(&words.supplied, issued),
        // Those of the sums are filled there.
        vat_at: String::new(),
        tax_included: String::new(),
        ..words.clone()
    }
}

fn from(order: &Order, seller: &Seller) -> Vec<String> {
    let abroad = order.recipient.country != Some(seller.country);
    seller.address.iter().cloned().chain(abroad.then(|| words::country(seller.country).to_uppercase())).collect()
}

pub(super) fn elsewhere(parcel: &Parcel, order: &Order) -> Vec<Counted> {
    order
        .lines
        .iter()
        .map(|line| Counted { count: line.quantity.saturating_sub(here(parcel, order, line)), title: title(line) })
        .filter(|rest| rest.count > 0)
        .collect()
}

/// How many of a line are in `parcel`.
pub(super) fn here(parcel: &Parcel, order: &Order, line: &OrderLine) -> u32 {
    let is_it = |item: &&Item| matches!(&item.for_, For::Order { order: id, line: key } if *id == order.id && *key == line.line);
    parcel.items.iter().filter(is_it).map(|item| item.quantity).sum()
}

fn invoice_line(line: &OrderLine, phrases: &Phrases<'_>) -> InvoiceLine {
    InvoiceLine {
        count: line.quantity,
        title: title(line),
        options: line.options.clone(),
        unit: line.unit_price.map_or_else(String::new, |price| phrases.money(price)),
        total: line.unit_price.map_or_else(String::new, |price| phrases.money(price.times(line.quantity))),
    }
}

/// As the buyer saw it, or the code where there was no title.
pub(super) fn title(line: &OrderLine) -> String {
    if line.title.is_empty() { line.code.clone().unwrap_or_default() } else { line.title.clone() }
}

/// An order's amounts, as far as it tells them.
struct Amounts {
    goods: Option<Money>,
    discount: Option<Money>,
    postage: Option<Money>,
    tax: Option<Money>,
    total: Option<Money>,
    /// The tax is within the total and not on top of the other parts.
    included: bool,
    /// What the total holds that none of the parts tells.
    other: Option<Money>,
}

fn less(amount: Money) -> Money {
    Money { amount: -amount.amount, ..amount }
}

/// What the order doesn't tell is not made up: a total that the parts don't give is kept as the order has it, with
/// the difference apart.
fn amounts(order: &Order) -> Amounts {
    let zero = Money::zero(order.currency);
    let goods: Option<Money> = order
        .lines
        .iter()
        .try_fold(zero, |sum, line| line.unit_price.and_then(|price| sum.checked_add(price.times(line.quantity))));
    let charged = |amount: Option<Money>| amount.filter(|money| !money.amount.is_zero());
    let before_tax = goods
        .and_then(|goods| goods.checked_add(order.postage_charged.unwrap_or(zero)))
        .and_then(|sum| sum.checked_add(less(order.discount.unwrap_or(zero))));
    let with_tax = before_tax.and_then(|sum| sum.checked_add(order.tax.unwrap_or(zero)));
    let tax = charged(order.tax);
    let total = order.total.or(with_tax);
    let included = tax.is_some() && total.is_some() && total == before_tax;
    let differs = total.zip(with_tax).and_then(|(total, parts)| total.checked_add(less(parts)));
    Amounts {
        goods,
        discount: charged(order.discount),
        postage: charged(order.postage_charged),
        tax,
        total,
        included,
        other: charged(differs).filter(|_| !included),
    }
}

impl Amounts {
    /// What the stated tax is of: the stated total less the stated tax.
    fn taxable(&self) -> Option<Money> {
        self.total.zip(self.tax).and_then(|(total, tax)| total.checked_add(less(tax)))
    }

    /// Whether the stated tax is `rate` per cent of that, but for a smallest coin a line that rounding may move.
    fn agrees(&self, rate: Decimal, lines: usize) -> bool {
        let Some((taxable, tax)) = self.taxable().zip(self.tax) else { return false };
        let Some(expected) = taxable.amount.checked_mul(rate).map(|hundredfold| hundredfold / dec!(100)) else {
            return false;
        };
        let coins = Decimal::from(lines) + dec!(2);
        (expected - tax.amount).abs() <= coins * Decimal::new(1, tax.currency.minor_digits())
    }
}

fn sums(order: &Order, tax: &SellerTax, phrases: &Phrases<'_>) -> (Vec<Sum>, Vec<String>) {
    let words = &phrases.words.invoice;
    let parts = amounts(order);
    let row = |label: &str, amount: Money| Sum { label: label.to_owned(), amount: phrases.money(amount), total: false };
    let tax_label = match (tax.scheme, tax.rate.filter(|rate| parts.agrees(*rate, order.lines.len()))) {
        (TaxScheme::Vat, Some(rate)) => fill(&words.vat_at, &[("rate", &rate.normalize().to_string())]),
        (TaxScheme::Vat, None) => words.vat.clone(),
        (TaxScheme::None | TaxScheme::SmallBusiness, _) => words.tax.clone(),
    };
    let tax_row = parts.tax.map(|tax| row(&tax_label, tax));
    let taxable_row = parts.taxable().filter(|_| tax.scheme == TaxScheme::Vat).map(|sum| row(&words.taxable, sum));
    let total = parts.total.map(|total| Sum { label: words.total.clone(), amount: phrases.money(total), total: true });
    let mut sums: Vec<Sum> = parts.goods.into_iter().map(|goods| row(&words.goods, goods)).collect();
    sums.extend(parts.discount.map(|off| row(&words.discount, less(off))));
    sums.extend(parts.postage.map(|postage| row(&words.postage, postage)));
    let mut remarks = Vec::new();
    if parts.included && tax.scheme == TaxScheme::Vat {
        sums.extend(total.into_iter().chain(taxable_row).chain(tax_row));
    } else if parts.included {
        sums.extend(total);
        remarks.extend(parts.tax.map(|tax| fill(&words.tax_included, &[("amount", &phrases.money(tax))])));
    } else {
        sums.extend(parts.other.map(|other| row(&words.other, other)));
        sums.extend(taxable_row.into_iter().chain(tax_row).chain(total));
    }
    if parts.total.is_none() {
        remarks.push(words.no_prices.clone());
    }
    // A seller who charges tax exempts only what no tax was charged on, such as what leaves the country.
    remarks.extend(tax.exemption.clone().filter(|_| tax.scheme != TaxScheme::Vat || parts.tax.is_none()));
    remarks.extend(tax.cash_accounting.then(|| words.cash_accounting.clone()));
    (sums, remarks)
}

/// Where an order's tax and what the seller states of it don't go together: what to look at before the invoice goes
/// into the parcel.
pub(super) fn doubt(order: &Order, number: u32, tax: &SellerTax) -> Option<String> {
    let parts = amounts(order);
    let about = format!("invoice {number}, order {}", order.id);
    match (tax.scheme, parts.tax) {
        (TaxScheme::SmallBusiness, Some(stated)) => Some(format!(
            "{about}: the order states tax of {} {}, and `seller.tax` says that you charge none; look at it before it \
             goes in.",
            stated.currency,
            stated.plain()
        )),
        (TaxScheme::Vat, None) if tax.exemption.is_none() => Some(format!(
            "{about}: the order states no tax, and so the invoice has none; look at it before it goes in."
        )),
        (TaxScheme::Vat, Some(stated)) => tax.rate.filter(|rate| !parts.agrees(*rate, order.lines.len())).map(|rate| {
            format!(
                "{about}: the order's tax of {} {} is not {} %; the invoice has the amount without a rate.",
                stated.currency,
                stated.plain(),
                rate.normalize()
            )
        }),
        (TaxScheme::None, _) | (TaxScheme::SmallBusiness | TaxScheme::Vat, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::phrases::Tongues;
    use super::super::super::{Templates, sample};
    use super::*;
    use crate::model::language::Language;

    fn labels(sums: &[Sum]) -> Vec<(&str, &str)> {
        sums.iter().map(|sum| (sum.label.as_str(), sum.amount.as_str())).collect()
    }

    fn order() -> Order {
        let (_, plan) = sample::day().unwrap();
        let mut order = plan.parcels.iter().flat_map(|parcel| &parcel.orders).next().unwrap().clone();
        order.lines.truncate(1);
        let money = |amount| Some(Money::new(amount, order.currency));
        order.lines[0].quantity = 2;
        order.lines[0].unit_price = money(dec!(12.00));
        (order.postage_charged, order.tax, order.discount) = (money(dec!(4.50)), money(dec!(1.50)), money(dec!(2.00)));
        order
    }

    fn written(order: &Order, tax: &SellerTax, language: Language) -> (Vec<Sum>, Vec<String>) {
        let tongues = Tongues::of(&Templates::built_in()).unwrap();
        sums(order, tax, &tongues.phrases(language, None, "US".parse().unwrap()))
    }

    fn plainly(order: &Order) -> (Vec<Sum>, Vec<String>) {
        written(order, &SellerTax::default(), Language::En)
    }

    #[test]
    fn what_of_an_order_goes_another_way_is_said_on_its_invoice() {
        let (_, plan) = sample::day().unwrap();
        let parcel = plan.parcels.iter().find(|parcel| !parcel.orders.is_empty()).unwrap();
        let order = &parcel.orders[0];
        assert_eq!(elsewhere(parcel, order), []);
        let mut more = order.clone();
        more.lines[0].quantity += 2;
        assert_eq!(elsewhere(parcel, &more), [Counted { count: 2, title: title(&more.lines[0]) }]);
    }

    #[test]
    fn parts_add_up_to_a_total_that_the_order_leaves_out() {
        let mut order = order();
        order.total = None;
        let (sums, remarks) = plainly(&order);
        let expected =
            [("Goods", "$24.00"), ("Discount", "-$2.00"), ("Postage", "$4.50"), ("Tax", "$1.50"), ("Total", "$28.00")];
        assert_eq!(labels(&sums), expected);
        assert_eq!(remarks, [] as [&str; 0]);
    }

    #[test]
    fn a_tax_within_the_total_is_said_and_not_added() {
        let mut order = order();
        order.total = Some(Money::new(dec!(26.50), order.currency));
        let (sums, remarks) = plainly(&order);
        assert_eq!(labels(&sums)[3], ("Total", "$26.50"));
        assert_eq!(remarks, ["Tax of $1.50 is included in the total."]);
    }

    #[test]
    fn a_total_that_the_parts_do_not_give_shows_the_difference() {
        let mut order = order();
        order.total = Some(Money::new(dec!(27.00), order.currency));
        let (sums, _) = plainly(&order);
        assert_eq!(
            labels(&sums)[3..],
            [("Other, as the order states", "-$1.00"), ("Tax", "$1.50"), ("Total", "$27.00")]
        );
    }

    fn vat(rate: Option<Decimal>) -> SellerTax {
        SellerTax {
            scheme: TaxScheme::Vat,
            vat_id: Some("DE123456789".to_owned()),
            exemption: None,
            rate,
            cash_accounting: false,
        }
    }

    // Directive 2006/112/EC, article 226, points 8 to 10: taxable amount per rate, the rate, the tax.
    #[test]
    fn value_added_tax_is_that_of_the_order_with_its_taxable_amount_and_a_rate_that_agrees() {
        let mut order = order();
        // 26.50 with 19 % in it: 22.27 and 4.23.
        order.tax = Some(Money::new(dec!(4.23), order.currency));
        order.total = Some(Money::new(dec!(26.50), order.currency));
        let (sums, remarks) = written(&order, &vat(Some(dec!(19))), Language::De);
        let expected =
            [("Gesamtbetrag", "26,50\u{a0}$"), ("Nettobetrag", "22,27\u{a0}$"), ("Umsatzsteuer 19 %", "4,23\u{a0}$")];
        assert_eq!(labels(&sums)[3..], expected);
        assert_eq!(remarks, [] as [&str; 0]);
        assert_eq!(doubt(&order, 7, &vat(Some(dec!(19)))), None);
        // On top, and without a rate to state.
        order.total = Some(Money::new(dec!(30.73), order.currency));
        let (sums, _) = written(&order, &vat(None), Language::En);
        assert_eq!(labels(&sums)[3..], [("Taxable amount", "$26.50"), ("VAT", "$4.23"), ("Total", "$30.73")]);
    }

    #[test]
    fn a_rate_that_does_not_agree_is_left_out_and_told() {
        let mut order = order();
        order.total = None;
        let (sums, _) = written(&order, &vat(Some(dec!(19))), Language::En);
        assert_eq!(labels(&sums)[4], ("VAT", "$1.50"));
        let said = doubt(&order, 7, &vat(Some(dec!(19)))).unwrap();
        assert!(
            said.ends_with("the order's tax of USD 1.50 is not 19 %; the invoice has the amount without a rate."),
            "{said}"
        );
    }

    #[test]
    fn an_exemption_is_in_the_sellers_words_and_a_tax_beside_it_is_told() {
        let small = SellerTax {
            scheme: TaxScheme::SmallBusiness,
            exemption: Some("No VAT charged: small business.".to_owned()),
            ..SellerTax::default()
        };
        let mut order = order();
        assert!(doubt(&order, 7, &small).unwrap().contains("states tax of USD 1.50"));
        order.tax = None;
        assert_eq!(doubt(&order, 7, &small), None);
        assert_eq!(written(&order, &small, Language::Fr).1, ["No VAT charged: small business."]);
        // Who charges tax and finds none stated is told; with an exemption stated, that is printed instead.
        assert!(doubt(&order, 7, &vat(None)).unwrap().contains("states no tax"));
        let export = SellerTax { exemption: Some("Exempt: export.".to_owned()), ..vat(None) };
        assert_eq!(
            (doubt(&order, 7, &export), written(&order, &export, Language::En).1),
            (None, vec!["Exempt: export.".to_owned()])
        );
    }
}
