//! `catalogue.csv` and `mailers.csv`.

use std::collections::BTreeSet;

use rust_decimal::Decimal;

use crate::model::catalogue::{Article, Code, Contents, Kind};
use crate::model::length::Length;
use crate::model::mailer::Mailer;
use crate::model::mass::Mass;
use crate::model::money::{Currency, Money};

use super::fault::Fault;
use super::sheet::{self, Others, Row};

const ARTICLE_COLUMNS: [&str; 20] = [
    "code",
    "title",
    "aliases",
    "kind",
    "width_mm",
    "height_mm",
    "thickness_mm",
    "mass_g",
    "mass_sd_g",
    "roll_share",
    "card_width_mm",
    "card_height_mm",
    "contains",
    "price",
    "cost",
    "on_hand",
    "place",
    "customs_description",
    "hs_code",
    "origin",
];
const MAILER_COLUMNS: [&str; 9] =
    ["code", "title", "inner_width_mm", "inner_length_mm", "max_thickness_mm", "tare_g", "cost", "on_hand", "reused"];

pub(super) fn articles(text: &str, currency: Currency, faults: &mut Vec<Fault>) -> Vec<Article> {
    let mut codes = BTreeSet::new();
    let rows = sheet::rows("catalogue.csv", text, &ARTICLE_COLUMNS, Others::Refused, faults);
    let articles = rows.iter().filter_map(|row| {
        let article = article(row, currency, faults)?;
        if !codes.insert(article.code.clone()) {
            faults.push(row.fault("code", "stands in the catalogue twice; a code names one article"));
        }
        Some(article)
    });
    articles.collect()
}

fn money(row: &Row<'_>, column: &str, currency: Currency, faults: &mut Vec<Fault>) -> Option<Money> {
    row.not_negative(column, faults).map(|amount| Money::new(amount, currency))
}

fn article(row: &Row<'_>, currency: Currency, faults: &mut Vec<Fault>) -> Option<Article> {
    let code = row.must("code", faults).map(str::to_owned);
    let title = row.must("title", faults).map(str::to_owned);
    row.must("kind", faults);
    let kinds = [("pin", Kind::Pin), ("carded", Kind::Carded), ("flat", Kind::Flat), ("other", Kind::Other)];
    let kind = row.word("kind", &kinds, faults);
    let contents = [("button-cell", Contents::ButtonCell), ("magnet", Contents::Magnet)];
    let mut mm = |column: &str| row.positive(column, faults).map(Length::from_mm);
    let (width, height, thickness) = (mm("width_mm"), mm("height_mm"), mm("thickness_mm"));
    let card = mm("card_width_mm").zip(mm("card_height_mm"));
    let hs_code = row.read("hs_code", faults, |text| {
        let digits: String = text.chars().filter(|c| *c != '.' && *c != ' ').collect();
        let heading = digits.len() >= 6 && digits.bytes().all(|b| b.is_ascii_digit());
        heading.then_some(digits).ok_or_else(|| "is no heading; write at least six digits, such as 711719".to_owned())
    });
    let words = |column: &str| Some(row.cell(column).to_owned()).filter(|text| !text.is_empty());
    Some(Article {
        aliases: row
            .cell("aliases")
            .split(';')
            .map(|alias| alias.trim().to_owned())
            .filter(|alias| !alias.is_empty())
            .collect(),
        width,
        height,
        thickness,
        mass: row.positive("mass_g", faults).map(Mass::from_g),
        mass_sd: row.not_negative("mass_sd_g", faults).map(Mass::from_g),
        roll_share: row.positive("roll_share", faults).unwrap_or(Decimal::ONE),
        card,
        contains: row.word("contains", &contents, faults),
        price: money(row, "price", currency, faults),
        cost: money(row, "cost", currency, faults),
        on_hand: row.whole("on_hand", faults),
        place: row.cell("place").to_owned(),
        customs_description: words("customs_description"),
        hs_code,
        origin: row.parsed("origin", faults),
        code: Code(code?),
        title: title?,
        kind: kind?,
    })
}

pub(super) fn mailers(text: &str, currency: Currency, faults: &mut Vec<Fault>) -> Vec<Mailer> {
    let mut codes = BTreeSet::new();
    let rows = sheet::rows("mailers.csv", text, &MAILER_COLUMNS, Others::Refused, faults);
    let mailers = rows.iter().filter_map(|row| {
        let mailer = mailer(row, currency, faults)?;
        if !codes.insert(mailer.code.clone()) {
            faults.push(row.fault("code", "stands there twice; a code names one mailer"));
        }
        Some(mailer)
    });
    mailers.collect()
}

fn mailer(row: &Row<'_>, currency: Currency, faults: &mut Vec<Fault>) -> Option<Mailer> {
    let code = row.must("code", faults).map(str::to_owned);
    let mut must = |column: &str| {
        row.must(column, faults);
        row.positive(column, faults)
    };
    let sizes = [must("inner_width_mm"), must("inner_length_mm"), must("max_thickness_mm"), must("tare_g")];
    let reused = row.word("reused", &[("yes", true), ("no", false), ("true", true), ("false", false)], faults);
    let cost = money(row, "cost", currency, faults);
    let on_hand = row.whole("on_hand", faults);
    let code = code?;
    let title = Some(row.cell("title").to_owned()).filter(|title| !title.is_empty()).unwrap_or_else(|| code.clone());
    let [width, length, thickness, tare] = sizes;
    Some(Mailer {
        code,
        title,
        inner_width: Length::from_mm(width?),
        inner_length: Length::from_mm(length?),
        max_thickness: Length::from_mm(thickness?),
        tare: Mass::from_g(tare?),
        cost,
        on_hand,
        reused: reused.unwrap_or(false),
    })
}
