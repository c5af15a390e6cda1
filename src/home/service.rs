//! One `[[service]]` of a rate card, and the table of its zones.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use rust_decimal::Decimal;

use super::fault::Fault;
use super::keys::{Item, Table};
use super::repeats::repeats;
use super::sheet::{self, Others, Row};
use super::{files, number};
use crate::model::address::Country;
use crate::model::bound::Bound;
use crate::model::catalogue::Contents;
use crate::model::customs::Form;
use crate::model::length::Volume;
use crate::model::mass::{Mass, MassUnit, Weight};
use crate::model::money::{Currency, Money};
use crate::model::rates::{Destinations, Limits, Price, Service, Shape, Tier};

mod on_top;

const KEYS: [&str; 25] = [
    "code",
    "title",
    "shape",
    "from",
    "to",
    "unit",
    "tracked",
    "days",
    "tiers",
    "zones",
    "min_length_mm",
    "max_length_mm",
    "min_width_mm",
    "max_width_mm",
    "min_thickness_mm",
    "max_thickness_mm",
    "max_length_plus_girth_mm",
    "max_sum_mm",
    "max_mass",
    "max_value",
    "refuses",
    "surcharges",
    "extras",
    "insurance",
    "declaration",
];

/// What the services of one card have in common.
pub(super) struct Desk<'a> {
    /// The home.
    pub(super) root: &'a Path,
    /// The card's file, relative to the home.
    pub(super) file: &'a str,
    /// What prices are in.
    pub(super) currency: Currency,
}

impl Desk<'_> {
    /// The service, or `None` with every fault told.
    pub(super) fn service(&self, table: &Table<'_>, faults: &mut Vec<Fault>) -> Option<Service> {
        table.only(&KEYS, faults);
        let code = table.must("code", "write a short name", faults).and_then(|item| item.text(faults));
        let title = table.get("title").and_then(|item| item.text(faults));
        let shape: Option<Shape> = table
            .must("shape", "write letter, flat or parcel", faults)
            .and_then(|item| item.word(&["letter", "flat", "parcel"], faults));
        let from: Option<Country> = table
            .must("from", "write the country it is posted in, such as US", faults)
            .and_then(|item| item.parsed(faults));
        let to = table.must("to", "list countries, or write [\"*\"]", faults).and_then(|item| to(&item, faults));
        let unit: Option<MassUnit> =
            table.must("unit", "write g, kg, oz or lb", faults).and_then(|item| item.parsed(faults));
        let tracked = table.get("tracked").is_some_and(|item| item.flag(faults).unwrap_or_default());
        let days = table.get("days").and_then(|item| item.whole(faults));
        // While the unit is at fault, the tiers are still looked at.
        let in_grams = unit.unwrap_or(MassUnit::Gram);
        let tiers = table
            .must("tiers", "list its prices, as in [ { up_to = 4, price = \"5.25\" } ]", faults)
            .and_then(|item| self.tiers(&item, in_grams, faults));
        let zones = self.zones(table, tiers.as_deref().unwrap_or_default(), faults);
        let limits = Limits {
            max_value: table.get("max_value").and_then(|item| self.money(&item, faults)),
            ..limits(table, in_grams, faults)
        };
        let refuses = each(table, "refuses", faults, contents);
        let surcharges = each(table, "surcharges", faults, |item, faults| self.surcharge(item, in_grams, faults));
        let extras = each(table, "extras", faults, |item, faults| self.extra(item, faults));
        let insurance = self.insurance(table, faults);
        let declaration = table.get("declaration").and_then(|item| item.word::<Form>(&["cn22", "cn23"], faults));
        let code = code?;
        Some(Service {
            code: code.to_owned(),
            title: title.unwrap_or(code).to_owned(),
            shape: shape?,
            from: from?,
            to: to?,
            tracked,
            days,
            tiers: tiers?,
            zones: zones?,
            limits,
            refuses: refuses.into_iter().collect(),
            surcharges,
            extras,
            insurance,
            declaration,
        })
    }

    fn money(&self, item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Money> {
        item.money(self.currency, faults)
    }

    fn tiers(&self, item: &Item<'_>, unit: MassUnit, faults: &mut Vec<Fault>) -> Option<Vec<Tier>> {
        let items = item.list(faults)?;
        if items.is_empty() {
            faults.push(item.fault("is empty; list at least one tier"));
        }
        let mut tiers: Vec<Tier> = Vec::new();
        let mut by_zone: Vec<(Item<'_>, BTreeSet<String>)> = Vec::new();
        for item in items {
            let Some(table) = item.table(faults) else { continue };
            table.only(&["up_to", "price", "unit", "up_to_litres", "up_to_cubic_feet"], faults);
            let own_unit: Option<MassUnit> = table.get("unit").and_then(|item| item.parsed(faults));
            let edge = table.must("up_to", "write the tier's upper edge", faults);
            let up_to = edge.as_ref().and_then(|item| item.positive(Weight::BOUND, faults));
            let price_item = table.must("price", "write its price", faults);
            let price = price_item.as_ref().and_then(|item| self.price(item, faults));
            let (Some(edge), Some(up_to), Some(price_item), Some(price)) = (edge, up_to, price_item, price) else {
                continue;
            };
            let up_to = Weight::new(up_to, own_unit.unwrap_or(unit));
            let up_to_volume = volume(&table, "up_to", faults);
            if let Some(last) = tiers.last()
                && !rises(last, up_to, up_to_volume)
            {
                faults.push(edge.fault("doesn't rise above the tier before it; list tiers from the lightest up"));
            }
            if let Price::ByZone(prices) = &price {
                by_zone.push((price_item, prices.keys().cloned().collect()));
            }
            tiers.push(Tier { up_to, up_to_volume, price });
        }
        same_zones(&by_zone, faults);
        Some(tiers)
    }

    fn price(&self, item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Price> {
        if !item.is_table() {
            return self.money(item, faults).map(Price::Flat);
        }
        let mut prices = BTreeMap::new();
        for (zone, item) in item.table(faults)?.items() {
            prices.insert(zone.to_owned(), self.money(&item, faults)?);
        }
        if prices.is_empty() {
            faults.push(item.fault("has no price; write one for each zone"));
        }
        Some(Price::ByZone(prices))
    }

    /// Zone by postal prefix, from the table that `zones` names, in the card's own folder.
    fn zones(&self, table: &Table<'_>, tiers: &[Tier], faults: &mut Vec<Fault>) -> Option<BTreeMap<String, String>> {
        let priced: BTreeSet<&str> = tiers
            .iter()
            .flat_map(|tier| match &tier.price {
                Price::Flat(_) => Vec::new(),
                Price::ByZone(prices) => prices.keys().map(String::as_str).collect(),
            })
            .collect();
        let Some(item) = table.get("zones") else {
            if !priced.is_empty() {
                let mend = "goes by zone, and the service has no zones; add zones = \"zones.csv\"";
                faults.extend(table.get("tiers").map(|tiers| tiers.fault(mend)));
            }
            return Some(BTreeMap::new());
        };
        let name = item.text(faults)?;
        let folder = Path::new(self.file).parent().unwrap_or(Path::new(""));
        let file = folder.join(name).display().to_string();
        let text = match files::text(self.root, &file) {
            Ok(text) => text,
            Err(files::Unread { absent: true, .. }) => {
                let mend = "is not there; put a table with the columns prefix,zone into rates/";
                faults.push(item.fault(mend));
                return None;
            }
            Err(files::Unread { fault, absent: false }) => {
                faults.push(fault);
                return None;
            }
        };
        let before = faults.len();
        let zones = zone_table(&file, &text, faults);
        let named: BTreeSet<&str> = zones.values().map(String::as_str).collect();
        if faults.len() == before && !priced.is_empty() && priced.is_disjoint(&named) {
            let priced: Vec<&str> = priced.into_iter().collect();
            faults.push(item.fault(format!(
                "names none of the zones that have prices ({}); write the same names in both",
                priced.join(", ")
            )));
        }
        (faults.len() == before).then_some(zones)
    }
}

/// A box of its own size pays its own price, so a tier may rise in volume alone; a mass without a volume takes any box,
/// and nothing of its mass can come after it.
fn rises(last: &Tier, up_to: Weight, up_to_volume: Option<Volume>) -> bool {
    match last.up_to.mass().cmp(&up_to.mass()) {
        Ordering::Less => true,
        Ordering::Equal => last.up_to_volume.is_some_and(|before| up_to_volume.is_none_or(|volume| before < volume)),
        Ordering::Greater => false,
    }
}

/// `KEY_litres` or `KEY_cubic_feet`.
fn volume(table: &Table<'_>, key: &str, faults: &mut Vec<Fault>) -> Option<Volume> {
    let litres = table.get(&format!("{key}_litres"));
    let feet = table.get(&format!("{key}_cubic_feet"));
    if let (Some(_), Some(feet)) = (&litres, &feet) {
        faults.push(feet.fault(format!("stands beside {key}_litres; write one of them")));
        return None;
    }
    let litres = litres.and_then(|item| item.positive(Bound::FACTOR, faults)).map(Volume::from_litres);
    litres.or_else(|| feet?.positive(Bound::FACTOR, faults).map(Volume::from_cubic_feet))
}

/// The items of an optional list.
fn each<T>(
    table: &Table<'_>,
    key: &str,
    faults: &mut Vec<Fault>,
    mut read: impl FnMut(&Item<'_>, &mut Vec<Fault>) -> Option<T>,
) -> Vec<T> {
    let items = table.get(key).and_then(|item| item.list(faults)).unwrap_or_default();
    items.iter().filter_map(|item| read(item, faults)).collect()
}

fn contents(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Contents> {
    item.word(&[Contents::ButtonCell.code(), Contents::Magnet.code()], faults)
}

fn to(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Destinations> {
    let items = item.list(faults)?;
    let mut to = Destinations::default();
    for item in &items {
        match item.text(faults) {
            Some("*") => to.elsewhere = true,
            Some(_) => to.named.extend(item.parsed::<Country>(faults)),
            None => {}
        }
    }
    if items.is_empty() {
        faults.push(item.fault("names no country; list them, or write [\"*\"]"));
        return None;
    }
    Some(to)
}

/// A zone that one tier has a price for and another has none is a slip: heavier parcels would have no price.
fn same_zones(by_zone: &[(Item<'_>, BTreeSet<String>)], faults: &mut Vec<Fault>) {
    let all: BTreeSet<&String> = by_zone.iter().flat_map(|(_, zones)| zones).collect();
    for (item, zones) in by_zone {
        for zone in all.iter().filter(|zone| !zones.contains(**zone)) {
            faults.push(item.fault(format!("has no price for zone `{zone}`, and another tier has; add it")));
        }
    }
}

fn zone_table(file: &str, text: &str, faults: &mut Vec<Fault>) -> BTreeMap<String, String> {
    let rows = sheet::rows(file, text, &["prefix", "zone"], Others::Refused, faults);
    for (first, row) in repeats(&rows, |row| Some(row.cell("prefix")).filter(|prefix| !prefix.is_empty())) {
        faults.push(row.fault("prefix", format!("stands in line {} already; each prefix once", first.line)));
    }
    let zone = |row: &Row<'_>| {
        let (prefix, zone) = (row.must("prefix", faults), row.must("zone", faults));
        Some((prefix?.to_owned(), zone?.to_owned()))
    };
    rows.iter().filter_map(zone).collect()
}

fn limits(table: &Table<'_>, unit: MassUnit, faults: &mut Vec<Fault>) -> Limits {
    let mut mm = |key: &str| table.get(key).and_then(|item| item.mm(faults));
    let mut limits = Limits {
        min_length: mm("min_length_mm"),
        max_length: mm("max_length_mm"),
        min_width: mm("min_width_mm"),
        max_width: mm("max_width_mm"),
        min_thickness: mm("min_thickness_mm"),
        max_thickness: mm("max_thickness_mm"),
        max_length_plus_girth: mm("max_length_plus_girth_mm"),
        max_sum: mm("max_sum_mm"),
        max_mass: None,
        max_value: None,
    };
    let sides = [
        (limits.min_length, limits.max_length, "min_length_mm", "max_length_mm"),
        (limits.min_width, limits.max_width, "min_width_mm", "max_width_mm"),
        (limits.min_thickness, limits.max_thickness, "min_thickness_mm", "max_thickness_mm"),
    ];
    for (least, most, key, other) in sides {
        if least.zip(most).is_some_and(|(least, most)| least > most) {
            let mend = format!("is above {other}; nothing would fit");
            faults.extend(table.get(key).map(|item| item.fault(mend)));
        }
    }
    limits.max_mass = table.get("max_mass").and_then(|item| mass(&item, unit, faults));
    limits
}

/// A bare number is of the service's unit; text may name another.
fn mass(item: &Item<'_>, unit: MassUnit, faults: &mut Vec<Fault>) -> Option<Mass> {
    let Some(text) = item.as_text() else {
        return item.positive(Weight::BOUND, faults).map(|value| Weight::new(value, unit).mass());
    };
    let wrong = || "is no mass; write a number of the service's unit, or one with its own, such as \"2 kg\"".to_owned();
    let start = text.find(|c: char| c.is_ascii_alphabetic()).unwrap_or(text.len());
    let (value, own) = text.split_at_checked(start)?;
    let own = if own.is_empty() { Ok(unit) } else { own.parse().map_err(|_| wrong()) };
    let read = own.and_then(|unit| {
        // What is a number, and no mass for its size, says so itself.
        let value = number::decimal(value.trim(), Weight::BOUND)
            .map_err(|mend| if value.trim().parse::<Decimal>().is_ok() { mend } else { wrong() })?;
        number::positive(value).map(|value| Weight::new(value, unit).mass()).map_err(|_| wrong())
    });
    read.map_err(|mend| faults.push(item.fault(mend))).ok()
}
