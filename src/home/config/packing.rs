//! `[packing]` of `dawnpack.toml`: how the seller wraps.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::{at_most, or};
use crate::home::fault::Fault;
use crate::home::keys::{self, Table};
use crate::model::bound::Bound;
use crate::model::length::Length;
use crate::model::rules::PackingRules;
use crate::model::scale::{Confidence, NoConfidence};

/// The section's rules; without it, the usual ones.
pub(super) fn read(section: Option<&Table<'_>>, faults: &mut Vec<Fault>) -> Option<PackingRules> {
    if let Some(section) = section {
        let known =
            ["pins_per_roll", "turns", "wrap_layer_mm", "wrap_g_per_m2", "card_overhang_mm", "combine", "declare_with"];
        section.only(&known, faults);
    }
    let usual = PackingRules::USUAL;
    let pins_per_roll = or(section, "pins_per_roll", usual.pins_per_roll, |item| {
        item.positive(Bound::FACTOR, faults).filter(|pins| {
            let enough = *pins >= Decimal::ONE;
            if !enough {
                faults.push(item.fault("is less than one pin; five is the usual most"));
            }
            enough
        })
    });
    let turns = or(section, "turns", usual.turns, |item| at_most(item, PackingRules::MOST_TURNS, faults));
    let wrap_layer = or(section, "wrap_layer_mm", usual.wrap_layer, |item| item.mm(faults));
    let wrap_g_per_m2 =
        or(section, "wrap_g_per_m2", usual.wrap_g_per_m2, |item| item.positive(Bound::FACTOR, faults)?.to_f64());
    let card_overhang = or(section, "card_overhang_mm", usual.card_overhang, |item| {
        item.not_negative(Length::BOUND, faults).map(Length::from_mm)
    });
    let combine = or(section, "combine", usual.combine, |item| item.word(&["same-recipient", "never"], faults));
    let declare_with = or(section, "declare_with", usual.declare_with, |item| {
        let share = item.decimal(Bound::FACTOR, faults)?;
        let message = |error: NoConfidence| keys::without_value(&error.to_string(), &share.to_string()).to_owned();
        Confidence::try_from(share).map_err(|error| faults.push(item.fault(message(error)))).ok()
    });
    Some(PackingRules {
        pins_per_roll: pins_per_roll?,
        turns: turns?,
        wrap_layer: wrap_layer?,
        wrap_g_per_m2: wrap_g_per_m2?,
        card_overhang: card_overhang?,
        combine: combine?,
        sheet: usual.sheet,
        declare_with: declare_with?,
    })
}
