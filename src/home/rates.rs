//! `rates/*.toml` and the zone tables beside them.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use crate::model::address::Country;
use crate::model::catalogue::Contents;
use crate::model::length::Length;
use crate::model::mass::{MassUnit, Weight};
use crate::model::money::{Currency, Money};
use crate::model::rates::{Destinations, Extra, InsuranceBand, Limits, Price, RateCard, Service, Shape, Tier};

use super::fault::Fault;
use super::keys::{self, Item, Source, Table};
use super::sheet::{self, Others};

pub(super) fn read(
    root: &Path,
    file: &str,
    text: &str,
    home_currency: Currency,
    faults: &mut Vec<Fault>,
) -> Option<RateCard> {
    let source = Source { file, text };
    let parsed = keys::parse(source, faults)?;
    let table = Table::root(source, &parsed);
    table.only(&["carrier", "currency", "valid_from", "service"], faults);
    let carrier = table.must("carrier", "write the carrier's name", faults).and_then(|item| item.text(faults));
    let currency = table.must("currency", "write a code such as \"USD\"", faults).and_then(|item| {
        let currency: Currency = item.parsed(faults)?;
        if currency != home_currency {
            faults.push(item.fault(format!("is not the home's currency, {home_currency}; sums over parcels need one")));
        }
        Some(currency)
    });
    let valid_from =
        table.must("valid_from", "write the first day it holds", faults).and_then(|item| item.date(faults));
    let items = table.must("service", "add a [[service]]", faults)?.list(faults)?;
    let reader = Reader { root, file, currency: currency.unwrap_or(home_currency) };
    let mut services: Vec<Service> = Vec::new();
    for item in items {
        let Some(service) = item.table(faults).and_then(|table| reader.service(&table, faults)) else { continue };
        if services.iter().any(|known| known.code == service.code) {
            faults.push(item.fault(format!("is a second service with the code `{}`; rename one", service.code)));
        }
        services.push(service);
    }
    Some(RateCard {
        file: file.to_owned(),
        carrier: carrier?.to_owned(),
        currency: currency?,
        valid_from: valid_from?,
        services,
    })
}

struct Reader<'a> {
    root: &'a Path,
    file: &'a str,
    currency: Currency,
}

impl Reader<'_> {
    fn service(&self, table: &Table<'_>, faults: &mut Vec<Fault>) -> Option<Service> {
        table.only(
            &[
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
                "max_thickness_mm",
                "max_length_plus_girth_mm",
                "max_sum_mm",
                "max_mass",
                "refuses",
                "extras",
                "insurance",
            ],
            faults,
        );
        let code = table.must("code", "write a short name", faults).and_then(|item| item.text(faults));
        let shape: Option<Shape> = table
            .must("shape", "write letter, flat or parcel", faults)
            .and_then(|item| item.word(&["letter", "flat", "parcel"], faults));
        let from: Option<Country> =
            table.must("from", "write a country's code", faults).and_then(|item| item.parsed(faults));
        let to = table.must("to", "list countries, or [\"*\"]", faults).and_then(|item| destinations(&item, faults));
        let unit: Option<MassUnit> =
            table.must("unit", "write g, kg, oz or lb", faults).and_then(|item| item.parsed(faults));
        let zones = table.get("zones").map_or(Some(BTreeMap::new()), |item| self.zones(&item, faults));
        let tiers = table
            .must("tiers", "list { up_to = …, price = \"…\" }", faults)
            .and_then(|item| self.tiers(&item, unit.unwrap_or(MassUnit::Gram), zones.as_ref(), faults));
        let mut mm = |key: &str| table.get(key).and_then(|item| item.positive(faults)).map(Length::from_mm);
        let mut limits = Limits {
            min_length: mm("min_length_mm"),
            max_length: mm("max_length_mm"),
            min_width: mm("min_width_mm"),
            max_width: mm("max_width_mm"),
            max_thickness: mm("max_thickness_mm"),
            max_length_plus_girth: mm("max_length_plus_girth_mm"),
            max_sum: mm("max_sum_mm"),
            max_mass: None,
        };
        let max_mass = table.get("max_mass").and_then(|item| item.positive(faults));
        limits.max_mass = max_mass.zip(unit).map(|(value, unit)| Weight::new(value, unit).mass());
        let refuses = table.get("refuses").and_then(|item| item.list(faults)).unwrap_or_default();
        let refuses: BTreeSet<Contents> =
            refuses.iter().filter_map(|item| item.word(&["button-cell", "magnet"], faults)).collect();
        let extras = table.get("extras").and_then(|item| item.list(faults)).unwrap_or_default();
        let extras = extras.iter().filter_map(|item| self.extra(item, faults)).collect();
        let insurance = table.get("insurance").and_then(|item| item.list(faults)).unwrap_or_default();
        let insurance = insurance.iter().filter_map(|item| self.insurance(item, faults)).collect();
        let tracked = table.get("tracked").and_then(|item| item.flag(faults)).unwrap_or(false);
        let days = table.get("days").and_then(|item| item.whole(faults));
        let title = table.get("title").and_then(|item| item.text(faults));
        let code = code?;
        Some(Service {
            title: title.unwrap_or(code).to_owned(),
            code: code.to_owned(),
            shape: shape?,
            from: from?,
            to: to?,
            tracked,
            days,
            tiers: tiers?,
            zones: zones?,
            limits,
            refuses,
            extras,
            insurance,
        })
    }

    fn money(&self, item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Money> {
        item.not_negative(faults).map(|amount| Money::new(amount, self.currency))
    }

    fn tiers(
        &self,
        item: &Item<'_>,
        unit: MassUnit,
        zones: Option<&BTreeMap<String, String>>,
        faults: &mut Vec<Fault>,
    ) -> Option<Vec<Tier>> {
        let items = item.list(faults)?;
        if items.is_empty() {
            faults.push(item.fault("is empty; list at least one tier"));
        }
        let mut tiers: Vec<Tier> = Vec::new();
        for item in items {
            let Some(table) = item.table(faults) else { continue };
            table.only(&["up_to", "price", "unit"], faults);
            let own_unit: Option<MassUnit> = table.get("unit").and_then(|item| item.parsed(faults));
            let up_to =
                table.must("up_to", "write the tier's upper edge", faults).and_then(|item| item.positive(faults));
            let price =
                table.must("price", "write its price", faults).and_then(|item| self.price(&item, zones, faults));
            let Some((up_to, price)) = up_to.zip(price) else { continue };
            let up_to = Weight::new(up_to, own_unit.unwrap_or(unit));
            if tiers.last().is_some_and(|last| last.up_to.mass() >= up_to.mass()) {
                faults.push(item.fault("does not rise above the tier before it; list tiers from the lightest up"));
            }
            tiers.push(Tier { up_to, price });
        }
        Some(tiers)
    }

    fn price(
        &self,
        item: &Item<'_>,
        zones: Option<&BTreeMap<String, String>>,
        faults: &mut Vec<Fault>,
    ) -> Option<Price> {
        if !item.is_table() {
            return self.money(item, faults).map(Price::Flat);
        }
        let prices: BTreeMap<String, Money> = item
            .table(faults)?
            .items()
            .into_iter()
            .filter_map(|(zone, item)| Some((zone.to_owned(), self.money(&item, faults)?)))
            .collect();
        if zones.is_some_and(BTreeMap::is_empty) {
            faults.push(item.fault("goes by zone, and the service has no zones; add zones = \"zones.csv\""));
        }
        Some(Price::ByZone(prices))
    }

    fn zones(&self, item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<BTreeMap<String, String>> {
        let name = item.text(faults)?;
        let folder = Path::new(self.file).parent().unwrap_or(Path::new(""));
        let path = folder.join(name);
        match fs::read_to_string(self.root.join(&path)) {
            Ok(text) => {
                let file = path.display().to_string();
                let rows = sheet::rows(&file, &text, &["prefix", "zone"], Others::Refused, faults);
                let zone = |row: &sheet::Row<'_>| {
                    Some((row.must("prefix", faults)?.to_owned(), row.must("zone", faults)?.to_owned()))
                };
                Some(rows.iter().filter_map(zone).collect())
            }
            Err(error) => {
                faults.push(item.fault(format!("can't be read ({error}); put a CSV with prefix,zone into rates/")));
                None
            }
        }
    }

    fn extra(&self, item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Extra> {
        let table = item.table(faults)?;
        table.only(&["code", "price", "above_value"], faults);
        let code = table.must("code", "write its name", faults).and_then(|item| item.text(faults));
        let price = table.must("price", "write its price", faults).and_then(|item| self.money(&item, faults));
        let above_value = table.get("above_value").and_then(|item| self.money(&item, faults));
        Some(Extra { code: code?.to_owned(), price: price?, above_value })
    }

    fn insurance(&self, item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<InsuranceBand> {
        let table = item.table(faults)?;
        table.only(&["up_to", "price"], faults);
        let up_to = table.must("up_to", "write the value it covers", faults).and_then(|item| self.money(&item, faults));
        let price = table.must("price", "write its price", faults).and_then(|item| self.money(&item, faults));
        Some(InsuranceBand { up_to: up_to?, price: price? })
    }
}

fn destinations(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Destinations> {
    let mut to = Destinations::default();
    for item in item.list(faults)? {
        match item.text(faults) {
            Some("*") => to.elsewhere = true,
            Some(_) => to.named.extend(item.parsed::<Country>(faults)),
            None => {}
        }
    }
    Some(to)
}
