//! What a service charges or offers on top of its tiers: surcharges, extras, insurance.

use rust_decimal::Decimal;

use super::{Desk, contents, each, mass, volume};
use crate::home::fault::Fault;
use crate::home::keys::{Item, Table};
use crate::model::address::Country;
use crate::model::bound::Bound;
use crate::model::mass::MassUnit;
use crate::model::money::Money;
use crate::model::rates::{Extra, InsuranceBand, Step, Surcharge, When};

const SURCHARGE_KEYS: [&str; 16] = [
    "code",
    "price",
    "over_length_mm",
    "over_width_mm",
    "over_thickness_mm",
    "over_length_plus_girth_mm",
    "over_litres",
    "over_cubic_feet",
    "over_mass",
    "ratio_under",
    "ratio_over",
    "contains",
    "prefixes",
    "countries",
    "from",
    "to",
];

impl Desk<'_> {
    pub(super) fn surcharge(&self, item: &Item<'_>, unit: MassUnit, faults: &mut Vec<Fault>) -> Option<Surcharge> {
        let table = item.table(faults)?;
        table.only(&SURCHARGE_KEYS, faults);
        let (code, price) = self.priced(&table, faults);
        let when = when(&table, unit, faults);
        Some(Surcharge { code: code?, price: price?, when })
    }

    pub(super) fn extra(&self, item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Extra> {
        let table = item.table(faults)?;
        table.only(&["code", "price", "above_value"], faults);
        let (code, price) = self.priced(&table, faults);
        let above_value = table.get("above_value").and_then(|item| self.money(&item, faults));
        Some(Extra { code: code?, price: price?, above_value })
    }

    fn priced(&self, table: &Table<'_>, faults: &mut Vec<Fault>) -> (Option<String>, Option<Money>) {
        let code = table.must("code", "write its name", faults).and_then(|item| item.text(faults)).map(str::to_owned);
        let price = table.must("price", "write its price", faults).and_then(|item| self.money(&item, faults));
        (code, price)
    }

    pub(super) fn insurance(&self, table: &Table<'_>, faults: &mut Vec<Fault>) -> Vec<InsuranceBand> {
        let mut last: Option<Decimal> = None;
        each(table, "insurance", faults, |item, faults| {
            let table = item.table(faults)?;
            table.only(&["up_to", "price", "each", "each_price"], faults);
            let edge = table.must("up_to", "write the value it covers", faults)?;
            let up_to = self.money(&edge, faults);
            let price = table.must("price", "write its price", faults).and_then(|item| self.money(&item, faults));
            let steps = self.steps(&table, faults);
            let band = InsuranceBand { up_to: up_to?, price: price?, steps };
            if last.is_some_and(|last| last >= band.up_to.amount) {
                faults.push(edge.fault("doesn't rise above the band before it; list bands from the lowest value up"));
            }
            last = Some(band.up_to.amount);
            Some(band)
        })
    }

    /// `each = "100", each_price = "1.50"`: within the band, every further 100 or part of it costs 1.50.
    fn steps(&self, table: &Table<'_>, faults: &mut Vec<Fault>) -> Option<Step> {
        let (each, price) = (table.get("each"), table.get("each_price"));
        match (&each, &price) {
            (Some(_), None) => faults.push(table.fault("each_price", "is missing; write what each step costs")),
            (None, Some(_)) => faults.push(table.fault("each", "is missing; write the value of one step")),
            (Some(_), Some(_)) | (None, None) => {}
        }
        let each = each?.positive(Money::BOUND, faults).map(|amount| Money::new(amount, self.currency));
        let price = price?;
        Some(Step { each: each?, price: self.money(&price, faults)? })
    }
}

fn when(table: &Table<'_>, unit: MassUnit, faults: &mut Vec<Fault>) -> When {
    let mut mm = |key: &str| table.get(key).and_then(|item| item.mm(faults));
    let [over_length, over_width, over_thickness, over_length_plus_girth] =
        ["over_length_mm", "over_width_mm", "over_thickness_mm", "over_length_plus_girth_mm"].map(&mut mm);
    let [ratio_under, ratio_over] =
        ["ratio_under", "ratio_over"].map(|key| table.get(key).and_then(|item| item.positive(Bound::FACTOR, faults)));
    let day = |key: &str, faults: &mut Vec<Fault>| table.get(key).and_then(|item| item.date(faults));
    let (from, to) = (day("from", faults), day("to", faults));
    if from.zip(to).is_some_and(|(from, to)| to < from) {
        faults.extend(table.get("to").map(|item| item.fault("is before `from`; it would never be charged")));
    }
    let text = |item: &Item<'_>, faults: &mut Vec<Fault>| item.text(faults).map(str::to_owned);
    let country = |item: &Item<'_>, faults: &mut Vec<Fault>| item.parsed::<Country>(faults);
    When {
        over_length,
        over_width,
        over_thickness,
        over_length_plus_girth,
        over_volume: volume(table, "over", faults),
        over_mass: table.get("over_mass").and_then(|item| mass(&item, unit, faults)),
        ratio_under,
        ratio_over,
        contains: each(table, "contains", faults, contents).into_iter().collect(),
        prefixes: each(table, "prefixes", faults, text).into_iter().collect(),
        countries: each(table, "countries", faults, country).into_iter().collect(),
        from,
        to,
    }
}
