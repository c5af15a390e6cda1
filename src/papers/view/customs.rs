//! What a customs form asks of a parcel abroad, in the order of the UPU's forms CN 22 and CN 23.
//!
//! Handed a parcel with its declaration; gives the fields to copy, with what is still blank named. It is not the form:
//! the carrier's own form and its current rules decide, and the page says so. Turned down: drawing the form itself,
//! which carriers take only as they print it or fill it in online.

use serde::Serialize;

use crate::model::customs::{Category, Form};
use crate::model::money::Money;
use crate::model::parcel::Parcel;

use super::super::scan::{self, ScanCode};
use super::Desk;

/// The data of a form.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct CustomsPage {
    /// Parcel.
    pub r#ref: String,
    /// The ref to scan.
    pub code: Option<ScanCode>,
    /// `CN 22` or `CN 23`.
    pub form: String,
    /// It is the larger form, which asks for more.
    pub large: bool,
    /// Why that form, in a line; nothing where the record doesn't say.
    pub why: Option<String>,
    /// Recipient and address.
    pub to: Vec<String>,
    /// `Sale of goods` or `Other`.
    pub category: String,
    /// What the form asks for beside the category.
    pub explanation: Option<String>,
    /// Articles.
    pub items: Vec<CustomsItem>,
    /// Sum of the articles' masses: `0.021 kg`.
    pub net: String,
    /// The sealed parcel's expected mass.
    pub gross: String,
    /// Sum of the values, with currency.
    pub value: String,
    /// Postage and fees, with currency.
    pub charges: Option<String>,
    /// Numbers of the invoices inside: `12, 13`; empty where there are none.
    pub invoices: String,
    /// Fields that are still blank: the seller must fill them in.
    pub blank: Vec<String>,
}

/// One article of a customs form.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct CustomsItem {
    /// How many.
    pub count: u32,
    /// Detailed description.
    pub description: String,
    /// Net mass of all of them: `0.021 kg`.
    pub net: String,
    /// Value of all of them, with its currency: `USD 16.00`.
    pub value: String,
    /// HS heading; empty where it is unknown.
    pub hs_code: String,
    /// Country of origin; empty where it is unknown.
    pub origin: String,
}

/// The page of `parcel`; nothing for a parcel at home.
pub(super) fn page(parcel: &Parcel, desk: &Desk<'_>) -> Option<CustomsPage> {
    let declaration = parcel.customs.as_ref()?;
    // Whole grams first and summed after, so that the form's articles add up to its total (note 6 of CN 22).
    let whole = |grams: f64| grams.max(1.0).round();
    let kg = |grams: f64| format!("{:.3} kg", grams / 1000.0);
    let with_code = |money: Money| format!("{} {}", money.currency, money.rounded().plain());
    let net: f64 = declaration.items.iter().map(|item| whole(item.net_g)).sum();
    let items: Vec<CustomsItem> = declaration
        .items
        .iter()
        .map(|item| CustomsItem {
            count: item.quantity,
            description: item.description.clone(),
            net: kg(whole(item.net_g)),
            value: with_code(item.value),
            hs_code: item.hs_code.as_ref().map(ToString::to_string).unwrap_or_default(),
            origin: item.origin.map(|origin| origin.to_string()).unwrap_or_default(),
        })
        .collect();
    let mut blank = Vec::new();
    if items.iter().any(|item| item.hs_code.is_empty()) {
        blank.push("HS tariff number".to_owned());
    }
    if items.iter().any(|item| item.origin.is_empty()) {
        blank.push("country of origin".to_owned());
    }
    let invoices: Vec<String> = parcel.invoices.iter().map(|invoice| invoice.number.to_string()).collect();
    Some(CustomsPage {
        r#ref: parcel.r#ref.0.clone(),
        code: scan::code(&parcel.r#ref.0),
        form: declaration.form.title().to_owned(),
        large: match declaration.form {
            Form::Cn22 => false,
            Form::Cn23 => true,
        },
        why: Some(declaration.form_why.clone()).filter(|why| !why.is_empty()),
        to: std::iter::once(parcel.recipient.name.clone()).chain(desk.address(parcel)).collect(),
        category: match declaration.category {
            Category::SaleOfGoods => "Sale of goods",
            Category::Other => "Other",
        }
        .to_owned(),
        explanation: declaration.explanation.clone(),
        items,
        net: kg(net),
        // A parcel is never lighter than what is in it, whatever the estimate rounds to.
        gross: kg(declaration.gross_g.unwrap_or(parcel.mass.mean_g).round().max(net)),
        value: with_code(declaration.value),
        charges: Some(with_code(declaration.postal_charges.unwrap_or(parcel.postage.price))),
        invoices: invoices.join(", "),
        blank,
    })
}

#[cfg(test)]
mod tests {
    use super::super::super::{Look, Templates, sample};
    use super::*;
    use crate::model::scale::Sheet;

    fn with_three(form: Form) -> CustomsPage {
        let (seller, mut plan) = sample::day().unwrap();
        let templates = Templates::built_in();
        let look = Look { seller: &seller, page: Sheet::A4, templates: &templates };
        let parcel = plan.parcels.iter_mut().find(|parcel| parcel.customs.is_some()).unwrap();
        let declaration = parcel.customs.as_mut().unwrap();
        let mut item = declaration.items[0].clone();
        item.net_g = 11.4;
        declaration.items = vec![item.clone(), item.clone(), item];
        (declaration.net_g, declaration.form) = (34.2, form);
        page(parcel, &Desk::of(&look)).unwrap()
    }

    // CN 22, note 6: the articles' weights add up to the total.
    #[test]
    fn masses_of_a_customs_form_add_up() {
        assert_eq!(with_three(Form::Cn22).net, "0.033 kg");
    }

    #[test]
    fn the_larger_form_is_told_apart() {
        assert!(with_three(Form::Cn23).large && !with_three(Form::Cn22).large);
        assert_eq!(with_three(Form::Cn23).form, "CN 23");
    }
}
