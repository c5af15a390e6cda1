//! The print pack's view: its parts in the order in which they are used at the table.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::model::day::DayPlan;
use crate::model::length::Length;

use super::super::phrases::Tongues;
use super::super::scan::{self, ScanCode};
use super::super::words::{self, DateWords};
use super::super::{Look, PapersError};
use super::Desk;
use super::card::{self, Card};
use super::customs::{self, CustomsPage};
use super::slips::{self, Slip};

/// All that `dispatch.typ` gets, as `data.json`.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct PrintPack {
    /// Title of the document.
    pub title: String,
    /// Language of its words, BCP 47.
    pub lang: String,
    /// Typst's name of the paper: `a4` or `us-letter`.
    pub paper: String,
    /// Day of dispatch.
    pub date: DateWords,
    /// Year, month and day of it, for the document's date.
    pub ymd: (i16, i8, i8),
    /// `list 2 of the day: only what came after the first print`, or nothing.
    pub revision: Option<String>,
    /// Who sends.
    pub seller: SellerView,
    /// Why there is nothing to pack, or nothing.
    pub nothing: Option<String>,
    /// `7 parcels`.
    pub parcels: String,
    /// What to fetch.
    pub pick: PickList,
    /// A card a parcel.
    pub cards: Vec<Card>,
    /// Papers that travel.
    pub slips: Vec<Slip>,
    /// Data for customs forms.
    pub customs: Vec<CustomsPage>,
    /// What to hand over.
    pub handoff: HandoffList,
}

/// The seller on papers.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct SellerView {
    /// Name.
    pub name: String,
    /// Address lines.
    pub address: Vec<String>,
    /// Country's name.
    pub country: String,
    /// Email.
    pub email: String,
    /// Tax number, where there is one.
    pub tax_id: Option<String>,
}

/// What to fetch, by shelf place.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct PickList {
    /// Places in the order of a walk along the shelf.
    pub places: Vec<PickPlace>,
    /// `9 pieces of 6 articles`.
    pub pieces: String,
    /// Mailers to lay out: `5 × Padded mailer, small (A)`.
    pub mailers: Vec<String>,
    /// Wrap to cut: `6 strips, 1.9 m in all`; nothing where nothing is rolled.
    pub wrap: Option<String>,
}

/// One shelf place.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct PickPlace {
    /// Its name, or `no place set`.
    pub place: String,
    /// What lies there.
    pub rows: Vec<PickRow>,
}

/// One article to fetch.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct PickRow {
    /// Code.
    pub code: String,
    /// Title.
    pub title: String,
    /// Options chosen, where there are any.
    pub options: Option<String>,
    /// How many in all.
    pub count: u32,
    /// For which parcels: `1125-01`, with ` × 2` where it takes several.
    pub parcels: Vec<String>,
}

/// The list that goes to the counter.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct HandoffList {
    /// One row a parcel.
    pub rows: Vec<HandoffRow>,
    /// `7 parcels`.
    pub count: String,
    /// Postage planned in all.
    pub postage: String,
    /// Parcels of earlier days without a recorded hand-off.
    pub earlier: Vec<EarlierRow>,
}

/// A parcel to hand over.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct HandoffRow {
    /// Ref.
    pub r#ref: String,
    /// Name, shortened to what a row holds.
    pub name: String,
    /// `1 of 2`, where a recipient's goods don't fit one parcel.
    pub part: Option<String>,
    /// Postal code, with the country abroad.
    pub postal_code: String,
    /// Service.
    pub service: String,
    /// Weight to declare.
    pub declared: String,
    /// Postage planned.
    pub price: String,
    /// To weigh before the postage is bought.
    pub weigh_first: bool,
    /// The ref to scan.
    pub code: Option<ScanCode>,
}

/// A parcel listed on an earlier day.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct EarlierRow {
    /// Its old ref.
    pub r#ref: String,
    /// Name, shortened.
    pub name: String,
    /// When it was listed.
    pub listed: DateWords,
    /// Why it doesn't go as it lies there, such as `do not send: see Q-0003`; nothing where it does.
    pub heed: Option<String>,
}

/// The view of `plan`'s print pack.
///
/// # Errors
/// Where a file of words is at fault.
pub fn pack(plan: &DayPlan, look: &Look<'_>) -> Result<PrintPack, PapersError> {
    Ok(in_tongues(plan, look, &Tongues::of(look.templates)?))
}

/// The same, with the papers that travel in the words of `tongues`.
pub(in crate::papers) fn in_tongues(plan: &DayPlan, look: &Look<'_>, tongues: &Tongues) -> PrintPack {
    let desk = Desk::of(look);
    let date = DateWords::from(plan.date);
    PrintPack {
        title: format!("Print pack of {}, {}", date.long, look.seller.name),
        lang: "en".to_owned(),
        paper: look.page.typst_name().to_owned(),
        ymd: (plan.date.year(), plan.date.month(), plan.date.day()),
        revision: revision(plan),
        seller: seller(&desk),
        nothing: plan.parcels.is_empty().then(|| super::email::nothing(plan)),
        parcels: words::count(plan.parcels.len(), "parcel", "parcels"),
        pick: pick(plan),
        cards: plan.parcels.iter().map(|parcel| card::card(parcel, &desk)).collect(),
        slips: plan.parcels.iter().flat_map(|parcel| slips::slips(parcel, &desk, tongues)).collect(),
        customs: plan.parcels.iter().filter_map(|parcel| customs::page(parcel, &desk)).collect(),
        handoff: handoff(plan, &desk),
        date,
    }
}

/// Nothing for the first list of a day.
#[must_use]
pub fn revision(plan: &DayPlan) -> Option<String> {
    (plan.revision > 1).then(|| format!("list {} of the day, only what is new", plan.revision))
}

pub(super) fn seller(desk: &Desk<'_>) -> SellerView {
    let seller = desk.seller;
    SellerView {
        name: seller.name.clone(),
        address: seller.address.clone(),
        country: words::country(seller.country),
        email: seller.email.clone(),
        tax_id: seller.tax_id.clone(),
    }
}

fn pick(plan: &DayPlan) -> PickList {
    type Key<'a> = (Vec<(String, u64)>, &'a str, &'a str, Option<&'a str>);
    let mut rows: BTreeMap<Key<'_>, PickRow> = BTreeMap::new();
    let mut codes = std::collections::BTreeSet::new();
    for parcel in &plan.parcels {
        let mut within: BTreeMap<Key<'_>, u32> = BTreeMap::new();
        for item in &parcel.items {
            codes.insert(&item.code);
            let key: Key<'_> = (words::natural_key(&item.place), &item.place, &item.code.0, item.options.as_deref());
            *within.entry(key.clone()).or_default() += item.quantity;
            let row = rows.entry(key).or_insert_with(|| PickRow {
                code: item.code.0.clone(),
                title: item.title.clone(),
                options: item.options.clone(),
                count: 0,
                parcels: Vec::new(),
            });
            row.count += item.quantity;
        }
        for (key, count) in within {
            if let Some(row) = rows.get_mut(&key) {
                let times = if count == 1 { String::new() } else { format!(" × {count}") };
                row.parcels.push(format!("{}{times}", parcel.r#ref));
            }
        }
    }
    let pieces: usize = plan.parcels.iter().map(|parcel| parcel.pieces() as usize).sum();
    PickList {
        places: places(rows.into_iter().map(|((_, place, _, _), row)| (place, row))),
        pieces: format!(
            "{} of {}",
            words::count(pieces, "piece", "pieces"),
            words::count(codes.len(), "article", "articles")
        ),
        mailers: mailers(plan),
        wrap: wrap(plan),
    }
}

fn places<'a>(rows: impl Iterator<Item = (&'a str, PickRow)>) -> Vec<PickPlace> {
    let mut places: Vec<PickPlace> = Vec::new();
    for (place, row) in rows {
        let name = if place.is_empty() { "no place set" } else { place };
        match places.last_mut().filter(|last| last.place == name) {
            Some(last) => last.rows.push(row),
            None => places.push(PickPlace { place: name.to_owned(), rows: vec![row] }),
        }
    }
    places
}

fn mailers(plan: &DayPlan) -> Vec<String> {
    let mut counts: BTreeMap<String, u32> = BTreeMap::new();
    for parcel in &plan.parcels {
        *counts.entry(super::mailer(parcel)).or_default() += 1;
    }
    counts.into_iter().map(|(mailer, count)| format!("{count} × {mailer}")).collect()
}

fn wrap(plan: &DayPlan) -> Option<String> {
    let strips: Vec<Length> =
        plan.parcels.iter().flat_map(|parcel| &parcel.rolls).map(|roll| roll.strip_length).collect();
    let number = strips.len();
    let metres = strips.into_iter().sum::<Length>().as_f64() / 1000.0;
    (number > 0).then(|| format!("{}, {metres:.1} m in all", words::count(number, "strip", "strips")))
}

fn handoff(plan: &DayPlan, desk: &Desk<'_>) -> HandoffList {
    let rows = plan
        .parcels
        .iter()
        .map(|parcel| {
            let to = &parcel.recipient;
            let abroad = to.country.filter(|country| *country != desk.seller.country);
            let country = abroad.map_or_else(String::new, |country| format!(" {country}"));
            HandoffRow {
                r#ref: parcel.r#ref.0.clone(),
                name: words::shortened(&to.name, 36),
                part: parcel.part.map(|(this, of)| format!("{this} of {of}")),
                postal_code: format!("{}{country}", words::shortened(&to.postal_code, 14)).trim().to_owned(),
                service: parcel.postage.service_title.clone(),
                declared: parcel.postage.declared.to_string(),
                price: desk.money(parcel.postage.price),
                weigh_first: parcel.postage.weigh_first,
                code: scan::code(&parcel.r#ref.0),
            }
        })
        .collect();
    HandoffList {
        rows,
        count: words::count(plan.parcels.len(), "parcel", "parcels"),
        postage: desk.money(plan.totals.postage),
        earlier: plan
            .listed_earlier
            .iter()
            .map(|earlier| EarlierRow {
                r#ref: earlier.r#ref.0.clone(),
                name: words::shortened(&earlier.name, 48),
                listed: earlier.listed.into(),
                heed: earlier.heed.clone(),
            })
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::sample;
    use super::*;
    use crate::model::parcel::Parcel;

    #[test]
    fn the_pick_list_counts_every_piece_once() {
        let (_, plan) = sample::day().unwrap();
        let listed: u32 = pick(&plan).places.iter().flat_map(|place| &place.rows).map(|row| row.count).sum();
        assert_eq!(listed, plan.parcels.iter().map(Parcel::pieces).sum::<u32>());
    }
}
